"""Fuses on paper: whoever makes a lead or opens the dash in six years finds each fuse, its rating and its place."""

from __future__ import annotations

import pytest

from loomleaf.sheets.fuses import fuse_data, fuse_lines, fuse_views

from .conftest import JOBS, World, sheet


@pytest.mark.parametrize("job", JOBS)
def test_every_fuse_of_the_plan_stands_on_bench_sheet_and_record(world: World, job: str) -> None:
    plan = world.plans[job]
    rows = plan.engineering["fuses"]["rows"]
    assert len(fuse_views(plan)) == len(fuse_data(plan)) == len(rows)
    bench, record = (" ".join(sheet(kind, job).pages) for kind in ("bench", "record"))
    lines = fuse_lines(plan)
    for row in rows:
        rating = f"{row['rating_a'].text} {row['colour']}".strip() if row["rating_a"].value else "not known"
        assert f"{rating}, {row['fuse']}, {row['place'].partition(';')[0]}" in lines[row["circuit"]]
        assert rating in bench and rating in record
    for line in lines.values():
        assert line.partition(",")[0] in bench


@pytest.mark.parametrize("job", JOBS)
def test_every_fuse_in_a_wire_of_the_lead_is_looked_at_on_the_bench(world: World, job: str) -> None:
    """A supply was found safe with these and no larger; a fuse bears its rating (common practice, no source)."""
    plan = world.plans[job]
    held = {
        t.name: t.tail.fuse_a
        for c in plan.circuits
        if c.made and not (c.feed == "battery" and c.group in ("supply", "ground"))
        for t in c.tails
        if t.tail.fuse_a
    }
    looks = [c for c in plan.checks if c.key == "fuses-in-wires"]
    assert [set(c.tails) for c in looks] == ([set(held)] if held else [])
    for check in looks:
        assert check.stage == "on-the-bench" and check.yes_no
        assert check.expected.split("; ") == [f"{name} {rating:g} A" for name, rating in held.items()]


def test_a_look_has_no_limits(world: World) -> None:
    text = " ".join(sheet("bench", "2041").pages)
    assert "Fuses in the wires" in text and "limits seen or not" not in text
