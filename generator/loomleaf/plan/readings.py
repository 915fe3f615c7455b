"""Readings that came back from a filled sheet, judged against the checks of the plan they were taken for.

A figure counts, not the tick beside it: a pass ticked beside a figure outside its limits is a fail, and a fail ticked
beside a figure inside them stays a fail, because somebody meant it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from ..check.library import Entry
from ..figure import number
from ..model.job import Job, Proof
from ..model.readings import ReadingBack, Readings
from ..model.vehicle import Vehicle
from ..problems import Location, Problem, Severity, nearest
from ..units import Reading, parse_minutes
from .answers import is_name, newest_answers, voltage_found
from .faults import look_first
from .filed import counts_for, files_of, in_order, same_digest, taken_on
from .proofs import END_OF_SCALE_OHM, size_of
from .stops import stop_problems
from .types import Check, Fault, Joint, JudgedReading, Stage, VehicleState
from .written import Written, doubted, in_unit_of, read_written, says_about

AIRBAG_LAMP = "hand-over-airbag-lamp"
"""The check without which nothing is verified, whatever the rest of the hand-over says."""
FIRST_HOLD = "before-plugging-in"
"""The row of the hold point on the bench sheet."""
LOADED_STAGE: Stage = "after-plugging-in"
"""The stage whose checks, all passed, make a vehicle verified."""

# --- judging -----------------------------------------------------------------------------------------------------

_YES = {"yes", "y", "ok", "okay", "pass", "passed", "good", "works", "seen", "✓", "✔", "x", "1", "true"}
_NO = {"no", "n", "0", "false"}
_FAILED = {"fail", "fails", "failed", "bad", "nok", "dead", "✗", "✘", "❌"}


def title_of(check: Check) -> str:
    """A check's title with its way's plug, which stands elsewhere on a sheet: "way 5" is a way of every plug.

    A check of one tail names it by the name it has on its lead: "Antenna turn-on, A.5".
    """
    way = check.tails[0].partition("/")[2] if len(check.tails) == 1 else ""
    bare = way.rpartition(".")[2]
    if way and check.title.endswith(f", way {bare}"):
        return f"{check.title.removesuffix(f', way {bare}')}, {way}"
    return check.title


def judge_reading(check: Check, back: ReadingBack, place: Location | None = None) -> JudgedReading:
    """One check against what was written for it."""
    result, why = _judged(check, back)
    return JudgedReading(
        check=check.key,
        number=check.number,
        stage=check.stage,
        circuit=check.circuit,
        title=check.title,
        written=back.reading.strip(),
        expected=check.expected,
        result=result,
        why=why,
        initials=back.initials,
        place=place,
    )


def _judged(check: Check, back: ReadingBack) -> tuple[Any, str]:
    ticked = _tick(back.result)
    text = back.reading.strip()
    if ticked == "both":
        return "unclear", "pass and fail are both ticked"
    if ticked == "unclear":
        return "unclear", f"'{back.result.strip()[:40]}' says neither pass nor fail"
    if check.yes_no:
        said = _tick(text)
        if said in ("unclear", "both"):
            return "unclear", f"'{text[:40]}' says neither pass nor fail"
        if ticked and said and ticked != said:
            return "unclear", f"'{text}' is written, and {ticked} is ticked"
        return (ticked or said or "missing"), ""
    if not text:
        return ("fail", "fail is ticked, no figure") if ticked == "fail" else ("missing", "")
    written = read_written(text)
    if written is None:
        why = f"'{text[:40]}' is not a reading"
        if says_about(text):
            why = f"'{text[:40]}' says about: write the figure that the meter shows, and nothing before it"
        return ("fail", "fail is ticked") if ticked == "fail" else ("unclear", why)
    inside, why = _inside(check, written)
    if inside and (doubt := doubted(written, check.unit, check.alone)):
        inside, why = None, f"'{text[:40]}' {doubt}"
    if inside is None:
        return ("fail", "fail is ticked") if ticked == "fail" else ("unclear", why)
    if not inside:
        why += (", though pass is ticked" if ticked == "pass" else "") + _unit_left_out(check, written)
        return "fail", why
    return ("fail", "inside the limits, but fail is ticked") if ticked == "fail" else ("pass", why)


def _tick(text: str) -> str:
    """What a word beside a check says: pass, fail, both, "" for nothing written, or unclear.

    A "not" turns a word round: "not ok" is a fail. Pass needs every word to say so; one clear word of failure is enough.

    >>> _tick("OK"), _tick("not ok"), _tick("FAIL!"), _tick("pass fail"), _tick("lamp stays on")
    ('pass', 'fail', 'fail', 'both', 'unclear')
    """
    words = [w for w in re.split(r"[\s,;:/.!()-]+", text.lower()) if w]
    if not words:
        return "unclear" if text.strip() else ""
    good = any(w in _YES or w in ("work", "working") for w in words)
    if any(w == "not" or w.endswith(("n't", "n’t")) for w in words):
        return "fail" if good else "unclear"
    failed = any(w in _FAILED for w in words)
    if good and failed:
        return "both"
    if failed or all(w in _NO for w in words):
        return "fail"
    return "pass" if all(w in _YES for w in words) else "unclear"


def _inside(check: Check, written: Written) -> tuple[bool | None, str]:
    """Whether a figure is inside a check's window, and why not; None when it cannot be told."""
    if written.value is None:
        if check.unit != "Ω" and not check.open:
            return None, "OL where volts or amperes are wanted: the meter was on another range"
        wanted = check.open or (check.high is None and check.low is not None)
        return wanted, "" if wanted else "open, and it must not be"
    value = in_unit_of(written, check.unit)
    if value is None:
        return None, f"{written.unit} is written, {check.unit or 'no unit'} is wanted"
    low, high = check.low, check.high
    if check.open and low is None and high is None:  # "> 20 MΩ" is how some meters show their end of scale
        beyond = written.unit in ("", "Ω") and written.limit != "<" and value >= END_OF_SCALE_OHM
        return beyond, "1 MΩ or more counts as open" if beyond else "not open: under 1 MΩ"
    size, minus = size_of(value, check.unit, low)
    if size is None or (minus and written.limit):
        return None, minus
    value = size
    if written.limit == ">":
        if low is not None and high is None and value >= low:
            return True, ""
        if high is not None and value >= high:
            return False, f"over {high:g} {check.unit}".strip()
        return None, "only a bound is written; the figure is wanted"
    if written.limit == "<":
        if high is not None and low is None and value <= high:
            return True, ""
        if low is not None and value <= low:
            return False, f"under {low:g} {check.unit}".strip()
        return None, "only a bound is written; the figure is wanted"
    if low is not None and value < low:
        turned = ": the probes were the other way round, or the two wires are changed over" if value < 0 else ""
        return False, f"{number(low - value, 3)} {check.unit} too low".replace("  ", " ") + turned
    if high is not None and value > high:
        over = f"{number(value - high, 3)} {check.unit} too high".replace("  ", " ")
        return False, f"{over}; {minus}" if minus else over
    return True, minus


MOST_V = 16.0
"""More than a vehicle of 12 V has at its plugs, charging included; common practice, no source."""


def _unit_left_out(check: Check, written: Written) -> str:
    """A remark on a bare figure that failed, where it would be inside with another unit of the same meter. It stays failed:
    nobody can tell from the paper what the meter showed."""
    if written.unit or written.value is None:
        return ""
    others: tuple[tuple[str, float], ...] = ()
    if check.unit == "Ω":
        others = (("kΩ", 1e3), ("MΩ", 1e6))
    elif check.unit == "V" and abs(written.value) > MOST_V:
        others = (("mV", 1e-3),)
    for unit, factor in others:
        if _inside(check, replace(written, value=written.value * factor))[0]:
            return f"; no unit is written: if the meter showed {unit}, write {unit} behind the figure"
    return ""


# --- a job's files -----------------------------------------------------------------------------------------------


def judged_readings(
    job: Job, plate: str, checks: Sequence[Check], readings: Iterable[Entry[Readings]], digest: str
) -> tuple[JudgedReading, ...]:
    """One verdict a check, in the sheet's order; the newest file that says anything about a check decides it.

    A file taken on other content (another digest) still counts where it failed, and never where it passed; a pass on the
    same content as the failure takes that failure away for good, and leaves the check to be read on what stands now. One
    without a day counts where it failed: nobody can tell what it came after, so its failures stand beside every later pass.
    What cannot be made out takes no failure away.
    """
    found: dict[str, JudgedReading] = {}
    failed_on: dict[str, str] = {}
    by_key = {c.key: c for c in checks}
    for entry in in_order(files_of(job, plate, readings)):
        value = entry.value
        current = counts_for(value, digest)
        for index, back in enumerate(value.readings):
            check = by_key.get(back.check)
            if check is None:
                continue
            verdict = judge_reading(check, back, entry.place("readings", index))
            if verdict.result == "missing" or (verdict.result == "unclear" and check.key in failed_on):
                continue
            if verdict.result == "fail":
                found[check.key] = verdict
                failed_on[check.key] = value.digest
            elif current:
                found[check.key] = verdict
                failed_on.pop(check.key, None)
            elif verdict.result == "pass" and value.on and same_digest(value.digest, failed_on.get(check.key, "")):
                del found[check.key], failed_on[check.key]
    missing = ReadingBack(check="")
    return tuple(found.get(c.key) or judge_reading(c, missing) for c in checks)


def loaded_passed(verdicts: Iterable[JudgedReading]) -> bool:
    """Whether every reading after plugging in is there and passed, and the current with the key out is not in doubt; False
    where there is nothing to read."""
    every = tuple(verdicts)
    return any(v.stage == LOADED_STAGE for v in every) and not still_wanted(every)


STANDBY = "standby-current"


def still_wanted(verdicts: Iterable[JudgedReading]) -> tuple[JudgedReading, ...]:
    """What keeps a vehicle from being verified: readings after plugging in that did not pass, and a current with the key out
    that was read and cannot be understood: a battery that is flat on Monday."""
    return tuple(
        v
        for v in verdicts
        if (v.stage == LOADED_STAGE and v.result != "pass") or (v.check == STANDBY and v.result == "unclear")
    )


def unsigned(
    job: Job, plate: str, readings: Iterable[Entry[Readings]], verdicts: Iterable[JudgedReading], *, two: bool
) -> tuple[tuple[Entry[Readings], str], ...]:
    """Every file that holds a passed reading after plugging in and lacks a name, with what is missing in words: of who took
    them, and of a second person too where the shop wants two. A name under the bench sheet vouches for nothing that was read
    in the vehicle."""
    deciding = {
        v.place.file for v in verdicts if v.stage == LOADED_STAGE and v.result == "pass" and v.place is not None
    }
    own = [e for e in files_of(job, plate, readings) if e.document.file in deciding]
    return tuple((e, why) for e in own if (why := _name_missing(e.value, two=two)))


def _name_missing(value: Readings, *, two: bool) -> str:
    if not is_name(value.by):
        return "the signature of who fitted"
    if two and not is_name(value.checked_by):
        return "the signature of somebody else who checked"
    if two and value.checked_by.casefold().strip() == value.by.casefold().strip():
        return f"the signature of a second person: {value.by} stands as fitter and as checker"
    return ""


def not_vouched_for(
    job: Job, plate: str, readings: Iterable[Entry[Readings]], verdicts: Iterable[JudgedReading], digest: str
) -> tuple[str, ...]:
    """What verifies nothing while it is missing, in words: the airbag lamp seen, and the hold point before the radio was
    plugged in released by somebody, without which nobody says that the bench sheet was done."""
    lamp = next((v for v in verdicts if v.check == AIRBAG_LAMP), None)
    own = [e.value for e in files_of(job, plate, readings) if taken_on(e.value, digest)]
    released = any(s.row == FIRST_HOLD and is_name(s.by) for one in own for s in one.signatures)
    return (
        *((f"check {lamp.number}, the airbag lamp",) if lamp is not None and lamp.result != "pass" else ()),
        *(() if released else ("the signature of the hold point before plugging in",)),
    )


def _unsigned_problems(job: Job, plate: str, missing: Iterable[tuple[Entry[Readings], str]]) -> tuple[Problem, ...]:
    """A warning for each file that makes nothing verified for want of a name."""
    return tuple(
        Problem(
            code="readings-unsigned",
            severity=Severity.WARNING,
            message=f"readings after plugging in passed here, and verify nothing yet; missing: {why}",
            hint="write it on the sheet and collect it again, or write it into this file, a name at  by  or  checked_by"
            if "signature of" in why and "hold point" not in why
            else "do it and write it on the sheet, and collect it again; or write it into this file",
            location=entry.place("readings" if is_name(entry.value.checked_by) else "checked_by" if entry.value.by else "by"),
            job=job.job,
            registration=plate,
        )
        for entry, why in missing
    )


def reading_problems(
    job: Job,
    plate: str,
    verdicts: Iterable[JudgedReading],
    checks: Sequence[Check],
    faults: Sequence[Fault] = (),
    joints: Sequence[Joint] = (),
) -> tuple[Problem, ...]:
    """A hold for each failed reading, with what to look at first; a warning for each that cannot be understood."""
    by_key = {c.key: c for c in checks}
    out = []
    for verdict in verdicts:
        if verdict.result not in ("fail", "unclear") or verdict.place is None:
            continue
        failed = verdict.result == "fail"
        said = f"'{verdict.written}'" if verdict.written else "nothing"
        title = title_of(by_key[verdict.check])
        message = f"check {verdict.number}, {title}: {said} written, {verdict.expected} expected"
        if verdict.why:
            message += f" ({verdict.why})"
        out.append(
            Problem(
                code="reading-failed" if failed else "reading-unclear",
                severity=Severity.HOLD if failed else Severity.WARNING,
                message=message,
                hint=look_first(by_key[verdict.check], faults, joints) if failed else "write the figure and its unit",
                location=verdict.place,
                job=job.job,
                registration=plate,
            )
        )
    return tuple(out)


def file_problems(
    job: Job, plate: str, checks: Sequence[Check], readings: Iterable[Entry[Readings]], digest: str
) -> tuple[Problem, ...]:
    """A warning for a file with readings and no day, or of a day before its sheet was issued, and for a reading of no check;
    a hold where the vehicle was found on another voltage than the job says."""
    known = {c.key for c in checks}
    out = []
    files = files_of(job, plate, readings)
    for entry in files:
        value = entry.value
        if value.on is None and any(b.reading or b.result for b in value.readings):
            out.append(
                Problem(
                    code="reading-undated",
                    severity=Severity.WARNING,
                    message="these readings have no day: what failed holds, what passed clears nothing",
                    hint="write the day they were taken at  on:  as year-month-day",
                    location=entry.place("on"),
                    job=job.job,
                    registration=plate,
                )
            )
        elif value.on is not None and value.on < job.issued and taken_on(value, digest):
            out.append(
                Problem(
                    code="reading-before-issue",
                    severity=Severity.WARNING,
                    message=f"these readings are dated {value.on.isoformat()}, and their sheet {job.issued.isoformat()}",
                    hint="nothing is read on a sheet that is not there yet: put the day right, here or at  issued",
                    location=entry.place("on"),
                    job=job.job,
                    registration=plate,
                )
            )
        out += [
            Problem(
                code="reading-of-nothing",
                severity=Severity.WARNING,
                message=f"this job has no check '{back.check[:60]}': what is written here counts for nothing",
                hint=nearest(back.check, known) or f"loomleaf collect --blank {job.job}  writes the names of all checks",
                location=entry.place("readings", index),
                job=job.job,
                registration=plate,
            )
            for index, back in enumerate(value.readings)
            if back.check not in known and (back.reading or back.result) and taken_on(value, digest)
        ]
    found = voltage_found(newest_answers([e.value for e in files]))
    if found and found != (job.high_voltage,):
        where = next(e.place("answers") for e in reversed(files) if "gate-voltage" in e.value.answers)
        out.append(
            Problem(
                code="voltage-found-otherwise",
                severity=Severity.HOLD,
                message=f"{plate} was found to have: {', '.join(found)}; the job says: {job.high_voltage}",
                hint="look at the vehicle; put  high_voltage  right in the job, or the tick in the readings",
                location=where,
                job=job.job,
                registration=plate,
            )
        )
    return tuple(out)


# --- readings that prove -----------------------------------------------------------------------------------------


def proofs_read(
    job: Job, checks: Sequence[Check], readings: Sequence[Entry[Readings]], verdicts: Mapping[str, Sequence[JudgedReading]]
) -> tuple[Proof, ...]:
    """Readings taken before joining that passed on what stands now, as proofs of their tails on their own vehicle.

    What the sheet asked for is what was done: its condition, its load, its places for the probes.
    """
    by_key = {c.key: c for c in checks if c.proves is not None and c.tails}
    out = []
    for plate, own in verdicts.items():
        files = {e.document.file: e.value for e in files_of(job, plate, readings)}
        for verdict in own:
            check = by_key.get(verdict.check)
            if check is None or check.proves is None or verdict.result != "pass" or verdict.place is None:
                continue
            written = read_written(verdict.written)
            if written is None:
                continue
            file = files.get(verdict.place.file)
            value = None if check.open else in_unit_of(written, check.unit)
            out.append(
                Proof.model_construct(
                    tail=check.tails[0],
                    condition=check.proves.condition,
                    reading=Reading(written=verdict.written, value=value, unit=check.unit),
                    load=check.proves.load,
                    between=check.proves.between,
                    by=verdict.initials or (file.by if file else ""),
                    on=file.on if file else None,
                    registration=plate,
                    shows=None,
                )
            )
    return tuple(out)


# --- minutes -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Minutes recorded for an operation, and on how many of the job's vehicles it was timed."""

    minutes: Decimal
    vehicles: int


def minutes_taken(job: Job, readings: Sequence[Entry[Readings]]) -> dict[str, Taken]:
    """Minutes recorded for a job by operation: the newest on each vehicle's sheets, of whichever revision; for an operation
    that no sheet timed, the job file's own figure, which is for all of its vehicles."""
    total = {
        name: Taken(minutes=Decimal(str(value)), vehicles=len(job.registrations))
        for name, value in job.minutes_spent.items()
    }
    timed: dict[str, list[Decimal]] = {}
    for registration in job.registrations:
        newest: dict[str, Decimal] = {}
        for entry in files_of(job, registration.plate, readings, every_issue=True):
            for name, text in entry.value.minutes.items():
                newest[name] = parse_minutes(text)
        for name, value in newest.items():
            timed.setdefault(name, []).append(value)
    total |= {name: Taken(minutes=sum(v, Decimal(0)), vehicles=len(v)) for name, v in timed.items()}
    return dict(sorted(total.items()))


# --- what the planner asks ---------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class ReadBack:
    """What came back for each vehicle of a job, by registration: verdicts, and which signatures are missing, in words.

    ``proofs`` are those that its sheets add to the job's own.
    """

    verdicts: dict[str, tuple[JudgedReading, ...]]
    unsigned: dict[str, tuple[str, ...]]
    problems: tuple[Problem, ...]
    proofs: tuple[Proof, ...] = ()

    def passed(self, plate: str) -> bool:
        """Whether a vehicle may be called verified, as far as its readings go."""
        return loaded_passed(self.verdicts.get(plate, ())) and not self.unsigned.get(plate)

    @property
    def holds(self) -> tuple[Problem, ...]:
        return tuple(p for p in self.problems if p.severity is Severity.HOLD)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        return tuple(p for p in self.problems if p.severity is Severity.WARNING)


def read_back(
    job: Job,
    checks: Sequence[Check],
    readings: Sequence[Entry[Readings]],
    digest: str,
    *,
    vehicle: Vehicle,
    two_signatures: bool,
    standby_limit_ma: float | None = None,
    faults: Sequence[Fault] = (),
    joints: Sequence[Joint] = (),
) -> ReadBack:
    """Every vehicle's readings files judged. A vehicle without a file is not in it."""
    verdicts: dict[str, tuple[JudgedReading, ...]] = {}
    signatures: dict[str, tuple[str, ...]] = {}
    problems: list[Problem] = []
    for registration in job.registrations:
        plate = registration.plate
        if files_of(job, plate, readings):
            verdicts[plate] = judged_readings(job, plate, checks, readings, digest)
            missing = unsigned(job, plate, readings, verdicts[plate], two=two_signatures)
            if loaded_passed(verdicts[plate]):
                more = not_vouched_for(job, plate, readings, verdicts[plate], digest)
                missing += tuple((entry, why) for why in more for entry in files_of(job, plate, readings)[-1:])
            signatures[plate] = tuple(dict.fromkeys(why for _, why in missing))
            problems += reading_problems(job, plate, verdicts[plate], checks, faults, joints)
            problems += file_problems(job, plate, checks, readings, digest)
            problems += _unsigned_problems(job, plate, missing)
            problems += stop_problems(
                job,
                vehicle,
                plate,
                checks,
                in_order(files_of(job, plate, readings)),
                digest,
                standby_limit_ma=None if any(c.key == "standby-current" for c in checks) else standby_limit_ma,
            )
    proofs = proofs_read(job, checks, readings, verdicts)
    return ReadBack(verdicts=verdicts, unsigned=signatures, problems=tuple(problems), proofs=proofs)


def with_readings(state: VehicleState, back: ReadBack) -> VehicleState:
    """A vehicle's state with its verdicts, and with what is still missing said exactly."""
    verdicts = back.verdicts.get(state.registration.plate, ())
    if not verdicts or state.state != "plug-in":
        return replace(state, readings=verdicts)
    if loaded_passed(verdicts):
        missing = "; ".join(back.unsigned.get(state.registration.plate, ()))
        before = f"The readings after plugging in passed. Still missing: {missing}."
    else:
        numbers = ", ".join(str(v.number) for v in still_wanted(verdicts))
        before = f"Readings under load, in their windows, after plugging in: still wanted {numbers}."
    return replace(state, readings=verdicts, before_next=(before,))
