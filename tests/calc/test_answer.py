"""The range check, and that the list of problem codes is the whole truth."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

import loomleaf.calc
import loomleaf.reckon
from loomleaf.calc.answer import CODES, in_range, known_by
from loomleaf.figure import Standing
from loomleaf.problems import Collector

PACKAGE = Path(loomleaf.calc.__file__).parent
TEXTS = [path.read_text(encoding="utf-8") for path in [*PACKAGE.glob("*.py"), Path(loomleaf.reckon.__file__)]]


def test_every_code_that_is_raised_is_listed_and_every_listed_one_is_raised() -> None:
    raised = {
        code for text in TEXTS for code in re.findall(r'(?:\.(?:error|warning|hold)\(\s*|code=)"([a-z-]+)"', text)
    }
    assert raised == set(CODES)
    assert all(meaning and meaning[0].islower() for meaning in CODES.values())


@pytest.mark.parametrize("value", [0.0, 5.0, 10.0])
def test_both_ends_are_inside(value: float) -> None:
    assert in_range(Collector(), "x", value, 0, 10, "A")


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (-0.5, "x is −0.5 A; it must be from 0.001 to 10 A"),
        (11, "x is 11 A; it must be from 0.001 to 10 A"),
        (math.nan, "x is not a number; it must be from 0.001 to 10 A"),
        (math.inf, "x is infinity A; it must be from 0.001 to 10 A"),
        (-math.inf, "x is −infinity A; it must be from 0.001 to 10 A"),
        (1e-7, "x is 0.0000001 A; it must be from 0.001 to 10 A"),
        (1e300, "x is 1e+300 A; it must be from 0.001 to 10 A"),
    ],
)
def test_outside_names_the_field_and_its_range(value: float, said: str) -> None:
    found = Collector()
    assert not in_range(found, "x", value, 0.001, 10, "A")
    assert [problem.message for problem in found.problems] == [said]


def test_one_of_a_thing_is_said_in_the_singular() -> None:
    found = Collector()
    in_range(found, "tails", 1, 2, 24, "conductors")
    in_range(found, "tails", 0, 2, 24, "conductors")
    assert [p.message.partition(";")[0] for p in found.problems] == ["tails is 1 conductor", "tails is 0 conductors"]


def test_a_basis_is_no_better_than_its_weakest_part() -> None:
    both = known_by("a") + known_by("b", "a", standing=Standing.MEMORY)
    assert (both.sources, both.known) == (("a", "b"), Standing.MEMORY)
