"""Puzzles by meter: one answer each, by the same windows that judge a reading taken on a vehicle."""

import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from io import BytesIO
from itertools import permutations
from typing import Any

import pytest
from pypdf import PdfReader

from loomleaf.handbook.by_meter import FEWEST, Way, a_value, explains, shown_at, ways_by_meter
from loomleaf.handbook.practice import _asked_by_meter
from loomleaf.model.reference import ExpectedReading
from loomleaf.plan.proofs import within
from loomleaf.sheets.pdf import render
from loomleaf.units import Reading

from .conftest import Site
from .test_practice import PAGE, questions


@pytest.fixture(scope="module")
def puzzles(site: Site) -> dict[str, tuple[Way, ...]]:
    return {plan.job.job: ways_by_meter(plan.circuits) for plan in site.plans}


def test_every_job_of_the_demo_has_one(puzzles: dict[str, tuple[Way, ...]]) -> None:
    assert {job: len(ways) for job, ways in puzzles.items()} == {
        "2031": 4,
        "2038": 4,
        "2041": 7,
        "2044": 3,
        "2047": 3,
        "2049": 4,
        "2052": 6,
    }


def test_only_one_way_of_giving_the_functions_to_the_ways_explains_all_readings(
    puzzles: dict[str, tuple[Way, ...]],
) -> None:
    for job, ways in puzzles.items():
        fitting = [
            order
            for order in permutations(ways)
            if all(explains(given.tail, s) for given, way in zip(order, ways, strict=True) for s in way.shown)
        ]
        assert fitting == [tuple(ways)], job


def test_what_is_shown_lies_in_its_window(puzzles: dict[str, tuple[Way, ...]]) -> None:
    shown = [s for ways in puzzles.values() for way in ways for s in way.shown]
    assert len(shown) > 40
    for one in shown:
        e = one.expected
        assert within(Reading(written="", value=one.value, unit=""), e.low, e.high, open_wanted=e.open), one.text


@pytest.mark.parametrize(
    "window, value",
    [
        ({"low": 11.8, "high": 13.2}, 12.5),
        ({"low": 0, "high": 0.5}, 0.1),
        ({"high": 0.1}, 0.02),
        ({"low": 17}, 25.5),
        ({"open": True}, None),
    ],
)
def test_a_value_inside_a_window(window: dict[str, float | bool], value: float | None) -> None:
    expected = ExpectedReading.model_validate({"condition": "asleep", "quantity": "V", **window})
    assert a_value(expected) == value


def test_ways_that_readings_cannot_tell_apart_are_not_asked(site: Site) -> None:
    """Two loudspeakers of the same kind show the same: a meter cannot say which corner it is."""
    plan = next(p for p in site.plans if p.job.job == "2038")
    speakers = [t for c in plan.circuits if c.group == "speaker" for t in c.tails if t.lead.side == "vehicle"]
    first, other, *_ = (t for t in speakers if t.tail.pole == "plus" and t.readings)
    assert all(explains(other, s) for s in shown_at(first))
    assert not ways_by_meter([c for c in plan.circuits if c.group == "speaker"])


def test_fewer_ways_than_that_are_no_puzzle(site: Site) -> None:
    plan = next(p for p in site.plans if p.job.job == "2038")
    power = [c for c in plan.circuits if c.made and c.group in ("supply", "ground", "control")]
    assert len(ways_by_meter(power)) >= FEWEST
    assert ways_by_meter(power[: FEWEST - 1]) == ()


def test_the_question_hides_what_it_asks_and_the_answer_tells(site: Site, puzzles: dict[str, tuple[Way, ...]]) -> None:
    asked = [(q, a) for _, q, a in questions(site.pages[PAGE]) if "The colours of this plug are hidden" in q]
    assert len(asked) >= 5
    ways = puzzles["2052"]
    question, answer = next((unescape(q), unescape(a)) for q, a in asked if ways[0].tail.lead.title in q)
    for way in ways:
        assert f" {way.tail.way} {way.shown[0].text}" in question
        assert not re.search(rf"\b{way.tail.colour_text}\b", question)
        assert f"{way.tail.way}: {way.tail.title}. Meets " in answer


def test_in_print_each_way_is_one_item_of_its_list(puzzles: dict[str, tuple[Way, ...]]) -> None:
    """ISO 14289-1: an item of a list holds its label and its body, and nothing beside them."""
    page = f'<html lang="en"><head><title>Puzzle</title></head><body>{_asked_by_meter(puzzles["2052"])}</body></html>'
    data, problems = render(page, styles=("edition.css", "edition-a4.css"), job="", issued=date(2026, 1, 1), spaced=False)
    assert not problems
    items = [e for e in elements(PdfReader(BytesIO(data)).root_object["/StructTreeRoot"]) if e.get("/S") == "/LI"]
    assert len(items) == len(puzzles["2052"])
    for item in items:
        assert [kid["/S"] for kid in kids(item)] in (["/LBody"], ["/Lbl", "/LBody"])


def kids(element: Any) -> list[Any]:
    found = element.get("/K", [])
    found = found if isinstance(found, list) else [found]
    return [kid for kid in (one.get_object() for one in found) if isinstance(kid, dict) and "/S" in kid]


def elements(element: Any) -> Iterator[Any]:
    yield element
    for kid in kids(element.get_object()):
        yield from elements(kid)
