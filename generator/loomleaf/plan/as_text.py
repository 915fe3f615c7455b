"""A plan as text for a terminal."""

from __future__ import annotations

from ..figure import Figure, number
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
        if state.registration.differs:
            lines.append(f"  differs: {state.registration.differs}")
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
    lines += _joints(plan)
    lines += _numbers(plan)
    return "\n".join(lines) + "\n"


def _joints(plan: Plan) -> list[str]:
    if not plan.joints:
        return []
    lines = ["", "Joints"]
    for joint in plan.joints:
        made = joint.item_title or joint.method.title
        words = [f"{joint.items} × {made}" if joint.items > 1 else made]
        if joint.strip_mm is not None and joint.strip_mm.value is not None:
            words.append(f"strip {joint.strip_mm.text}")
        if joint.sleeve_title and joint.sleeve_cut_mm is not None:
            words.append(f"{joint.sleeve_title} cut {joint.sleeve_cut_mm.text}")
        if joint.position_mm is not None:
            words.append(f"at {number(joint.position_mm)} mm from {joint.position_from}")
        lines.append(f"  {joint.id:<4}{joint.title}: {', '.join(words)}")
        if joint.layout:
            lines.append(f"      {joint.layout}")
        if joint.instead_of:
            lines.append(f"      asked for, not taken: {joint.instead_of}")
    return lines


def _numbers(plan: Plan) -> list[str]:
    """The engineering, a line a thing."""
    found = plan.engineering
    lines = ["", "Supply, engine running, copper warm"]
    for row in (found.get("supply") or {}).get("parts", ()):
        lines.append(
            f"  {row['title']}: {_short(row['volts_running_v'])} running, {_short(row['volts_peak_v'])} at the peak; loses"
            f" {_short(row['drop_running_v'])} of {row['limit_v'].text} allowed, most in {row['worst_segment']}"
        )
    lines.append("Fuses")
    for row in (found.get("fuses") or {}).get("rows", ()):
        rating = " ".join(filter(None, (row["rating_a"].text, row["colour"])))
        lines.append(f"  {row['circuit']:<4}{rating}, {row['fuse']}, {row['place']}: {row['title']}")
    standby = found.get("standby") or {}
    if standby:
        lines.append(f"With the key out: {standby['total_ma'].text}, {_short(standby['days'])}")
    for row in (found.get("loudspeakers") or {}).get("channels", ()):
        lines.append(f"Load {row['at'].replace('-', ' ')}: {row['impedance_ohm'].text} on {row['driver']}")
    for row in (found.get("loom") or {}).get("looms", ()):
        lines.append(
            f"Loom of {row['from']}: {_short(row['bundle_mm'])} thick, {_short(row['bundle_with_joints_mm'])} with joints,"
            f" {row['opening_mm'].text} passes"
        )
    called = found.get("parts_called_for", ())
    lines += [f"Needs beside the leads: {p['quantity']} × {p['what']} for {p['circuit']} ({p['why']})" for p in called]
    lines += [f"Note: {note}" for note in found.get("notes", ())]
    return lines


def _short(figure: Figure) -> str:
    """A figure with three significant digits, for reading across."""
    if isinstance(figure.value, (int, float)) and not isinstance(figure.value, bool):
        return f"{number(figure.value, 3)} {figure.unit}".strip()
    return "not worked out"


def _circuit_line(circuit: Circuit) -> str:
    if circuit.function is not None and circuit.function.never:
        body = ", ".join(t.name for t in circuit.tails) + " left alone at full length"
    elif circuit.ends:
        body = " <> ".join(e.name for e in circuit.ends)
    else:
        left = " + ".join(t.name for t in circuit.drivers) or "nothing"
        right = " + ".join(t.name for t in circuit.takers) or "nothing"
        arrow = f" -[{circuit.combine}]-> " if circuit.combine in ("diode", "relay") else " -> "
        body = f"{left}{arrow}{right}"
    feed = " (battery)" if circuit.feed == "battery" and circuit.group in ("supply", "ground") else ""
    return f"{circuit.id:<4}{OUTCOME_WORDS[circuit.outcome]:<10}{circuit.title}{feed}: {body}"
