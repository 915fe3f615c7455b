"""Voltage drop against printed tables, the boat-cable rule and properties."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.drop import area_for_drop_cmil, drop
from loomleaf.calc.tables import shipped_tables
from loomleaf.units import parse_size

METRIC = sorted(
    (row.size for row in shipped_tables().resistances.values() if row.size.metric), key=lambda s: s.area_mm2
)
GAUGES = sorted(
    (row.size for row in shipped_tables().resistances.values() if not row.size.metric), key=lambda s: s.area_mm2
)


def volts(**options: object) -> float:
    figures, problems = drop(**options)  # type: ignore[arg-type]
    assert not [problem for problem in problems if problem.code != "drop-over-supply"]
    found = figures["drop_v"].value
    assert isinstance(found, float)
    return found


def test_boat_rule_wants_5972_circular_mils() -> None:
    # ABYC E-11: 10 A, 20 ft there and back, 0.36 V (3 % of 12 V): CM = 10.75 × 10 × 20 / 0.36 = 5972.
    assert area_for_drop_cmil(10, 20, 0.36) == pytest.approx(5972, abs=0.5)
    loop = {"length_m": 10 * 0.3048, "return_length_m": 10 * 0.3048, "current_a": 10}
    assert volts(size=parse_size("12 AWG"), **loop) < 0.36 < volts(size=parse_size("14 AWG"), **loop)


# Governor manual MAN-0081: one-way resistance of 100 ft, Ω, two figures.
@pytest.mark.parametrize(("size", "ohm"), [("20 AWG", 1.02), ("18 AWG", 0.64), ("16 AWG", 0.40), ("14 AWG", 0.25)])
def test_a_hundred_feet_is_never_under_the_printed_resistance(size: str, ohm: float) -> None:
    found = volts(size=parse_size(size), length_m=30.48, current_a=1)
    assert ohm <= found < ohm * 1.07


def test_worked_by_hand() -> None:
    # 1 mm², 3 m out and 3 m back at 20 °C, 5 A, four joints of 2 mΩ: (58.5 + 58.5 + 8) mΩ × 5 A = 0.625 V.
    figures, problems = drop(
        size=parse_size("1 mm2"),
        length_m=3,
        current_a=5,
        return_size=parse_size("1 mm2"),
        return_length_m=3,
        joints=4,
        joint_mohm=2,
    )
    assert not problems
    assert figures["loop_mohm"].value == pytest.approx(125)
    assert figures["drop_v"].value == pytest.approx(0.625)
    assert figures["drop_percent"].value == pytest.approx(0.625 / 12 * 100)


def test_without_a_return_the_chassis_counts_nothing() -> None:
    assert volts(size=parse_size("1 mm2"), length_m=2, current_a=1) == pytest.approx(0.039)


def test_a_return_of_another_size_has_the_feeds_length_unless_told() -> None:
    mixed = volts(size=parse_size("1 mm2"), length_m=2, current_a=1, return_size=parse_size("2.5 mm2"))
    assert mixed == pytest.approx((19.5 + 7.98) * 2 / 1000)


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"length_m": 0}, "length-m"),
        ({"length_m": -1}, "length-m"),
        ({"length_m": 101}, "length-m"),
        ({"current_a": math.nan}, "current-a"),
        ({"joints": -1}, "joints"),
        ({"joint_mohm": -0.1}, "joint-mohm"),
        ({"supply_v": 0}, "supply-v"),
        ({"return_length_m": 0}, "return-length-m"),
        ({"temp_c": 900}, "temp-c"),
    ],
)
def test_numbers_out_of_range(options: dict[str, float], field: str) -> None:
    figures, problems = drop(**{"size": parse_size("1 mm2"), "length_m": 2, "current_a": 1, **options})  # type: ignore[arg-type]
    assert figures == {}
    assert [(problem.code, problem.message.split(" is ")[0]) for problem in problems] == [("out-of-range", field)]


def test_all_faults_are_told_at_once() -> None:
    _, problems = drop(size=parse_size("0.6 mm2"), length_m=0, current_a=-1, return_size=parse_size("7 mm2"))
    assert sorted(problem.code for problem in problems) == [
        "out-of-range",
        "out-of-range",
        "unknown-size",
        "unknown-size",
    ]


def test_a_drop_larger_than_the_supply_is_a_problem() -> None:
    _, problems = drop(size=parse_size("0.35 mm2"), length_m=50, current_a=100)
    assert [problem.code for problem in problems] == ["drop-over-supply"]


currents = st.floats(0.001, 1000)
lengths = st.floats(0.001, 100)


@given(st.sampled_from(METRIC + GAUGES), lengths, currents, currents)
def test_more_current_never_lowers_the_drop(size: object, length_m: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert volts(size=size, length_m=length_m, current_a=less) <= volts(size=size, length_m=length_m, current_a=more)


@given(st.sampled_from([METRIC, GAUGES]), st.data(), lengths, currents)
def test_a_larger_conductor_never_raises_the_drop(
    series: list[object], data: st.DataObject, m: float, a: float
) -> None:
    # Inside one system of sizes: a nominal mm² and a gauge of nearly the same area have limits of their own.
    small = data.draw(st.integers(0, len(series) - 1))
    large = data.draw(st.integers(small, len(series) - 1))
    assert volts(size=series[large], length_m=m, current_a=a) <= volts(size=series[small], length_m=m, current_a=a)
