"""Amounts that cannot be right are told where they are written; none of them reaches a calculation."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs


@pytest.mark.parametrize(
    ("file", "old", "new", "message", "hint"),
    [
        ("jobs/2038.yaml", "issued: 2026", "issued: 9999", "the year of '9999-05-12' cannot be right", "from 2000 to 2099"),
        ("jobs/2038.yaml", "issued: 2026", "issued: 1026", "the year of '1026-05-12' cannot be right", "from 2000 to 2099"),
        ("shop.yaml", "name:", "valid_days: 99999999\nname:", "99999999 is out of range for 'valid_days'", "at most 3650"),
        ("shop.yaml", "name:", "valid_days: -5\nname:", "-5 is out of range for 'valid_days'", "at least 0"),
        ("shop.yaml", "name:", "loom: {tie_every_mm: 0}\nname:", "0 is out of range for 'tie_every_mm'", "at least 10"),
        ("shop.yaml", "name:", "supply: {cabin_c: 200}\nname:", "200 is out of range for 'cabin_c'", "at most 105"),
        ("shop.yaml", "name:", "supply: {drop_limit_v: 99}\nname:", "99 is out of range for 'drop_limit_v'", "at most 15"),
        (
            "shop.yaml",
            "name:",
            "supply: {fuse_from_battery_mm: 9000}\nname:",
            "9000 is out of range for 'fuse_from_battery_mm'",
            "at most 1000",
        ),
    ],
)
def test_told_once_and_nothing_is_worked_out_with_it(
    demo_copy: Path, file: str, old: str, new: str, message: str, hint: str
) -> None:
    text = (demo_copy / file).read_text("utf-8")
    if new.startswith(("loom", "supply", "valid")):
        key = new.partition(":")[0]
        text = "".join(part for part in _blocks(text) if not part.startswith(f"{key}:"))
    assert old in text
    (demo_copy / file).write_text(text.replace(old, new, 1), "utf-8")
    _, problems = plan_jobs(load_shop(demo_copy))
    (told,) = [p for p in problems if p.code == "out-of-range"]
    assert (told.location.file, told.message) == (file, message)
    assert hint in told.hint


def _blocks(text: str) -> list[str]:
    """A file's text by its keys of the first level, each with what is indented below it."""
    out: list[str] = []
    for line in text.splitlines(keepends=True):
        if out and (line[:1] in " -#\n"):
            out[-1] += line
        else:
            out.append(line)
    return out
