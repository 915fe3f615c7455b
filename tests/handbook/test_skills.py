"""Skills with a standard each; a record for each apprentice that stays out of the published handbook."""

from __future__ import annotations

import io
import re
from datetime import date

import pytest
from pypdf import PdfReader

from loomleaf.check.convert import convert
from loomleaf.check.library import Entry
from loomleaf.handbook.site import STANDING_CAUTIONS, build_site
from loomleaf.handbook.skills import LEVEL_SIGNED, LEVELS, MATRIX, best_level, build_records
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
    assert blank.count("<td>") == count * len(LEVELS)
    assert "<td>year 1</td>" in blank


def test_every_skill_says_what_is_wanted_by_when_and_every_level_who_signs(site: Site) -> None:
    page = site.pages["chapters/skills.html"]
    assert page.count('class="wanted"') == page.count('<div id="skill-')
    assert "Did it alone by the end of year 1, can teach it by the end of year 3." in page
    for signed in LEVEL_SIGNED.values():
        assert signed in page


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


def test_what_is_overdue_and_what_is_next_is_said_first(loaded: Loaded) -> None:
    # Started 1 September 2025, so year 1 ends on 1 September 2026; the latest entry is dated after that.
    text, problems = record(
        loaded,
        shown("read-a-leaflet", "did-alone", "2026-02-01"),
        shown("prove-a-ground", "did-supervised", "2026-03-01"),
        shown("hand-over", "helped", "2026-09-02"),
    )
    assert problems == []
    overdue, upcoming = text.split("Overdue ", 1)[1].split(" Next ", 1)
    assert "Prove a ground: did it alone, by 1 September 2026" in overdue
    assert "Read a leaflet" not in overdue  # reached in time; teaching it is wanted in year 3 only
    assert "Hand over a vehicle: did it, supervised, by 1 September 2027" in upcoming
    assert "OVERDUE did it alone, by 1 September 2026" in upcoming


def test_nothing_is_overdue_on_the_day_itself(loaded: Loaded) -> None:
    text, _ = record(loaded, shown("hand-over", "helped", "2026-09-01"))
    assert "Overdue Nothing." in text


def test_the_matrix_has_every_skill_and_every_apprentice(site: Site) -> None:
    loaded = site.loaded
    crew = [entry.value for entry in loaded.library.crew.values()]
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    files, problems = build_records(loaded.library.reference, loaded.shop, chapters, crew)
    assert [p.line() for p in problems] == []
    assert set(files) == {MATRIX, *(f"{a.apprentice}.pdf" for a in crew)}
    text = " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(files[MATRIX])).pages)
    for person in crew:
        assert person.name in text
    for name in re.findall(r'<div id="skill-[^"]+"><dt>(.*?) <span', site.pages["chapters/skills.html"]):
        assert " ".join(re.sub(r"<[^>]+>", "", name).split()) in text
    # Two of the demo's entries are late on 19 May 2026, by their own dates.
    assert "Tamsin Orrell, Hand over a vehicle: did it, supervised, by 4 September 2025" in text
    assert "Wren Ashdown, Take an as-found test: show it again, by 5 May 2026" in text


def test_an_apprentice_does_not_sign_for_themselves(loaded: Loaded) -> None:
    text = """apprentice: jo
name: Jo Trial
started: 2025-09-01
shown:
  - {skill: hand-over, level: helped, on: 2026-02-01, signed_by: jo trial}
"""
    document, _ = read_document("crew/jo.yaml", text.encode())
    person = convert(document, Apprentice, Collector())
    assert person is not None
    crew = [Entry(value=person, document=document)]
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    _, problems = build_site(loaded.library.reference, loaded.shop, chapters, crew=crew)
    assert [(p.code, str(p.location)) for p in problems] == [("own-signature", "crew/jo.yaml:5:66")]


@pytest.mark.parametrize(
    "wanted",
    ["did-alone", "did-alone in year 0", "did-alon in year 1", "did-alone in year 2, helped in year 3",
     "helped in year 2, did-alone in year 1"],
)  # fmt: skip
def test_a_wrong_target_is_told_where_it_stands(wanted: str, loaded: Loaded) -> None:
    text = f"---\ntitle: S\nkind: skills\n---\n## Prove\n\n### one-skill: One\n\nWanted: {wanted}\n\nThe standard.\n"
    _, problems = build_site(
        loaded.library.reference, Shop(name="Trial"), [Chapter(file="handbook/01-skills.md", text=text)]
    )
    told = [p for p in problems if p.code == "bad-skill"]
    assert [(p.location.file, p.location.line) for p in told] == [("handbook/01-skills.md", 9)]
