"""What every test may use: where the project lies, and property tests that are the same on each run."""

from __future__ import annotations

import shutil
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import settings

from tests.shared import forget

ROOT = Path(__file__).resolve().parents[1]

# No deadline: a busy machine is not a fault of the code. Derandomised: a failure comes back on the next run.
settings.register_profile("loomleaf", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("loomleaf")


def pytest_configure(config: pytest.Config) -> None:
    """A run on several processes has a name, by which they find what they share."""
    if getattr(config.option, "testrunuid", "") is None:
        config.option.testrunuid = uuid4().hex


LONGEST_FIRST = ("tests/test_same_every_time.py", "tests/browser/")
"""What one process does for minutes. Begun first, it leaves no other process waiting at the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files come first; the others keep their order."""

    def rank(item: pytest.Item) -> int:
        return next((n for n, start in enumerate(LONGEST_FIRST) if item.nodeid.startswith(start)), len(LONGEST_FIRST))

    items.sort(key=rank)


def pytest_unconfigure(config: pytest.Config) -> None:
    """The process that started the others tidies up after them."""
    run = getattr(config.option, "testrunuid", None)
    if run and not hasattr(config, "workerinput"):
        forget(run)


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT


@pytest.fixture
def demo_copy(tmp_path: Path) -> Path:
    """A copy of the demo shop that a test may change."""
    copy = tmp_path / "shop"
    shutil.copytree(ROOT / "content", copy)
    return copy
