"""One computed value with its unit, its working and its sources. Every number that reaches paper is one of these."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any


class Standing(StrEnum):
    """How well a value is founded. The order is from strongest to weakest."""

    PUBLISHED = "published"  # seen in the text of the source named beside it
    COMMON_PRACTICE = "common-practice"  # a habit of the trade, no source
    MEMORY = "memory"  # from memory of the source named; check before relying on it
    INVENTED = "invented"  # only in the demo

    @property
    def rank(self) -> int:
        return _RANKS[self]

    @property
    def words(self) -> str:
        """How the standing is said on paper."""
        return {
            "published": "published",
            "common-practice": "common practice, no source",
            "memory": "from memory",
            "invented": "invented for the demo",
        }[self.value]


_RANKS = {standing: rank for rank, standing in enumerate(Standing)}


def weakest(standings: Iterable[Standing]) -> Standing:
    """The weakest of several standings; a result is no better founded than its worst input.

    >>> weakest([Standing.PUBLISHED, Standing.MEMORY]).value
    'memory'
    """
    return max(standings, key=_RANKS.__getitem__, default=Standing.PUBLISHED)


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A value, its unit ("" for a plain number or a word), the working with the numbers in it, and where it comes from.

    ``value`` is None when the calculation has no answer (a fuse that never clears). ``sources`` are ids of the
    bibliography. ``known`` is the weakest standing of everything that went into the value.
    """

    value: float | int | str | bool | None
    unit: str
    working: str
    sources: tuple[str, ...] = ()
    known: Standing = Standing.PUBLISHED

    def as_json(self) -> dict[str, Any]:
        """The five keys that other programs read."""
        return {
            "value": self.value,
            "unit": self.unit,
            "working": self.working,
            "sources": list(self.sources),
            "known": self.known.value,
        }

    @property
    def text(self) -> str:
        """The value as people read it: at most four significant figures, then the unit."""
        if self.value is None:
            return "none"
        if isinstance(self.value, bool):
            return "yes" if self.value else "no"
        shown = number(self.value) if isinstance(self.value, (int, float)) else self.value
        return f"{shown} {self.unit}".strip()


def number(value: float | int, digits: int = 4) -> str:
    """A number for people: ``digits`` significant figures, no exponent, no idle zeros, a true minus sign.

    >>> number(0.7500), number(12.0), number(1234567.0), number(-0.05)
    ('0.75', '12', '1234567', '−0.05')
    """
    return _number(value, digits)


@lru_cache(maxsize=4096, typed=True)
def _number(value: float | int, digits: int) -> str:
    """The same few hundred numbers come up again and again in a shop."""
    if value == 0:
        return "0"
    if isinstance(value, int) or abs(value) >= 10**digits:
        text = f"{value:.0f}"
    else:
        text = f"{value:.{digits}g}"
        if "e" in text:
            text = f"{float(text):.10f}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")
