"""What a supply may be: the tested range of equipment against what a vehicle's supply does."""

from __future__ import annotations

from ..figure import number
from ..problems import Collector, nearest
from .answer import Answer, in_range, on
from .tables import Tables, shipped_tables


def class_range(name: str, tables: Tables | None = None) -> Answer:
    """Figures ``least_v, most_v`` of a supply class (ISO 16750-2:2010, letters A to D at 12 V, E to H at 24 V)."""
    tables = tables or shipped_tables()
    row = tables.supply_classes.get(name.strip().upper())
    if row is None:
        found = Collector()
        found.error(
            "unknown-class",
            f"'{name}' is not a supply class",
            hint=nearest(name, tables.supply_classes) or "a letter from A to H",
        )
        return {}, tuple(found.problems)
    said = f"class {row.name}, {number(row.nominal_v)} V systems; confirm the letter in the edition the maker names"
    return {
        "least_v": on(row).figure(row.least_v, "V", said),
        "most_v": on(row).figure(row.most_v, "V", said),
    }, ()


def vehicle_range(kind: str, tables: Tables | None = None) -> Answer:
    """Figures ``rest_v, running_low_v, running_high_v, dip_v`` of a vehicle's supply by how it charges and starts."""
    tables = tables or shipped_tables()
    row = tables.vehicle_supplies.get(kind)
    if row is None:
        found = Collector()
        found.error(
            "unknown-class", f"'{kind}' is not a kind of vehicle supply", hint=nearest(kind, tables.vehicle_supplies)
        )
        return {}, tuple(found.problems)
    basis = on(row)
    return {
        "rest_v": basis.figure(row.rest_v, "V", f"{kind}, charged and at rest"),
        "running_low_v": basis.figure(row.running_low_v, "V", f"{kind}, engine running, the lowest"),
        "running_high_v": basis.figure(row.running_high_v, "V", f"{kind}, engine running, the highest"),
        "dip_v": basis.figure(row.dip_v, "V", f"{kind}, the lowest while starting"),
    }, ()


def stays_on(*, kind: str, drop_v: float, least_v: float, most_v: float, tables: Tables | None = None) -> Answer:
    """Figures ``lowest_v, highest_v, runs, survives_start`` at the equipment, against the range it works in.

    ``drop_v`` is the loop's drop at the running current. ``runs`` is true when the whole running range is inside
    ``least_v`` to ``most_v``; ``survives_start`` when the dip while starting is too.
    """
    tables = tables or shipped_tables()
    found = Collector()
    _, problems = vehicle_range(kind, tables)
    ok = in_range(found, "drop-v", drop_v, 0, 20, "V")
    ok = in_range(found, "least-v", least_v, 0, 60, "V") and in_range(found, "most-v", most_v, least_v, 60, "V") and ok
    if not ok or problems:
        return {}, problems + tuple(found.problems)
    row = tables.vehicle_supplies[kind]
    basis = on(row)
    lowest, dip = row.running_low_v - drop_v, row.dip_v - drop_v
    return {
        "lowest_v": basis.figure(lowest, "V", f"{number(row.running_low_v)} V − {number(drop_v)} V drop"),
        "highest_v": basis.figure(row.running_high_v, "V", f"{number(row.running_high_v)} V, no current, no drop"),
        "runs": basis.figure(
            least_v <= lowest and row.running_high_v <= most_v,
            "",
            f"{number(lowest)} to {number(row.running_high_v)} V against {number(least_v)} to {number(most_v)} V",
        ),
        "survives_start": basis.figure(
            least_v <= dip,
            "",
            f"{number(row.dip_v)} V − {number(drop_v)} V = {number(dip)} V against {number(least_v)} V",
        ),
    }, ()
