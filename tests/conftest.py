"""What every test may use: where the project lies, and property tests that are the same on each run."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).resolve().parents[1]

# No deadline: a busy machine is not a fault of the code. Derandomised: a failure comes back on the next run.
settings.register_profile("loomleaf", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("loomleaf")


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
