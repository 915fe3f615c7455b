"""When something does not work: where to look first, from this job's own circuits, joints and checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..model.reference import FaultPattern, LookAt, Reference
from .types import Check, Circuit, Fault, Joint

SHOWN = 4  # more joints or checks than this on one line are not read

AFTER = ("after-plugging-in", "before-plugging-in", "on-the-bench")
"""Stages whose checks tell something about a fault, the one to repeat first in front."""


Carriers = Mapping[str, list[Circuit]]


def faults_for(
    circuits: tuple[Circuit, ...], joints: tuple[Joint, ...], checks: tuple[Check, ...], reference: Reference
) -> tuple[Fault, ...]:
    """Every symptom of the reference that this job can have, in the reference's order."""
    carriers = _carriers(circuits)
    hints = {c.id: _hint(c, joints, checks) for c in circuits}
    out = []
    for _, pattern in sorted(reference.faults.items(), key=lambda pair: (pair[1].order, pair[0])):
        fault = _fault(pattern, carriers, hints)
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


def _fault(pattern: FaultPattern, carriers: Carriers, hints: Mapping[str, tuple[str, tuple[str, ...]]]) -> Fault | None:
    if pattern.when and not _carrying(pattern.when, carriers):
        return None
    look: list[str] = []
    looks_at: list[tuple[str, ...]] = []
    named: dict[str, None] = {}
    for step in pattern.look:
        found = _carrying(step.at, carriers)
        if step.at and not found:
            continue
        named |= dict.fromkeys(c.id for c in found)
        look.append(_line(step, found, hints))
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


def _hint(circuit: Circuit, joints: tuple[Joint, ...], checks: tuple[Check, ...]) -> tuple[str, tuple[str, ...]]:
    """Where a circuit's joint lies, and its checks in the order in which they are repeated."""
    place = joint_place(circuit.id, joints)
    own = [c for c in checks if c.circuit == circuit.id]
    return place, tuple(str(c.number) for stage in AFTER for c in own if c.stage == stage)


def _line(step: LookAt, found: list[Circuit], hints: Mapping[str, tuple[str, tuple[str, ...]]]) -> str:
    if not found:
        return step.do
    places = [hints[c.id][0] for c in found if hints[c.id][0]]
    same = {place.partition(" ")[2] for place in places}
    names = [place.partition(" ")[0] for place in places] if len(same) == 1 else []
    where = ("joint " if len(places) == 1 else "joints ") + (
        f"{', '.join(names)} {same.pop()}" if names else ", ".join(places)
    )
    shown = 0 < len(places) <= SHOWN
    all_have = shown and len(places) == len(found)  # a joint has its circuit's number: said once
    words = [] if all_have else [", ".join(c.id for c in found)]
    words += [where] if shown else []
    repeat = _turns([hints[c.id][1] for c in found])
    if repeat:
        words.append(("check " if len(repeat) == 1 else "checks ") + ", ".join(repeat[:SHOWN]))
    return f"{step.do.rstrip('.')} ({'; '.join(words)})."


def _turns(rows: list[tuple[str, ...]]) -> list[str]:
    """The first of each circuit, then the second of each."""
    longest = max((len(row) for row in rows), default=0)
    return [row[i] for i in range(longest) for row in rows if i < len(row)]
