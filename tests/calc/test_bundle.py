"""Bundles: circle packings and the rule for mixed wires."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.bundle import bundle, packing_ratio
from loomleaf.calc.tables import shipped_tables

# Densest known packings, as three public lists print them; closed forms where the lists give one.
LISTED = [
    (1, 1), (2, 2), (3, 1 + 2 / math.sqrt(3)), (4, 1 + math.sqrt(2)), (5, 2.7013), (6, 3), (7, 3), (8, 3.3048),
    (9, 3.6131), (10, 3.813), (11, 3.9238), (12, 4.0296), (13, 2 + math.sqrt(5)), (14, 4.328), (15, 4.5214),
    (16, 4.615), (17, 4.792), (18, 1 + math.sqrt(2) + math.sqrt(6)), (19, 1 + math.sqrt(2) + math.sqrt(6)),
]  # fmt: skip


@pytest.mark.parametrize(("count", "ratio"), LISTED)
def test_equal_wires(count: int, ratio: float) -> None:
    figures, problems = bundle(outsides_mm=[1.9] * count)
    assert not problems
    assert figures["diameter_mm"].value == pytest.approx(1.9 * ratio, rel=2e-5)
    assert figures["fill"].value == pytest.approx(count / ratio**2, rel=4e-5)


def test_one_wire_is_its_own_bundle() -> None:
    figures, problems = bundle(outsides_mm=[1.9])
    assert not problems and figures["diameter_mm"].value == 1.9
    assert figures["diameter_mm"].working == "one wire, its own outside of 1.9 mm"


def test_closed_forms_print_as_the_list_does() -> None:
    for row in shipped_tables().packing:
        assert packing_ratio(row) == pytest.approx(row.ratio, abs=5.1e-5)


def test_packings_obey_geometry() -> None:
    # Area alone: fill below 1. More wires never need less room. Seven: one in the middle, six around it, touching.
    ratios = [packing_ratio(row) for row in shipped_tables().packing]
    assert ratios == sorted(ratios)
    assert all(count / ratio**2 <= 1 for count, ratio in enumerate(ratios, 1))
    around = [(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]
    assert math.dist(around[0], around[1]) == pytest.approx(1)
    assert ratios[6] == 1 + 2 * math.hypot(*around[0])


def test_mixed_wires_take_the_largest_of_three_rules() -> None:
    # Common rule, no standard: 1.2 √(Σ d²). 12 of 1.9 mm and 8 of 1.95 mm: 1.2 × √(43.32 + 30.42) = 10.30 mm.
    figures, _ = bundle(outsides_mm=[1.9] * 12 + [1.95] * 8)
    assert figures["diameter_mm"].value == pytest.approx(1.2 * math.sqrt(12 * 1.9**2 + 8 * 1.95**2))
    # Two thick and one thin: side by side wins over 1.2 √(32.25 + …).
    figures, _ = bundle(outsides_mm=[4, 4, 0.5])
    assert figures["diameter_mm"].value == 8
    # Nearly equal: the packing of the thinnest wins over the rule, which is under it for six wires.
    figures, _ = bundle(outsides_mm=[2.0] * 5 + [2.001])
    assert figures["diameter_mm"].value == pytest.approx(6.0)


def test_more_than_nineteen_equal_wires_use_the_general_rule() -> None:
    figures, _ = bundle(outsides_mm=[2.0] * 30)
    assert figures["diameter_mm"].value == pytest.approx(1.2 * 2 * math.sqrt(30))


@pytest.mark.parametrize("wires", [[], [0.0], [-1.0], [math.nan], [2.0, 61.0], [1.0] * 1001])
def test_numbers_out_of_range(wires: list[float]) -> None:
    figures, problems = bundle(outsides_mm=wires)
    assert figures == {} and [problem.code for problem in problems] == ["out-of-range"]


@given(st.lists(st.floats(0.5, 10), min_size=1, max_size=40))
def test_a_bundle_is_never_thinner_than_its_copper_and_order_does_not_matter(wires: list[float]) -> None:
    figures, _ = bundle(outsides_mm=wires)
    again, _ = bundle(outsides_mm=sorted(wires))
    diameter = figures["diameter_mm"].value
    assert isinstance(diameter, float)
    assert diameter == pytest.approx(again["diameter_mm"].value)
    assert diameter >= math.sqrt(sum(d * d for d in wires)) * (1 - 1e-9)
    assert diameter >= sum(sorted(wires)[-2:]) * (1 - 1e-9)
    assert 0 < figures["fill"].value <= 1 + 1e-9  # type: ignore[operator]
