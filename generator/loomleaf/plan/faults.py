"""When something does not work: where to look first, from this job's own circuits, joints and checks."""

from __future__ import annotations

from collections.abc import Mapping

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
    named: dict[str, None] = {}
    for step in pattern.look:
        found = _carrying(step.at, carriers)
        if step.at and not found:
            continue
        named |= dict.fromkeys(c.id for c in found)
        look.append(_line(step, found, hints))
    return Fault(symptom=pattern.symptom, look=tuple(look), circuits=tuple(named)) if look else None


def _hint(circuit: Circuit, joints: tuple[Joint, ...], checks: tuple[Check, ...]) -> tuple[str, tuple[str, ...]]:
    """Where a circuit's joint lies, and its checks in the order in which they are repeated."""
    place = next(
        (f"{j.id} at {j.position_mm:.0f} mm" for j in joints if j.circuit == circuit.id and j.position_mm is not None),
        "",
    )
    own = [c for c in checks if c.circuit == circuit.id]
    return place, tuple(str(c.number) for stage in AFTER for c in own if c.stage == stage)


def _line(step: LookAt, found: list[Circuit], hints: Mapping[str, tuple[str, tuple[str, ...]]]) -> str:
    if not found:
        return step.do
    words = [", ".join(c.id for c in found)]
    places = [hints[c.id][0] for c in found if hints[c.id][0]]
    if places and len(places) <= SHOWN:
        words.append("joint " + ", ".join(places))
    repeat = _turns([hints[c.id][1] for c in found])
    if repeat:
        words.append(("check " if len(repeat) == 1 else "checks ") + ", ".join(repeat[: SHOWN + 2]))
    return f"{step.do} ({'; '.join(words)})"


def _turns(rows: list[tuple[str, ...]]) -> list[str]:
    """The first of each circuit, then the second of each."""
    longest = max((len(row) for row in rows), default=0)
    return [row[i] for i in range(longest) for row in rows if i < len(row)]
