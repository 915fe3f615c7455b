"""Marks in a chapter: found with their place, and each thing that is wrong told with file, line and column."""

from __future__ import annotations

import pytest

from loomleaf.handbook.site import build_site
from loomleaf.model.reference import Reference
from loomleaf.model.shop import Shop
from loomleaf.pipeline import Loaded
from loomleaf.problems import Problem
from loomleaf.source.tree import Chapter

FRONT = "---\ntitle: Trial\n---\n"


def build(body: str, reference: Reference, front: str = FRONT) -> tuple[str, list[Problem]]:
    """A site with one chapter: its page, and the problems that lie in its file."""
    files, problems = build_site(
        reference, Shop(name="Trial"), [Chapter(file="handbook/01-trial.md", text=front + body)]
    )
    page = files.get("chapters/trial.html", "")
    assert isinstance(page, str)
    return page, [p for p in problems if p.location.file == "handbook/01-trial.md"]


@pytest.fixture
def reference(loaded: Loaded) -> Reference:
    return loaded.library.reference


@pytest.mark.parametrize(
    ("body", "code", "place", "hint"),
    [
        ("one\n\ntwo {{functon:ground}}", "unknown-mark", "handbook/01-trial.md:6:5", "did you mean"),
        ("{{function:supply-constent}}", "unknown-mark", "handbook/01-trial.md:4:1", "did you mean 'supply-constant'?"),
        ("a {{caution:heat-guns}}", "unknown-mark", "handbook/01-trial.md:4:3", ""),
        ("{{term:no-such-word}}", "unknown-mark", "handbook/01-trial.md:4:1", ""),
        ("{{chapter:trail}}", "unknown-mark", "handbook/01-trial.md:4:1", "did you mean 'trial'?"),
        ("{{source:iso-10488}}", "unknown-mark", "handbook/01-trial.md:4:1", "did you mean 'iso-10487'?"),
        ("{{source:iso-10487 gossip}}", "unknown-mark", "handbook/01-trial.md:4:1", "one of"),
        ("{{drawing:face no-plug}}", "unknown-mark", "handbook/01-trial.md:4:1", ""),
        ("{{plot:no-plot}}", "unknown-mark", "handbook/01-trial.md:4:1", ""),
        ("text {{function supply}}", "broken-mark", "handbook/01-trial.md:4:6", "kind:name"),
        ("text {{function:ground", "broken-mark", "handbook/01-trial.md:4:6", "one line"),
        ("{{figure:dropp drop_v size=1}}", "bad-figure", "handbook/01-trial.md:4:1", "did you mean 'drop'?"),
        ('{{figure:drop volts size="0.75 mm2" length-m=3 current-a=1}}', "bad-figure", "handbook/01-trial.md:4:1", ""),
        ('{{figure:drop drop_v size="0.75 mm2" current-a=1}}', "bad-figure", "handbook/01-trial.md:4:1", ""),
        (
            '{{figure:drop drop_v size="0.75 mm2" length-m=-3 current-a=1}}',
            "bad-figure",
            "handbook/01-trial.md:4:1",
            "",
        ),
        ("## One\n\n#### Three", "heading-order", "handbook/01-trial.md:6:1", "###"),
        ("# Title again", "heading-order", "handbook/01-trial.md:4:1", ""),
        ("fine <b onclick='x'>bold</b>", "raw-html", "handbook/01-trial.md:4:6", "Markdown"),
        ("see \ue000 here", "control-character", "handbook/01-trial.md:4:5", ""),
    ],
)
def test_what_is_wrong_is_told_where_it_stands(
    body: str, code: str, place: str, hint: str, reference: Reference
) -> None:
    _, problems = build(body, reference)
    told = [p for p in problems if p.code == code]
    assert told, [p.line() for p in problems]
    assert str(told[0].location) == place
    assert hint in told[0].hint


def test_a_good_mark_becomes_a_link_with_the_entry_s_title(reference: Reference) -> None:
    page, problems = build("The {{function:supply-constant}} and {{function:ground|the way back}}.", reference)
    assert not problems
    assert '<a href="../functions/supply-constant.html">constant supply</a>' in page
    assert '<a href="../functions/ground.html">the way back</a>' in page


def test_a_figure_shows_its_value_its_working_and_its_sources(reference: Reference) -> None:
    # 26.0 Ω/km for 0.75 mm², IEC 60228 class 5 (published): 3 m × 10 A × 26.0 mΩ/m = 0.78 V.
    page, problems = build('{{figure:drop drop_v size="0.75 mm2" length-m=3 current-a=10}}', reference)
    assert not problems
    assert '<span class="figure">0.78 V</span>' in page
    assert "78 mΩ × 10 A ÷ 1000" in page
    assert "sources.html#source-iec-60228" in page


def test_a_bar_inside_quotation_marks_belongs_to_the_calculation(reference: Reference) -> None:
    # Two of 4 Ω in parallel make 2 Ω: R1 R2 / (R1 + R2).
    page, problems = build('{{figure:speakers impedance_ohm load="4 || 4"}}', reference)
    assert not problems
    assert '<span class="figure">2 Ω</span>' in page


def test_marks_in_code_are_left_as_they_are(reference: Reference) -> None:
    page, problems = build("Write `{{function:nothing}}` like this:\n\n```\n{{term:nothing}}\n```\n", reference)
    assert not problems
    assert "<code>{{function:nothing}}</code>" in page


@pytest.mark.parametrize(
    ("raw", "gone"),
    [
        ("<script>alert(1)</script>", "alert(1)"),
        ("<img src=x onerror=alert(1)>", "onerror"),
        ("<iframe src='page.html'></iframe>", "<iframe"),
        ("<style>body{display:none}</style>", "display:none"),
        ("<a href='javascript:alert(1)'>x</a>", "javascript:"),
        ("[x](javascript:alert(1))", "javascript:"),
        ("[x](data:text/html,hello)", "data:text"),
        ("<svg onload=alert(1)></svg>", "onload"),
        ("<p id='main'>twice</p>", "<p id="),
        ("<!-- out of sight -->", "out of sight"),
        ("<form action='x'><input name='y'></form>", "<form action"),
    ],
)
def test_raw_html_does_not_reach_the_page(raw: str, gone: str, reference: Reference) -> None:
    page, _ = build(f"Before.\n\n{raw}\n\nAfter.", reference)
    assert "Before." in page and "After." in page
    assert gone not in page


def test_text_of_a_mark_is_escaped(reference: Reference) -> None:
    page, _ = build("{{note:5 < 6 & <script>x</script>}} {{function:ground|<b>x</b>}}", reference)
    assert "<script>x" not in page
    assert "<b>x</b>" not in page
    assert "5 &lt; 6 &amp; " in page


def test_a_link_out_of_the_site_is_a_problem(reference: Reference) -> None:
    body = "[out](//example.org/) [gone](nowhere.html) [here](#nowhere)"
    _, problems = build_site(reference, Shop(name="Trial"), [Chapter(file="handbook/01-trial.md", text=FRONT + body)])
    on_page = sorted(p.code for p in problems if p.location.file == "chapters/trial.html")
    assert on_page == ["dead-link", "dead-link", "outside-link"]
    told = [p for p in problems if p.location.file == "handbook/01-trial.md"]
    assert [(p.code, p.location.line, p.location.column) for p in told] == [("outside-link", 4, 1)]


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        ("no front", "chapter-front", 1),
        ("---\ntitle: x\n", "chapter-front", 1),
        ("---\nsummary: x\n---\n", "missing-key", 2),
        ("---\ntitle: x\ntitel: y\n---\n", "unknown-key", 3),
        ("---\ntitle: x\nkind: poem\n---\n", "not-a-choice", 3),
        ("---\ntitle: x\ntitle: y\n---\n", "duplicate-key", 3),
        ("---\ntitle: x\nsources: [no-such]\n---\n", "unknown-source", 2),
    ],
)
def test_front_matter_is_checked(text: str, code: str, line: int, reference: Reference) -> None:
    _, problems = build("", reference, front=text)
    told = [p for p in problems if p.code == code]
    assert told, [p.line() for p in problems]
    assert told[0].location.line == line


def test_file_names_and_doubles(reference: Reference) -> None:
    files = [
        Chapter(file="handbook/Bad Name.md", text=FRONT),
        Chapter(file="handbook/01-one.md", text=FRONT),
        Chapter(file="handbook/02-one.md", text=FRONT),
    ]
    _, problems = build_site(reference, Shop(name="Trial"), files)
    assert {(p.code, p.location.file) for p in problems if p.location.file.startswith("handbook/")} == {
        ("chapter-name", "handbook/Bad Name.md"),
        ("chapter-twice", "handbook/02-one.md"),
    }


def test_a_shop_s_own_chapter_stands_in_for_the_shipped_one(reference: Reference) -> None:
    files = [
        Chapter(file="shipped/handbook/01-one.md", text="---\ntitle: Shipped\n---\nold words"),
        Chapter(file="handbook/01-one.md", text="---\ntitle: Our own\n---\nnew words"),
    ]
    made, _ = build_site(reference, Shop(name="Trial"), files)
    page = made["chapters/one.html"]
    assert isinstance(page, str)
    assert "new words" in page and "old words" not in page
