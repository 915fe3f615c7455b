"""The tools and meters that a sheet's own checks and steps call for: what the shop has of them by its own names, the rest in
plain words, so that nobody stands at the vehicle without one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .types import Check, Joint


@dataclass(frozen=True, kw_only=True)
class Tool:
    """Something to have at hand. ``known_by`` are words by which a shop's own line is known to be it; all of one entry must
    stand in the line. ``checks`` are words of a check's condition, meter or probes that call for it, ``methods`` what a way of
    joining must have."""

    title: str
    known_by: tuple[tuple[str, ...], ...]
    checks: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()


TOOLS: tuple[Tool, ...] = (
    Tool(title="Ratchet crimping tool for the connectors of this job", known_by=(("crimp",),), methods=("crimp",)),
    Tool(title="Ratchet crimping tool for rings", known_by=(("crimp", "ring"),), methods=("terminal",)),
    Tool(title="Soldering iron with extraction", known_by=(("solder",),), methods=("solder",)),
    Tool(title="Heat gun", known_by=(("heat gun",), ("hot air",)), methods=("heat-gun",)),
    Tool(title="Test lamp, 5 W", known_by=(("lamp", "5 w"),), checks=("5 W lamp",)),
    Tool(title="Bench supply, 5 A", known_by=(("supply", "5 a"),), checks=("bench supply",)),
    Tool(title="Load of 5 A", known_by=(("load", "5 a"),), checks=("at any time, 5 A",)),
    Tool(title="Lead with a 1 A fuse", known_by=(("fuse", "1 a", "lead"),), checks=("through a 1 A fuse",)),
    Tool(title="Clamp meter for DC milliamps", known_by=(("clamp",),), checks=("clamp meter",)),
    Tool(title="Test tone", known_by=(("test tone",),), checks=("test tone",)),
    Tool(title="Multimeter", known_by=(("multimeter",),), checks=("Volts", "Ohms", "Diode")),
)
"""In the order in which they are used. Common practice, no source."""


def tools_called_for(checks: Iterable[Check], joints: Iterable[Joint]) -> tuple[Tool, ...]:
    """What these checks and joints cannot be done without."""
    told = [f"{c.condition} {c.meter} {c.probes}" for c in checks if not c.yes_no]
    ways = {way for joint in joints for way in _ways(joint)}
    return tuple(t for t in TOOLS if ways & set(t.methods) or any(word in text for word in t.checks for text in told))


def _ways(joint: Joint) -> tuple[str, ...]:
    method = joint.method
    kind = {"closed-end": "crimp"}.get(method.kind, method.kind)
    return (kind, *(("solder",) if method.solder else ()), *(("heat-gun",) if method.heat_gun else ()))


def tools_to_have(
    called_for: Sequence[Tool], own: Sequence[str], instruments: Sequence[str] = ()
) -> tuple[str, ...]:
    """The shop's own tools that are of use here, then what is called for and is neither among them nor an instrument. A tool
    of the shop that is none of those known here is always told: trim levers, a torch."""
    wanted = tuple(
        line for line in own if not any(_is(line, t) for t in TOOLS) or any(_is(line, t) for t in called_for)
    )
    lacking = tuple(t.title for t in called_for if not any(_is(line, t) for line in (*own, *instruments)))
    return wanted + lacking


def _is(line: str, tool: Tool) -> bool:
    return any(all(word in line.lower() for word in words) for words in tool.known_by)
