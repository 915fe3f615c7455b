"""What apprentices get wrong: each mistake has a section of its own and at least one question that sends the reader there."""

from __future__ import annotations

import re

import pytest

from loomleaf.handbook.practice import asked_of, with_questions

from .conftest import Site

MISTAKES = (
    "trusting-the-colour",
    "trusting-a-reading-without-a-load",
    "no-as-found-test",
    "measuring-a-tweeter-through-its-capacitor",
    "constant-for-switched",
    "borrowing-ignition",
    "loudspeaker-minus-to-ground",
    "parking-brake-to-ground",
    "illumination-mixed-up-with-the-dimmer-return",
    "aerial-turn-on-used-for-the-amplifier",
    "one-pair-the-wrong-way-round",
    "the-sleeve-forgotten",
    "the-wrong-die",
    "crimping-tinned-strands",
    "a-bigger-fuse-as-the-cure",
    "reading-a-plug-face-backwards",
    "plugging-in-before-the-isolation-checks",
    "ignition-on-with-an-airbag-unplugged",
    "testing-the-drain-before-sleep",
    "the-trapped-loom",
)
"""Anchors of the sections, as they stand in addresses: common practice, gathered from what comes back to workshops."""


@pytest.fixture(scope="module")
def sections(site: Site) -> dict[str, str]:
    page = site.pages["chapters/mistakes.html"]
    found = re.findall(r'<h3 id="([^"]+)">.*?</h3>(.*?)(?=<h[23] |</div>\n)', page, re.DOTALL)
    return dict(found)


def test_the_chapter_has_these_mistakes_and_no_others(sections: dict[str, str]) -> None:
    assert list(sections) == list(MISTAKES)


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_says_how_it_looks_what_it_costs_and_which_habit_prevents_it(
    mistake: str, sections: dict[str, str]
) -> None:
    for part in ("Looks like:", "Costs:", "Habit:"):
        assert f"<strong>{part}</strong>" in sections[mistake], part


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_asked_about_and_both_know_of_each_other(
    mistake: str, sections: dict[str, str], site: Site
) -> None:
    numbers = re.findall(r'href="\.\./chapters/practice\.html#question-(\d+)">question \1</a>', sections[mistake])
    assert numbers, f"no question sends the reader to {mistake}"
    practice = site.pages["chapters/practice.html"]
    for number in numbers:
        start = practice.index(f'id="question-{number}"')
        block = practice[start : practice.index("</details>", start)]
        assert f'href="../chapters/mistakes.html#{mistake}"' in block


def test_a_section_without_a_question_gets_no_line() -> None:
    body = '<h2 id="a">A</h2><p>x</p><h3 id="b">B</h3><p>y</p>'
    made = with_questions(body, "one", {("one", "b"): (2, 5), ("two", "a"): (3,)}, "p.html")
    assert made.count("asked-in") == 1 and made.index("asked-in") > made.index('id="b"')
    assert 'question-2">question 2</a>, <a href="p.html#question-5"' in made
    assert asked_of(()) == {}
