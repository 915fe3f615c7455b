"""From a filled sheet's fields to readings files, one a vehicle, and the same file empty to be filled in by hand."""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ..check.library import Entry
from ..model.readings import PartSerial, ReadingBack, Readings, Signature
from ..plan.answers import GATE
from ..plan.battery import airbag_areas
from ..plan.filed import but_for_its_day, plate_key
from ..plan.issued import file_part
from ..plan.readings import title_of
from ..plan.types import STAGES, Check, Plan
from ..sheets.views import field_name
from ..units import UnitError, parse_minutes
from .fields import answers_of, clocks_written, of_vehicle, signatures_of
from .pdf import MAX_WRITTEN, FilledSheet

MADE_BY = ("made-by", "fitted-by", "done-by", "measured-by")
CHECKED_BY = ("checked-by", "inspected-again")
MONTHS = [
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
    """One vehicle's readings as a file to be: the typed content, and the name it wants in the shop's folder.

    ``day_written`` is what stands on the sheet where its day should; ``no_minutes`` what stands in boxes for minutes and is no
    time, by operation: it is kept among the notes. ``clocks`` tells whether clocks of waits were written, which stay on paper.
    """

    readings: Readings
    wants: str
    day_written: str = ""
    no_minutes: Mapping[str, str] = field(default_factory=dict)
    clocks: bool = False


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
        alone = _alone(plan, listed)
        readings = _readings(plan, sheet, plate, on=on, alone=alone)
        out.append(
            Collected(
                readings=readings,
                wants=wanted_name(readings),
                day_written=_people(sheet, plate)[3],
                no_minutes=_minutes(sheet, plate, alone=alone)[1],
                clocks=clocks_written(
                    sheet, plate, [r.plate for r in job.registrations if r.plate != plate], alone=alone
                ),
            )
        )
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
    backs = [_back(sheet, c.key, plate, alone=alone) for c in plan.checks if on_sheet(sheet, c, plate)]
    backs += [_back(sheet, key, plate, alone=alone) for key in _strange(plan, sheet, plate, others, alone=alone)]
    by, checked, day, _ = _people(sheet, plate)
    minutes, no_minutes = _minutes(sheet, plate, alone=alone)
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
        minutes=minutes,
        parts=_parts(plan, sheet, plate, alone=alone),
        odometer_out=bare.get("out", ""),
        answers=answers_of(sheet, plate, others, alone=alone),
        signatures=signatures_of(sheet, plate, others, alone=alone),
        found=_lines(bare, "found"),
        notes=(
            *_lines(bare, "note"),
            *(f"Minutes, {name.replace('-', ' ')}: {text}" for name, text in no_minutes.items()),
        ),
    )


_OF_A_CHECK = re.compile(r"(?P<key>[a-z0-9]+(?:-[a-z0-9]+)*)__(?:actual|pass|fail)")


def _strange(plan: Plan, sheet: FilledSheet, plate: str, others: Sequence[str], *, alone: bool) -> tuple[str, ...]:
    """Names of checks that an older sheet has filled in for one vehicle and nobody knows any more: they are kept all the same."""
    known = {c.key for c in plan.checks}
    names = (
        bare
        for fields in (sheet.texts, sheet.ticks)
        for bare, _ in of_vehicle(fields, plate, others, alone=alone)
    )
    keys = (match["key"] for name in names if (match := _OF_A_CHECK.fullmatch(name)))
    return tuple(dict.fromkeys(key for key in keys if key not in known))


def of_no_lead(plan: Plan, sheet: FilledSheet) -> tuple[int, ...]:
    """Numbers of a fleet's checks that are filled in under no vehicle's name, as sheets of earlier versions had them: nobody
    can say on which lead they were read."""
    if _alone(plan, {plate_key(p) for p in sheet.registrations}):
        return ()
    plate = plan.job.registrations[0].plate
    said = sheet.texts.keys() | sheet.ticks.keys()
    filled = {name for name in said if sheet.texts.get(name) or sheet.ticks.get(name)}
    return tuple(c.number for c in plan.checks if any(bare in filled for _, bare in _names(c.key, plate).values()))


def on_sheet(sheet: FilledSheet, check: Check, plate: str) -> bool:
    """Whether the sheet has a place for a check."""
    names = _names(check.key, plate)
    return any(n in sheet.texts or n in sheet.ticks for pair in names.values() for n in pair)


def _names(key: str, plate: str) -> dict[str, tuple[str, str]]:
    """The names a check's fields may have: with the vehicle's plate, as a fleet's sheet has them, and without."""
    return {
        part: (field_name(key, plate, part), field_name(key, part))
        for part in ("actual", "pass", "fail", "initials")
    }


def _back(sheet: FilledSheet, key: str, plate: str, *, alone: bool) -> ReadingBack:
    names = _names(key, plate)

    def text(part: str) -> str:
        with_plate, without = names[part]
        return sheet.texts.get(with_plate, "") or (sheet.texts.get(without, "") if alone else "")

    def tick(part: str) -> bool:
        with_plate, without = names[part]
        return sheet.ticks.get(with_plate, False) or (alone and sheet.ticks.get(without, False))

    result = " ".join(word for word in ("pass", "fail") if tick(word))
    return ReadingBack(check=key, reading=text("actual"), result=result, initials=text("initials")[:12])


_MINUTES_FIELD = re.compile(r"minutes__(?P<operation>[a-z0-9]+(?:-[a-z0-9]+){0,9})(?:__(?P<plate>[A-Za-z0-9-]+))?")


def _minutes(sheet: FilledSheet, plate: str, *, alone: bool) -> tuple[dict[str, str], dict[str, str]]:
    """Minutes by operation, from fields called ``minutes__OPERATION`` or ``minutes__OPERATION__PLATE``; and what stands in
    such fields and is no time."""
    found: dict[str, str] = {}
    other: dict[str, str] = {}
    own = field_name(plate)
    for name, text in sheet.texts.items():
        match = _MINUTES_FIELD.fullmatch(name)
        if match and text and (match["plate"] == own or (match["plate"] is None and alone)):
            try:
                parse_minutes(text)
                found[match["operation"]] = text
            except UnitError:
                other[match["operation"]] = text
    return found, other


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
            part=lead,
            serial=of(lead, "serial", "part"),
            firmware=of(lead, "firmware"),
            condition="" if own else condition(lead),
        )
        for lead in dict.fromkeys([*(x.lead for x in plan.leads), *_parts_named(sheet)])
    ]
    return tuple(p for p in found if p.serial or p.firmware or p.condition)


_PART = re.compile(r"(?=.{1,64}$)[a-z0-9]+(?:-[a-z0-9]+)*")


def _parts_named(sheet: FilledSheet) -> list[str]:
    """The parts that the sheet itself says it is of: an older one may name some that the job has no more."""
    named = sheet.data.get("parts")
    rows = [row for row in named[:MOST_ROWS] if isinstance(row, dict)] if isinstance(named, list) else []
    leads = [row.get("lead") for row in rows]
    return [lead for lead in leads if isinstance(lead, str) and _PART.fullmatch(lead)]


MOST_ROWS = 2_000
"""Of parts or checks that a sheet's own data is believed to have."""


def checks_of_sheet(sheet: FilledSheet) -> tuple[Check, ...]:
    """The checks as the sheet itself has them, out of the data it carries: what a sheet of an older issue is judged by. Rows
    that are not whole are left out."""
    rows = sheet.data.get("checks")
    out = []
    for row in rows[:MOST_ROWS] if isinstance(rows, list) else ():
        if not isinstance(row, dict):
            continue
        words: dict[str, Any] = {name: row.get(name) for name in (*_TEXTS, *_LIMITS)}
        if (
            isinstance(row.get("number"), int)
            and row.get("stage") in STAGES
            and all(isinstance(words[name], str) and len(words[name]) <= MAX_WRITTEN for name in _TEXTS)
            and all(words[name] is None or isinstance(words[name], (int, float)) for name in _LIMITS)
            and _KEY.fullmatch(words["key"])
        ):
            words |= {name: row.get(name) is True for name in ("open", "yes_no")}
            out.append(Check(number=row["number"], stage=row["stage"], **words))
    return tuple(out)


_TEXTS = ("key", "circuit", "title", "probes", "meter", "condition", "expected", "unit", "on_failure")
_LIMITS = ("low", "high")
_KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


def _lines(bare: Mapping[str, str], word: str) -> tuple[str, ...]:
    """Free lines, from fields called ``WORD__1`` or just ``WORD``."""
    return tuple(text for name, text in bare.items() if re.fullmatch(rf"{word}s?(?:__\d+)?", name))


def _people(sheet: FilledSheet, plate: str) -> tuple[str, str, date | None, str]:
    """Who measured, who checked, and when, from the signature rows; a hold point signs when nothing else does. Last what stands
    where the day should, as it is written."""

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
    return by, checked, parse_day(when) or parse_day(later), when or later


_FIGURES = re.compile(r"(?<![\w.:/-])(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})(?![\d:/-])")


def days_read(text: str) -> tuple[date, ...]:
    """Every day that a text may mean: none, one, or two where day and month may stand in either order.

    A year of two figures is one of this century. With hyphens it may as well stand first, as in 26-11-05, so that such a text
    is read only with its year in full. Common practice, no source.

    >>> days_read("27/11/26 14:20"), days_read("3/5/26")
    ((datetime.date(2026, 11, 27),), (datetime.date(2026, 5, 3), datetime.date(2026, 3, 5)))
    """
    iso = re.search(r"\b(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})\b", text)
    figures = _FIGURES.search(text)
    named = re.search(r"\b(\d{1,2})\.? ?([A-Za-z]{3,9})\.?,? ?(\d{4}|\d{2})(?![\w:]|\.\d)", text)
    wanted: list[tuple[int, int, int]] = []
    if iso:
        wanted = [(int(iso[1]), int(iso[2]), int(iso[3]))]
    elif figures:
        first, second, year = int(figures[1]), int(figures[3]), _year(figures[4])
        if len(figures[4]) == 4 or figures[2] != "-":
            wanted = [(year, second, first), (year, first, second)]
    elif named:
        months = [i for i, m in enumerate(MONTHS, 1) if m.startswith(named[2].lower())]
        wanted = [(_year(named[3]), month, int(named[1])) for month in months] if len(months) == 1 else []
    found = []
    for year, month, day in wanted:
        with contextlib.suppress(ValueError):
            found.append(date(year, month, day))
    return tuple(dict.fromkeys(found))


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def parse_day(text: str) -> date | None:
    """A day that can be read in one way only: ``2026-05-12``, ``12 May 2026``, ``21.5.26``; None for anything else.

    >>> parse_day("12 May 2026, 14:30"), parse_day("05/06/2026"), parse_day("5/21/2026")
    (datetime.date(2026, 5, 12), None, datetime.date(2026, 5, 21))
    """
    days = days_read(text)
    return days[0] if len(days) == 1 else None


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
            GATE: dict.fromkeys(_asked_of_airbags(plan), ""),
            "as-found": dict.fromkeys(("battery-volts", "battery-state", "lamps", "fault-codes", "dead", "marks"), ""),
            "end": dict.fromkeys(("fault-codes", "lamps"), ""),
        },
        signatures=tuple(Signature(row=s.row) for s in plan.steps if s.kind == "hold"),
    )
    return Collected(readings=readings, wants=wanted_name(readings))


def _asked_of_airbags(plan: Plan) -> tuple[str, ...]:
    """What the fitting sheet has boxes for at the airbags: what the job states is printed there."""
    if not airbag_areas(plan.job, plan.vehicle):
        return ("none",)
    wait = plan.job.airbag_wait
    stated = bool(wait.value and wait.source)
    return ("looked-up", *(() if stated else ("wait", "document", "page")))


def same_already(new: Readings, entries: Iterable[Entry[Readings]]) -> str:
    """The file that says the very same already, or ""; a day that was written in afterwards makes no difference."""

    def same(old: Readings) -> bool:
        return (old if new.on else old.model_copy(update={"on": None})) == new

    return next((e.document.file for e in entries if same(e.value)), "")


def undated_twin(new: Readings, entries: Iterable[Entry[Readings]]) -> str:
    """The file that says the same and has no day, or "": one with a day takes its place."""
    return next((e.document.file for e in entries if new.on and e.value.on is None and but_for_its_day(e.value, new)), "")


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
