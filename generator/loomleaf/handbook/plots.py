"""The handbook's plots, each drawn from the same calculations that a job's plan uses."""

from __future__ import annotations

from collections.abc import Callable

from ..calc.conductor import conductor
from ..calc.drop import drop
from ..calc.ladder import ladder
from ..calc.level import level
from ..calc.short import ADIABATIC_S, short
from ..calc.standby import standby
from ..calc.tables import shipped_tables
from ..draw.plots import Axis, Bar, Line, bar_plot, line_plot
from ..figure import Figure, number, weakest
from ..units import parse_size

WIDTH_MM = 150


def _value(figures: dict[str, Figure], name: str) -> float:
    value = figures[name].value
    assert isinstance(value, (int, float))
    return float(value)


Named = Callable[[str], str]
"""The title of a source by the name that figures carry."""


def _from(figures: dict[str, Figure], named: Named) -> str:
    """Where a plot's data come from, in one line."""
    names = ", ".join(named(name) for name in dict.fromkeys(s for f in figures.values() for s in f.sources))
    return f"computed from {names} ({weakest(f.known for f in figures.values()).words})"


def standby_plot(named: Named) -> str:
    """Charge left by the day, 60 Ah from 80 %, at four standing drains."""
    lines = []
    figures: dict[str, Figure] = {}
    for draw_ma in (25, 50, 100, 250):
        points = [(0.0, 80.0)]
        for charge in range(78, 48, -2):
            figures, _ = standby(draw_ma=draw_ma, capacity_ah=60, from_soc=80, to_soc=charge)
            points.append((_value(figures, "days"), float(charge)))
        lines.append(Line(label=f"{draw_ma} mA", points=tuple(p for p in points if p[0] <= 21)))
    return line_plot(
        title="How long a 60 Ah battery stands",
        x=Axis(words="Days standing", low=0, high=21),
        y=Axis(words="Charge left", unit="%", low=50, high=80),
        lines=lines,
        source=_from(figures, named),
        width_mm=WIDTH_MM,
        key="plot-standby",
    )


def drop_plot(named: Named) -> str:
    """Volts lost at 10 A over the length of a run, there and back in the same conductor, by size."""
    lines = []
    figures: dict[str, Figure] = {}
    for written in ("0.75 mm2", "1.5 mm2", "2.5 mm2", "4 mm2"):
        size = parse_size(written)
        points = []
        for length in (0.5, 1, 2, 3, 4, 5, 6):
            figures, _ = drop(size=size, length_m=length, current_a=10, return_size=size, return_length_m=length)
            points.append((float(length), _value(figures, "drop_v")))
        lines.append(Line(label=size.short, points=tuple(points)))
    return line_plot(
        title="Volts lost at 10 A, there and back",
        x=Axis(words="Length one way", unit="m", low=0, high=6),
        y=Axis(words="Drop", unit="V", low=0, high=3.5),
        lines=lines,
        source=_from(figures, named),
        width_mm=WIDTH_MM,
        key="plot-drop",
    )


def heat_plot(named: Named) -> str:
    """What conductors may carry as the place gets warmer."""
    lines = []
    figures: dict[str, Figure] = {}
    for written in ("0.75 mm2", "1.5 mm2", "2.5 mm2"):
        size = parse_size(written)
        points = []
        for ambient in range(30, 95, 5):
            figures, _ = conductor(size=size, ambient_c=ambient)
            points.append((float(ambient), _value(figures, "limit_a")))
        lines.append(Line(label=size.short, points=tuple(points)))
    return line_plot(
        title="What a conductor may carry, by the warmth around it",
        x=Axis(words="Around it", unit="°C", low=30, high=90),
        y=Axis(words="Limit", unit="A", low=0, high=30),
        lines=lines,
        source=_from({"limit_a": figures["limit_a"]}, named),
        width_mm=WIDTH_MM,
        key="plot-heat",
    )


def gain_plot(named: Named) -> str:
    """Volts at an amplifier's output for a power, at three loads."""
    lines = []
    figures: dict[str, Figure] = {}
    for ohms in (2, 4, 8):
        points = []
        for watts in (5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100):
            figures, _ = level(power_w=watts, impedance_ohm=ohms)
            points.append((float(watts), _value(figures, "volts_rms")))
        lines.append(Line(label=f"{ohms} Ω", points=tuple(points)))
    return line_plot(
        title="Volts to set for a power",
        x=Axis(words="Power", unit="W", low=0, high=100),
        y=Axis(words="RMS volts", unit="V", low=0, high=30),
        lines=lines,
        source=_from(figures, named),
        width_mm=WIDTH_MM,
        key="plot-gain-target",
    )


def ladder_plot(named: Named) -> str:
    """Volts of the buttons of a ladder, with their ranges."""
    buttons = {"up": 330.0, "down": 820.0, "source": 1800.0, "mute": 3900.0}
    figures, _ = ladder(buttons=buttons, pull_up_ohm=1000, supply_v=5, contact_ohm=20)
    bars = []
    for name in buttons:
        low, high = (number(_value(figures, f"button.{name}.{end}"), 3) for end in ("low", "high"))
        bars.append(Bar(label=name, value=_value(figures, f"button.{name}.volts"), note=f"{low} to {high} V"))
    return bar_plot(
        title="Four buttons on one wire: 1 kΩ pull-up, 5 V, parts 5 % off, up to 20 Ω of old contact",
        axis=Axis(words="Volts at the radio", unit="V", low=0, high=5),
        bars=bars,
        source=_from(figures, named),
        width_mm=WIDTH_MM,
        key="plot-ladder",
    )


def short_plot(named: Named) -> str:
    """Longest time a 10 A blade fuse may take, against the time three conductors stand the same current."""
    kind = next(one for one in shipped_tables().fuse_kinds if one.name == "blade")
    currents = (20, 25, 30, 35, 40, 50, 60, 80, 100, 140, 200, 300)
    fuse_points = [(float(point.percent) / 10, float(point.most_s)) for point in kind.limits if point.percent >= 200]
    last_a, last_s = fuse_points[-1]
    fuse_points += [(float(a), last_s * (last_a / a) ** 2) for a in currents if a > last_a]
    lines = [Line(label="10 A blade, longest", points=tuple(fuse_points), marks=True)]
    figures: dict[str, Figure] = {}
    for written in ("0.35 mm2", "0.75 mm2", "1.5 mm2"):
        size = parse_size(written)
        figures, _ = short(size=size, length_m=1, fuse_a=10)
        withstand = _value(figures, "withstand_a2s")
        points = tuple((float(a), withstand / a**2) for a in currents if withstand / a**2 <= ADIABATIC_S)
        lines.append(Line(label=f"{size.short} stands it", points=points))
    return line_plot(
        title="A fuse must be quicker than the conductor is ruined",
        x=Axis(words="Fault current", unit="A", low=20, high=300, log=True),
        y=Axis(words="Time", unit="s", log=True),
        lines=lines,
        source=_from(figures, named),
        width_mm=WIDTH_MM,
        key="plot-short",
    )


PLOTS: dict[str, Callable[[Named], str]] = {
    "standby": standby_plot,
    "drop": drop_plot,
    "heat": heat_plot,
    "gain-target": gain_plot,
    "ladder": ladder_plot,
    "short": short_plot,
}
