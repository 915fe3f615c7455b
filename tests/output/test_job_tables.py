"""A job's lists as spreadsheets: the same rows as the plan, and nothing that runs."""

from __future__ import annotations

import csv
import io

from loomleaf.output.job_tables import job_tables
from tests.plan.shops import STOCK, planned


def rows(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))


def test_picking_and_cut_list_say_what_the_plan_says() -> None:
    plan, _ = planned(job="takes: [cage, keys]\n", plates="[A1, A2]")
    assert plan.workshop is not None
    files = job_tables(plan)
    assert set(files) == {"1-picking.csv", "1-cut-list.csv"}
    picking = {r["item"]: r for r in rows(files["1-picking.csv"])}
    assert [picking["cage"][k] for k in ("wanted", "on hand", "short", "order", "packs")] == [
        "2",
        "1",
        "1",
        "5",
        "1",
    ]
    assert len(rows(files["1-picking.csv"])) == len(plan.workshop.picks)
    cuts = rows(files["1-cut-list.csv"])
    assert len(cuts) == len(plan.workshop.cuts)
    assert all(int(r["pieces in all"]) == 2 * int(r["pieces a vehicle"]) for r in cuts)


def test_a_title_that_is_a_formula_stays_text() -> None:
    plan, _ = planned(job="takes: [cage]\n", stock=STOCK.replace("title: Cage", "title: '=1+1'"))
    titles = {r["title"] for r in rows(job_tables(plan)["1-picking.csv"])}
    assert "'=1+1" in titles and "=1+1" not in titles
