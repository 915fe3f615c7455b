"""Practice questions: enough of them, of each level, each with an answer; computed ones agree with hand-worked values."""

from __future__ import annotations

import re

import pytest

from loomleaf.handbook.practice import LEVELS
from loomleaf.handbook.site import build_site
from loomleaf.model.shop import Shop
from loomleaf.pipeline import Loaded
from loomleaf.source.tree import Chapter

from .conftest import Site

PAGE = "chapters/practice.html"


def questions(page: str) -> list[tuple[str, str, str]]:
    """Level, question and answer, as words."""
    found = []
    for block in page.split('<div class="question"')[1:]:
        level = re.search(r'<span class="kind">(\w+)</span>', block)
        asked = re.search(r"<div>(.*?)</div></div>", block, re.DOTALL)
        answer = re.search(r"<summary>.*?</summary>\s*<div>(.*?)</div>\s*</details>", block, re.DOTALL)
        assert level and asked and answer
        found.append((level[1], _words(asked[1]), _words(answer[1])))
    return found


def _words(fragment: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", fragment).split())


def test_there_are_enough_and_every_one_has_an_answer(site: Site) -> None:
    found = questions(site.pages[PAGE])
    assert len(found) >= 60
    assert all(answer for _, _, answer in found)
    assert len({asked for _, asked, _ in found}) == len(found)
    for level in LEVELS:
        assert sum(1 for known, _, _ in found if known == level) >= 10, level


def test_there_are_three_kinds_and_the_page_counts_them(site: Site) -> None:
    page = site.pages[PAGE]
    blocks = page.split('<div class="question"')[1:]
    sets = page.split("<section>")[1:]
    pairing = sets[-1].count('<div class="question"')
    worked = sum(1 for b in blocks[: len(blocks) - pairing] if '<span class="figure">' in b)
    written = len(blocks) - pairing - worked
    said = re.search(r"<p>(\d+) written questions, (\d+) with figures .*?, (\d+) pairing puzzles", page)
    assert said is not None
    assert [int(n) for n in said.groups()] == [written, worked, pairing]
    assert min(written, worked, pairing) >= 10
    assert written + worked >= 60  # enough without any job of the shop


@pytest.mark.parametrize(
    ("asked", "answer"),
    [
        # 3 m × 26.0 mΩ/m (IEC 60228 class 5, 0.75 mm²) × 10 A, and with the return twice that.
        ("return through the body. How many volts", "0.78 V"),
        ("same wire as a return", "1.56 V"),
        # 4 m there and back × 13.3 mΩ/m (IEC 60228 class 5, 1.5 mm²) × 12 A = 1.277 V
        ("1.5 mm², 4 m there and 4 m back", "1.28 V"),
        # Parallel and series by R1 R2 / (R1 + R2): 4 || 4 = 2; (4 + 4) || 8 = 4.
        ("Two loudspeakers of 4 Ω in parallel", "2 Ω"),
        ("Two of 4 Ω in series, with 8 Ω", "4 Ω"),
        # √(75 × 4) = 17.32
        ("75 W into 4 Ω", "17.3 V"),
        # 5 V × 820 / 1820 = 2.2527
        ("A button of 820 Ω", "2.25 V"),
        # TE 82561's worked example: 1600 + 2426 = 4026 circular mils, a 14 AWG equivalent.
        ("share a barrel", "4026 cmil"),
        ("share a barrel", "14 AWG"),
        # 3 × 0.75 mm²
        ("Three tails of 0.75 mm²", "2.25 mm²"),
    ],
)
def test_computed_answers(asked: str, answer: str, site: Site) -> None:
    found = [a for _, q, a in questions(site.pages[PAGE]) if asked in q]
    assert len(found) == 1, asked
    assert answer in found[0]


def test_puzzles_agree_with_the_plans(site: Site) -> None:
    found = questions(site.pages[PAGE])
    plan = next(p for p in site.plans if p.job.job == "2038")
    circuit = next(c for c in plan.circuits if c.function_id == "supply-constant")
    said = " meets ".join(f"{t.lead.side} {t.way} ({t.colour_text})" for t in circuit.tails)
    assert any(f"Constant supply: {said}" in answer for _, _, answer in found)


def test_the_first_puzzle_of_a_job_shows_its_plugs(site: Site) -> None:
    page = site.pages[PAGE]
    puzzles = page.split("<section>")[-1].split('<div class="question"')[1:]
    drawn = [b for b in puzzles if 'class="drawing' in b]
    assert len(drawn) >= 5
    known = site.reference.connectors
    plan = next(p for p in site.plans if p.job.job == "2038")
    first = next(b for b in puzzles if all(lead.title in b for lead in plan.leads))
    for lead in plan.leads:
        for plug in lead.plugs:
            if known[plug.type].rows:
                assert f"{lead.title}: plug {plug.name}." in first
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_worksheets_hide_the_answers_and_answer_sheets_have_them(site: Site) -> None:
    blank, answers = site.pages["practice/worksheets.html"], site.pages["practice/answers.html"]
    count = len(questions(site.pages[PAGE]))
    assert blank.count('class="room"') == count
    assert answers.count('class="answer"') == count
    assert "0.78 V" not in blank and "0.78 V" in answers


@pytest.mark.parametrize(
    ("body", "line"),
    [
        ("## Set\n\n### guess: What?\n\nThat.", 7),
        ("## Set\n\n### recall: What?\n", 7),
        ("### recall: What?\n\nThat.", 5),
        ("## Set\n\n### What?\n\nThat.", 7),
    ],
)
def test_a_bad_question_is_told_where_it_stands(body: str, line: int, loaded: Loaded) -> None:
    text = f"---\ntitle: Q\nkind: practice\n---\n{body}"
    _, problems = build_site(
        loaded.library.reference, Shop(name="Trial"), [Chapter(file="handbook/01-practice.md", text=text)]
    )
    told = [p for p in problems if p.code == "bad-question"]
    assert [(p.location.file, p.location.line) for p in told] == [("handbook/01-practice.md", line)]
