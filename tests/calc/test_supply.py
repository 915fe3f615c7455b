"""Supply ranges and turn-on outputs."""

from __future__ import annotations

import pytest

from loomleaf.calc.supply import class_range, stays_on, vehicle_range
from loomleaf.calc.tables import shipped_tables
from loomleaf.calc.turnon import turn_on
from loomleaf.figure import Standing


# BS ISO 16750-2:2010, tables 1 (12 V) and 2 (24 V).
@pytest.mark.parametrize(
    ("letter", "least", "most"),
    [("A", 6, 16), ("B", 8, 16), ("C", 9, 16), ("D", 10.5, 16), ("E", 10, 32), ("F", 16, 32), ("G", 22, 32),
     ("H", 18, 32)],
)  # fmt: skip
def test_supply_classes(letter: str, least: float, most: float) -> None:
    figures, problems = class_range(letter)
    assert not problems
    assert (figures["least_v"].value, figures["most_v"].value) == (least, most)
    assert figures["least_v"].known is Standing.PUBLISHED


def test_an_unknown_class_or_vehicle_is_a_problem() -> None:
    assert [problem.code for problem in class_range("K")[1]] == ["unknown-class"]
    assert [problem.code for problem in vehicle_range("steam")[1]] == ["unknown-class"]


def test_every_vehicle_supply_is_in_order() -> None:
    for row in shipped_tables().vehicle_supplies.values():
        assert row.dip_v < row.running_low_v <= row.running_high_v and row.dip_v < row.rest_v


@pytest.mark.parametrize(
    ("drop_v", "least_v", "runs", "survives"),
    [(0.5, 9, True, False), (0.5, 7.5, True, True), (0.5, 7.6, True, False), (3, 9.5, False, False)],
)
def test_equipment_against_a_start_stop_supply(drop_v: float, least_v: float, runs: bool, survives: bool) -> None:
    # Start-stop: 12 V running low, 8 V dip (common practice, no source).
    figures, problems = stays_on(kind="start-stop", drop_v=drop_v, least_v=least_v, most_v=16)
    assert not problems
    assert figures["lowest_v"].value == 12 - drop_v
    assert (figures["runs"].value, figures["survives_start"].value) == (runs, survives)


def test_smart_charging_at_15_volts_is_too_much_for_a_14_4_volt_part() -> None:
    figures, _ = stays_on(kind="smart-charging", drop_v=0.2, least_v=9, most_v=14.4)
    assert figures["runs"].value is False


def test_a_relay_is_called_for_over_the_limit_only() -> None:
    loads = {"amplifier": 50.0, "antenna": 100.0}
    figures, problems = turn_on(loads_ma=loads, limit_ma=150)
    assert not problems and (figures["total_ma"].value, figures["relay"].value) == (150, False)
    assert turn_on(loads_ma={**loads, "camera": 1.0}, limit_ma=150)[0]["relay"].value is True
    assert turn_on(loads_ma={}, limit_ma=150)[0]["total_ma"].value == 0


def test_the_design_limit_says_that_it_is_one() -> None:
    figures, _ = turn_on(loads_ma={"amplifier": 200.0})
    assert figures["limit_ma"].value == 150 and figures["limit_ma"].known is Standing.MEMORY
    assert "design value" in figures["limit_ma"].working and figures["relay"].value is True


def test_bad_loads_are_problems() -> None:
    _, problems = turn_on(loads_ma={"amplifier": -1.0, "antenna": float("nan")}, limit_ma=0)
    assert [problem.message.split(" is ")[0] for problem in problems] == ["limit-ma", "amplifier", "antenna"]
