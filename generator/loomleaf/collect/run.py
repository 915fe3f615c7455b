"""The work of ``loomleaf collect``: sheets in, words and files to write out. Nothing is read or written here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ..check.convert import convert
from ..check.library import Library
from ..model.readings import Readings
from ..plan.filed import counts_for, files_of
from ..plan.issued import next_name
from ..plan.types import Plan
from ..problems import Collector, Location, Problem, Severity
from ..source.nodes import read_document
from .pdf import MAX_WRITTEN, FilledSheet, read_sheets
from .readings_file import (
    MONTHS,
    Collected,
    blank_of,
    collected_from,
    days_read,
    is_empty,
    of_no_lead,
    readings_text,
    same_already,
    undated_twin,
    wanted_name,
)
from .told import of_an_older_issue, of_its_own_time, otherwise, refused, tell, tell_typed


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """What came of it: lines to print, files to write into the shop's folder (name to text), and problems."""

    lines: tuple[str, ...]
    files: Mapping[str, str]
    problems: tuple[Problem, ...]


def collect(
    library: Library,
    plans: Mapping[str, Plan],
    sheets: Sequence[tuple[str, bytes]],
    *,
    older: bool = False,
    on: date | None = None,
    today: date | None = None,
) -> Gathered:
    """Read every sheet; each is judged by itself, and one that cannot be used keeps none of the others back.

    ``on`` is the day of those sheets that bear none. ``today`` is the day on which they are collected: no reading is later.
    """
    lines: list[str] = []
    files: dict[str, str] = {}
    problems: list[Problem] = []
    taken = [e.document.file for e in library.readings]
    for name, data in sheets:
        if is_typed(name, data):
            typed = _typed(name, data, library, plans, older=older, today=today)
            lines += typed.lines
            problems += typed.problems
            for wants, text in typed.files.items():
                files[next_name(wants, [*taken, *files])] = text
            continue
        read, found = read_sheets(name, data)
        problems += found
        told: set[Problem] = set()
        empty = []
        for sheet in read:
            entry = library.jobs.get(sheet.job)
            plan = plans.get(sheet.job)
            against = refused(
                sheet, entry.value if entry else None, plan.digest if plan else "", older=older or plan is None
            )
            if against is None and plan is None:
                against = _error(
                    "job-has-errors", f"job {sheet.job} has errors of its own", name, "loomleaf check says which"
                )
            if against is not None or plan is None:
                if against is not None and against not in told:  # once a file, whatever it holds
                    told.add(against)
                    problems.append(against)
                continue
            own = of_its_own_time(plan, sheet)
            every = collected_from(own, sheet, on=on)
            late = next((p for one in every if (p := to_come(one.readings, plan, name, today))), None)
            if late is not None:
                if late not in problems:
                    problems.append(late)
                continue
            if not every and len(read) > 1 and not sheet.disagree:
                empty.append(sheet.kind)
                continue
            lines.append(f"{name}: job {sheet.job}, revision {sheet.revision}, {sheet.kind or 'sheet'}")
            problems += [p for p in doubts(sheet, every, plan) if p not in problems]
            nobodys = of_no_lead(own, sheet)
            if nobodys:
                lines.append(
                    f"  not taken: check {', '.join(map(str, nobodys))} says nothing of which lead it was read on; print the"
                    " sheet again and read each lead"
                )
            if not every:
                lines.append("  nothing is filled in" + (" for any one vehicle" if nobodys else ""))
            for one in every:
                said = tell(own, sheet, one)
                lines += [f"  {line}" for line in (*said.lines, *of_an_older_issue(plan, sheet, own, one))]
                if one.clocks:
                    lines.append("  stays on the paper: when each wait began and ended")
                standing = same_already(one.readings, library.readings)
                if standing:
                    lines.append(f"  collected before, in {standing}")
                    continue
                lines += [f"  {line}" for line in otherwise(own, one, library.readings)]
                undated = undated_twin(one.readings, library.readings)
                if undated:
                    lines.append(f"  it takes the place of {undated}, which has no day")
                wanted = next_name(one.wants, [*taken, *files])
                files[wanted] = readings_text(one.readings, own.checks)
        if empty:
            lines.append(f"{name}: nothing is filled in on: {', '.join(empty)}")
    return Gathered(lines=tuple(lines), files=files, problems=tuple(problems))


def is_typed(name: str, data: bytes) -> bool:
    """Whether a file is a readings file typed down from paper, not a PDF."""
    return name.lower().endswith((".yaml", ".yml")) and b"%PDF-" not in data[:1024]


def _typed(
    name: str, data: bytes, library: Library, plans: Mapping[str, Plan], *, older: bool, today: date | None
) -> Gathered:
    """A readings file that somebody typed: judged as a sheet is; one from outside the shop's folder is taken into it."""
    document, problems = read_document(name, data)
    found = Collector()
    readings = convert(document, Readings, found) if document.root is not None else None
    problems = (*problems, *found.problems)
    if readings is None or any(p.severity is Severity.ERROR for p in problems):
        return Gathered(lines=(), files={}, problems=problems)
    entry, plan = library.jobs.get(readings.job), plans.get(readings.job)
    sheet = FilledSheet(
        file=name,
        job=readings.job,
        revision=readings.revision,
        digest=readings.digest,
        registrations=(readings.registration,) if readings.registration else (),
    )
    against = refused(sheet, entry.value if entry else None, plan.digest if plan else "", older=older or plan is None)
    if against is None and plan is None:
        against = _error("job-has-errors", f"job {readings.job} has errors of its own", name, "loomleaf check says which")
    if against is not None or plan is None:
        return Gathered(lines=(), files={}, problems=(*problems, *((against,) if against else ())))
    late = to_come(readings, plan, name, today)
    if late is not None:
        return Gathered(lines=(), files={}, problems=(*problems, late))
    one = Collected(readings=readings, wants=wanted_name(readings))
    lines = [f"{name}: job {readings.job}, revision {readings.revision}, typed down"]
    lines += [f"  {line}" for line in tell_typed(plan, one)]
    if is_empty(readings):
        return Gathered(lines=(*lines, "  nothing is filled in"), files={}, problems=problems)
    problems = (*problems, *doubts(sheet, (one,), plan))
    standing = same_already(readings, library.readings)
    if standing:
        return Gathered(lines=(*lines, f"  it stands in {standing}{_counting(readings, plan)}"), files={}, problems=problems)
    lines += [f"  {line}" for line in otherwise(plan, one, library.readings)]
    return Gathered(lines=tuple(lines), files={one.wants: readings_text(readings, plan.checks)}, problems=problems)


def _counting(readings: Readings, plan: Plan) -> str:
    """What becomes of a file that is in its place: as its day and its digest make it."""
    if counts_for(readings, plan.digest):
        return ", and counts"
    why = "without its day" if readings.on is None else "taken on other content"
    return f"; {why} it clears nothing, and what failed holds"


def doubts(sheet: FilledSheet, every: Sequence[Collected], plan: Plan) -> tuple[Problem, ...]:
    """What of a sheet cannot be taken as it is: fields that say two things, too long a text, no day."""
    out = [
        _error(
            "sheet-disagrees",
            f"{name} is filled in twice and differently: {', '.join(repr(text[:40]) for text in said)}; neither is taken",
            sheet.file,
            "find out which is right, put it in both places, collect again",
        )
        for name, said in sheet.disagree.items()
    ]
    where = Location(file=sheet.file)
    job = plan.job.job
    for name in sheet.cut:
        message = f"{name} holds more than {MAX_WRITTEN} characters; the rest is not taken"
        hint = "write the whole of it into the readings file, under  notes:"
        out.append(
            Problem(
                code="text-cut", severity=Severity.WARNING, message=message, hint=hint, location=where, job=job
            )
        )
    for one in every:
        for name, text in one.no_minutes.items():
            found = _error(
                "bad-minutes",
                f"minutes of {name.replace('-', ' ')}: '{text[:40]}' is no time; it is kept among the notes",
                sheet.file,
                "write for example 35 or 1 h 05, and collect it again",
            )
            out.append(replace(found, severity=Severity.WARNING, job=job, registration=one.readings.registration))
    undated = [one for one in every if one.readings.readings and one.readings.on is None]
    if undated:
        of = ", ".join(one.readings.registration for one in undated if one.readings.registration)
        on_it = f"on this sheet{' for ' + of if of else ''}"
        message = f"{_no_day(undated[0].day_written, on_it)}, so that its readings clear nothing"
        hint = "collect it again with  --on YEAR-MONTH-DAY, or write the day into the readings file, at  on:"
        out.append(
            Problem(
                code="sheet-undated", severity=Severity.WARNING, message=message, hint=hint, location=where, job=job
            )
        )
    return tuple(out)


def _no_day(written: str, on_it: str) -> str:
    """Why no day is known: nothing stands there, or what stands there can be read in two ways or in none."""
    if not written:
        return f"no day stands {on_it}"
    days = days_read(written)
    if len(days) > 1:
        return f"'{written[:40]}' {on_it} may be {' or '.join(_in_words(day) for day in days)}"
    return f"'{written[:40]}' {on_it} cannot be read as a day (wanted: 27 November 2026, 27.11.2026 or 2026-11-27)"


def _in_words(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"


def to_come(readings: Readings, plan: Plan, name: str, today: date | None) -> Problem | None:
    """An error for readings of a day that has not come: later than today and than the sheet's own day of issue."""
    if today is None or readings.on is None or readings.on <= max(today, plan.job.issued):
        return None
    found = _error(
        "day-to-come",
        f"these readings would be of {readings.on.isoformat()}, and today is {today.isoformat()}; nothing is taken",
        name,
        "put the day right, on the sheet or at  --on; or this computer's clock",
    )
    return replace(found, job=plan.job.job, registration=readings.registration)


def blanks(library: Library, plan: Plan) -> Gathered:
    """An empty readings file for each vehicle of a job that has none for what stands now."""
    lines: list[str] = []
    files: dict[str, str] = {}
    taken = [e.document.file for e in library.readings]
    for registration in plan.job.registrations:
        blank = blank_of(plan, registration.plate)
        own = files_of(plan.job, registration.plate, library.readings)
        there = next((e.document.file for e in own if plan.digest.startswith(e.value.digest or "-")), "")
        if there:
            lines.append(f"{registration.plate}: {there} is there already; a later reading goes into a copy beside it")
            continue
        files[next_name(blank.wants, [*taken, *files])] = readings_text(blank.readings, plan.checks, blank=True)
    return Gathered(lines=tuple(lines), files=files, problems=())


def _error(code: str, message: str, file: str, hint: str) -> Problem:
    return Problem(code=code, severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file))


__all__ = ["Gathered", "blanks", "collect"]
