"""When something does not work: where to look first, from this job's own circuits, joints and checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..model.reference import FaultPattern, LookAt, LookChecks, Reference
from .proofs import CONDITION_WORDS
from .types import Check, Circuit, Fault, JobTail, Joint

SHOWN = 4  # more joints, or runs of numbers, than this on one line are not read


Carriers = Mapping[str, list[Circuit]]


def faults_for(
    circuits: tuple[Circuit, ...], joints: tuple[Joint, ...], checks: tuple[Check, ...], reference: Reference
) -> tuple[Fault, ...]:
    """Every symptom of the reference that this job can have, in the reference's order."""
    carriers = _carriers(circuits)
    out = []
    for _, pattern in sorted(reference.faults.items(), key=lambda pair: (pair[1].order, pair[0])):
        fault = _fault(pattern, carriers, circuits, joints, checks)
        if fault is not None:
            out.append(fault)
    return tuple(out)


def _carriers(circuits: tuple[Circuit, ...]) -> Carriers:
    """Made or mated circuits by every function or ready end that they carry."""
    out: dict[str, list[Circuit]] = {}
    for circuit in circuits:
        if circuit.made or circuit.outcome == "mated":
            for name in dict.fromkeys([circuit.function_id, *(t.function_id for t in circuit.tails)]):
                out.setdefault(name, []).append(circuit)
    return out


def _carrying(names: tuple[str, ...], carriers: Carriers) -> list[Circuit]:
    """The circuits that carry one of the names, in the order named, each once."""
    return list({c.id: c for name in names for c in carriers.get(name, ())}.values())


def _meant(tail: JobTail, step: LookAt) -> bool:
    """Whether a tail is at the part that a line speaks of."""
    return step.side in (None, tail.lead.side)


def _found(step: LookAt, carriers: Carriers, circuits: tuple[Circuit, ...]) -> list[Circuit]:
    """The circuits that a line speaks of, in the order of the sheets."""
    named = {c.id for c in _carrying(step.at, carriers)}
    return [
        c
        for c in circuits
        if c.id in named
        and (step.side is None or any(_meant(t, step) for t in c.tails))
        and step.feed in (None, c.feed)
    ]


def _fault(
    pattern: FaultPattern,
    carriers: Carriers,
    circuits: tuple[Circuit, ...],
    joints: tuple[Joint, ...],
    checks: tuple[Check, ...],
) -> Fault | None:
    if pattern.when and not _carrying(pattern.when, carriers):
        return None
    look: list[str] = []
    looks_at: list[tuple[str, ...]] = []
    named: dict[str, None] = {}
    for step in pattern.look:
        found = _found(step, carriers, circuits)
        if step.at and not found:
            continue
        named |= dict.fromkeys(c.id for c in found)
        look.append(_line(step, found, joints, checks_of(step, found, circuits, checks)))
        looks_at.append(tuple(c.id for c in found))
    if not look:
        return None
    return Fault(
        symptom=pattern.symptom,
        look=tuple(look),
        circuits=tuple(named),
        looks_at=tuple(looks_at),
        of_checks=pattern.of_checks,
        on_paper=pattern.on_paper,
    )


def checks_of(
    step: LookAt, found: Sequence[Circuit], circuits: Sequence[Circuit], checks: Sequence[Check]
) -> tuple[Check, ...]:
    """The checks that measure what a line speaks of, in the order in which they are printed: every one of them, and none
    that is read at another part, in another condition or in another unit."""
    wanted = step.checks
    if wanted is None:
        return ()
    tails = {t.name: (c, t) for c in circuits for t in c.tails}
    own = {c.id for c in found}
    out = []
    for check in checks:
        touched = [tails[name] for name in check.tails if name in tails]
        if step.side is not None and not (touched and _meant(touched[0][1], step)):
            continue
        if wanted.against:
            if not _between(check, [c for c, _ in touched], own, wanted):
                continue
        elif step.at and check.circuit not in own:
            continue
        if _fits(check, wanted):
            out.append(check)
    return tuple(out)


def _fits(check: Check, wanted: LookChecks) -> bool:
    """Whether a check is of the kind, the condition, the unit and the probes that a line wants."""
    return (
        check.key.startswith(tuple(f"{start}-" for start in wanted.of))
        and (not wanted.conditions or check.condition.partition(",")[0] in [CONDITION_WORDS[c] for c in wanted.conditions])
        and wanted.quantity in (None, check.unit)
        and (not wanted.between or check.probes.rpartition(": ")[2] in wanted.between)
    )


def _between(check: Check, touched: Sequence[Circuit], own: set[str], wanted: LookChecks) -> bool:
    """Whether a check is read between one of a line's own circuits and what the line wants it against. Its first tail is
    where one probe rests, the others are what the second one touches."""
    against = [c.function_id in wanted.against for c in touched]
    mine = [c.id in own for c in touched]
    if check.probes.endswith("bare metal"):
        return "ground" in wanted.against and any(mine)
    return bool(touched) and ((mine[0] and any(against[1:])) or (against[0] and any(mine[1:])))


def look_first(check: Check, faults: Sequence[Fault], joints: Sequence[Joint] = ()) -> str:
    """What to do when a check has failed, then the first place to look.

    A symptom that answers this kind of check comes before the others; in it the line that is about the check's own circuit
    and the fewest besides. On the bench the joint's place along the loom is told as well.
    """
    told = [check.on_failure.rstrip(".")] if check.on_failure else []
    line = _first_line(check, faults)
    if line:
        place = joint_place(check.circuit, joints) if check.stage == "on-the-bench" else ""
        told.append(f"look first: {line.rstrip('.')}" + (f" (joint {place})" if place else ""))
    return "; ".join(told)


def _first_line(check: Check, faults: Sequence[Fault]) -> str:
    own = [f for f in faults if check.key.startswith(tuple(f"{start}-" for start in f.of_checks))]
    for rows in (own, [f for f in faults if f.on_paper]):
        about = [
            (len(ids), line) for f in rows for line, ids in zip(f.look, f.looks_at, strict=True) if check.circuit in ids
        ]
        if about and check.circuit:
            return min(about, key=lambda pair: pair[0])[1]  # the narrowest, the first among equals
        if rows is own and own:
            return own[0].look[0]
    return ""


def joint_place(circuit: str, joints: Sequence[Joint]) -> str:
    """Which joint a circuit has and where along the loom, "" where it lies in none."""
    return next(
        (f"{j.id} at {j.position_mm:.0f} mm" for j in joints if j.circuit == circuit and j.position_mm is not None), ""
    )


def _line(step: LookAt, found: Sequence[Circuit], joints: Sequence[Joint], checks: Sequence[Check]) -> str:
    """A line's words, then in brackets the circuits, where their joints lie, and the checks to do again."""
    places = [place for c in found if (place := joint_place(c.id, joints))]
    shown = 0 < len(places) <= SHOWN
    all_have = shown and len(places) == len(found)  # a joint has its circuit's number: said once
    words = [] if all_have or not found else [spans([c.id for c in found])]
    if shown:
        same = {place.partition(" ")[2] for place in places}
        names = [place.partition(" ")[0] for place in places] if len(same) == 1 else []
        where = f"{', '.join(names)} {same.pop()}" if names else ", ".join(places)
        words.append(f"{'joint' if len(places) == 1 else 'joints'} {where}")
    if checks:
        words.append(f"{'check' if len(checks) == 1 else 'checks'} {spans([str(c.number) for c in checks])}")
    return f"{step.do.rstrip('.')} ({'; '.join(words)})." if words else step.do


def spans(names: Sequence[str]) -> str:
    """Numbers in their order, three or more in a row as a range; past the fourth run it is said how many more there are.

    >>> spans(["41", "42", "43", "44", "49", "50"]), spans(["L1", "L2", "L3"])
    ('41 to 44, 49, 50', 'L1 to L3')
    >>> spans(["1", "3", "5", "7", "9", "11"])
    '1, 3, 5, 7 and 2 more'
    """
    runs: list[list[str]] = []
    for name in names:
        if runs and _next(runs[-1][-1]) == name:
            runs[-1].append(name)
        else:
            runs.append([name])
    parts = [
        (count, text)
        for run in runs
        for count, text in ([(len(run), f"{run[0]} to {run[-1]}")] if len(run) > 2 else [(1, name) for name in run])
    ]
    told, more = ", ".join(text for _, text in parts[:SHOWN]), sum(count for count, _ in parts[SHOWN:])
    return f"{told} and {more} more" if more else told


def _next(name: str) -> str:
    """The number after one: "50" after "49", "L2" after "L1"."""
    letters = name.rstrip("0123456789")
    digits = name[len(letters) :]
    return f"{letters}{int(digits) + 1}" if digits else ""
