"""Tools follow from the checks and joints of a job: none that is called for is missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.check_order import BENCH_STAGES
from loomleaf.plan.tools import TOOLS, tools_called_for, tools_to_have
from loomleaf.plan.types import Plan
from tests.makers import lead, plan_of


@pytest.fixture(scope="module")
def plans(root: Path) -> dict[str, Plan]:
    return plan_jobs(load_shop(root / "content"))[0]


def titles(plan: Plan) -> set[str]:
    return {tool.title for tool in tools_called_for(plan.checks, plan.joints)}


def test_each_reading_finds_its_tool(plans: dict[str, Plan]) -> None:
    """Lamp, 5 A, fused 12 V and clamp meter, as the checks' own words ask for them: common practice, no source."""
    for job, plan in plans.items():
        found = titles(plan)
        told = " / ".join(f"{c.condition} {c.probes}" for c in plan.checks)
        assert "Multimeter" in found
        assert ("5 W lamp" in told) is ("Test lamp, 5 W" in found), job
        assert ("bench supply" in told) is ("Bench supply, 5 A" in found), job
        assert ("clamp meter" in told) is ("Clamp meter for DC milliamps" in found), job
        assert ("1 A fuse" in told) is ("Lead with a 1 A fuse" in found), job
        assert any(j.method.solder for j in plan.joints) is ("Soldering iron with extraction" in found), job
    assert "Lead with a 1 A fuse" in titles(plans["2041"]) and "Lead with a 1 A fuse" not in titles(plans["2031"])


def test_the_bench_needs_what_is_read_there_alone(plans: dict[str, Plan]) -> None:
    bench = tools_called_for((c for c in plans["2031"].checks if c.stage in BENCH_STAGES), plans["2031"].joints)
    assert "Clamp meter for DC milliamps" not in {tool.title for tool in bench}


def test_a_shops_own_names_come_first_and_what_it_lacks_is_told() -> None:
    plan = plan_of(lead("car", "vehicle", "A.4 supply-constant"), lead("radio", "radio", "M.1 supply-constant"))
    called_for = tools_called_for(plan.checks, plan.joints)
    own = ("Soldering station", "Lamp of 5 W in a holder", "Trim levers")
    told = tools_to_have(called_for, own, ["Multimeter M1"])
    assert told[:2] == ("Lamp of 5 W in a holder", "Trim levers")  # nothing is soldered here
    assert "Bench supply, 5 A" in told and "Multimeter" not in told and "Test lamp, 5 W" not in told


def test_every_tool_is_known_by_its_own_title() -> None:
    for tool in TOOLS:
        words = tool.title.lower()
        assert any(all(word in words for word in known) for known in tool.known_by), tool.title


def test_the_demo_shop_has_what_its_jobs_call_for(root: Path, plans: dict[str, Plan]) -> None:
    shop = load_shop(root / "content").library.shop
    assert shop is not None
    for plan in plans.values():
        called_for = tools_called_for(plan.checks, plan.joints)
        told = tools_to_have(called_for, shop.value.tools, [i["name"] for i in shop.value.instruments])
        assert set(told) <= set(shop.value.tools)
