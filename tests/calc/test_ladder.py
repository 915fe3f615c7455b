"""Wheel buttons on a ladder."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.ladder import divider_volts, ladder


def test_divider_by_hand() -> None:
    # 5 V behind 1 kΩ: 1 kΩ reads half; 330 Ω reads 5 × 330 / 1330.
    assert divider_volts(1000, 1000, 5) == 2.5
    figures, problems = ladder(buttons={"up": 330, "down": 820, "mute": 1500}, pull_up_ohm=1000, supply_v=5)
    assert not problems
    assert figures["button.up.volts"].value == pytest.approx(5 * 330 / 1330)
    assert figures["button.up.low"].value == pytest.approx(5 * 313.5 / 1313.5)
    assert figures["button.up.high"].value == pytest.approx(5 * 346.5 / 1346.5)
    assert (figures["button.mute.meter_low_ohm"].value, figures["button.mute.meter_high_ohm"].value) == (1425, 1575)
    # The narrowest: down's top against mute's bottom.
    assert figures["smallest_gap_v"].value == pytest.approx(5 * 1425 / 2425 - 5 * 861 / 1861)
    assert figures["clash"].value is None


def test_a_button_straight_to_ground() -> None:
    figures, problems = ladder(buttons={"mute": 0, "up": 220}, pull_up_ohm=1000, supply_v=3.3, contact_ohm=20)
    assert not problems
    assert (figures["button.mute.volts"].value, figures["button.mute.low"].value) == (0, 0)
    assert figures["button.mute.meter_high_ohm"].value == 20


def test_overlapping_windows_are_a_problem_for_every_pair() -> None:
    figures, problems = ladder(buttons={"a": 330, "b": 340, "c": 350}, pull_up_ohm=1000, supply_v=5)
    assert figures["clash"].value == "a, b" or figures["clash"].value == "b, c"
    assert figures["smallest_gap_v"].value < 0  # type: ignore[operator]
    assert [problem.code for problem in problems] == ["ladder-clash"] * 3


def test_one_button_has_no_gap() -> None:
    figures, problems = ladder(buttons={"up": 330}, pull_up_ohm=1000, supply_v=5)
    assert not problems and figures["smallest_gap_v"].value is None and figures["clash"].value is None


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"buttons": {}}, "buttons"),
        ({"buttons": {"up": -1}}, "button up"),
        ({"buttons": {"up": math.nan}}, "button up"),
        ({"pull_up_ohm": 0}, "pull-up-ohm"),
        ({"supply_v": 0}, "supply-v"),
        ({"tolerance_percent": 60}, "tolerance-percent"),
        ({"contact_ohm": -1}, "contact-ohm"),
    ],
)
def test_numbers_out_of_range(options: dict[str, object], field: str) -> None:
    figures, problems = ladder(**{"buttons": {"up": 330}, "pull_up_ohm": 1000, "supply_v": 5, **options})  # type: ignore[arg-type]
    assert figures == {} and [problem.message.split(" is ")[0] for problem in problems] == [field]


@given(
    st.dictionaries(st.sampled_from("abcdef"), st.floats(0, 10_000), min_size=2),
    st.floats(100, 10_000),
    st.floats(0, 20),
    st.floats(0, 20),
    st.floats(0, 20),
)
def test_every_corner_lies_in_its_window(
    buttons: dict[str, float], pull: float, tolerance: float, pull_tolerance: float, contact: float
) -> None:
    figures, problems = ladder(
        buttons=buttons, pull_up_ohm=pull, supply_v=5, tolerance_percent=tolerance,
        pull_up_tolerance_percent=pull_tolerance, contact_ohm=contact,
    )  # fmt: skip
    got = {name: figure.value for name, figure in figures.items()}
    for name, ohm in buttons.items():
        for a, b, c in itertools.product((-1, 0, 1), (-1, 0, 1), (0, 0.5, 1)):
            held, up = ohm * (1 + a * tolerance / 100) + c * contact, pull * (1 + b * pull_tolerance / 100)
            read = 5 * held / (held + up)
            assert got[f"button.{name}.low"] - 1e-9 <= read <= got[f"button.{name}.high"] + 1e-9  # type: ignore[operator]
    assert (got["clash"] is None) == (got["smallest_gap_v"] > 0) == (not problems)  # type: ignore[operator]
