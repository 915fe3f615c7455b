"""Voltage drop of a feed and its return."""

from __future__ import annotations

from ..figure import number
from ..problems import Collector
from ..units import Size
from .answer import OHM, PRACTICE, Answer, in_range
from .conductor import mohm_per_m, resistance_basis, resistance_row
from .tables import Tables, shipped_tables


def loop_mohm(feed_mohm: float, return_mohm: float = 0.0, joints: int = 0, joint_mohm: float = 1.0) -> float:
    """Feed, return and joints in series, in mΩ. All at least 0; raises ValueError otherwise.

    >>> loop_mohm(26.0, 26.0, 2, 1.0)
    54.0
    """
    if min(feed_mohm, return_mohm, joints, joint_mohm) < 0:
        raise ValueError("a resistance or a count of joints is under 0")
    return feed_mohm + return_mohm + joints * joint_mohm


def drop(
    *,
    size: Size,
    length_m: float,
    current_a: float,
    return_size: Size | None = None,
    return_length_m: float | None = None,
    joints: int = 0,
    joint_mohm: float = 1.0,
    temp_c: float = 20,
    supply_v: float = 12,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``loop_mohm, drop_v, drop_percent`` (of the supply).

    Without ``return_size`` and ``return_length_m`` the return is the chassis, counted as 0 Ω. With only one of the two
    the other is the feed's.
    """
    tables = tables or shipped_tables()
    found = Collector()
    ok = [
        in_range(found, "length-m", length_m, 0.001, 100, "m"),
        in_range(found, "current-a", current_a, 0.001, 1000, "A"),
        in_range(found, "joints", joints, 0, 100, ""),
        in_range(found, "joint-mohm", joint_mohm, 0, 1000, "mΩ"),
        in_range(found, "temp-c", temp_c, -40, 200, "°C"),
        in_range(found, "supply-v", supply_v, 1, 60, "V"),
        return_length_m is None or in_range(found, "return-length-m", return_length_m, 0.001, 100, "m"),
    ]
    row = resistance_row(found, "size", size, tables)
    wired = return_size is not None or return_length_m is not None
    back = resistance_row(found, "return-size", return_size, tables) if return_size is not None else row
    if not all(ok) or row is None or back is None:
        return {}, tuple(found.problems)
    back_m = (length_m if return_length_m is None else return_length_m) if wired else 0.0
    feed = mohm_per_m(row, temp_c, tables) * length_m
    home = mohm_per_m(back, temp_c, tables) * back_m
    loop = loop_mohm(feed, home, joints, joint_mohm)
    volts = loop / 1000 * current_a
    basis = resistance_basis(row, tables) + OHM
    if wired:
        basis += resistance_basis(back, tables)
    if joints or not wired:
        basis += PRACTICE
    said = (
        f"return {number(mohm_per_m(back, temp_c, tables))} mΩ/m × {number(back_m)} m" if wired else "chassis return 0"
    )
    figures = {
        "loop_mohm": basis.figure(
            loop,
            "mΩ",
            f"feed {number(mohm_per_m(row, temp_c, tables))} mΩ/m × {number(length_m)} m + {said}"
            f" + {joints} joints × {number(joint_mohm)} mΩ, copper at {number(temp_c)} °C",
        ),
        "drop_v": basis.figure(volts, "V", f"{number(loop)} mΩ × {number(current_a)} A ÷ 1000"),
        "drop_percent": basis.figure(volts / supply_v * 100, "%", f"{number(volts)} V ÷ {number(supply_v)} V × 100"),
    }
    if volts > supply_v:
        found.error(
            "drop-over-supply",
            f"the drop would be {number(volts)} V, more than the {number(supply_v)} V supply: this current cannot flow",
            hint="a larger conductor, a shorter run, or less current",
        )
    return figures, tuple(found.problems)


def area_for_drop_cmil(current_a: float, loop_ft: float, allowed_v: float, k_ohm_cmil_per_ft: float = 10.75) -> float:
    """Circular mils that ABYC E-11 wants for an allowed drop: CM = K I L / E, L there and back in feet.

    Raises ValueError unless every argument is above 0.

    >>> round(area_for_drop_cmil(10, 20, 0.36))
    5972
    """
    if not min(current_a, loop_ft, allowed_v, k_ohm_cmil_per_ft) > 0:
        raise ValueError("every argument must be above 0")
    return k_ohm_cmil_per_ft * current_a * loop_ft / allowed_v
