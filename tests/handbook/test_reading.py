"""How hard the chapters are to read: measured on their running text, by the grade formula and by the length of sentences.

Limits: grade 8 or lower and sentences of 15 words on average are public plain-language guidance; a chapter is prose for a
first-year apprentice, so that is held for each one.
"""

from __future__ import annotations

import html
import re

import pyphen  # type: ignore[import-untyped]
import pytest

from .conftest import Site

HYPHENS = pyphen.Pyphen(lang="en_US")
LONGEST = 30  # words in one sentence
APART = re.compile(
    r"<(figure|table|svg|nav|header)\b.*?</\1>|<section class=\"sources\".*?</section>|<span class=\"note.*?</span>|"
    r'<div class="hazard.*?</div></div>|<p class="(?:asked-in|of)">.*?</p>',
    re.DOTALL,
)


def sentences(page: str) -> list[str]:
    """The sentences of a page's running text: paragraphs, list items, answers, quotations."""
    text = APART.sub(" ", page[page.index("<article") : page.rindex("</article>")])
    found = []
    for _, block in re.findall(r"<(p|li|dd|blockquote)\b[^>]*>(.*?)</\1>", text, re.DOTALL):
        plain = " ".join(html.unescape(re.sub(r"<[^>]+>", "", block.replace("</p>", " "))).split())
        found += [s for s in re.split(r"(?<=[.?!:;])[\"”]?\s+", plain) if len(re.findall(r"[A-Za-z]{2,}", s)) >= 3]
    return found


def words(sentence: str) -> list[str]:
    return re.findall(r"[A-Za-z']+", sentence)


def syllables(word: str) -> int:
    """The larger of two counts: hyphenation points of a dictionary, and groups of vowels without a silent e."""
    bare = re.sub(r"[^a-z]", "", word.lower())
    spoken = bare[:-1] if bare.endswith("e") and not bare.endswith("le") else bare
    return max(1, len(HYPHENS.positions(bare)) + 1, len(re.findall(r"[aeiouy]+", spoken)))


def grade(said: list[str]) -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid and others 1975)."""
    all_words = [w for s in said for w in words(s)]
    return 0.39 * len(all_words) / len(said) + 11.8 * sum(map(syllables, all_words)) / len(all_words) - 15.59


def chapter_pages(site: Site) -> dict[str, list[str]]:
    return {p: sentences(t) for p, t in sorted(site.pages.items()) if p.startswith("chapters/")}


def test_every_chapter_reads_with_ease(site: Site) -> None:
    hard = {}
    for path, said in chapter_pages(site).items():
        assert len(said) >= 15, path
        average = sum(len(words(s)) for s in said) / len(said)
        if grade(said) > 8 or average > 15:
            hard[path] = (round(grade(said), 1), round(average, 1))
    assert hard == {}


def test_no_sentence_runs_on(site: Site) -> None:
    long = [f"{path}: {s}" for path, said in chapter_pages(site).items() for s in said if len(words(s)) > LONGEST]
    assert long == []


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("The wire is red. The plug is in. The lamp is on.", -4, 2),
        (
            "Considerations regarding electromagnetic interference necessitate supplementary suppression components.",
            20,
            60,
        ),
    ],
)
def test_the_grade_tells_plain_from_heavy(text: str, low: float, high: float) -> None:
    assert low < grade([s for s in re.split(r"(?<=\.)\s+", text) if s]) < high
