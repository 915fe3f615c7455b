"""Standing still: how long a battery lasts, and what its volts say about its charge."""

from __future__ import annotations

import itertools

from ..figure import number
from ..problems import Collector
from .answer import PRACTICE, Answer, in_range, on
from .tables import Tables, shipped_tables


def standby_days(draw_ma: float, usable_mah: float, self_discharge_mah_per_day: float = 0.0) -> float:
    """Days until a charge is used up: usable ÷ (draw × 24 + self-discharge a day).

    All at least 0 and the whole draw above 0; raises ValueError otherwise.

    >>> standby_days(50, 12_000)
    10.0
    """
    a_day = draw_ma * 24 + self_discharge_mah_per_day
    if min(draw_ma, usable_mah, self_discharge_mah_per_day) < 0 or not a_day > 0:
        raise ValueError("no argument may be under 0, and something must be drawn")
    return usable_mah / a_day


def standby(
    *,
    draw_ma: float,
    capacity_ah: float,
    from_soc: float = 80,
    to_soc: float = 65,
    aged: float = 1.0,
    self_discharge_percent_per_month: float = 4,
    tables: Tables | None = None,
) -> Answer:
    """Figure ``days`` from one state of charge to another. ``aged`` is the part of the capacity that is left."""
    tables = tables or shipped_tables()
    found = Collector()
    ok = [
        in_range(found, "draw-ma", draw_ma, 0, 100_000, "mA"),
        in_range(found, "capacity-ah", capacity_ah, 0.1, 1000, "Ah"),
        in_range(found, "from-soc", from_soc, 1, 100, "%"),
        in_range(found, "to-soc", to_soc, 0, 99, "%"),
        in_range(found, "aged", aged, 0.05, 1, ""),
        in_range(found, "self-discharge-percent-per-month", self_discharge_percent_per_month, 0, 100, "%"),
    ]
    if all(ok) and not to_soc < from_soc:
        ok.append(False)
        found.error("out-of-range", f"to-soc is {number(to_soc)} %; it must be under from-soc, {number(from_soc)} %")
    if all(ok) and draw_ma == 0 and self_discharge_percent_per_month == 0:
        ok.append(False)
        found.error("out-of-range", "draw-ma is 0 mA with no self-discharge; it must be above 0 mA")
    if not all(ok):
        return {}, tuple(found.problems)
    month = tables.constant("days_a_month")
    full_mah = capacity_ah * aged * 1000
    usable = full_mah * (from_soc - to_soc) / 100
    own = full_mah * self_discharge_percent_per_month / 100 / month.value
    days = standby_days(draw_ma, usable, own)
    return {
        "days": (on(month) + PRACTICE).figure(
            days,
            "days",
            f"{number(capacity_ah)} Ah × {number(aged)} × ({number(from_soc)} − {number(to_soc)}) %"
            f" = {number(usable)} mAh ÷ ({number(draw_ma)} mA × 24 h + {number(own)} mAh self-discharge a day)",
        )
    }, tuple(found.problems)


def charge_from_volts(volts: float, tables: Tables | None = None) -> Answer:
    """Figure ``charge_percent`` of a flooded battery at rest, between the rows of the BCI table in a straight line.

    Outside the table's volts a problem says so: the battery is flat or faulty, or it has not rested.
    """
    tables = tables or shipped_tables()
    found = Collector()
    rows = tables.battery_charge
    if not in_range(found, "volts", volts, rows[0].volts, rows[-1].volts, "V"):
        return {}, tuple(found.problems)
    percent, said = _between([(row.volts, row.charge_percent) for row in rows], volts)
    said = f"{number(volts)} V at rest, {said}; with a 1 % meter this is good to about ±15 %"
    return {"charge_percent": on(*rows).figure(percent, "%", said)}, ()


def volts_from_charge(charge_percent: float, tables: Tables | None = None) -> Answer:
    """Figure ``volts``, open circuit and at rest, of a flooded battery, between the rows of the BCI table."""
    tables = tables or shipped_tables()
    found = Collector()
    rows = tables.battery_charge
    if not in_range(found, "charge-percent", charge_percent, rows[0].charge_percent, rows[-1].charge_percent, "%"):
        return {}, tuple(found.problems)
    volts, said = _between([(row.charge_percent, row.volts) for row in rows], charge_percent)
    return {"volts": on(*rows).figure(volts, "V", f"{number(charge_percent)} % at rest, {said}")}, ()


def _between(points: list[tuple[float, float]], x: float) -> tuple[float, str]:
    """Straight line between the two points around x; x is within them."""
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0), f"between the rows at {number(x0)} and {number(x1)}"
    raise ValueError(f"{x} is outside the table")
