"""Jobs of the demo shop with a line or two spoilt in memory, for the tests of what must never pass."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

from loomleaf.check.library import Library
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.problems import Problem, Severity
from tests.makers import library_of

CONTENT = Path(__file__).resolve().parents[2] / "content"
Edit = Callable[[dict[str, str]], None]


@cache
def _demo() -> dict[str, str]:
    names = ["shop.yaml", "stock.yaml"]
    names += [f"{folder}/{p.name}" for folder in ("vehicles", "leads", "jobs") for p in (CONTENT / folder).glob("*.yaml")]
    return {name: (CONTENT / name).read_text("utf-8") for name in names}


def swap(file: str, old: str, new: str, *, every: bool = False) -> Edit:
    """Other words in a file; the old ones must be there."""

    def go(files: dict[str, str]) -> None:
        assert old in files[file], (file, old)
        files[file] = files[file].replace(old, new) if every else files[file].replace(old, new, 1)

    return go


def drop(file: str, *words: str) -> Edit:
    """A file without the lines that hold any of these words; each must be in one."""

    def go(files: dict[str, str]) -> None:
        for word in words:
            assert word in files[file], (file, word)
        files[file] = "".join(x for x in files[file].splitlines(True) if not any(w in x for w in words))

    return go


def after(file: str, start: str, *lines: str) -> Edit:
    """Lines put behind the first line that begins so."""

    def go(files: dict[str, str]) -> None:
        rows = files[file].splitlines(True)
        at = next(i for i, row in enumerate(rows) if row.startswith(start))
        files[file] = "".join([*rows[: at + 1], *(line + "\n" for line in lines), *rows[at + 1 :]])

    return go


def new(file: str, text: str) -> Edit:
    """One file more."""

    def go(files: dict[str, str]) -> None:
        assert file not in files
        files[file] = text

    return go


def library(number: str, *edits: Edit) -> tuple[Library, tuple[Problem, ...]]:
    """The demo shop with only this job in it, after the edits, and every problem that checking it finds."""
    files = {name: text for name, text in _demo().items() if not name.startswith("jobs/") or name == f"jobs/{number}.yaml"}
    if not any(name.startswith("jobs/") for name in files):
        raise AssertionError(f"no job {number}")
    for edit in edits:
        edit(files)
    return library_of(files)


def planned(number: str, *edits: Edit) -> Plan:
    """The job worked out after the edits; no error may stand in the shop."""
    made, problems = library(number, *edits)
    errors = [p.line() for p in problems if p.severity is Severity.ERROR]
    assert not errors, errors
    return plan_job(made, made.jobs[number], [p for p in problems if p.job == number])


def codes(plan: Plan, severity: Severity = Severity.HOLD) -> set[str]:
    return {p.code for p in plan.problems if p.severity is severity}


def told(number: str, *edits: Edit) -> set[str]:
    """The codes of everything that checking the shop finds, before any job is worked out."""
    return {p.code for p in library(number, *edits)[1]}
