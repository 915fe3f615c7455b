"""What a sheet says stops work, found in what came back: a hold point that nobody signed, an airbag blank left empty, a lamp
still lit, a current with the key out over the limit; and answers that the vehicle's file contradicts.

A row that is not in a file says nothing: a sheet that was collected brings its rows along, empty ones too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from ..check.library import Entry
from ..model.job import Job
from ..model.readings import Readings
from ..model.vehicle import Vehicle
from ..problems import Collector, Problem
from .answers import GATE, carried_otherwise, is_name, lamp_lit, left_empty
from .battery import airbag_areas
from .filed import counts_for, same_digest
from .types import Check, Stage
from .written import BARE_MA, in_unit_of, read_written

AFTER: Mapping[str, tuple[Stage, ...]] = {
    "before-plugging-in": ("after-plugging-in", "before-trim", "hand-over"),
    "before-the-trim-goes-back": ("hand-over",),
}
"""Hold points by their row on the sheets, each with the stages whose checks come after it."""

IN_THE_VEHICLE: tuple[Stage, ...] = (
    "before-joining",
    "before-plugging-in",
    "after-plugging-in",
    "before-trim",
    "hand-over",
)
"""Stages that are done at the vehicle, behind the gates of the fitting sheet."""


def stop_problems(
    job: Job,
    vehicle: Vehicle,
    plate: str,
    checks: Sequence[Check],
    files: Sequence[Entry[Readings]],
    digest: str,
    *,
    standby_limit_ma: float | None,
) -> tuple[Problem, ...]:
    """Holds and warnings of one vehicle's files, oldest first; ``digest`` names what stands now."""
    found = Collector()
    hold = partial(found.hold, job=job.job, registration=plate)
    current = [e for e in files if counts_for(e.value, digest)]
    done = stages_done([e.value for e in current], checks)
    for row, after in AFTER.items():
        rows = [(e, i, s) for e in current for i, s in enumerate(e.value.signatures) if s.row == row]
        if rows and done & set(after) and not any(is_name(s.by) for _, _, s in rows):
            entry, index, _ = rows[-1]
            hold(
                "hold-point-unsigned",
                f"the hold point '{row.replace('-', ' ')}' is not signed, and work went on after it",
                entry.place("signatures", index),
                hint="whoever released it signs the sheet, and it is collected again; or write  by  and  when  in this row",
            )
    gates = [e for e in current if GATE in e.value.answers]
    empty = left_empty([e.value for e in gates])
    if gates and empty and done & set(IN_THE_VEHICLE):
        hold(
            "airbag-gate-open",
            f"at the airbags the sheet is empty where it stops work, and work went on: {', '.join(empty)}",
            gates[-1].place("answers", GATE),
            hint="look it up in the vehicle maker's service information, write it on the sheet, collect it again",
        )
    bad = _standing(files, "end", "lamps", lamp_lit, digest)
    if bad is not None:
        hold(
            "lamp-still-lit",
            f"lamps still lit at the end: {bad.value.answers['end']['lamps']}",
            bad.place("answers", "end"),
            hint="find out why; when it is out, write  none  on the sheet or in a later readings file",
        )
    if standby_limit_ma is not None:
        bad = _standing(files, "standby", "read", partial(_over_ma, limit_ma=standby_limit_ma), digest)
        if bad is not None:
            hold(
                "standby-read-high",
                f"the current with the key out was read as {bad.value.answers['standby']['read']};"
                f" the shop allows {standby_limit_ma:g} mA",
                bad.place("answers", "standby"),
                hint="unplug the new parts one by one until it falls; then read again",
            )
        bare = _standing(files, "standby", "read", _bare_and_tiny, digest)
        if bare is not None:
            found.warning(
                "reading-unclear",
                f"the current with the key out is written as '{bare.value.answers['standby']['read'][:40]}', without a unit",
                bare.place("answers", "standby"),
                hint="write the unit that the meter showed: a clamp meter shows A, and 0.2 A is 200 mA",
                job=job.job,
                registration=plate,
            )
    for entry in files:
        answers = entry.value.answers
        differing = [
            ("old-radio", said, "look at the radio that came out; put the vehicle's file right, or the tick")
            for said in carried_otherwise(answers.get("old-radio", {}), vehicle)
        ]
        if answers.get(GATE, {}).get("none") and airbag_areas(job, vehicle):
            said = "the sheet says that no airbag is near the work, and the job works where airbags may be"
            differing.append((GATE, said, "look at the vehicle; put  work_areas  right in the job, or the tick"))
        for row, said, hint in differing:
            place = entry.place("answers", row)
            found.warning("answer-differs", said, place, hint=hint, job=job.job, registration=plate)
    return tuple(found.problems)


def _over_ma(text: str, *, limit_ma: float) -> bool:
    written = read_written(text)
    read_ma = in_unit_of(written, "mA") if written is not None else None
    return read_ma is not None and read_ma > limit_ma


def _bare_and_tiny(text: str) -> bool:
    """Whether a current has no unit and is too small to be believed in milliamperes."""
    written = read_written(text)
    return written is not None and written.value is not None and not written.unit and written.value < BARE_MA


def stages_done(files: Sequence[Readings], checks: Sequence[Check]) -> set[Stage]:
    """Stages of which anything was read or ticked."""
    stage = {c.key: c.stage for c in checks}
    return {stage[b.check] for one in files for b in one.readings if b.check in stage and (b.reading or b.result)}


def passed_over(one: Readings, checks: Sequence[Check]) -> tuple[str, ...]:
    """What a single file was left empty of where work stops, though it went on, a sentence each."""
    done = stages_done([one], checks)
    rows = {s.row: any(is_name(t.by) for t in one.signatures if t.row == s.row) for s in one.signatures}
    out = [
        f"not signed: the hold point '{row.replace('-', ' ')}', and work went on after it"
        for row, after in AFTER.items()
        if rows.get(row) is False and done & set(after)
    ]
    empty = left_empty([one])
    if empty and done & set(IN_THE_VEHICLE):
        out.append(f"left empty at the airbags, where work stops: {', '.join(empty)}")
    lamps = one.answers.get("end", {}).get("lamps", "")
    return (*out, *((f"lamps still lit at the end: {lamps}",) if lamp_lit(lamps) else ()))


def _standing(
    files: Sequence[Entry[Readings]],
    heading: str,
    key: str,
    bad: Callable[[str], bool],
    digest: str,
) -> Entry[Readings] | None:
    """The file whose bad answer still stands: a good one takes it away where its file counts, or is of the same content."""
    found: Entry[Readings] | None = None
    for entry in files:
        text = entry.value.answers.get(heading, {}).get(key, "")
        if not text:
            continue
        if bad(text):
            found = entry
        elif found is not None and (counts_for(entry.value, digest) or _of_the_same(entry.value, found.value)):
            found = None
    return found


def _of_the_same(later: Readings, bad: Readings) -> bool:
    """Whether a file with a day is of the very content of which another said something bad."""
    return later.on is not None and same_digest(later.digest, bad.digest)
