"""From a filled sheet's fields to readings files, one a vehicle, and the same file empty to be filled in by hand."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ..check.library import Entry
from ..model.job import SRS_AREAS, Job
from ..model.readings import PartSerial, ReadingBack, Readings, Signature
from ..plan.answers import GATE
from ..plan.filed import plate_key
from ..plan.issued import file_part
from ..plan.readings import title_of
from ..plan.types import Check, Plan
from ..sheets.views import field_name
from .fields import answers_of, of_vehicle, signatures_of
from .pdf import FilledSheet

MADE_BY = ("made-by", "fitted-by", "done-by", "measured-by")
CHECKED_BY = ("checked-by", "inspected-again")
_MONTHS = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
]


@dataclass(frozen=True, kw_only=True)
class Collected:
    """One vehicle's readings as a file to be: the typed content, and the name it wants in the shop's folder."""

    readings: Readings
    wants: str


def collected_from(plan: Plan, sheet: FilledSheet, *, on: date | None = None) -> tuple[Collected, ...]:
    """What the sheet says of each vehicle. A vehicle of which it says nothing at all is left out.

    A reading of a fleet belongs to the vehicle whose plate its field bears, and to no other. What stands once for the whole
    fleet (whether parts are new or used) goes to each vehicle that has anything of its own; to all of them where none has.
    ``on`` is the day where the sheet has none that can be read.
    """
    job = plan.job
    listed = {plate_key(p) for p in sheet.registrations}
    plates = [r.plate for r in job.registrations if not listed or plate_key(r.plate) in listed]
    spoken = [plate for plate in plates if _speaks_of(plan, sheet, plate, alone=_alone(plan, listed))]
    if not spoken and plates and not is_empty(_readings(plan, sheet, plates[0], on=on, alone=False)):
        spoken = plates
    out = []
    for plate in spoken:
        readings = _readings(plan, sheet, plate, on=on, alone=_alone(plan, listed))
        out.append(Collected(readings=readings, wants=wanted_name(readings)))
    return tuple(out)


def _alone(plan: Plan, listed: set[str]) -> bool:
    """Whether the sheet is of one vehicle: then a field needs no plate."""
    return len(plan.job.registrations) == 1 or len(listed) == 1


def is_empty(readings: Readings) -> bool:
    """Whether nothing at all was filled in; who signed alone says nothing."""
    return not any(
        (
            any(b.reading or b.result or b.initials or b.note for b in readings.readings),
            any(readings.minutes.values()),
            any(p.serial or p.firmware or p.condition for p in readings.parts),
            readings.odometer_out,
            any(
                text
                for heading, answers in readings.answers.items()
                for key, text in answers.items()
                if (heading, key) != (GATE, "wait")
            ),
            readings.found,
            readings.notes,
        )
    )


def _speaks_of(plan: Plan, sheet: FilledSheet, plate: str, *, alone: bool) -> bool:
    """Whether the sheet has anything of one vehicle's own."""
    whole = _readings(plan, sheet, plate, on=None, alone=alone)
    if alone:
        return not is_empty(whole)
    bare = whole.model_copy(update={"parts": _parts(plan, sheet, plate, alone=False, own=True)})
    return not is_empty(bare)


def _readings(plan: Plan, sheet: FilledSheet, plate: str, *, on: date | None, alone: bool) -> Readings:
    """Everything that the sheet says of one vehicle."""
    others = [r.plate for r in plan.job.registrations if r.plate != plate]
    backs = (_back(sheet, c, plate, alone=alone) for c in plan.checks if on_sheet(sheet, c, plate))
    by, checked, day = _people(sheet, plate)
    bare = {name: str(text) for name, text in of_vehicle(sheet.texts, plate, others, alone=alone)}
    return Readings(
        job=plan.job.job,
        revision=sheet.revision,
        registration=plate if len(plan.job.registrations) > 1 else "",
        digest=sheet.digest,
        on=day or on,
        by=by,
        checked_by=checked,
        sheet=sheet.kind,
        readings=tuple(b for b in backs if b.reading or b.result or b.initials),
        minutes=_minutes(sheet, plate, alone=alone),
        parts=_parts(plan, sheet, plate, alone=alone),
        odometer_out=bare.get("out", ""),
        answers=answers_of(sheet, plate, others, alone=alone),
        signatures=signatures_of(sheet, plate, others, alone=alone),
        found=_lines(bare, "found"),
        notes=_lines(bare, "note"),
    )


def of_no_lead(plan: Plan, sheet: FilledSheet) -> tuple[int, ...]:
    """Numbers of a fleet's checks that are filled in under no vehicle's name, as sheets of earlier versions had them: nobody
    can say on which lead they were read."""
    if _alone(plan, {plate_key(p) for p in sheet.registrations}):
        return ()
    plate = plan.job.registrations[0].plate
    said = sheet.texts.keys() | sheet.ticks.keys()
    filled = {name for name in said if sheet.texts.get(name) or sheet.ticks.get(name)}
    return tuple(c.number for c in plan.checks if any(bare in filled for _, bare in _names(c, plate).values()))


def on_sheet(sheet: FilledSheet, check: Check, plate: str) -> bool:
    """Whether the sheet has a place for a check."""
    names = _names(check, plate)
    return any(n in sheet.texts or n in sheet.ticks for pair in names.values() for n in pair)


def _names(check: Check, plate: str) -> dict[str, tuple[str, str]]:
    """The names a check's fields may have: with the vehicle's plate, as a fleet's sheet has them, and without."""
    return {
        part: (field_name(check.key, plate, part), field_name(check.key, part))
        for part in ("actual", "pass", "fail", "initials")
    }


def _back(sheet: FilledSheet, check: Check, plate: str, *, alone: bool) -> ReadingBack:
    names = _names(check, plate)

    def text(part: str) -> str:
        with_plate, without = names[part]
        return sheet.texts.get(with_plate, "") or (sheet.texts.get(without, "") if alone else "")

    def tick(part: str) -> bool:
        with_plate, without = names[part]
        return sheet.ticks.get(with_plate, False) or (alone and sheet.ticks.get(without, False))

    result = " ".join(word for word in ("pass", "fail") if tick(word))
    return ReadingBack(check=check.key, reading=text("actual"), result=result, initials=text("initials")[:12])


_MINUTES_FIELD = re.compile(r"minutes__(?P<operation>[a-z0-9]+(?:-[a-z0-9]+){0,9})(?:__(?P<plate>[A-Za-z0-9-]+))?")


def _minutes(sheet: FilledSheet, plate: str, *, alone: bool) -> dict[str, str]:
    """Minutes by operation, from fields called ``minutes__OPERATION`` or ``minutes__OPERATION__PLATE``."""
    found = {}
    own = field_name(plate)
    for name, text in sheet.texts.items():
        match = _MINUTES_FIELD.fullmatch(name)
        if match and text and (match["plate"] == own or (match["plate"] is None and alone)):
            found[match["operation"]] = text
    return found


def _parts(plan: Plan, sheet: FilledSheet, plate: str, *, alone: bool, own: bool = False) -> tuple[PartSerial, ...]:
    """Serial number, firmware and condition of the parts fitted to one vehicle; what a fleet's sheet says once (new, used)
    is said of each vehicle's, and left out where ``own`` is wanted alone."""

    def of(lead: str, *words: str) -> str:
        names = [field_name(w, *p, lead) for w in words for p in ((plate,), *(((),) if alone else ()))]
        return next((sheet.texts[n] for n in names if sheet.texts.get(n)), "")

    def condition(lead: str) -> str:
        return " and ".join(w for w in ("new", "used", "rebuilt") if sheet.ticks.get(field_name("part", lead, w)))

    found = [
        PartSerial(
            part=x.lead,
            serial=of(x.lead, "serial", "part"),
            firmware=of(x.lead, "firmware"),
            condition="" if own else condition(x.lead),
        )
        for x in plan.leads
    ]
    return tuple(p for p in found if p.serial or p.firmware or p.condition)


def _lines(bare: Mapping[str, str], word: str) -> tuple[str, ...]:
    """Free lines, from fields called ``WORD__1`` or just ``WORD``."""
    return tuple(text for name, text in bare.items() if re.fullmatch(rf"{word}s?(?:__\d+)?", name))


def _people(sheet: FilledSheet, plate: str) -> tuple[str, str, date | None]:
    """Who measured, who checked, and when, from the signature rows; a hold point signs when nothing else does."""

    def row(names: Iterable[str]) -> tuple[str, str]:
        for name in names:
            for row_name in (field_name(name, plate), name):
                who = sheet.texts.get(f"{row_name}__1", "") or sheet.texts.get(f"{row_name}__2", "")
                if who:
                    return who, sheet.texts.get(f"{row_name}__3", "")
        return "", ""

    holds = sorted({n.rpartition("__")[0] for n in sheet.texts if n.startswith("hold__")}, reverse=True)
    holds = [h for h in holds if h.count("__") == 1 or h.endswith("__" + field_name(plate))]
    by, when = row((*MADE_BY, *holds))
    checked, later = row(CHECKED_BY)
    return by, checked, parse_day(when) or parse_day(later)


def parse_day(text: str) -> date | None:
    """A day that can be read in one way only: ``2026-05-12``, ``12 May 2026``, ``21.5.2026``; None for anything else.

    >>> parse_day("12 May 2026, 14:30"), parse_day("05/06/2026"), parse_day("5/21/2026")
    (datetime.date(2026, 5, 12), None, datetime.date(2026, 5, 21))
    """
    iso = re.search(r"\b(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})\b", text)
    figures = re.search(r"\b(\d{1,2})([-/.])(\d{1,2})\2(\d{4})\b", text)
    named = re.search(r"\b(\d{1,2})\.? ?([A-Za-z]{3,9})\.?,? ?(\d{4})\b", text)
    try:
        if iso:
            return date(int(iso[1]), int(iso[2]), int(iso[3]))
        if figures:
            first, second = int(figures[1]), int(figures[3])
            if first == second or first > 12:
                return date(int(figures[4]), second, first)
            return date(int(figures[4]), first, second) if second > 12 else None
        if named:
            month = [i for i, m in enumerate(_MONTHS, 1) if m.startswith(named[2].lower())]
            return date(int(named[3]), month[0], int(named[1])) if len(month) == 1 else None
    except ValueError:
        return None
    return None


def wanted_name(readings: Readings) -> str:
    """``readings/JOB-REV.yaml``, with the plate for one vehicle of a fleet."""
    parts = [readings.job, readings.revision, *([readings.registration] if readings.registration else [])]
    return "readings/" + "-".join(file_part(p) for p in parts) + ".yaml"


def blank_of(plan: Plan, plate: str) -> Collected:
    """An empty readings file of one vehicle: every check in the sheet's order, nothing filled in."""
    readings = Readings(
        job=plan.job.job,
        revision=plan.job.revision,
        registration=plate if len(plan.job.registrations) > 1 else "",
        digest=plan.digest,
        readings=tuple(ReadingBack(check=c.key) for c in plan.checks),
        parts=tuple(PartSerial(part=lead.lead) for lead in plan.leads if lead.side != "vehicle"),
        answers={
            GATE: dict.fromkeys(_asked_of_airbags(plan.job), ""),
            "as-found": dict.fromkeys(("battery-volts", "battery-state", "lamps", "fault-codes", "dead", "marks"), ""),
            "end": dict.fromkeys(("fault-codes", "lamps"), ""),
        },
        signatures=tuple(Signature(row=field_name(s.text.lower())) for s in plan.steps if s.kind == "hold"),
    )
    return Collected(readings=readings, wants=wanted_name(readings))


def _asked_of_airbags(job: Job) -> tuple[str, ...]:
    """What the fitting sheet has boxes for at the airbags: what the job states is printed there."""
    if not set(job.work_areas) & SRS_AREAS:
        return ("none",)
    stated = bool(job.airbag_wait.value and job.airbag_wait.source)
    return ("looked-up", *(() if stated else ("wait", "document", "page")))


def same_already(new: Readings, entries: Iterable[Entry[Readings]]) -> str:
    """The file that says the very same already, or ""; a day that was written in afterwards makes no difference."""

    def same(old: Readings) -> bool:
        return (old if new.on else old.model_copy(update={"on": None})) == new

    return next((e.document.file for e in entries if same(e.value)), "")


# --- as text -----------------------------------------------------------------------------------------------------

_STAGE_WORDS: Mapping[str, str] = {
    "before-joining": "Before joining",
    "on-the-bench": "On the bench",
    "before-plugging-in": "Before plugging in",
    "after-plugging-in": "After plugging in",
    "before-trim": "Before the trim goes back",
    "hand-over": "Hand-over",
}


_BESIDE: Mapping[str, str] = {
    GATE: " # one left empty: stop. wait: yes, once it is looked up and written on the sheet; the time stays there",
    "end": " # lamps: none, where none is lit",
}


def readings_text(readings: Readings, checks: Sequence[Check], *, blank: bool = False) -> str:
    """A readings file, each check with what is expected beside it."""
    by_key = {c.key: c for c in checks}
    of = f", {readings.registration}" if readings.registration else ""
    lines = [
        f"# Readings of job {readings.job}, revision {readings.revision}{of}. Change nothing that was measured: a later",
        "# reading goes into a file of its own, and the newest counts.",
    ]
    if blank:
        lines.append(
            '# Write figure and unit, "OL" for open; where there is nothing to measure: result: pass, or fail.'
        )
    lines += [f"job: {_q(readings.job)}", f"revision: {_q(readings.revision)}"]
    if readings.registration:
        lines.append(f"registration: {_q(readings.registration)}")
    lines.append(f"digest: {_q(readings.digest)}")
    lines.append(
        f"on: {readings.on.isoformat() if readings.on else ''}".rstrip() + (" # year-month-day" if blank else "")
    )
    lines += [f"by: {_q(readings.by)}", f"checked_by: {_q(readings.checked_by)}"]
    if readings.sheet:
        lines.append(f"sheet: {_q(readings.sheet)}")
    lines.append("readings:" if readings.readings else "readings: []")
    stage = ""
    for back in readings.readings:
        check = by_key.get(back.check)
        if check is not None and check.stage != stage:
            stage = check.stage
            lines.append(f"  # {_STAGE_WORDS[stage]}")
        pairs = [f"check: {_q(back.check)}"]
        watched = check is not None and check.yes_no
        if back.reading or (blank and not watched):
            pairs.append(f"reading: {_q(back.reading)}")
        if back.result or (blank and watched):
            pairs.append(f"result: {_q(back.result)}")
        if back.initials:
            pairs.append(f"initials: {_q(back.initials)}")
        if back.note:
            pairs.append(f"note: {_q(back.note)}")
        said = f" # {check.number}. {_comment(title_of(check))}: {_comment(check.expected)}" if check is not None else ""
        lines.append(f"  - {{{', '.join(pairs)}}}{said}")
    if readings.minutes or blank:
        pairs = [f"{name}: {_q(text)}" for name, text in readings.minutes.items()]
        lines.append(
            f"minutes: {{{', '.join(pairs)}}}" + (" # by operation, for example remove-radio: 20" if blank else "")
        )
    if readings.parts:
        lines.append("parts:")
        for part in readings.parts:
            pairs = [f"{key}: {_q(getattr(part, key))}" for key in ("serial", "firmware")]
            pairs += [f"condition: {_q(part.condition)}"] if part.condition else []
            lines.append(f"  - {{part: {part.part}, {', '.join(pairs)}}}")
    if readings.odometer_out or blank:
        lines.append(f"odometer_out: {_q(readings.odometer_out)}")
    if readings.answers:
        lines.append("answers:")
        for heading, answers in readings.answers.items():
            lines.append(f"  {heading}:" + (_BESIDE.get(heading, "") if blank else ""))
            lines += [f"    {key}: {_q(text)}" for key, text in answers.items()]
    if readings.signatures:
        lines.append("signatures:" + (" # hold points: work stops until each is signed" if blank else ""))
        lines += [f"  - {{row: {s.row}, by: {_q(s.by)}, when: {_q(s.when)}}}" for s in readings.signatures]
    for key in ("found", "notes"):
        told = getattr(readings, key)
        if told:
            lines.append(f"{key}:")
            lines += [f"  - {_q(text)}" for text in told]
        elif blank and key == "found":
            lines.append("found: [] # what the next fitter should know of this kind of vehicle; no names")
        elif blank:
            lines.append("notes: []")
    return "\n".join(lines) + "\n"


def _q(text: str) -> str:
    return json.dumps("".join(c for c in text if c.isprintable()), ensure_ascii=False)


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)
