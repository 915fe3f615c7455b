"""Puzzles without a colour and without a name: only what a meter shows on each way.

A way is asked about when the reference's own table of readings leaves one function for it among those that the puzzle
names, so that each puzzle has one answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import number
from ..model.reference import ExpectedReading
from ..plan.proofs import CONDITION_WORDS, within
from ..plan.types import Circuit, JobTail
from ..units import Reading

GROUPS = ("supply", "ground", "control")
FEWEST = 3  # ways; with fewer there is nothing to tell apart


@dataclass(frozen=True, kw_only=True)
class Shown:
    """One line of the meter: how it was taken, and what it showed."""

    expected: ExpectedReading
    value: float | None  # None is OL

    @property
    def text(self) -> str:
        """As a fitter would write it down: "asleep, under 5 W lamp: 12.5 V"."""
        expected = self.expected
        unit = {"Vac": "V AC"}.get(expected.quantity, expected.quantity)
        said = "OL" if self.value is None else f"{number(self.value, 3)} {unit}"
        load = f"under {expected.load}" if expected.load else ""
        probes = "" if expected.between == USUAL_PROBES else expected.between
        return f"{', '.join(filter(None, (CONDITION_WORDS[expected.condition], expected.also, load, probes)))}: {said}"


USUAL_PROBES = "this way and bare metal"


@dataclass(frozen=True, kw_only=True)
class Way:
    """A way to be told by its readings. ``telling`` is the first of them that no other function of the puzzle explains,
    or None when it takes several together."""

    tail: JobTail
    circuit: Circuit
    shown: tuple[Shown, ...]
    telling: Shown | None


def ways_by_meter(circuits: Sequence[Circuit]) -> tuple[Way, ...]:
    """The vehicle's ways in made circuits that readings alone tell apart; none when there are fewer than ``FEWEST``."""
    asked = {
        t.name: (t, c)
        for c in circuits
        if c.made and c.group in GROUPS
        for t in c.tails
        if t.lead.side == "vehicle" and t.plug_name and t.readings
    }
    shown = {name: shown_at(tail) for name, (tail, _) in asked.items()}

    def others(name: str) -> list[JobTail]:
        return [tail for other, (tail, _) in asked.items() if other != name]

    while True:
        known = {
            name: pair
            for name, pair in asked.items()
            if not any(all(explains(other, one) for one in shown[name]) for other in others(name))
        }
        if len(known) == len(asked):
            break
        asked = known  # fewer functions to choose from, so it is looked at again
    if len(asked) < FEWEST:
        return ()
    return tuple(
        Way(
            tail=tail,
            circuit=circuit,
            shown=shown[name],
            telling=next((s for s in shown[name] if not any(explains(t, s) for t in others(name))), None),
        )
        for name, (tail, circuit) in asked.items()
    )


def shown_at(tail: JobTail) -> tuple[Shown, ...]:
    """What a meter would show at a tail that is as it should be."""
    return tuple(Shown(expected=r, value=a_value(r)) for r in tail.readings)


def a_value(expected: ExpectedReading) -> float | None:
    """A reading inside a window: its middle; a fifth of it where it begins at nothing; half as much again above a floor."""
    low, high = expected.low, expected.high
    if expected.open:
        return None
    if low and high is not None:
        return round((low + high) / 2, 3)
    if high is not None:
        return round(high / 5, 3)
    return round((low or 1.0) * 1.5, 3)


def explains(tail: JobTail, shown: Shown) -> bool:
    """Whether the function of ``tail`` could have given a reading: one of its own windows, taken the same way, holds it."""
    reading = Reading(written="", value=shown.value, unit="")
    return any(
        own.condition in (shown.expected.condition, "any")
        and own.quantity == shown.expected.quantity
        and own.between == shown.expected.between
        and within(reading, own.low, own.high, open_wanted=own.open)
        for own in tail.readings
    )
