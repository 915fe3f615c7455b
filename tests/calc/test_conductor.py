"""Conductors against handbook rows and standards' tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.conductor import conductor, outside, resistance_at, temperature_factor
from loomleaf.calc.tables import shipped_tables
from loomleaf.figure import Standing
from loomleaf.units import awg_diameter_mm, parse_size

# Lessons in Electric Circuits (CRC Handbook, 78th ed.): AWG, diameter in, circular mils; four figures as printed.
HANDBOOK = [
    (24, 0.02010, 404.0),
    (22, 0.02535, 642.5),
    (20, 0.03196, 1022),
    (18, 0.04030, 1624),
    (17, 0.04526, 2048),
    (16, 0.05082, 2583),
    (14, 0.06408, 4107),
    (12, 0.08081, 6530),
    (10, 0.1019, 10380),
    (8, 0.1285, 16510),
    (6, 0.1620, 26250),
    (4, 0.2043, 41740),
]
# IEC 60228 class 5, plain copper, maximum Ω/km at 20 °C, as three cable makers' pages print it.
CLASS_5 = [(0.5, 39.0), (0.75, 26.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91)]
# JIS C 3406 AV (f: fine strand), maximum mΩ/m at 20 °C and greatest outside diameter.
JIS_OWN = [(0.85, 20.8, 2.6), (1.25, 14.7, 2.9), (5, 3.52, 4.9), (8, 2.32, 5.8)]
JIS_SAME_NOMINAL = [(0.5, 36.7), (0.75, 24.4), (2, 9.50), (3, 5.76)]
# 33 CFR 183.425 / ABYC E-11: amperes at 30 °C with up to two loaded, and the printed 50 °C row.
BOAT = [
    ("18 AWG", 20, 17),
    ("16 AWG", 25, 21.3),
    ("14 AWG", 35, 29.8),
    ("12 AWG", 45, 38.3),
    ("10 AWG", 60, 51),
    ("8 AWG", 80, 68),
    ("6 AWG", 120, 102),
    ("4 AWG", 160, 136),
    ("2 AWG", 210, 178.5),
    ("1 AWG", 245, 208.3),
    ("1/0 AWG", 285, 242.3),
    ("2/0 AWG", 330, 280.5),
    ("3/0 AWG", 385, 327.3),
    ("4/0 AWG", 445, 378.3),
]


def value(size: str, name: str, **options: float) -> float:
    figures, problems = conductor(size=parse_size(size), **options)  # type: ignore[arg-type]
    assert not problems
    found = figures[name].value
    assert isinstance(found, (int, float))
    return float(found)


@pytest.mark.parametrize(("gauge", "inches", "cmil"), HANDBOOK)
def test_awg_area_is_the_handbooks(gauge: int, inches: float, cmil: float) -> None:
    assert awg_diameter_mm(gauge) / 25.4 == pytest.approx(inches, rel=4e-4)
    if f"g{gauge}" in shipped_tables().resistances:
        assert value(f"{gauge} AWG", "area_cmil") == pytest.approx(cmil, rel=5e-4)
        assert value(f"{gauge} AWG", "area_mm2") == pytest.approx(math.pi / 4 * (inches * 25.4) ** 2, rel=5e-4)


@pytest.mark.parametrize(("area", "ohm_per_km"), CLASS_5)
def test_metric_resistance_is_class_5(area: float, ohm_per_km: float) -> None:
    assert value(f"{area} mm2", "resistance_mohm_per_m") == ohm_per_km


@pytest.mark.parametrize(("area", "mohm", "across"), JIS_OWN)
def test_japanese_sizes_are_the_standards(area: float, mohm: float, across: float) -> None:
    assert value(f"{area} mm2", "resistance_mohm_per_m") == mohm
    assert value(f"{area} mm2", "outside_mm") == across


@pytest.mark.parametrize(("area", "mohm"), JIS_SAME_NOMINAL)
def test_other_sizes_agree_with_the_japanese_rows_within_8_percent(area: float, mohm: float) -> None:
    assert value(f"{area} mm2", "resistance_mohm_per_m") == pytest.approx(mohm, rel=0.08)


def test_every_resistance_is_near_resistivity_over_area() -> None:
    # IEC 60028: 0.017241 Ω mm²/m. A stranded conductor lies a little above it; 7/32 and 7/30
    # strandings (448 and 700 cmil for 24 and 22 AWG) hold up to 11 % more copper than the gauge.
    for row in shipped_tables().resistances.values():
        ratio = row.value * row.size.area_mm2 / 17.241
        assert 0.90 < ratio < 1.20, row.name


def test_stranded_chart_rows_take_the_higher_of_two_strandings() -> None:
    # Stranded wire chart: 20 AWG 10/30 10.32 and 19/32 8.63 Ω per 1000 ft; 16 AWG 19/29 4.27 and 26/30 4.00.
    assert value("20 AWG", "resistance_mohm_per_m") == pytest.approx(10.32 / 0.3048, rel=1e-9)
    assert value("16 AWG", "resistance_mohm_per_m") == pytest.approx(4.27 / 0.3048, rel=1e-9)


@pytest.mark.parametrize(
    ("temp_c", "printed"), [(5, 1.064), (10, 1.042), (30, 0.962), (50, 0.893), (70, 0.833), (100, 0.758)]
)
def test_temperature_correction_agrees_with_the_printed_list(temp_c: float, printed: float) -> None:
    # Correction factors printed with the IEC 60228 tables; they use 0.004, copper here 0.00393: within 0.5 %.
    assert 1 / resistance_at(1.0, temp_c) == pytest.approx(printed, rel=5e-3)


def test_resistance_rises_with_temperature_as_copper_does() -> None:
    # IACS: 0.393 % a degree at 20 °C.
    assert value("1 mm2", "resistance_mohm_per_m", temp_c=65) == pytest.approx(19.5 * (1 + 0.00393 * 45))


@pytest.mark.parametrize(("size", "at_30", "at_50"), BOAT)
def test_boat_cable_table(size: str, at_30: float, at_50: float) -> None:
    assert value(size, "limit_a", ambient_c=30) == at_30
    assert value(size, "limit_a", ambient_c=50) == pytest.approx(at_50, abs=0.06)


@pytest.mark.parametrize(("grouped", "factor"), [(1, 1), (2, 1), (3, 0.7), (4, 0.6), (6, 0.6), (7, 0.5), (24, 0.5)])
def test_grouping_factors(grouped: int, factor: float) -> None:
    # 33 CFR 183.425, correction for several loaded conductors together.
    assert value("12 AWG", "limit_a", ambient_c=30, grouped=grouped) == pytest.approx(45 * factor)


def test_behind_a_dash_at_65_degrees() -> None:
    # √((105 − 65)/(105 − 30)) = 0.7303
    assert value("12 AWG", "limit_a") == pytest.approx(45 * math.sqrt(40 / 75))


@pytest.mark.parametrize(
    ("size", "amps"),
    [
        ("0.5 mm2", 11),
        ("0.75 mm2", 14),
        ("2.5 mm2", 29),
        ("6 mm2", 50),
        ("20 AWG", 11),
        ("10 mm2", 80),
        ("50 mm2", 245),
    ],
)
def test_sizes_without_a_boat_row_take_the_lower_of_what_applies(size: str, amps: float) -> None:
    # Thin-wall list from memory up to 6 mm²; above it the boat row of the gauge not above the area (8 AWG, 1 AWG).
    assert value(size, "limit_a", ambient_c=30) == amps


def test_under_the_list_the_limit_falls_with_the_area() -> None:
    assert value("22 AWG", "limit_a", ambient_c=30) == pytest.approx(11 * 0.3255 / 0.5, rel=1e-3)


def test_poorer_insulation_never_earns_the_tables_current() -> None:
    assert temperature_factor(30, 80) == pytest.approx(math.sqrt(50 / 75))
    assert temperature_factor(65, 125) == pytest.approx(math.sqrt(60 / 95))
    assert temperature_factor(-10) == 1.0


def test_standing_follows_the_weakest_row() -> None:
    figures, _ = conductor(size=parse_size("12 AWG"), ambient_c=30)
    assert figures["limit_a"].known is Standing.PUBLISHED
    figures, _ = conductor(size=parse_size("0.35 mm2"), ambient_c=30)
    assert figures["resistance_mohm_per_m"].known is Standing.MEMORY
    assert figures["limit_a"].known is Standing.MEMORY


def test_a_size_without_a_diameter_says_measure_it() -> None:
    assert outside(parse_size("50 mm2")).value is None
    assert "measure" in outside(parse_size("50 mm2")).working


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"temp_c": math.nan}, "temp-c"),
        ({"temp_c": 500}, "temp-c"),
        ({"grouped": 0}, "grouped"),
        ({"grouped": 25}, "grouped"),
        ({"ambient_c": 105}, "ambient-c"),
        ({"insulation_c": 20}, "insulation-c"),
        ({"ambient_c": math.inf}, "ambient-c"),
    ],
)
def test_numbers_out_of_range_name_the_field_and_its_range(options: dict[str, float], field: str) -> None:
    figures, problems = conductor(size=parse_size("1 mm2"), **options)  # type: ignore[arg-type]
    assert figures == {}
    assert [problem.code for problem in problems] == ["out-of-range"]
    assert problems[0].message.startswith(f"{field} is ") and "it must be from" in problems[0].message


@pytest.mark.parametrize("size", ["0.6 mm2", "120 mm2", "30 AWG", "1600 cmil"])
def test_an_unknown_size_is_a_problem_and_never_a_guess(size: str) -> None:
    figures, problems = conductor(size=parse_size(size))
    assert figures == {} and [problem.code for problem in problems] == ["unknown-size"]


@given(st.sampled_from(sorted(shipped_tables().resistances)), st.floats(-40, 104), st.floats(-40, 104))
def test_a_hotter_place_never_raises_the_limit(key: str, one: float, other: float) -> None:
    size = shipped_tables().resistances[key].size
    cool, hot = sorted((one, other))
    low, _ = conductor(size=size, ambient_c=hot)
    high, _ = conductor(size=size, ambient_c=cool)
    assert low["limit_a"].value <= high["limit_a"].value  # type: ignore[operator]


@given(st.integers(1, 24), st.integers(1, 24))
def test_more_loaded_conductors_never_raise_the_limit(one: int, other: int) -> None:
    few, many = sorted((one, other))
    size = parse_size("2.5 mm2")
    low, _ = conductor(size=size, grouped=many)
    high, _ = conductor(size=size, grouped=few)
    assert low["limit_a"].value <= high["limit_a"].value  # type: ignore[operator]
