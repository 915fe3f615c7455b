"""A plan as plain values for ``loomleaf plan --json``. The shape is described in ``plan.schema.json`` beside this module."""

from __future__ import annotations

from typing import Any

from ..figure import Figure
from ..problems import Problem
from .types import Check, Circuit, Joint, Plan, Spare
from .workshop import NO_WORKSHOP, workshop_json


def plan_json(plan: Plan) -> dict[str, Any]:
    """Keys in a fixed order; tails as ``lead/plug.way``."""
    return {
        "job": plan.job.job,
        "revision": plan.job.revision,
        "digest": plan.digest,
        "vehicle": plan.vehicle.vehicle,
        "vehicles": [
            {
                "registration": s.registration.plate,
                "state": s.state,
                "reasons": [_reason(p) for p in s.reasons],
                "before_next": list(s.before_next),
                "unproved": list(s.unproved),
                "proofs": [
                    {
                        "tail": p.tail,
                        "condition": p.condition,
                        "reading": p.reading,
                        "expected": p.expected,
                        "verdict": p.verdict,
                    }
                    for p in s.proofs
                ],
                "readings": [
                    {"check": r.check, "result": r.result, "written": r.written, "why": r.why} for r in s.readings
                ],
            }
            for s in plan.states
        ],
        "circuits": [_circuit(c) for c in plan.circuits],
        "spares": [_spare(s) for s in plan.spares],
        "features": [
            {
                "feature": f.feature_id,
                "outcome": f.outcome,
                "by": f.by,
                "how": f.how,
                "agreed": f.agreed.isoformat() if f.agreed else None,
                "safety": f.safety,
            }
            for f in plan.features
        ],
        "joints": [_joint(j) for j in plan.joints],
        "checks": [check_data(c) for c in plan.checks],
        "steps": [{"number": s.number, "kind": s.kind, "text": s.text, "stage": s.stage} for s in plan.steps],
        "faults": [{"symptom": f.symptom, "look": list(f.look), "circuits": list(f.circuits)} for f in plan.faults],
        **{name: plain(value) for name, value in plan.engineering.items()},
        **(workshop_json(plan.workshop) if plan.workshop else NO_WORKSHOP),
    }


def plain(value: Any) -> Any:
    """Figures, tuples and mappings to JSON values; anything else as it is."""
    if isinstance(value, Figure):
        return value.as_json()
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    return value


def _reason(problem: Problem) -> dict[str, str]:
    return {"code": problem.code, "text": problem.message, "where": str(problem.location)}


def _circuit(circuit: Circuit) -> dict[str, Any]:
    drivers = [t.name for t in circuit.drivers]
    if circuit.ends:
        drivers = [e.name for e in circuit.ends[:1]]
    return {
        "id": circuit.id,
        "function": circuit.function_id,
        "pole": circuit.pole,
        "group": circuit.group,
        "feed": circuit.feed,
        "outcome": circuit.outcome,
        "driver": drivers[0] if len(drivers) == 1 else (drivers or None),
        "takers": [t.name for t in circuit.takers] or [e.name for e in circuit.ends[1:]],
        "combine": circuit.combine,
        "reason": circuit.reason,
        "colour_notes": [{"code": n.code, "text": n.text, "tails": list(n.tails)} for n in circuit.colour_notes],
        "known_from": circuit.known_from,
    }


def _spare(spare: Spare) -> dict[str, Any]:
    return {
        "id": spare.id,
        "tail": spare.tail.name,
        "function": spare.tail.function_id,
        "live": spare.live,
        "why": spare.why,
    }


def _joint(joint: Joint) -> dict[str, Any]:
    return {
        "id": joint.id,
        "circuit": joint.circuit,
        "tails": list(joint.tails),
        "method": joint.method_id,
        "item": joint.item_id,
        "item_title": joint.item_title,
        "items": joint.items,
        "sleeve": joint.sleeve_id,
        "sleeve_title": joint.sleeve_title,
        "station": joint.station,
        "position_mm": joint.position_mm,
        "position_from": joint.position_from,
        "total_mm2": plain(joint.total_mm2),
        "total_cmil": plain(joint.total_cmil),
        "equivalent": plain(joint.equivalent),
        "strip_mm": plain(joint.strip_mm),
        "sleeve_cut_mm": plain(joint.sleeve_cut_mm),
        "pull_n": plain(joint.pull_n),
        "why": joint.why,
        "layout": joint.layout,
        "instead_of": joint.instead_of,
        "passed_over": list(joint.passed_over),
    }


def check_data(check: Check) -> dict[str, Any]:
    """Everything of a check that somebody acts on, as plain data."""
    return {
        "number": check.number,
        "key": check.key,
        "stage": check.stage,
        "circuit": check.circuit,
        "title": check.title,
        "probes": check.probes,
        "meter": check.meter,
        "condition": check.condition,
        "expected": check.expected,
        "unit": check.unit,
        "low": check.low,
        "high": check.high,
        "open": check.open,
        "yes_no": check.yes_no,
        "on_failure": check.on_failure,
    }
