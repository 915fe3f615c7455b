"""A short circuit at the far end: does the fuse open before the conductor is ruined?

A dead short only. A wire that chafes and arcs may never draw this current, and nothing here covers it.
"""

from __future__ import annotations

import math

from ..figure import Figure, number
from ..problems import Collector
from ..units import Size
from .answer import OHM, Answer, in_range, known_by, on
from .conductor import mohm_per_m, resistance_basis, resistance_row
from .fuse import find_fuse, standard_fuses
from .tables import FuseKind, OpeningLimit, Tables, shipped_tables

ADIABATIC_S = 5.0
"""Longest time for which the adiabatic limit is printed as valid (IEC 60364-5-54, BS 7671)."""


def adiabatic_k(start_c: float, final_c: float, k0: float = 226, beta_c: float = 234.5) -> float:
    """k of a conductor, A √s / mm²: k0 √(ln((β + θf)/(β + θi))), IEC 60949 / IEC 60364-5-54; copper 226 and 234.5.

    ``final_c`` above ``start_c``, both −60 to 500 °C; raises ValueError otherwise.

    >>> round(adiabatic_k(70, 160)), round(adiabatic_k(90, 250))
    (115, 143)
    """
    if not -60 <= start_c < final_c <= 500:
        raise ValueError("start_c must be below final_c, both from −60 to 500 °C")
    return k0 * math.sqrt(math.log((beta_c + final_c) / (beta_c + start_c)))


def reached(kind: FuseKind, multiple: float) -> tuple[OpeningLimit, ...]:
    """The tabulated points at or under a multiple of the rating, rising. None reached: nothing is protected."""
    return tuple(point for point in kind.limits if point.percent / 100 <= multiple * (1 + 1e-12))


def let_through(kind: FuseKind, rating_a: float, current_a: float) -> tuple[float, float, str] | None:
    """Longest clearing time in s, worst I²t in A²s, and the working; None under the first tabulated point.

    Between points the time of the point below is taken, never an interpolated one. Beyond the last point I²t is held
    at that point's. A fault may also be weaker than the dead short: every tabulated point on the way up whose longest
    time is within the 5 s of the adiabatic limit counts too, and the worst of all is given.
    """
    points = reached(kind, current_a / rating_a)
    if not points:
        return None
    last = points[-1]
    if last is kind.limits[-1]:
        worst = (last.percent / 100 * rating_a) ** 2 * last.most_s
        clearing = worst / current_a**2
        held = f"({number(last.percent / 100 * rating_a)} A)² × {number(last.most_s)} s"
        said = f"beyond {number(last.percent)} % I²t is held at {held} (an assumption)"
    else:
        clearing = last.most_s
        worst = current_a**2 * clearing
        said = f"({number(current_a)} A)² × {number(clearing)} s, the longest time at {number(last.percent)} %"
    for point in points:
        weak = (point.percent / 100 * rating_a) ** 2 * point.most_s
        if point.most_s <= ADIABATIC_S and weak > worst:
            worst = weak
            amps = number(point.percent / 100 * rating_a)
            said = f"a weaker fault at {number(point.percent)} %: ({amps} A)² × {number(point.most_s)} s"
    return clearing, worst, said


def short(
    *,
    size: Size,
    length_m: float,
    fuse_a: float,
    source_mohm: float = 20,
    supply_v: float = 12.6,
    temp_c: float = 70,
    final_c: float = 160,
    chassis_mohm: float | None = None,
    kind: str | None = None,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``prospective_a, multiple, clearing_s, let_through_a2s, withstand_a2s, protected``.

    ``length_m`` is one way; the return is the same conductor unless ``chassis_mohm`` is given. ``temp_c`` is the
    conductor's when the fault starts, ``final_c`` the hottest its insulation stands. ``kind`` picks one kind of fuse.
    """
    tables = tables or shipped_tables()
    found = Collector()
    ok = [
        in_range(found, "length-m", length_m, 0.001, 100, "m"),
        in_range(found, "source-mohm", source_mohm, 0.1, 1000, "mΩ"),
        in_range(found, "supply-v", supply_v, 1, 60, "V"),
        in_range(found, "temp-c", temp_c, -40, 200, "°C"),
        in_range(found, "final-c", final_c, -39, 300, "°C"),
        in_range(found, "fuse-a", fuse_a, 0.1, 600, "A"),
        chassis_mohm is None or in_range(found, "chassis-mohm", chassis_mohm, 0, 1000, "mΩ"),
    ]
    if all(ok) and not final_c > temp_c:
        ok.append(False)
        found.error("out-of-range", f"final-c is {number(final_c)} °C; it must be above temp-c, {number(temp_c)} °C")
    row = resistance_row(found, "size", size, tables)
    blow = find_fuse(fuse_a, tables, kind) if ok[5] else None
    if ok[5] and blow is None:
        near = sorted(standard_fuses(tables, kind), key=lambda one: abs(one.amps - fuse_a))[:2]
        found.error(
            "unknown-fuse",
            f"fuse-a {number(fuse_a)} A is not a rating in the fuse tables",
            hint="nearest: " + ", ".join(f"{number(one.amps)} A" for one in sorted(near, key=lambda one: one.amps)),
        )
    if not all(ok) or row is None or blow is None:
        return {}, tuple(found.problems)
    one_way = mohm_per_m(row, temp_c, tables) * length_m
    back = one_way if chassis_mohm is None else chassis_mohm
    loop = source_mohm + one_way + back
    prospective = supply_v / (loop / 1000)
    multiple = prospective / fuse_a
    circuit = resistance_basis(row, tables) + OHM
    said = "the same back" if chassis_mohm is None else f"{number(chassis_mohm)} mΩ chassis"
    figures = {
        "prospective_a": circuit.figure(
            prospective,
            "A",
            f"{number(supply_v)} V ÷ ({number(source_mohm)} mΩ source + {number(one_way)} mΩ out + {said})",
        ),
        "multiple": circuit.figure(multiple, "", f"{number(prospective)} A ÷ {number(fuse_a)} A"),
    }
    k0, beta = tables.constant("adiabatic_k0"), tables.constant("adiabatic_beta_c")
    k = adiabatic_k(temp_c, final_c, k0.value, beta.value)
    withstand = k**2 * size.area_mm2**2
    strength = on(k0, beta)
    figures |= _verdict(blow.kind, fuse_a, prospective, withstand)
    figures["withstand_a2s"] = strength.figure(
        withstand,
        "A²s",
        f"(k S)² = ({number(k)} × {number(size.area_mm2)} mm²)², {number(temp_c)} to {number(final_c)} °C",
    )
    verdict = figures.pop("protected")
    figures["protected"] = (circuit + strength + on(*blow.kind.limits)).figure(
        verdict.value, "", verdict.working + "; a chafing, arcing fault is not covered"
    )
    return figures, tuple(found.problems)


def _verdict(kind: FuseKind, fuse_a: float, prospective_a: float, withstand: float) -> dict[str, Figure]:
    opening = on(*kind.limits)
    passed = let_through(kind, fuse_a, prospective_a)
    if passed is None:
        first = number(kind.limits[0].percent)
        why = f"under {first} % of the rating, the first point of a {kind.title} fuse, it may never open"
        return {
            "clearing_s": opening.figure(None, "s", why),
            "let_through_a2s": opening.figure(None, "A²s", why),
            "protected": opening.figure(False, "", why),
        }
    clearing, worst, said = passed
    safe = worst <= withstand
    sign = "≤" if safe else ">"
    return {
        "clearing_s": opening.figure(
            clearing, "s", f"longest a {kind.title} fuse may take at {number(prospective_a / fuse_a)} times its rating"
        ),
        "let_through_a2s": opening.figure(worst, "A²s", said),
        "protected": known_by().figure(safe, "", f"{number(worst)} A²s {sign} {number(withstand)} A²s"),
    }
