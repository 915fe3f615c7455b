"""Room behind the radio: worked out where sizes are given, asked for where not."""

from __future__ import annotations

from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, codes, value, work


def plan_with(opening: str, measures: str, module: str = ""):
    leads = [
        lead("dash", "vehicle", *DASH),
        lead("radio", "radio", *RADIO, more=DRAWS + f"measures: {{{measures}}}\n"),
    ]
    if module:
        leads.append(
            lead("box", "module", "plus supply-constant", "minus ground", more=f"draws: {{running_a: 0}}\n{module}")
        )
    return work(*leads, vehicle=CAR + f"opening: {{{opening}}}\n")


def row(plan, item: str):
    return next(r for r in plan.engineering["room"] if r["item"] == item)


def test_what_is_left() -> None:
    plan = plan_with(
        "depth_mm: 165, width_mm: 182, height_mm: 103", "depth_mm: 95, width_mm: 178, height_mm: 100, clearance_mm: 25"
    )
    assert value(row(plan, "room left in depth")["figure"]) == 70
    assert value(row(plan, "room left in width")["figure"]) == 4
    assert row(plan, "room left in depth")["ask"] == ""
    assert codes(plan, "no-room") == []


def test_too_little_is_told() -> None:
    plan = plan_with("depth_mm: 110", "depth_mm: 95, clearance_mm: 25")
    assert codes(plan, "no-room") == ["no-room"]
    assert not plan.held


def test_what_is_not_measured_is_asked_for_and_blank() -> None:
    plan = plan_with("width_mm: 182", "depth_mm: 95")
    assert row(plan, "room left in depth")["figure"].value is None
    assert row(plan, "room left in depth")["ask"] == "Measure the depth."
    assert {r["item"] for r in plan.engineering["room"] if r["figure"].value is None} >= {
        "antenna plug",
        "fixings",
        "rattle",
    }
    assert all(
        r["ask"] for r in plan.engineering["room"] if r["figure"].value is None and r["item"] != "space for modules"
    )


def test_space_for_modules() -> None:
    """100 × 50 × 20 mm is 0.1 litre."""
    plan = plan_with("depth_mm: 165", "depth_mm: 95", "measures: {depth_mm: 100, width_mm: 50, height_mm: 20}\n")
    assert value(row(plan, "space for modules")["figure"]) == 0.1
    unmeasured = plan_with("depth_mm: 165", "depth_mm: 95", "measures: {depth_mm: 100}\n")
    assert row(unmeasured, "space for modules")["ask"] == "Measure box: depth, width and height in mm."
