"""One published handbook and one browser for every test of this folder. The browser is closed when the folder is done."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from loomleaf.pipeline import load_shop, plan_jobs, publish_handbook
from tests.proof import need
from tests.shared import place, shared

from .visit import DESK, FLAGS, Visit, visit_all

# A busy machine is not a fault of the page: what a test waits for may take this long, in milliseconds.
PATIENCE_MS = 60_000
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="package")
def handbook(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop's site as the command publishes it, without the print edition."""
    out = tmp_path_factory.mktemp("published")
    loaded = load_shop(root / "content")
    plans, _ = plan_jobs(loaded)
    publish_handbook(loaded, plans, out, edition=False)
    folder = out / "handbook"
    assert (folder / "index.html").is_file()
    return folder


@pytest.fixture(scope="package")
def chromium() -> str:
    return need("Chromium", "chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="package")
def visits(chromium: str, handbook: Path) -> tuple[Visit, ...]:
    """Every page, looked at once: what was wrong, what was asked for, how wide it is."""
    checker = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
    with one_at_a_time("visits"):
        return shared("visits", lambda: visit_all(chromium, handbook, checker))


@contextmanager
def one_at_a_time(name: str) -> Iterator[None]:
    """Of the processes of one test run one goes in; the others wait, for what it makes takes a minute."""
    folder = place()
    if folder is None:
        yield
        return
    with (folder / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@pytest.fixture(scope="package")
def browser(chromium: str) -> Iterator[Browser]:
    """Chromium without a window."""
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A fresh reader at a desk, in a place without a network."""
    made = browser.new_context(viewport=DESK, offline=True)
    made.set_default_timeout(PATIENCE_MS)
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()
