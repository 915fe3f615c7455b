"""Sleeves: the maker's window at both ends, the choice, the cut length."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.sleeve import choose_sleeve, cut_length_mm, sleeve, window_mm
from loomleaf.calc.tables import shipped_tables

# AMS-DTL-23053/5 sizes as a maker's control drawing prints them: inches expanded and recovered.
INCHES = {
    "3/64": (0.046, 0.023), "1/16": (0.063, 0.031), "3/32": (0.093, 0.046), "1/8": (0.125, 0.062),
    "3/16": (0.187, 0.093), "1/4": (0.250, 0.125), "3/8": (0.375, 0.187), "1/2": (0.500, 0.250),
    "3/4": (0.750, 0.375), "1": (1.000, 0.500), "1-1/2": (1.500, 0.750), "2": (2.000, 1.000),
}  # fmt: skip


@pytest.mark.parametrize(("size", "inches"), INCHES.items())
def test_thin_wall_sizes(size: str, inches: tuple[float, float]) -> None:
    item = next(one for one in shipped_tables().sleeves if one.name == f"2:1 thin wall {size} in")
    assert item.expanded_mm == pytest.approx(inches[0] * 25.4, abs=0.006)
    assert item.recovered_mm == pytest.approx(inches[1] * 25.4, abs=0.011)


def test_window_of_the_selection_rule() -> None:
    # A sleeve maker's worked example: the 1 in size, recovering to 0.50 in, suits 0.55 to 0.80 in (14.0 to 20.3 mm).
    least, most = window_mm(25.4, 12.7)
    assert [least / 25.4, most / 25.4] == pytest.approx([0.55, 0.80])
    assert (round(least, 1), round(most, 1)) == (14.0, 20.3)


@pytest.mark.parametrize(
    ("over", "grip", "fits"), [(20.32, 13.97, True), (20.4, 15, False), (18, 13.9, False), (14, 14, True)]
)
def test_both_ends_of_the_window_count(over: float, grip: float, fits: bool) -> None:
    inch = [item for item in shipped_tables().sleeves if item.name == "2:1 thin wall 1 in"]
    assert (choose_sleeve(inch, over, grip) is not None) is fits


def test_recovered_comes_from_the_table_not_from_the_ratio() -> None:
    # Data sheet of a 4:1 sleeve: the .300 size recovers to 0.060 in, five to one.
    figures, problems = sleeve(over_mm=5, grip_mm=1.8, bare_mm=10, lined=True)
    assert not problems
    assert figures["item"].value == "4:1 adhesive lined .300"
    assert (figures["expanded_mm"].value, figures["recovered_mm"].value) == (7.62, 1.52)


def test_cut_length_allows_for_the_shrink_lengthwise() -> None:
    # 40 mm of cover with 10 % shrink: 44.4 mm.
    assert cut_length_mm(24, 8, 0.10) == pytest.approx(40 / 0.9)
    figures, _ = sleeve(over_mm=5, grip_mm=1.8, bare_mm=24, lined=True)
    assert figures["cut_mm"].value == pytest.approx(40 / 0.9)


@pytest.mark.parametrize(
    ("options", "said", "hint"),
    [
        (
            {"over_mm": 4, "grip_mm": 2},
            "those that pass over 4 mm do not grip 2 mm",
            "4:1 adhesive lined .300 would do",
        ),
        ({"over_mm": 55, "grip_mm": 40}, "none passes over 55 mm", "smaller joint"),
        ({"over_mm": 1, "grip_mm": 0.5}, "none grips", "short sleeve first"),
        ({"over_mm": 30, "grip_mm": 25, "lined": True}, "none passes over 30 mm", "2:1 thin wall 1-1/2 in would do"),
    ],
)
def test_none_fits_says_which_end_and_what_would_do(options: dict[str, float], said: str, hint: str) -> None:
    items = shipped_tables().sleeves
    if "none grips" in said:
        items = tuple(item for item in items if item.recovered_mm > 2)
    figures, problems = sleeve(bare_mm=10, items=items, **options)  # type: ignore[arg-type]
    assert figures == {} and [problem.code for problem in problems] == ["no-sleeve"]
    assert said in problems[0].message
    assert hint in problems[0].hint or "not in stock" in problems[0].hint


def test_only_what_the_shop_stocks_is_chosen() -> None:
    stock = [item for item in shipped_tables().sleeves if "3/8" in item.name]
    figures, _ = sleeve(over_mm=6, grip_mm=5.5, bare_mm=10, items=stock)
    assert figures["item"].value == "2:1 thin wall 3/8 in"


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"over_mm": 0}, "over-mm"),
        ({"over_mm": math.nan}, "over-mm"),
        ({"grip_mm": 9}, "grip-mm"),  # thinner than what it passes over, by nature
        ({"bare_mm": -1}, "bare-mm"),
        ({"overlap_mm": 1000}, "overlap-mm"),
    ],
)
def test_numbers_out_of_range(options: dict[str, float], field: str) -> None:
    figures, problems = sleeve(**{"over_mm": 4, "grip_mm": 3, "bare_mm": 10, **options})  # type: ignore[arg-type]
    assert figures == {} and [problem.message.split(" is ")[0] for problem in problems] == [field]


@given(st.floats(0.5, 45), st.floats(0.1, 1), st.booleans(), st.floats(0, 100), st.floats(0, 30))
def test_a_chosen_sleeve_always_passes_and_grips(
    over: float, part: float, lined: bool, bare: float, lap: float
) -> None:
    grip = max(0.2, over * part)
    figures, problems = sleeve(over_mm=over, grip_mm=grip, bare_mm=bare, overlap_mm=lap, lined=lined)
    assert bool(figures) != bool(problems)
    kinds = [item for item in shipped_tables().sleeves if item.kind.lined == lined]
    fit = [item for item in kinds if over <= 0.8 * item.expanded_mm and grip >= 1.1 * item.recovered_mm]
    if figures:
        chosen = next(item for item in kinds if item.name == figures["item"].value)
        assert over <= 0.8 * chosen.expanded_mm * (1 + 1e-8) and grip >= 1.1 * chosen.recovered_mm * (1 - 1e-8)
        assert all(chosen.expanded_mm <= item.expanded_mm for item in fit)
        cut = figures["cut_mm"].value
        assert isinstance(cut, float)
        assert cut * (1 - chosen.kind.length_shrink) >= bare + 2 * lap - 1e-9
    else:
        assert not fit
