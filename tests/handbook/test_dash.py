"""Dash notes in the handbook: found by search, printed, marked to be proved again, and nobody is named in them."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from loomleaf.handbook.edition import edition_html
from loomleaf.handbook.prose import words_of
from loomleaf.handbook.site import build_site
from loomleaf.model.reference import Reference
from loomleaf.model.shop import Shop
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.dashnotes import DashNotes, dash_notes
from loomleaf.problems import Severity
from tests.handbook.conftest import Site
from tests.plan.shops import PROOFS, planned

PAGE = "dash-notes/osmere-whimbrel-2006.html"


def text_of(page: str) -> str:
    return " ".join(html.unescape(words_of(page[page.index("<article") : page.index("</article>")])).split())


@pytest.fixture(scope="module")
def notes(loaded: Loaded) -> dict[str, DashNotes]:
    return dash_notes(plan_jobs(loaded)[0].values(), loaded.library.readings)


def test_each_kind_of_vehicle_with_a_verified_job_has_a_page(site: Site, notes: dict[str, DashNotes]) -> None:
    pages = {p for p in site.pages if p.startswith("dash-notes/")}
    assert pages == {f"dash-notes/{name}.html" for name in notes} and pages
    for page in pages:
        assert page in site.pages["dash-notes.html"]
    assert 'href="dash-notes.html"' in site.pages["contents.html"]
    assert 'href="dash-notes.html"' in site.pages["index.html"]


def test_a_page_says_what_was_found_and_that_it_is_to_be_proved_again(site: Site) -> None:
    text = text_of(site.pages[PAGE])
    # written in readings/2031-A.yaml and jobs/2031.yaml of the demo
    assert "sit behind the heater duct" in text
    assert "osmere-16/A.4 is red and carries constant supply (proved on job 2031, prove again)." in text
    assert "Ways that were proved on osmere-16" in text
    assert "A.7 Switched supply blue key on 12.2 V; 13.2 V 2031" in text
    assert "255 min" in text
    assert "prove again" in text[:250]


def test_search_and_the_index_find_the_vehicle_and_its_adapter(site: Site) -> None:
    script = site.files["assets/search-index.js"]
    assert isinstance(script, str)
    assert f'"href":"{PAGE}","kind":"dash notes"' in script
    index = site.pages["a-to-z.html"]
    for word in ("Osmere Whimbrel coupé, 2006", "osmere-16"):
        assert [line for line in index.splitlines() if f">{word}<" in line and PAGE in line], word


def test_the_print_edition_carries_them(loaded: Loaded, notes: dict[str, DashNotes]) -> None:
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    printed, problems = edition_html(loaded.library.reference, loaded.shop, chapters, notes=notes)
    assert not [p for p in problems if p.severity is Severity.ERROR]
    assert 'href="#p-dash-notes-osmere-whimbrel-2006"' in printed
    assert "sit behind the heater duct" in printed


def test_nobody_and_no_plate_stands_in_them(site: Site) -> None:
    text = "\n".join(text for path, text in site.pages.items() if path.startswith("dash-notes")).lower()
    bare = re.sub(r"[^a-z0-9]", "", text)
    for plan in site.plans:
        for registration in plan.job.registrations:
            assert re.sub(r"[^a-z0-9]", "", registration.plate.lower()) not in bare
        for word in (plan.job.customer.name, plan.job.customer.contact, *(a.who for a in plan.job.agreed)):
            assert not word or word.lower() not in text


def test_a_shop_that_has_verified_nothing_has_no_such_section() -> None:
    plan, library = planned(job=PROOFS)
    assert dash_notes([plan], library.readings) == {}
    files, _ = build_site(Reference(), Shop(name="Trial"), [], [plan], notes={})
    assert not [path for path in files if path.startswith("dash-notes")]


def test_publishing_passes_them_on(root: Path, tmp_path: Path) -> None:
    from loomleaf.pipeline import publish_handbook

    loaded = load_shop(root / "content")
    count, _ = publish_handbook(loaded, plan_jobs(loaded)[0], tmp_path, edition=False)
    assert count and (tmp_path / "handbook" / PAGE).is_file()
