"""Search as a reader uses it: opened from a folder, by keyboard, with words as they are typed in a hurry."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect


@pytest.fixture
def search(page: Page, handbook: Path) -> Page:
    page.goto((handbook / "search.html").as_uri())
    return page


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("yellow wire", "Constant supply"),
        ("yelow wire", "Constant supply"),
        ("YELLOW WIRE", "Constant supply"),
        ("term 15", "Switched supply"),
        ("terminal 15", "Switched supply"),
        ("remote wire", "Amplifier turn-on"),
        ("remot wire", "Amplifier turn-on"),
        ("constnat supply", "Constant supply"),
        ("yellow wrie", "Constant supply"),  # two letters changed over
    ],
)
def test_what_is_typed_leads_to_the_page(search: Page, typed: str, first: str) -> None:
    search.keyboard.type(typed)  # the box has the focus already
    expect(search.locator("#results li").first.get_by_role("link")).to_have_text(first)
    expect(search.get_by_role("status")).to_contain_text("page")


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("parasitic", "Standby drain"),
        ("handbrake", "Parking-brake sense"),
        ("crimp tinnd", "Joining methods compared honestly"),
        ("aerial", "Antenna"),
        ("hiss", "Noise"),
    ],
)
def test_other_words_for_a_thing_lead_there(search: Page, typed: str, title: str) -> None:
    search.keyboard.type(typed)
    links = search.locator("#results li a")
    expect(links.first).to_be_visible()
    assert any(title.lower() in words.lower() for words in links.all_text_contents()[:12])


def test_words_put_right_are_said(search: Page) -> None:
    search.keyboard.type("yelow wire")
    expect(search.get_by_role("status")).to_contain_text("for “yellow wire”")


def test_a_result_opens_by_keyboard(search: Page, handbook: Path) -> None:
    expect(search.get_by_role("searchbox", name="Words to look for")).to_be_focused()
    search.keyboard.type("yellow wire")
    search.keyboard.press("Enter")
    search.keyboard.press("Tab")
    expect(search.get_by_role("link", name="Constant supply", exact=True)).to_be_focused()
    search.keyboard.press("Enter")
    search.wait_for_url("**/supply-constant.html")
    assert search.url == (handbook / "functions/supply-constant.html").as_uri()
    expect(search.get_by_role("heading", level=1)).to_have_text("Constant supply")


def test_nothing_found_is_said(search: Page) -> None:
    search.keyboard.type("qqqqzzz")
    expect(search.get_by_role("status")).to_have_text("Nothing found. Try another word for it.")
    expect(search.locator("#results li")).to_have_count(0)


def test_words_in_the_address_are_looked_for(page: Page, handbook: Path) -> None:
    page.goto((handbook / "search.html").as_uri() + "?words=remote+wire")
    expect(page.locator("#results li").first.get_by_role("link")).to_have_text("Amplifier turn-on")


def test_without_scripts_the_index_is_offered(browser: Browser, handbook: Path) -> None:
    context = browser.new_context(java_script_enabled=False, offline=True)
    page = context.new_page()
    page.goto((handbook / "search.html").as_uri())
    expect(page.get_by_role("searchbox")).to_have_count(0)
    page.get_by_role("main").get_by_role("link", name="index").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Index")
    context.close()
