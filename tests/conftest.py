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
