"""Turn-on outputs: what hangs on them, and the relay that is called for."""

from __future__ import annotations

from tests.makers import lead
from tests.plan.benches import DASH, DRAWS, RADIO, joint, value, work


def amp(name: str, takes: str) -> str:
    feed = "feed=battery terminal=ring-terminal size=6_mm2"
    return lead(
        name, "accessory", f"plus supply-constant {feed}", f"minus ground {feed}", f"on amplifier-turn-on {takes}",
        more="draws: {running_a: 5, peak_a: 10}\nfuse_a: 20\n",
    )  # fmt: skip


KIT = lead(
    "kit", "vehicle",
    "battery supply-constant feed=battery terminal=ring-terminal size=6_mm2",
    "stud ground feed=battery terminal=ring-terminal size=6_mm2",
    more="fuse_a: 30\n",
)  # fmt: skip


def plan_with(gives: str, *amps: str, limits: str = "", shop: str = ""):
    return work(
        lead("dash", "vehicle", *DASH),
        lead("radio", "radio", *RADIO, f"blue amplifier-turn-on {gives}", more=DRAWS + limits),
        KIT,
        *amps,
        shop=shop,
    )


def row(plan):
    return next(r for r in plan.engineering["turn_on"] if r["title"] == "Amplifier turn-on")


def test_the_sum_against_what_the_output_gives() -> None:
    plan = plan_with("gives_ma=100", amp("one", "takes_ma=40"), amp("two", "takes_ma=50"))
    found = row(plan)
    assert (value(found["total_ma"]), value(found["limit_ma"]), value(found["relay"])) == (90, 100, False)
    assert plan.engineering["parts_called_for"] == []
    assert next(c for c in plan.circuits if c.id == found["circuit"]).combine == ""


def test_over_the_limit_a_relay_with_a_fused_feed_is_called_for_everywhere() -> None:
    plan = plan_with("gives_ma=100", amp("one", "takes_ma=60"), amp("two", "takes_ma=50"))
    found = row(plan)
    assert value(found["relay"]) is True
    circuit = next(c for c in plan.circuits if c.id == found["circuit"])
    assert circuit.combine == "relay"
    assert "clamp" in joint(plan, circuit.id).why
    called = [p for p in plan.engineering["parts_called_for"] if p["circuit"] == circuit.id]
    assert [p["item"] for p in called] == ["relay", "fuse-5"]
    assert any(c.key == f"combine-{circuit.id.lower()}" for c in plan.checks)
    assert not plan.held


def test_the_limit_comes_from_the_tail_then_the_part_then_the_shop() -> None:
    own = "limits: {turn_on_ma: 80, off_delay_s: 3}\n"
    assert value(row(plan_with("gives_ma=100", amp("one", "takes_ma=60"), limits=own))["limit_ma"]) == 100
    stated = row(plan_with("", amp("one", "takes_ma=60"), limits=own))
    assert (value(stated["limit_ma"]), value(stated["off_delay_s"])) == (80, 3)
    silent = row(plan_with("", amp("one", "takes_ma=60"), shop="supply: {turn_on_default_ma: 50}\n"))
    assert (value(silent["limit_ma"]), value(silent["relay"])) == (50, True)
    assert silent["off_delay_s"].value is None


def test_what_is_not_stated_is_left_out_and_said() -> None:
    plan = plan_with("gives_ma=100", amp("one", "takes_ma=60"), amp("two", ""))
    assert row(plan)["not_stated"] == ["two/on"]
    assert value(row(plan)["total_ma"]) == 60
    assert any("two/on" in note and "Measure it" in note for note in plan.engineering["notes"])


def test_a_module_that_feeds_more_than_its_output_gives_holds() -> None:
    plan = work(
        lead("dash", "vehicle", "A.4 supply-constant", "A.8 ground"),
        lead("radio", "radio", *RADIO, more=DRAWS),
        lead("box", "module", "plus supply-constant", "minus ground", "out accessory-output gives_ma=200",
             more="kind: data\ndraws: {running_a: 0.2}\nfuse_a: 5\n"),
        lead("camera", "accessory", "red supply-switched", "black ground", more="draws: {running_a: 0.3}\nfuse_a: 1\n"),
    )  # fmt: skip
    found = next(p for p in plan.problems if p.code == "output-overloaded")
    assert "300 mA > 200 mA" in found.message
    assert plan.held
