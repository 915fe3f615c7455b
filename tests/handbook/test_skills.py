"""Skills with a standard each; a record for each apprentice that stays out of the published handbook."""

from __future__ import annotations

import io
from datetime import date

import pytest
from pypdf import PdfReader

from loomleaf.check.convert import convert
from loomleaf.check.library import Entry
from loomleaf.handbook.site import STANDING_CAUTIONS, build_site
from loomleaf.handbook.skills import LEVELS, best_level, build_records
from loomleaf.model.crew import Apprentice, Shown
from loomleaf.model.shop import Shop
from loomleaf.pipeline import Loaded
from loomleaf.problems import Collector
from loomleaf.source.nodes import read_document
from loomleaf.source.tree import Chapter

from .conftest import Site


def shown(skill: str, level: str, day: str, **more: str) -> Shown:
    return Shown.model_validate({"skill": skill, "level": level, "on": day, "signed_by": "A Mentor", **more})


def record(loaded: Loaded, *entries: Shown) -> tuple[str, list[str]]:
    person = Apprentice(apprentice="jo", name="Jo Trial", started=date(2025, 9, 1), mentor="A Mentor", shown=entries)
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    files, problems = build_records(loaded.library.reference, loaded.shop, chapters, [person])
    reader = PdfReader(io.BytesIO(files["jo.pdf"]))
    return " ".join(" ".join(p.extract_text().split()) for p in reader.pages), [p.line() for p in problems]


def test_every_skill_has_a_standard_and_a_blank_row(site: Site) -> None:
    page, blank = site.pages["chapters/skills.html"], site.pages["practice/record.html"]
    count = page.count('<div id="skill-')
    assert count >= 20
    assert blank.count('<th scope="row">') == count
    assert blank.count("<td></td>") == count * len(LEVELS)


def test_skills_that_the_demo_s_apprentices_show_are_known(site: Site) -> None:
    used = {s.skill for entry in site.loaded.library.crew.values() for s in entry.value.shown}
    assert used
    for skill in used:
        assert f'id="skill-{skill}"' in site.pages["chapters/skills.html"]


def test_no_apprentice_is_named_in_the_handbook(site: Site) -> None:
    everything = "\n".join(t for t in site.files.values() if isinstance(t, str))
    for entry in site.loaded.library.crew.values():
        assert entry.value.name not in everything
        for one in entry.value.shown:
            assert one.signed_by not in everything


def test_a_record_says_the_highest_level_and_every_showing(loaded: Loaded) -> None:
    text, problems = record(
        loaded,
        shown("prove-a-ground", "did-alone", "2026-03-01", job="2030"),
        shown("prove-a-ground", "helped", "2026-02-01"),
        shown("hand-over", "watched", "2026-04-02", redo_by="2026-06-02"),
    )
    assert problems == []
    assert "Competence record, Jo Trial" in text
    assert (
        "1 February 2026, helped, signed by A Mentor; 1 March 2026, did it alone, job 2030, signed by A Mentor" in text
    )
    assert "2 June 2026" in text
    assert "not yet" in text
    for name in STANDING_CAUTIONS:
        assert loaded.library.reference.cautions[name].short[:60] in text


def test_a_date_to_show_again_goes_when_it_was_shown_again(loaded: Loaded) -> None:
    text, _ = record(
        loaded,
        shown("hand-over", "watched", "2026-04-02", redo_by="2026-06-02"),
        shown("hand-over", "helped", "2026-05-02"),
    )
    assert "2 June 2026" not in text


def test_an_unknown_skill_is_told_where_it_stands(loaded: Loaded) -> None:
    text = """apprentice: jo
name: Jo Trial
started: 2025-09-01
shown:
  - {skill: hand-over, level: helped, on: 2026-02-01, signed_by: A Mentor}
  - {skill: prove-a-grund, level: helped, on: 2026-02-01, signed_by: A Mentor}
"""
    document, _ = read_document("crew/jo.yaml", text.encode())
    person = convert(document, Apprentice, Collector())
    assert person is not None
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    crew = [Entry(value=person, document=document)]
    files, problems = build_site(loaded.library.reference, loaded.shop, chapters, crew=crew)
    assert [p.line() for p in problems] == [
        "crew/jo.yaml:6:13: error[unknown-skill]: 'prove-a-grund' is not a skill of the handbook (did you mean 'prove-a-ground'?)"
    ]
    assert all("Jo Trial" not in text for text in files.values() if isinstance(text, str))


def test_levels_are_in_order() -> None:
    assert best_level([shown("x", "can-teach", "2026-01-01"), shown("x", "watched", "2026-02-01")]) == "can teach it"


@pytest.mark.parametrize(
    "body",
    ["### x: X\n\ntext", "## T\n\n### x: X\n", "## T\n\n### x: X\n\na\n\n### x: X\n\nb", "## T\n\n### X\n\ntext"],
)
def test_a_bad_skill_is_told(body: str, loaded: Loaded) -> None:
    text = f"---\ntitle: S\nkind: skills\n---\n{body}"
    _, problems = build_site(
        loaded.library.reference, Shop(name="Trial"), [Chapter(file="handbook/01-skills.md", text=text)]
    )
    assert [p.code for p in problems if p.location.file == "handbook/01-skills.md"] == ["bad-skill"]
