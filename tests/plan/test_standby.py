"""With the key out: the sum, the days, the reading to expect."""

from __future__ import annotations

import pytest

from tests.makers import lead
from tests.plan.benches import CAR, DASH, RADIO, codes, value, work
from tests.plan.shops import PROOFS, planned
from tests.plan.test_readings import sheet


def plan_with(standby: str, vehicle: str = CAR):
    more = f"draws: {{running_a: 4, peak_a: 8{standby}}}\nfuse_a: 10\n"
    return work(lead("dash", "vehicle", *DASH), lead("radio", "radio", *RADIO, more=more), vehicle=vehicle)


def test_days_by_hand() -> None:
    """60 Ah from 80 to 65 %: 9000 mAh; 5 + 20 mA for 24 h is 600 mAh, self-discharge 4 % of 60 Ah in 30.4375 days."""
    found = plan_with(", standby_ma: 5").engineering["standby"]
    assert value(found["total_ma"]) == 25
    assert value(found["days"]) == pytest.approx(9000 / (600 + 60_000 * 0.04 / 30.4375))


def test_the_reading_is_a_check() -> None:
    """The shop's limit of 50 mA is the usual bound (workshop figures, no one standard)."""
    check = next(c for c in plan_with(", standby_ma: 5").checks if c.key == "standby-current")
    assert (check.low, check.high, check.unit) == (None, 50, "mA")
    assert "about 25 mA" in check.expected
    assert "negative lead" in check.probes


def test_over_the_limit_is_told_and_does_not_hold() -> None:
    plan = plan_with(", standby_ma: 40")
    assert codes(plan, "standby-over-limit", "standby-flat") == ["standby-over-limit"]
    assert not plan.held
    assert next(c.high for c in plan.checks if c.key == "standby-current") == pytest.approx(72)


def test_a_battery_that_would_not_last_holds() -> None:
    plan = plan_with(", standby_ma: 400")
    assert codes(plan, "standby-over-limit", "standby-flat") == ["standby-flat", "standby-over-limit"]
    assert plan.held


def test_what_is_not_known_is_said() -> None:
    plan = plan_with(", standby_ma: 5", CAR.replace(", standby_ma: 20", ""))
    assert plan.engineering["standby"]["days"].value is None
    assert any("vehicle's own draw" in note for note in plan.engineering["notes"])
    assert not any(c.key == "standby-current" for c in plan.checks)
    plan = plan_with(", standby_ma: 5", CAR.replace("capacity_ah: 60, ", ""))
    assert plan.engineering["standby"]["days"].value is None
    assert value(plan.engineering["standby"]["total_ma"]) == 25
    silent = plan_with("")
    assert silent.engineering["standby"]["not_stated"] == ["radio"]


def test_a_current_that_may_be_amperes_verifies_nothing() -> None:
    """0,2 without a unit may be 200 mA: the vehicle alone draws 20 mA."""
    plan = planned(job=PROOFS)[0]
    released = {"signatures": "[{row: before-plugging-in, by: RP}]"}
    doubted = planned(job=PROOFS, files=sheet(plan, change={"standby-current": "0,2"}, **released))[0]
    number = next(c.number for c in plan.checks if c.key == "standby-current")
    assert doubted.state == "plug-in"
    assert doubted.states[0].before_next == (f"Readings under load, in their windows, after plugging in: still wanted {number}.",)
    assert planned(job=PROOFS, files=sheet(plan, change={"standby-current": "22 mA"}, **released))[0].state == "verified"
