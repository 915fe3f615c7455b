"""The order of work on the bench."""

from __future__ import annotations

from collections import Counter

from loomleaf.plan.types import Plan
from tests.makers import lead
from tests.plan.benches import DASH, DRAWS, RADIO, work


def plan_with(*extra: str) -> Plan:
    return work(lead("dash", "vehicle", *DASH, *extra), lead("radio", "radio", *RADIO, more=DRAWS))


def test_a_spare_is_capped_once_and_the_live_ones_come_first() -> None:
    """Fold, cap, tie, a spare at a time: common practice, no source."""
    plan = plan_with("A.11 supply-switched", "A.12 illumination")
    texts = [s.text for s in plan.steps if s.stage == "spares"]
    live = [s.id for s in plan.spares if s.live]
    assert live and texts[0].endswith(f"live ones first: {', '.join(live)}.")
    doing = Counter(word for text in texts for word in ("Cap ", "Fold ", "Tie ") if text.startswith(word))
    assert doing == {"Cap ": 1, "Fold ": 1, "Tie ": 1}
    assert texts.index("Fold the spare back at its full length.") < next(i for i, t in enumerate(texts) if t.startswith("Cap "))


def test_the_lead_goes_into_the_vehicle_before_its_far_end_is_read() -> None:
    """And the hold point is about the radio, not about the lead: common practice, no source."""
    plan = plan_with()
    told = [s for s in plan.steps if s.stage == "lead-in"]
    assert "plug in the vehicle" in told[0].text and "nothing else" in told[0].text
    hold = told[-1]
    assert (hold.kind, hold.row) == ("hold", "before-plugging-in") and "radio" in hold.text
    rows = [s.row for s in plan.steps if s.kind == "hold"]
    assert rows == ["before-plugging-in", "before-the-trim-goes-back"]  # as readings files name them


def test_a_laid_cable_is_read_before_the_lead_is_in_the_vehicle() -> None:
    more = "terminal=ring-terminal feed=battery size=6_mm2"
    plan = work(
        lead("kit", "vehicle", f"battery supply-constant fuse_a=30 {more}", f"stud ground {more}"),
        lead("amp", "accessory", f"plus supply-constant {more}", f"minus ground {more}"),
    )
    told = [s.text for s in plan.steps if s.stage == "lead-in"]
    ids = [c.id for c in plan.circuits if c.made]
    assert told[0].endswith(f"battery lead off: {', '.join(ids)}.") and "plug in the vehicle" in told[1]
