"""Answers, light and dark, the keyboard's path and paper, in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from .visit import PHONE

BACKGROUND = "getComputedStyle(document.body).backgroundColor"


@pytest.fixture
def practice(page: Page, handbook: Path) -> Page:
    page.goto((handbook / "chapters/practice.html").as_uri())
    return page


def test_answers_are_hidden_until_asked_for(practice: Page) -> None:
    questions = practice.locator(".question")
    assert questions.count() >= 60
    answers = practice.locator(".question details > div")
    assert answers.count() == questions.count()
    assert not any(answer.is_visible() for answer in answers.all())
    questions.nth(2).locator("summary").click()
    assert [answer.is_visible() for answer in answers.all()].count(True) == 1
    expect(questions.nth(2).locator("details > div")).to_be_visible()
    expect(questions.nth(2).locator("details > div")).not_to_be_empty()


def test_an_answer_opens_and_shuts_by_keyboard(practice: Page) -> None:
    summary = practice.locator(".question summary").first
    answer = practice.locator(".question details > div").first
    summary.focus()
    practice.keyboard.press("Enter")
    expect(answer).to_be_visible()
    practice.keyboard.press("Space")
    expect(answer).to_be_hidden()
    practice.keyboard.press("Tab")
    expect(practice.locator(".question summary").nth(1)).to_be_focused()


def test_the_choice_of_dark_pages_is_kept(page: Page, handbook: Path) -> None:
    page.goto((handbook / "index.html").as_uri())
    light = page.evaluate(BACKGROUND)
    page.get_by_role("button", name="Show dark pages").click()
    dark = page.evaluate(BACKGROUND)
    assert dark != light
    page.goto((handbook / "functions/ground.html").as_uri())
    assert page.evaluate(BACKGROUND) == dark
    page.reload()
    assert page.evaluate(BACKGROUND) == dark
    page.get_by_role("button", name="Show light pages").press("Enter")
    assert page.evaluate(BACKGROUND) == light


def test_a_system_that_is_dark_gets_dark_pages_until_the_reader_says_otherwise(page: Page, handbook: Path) -> None:
    page.goto((handbook / "index.html").as_uri())
    light = page.evaluate(BACKGROUND)
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(BACKGROUND) != light
    page.reload()
    page.get_by_role("button", name="Show light pages").click()
    assert page.evaluate(BACKGROUND) == light


# What has the focus, whether it can be seen on the screen, and whether an outline shows it.
FOCUSED = """() => {
  const at = document.activeElement, box = at.getBoundingClientRect(), style = getComputedStyle(at);
  return {
    name: at.tagName, words: at.textContent.trim().slice(0, 60),
    order: [...document.querySelectorAll("*")].indexOf(at),
    seen: box.width > 0 && box.height > 0 && box.right > 0 && box.left < innerWidth && box.bottom > 0 && box.top < innerHeight,
    outline: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
  };
}"""
WITH_A_PATH = (
    "index.html",
    "contents.html",
    "chapters/joining-compared.html",
    "functions/supply-constant.html",
    "connectors/iso-10487-a.html",
    "faults.html",
    "glossary.html",
)


@pytest.mark.parametrize("path", WITH_A_PATH)
def test_the_keyboard_goes_through_a_page_in_its_order(page: Page, handbook: Path, path: str) -> None:
    page.goto((handbook / path).as_uri())
    page.keyboard.press("Tab")
    first = page.evaluate(FOCUSED)
    assert first["words"] == "Skip to the text" and first["seen"], first
    before = first["order"]
    for _ in range(25):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUSED)
        if now["name"] == "BODY":  # past the last one
            break
        assert now["order"] > before, now
        assert now["seen"] and now["outline"], now
        before = now["order"]
    assert before > first["order"]


@pytest.mark.parametrize("path", WITH_A_PATH)
def test_the_skip_link_leads_past_the_frame(page: Page, handbook: Path, path: str) -> None:
    page.goto((handbook / path).as_uri())
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, offline=True)
    yield made
    made.close()


def test_a_wide_table_moves_by_itself_on_a_phone(phone: BrowserContext, handbook: Path) -> None:
    page = phone.new_page()
    page.goto((handbook / "functions/supply-constant.html").as_uri())
    table = page.get_by_role("group", name="Prove it with the meter")
    assert table.evaluate("frame => frame.scrollWidth > frame.clientWidth")
    table.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("frame => frame.scrollLeft > 0", arg=table.element_handle())
    assert page.evaluate("scrollX") == 0


@pytest.mark.parametrize("path", ["functions/supply-constant.html", "chapters/fuses.html"])
def test_paper_is_light_and_without_the_frame(page: Page, handbook: Path, path: str) -> None:
    page.goto((handbook / path).as_uri())
    quiet = "getComputedStyle(document.querySelector('.note, .from')).color"
    page.emulate_media(media="print")
    on_paper = page.evaluate(quiet)
    page.emulate_media(media="screen")
    page.get_by_role("button", name="Show dark pages").click()
    assert page.evaluate(quiet) != on_paper
    page.emulate_media(media="print")
    assert page.evaluate(quiet) == on_paper
    assert page.evaluate(BACKGROUND) == "rgb(255, 255, 255)"
    for frame in ("header.strip", ".trail", ".skip"):
        expect(page.locator(frame)).to_be_hidden()
    expect(page.get_by_role("complementary", name="Cautions that stand over all work")).to_be_visible()


def test_a_screen_reader_finds_its_way(page: Page, handbook: Path) -> None:
    page.goto((handbook / "connectors/iso-10487-a.html").as_uri())
    for role, name in (
        ("banner", None),
        ("navigation", "Handbook"),
        ("navigation", "Where this page stands"),
        ("main", None),
        ("complementary", "Cautions that stand over all work"),
        ("contentinfo", None),
    ):
        expect(page.get_by_role(role, name=name)).to_have_count(1)  # type: ignore[arg-type]
    picture = page.get_by_role("main").get_by_role("img").first
    assert "way" in (picture.get_attribute("aria-labelledby") or "") or picture.evaluate(
        "drawing => drawing.querySelector('title').textContent.length > 8"
    )


@pytest.mark.parametrize("width", [992, 1000, 1023, 1024, 1100])
def test_the_panel_beside_the_text_stays_on_the_page(page: Page, handbook: Path, width: int) -> None:
    """Around the width at which it moves from above the text to beside it."""
    page.set_viewport_size({"width": width, "height": 800})
    for name in ("functions/supply-constant.html", "methods/butt-connector.html"):
        page.goto((handbook / name).as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") == width
