"""How thick a bundle of wires is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..figure import number
from ..problems import Collector
from .answer import Answer, in_range, on
from .tables import Packing, Tables, shipped_tables

_EXACT = {
    3: 1 + 2 / math.sqrt(3),
    4: 1 + math.sqrt(2),
    5: 1 + math.sqrt(2 * (1 + 1 / math.sqrt(5))),
    8: 1 + 1 / math.sin(math.pi / 7),
    9: 1 + math.sqrt(2 * (2 + math.sqrt(2))),
    11: 1 + 1 / math.sin(math.pi / 9),
    13: 2 + math.sqrt(5),
    15: 1 + math.sqrt(6 + 2 / math.sqrt(5) + 4 * math.sqrt(1 + 2 / math.sqrt(5))),
    18: 1 + math.sqrt(2) + math.sqrt(6),
    19: 1 + math.sqrt(2) + math.sqrt(6),
}


def packing_ratio(row: Packing) -> float:
    """Bundle over wire diameter for equal wires: the closed form where one prints as the row, else the row.

    >>> packing_ratio(next(one for one in shipped_tables().packing if one.wires == 7))
    3.0
    """
    exact = _EXACT.get(row.wires)
    return exact if exact is not None and abs(exact - row.ratio) < 1e-4 else row.ratio


def mixed_estimate_mm(outsides_mm: Sequence[float], factor: float = 1.2) -> float:
    """Diameter of a mixed bundle by the general rule: 1.2 √(Σ d²). Diameters above 0; raises ValueError otherwise.

    >>> mixed_estimate_mm([3.0, 4.0])
    6.0
    """
    if not outsides_mm or min(outsides_mm) <= 0:
        raise ValueError("diameters must be above 0")
    return factor * math.sqrt(sum(d * d for d in outsides_mm))


def bundle_diameter_mm(outsides_mm: Sequence[float], tables: Tables | None = None) -> tuple[float, str]:
    """Diameter of a bundle in mm and its working.

    Up to 19 equal wires: the densest known packing. Otherwise the largest of the general rule, the two widest side by
    side, and as many of the thinnest packed (beyond 19: as many as the packing table reaches).
    """
    tables = tables or shipped_tables()
    wires = sorted(outsides_mm, reverse=True)
    count = len(wires)
    packed = {row.wires: packing_ratio(row) for row in tables.packing}
    if count == 1:
        return wires[0], f"one wire, its own outside of {number(wires[0])} mm"
    if count in packed and wires[0] - wires[-1] < 1e-9:
        return packed[count] * wires[0], f"{count} equal wires packed: {number(packed[count])} × {number(wires[0])} mm"
    factor = tables.constant("mixed_factor").value
    squares = sum(d * d for d in wires)
    several = max(n for n in packed if n <= count)
    options = [
        (mixed_estimate_mm(wires, factor), f"{number(factor)} × √({number(squares)} mm²)"),
        (sum(wires[:2]), "the two widest side by side"),
        (
            packed[several] * wires[-1],
            f"{several} thinnest packed: {number(packed[several])} × {number(wires[-1])} mm",
        ),
    ]
    value, said = max(options, key=lambda option: option[0])
    return value, f"{said}, the largest of the three rules"


def bundle(*, outsides_mm: Sequence[float], tables: Tables | None = None) -> Answer:
    """Figures ``diameter_mm, fill`` of a bundle; ``outsides_mm``: one outside diameter a wire. fill = Σ d² / D²."""
    tables = tables or shipped_tables()
    found = Collector()
    ok = in_range(found, "wires", len(outsides_mm), 1, 1000, "")
    for outside in dict.fromkeys(outsides_mm):
        ok = in_range(found, "outside-mm", outside, 0.1, 60, "mm") and ok
    if not ok:
        return {}, tuple(found.problems)
    diameter, said = bundle_diameter_mm(outsides_mm, tables)
    squares = sum(d * d for d in outsides_mm)
    equal = "equal wires packed" in said or len(outsides_mm) == 1
    basis = on(tables.packing[0]) if equal else on(tables.packing[0], tables.constant("mixed_factor"))
    return {
        "diameter_mm": basis.figure(diameter, "mm", said),
        "fill": basis.figure(squares / diameter**2, "", f"Σ d² {number(squares)} mm² ÷ ({number(diameter)} mm)²"),
    }, tuple(found.problems)
