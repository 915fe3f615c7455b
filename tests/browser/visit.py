"""One look at every page of a site in a browser, in light and dark, at a desk and on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import ConsoleMessage, Page, Request, ViewportSize, sync_playwright

# The browser is asked not to talk to anybody by itself. Whatever a page still asked for would be seen by the tests.
FLAGS = (
    "--no-sandbox",  # root cannot have a sandbox, and the pages are our own
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
DESK: ViewportSize = {"width": 1280, "height": 800}
PHONE: ViewportSize = {"width": 360, "height": 740}
# The narrowest width at which nothing may have to be scrolled sideways: WCAG 2.2, success criterion 1.4.10 (reflow).
NARROWEST: ViewportSize = {"width": 320, "height": 740}

# Every rule of the checker, those of good practice beside WCAG's own. Style sheets are not fetched a second time.
ALL_RULES = """() => axe.run(document, {preload: false, resultTypes: ["violations"]}).then(
  found => found.violations.flatMap(rule => rule.nodes.map(
    node => `${rule.id}: ${node.html.slice(0, 120)} (${([...node.any, ...node.all, ...node.none][0] || {}).message})`)))"""
CONTRAST = ALL_RULES.replace("{preload: false,", '{preload: false, runOnly: ["color-contrast", "link-in-text-block"],')


@dataclass(frozen=True, kw_only=True)
class Visit:
    """What was seen of one page. Lists are empty where nothing was wrong."""

    path: str
    light: tuple[str, ...]
    """What the accessibility checker found on the light page, all rules."""
    dark: tuple[str, ...] | None
    """What it found on the dark page, rules about colour only; None where that was not looked at."""
    console: tuple[str, ...]
    """Errors and warnings that the page itself caused."""
    asked_for: tuple[str, ...]
    """Everything that was loaded: its place in the site's folder, or its whole address where it is not of the site."""
    widths: dict[int, int]
    """Width of the window to the width that the page takes, both in CSS pixels."""


def visit_all(program: str, folder: Path, checker: str) -> tuple[Visit, ...]:
    """Every page of the folder, shared out between two browsers at a time."""
    paths = sorted(folder.rglob("*.html"))
    close = frozenset(_close(paths, folder))

    def some(share: list[Path]) -> list[Visit]:
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=program, args=list(FLAGS))
            context = browser.new_context(viewport=DESK, offline=True)
            context.set_default_timeout(300_000)
            page = context.new_page()
            seen = [_visit(page, folder, path, checker, path in close) for path in share]
            browser.close()
        return seen

    with ThreadPoolExecutor(2) as hands:
        return tuple(visit for seen in hands.map(some, (paths[::2], paths[1::2])) for visit in seen)


def _close(paths: list[Path], folder: Path) -> Iterator[Path]:
    """Pages to look at more closely: each that is a kind of its own, and of each kind of entry the shortest and the longest."""
    entries: dict[Path, list[Path]] = {}
    for path in paths:
        if path.parent == folder or path.parent.name in ("chapters", "practice"):
            yield path
        else:
            entries.setdefault(path.parent, []).append(path)
    for kind in entries.values():
        yield from (min(kind, key=_size), max(kind, key=_size))


def _size(path: Path) -> int:
    return path.stat().st_size


def _visit(page: Page, folder: Path, path: Path, checker: str, closely: bool) -> Visit:
    told: list[str] = []
    asked: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            told.append(f"{message.type}: {message.text}")

    def fault(error: Any) -> None:
        told.append(f"uncaught: {error}")

    def note(request: Request) -> None:
        asked.append(request.url.removeprefix(folder.as_uri() + "/"))

    def width(size: ViewportSize) -> int:
        page.set_viewport_size(size)
        return int(page.evaluate("document.documentElement.scrollWidth"))

    page.on("console", listen)
    page.on("pageerror", fault)
    page.on("request", note)
    page.goto(path.as_uri())
    page.evaluate(checker)
    light, dark = page.evaluate(ALL_RULES), None
    if closely:
        page.emulate_media(color_scheme="dark")
        dark = tuple(page.evaluate(CONTRAST))
        page.emulate_media(color_scheme="light")
    widths = {size["width"]: width(size) for size in ((PHONE, NARROWEST) if closely else (PHONE,))}
    page.set_viewport_size(DESK)
    page.remove_listener("console", listen)
    page.remove_listener("pageerror", fault)
    page.remove_listener("request", note)
    return Visit(
        path=path.relative_to(folder).as_posix(),
        light=tuple(light),
        dark=dark,
        console=tuple(told),
        asked_for=tuple(asked),
        widths=widths,
    )
