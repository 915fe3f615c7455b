"""One conductor: its area, resistance, outside diameter and what it may carry."""

from __future__ import annotations

import math

from ..figure import Figure, number
from ..problems import Collector, nearest
from ..units import Size
from .answer import Answer, Basis, in_range, known_by, on
from .tables import SizeRow, Tables, shipped_tables, size_key


def resistance_at(r20: float, temp_c: float, alpha_per_k: float = 0.00393) -> float:
    """Resistance of copper at a temperature, in the unit of ``r20``: R = R20 (1 + α (T − 20)).

    IEC 60028 (IACS): α = 0.00393 per K at 20 °C. ``temp_c`` −60 to 260; nearer absolute zero the line does not hold.
    Raises ValueError outside it.

    >>> round(resistance_at(10.0, 70), 4)
    11.965
    """
    if not -60 <= temp_c <= 260:
        raise ValueError("temp_c must be from −60 to 260 °C")
    return r20 * (1 + alpha_per_k * (temp_c - 20))


def temperature_factor(
    ambient_c: float, insulation_c: float = 105, table_c: float = 30, table_insulation_c: float = 105
) -> float:
    """Part of a table's current left at another ambient: the lower of √((T − Ta)/(T − 30)) and √((T − Ta)/(105 − 30)).

    T is the insulation's limit in °C, Ta the ambient. The first form is the general rule; the second keeps insulation
    of a lower limit than the table's from being given the table's current. Never above 1: a cool place earns nothing.
    Raises ValueError when the ambient is not below the insulation's limit, or the limit not above the table's ambient.

    >>> round(temperature_factor(50), 3), round(temperature_factor(65), 2), temperature_factor(10)
    (0.856, 0.73, 1.0)
    """
    if not ambient_c < insulation_c or not insulation_c > table_c:
        raise ValueError("the ambient must be below the insulation's limit, and the limit above the table's ambient")
    room = max(insulation_c, table_insulation_c) - table_c
    return min(1.0, math.sqrt((insulation_c - ambient_c) / room))


def resistance_row(found: Collector, field: str, size: Size, tables: Tables) -> SizeRow | None:
    """The resistance row of a size, or None with a problem that names the field and the sizes there are."""
    row = tables.resistances.get(size_key(size))
    if row is None:
        found.error(
            "unknown-size",
            f"{field} {size.short} is not in the conductor table, which has "
            f"{number(_least(tables))} to {number(_most(tables))} mm² and 24 AWG to 4/0 AWG",
            hint=_near_size(size, tables),
        )
    return row


def _least(tables: Tables) -> float:
    return min(row.size.area_mm2 for row in tables.resistances.values() if row.size.metric)


def _most(tables: Tables) -> float:
    return max(row.size.area_mm2 for row in tables.resistances.values() if row.size.metric)


def _near_size(size: Size, tables: Tables) -> str:
    same = [row for row in tables.resistances.values() if row.size.metric == size.metric]
    below = [row for row in same if row.size.area_mm2 < size.area_mm2]
    above = [row for row in same if row.size.area_mm2 > size.area_mm2]
    near = [max(below, key=lambda r: r.size.area_mm2).name] if below else []
    near += [min(above, key=lambda r: r.size.area_mm2).name] if above else []
    return "nearest: " + ", ".join(near) if near else nearest(size.written, tables.sizes)


def resistance_basis(row: SizeRow, tables: Tables) -> Basis:
    """What the resistance of a size at a temperature stands on."""
    return on(row, tables.constant("copper_alpha_per_k"))


def mohm_per_m(row: SizeRow, temp_c: float, tables: Tables) -> float:
    """Resistance a metre of a size at a temperature, in mΩ."""
    return resistance_at(row.value, temp_c, tables.constant("copper_alpha_per_k").value)


def limit(
    found: Collector,
    *,
    size: Size,
    ambient_c: float = 65,
    grouped: int = 1,
    insulation_c: float = 105,
    tables: Tables | None = None,
) -> Figure | None:
    """What a conductor may carry without a rest, in A, or None with problems.

    A gauge with a published boat-cable row has that row. Any other size has the lower of the boat-cable row of the
    gauge not above its area and the thin-wall row not above its area (as far as that list reaches); under the smallest
    thin-wall row the current falls with the area. Then the temperature factor (30 °C is the table's own; from 50 °C
    never above the printed 0.85) and the grouping factor.
    """
    tables = tables or shipped_tables()
    most = tables.grouping[-1].most
    ok = in_range(found, "insulation-c", insulation_c, 60, 150, "°C")
    ok = in_range(found, "grouped", grouped, 1, most, "loaded conductors") and ok
    ok = ok and in_range(found, "ambient-c", ambient_c, -40, insulation_c - 1, "°C")
    row = resistance_row(found, "size", size, tables)
    if not ok or row is None:
        return None
    amps, said, basis = _table_amps(size, tables)
    home = tables.table_ambient
    factor = temperature_factor(ambient_c, insulation_c, home.ambient_c, home.insulation_c)
    hot = tables.engine_space
    if ambient_c <= home.ambient_c and insulation_c >= home.insulation_c:
        basis += on(home)
    elif ambient_c >= hot.ambient_c and factor >= hot.factor:
        factor, basis = hot.factor, basis + on(hot)
    else:
        basis += on(home, tables.temperature_rule)
    group = next(one for one in tables.grouping if grouped <= one.most)
    working = (
        f"{said} × {number(factor)} ({number(ambient_c)} °C ambient, {number(insulation_c)} °C insulation)"
        f" × {number(group.factor)} ({grouped} loaded together)"
    )
    return (basis + on(group)).figure(amps * factor * group.factor, "A", working)


def _table_amps(size: Size, tables: Tables) -> tuple[float, str, Basis]:
    own = next((row for row in tables.cable_limits if size_key(row.size) == size_key(size)), None)
    if own is not None:
        return own.value, f"{number(own.value)} A ({own.name} boat cable)", on(own)
    area = size.area_mm2
    choices: list[tuple[float, str, Basis]] = []
    boat = _not_above(tables.cable_limits, area)
    if boat is not None:
        choices.append((boat.value, f"{number(boat.value)} A ({boat.name} boat cable, gauge not above it)", on(boat)))
    thin, smallest = _not_above(tables.thin_wall_limits, area), tables.thin_wall_limits[0]
    if thin is None:
        part = smallest.value * area / smallest.size.area_mm2
        said = f"{number(part)} A ({smallest.name} thin wall {number(smallest.value)} A, less in proportion to area)"
        choices.append((part, said, on(smallest)))
    elif area <= tables.thin_wall_limits[-1].size.area_mm2 * (1 + 1e-9):
        choices.append((thin.value, f"{number(thin.value)} A ({thin.name} thin wall)", on(thin)))
    return min(choices, key=lambda choice: choice[0])


def _not_above(rows: tuple[SizeRow, ...], area_mm2: float) -> SizeRow | None:
    return next((row for row in reversed(rows) if row.size.area_mm2 <= area_mm2 * (1 + 1e-9)), None)


def conductor(
    *,
    size: Size,
    temp_c: float = 20,
    ambient_c: float = 65,
    grouped: int = 1,
    insulation_c: float = 105,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``area_mm2, area_cmil, resistance_mohm_per_m, outside_mm, limit_a`` of one conductor size.

    ``temp_c`` is the metal's, for the resistance; ``ambient_c`` is the place's, for the limit. ``outside_mm`` is None
    where the tables hold no diameter for the size.
    """
    tables = tables or shipped_tables()
    found = Collector()
    warm = in_range(found, "temp-c", temp_c, -40, 200, "°C")
    may = limit(found, size=size, ambient_c=ambient_c, grouped=grouped, insulation_c=insulation_c, tables=tables)
    row = tables.resistances.get(size_key(size))
    if row is None or not warm or may is None:
        return {}, tuple(found.problems)
    if size.gauge is not None:
        area = known_by("astm-b258").figure(
            size.area_mm2, "mm²", f"π d²/4, d = 0.127 mm × 92^((36 − {_gauge(size.gauge)})/39)"
        )
    else:
        area = known_by("iec-60228").figure(size.area_mm2, "mm²", "nominal; a conductor is accepted by its resistance")
    figures = {
        "area_mm2": area,
        "area_cmil": Figure(
            value=size.area_cmil,
            unit="cmil",
            working=f"{number(size.area_mm2)} mm² ÷ 0.0005067 mm² a circular mil",
            sources=area.sources,
        ),
        "resistance_mohm_per_m": resistance_basis(row, tables).figure(
            mohm_per_m(row, temp_c, tables), "mΩ/m", resistance_working(row, temp_c, tables)
        ),
        "outside_mm": outside(size, tables),
        "limit_a": may,
    }
    return figures, tuple(found.problems)


def resistance_working(row: SizeRow, temp_c: float, tables: Tables) -> str:
    """The working of a resistance a metre: "26 mΩ/m × (1 + 0.00393 × (70 − 20))"."""
    note = f" ({row.note})" if row.note else ""
    alpha = tables.constant("copper_alpha_per_k").value
    return f"{number(row.value)} mΩ/m at 20 °C{note} × (1 + {alpha:g} × ({number(temp_c)} − 20))"


def outside(size: Size, tables: Tables | None = None) -> Figure:
    """Widest outside diameter of a size over its insulation, in mm; None where the tables hold none."""
    row = (tables or shipped_tables()).outsides.get(size_key(size))
    if row is None:
        return Figure(value=None, unit="mm", working=f"no diameter for {size.short} in the tables: measure the cable")
    return on(row).figure(row.value, "mm", f"table row {row.name}, {row.note}")


def _gauge(gauge: int) -> str:
    return str(gauge) if gauge >= 0 else f"(−{-gauge})"
