"""Room behind the radio: asked for, worked out where the sizes are given, blank where not."""

from __future__ import annotations

from typing import Any

from ..figure import Figure, number
from .context import Context, Findings, missing


def room_for(context: Context, found: Findings) -> list[dict[str, Any]]:
    """One row a thing to know before the radio goes in. A row with ``ask`` wants a ruler or an eye."""
    radio = next((lead for lead in context.leads if lead.side == "radio"), None)
    opening = context.vehicle.opening
    rows: list[dict[str, Any]] = []
    if radio is not None:
        part = radio.measures
        for name, has, needs, spare in (
            ("depth", opening.depth_mm, part.depth_mm, part.clearance_mm),
            ("width", opening.width_mm, part.width_mm, 0.0),
            ("height", opening.height_mm, part.height_mm, 0.0),
        ):
            rows.append(_left(context, name, has, needs, spare, found))
        rows.append(_air(radio.measures.clearance_mm, radio.title))
    rows += [_volume(context)]
    rows += [
        _ask("antenna plug", "See that the antenna plug bends behind the radio without a kink."),
        _ask("fixings", "No screw or bracket near the column or an airbag; lengths compared before it goes in."),
        _ask("rattle", "Every module is tied or taped in foam; nothing hangs on a wire."),
    ]
    return rows


def _left(
    context: Context, name: str, has: float | None, needs: float | None, spare: float | None, found: Findings
) -> dict[str, Any]:
    where = f"room left in {name}"
    if has is None or needs is None:
        who = "opening has" if has is None else "radio has"
        return {
            "item": where,
            "figure": missing("mm", f"the {who} not been measured in {name}"),
            "ask": f"Measure the {name}.",
        }
    left = has - needs
    wanted = spare if name == "depth" else 0.0
    if name == "depth" and spare is None:
        return {
            "item": where,
            "figure": Figure(value=left, unit="mm", working=f"{number(has)} − {number(needs)} mm"),
            "ask": "The part does not state how much room its plugs and fan want: measure the deepest plug.",
        }
    if left < (wanted or 0.0):
        found.problems.append(
            context.warning(
                "no-room",
                f"the radio wants {number(needs + (wanted or 0))} mm of {name}, plugs and air counted; the opening has"
                f" {number(has)} mm",
                context.vehicle_place("opening"),
                hint="try it before anything is cut, or choose a shallower part",
            )
        )
    words = f"{number(has)} mm opening − {number(needs)} mm radio"
    if wanted:
        words += f"; plugs and air want {number(wanted)} mm of it"
    return {"item": where, "figure": Figure(value=left, unit="mm", working=words), "ask": ""}


def _air(clearance: float | None, title: str) -> dict[str, Any]:
    if clearance is None:
        return {
            "item": "air for heat and fan",
            "figure": missing("mm", "not stated"),
            "ask": "Look for a fan or a heatsink.",
        }
    return {
        "item": "air for heat and fan",
        "figure": Figure(value=clearance, unit="mm", working=f"stated by {title}; nothing may lie there"),
        "ask": "",
    }


def _volume(context: Context) -> dict[str, Any]:
    """Space that the modules take, in litres."""
    litres, unmeasured, words = 0.0, [], []
    for lead in sorted(context.leads, key=lambda one: one.lead):
        if lead.side != "module":
            continue
        size = lead.measures
        if size.depth_mm is None or size.width_mm is None or size.height_mm is None:
            unmeasured.append(lead.title)
            continue
        own = size.depth_mm * size.width_mm * size.height_mm / 1e6
        litres += own
        words.append(f"{lead.title} {number(own)} l")
    ask = f"Measure {' and '.join(unmeasured)}: depth, width and height in mm." if unmeasured else ""
    if not words:
        why = "not measured" if unmeasured else "no modules in this job"
        return {"item": "space for modules", "figure": missing("l", why), "ask": ask}
    return {
        "item": "space for modules",
        "figure": Figure(value=litres, unit="l", working=" + ".join(words)),
        "ask": ask,
    }


def _ask(item: str, text: str) -> dict[str, Any]:
    return {"item": item, "figure": missing("mm", "to be seen at the vehicle"), "ask": text}
