"""When something does not work: where to look first, from this job's own circuits, joints and checks."""

from __future__ import annotations

from ..model.reference import FaultPattern, LookAt, Reference
from .types import Check, Circuit, Fault, Joint

AFTER = ("before-plugging-in", "after-plugging-in", "on-the-bench")
"""Stages whose checks tell something about a fault, the one to repeat first in front."""


def faults_for(
    circuits: tuple[Circuit, ...], joints: tuple[Joint, ...], checks: tuple[Check, ...], reference: Reference
) -> tuple[Fault, ...]:
    """Every symptom of the reference that this job can have, in the reference's order."""
    out = []
    for _, pattern in sorted(reference.faults.items(), key=lambda pair: (pair[1].order, pair[0])):
        fault = _fault(pattern, circuits, joints, checks)
        if fault is not None:
            out.append(fault)
    return tuple(out)


def _fault(
    pattern: FaultPattern, circuits: tuple[Circuit, ...], joints: tuple[Joint, ...], checks: tuple[Check, ...]
) -> Fault | None:
    if pattern.when and not _carrying(pattern.when, circuits):
        return None
    look: list[str] = []
    named: list[str] = []
    for step in pattern.look:
        found = _carrying(step.at, circuits)
        if step.at and not found:
            continue
        named += [c.id for c in found if c.id not in named]
        look.append(_line(step, found, joints, checks))
    return Fault(symptom=pattern.symptom, look=tuple(look), circuits=tuple(named)) if look else None


def _carrying(names: tuple[str, ...], circuits: tuple[Circuit, ...]) -> list[Circuit]:
    """Made or mated circuits that carry one of the named functions or ready ends, in the order named."""
    out: list[Circuit] = []
    for name in names:
        for circuit in circuits:
            live = circuit.made or circuit.outcome == "mated"
            carries = circuit.function_id == name or any(t.function_id == name for t in circuit.tails)
            if live and carries and circuit not in out:
                out.append(circuit)
    return out


def _line(step: LookAt, found: list[Circuit], joints: tuple[Joint, ...], checks: tuple[Check, ...]) -> str:
    if not found:
        return step.do
    where = ", ".join(c.id for c in found)
    places = [
        f"{j.id} at {j.position_mm:.0f} mm"
        for c in found
        for j in joints
        if j.circuit == c.id and j.position_mm is not None
    ]
    ids = {c.id for c in found}
    repeat = [str(c.number) for stage in AFTER for c in checks if c.stage == stage and c.circuit in ids]
    words = [where]
    if places and len(places) <= 4:
        words.append("joint " + ", ".join(places))
    if repeat:
        words.append(("check " if len(repeat) == 1 else "checks ") + ", ".join(repeat[:6]))
    return f"{step.do} ({'; '.join(words)})"
