"""Wheel buttons on a resistor ladder: what the meter reads, what the radio sees, and whether it can tell them apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..figure import Figure, number
from ..problems import Collector, Problem, Severity
from .answer import OHM, Answer, in_range


def divider_volts(button_ohm: float, pull_up_ohm: float, supply_v: float) -> float:
    """Volts at the radio's input with a button held: supply × R / (R + pull-up).

    ``button_ohm`` at least 0, the others above 0; raises ValueError otherwise.

    >>> divider_volts(1000, 1000, 5)
    2.5
    """
    if button_ohm < 0 or not min(pull_up_ohm, supply_v) > 0:
        raise ValueError("button_ohm at least 0, pull_up_ohm and supply_v above 0")
    return supply_v * button_ohm / (button_ohm + pull_up_ohm)


@dataclass(frozen=True, kw_only=True)
class Window:
    """Where one button can lie: volts at the input, ohms at the meter (measured at the radio plug, unplugged)."""

    name: str
    volts: float
    low: float
    high: float
    meter_low_ohm: float
    meter_high_ohm: float


def window(
    name: str,
    ohm: float,
    *,
    pull_up_ohm: float,
    supply_v: float,
    tolerance_percent: float = 5,
    pull_up_tolerance_percent: float = 0,
    contact_ohm: float = 0,
) -> Window:
    """One button's window: its resistor and the pull-up at both ends of their ranges, contact from 0 to its most.

    >>> window("up", 330, pull_up_ohm=1000, supply_v=5, tolerance_percent=0).meter_high_ohm
    330.0
    """
    own, pull = tolerance_percent / 100, pull_up_tolerance_percent / 100
    low_ohm, high_ohm = ohm * (1 - own), ohm * (1 + own) + contact_ohm
    return Window(
        name=name,
        volts=divider_volts(ohm, pull_up_ohm, supply_v),
        low=divider_volts(low_ohm, pull_up_ohm * (1 + pull), supply_v),
        high=divider_volts(high_ohm, pull_up_ohm * (1 - pull), supply_v),
        meter_low_ohm=low_ohm,
        meter_high_ohm=high_ohm,
    )


def smallest_gap(windows: list[Window]) -> tuple[float, Window, Window] | None:
    """The narrowest gap between two windows, in V (negative: they overlap), and the two. None for one button."""
    ordered = sorted(windows, key=lambda one: (one.volts, one.name))
    best: tuple[float, Window, Window] | None = None
    for index, lower in enumerate(ordered):
        for upper in ordered[index + 1 :]:
            gap = upper.low - lower.high
            if best is None or gap < best[0]:
                best = (gap, lower, upper)
    return best


def ladder(
    *,
    buttons: Mapping[str, float],
    pull_up_ohm: float,
    supply_v: float,
    tolerance_percent: float = 5,
    pull_up_tolerance_percent: float = 0,
    contact_ohm: float = 0,
) -> Answer:
    """Figures ``button.NAME.volts, .low, .high, .meter_low_ohm, .meter_high_ohm`` a button, ``smallest_gap_v, clash``.

    ``buttons`` maps a name to the ohms from the wire to the reference ground while it is held (0: straight to ground).
    """
    found = Collector()
    ok = [
        in_range(found, "buttons", len(buttons), 1, 40, ""),
        in_range(found, "pull-up-ohm", pull_up_ohm, 1, 10_000_000, "Ω"),
        in_range(found, "supply-v", supply_v, 0.5, 30, "V"),
        in_range(found, "tolerance-percent", tolerance_percent, 0, 50, "%"),
        in_range(found, "pull-up-tolerance-percent", pull_up_tolerance_percent, 0, 50, "%"),
        in_range(found, "contact-ohm", contact_ohm, 0, 1000, "Ω"),
    ]
    ok += [in_range(found, f"button {name}", ohm, 0, 10_000_000, "Ω") for name, ohm in buttons.items()]
    if not all(ok):
        return {}, tuple(found.problems)
    windows = [
        window(
            name,
            ohm,
            pull_up_ohm=pull_up_ohm,
            supply_v=supply_v,
            tolerance_percent=tolerance_percent,
            pull_up_tolerance_percent=pull_up_tolerance_percent,
            contact_ohm=contact_ohm,
        )
        for name, ohm in buttons.items()
    ]
    figures: dict[str, Figure] = {}
    pull, supply = number(pull_up_ohm), number(supply_v)
    spread = f"resistor ±{number(tolerance_percent)} %, pull-up ±{number(pull_up_tolerance_percent)} %"
    for one in windows:
        ohm = number(buttons[one.name])
        contact = f", contact to {number(contact_ohm)} Ω"
        figures[f"button.{one.name}.volts"] = OHM.figure(
            one.volts, "V", f"{supply} V × {ohm} ÷ ({ohm} + {pull}); no button reads {supply} V"
        )
        figures[f"button.{one.name}.low"] = OHM.figure(one.low, "V", f"{spread}, no contact resistance")
        figures[f"button.{one.name}.high"] = OHM.figure(one.high, "V", spread + contact)
        figures[f"button.{one.name}.meter_low_ohm"] = OHM.figure(
            one.meter_low_ohm, "Ω", f"{ohm} Ω − {number(tolerance_percent)} %"
        )
        figures[f"button.{one.name}.meter_high_ohm"] = OHM.figure(
            one.meter_high_ohm, "Ω", f"{ohm} Ω + {number(tolerance_percent)} %{contact}"
        )
    gap = smallest_gap(windows)
    if gap is None:
        figures["smallest_gap_v"] = Figure(value=None, unit="V", working="one button only")
        figures["clash"] = Figure(value=None, unit="", working="one button only")
        return figures, ()
    width, lower, upper = gap
    figures["smallest_gap_v"] = OHM.figure(
        width, "V", f"{upper.name} from {number(upper.low)} V − {lower.name} to {number(lower.high)} V"
    )
    clashes = width <= 0
    figures["clash"] = OHM.figure(
        f"{lower.name}, {upper.name}" if clashes else None,
        "",
        "their windows meet" if clashes else "every button has a window of its own",
    )
    found.problems += [_clash(one, other) for one, other in overlaps(windows)]
    return figures, tuple(found.problems)


def overlaps(windows: list[Window]) -> list[tuple[Window, Window]]:
    """Every pair of buttons whose windows meet, the lower first."""
    ordered = sorted(windows, key=lambda one: (one.volts, one.name))
    return [
        (lower, upper)
        for index, lower in enumerate(ordered)
        for upper in ordered[index + 1 :]
        if upper.low <= lower.high
    ]


def _clash(lower: Window, upper: Window) -> Problem:
    return Problem(
        code="ladder-clash",
        severity=Severity.ERROR,
        message=(
            f"'{lower.name}' and '{upper.name}' cannot be told apart: {lower.name} reaches {number(lower.high)} V and "
            f"{upper.name} starts at {number(upper.low)} V"
        ),
        hint="measure them again with the wheel at both locks; use a module that learns by finer steps",
    )
