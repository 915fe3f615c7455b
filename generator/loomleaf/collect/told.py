"""What a sheet that came back is told to say: passed, failed and what to look at, missing; and why one is refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..check.library import Entry
from ..model.job import Job
from ..model.readings import ReadingBack, Readings
from ..plan.changed import changed
from ..plan.faults import look_first
from ..plan.filed import files_of, plate_key
from ..plan.readings import judge_reading, title_of
from ..plan.stops import passed_over
from ..plan.types import STAGES, JudgedReading, Plan
from ..problems import Location, Problem, Severity, nearest
from .pdf import FilledSheet
from .readings_file import Collected, checks_of_sheet, on_sheet

STAGE_WORDS = {stage: stage.replace("-", " ") for stage in STAGES}


def refused(sheet: FilledSheet, job: Job | None, digest: str, *, older: bool) -> Problem | None:
    """Why a sheet is not taken: of another job, of a vehicle that is not in it, or older than what stands now."""

    def no(code: str, message: str, hint: str) -> Problem:
        where = Location(file=sheet.file)
        return Problem(
            code=code, severity=Severity.ERROR, message=message, hint=hint, location=where, job=job.job if job else ""
        )

    if job is None:
        return no(
            "sheet-of-another-job", f"the sheet is of job {sheet.job}, which this shop does not have", "look at --shop"
        )
    plates = {plate_key(r.plate) for r in job.registrations}
    strange = [p for p in sheet.registrations if plate_key(p) not in plates]
    if strange:
        return no(
            "sheet-of-another-job",
            f"the sheet is of {', '.join(strange[:3])}, which job {job.job} does not have",
            "look at the registration in the job and on the sheet",
        )
    if older:
        return None
    if sheet.revision != job.revision:
        return no(
            "sheet-older",
            f"the sheet is revision {sheet.revision} of job {job.job}, and revision {job.revision} stands now",
            "print the current sheet and measure on it; --older takes this one as a record that clears nothing",
        )
    if not sheet.digest or not digest.startswith(sheet.digest):
        return no(
            "sheet-older",
            f"job {job.job} has changed since this sheet was printed (digest {sheet.digest or 'missing'}, now {digest})",
            "print the current sheet and measure on it; --older takes this one as a record that clears nothing",
        )
    return None


def of_its_own_time(plan: Plan, sheet: FilledSheet) -> Plan:
    """The plan to judge a sheet by: the one given for a sheet of what stands now; for one of an older issue the same with the
    checks that the sheet itself carries, and nothing else that has changed since."""
    if is_current(plan, sheet):
        return plan
    own = checks_of_sheet(sheet)
    job = plan.job.model_copy(update={"revision": sheet.revision})
    return changed(plan, job=job, checks=own or plan.checks, faults=(), joints=())


def is_current(plan: Plan, sheet: FilledSheet) -> bool:
    """Whether a sheet is of exactly what stands now."""
    return sheet.revision == plan.job.revision and bool(sheet.digest) and plan.digest.startswith(sheet.digest)


def of_an_older_issue(plan: Plan, sheet: FilledSheet, own: Plan, collected: Collected) -> tuple[str, ...]:
    """What is said of a sheet of an older issue: that it is a record, and which of its checks the job has no more."""
    if is_current(plan, sheet):
        return ()
    lines = [
        f"a record of revision {sheet.revision}, judged by the checks it was printed with; it clears nothing of revision"
        f" {plan.job.revision}"
    ]
    now = {c.key for c in plan.checks}
    then = {c.key: c for c in own.checks}
    gone = [b.check for b in collected.readings.readings if b.check not in now]
    if gone:
        named = ", ".join(f"{then[k].number}. {title_of(then[k])}" if k in then else k for k in gone)
        lines.append(f"kept, and no check of this job now: {named}")
    return tuple(lines)


def otherwise(plan: Plan, collected: Collected, entries: Sequence[Entry[Readings]]) -> tuple[str, ...]:
    """A line for each check that an earlier file of the same vehicle and revision tells otherwise: nothing is lost, and the
    newest counts."""
    new = collected.readings
    plate = new.registration or plan.job.registrations[0].plate
    by_key = {c.key: c for c in plan.checks}
    said = {b.check: b for b in new.readings if b.reading or b.result}
    lines: dict[str, str] = {}
    for entry in files_of(plan.job, plate, entries):
        for old in entry.value.readings:
            now, check = said.get(old.check), by_key.get(old.check)
            if now is None or check is None or not (old.reading or old.result):
                continue
            if (old.reading, old.result) != (now.reading, now.result):
                before = old.reading or old.result
                lines[old.check] = (
                    f"  otherwise {check.number}. {title_of(check)}: '{before}' in {entry.document.file},"
                    f" '{now.reading or now.result}' now; the newest counts"
                )
    return tuple(lines.values())


@dataclass(frozen=True, kw_only=True)
class Told:
    """One vehicle's readings in words. ``failed`` says whether any reading failed."""

    plate: str
    lines: tuple[str, ...]
    failed: bool


def tell(plan: Plan, sheet: FilledSheet, collected: Collected) -> Told:
    """What passed, failed, cannot be understood or is missing, of the checks that this sheet has places for."""
    plate = collected.readings.registration or plan.job.registrations[0].plate
    by_check = {b.check: b for b in collected.readings.readings}
    verdicts = [
        judge_reading(c, by_check.get(c.key) or ReadingBack(check=c.key))
        for c in plan.checks
        if on_sheet(sheet, c, plate)
    ]
    said = told(plan, plate, verdicts)
    return replace(said, lines=(*said.lines, *_stops(plan, collected)))


def _stops(plan: Plan, collected: Collected) -> tuple[str, ...]:
    """What holds the vehicle besides its readings, unless another file of it says better."""
    return tuple(f"  {line}" for line in passed_over(collected.readings, plan.checks))


def tell_typed(plan: Plan, collected: Collected) -> tuple[str, ...]:
    """The same of a file that was typed down: every check, and names of checks that the job does not have.

    A file of what stands now may have mistyped one; in one of an older issue it is a check of that time.
    """
    readings = collected.readings
    plate = readings.registration or plan.job.registrations[0].plate
    by_check = {b.check: b for b in readings.readings}
    known = [c.key for c in plan.checks]
    verdicts = [judge_reading(c, by_check.get(c.key) or ReadingBack(check=c.key)) for c in plan.checks]
    strange = [name for name in by_check if name not in known]
    hints = {name: nearest(name, known) for name in strange}
    return (
        *told(plan, plate, verdicts).lines,
        *_stops(plan, collected),
        *(f"  not judged: there is no check '{name}'" + (f" ({hint})" if hint else "") for name, hint in hints.items()),
    )


def told(plan: Plan, plate: str, verdicts: Sequence[JudgedReading]) -> Told:
    """Counts first, then every failed one with where to look, every unclear one, and the missing ones by their numbers."""
    counts = {word: sum(v.result == word for v in verdicts) for word in ("pass", "fail", "unclear", "missing")}
    said = [f"{counts['pass']} passed", f"{counts['fail']} failed"]
    if counts["unclear"]:
        said.append(f"{counts['unclear']} not understood")
    said.append(f"{counts['missing']} missing")
    lines = [f"{plate}: {', '.join(said)}"]
    by_key = {c.key: c for c in plan.checks}
    for verdict in verdicts:
        if verdict.result in ("fail", "unclear"):
            word = "failed" if verdict.result == "fail" else "unclear"
            written = f"'{verdict.written}' written, " if verdict.written else ""
            why = f" ({verdict.why})" if verdict.why else ""
            title = title_of(by_key[verdict.check])
            lines.append(f"  {word} {verdict.number}. {title}: {written}{verdict.expected} expected{why}")
            if verdict.result == "fail":
                lines.append(f"      {look_first(by_key[verdict.check], plan.faults, plan.joints)}")
    for stage in STAGES:
        numbers = [str(v.number) for v in verdicts if v.stage == stage and v.result == "missing"]
        if numbers:
            lines.append(f"  missing {STAGE_WORDS[stage]}: {', '.join(numbers)}")
    if counts["fail"]:
        lines.append(f"  {plate} is held until what failed is read again and passes")
    return Told(plate=plate, lines=tuple(lines), failed=counts["fail"] > 0)
