"""The list of what to fetch, on the cutting sheet: every need once, what is short said, no price."""

from __future__ import annotations

from decimal import Decimal

import pytest

from loomleaf.sheets.picklist import pick_list
from tests.plan.shops import planned

from .conftest import FLEET_JOB, FULL_JOB, World, sheet


@pytest.mark.parametrize("job", [FULL_JOB, FLEET_JOB])
def test_every_need_of_the_job_stands_on_it_once(world: World, job: str) -> None:
    plan = world.plans[job]
    assert plan.workshop is not None
    rows = pick_list(plan)
    assert sorted(row.what for row in rows) == sorted(need.title for need in plan.workshop.needs)
    made = {need.title: need for need in plan.workshop.needs}
    for row in rows:
        said = Decimal(row.quantity.removesuffix(" m"))
        assert Decimal(0) <= said - made[row.what].quantity < Decimal("0.01"), row.what


def test_what_is_short_and_what_comes_back_is_said() -> None:
    plan, _ = planned(job="takes: [keys, cage]\n", plates="[A1, A2, A3]")
    rows = {row.what: row for row in pick_list(plan)}
    assert (rows["Cage"].quantity, rows["Cage"].note) == ("3", "short: 1 on hand, order 5")
    assert (rows["Removal keys"].quantity, rows["Removal keys"].note) == ("1", "tool, comes back")
    assert pick_list(plan)[0].what == "Removal keys"  # tools are fetched first
    assert rows["Butt connector"].note == ""


def test_it_is_printed_without_a_price(world: World) -> None:
    text = " ".join(" ".join(page.extract_text() for page in sheet("cutting", FULL_JOB).reader.pages).split())
    assert "From the shelf" in text
    for row in pick_list(world.plans[FULL_JOB]):
        assert row.what in text
    assert world.shop.currency not in text.split("From the shelf")[1]
