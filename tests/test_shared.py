"""What test processes share is made once and read back whole; nothing of it stays."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from tests.shared import forget, place, shared


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv("PYTEST_XDIST_TESTRUNUID", "trial")
    return "trial"


def test_it_is_made_once(run: str) -> None:
    made: list[int] = []
    assert [shared("word", lambda: made.append(1) or b"radio") for _ in range(3)] == [b"radio"] * 3
    assert len(made) == 1


def test_nothing_stays(run: str) -> None:
    shared("word", lambda: b"radio")
    folder = place()
    assert folder is not None and [path.name for path in folder.iterdir()] == ["word"]
    forget(run)
    assert not folder.exists()


def test_one_process_shares_with_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PYTEST_XDIST_TESTRUNUID", raising=False)
    assert place() is None
    assert shared("word", lambda: b"radio") == b"radio"
