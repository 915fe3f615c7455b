"""A job as plain data of the shape that its sheets carry inside them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ..figure import Figure
from ..plan.price import Estimate
from ..plan.types import Plan
from ..sheets.bench import bench_data
from ..sheets.fitting import fitting_data


def work_data(plan: Plan, estimate: Estimate | None = None) -> dict[str, Any]:
    """Everything that matters of a plan, as plain data of the same shape that the bench sheet carries, with the checks of
    every stage."""
    data = merged([bench_data(plan), fitting_data(plan)])
    data["sheet"] = "job"
    data["features"] = [{"feature": f.feature_id, "outcome": f.outcome, "by": f.by} for f in plan.features]
    data["joints"] = [
        {
            "circuit": j.circuit,
            "method": j.method_id,
            "item": j.item_id,
            "sleeve": j.sleeve_id,
            "strip_mm": _value(j.strip_mm),
            "sleeve_cut_mm": _value(j.sleeve_cut_mm),
            "total_mm2": _value(j.total_mm2),
            "position_mm": j.position_mm,
        }
        for j in plan.joints
    ]
    fuses = plan.engineering.get("fuses")
    if isinstance(fuses, Mapping):
        data["fuses"] = [
            {
                "circuit": row.get("circuit"),
                "conductor": row.get("conductor"),
                "rating_a": _value(row.get("rating_a")),
                "running_a": _value(row.get("running_a")),
                "limit_a": _value(row.get("limit_a")),
            }
            for row in fuses.get("rows", ())
        ]
    data |= _figures(plan.engineering)
    if estimate is not None:
        data["price"] = {
            "lines": [
                {"what": line.what, "quantity": line.quantity, "total": str(line.total)} for line in estimate.lines
            ],
            "discount": str(estimate.discount),
            "tax": str(estimate.tax),
            "to pay": str(estimate.gross),
        }
    return data


def _figures(engineering: Mapping[str, Any]) -> dict[str, Any]:
    """The figures that a fitter would ask about: volts lost and left, battery drain, levels, the loom's length and size."""

    def picked(row: Any, names: tuple[str, ...], *wanted: str) -> dict[str, Any]:
        held = row if isinstance(row, Mapping) else {}
        return {name: _value(held.get(name)) for name in (*names, *wanted) if _value(held.get(name)) is not None}

    def rows(value: Any) -> list[Any]:
        return list(value) if isinstance(value, (list, tuple)) else []

    def below(*path: str) -> Any:
        found: Any = engineering
        for step in path:
            found = found.get(step) if isinstance(found, Mapping) else None
        return found

    drops = ("drop_running_v", "volts_running_v", "drop_peak_v", "volts_peak_v", "lowest_v")
    figures: dict[str, Any] = {
        "supply": [picked(row, ("tail",), "running_a", "peak_a", *drops) for row in rows(below("supply", "parts"))],
        "standby": picked(below("standby"), (), "added_ma", "total_ma", "days"),
        "turn-on": [picked(row, ("circuit",), "total_ma", "limit_ma") for row in rows(below("turn_on"))],
        "loudspeakers": [
            picked(row, ("circuit",), "impedance_ohm", "lowest_ohm") for row in rows(below("loudspeakers", "channels"))
        ],
        "levels": [picked(row, ("part",), "gain_setting_v") for row in rows(below("loudspeakers", "levels"))],
        "looms": [
            {"what": f"loom of {row['from']}"} | picked(row, (), "length_mm", "bundle_mm")
            for row in rows(below("loom", "looms"))
        ],
        "branches": [picked(row, ("lead",), "length_mm", "bundle_mm") for row in rows(below("loom", "branches"))],
    }
    return {section: value for section, value in figures.items() if value}


FIRST_TO_SHOW = ("job", "bench", "fitting", "estimate", "cutting", "labels", "summary", "record")
"""Of several sheets, whose word on a thing is taken, the first that has it; their checks are put together."""


def merged(sheets: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """The data of several sheets of one job as those of one."""
    out: dict[str, Any] = {}
    ordered = sorted(sheets, key=lambda s: FIRST_TO_SHOW.index(s["sheet"]) if s.get("sheet") in FIRST_TO_SHOW else 99)
    for data in ordered:
        for section, value in data.items():
            if section == "checks" and isinstance(out.get(section), list) and isinstance(value, (list, tuple)):
                known = {c.get("key") for c in out[section] if isinstance(c, Mapping)}
                out[section] += [c for c in value if not (isinstance(c, Mapping) and c.get("key") in known)]
            elif section == "checks" and isinstance(value, (list, tuple)):
                out[section] = list(value)
            else:
                out.setdefault(section, value)
    out["sheet"] = " and ".join(dict.fromkeys(str(data.get("sheet", "")) for data in ordered))
    return out


def _value(figure: Any) -> Any:
    return figure.value if isinstance(figure, Figure) else figure


