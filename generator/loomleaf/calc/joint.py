"""One joint: total area, method, connector, strip length, and what a sample must hold in a pull test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import Figure, number
from ..problems import Collector, nearest
from ..units import CMIL_MM2, Size, awg_area_mm2, gauge_text
from .answer import Answer, Basis, in_range, known_by, on
from .tables import Connector, JointMethod, Tables, shipped_tables, size_key


def equivalent_gauge(total_mm2: float) -> int | None:
    """The smallest AWG size whose area is not under a total: rounded up, never to the nearest. None above 4/0.

    NASA-STD-8739.4: take the size next larger to the computed area. 0 is 1/0, −1 is 2/0. ``total_mm2`` above 0;
    raises ValueError otherwise.

    >>> equivalent_gauge(4026 * 5.067075e-4), equivalent_gauge(1662 * 5.067075e-4)
    (14, 17)
    """
    if not total_mm2 > 0:
        raise ValueError("total_mm2 must be above 0")
    return next((gauge for gauge in range(40, -4, -1) if awg_area_mm2(gauge) >= total_mm2 * (1 - 1e-9)), None)


def pull_newtons(size: Size, tables: Tables | None = None) -> Figure | None:
    """What a crimp on a conductor must hold, in N, or None under the smallest row.

    The crimped-splice column: the row of the gauge, or of the gauge not above the area. A metric size takes the larger
    of that row and its own row. A destructive test for a sample of each tool and batch, never for the work itself.
    """
    tables = tables or shipped_tables()
    area = size.area_mm2
    below = next((row for row in reversed(tables.pull_awg) if row.size.area_mm2 <= area * (1 + 1e-9)), None)
    own = tables.pull_metric.get(size_key(size)) if size.metric else None
    rows = [row for row in (below, own) if row is not None]
    if not rows:
        return None
    best = max(rows, key=lambda row: row.value)
    said = "; ".join(f"{row.name} row {number(row.value)} N ({row.standing.words})" for row in rows)
    larger = ", the larger" if len(rows) > 1 else ""
    return on(*rows).figure(
        best.value, "N", f"smallest tail {size.short}: {said}{larger}; a destructive test, for samples only"
    )


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What a method makes of some tails. ``why_not`` is "" when it serves; ``connector`` None where none is needed."""

    method: JointMethod
    connector: Connector | None = None
    why_not: str = ""


def try_method(sizes: Sequence[Size], method: JointMethod, tables: Tables | None = None) -> Choice:
    """Whether a method takes these conductors, and with which connector (the smallest that does)."""
    tables = tables or shipped_tables()
    total = sum(size.area_mm2 for size in sizes)
    if method.most_tails is not None and len(sizes) > method.most_tails:
        return Choice(method=method, why_not=f"takes {method.most_tails} tails, not {len(sizes)}")
    if method.rule == "any":
        most = tables.constant("most_solder_mm2").value
        if total > most:
            return Choice(
                method=method,
                why_not=f"{number(total)} mm² in all is more than a hand iron heats through ({number(most)} mm²)",
            )
        return Choice(method=method)
    least = awg_area_mm2(int(tables.constant("smallest_crimp_awg").value))
    thin = [size for size in sizes if size.area_mm2 < least * (1 - 1e-9)]
    if thin:
        gauge = gauge_text(int(tables.constant("smallest_crimp_awg").value))
        return Choice(
            method=method, why_not=f"{thin[0].short} is under {gauge} (0.35 mm²), outside ordinary connectors"
        )
    ends = _ends(sizes, method.rule)
    for connector in method.connectors:
        if all(connector.least_mm2 * (1 - 1e-9) <= end <= connector.most_mm2 * (1 + 1e-9) for end in ends):
            return Choice(method=method, connector=connector)
    parts = " and ".join(f"{number(end)} mm²" for end in ends)
    reach = (
        f"{number(min(one.least_mm2 for one in method.connectors))} to "
        f"{number(max(one.most_mm2 for one in method.connectors))} mm²"
        if method.connectors
        else "nothing"
    )
    return Choice(
        method=method,
        why_not=f"{parts}{_where(sizes, method.rule)}: no single connector takes that (they take {reach})",
    )


def _ends(sizes: Sequence[Size], rule: str) -> tuple[float, ...]:
    """Area in each barrel, in mm²: all together, or the widest tail against all the rest."""
    areas = sorted((size.area_mm2 for size in sizes), reverse=True)
    if rule == "barrels" and len(areas) > 1:
        return areas[0], sum(areas[1:])
    return (sum(areas),)


def _where(sizes: Sequence[Size], rule: str) -> str:
    """Which area lies where, in words."""
    if rule != "barrels" or len(sizes) < 2:
        return " in one barrel"
    return " in its two ends" if len(sizes) == 2 else " in its two ends, the widest alone"


def joint(*, tails: Sequence[Size], method: str = "", tables: Tables | None = None) -> Answer:
    """Figures ``total_mm2, total_cmil, equivalent_awg, method, item, strip_mm`` and for crimps ``pull_n``.

    ``equivalent_awg`` is a whole number, or text from "1/0" up. Without ``method`` the first in the table's order that
    takes the conductors. ``item`` is None for a soldered joint, ``strip_mm`` where only the connector's card knows it.
    """
    tables = tables or shipped_tables()
    found = Collector()
    if not in_range(found, "tails", len(tails), 2, 24, "conductors"):
        return {}, tuple(found.problems)
    wanted = next((one for one in tables.joint_methods if one.name == method), None)
    if method and wanted is None:
        found.error(
            "unknown-method",
            f"the joining method '{method}' is not in the tables",
            hint=nearest(method, [one.name for one in tables.joint_methods]),
        )
        return {}, tuple(found.problems)
    total_mm2 = sum(size.area_mm2 for size in tails)
    figures = _totals(tails, total_mm2)
    tries = [try_method(tails, one, tables) for one in ([wanted] if wanted else tables.joint_methods)]
    chosen = next((one for one in tries if not one.why_not), None)
    gauge = equivalent_gauge(total_mm2)
    if gauge is None:
        found.error(
            "out-of-range", f"tails total {number(total_mm2)} mm²; the total must be at most 4/0 AWG (107.2 mm²)"
        )
        return figures, tuple(found.problems)
    if chosen is None:
        reasons = "; ".join(f"{one.method.name}: {one.why_not}" for one in tries)
        found.error("no-joint", f"no connector takes these tails ({reasons})", hint=_way_out(tails, wanted, tables))
        return figures, tuple(found.problems)
    figures |= _made(tails, chosen, tries, tables)
    return figures, tuple(found.problems)


def _totals(tails: Sequence[Size], total_mm2: float) -> dict[str, Figure]:
    total_cmil = sum(size.area_cmil for size in tails)
    area = known_by("astm-b258")
    gauge = equivalent_gauge(total_mm2)
    shown: int | str | None = gauge if gauge is None or gauge > 0 else gauge_text(gauge).split()[0]
    up = (
        "above 4/0 AWG"
        if gauge is None
        else f"rounded up from {number(total_cmil)} cmil to {number(awg_area_mm2(gauge) / CMIL_MM2)} cmil"
    )
    return {
        "total_mm2": area.figure(total_mm2, "mm²", " + ".join(number(size.area_mm2) for size in tails) + " mm²"),
        "total_cmil": area.figure(total_cmil, "cmil", " + ".join(number(size.area_cmil) for size in tails) + " cmil"),
        "equivalent_awg": known_by("nasa-8739-4").figure(shown, "AWG", up),
    }


def _made(tails: Sequence[Size], chosen: Choice, tries: Sequence[Choice], tables: Tables) -> dict[str, Figure]:
    method, connector = chosen.method, chosen.connector
    passed = "; ".join(f"not {one.method.name}: {one.why_not}" for one in tries[: tries.index(chosen)])
    figures = {"method": on(method).figure(method.name, "", passed or "takes these conductors")}
    ends = " and ".join(f"{number(end)} mm²" for end in _ends(tails, method.rule))
    if connector is None:
        lap = tables.constant("lap_in_wire_diameters")
        widest = max(2 * math.sqrt(size.area_mm2 / math.pi) for size in tails)
        figures["item"] = on(method).figure(None, "", "no connector: soldered, then sleeved")
        figures["strip_mm"] = on(lap).figure(
            lap.value * widest,
            "mm",
            f"lap of {number(lap.value)} conductor diameters × {number(widest)} mm (3 to 6 is the range)",
        )
        return figures
    figures["item"] = on(connector).figure(
        connector.name,
        "",
        f"{ends}{_where(tails, method.rule)}; it takes {number(connector.least_mm2)} to {number(connector.most_mm2)} mm²"
        + (" in each end" if method.rule == "barrels" else " in all")
        + (f", at most {number(connector.amps)} A" if connector.amps is not None else ""),
    )
    figures["strip_mm"] = on(connector).figure(
        connector.strip_mm,
        "mm",
        "as deep as the barrel, which the connector's card gives"
        if connector.strip_mm is None
        else "usual for this connector; its own card governs",
    )
    if method.crimped:
        smallest = min(tails, key=lambda size: size.area_mm2)
        pull = pull_newtons(smallest, tables)
        figures["pull_n"] = pull or Basis().figure(None, "N", f"no row for {smallest.short}")
    return figures


def _way_out(tails: Sequence[Size], wanted: JointMethod | None, tables: Tables) -> str:
    others = [one for one in tables.joint_methods if one is not wanted and not try_method(tails, one, tables).why_not]
    return f"{others[0].name} would do" if others else "split the joint in two"
