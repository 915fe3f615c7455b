"""A proof whose tool is missing is passed over on a bench and fails in continuous integration."""

from __future__ import annotations

import sys

import pytest

from tests.proof import need

HERE = "no-such-program-here"


def test_on_a_bench_it_is_passed_over_with_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="The tool is not installed here"):
        need("The tool", HERE)


def test_in_continuous_integration_it_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="The tool is not installed here"):
        need("The tool", HERE)


def test_the_first_that_is_there_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    assert need("Python", HERE, sys.executable) == sys.executable
