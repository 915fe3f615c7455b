"""A battery at rest."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.standby import charge_from_volts, standby, volts_from_charge

# Battery Council International, 26.7 °C, open circuit.
BCI = [(12.65, 100), (12.45, 75), (12.24, 50), (12.06, 25), (11.89, 0)]


def days(**options: float) -> float:
    figures, problems = standby(**options)  # type: ignore[arg-type]
    assert not problems
    found = figures["days"].value
    assert isinstance(found, float)
    return found


def test_fifty_milliamperes_are_1_2_ampere_hours_a_day() -> None:
    assert days(draw_ma=50, capacity_ah=12, from_soc=100, to_soc=0, self_discharge_percent_per_month=0) == 10


def test_worked_by_hand_with_the_defaults() -> None:
    # 60 Ah, 80 to 65 %: 9000 mAh. A day: 50 × 24 + 60 000 × 4 % / 30.4375 = 1278.85 mAh.
    assert days(draw_ma=50, capacity_ah=60) == pytest.approx(9000 / (1200 + 2400 / 30.4375))


def test_an_aged_battery_lasts_less_in_proportion() -> None:
    fresh = days(draw_ma=50, capacity_ah=60, self_discharge_percent_per_month=0)
    assert days(draw_ma=50, capacity_ah=60, aged=0.7, self_discharge_percent_per_month=0) == pytest.approx(0.7 * fresh)


@pytest.mark.parametrize(("volts", "percent"), BCI)
def test_charge_table_both_ways(volts: float, percent: float) -> None:
    figures, problems = charge_from_volts(volts)
    assert not problems and figures["charge_percent"].value == pytest.approx(percent)
    figures, problems = volts_from_charge(percent)
    assert not problems and figures["volts"].value == pytest.approx(volts)


def test_between_rows_in_a_straight_line() -> None:
    assert charge_from_volts(12.55)[0]["charge_percent"].value == pytest.approx(87.5)


@pytest.mark.parametrize("volts", [11.8, 12.9, math.nan])
def test_outside_the_table_is_a_problem(volts: float) -> None:
    figures, problems = charge_from_volts(volts)
    assert figures == {} and problems[0].code == "out-of-range" and "11.89 to 12.65 V" in problems[0].message


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"draw_ma": -1}, "draw-ma"),
        ({"draw_ma": 0, "self_discharge_percent_per_month": 0}, "draw-ma"),
        ({"capacity_ah": 0}, "capacity-ah"),
        ({"to_soc": 85}, "to-soc"),
        ({"from_soc": 101}, "from-soc"),
        ({"aged": 0}, "aged"),
        ({"aged": math.nan}, "aged"),
    ],
)
def test_numbers_out_of_range(options: dict[str, float], field: str) -> None:
    figures, problems = standby(**{"draw_ma": 50, "capacity_ah": 60, **options})  # type: ignore[arg-type]
    assert figures == {} and [problem.message.split(" is ")[0] for problem in problems] == [field]


@given(st.floats(1, 1000), st.floats(1, 1000), st.floats(10, 200))
def test_more_draw_never_lasts_longer(one: float, other: float, capacity: float) -> None:
    less, more = sorted((one, other))
    assert days(draw_ma=more, capacity_ah=capacity) <= days(draw_ma=less, capacity_ah=capacity)


@given(st.floats(0, 100))
def test_volts_and_charge_are_each_others_inverse(percent: float) -> None:
    volts = volts_from_charge(percent)[0]["volts"].value
    assert isinstance(volts, float)
    assert charge_from_volts(volts)[0]["charge_percent"].value == pytest.approx(percent, abs=1e-6)
