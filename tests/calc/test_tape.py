"""Tape around a bundle: area against the length of the helix."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.tape import tape


@pytest.mark.parametrize(("overlap", "length"), [(0.0, 496.0), (0.5, 992.1)])
def test_worked_examples(overlap: float, length: float) -> None:
    # Worked from the butt-wrap solution in a public mathematics forum: 10 mm, 300 mm, 19 mm tape.
    figures, problems = tape(bundle_mm=10, length_mm=300, width_mm=19, overlap=overlap)
    assert not problems
    assert figures["tape_mm"].value == pytest.approx(length, abs=0.05)


@given(st.floats(2, 100), st.floats(1, 5000), st.floats(5, 50), st.floats(0, 0.9))
def test_turns_and_tape_agree_with_the_helix(bundle: float, length: float, width: float, overlap: float) -> None:
    figures, problems = tape(bundle_mm=bundle, length_mm=length, width_mm=width, overlap=overlap)
    if width * (1 - overlap) >= math.pi * bundle:
        assert [problem.code for problem in problems] == ["bad-wrap"]
        return
    turns, used = figures["turns"].value, figures["tape_mm"].value
    assert isinstance(turns, float) and isinstance(used, float)
    assert used == pytest.approx(math.hypot(turns * math.pi * bundle, length))
    # one turn advances by the uncovered width measured along the bundle: w (1 − o) / cos A, sin A = w (1 − o) / π D
    angle = math.asin(width * (1 - overlap) / (math.pi * bundle))
    assume_turns = length / (math.pi * bundle * math.tan(angle))
    assert turns == pytest.approx(assume_turns, rel=1e-6)


@pytest.mark.parametrize(
    ("options", "code"),
    [
        ({"bundle_mm": 0}, "out-of-range"),
        ({"length_mm": -1}, "out-of-range"),
        ({"width_mm": math.nan}, "out-of-range"),
        ({"overlap": 1}, "out-of-range"),
        ({"overlap": -0.1}, "out-of-range"),
        ({"bundle_mm": 3, "overlap": 0.5}, "bad-wrap"),
    ],
)
def test_problems(options: dict[str, float], code: str) -> None:
    figures, problems = tape(**{"bundle_mm": 10, "length_mm": 300, "width_mm": 19, **options})
    assert figures == {} and [problem.code for problem in problems] == [code]
