"""A plan as text for a terminal."""

from __future__ import annotations

from .types import GROUPS, Circuit, Plan

STATE_WORDS = {
    "held": "HELD",
    "build": "BUILD (the lead may be made)",
    "plug-in": "PLUG-IN (the radio may be connected)",
    "verified": "VERIFIED",
}
OUTCOME_WORDS = {
    "joined": "joined",
    "shared": "shared",
    "mated": "mated",
    "wanting": "WANTING",
    "contested": "CONTESTED",
    "refused": "REFUSED",
}


def plan_text(plan: Plan) -> str:
    """What was worked out, in reading order."""
    job = plan.job
    lines = [f"Job {job.job}, revision {job.revision}: {plan.vehicle.title}", f"Digest {plan.digest}", ""]
    for state in plan.states:
        lines.append(f"{state.registration.plate}: {STATE_WORDS[state.state]}")
        for problem in state.reasons:
            lines.append(f"  - {problem.message} [{problem.code}] ({problem.location})")
            if problem.hint:
                lines.append(f"      {problem.hint}")
        if not state.reasons:
            shown = state.before_next[:12]
            lines += [f"  next: {line}" for line in shown]
            if len(state.before_next) > len(shown):
                lines.append(f"  … and {len(state.before_next) - len(shown)} more")
    lines.append("")
    for group, _, title in (*GROUPS, ("ready", "R", "Ready ends")):
        members = [c for c in plan.circuits if c.group == group]
        if members:
            lines.append(title)
            lines += [f"  {_circuit_line(c)}" for c in members]
            for circuit in members:
                if circuit.reason:
                    lines.append(f"       {circuit.id}: {circuit.reason}")
                lines += [f"       {circuit.id}: {n.text} [{n.code}]" for n in circuit.colour_notes]
    if plan.spares:
        lines.append("Spares (fold back at full length, cap singly)")
        lines += [
            f"  {s.id:<4}{s.tail.name}  {s.tail.title}, {s.tail.colour_text}{'  LIVE' if s.live else ''}  ({s.why})"
            for s in plan.spares
        ]
    lines += ["", "Features"]
    for f in plan.features:
        words = f.outcome + (f": {f.how}" if f.how else "") + (f" ({f.by_title})" if f.by_title else "")
        if f.outcome == "loses":
            words += f", told {f.agreed.isoformat()}" if f.agreed else ", NOT AGREED"
        lines.append(f"  {f.title}: {words}")
    return "\n".join(lines) + "\n"


def _circuit_line(circuit: Circuit) -> str:
    if circuit.ends:
        body = " <> ".join(e.name for e in circuit.ends)
    else:
        left = " + ".join(t.name for t in circuit.drivers) or "nothing"
        right = " + ".join(t.name for t in circuit.takers) or "nothing"
        arrow = f" -[{circuit.combine}]-> " if circuit.combine in ("diode", "relay") else " -> "
        body = f"{left}{arrow}{right}"
    feed = " (battery)" if circuit.feed == "battery" and circuit.group in ("supply", "ground") else ""
    return f"{circuit.id:<4}{OUTCOME_WORDS[circuit.outcome]:<10}{circuit.title}{feed}: {body}"
