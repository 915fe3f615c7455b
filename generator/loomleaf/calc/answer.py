"""What a calculation hands back, and the one way in which a number out of range is refused."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from ..figure import Figure, Standing, weakest
from ..problems import Collector, Problem

Answer = tuple[dict[str, Figure], tuple[Problem, ...]]

CODES = {
    "out-of-range": "a number is outside what the calculation is valid for",
    "unknown-size": "a conductor size is not in the tables",
    "bad-table": "a row of an engineering table is not well formed",
    "bad-list": "a written list (tails, wires, buttons) cannot be read",
    "bad-expression": "a loudspeaker load cannot be read",
    "drop-over-supply": "the drop worked out is more than the supply",
    "no-fuse": "no standard fuse fits between the load and the conductor",
    "maker-fuse": "a maker's fuse cannot take the load, or its conductor cannot take the fuse",
    "unknown-fuse": "a fuse rating or kind is not in the tables",
    "no-sleeve": "no sleeve passes over the joint and grips the wire",
    "no-joint": "no connector of the method takes these conductors",
    "unknown-method": "a joining method is not in the tables",
    "bad-wrap": "the tape is too wide for the bundle",
    "below-minimum-impedance": "the loudspeaker load is under what the driver may feed",
    "ladder-clash": "two buttons cannot be told apart",
    "unknown-class": "a supply class or vehicle supply is not in the tables",
    "network-open": "a part of a supply network hangs on nothing",
    "network-singular": "a supply network has no single answer",
    "network-collapse": "a load asks more than its supply can give",
    "stagger-impossible": "the joints cannot be spread along the loom as the rules ask",
}
"""Every problem code that this package raises, and what it means in one line."""


def in_range(found: Collector, field: str, value: float, low: float, high: float, unit: str) -> bool:
    """True when ``low <= value <= high``; otherwise (also for NaN) collects a problem with the field and its range.

    >>> found = Collector()
    >>> in_range(found, "current-a", 0, 0.001, 600, "A"), found.problems[0].message
    (False, 'current-a is 0 A; it must be from 0.001 to 600 A')
    """
    if not math.isnan(value) and low <= value <= high:
        return True
    said = f" {unit}" if unit else ""
    one = said.removesuffix("s") if value == 1 and len(unit) > 2 else said  # "1 conductor", "1 A"
    shown = "not a number" if math.isnan(value) else f"{_plain(value)}{one}"
    found.error("out-of-range", f"{field} is {shown}; it must be from {_plain(low)} to {_plain(high)}{said}")
    return False


def _plain(value: float) -> str:
    """A number as it would be typed; true minus."""
    if math.isinf(value):
        return "−infinity" if value < 0 else "infinity"
    text = f"{value:.10g}"
    if "e" in text and 1e-12 < abs(value) < 1e15:
        text = f"{value:.15f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


class Based(Protocol):
    """Anything that says where it comes from: a row of a table."""

    @property
    def source(self) -> str: ...

    @property
    def standing(self) -> Standing: ...


@dataclass(frozen=True, kw_only=True)
class Basis:
    """Sources and standing of a result, gathered from what went into it."""

    sources: tuple[str, ...] = ()
    known: Standing = Standing.PUBLISHED

    def figure(self, value: float | int | str | bool | None, unit: str, working: str) -> Figure:
        """A figure that stands on this basis."""
        return Figure(value=value, unit=unit, working=working, sources=self.sources, known=self.known)

    def __add__(self, other: Basis) -> Basis:
        return Basis(
            sources=tuple(dict.fromkeys(self.sources + other.sources)), known=weakest([self.known, other.known])
        )


def on(*rows: Based) -> Basis:
    """The basis that some table rows give together: all their sources, the weakest standing."""
    if len(rows) == 1:
        return Basis(sources=(rows[0].source,), known=rows[0].standing)
    return Basis(sources=tuple(dict.fromkeys(row.source for row in rows)), known=weakest(row.standing for row in rows))


def known_by(*sources: str, standing: Standing = Standing.PUBLISHED) -> Basis:
    """A basis named directly: a law or a piece of geometry, which no table holds."""
    return Basis(sources=sources, known=standing)


OHM = known_by("ohm-law")
PRACTICE = known_by("workshop", standing=Standing.COMMON_PRACTICE)
