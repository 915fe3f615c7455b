"""The print edition: well-formed, every link lands, and a small one laid out and read back."""

from __future__ import annotations

import io
import re
from datetime import date
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from loomleaf.handbook.edition import build_edition, edition_html, spaces_inside
from loomleaf.handbook.site import EDITION, STANDING_CAUTIONS, build_site
from loomleaf.model.reference import Reference
from loomleaf.pipeline import Loaded
from loomleaf.sheets.pdf import render
from loomleaf.source.tree import Chapter
from tests.sheets.letters import letters, of_words

from .conftest import Site


def _chapter(name: str, front: str, body: str) -> Chapter:
    return Chapter(file=f"handbook/{name}.md", text=f"---\n{front}\n---\n{body}\n")


CHAPTERS = [
    _chapter(
        "01-first", "title: First steps\npart: Start", "## One\n\nSee {{chapter:second}} and {{function:ground}}."
    ),
    _chapter("02-second", "title: Second thoughts\npart: Start", "## Two\n\n{{index:thought}}A {{term:tail}}."),
    _chapter("03-words", "title: Glossary\nkind: glossary", "tail\n:   one free wire"),
]


@pytest.fixture(scope="module")
def small(loaded: Loaded) -> Reference:
    """A few entries of each kind, so that the layout takes seconds."""
    reference = loaded.library.reference
    keep = {
        "functions": ("ground", "supply-constant"),
        "connectors": ("iso-10487-a",),
        "methods": ("butt-connector",),
        "features": ("clock-display",),
        "refusals": tuple(reference.refusals)[:3],
        "problems": (),
        "faults": (),
    }
    return reference.model_copy(
        update={section: {n: getattr(reference, section)[n] for n in names} for section, names in keep.items()}
    )


@pytest.fixture(scope="module")
def edition(loaded: Loaded, small: Reference) -> bytes:
    data, problems = build_edition(small, loaded.shop, CHAPTERS)
    assert [p.line() for p in problems] == []
    return data


@pytest.fixture(scope="module")
def pages(edition: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(edition)).pages]


def test_the_whole_edition_is_well_formed_and_every_link_lands(site: Site) -> None:
    loaded = site.loaded
    html, _ = edition_html(
        loaded.library.reference, loaded.shop, loaded.tree.shipped_chapters + loaded.tree.chapters, site.plans
    )
    tree = ElementTree.fromstring(html)
    anchors = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(set(anchors)) == len(anchors)
    links = [e.get("href", "") for e in tree.iter() if e.tag == "a"]
    assert len(links) > 1000
    assert [link for link in links if not link.startswith("#") or link[1:] not in anchors] == []
    for entry in loaded.library.jobs.values():
        assert entry.value.customer.name not in html
        assert all(r.plate not in html for r in entry.value.registrations if r.plate)


def test_every_page_carries_the_cautions_and_its_number(pages: list[str], loaded: Loaded) -> None:
    for number, text in enumerate(pages, 1):
        assert f"{number} of {len(pages)}" in text
        for name in STANDING_CAUTIONS:
            assert loaded.library.reference.cautions[name].short[:60] in text, f"page {number}: {name}"


def test_the_first_page_carries_the_cautions_in_full(pages: list[str], loaded: Loaded) -> None:
    for name in STANDING_CAUTIONS:
        assert " ".join(loaded.library.reference.cautions[name].limit.split())[:60] in pages[0]


def test_what_keeps_people_safe_is_set_large(edition: bytes, small: Reference) -> None:
    """The limit of each hazard has an x-height of 2.5 mm (NASA CR-177605, 0.10 in; from memory), the rest is body type."""
    seen = set()
    for page in PdfReader(io.BytesIO(edition)).pages:
        found = letters(page)
        for name, caution in small.cautions.items():
            for place in of_words(found, caution.limit + caution.hazard + caution.result):
                seen.add(name)
                limit = len("".join(caution.limit.split()))
                assert min(letter.x_mm for letter in place[:limit]) >= 2.5, name
                assert min(letter.pt for letter in place[limit:]) >= 12, name
    assert seen == set(small.cautions)


@pytest.mark.parametrize(
    "title", ["First steps", "Second thoughts", "Ground", "Constant supply", "Butt connector, crimped", "Glossary"]
)
def test_contents_and_index_name_the_page_a_title_stands_on(title: str, pages: list[str]) -> None:
    contents = next(text for text in pages if text.startswith("Contents"))
    listed = re.search(re.escape(title) + r"[ .]*?(\d+)", contents)
    assert listed, contents
    assert title in pages[int(listed[1]) - 1]


def test_index_gives_page_numbers(pages: list[str]) -> None:
    index = pages[-1]
    found = re.search(r"thought Second thoughts (\d+)", index)
    assert found, index
    assert "Second thoughts" in pages[int(found[1]) - 1]
    assert re.search(r"yellow wire Constant supply \d+", " ".join(pages[-2:]))


def test_running_heads_name_the_page_s_title(pages: list[str]) -> None:
    own = next(text for text in pages if "one free wire" not in text and "A tail." in text)
    assert own.count("Second thoughts") == 2  # in the head and as the title


def test_structure_and_bookmarks(edition: bytes) -> None:
    reader = PdfReader(io.BytesIO(edition))
    root = reader.root_object
    assert str(root["/Lang"]) == "en"
    for key, inside in (("/MarkInfo", "/Marked"), ("/ViewerPreferences", "/DisplayDocTitle")):
        group = root[key]
        assert isinstance(group, dict) and bool(group[inside]) is True, inside
    titles = [item.title for item in reader.outline if not isinstance(item, list)]
    assert "First steps" in titles and "Index" in titles


def test_the_same_content_makes_the_same_bytes(edition: bytes, loaded: Loaded, small: Reference) -> None:
    again, _ = build_edition(small, loaded.shop, CHAPTERS)
    assert again == edition


def test_the_site_links_to_the_edition_only_when_there_is_one(loaded: Loaded, small: Reference) -> None:
    without, _ = build_site(small, loaded.shop, CHAPTERS)
    with_it, problems = build_site(small, loaded.shop, CHAPTERS, edition=b"%PDF-1.7 trial")
    assert EDITION not in without and f'href="{EDITION}"' not in str(without["contents.html"])
    assert with_it[EDITION] == b"%PDF-1.7 trial" and f'href="{EDITION}"' in str(with_it["contents.html"])
    assert not [p for p in problems if p.code == "dead-link"]


def test_an_address_is_printed_only_when_the_shop_gives_one(loaded: Loaded, small: Reference) -> None:
    without, _ = edition_html(small, loaded.shop, CHAPTERS)
    assert loaded.shop.site == "" and "The current edition:" not in without
    shop = loaded.shop.model_copy(update={"site": "handbook.saltmarsh.example"})
    with_it, _ = edition_html(small, shop, CHAPTERS)
    assert "The current edition:<strong> handbook.saltmarsh.example</strong>" in with_it  # on the cover
    assert "The current edition is at handbook.saltmarsh.example." in with_it  # in the foot of every page
    assert 'href="http' not in with_it


def test_questions_are_linked_where_they_are_printed(loaded: Loaded, small: Reference) -> None:
    ask = _chapter("04-ask", "title: Ask\nkind: practice", "## Set\n\n### recall: What?\n\nThat. {{chapter:first#one}}")
    html, problems = edition_html(small, loaded.shop, [*CHAPTERS, ask])
    assert [p.line() for p in problems] == []
    assert 'Practice:<a href="#p-practice-worksheets--question-1"> question 1</a>' in html
    assert html.count('id="p-practice-worksheets--question-1"') == 1


def test_a_link_at_the_end_of_a_full_line_does_not_break_it_after_its_first_word() -> None:
    """The engine's fault that ``spaces_inside`` goes round: seen on this very sentence on A4."""
    said = '<p>If you read kilohms, or a few volts, there is an amplifier in the way. Stop and read <a href="#x">this</a>.</p>'
    page = '<html lang="en"><head><title>t</title></head><body class="edition"><h1 id="x">T</h1>{}</body></html>'
    data, _ = render(
        spaces_inside(page.format(said)),
        styles=("edition.css", "edition-a4.css"),
        job="",
        issued=date(2000, 1, 1),
        spaced=False,
    )
    lines = PdfReader(io.BytesIO(data)).pages[0].extract_text().split("\n")
    assert not any(line.strip() == "If" for line in lines)
    assert any(line.strip().startswith("If you read kilohms, or a few volts") for line in lines)
