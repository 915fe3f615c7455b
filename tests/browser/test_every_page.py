"""Every page of the site in a browser: usable by everybody, narrow enough for a phone, quiet, and without a network."""

from __future__ import annotations

from pathlib import Path

from .visit import NARROWEST, PHONE, Visit


def test_every_page_was_looked_at(visits: tuple[Visit, ...], handbook: Path) -> None:
    assert sorted(visit.path for visit in visits) == sorted(
        path.relative_to(handbook).as_posix() for path in handbook.rglob("*.html")
    )
    closely = {visit.path for visit in visits if visit.dark is not None}
    assert {"index.html", "search.html", "practice/worksheets.html", "chapters/adapters.html"} <= closely
    assert {path.partition("/")[0] for path in closely if "/" in path} == {
        visit.path.partition("/")[0] for visit in visits if "/" in visit.path
    }  # some of each kind of entry


def test_the_accessibility_checker_finds_nothing(visits: tuple[Visit, ...]) -> None:
    # axe-core's rules: WCAG 2.2 A and AA, and its own rules of good practice (landmarks, order of headings, names)
    assert {visit.path: visit.light for visit in visits if visit.light} == {}


def test_nor_anything_about_colour_on_dark_pages(visits: tuple[Visit, ...]) -> None:
    assert {visit.path: visit.dark for visit in visits if visit.dark} == {}


def test_no_page_is_wider_than_a_phone(visits: tuple[Visit, ...]) -> None:
    phone, narrowest = PHONE["width"], NARROWEST["width"]
    assert {visit.path: visit.widths for visit in visits if visit.widths[phone] > phone} == {}
    closely = [visit for visit in visits if narrowest in visit.widths]
    assert len(closely) > 40
    assert {visit.path: visit.widths for visit in closely if visit.widths[narrowest] > narrowest} == {}


def test_no_page_complains(visits: tuple[Visit, ...]) -> None:
    assert {visit.path: visit.console for visit in visits if visit.console} == {}


def test_no_page_asks_for_anything_outside_its_folder(visits: tuple[Visit, ...]) -> None:
    for visit in visits:
        assert {visit.path, "assets/book.css", "assets/book.js"} <= set(visit.asked_for)  # the list is a real one
        assert [address for address in visit.asked_for if ":" in address or address.startswith("/")] == [], visit.path
