"""What is measured is a whole shop: without an error, of the size it should be, the same each time."""

from __future__ import annotations

from pathlib import Path

from make_shop import LEADS, VEHICLES, make_shop

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.problems import Severity

JOBS = 14  # each job of the demo twice


def test_a_made_shop_is_worked_out(tmp_path: Path) -> None:
    make_shop(JOBS, tmp_path / "shop")
    loaded = load_shop(tmp_path / "shop")
    plans, problems = plan_jobs(loaded)
    assert [p.line() for p in problems if p.severity is Severity.ERROR] == []
    assert (len(plans), len(loaded.library.vehicles), len(loaded.library.leads)) == (JOBS, VEHICLES, LEADS)
    assert all(any(c.made for c in plan.circuits) for plan in plans.values())


def test_the_same_number_gives_the_same_shop(tmp_path: Path) -> None:
    for name in ("one", "other"):
        make_shop(3, tmp_path / name)
    files = [{p.relative_to(top).as_posix(): p.read_bytes() for p in top.rglob("*.yaml")} for top in tmp_path.iterdir()]
    assert files[0] == files[1] and len(files[0]) > VEHICLES + LEADS
