"""The work of ``loomleaf collect``: sheets in, words and files to write out. Nothing is read or written here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..check.library import Library
from ..plan.issued import next_name
from ..plan.readings import files_of
from ..plan.types import Plan
from ..problems import Location, Problem, Severity
from .pdf import read_sheet
from .readings_file import blank_of, collected_from, readings_text, same_already
from .told import refused, tell


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """What came of it: lines to print, files to write into the shop's folder (name to text), and problems."""

    lines: tuple[str, ...]
    files: Mapping[str, str]
    problems: tuple[Problem, ...]


def collect(
    library: Library, plans: Mapping[str, Plan], sheets: Sequence[tuple[str, bytes]], *, older: bool = False
) -> Gathered:
    """Read every sheet; each is judged by itself, and one that cannot be used keeps none of the others back."""
    lines: list[str] = []
    files: dict[str, str] = {}
    problems: list[Problem] = []
    taken = [e.document.file for e in library.readings]
    for name, data in sheets:
        sheet, found = read_sheet(name, data)
        problems += found
        if sheet is None:
            continue
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
            problems += [against] if against else []
            continue
        every = collected_from(plan, sheet)
        lines.append(f"{name}: job {sheet.job}, revision {sheet.revision}, {sheet.kind or 'sheet'}")
        if not every:
            lines.append("  nothing is filled in")
        for one in every:
            said = tell(plan, sheet, one)
            lines += [f"  {line}" for line in said.lines]
            standing = same_already(one.readings, library.readings)
            if standing:
                lines.append(f"  collected before, in {standing}")
                continue
            wanted = next_name(one.wants, [*taken, *files])
            files[wanted] = readings_text(one.readings, plan.checks)
    return Gathered(lines=tuple(lines), files=files, problems=tuple(problems))


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
            lines.append(f"{registration.plate}: {there} is there already")
            continue
        files[next_name(blank.wants, [*taken, *files])] = readings_text(blank.readings, plan.checks, blank=True)
    return Gathered(lines=tuple(lines), files=files, problems=())


def _error(code: str, message: str, file: str, hint: str) -> Problem:
    return Problem(code=code, severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file))


__all__ = ["Gathered", "blanks", "collect"]
