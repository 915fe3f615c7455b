"""A small shop that a test may spoil."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.problems import Problem

MINIMAL = Path(__file__).resolve().parents[1] / "shops" / "minimal"


def copied(to: Path) -> Path:
    """The minimal shop, at a place of its own."""
    shutil.copytree(MINIMAL, to)
    return to


def alter(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def read(shop: Path) -> tuple[Loaded, tuple[Problem, ...]]:
    """Everything that reading, checking and planning a shop finds."""
    loaded = load_shop(shop)
    return loaded, plan_jobs(loaded)[1]


def errors(shop: Path) -> list[tuple[str, str]]:
    """Code and file of every error."""
    return [(p.code, p.location.file) for p in read(shop)[1] if p.severity == "error"]


def files_below(folder: Path) -> Iterator[str]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() or path.is_symlink():
            yield path.relative_to(folder).as_posix()
