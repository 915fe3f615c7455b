"""Wheel buttons on resistors."""

from __future__ import annotations

import pytest

from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, codes, message, value, work

INPUT = "wheel_input: {pull_up_ohm: 1000, supply_v: 5, pull_up_tolerance_percent: 0, tolerance_percent: 0, contact_ohm: 0}\n"


def plan_with(buttons: str, more: str = INPUT, wires: bool = True):
    own = ("A.2 wheel-button-1", "A.3 wheel-ground") if wires else ()
    reads = ("sw wheel-button-1", "sg wheel-ground") if wires else ()
    return work(
        lead("dash", "vehicle", *DASH, *own),
        lead("radio", "radio", *RADIO, *reads, more=DRAWS + more),
        vehicle=CAR + f"wheel_buttons: [{{buttons: {{{buttons}}}, long_press: [mute], source: measured}}]\n",
    )


def test_a_divider_by_hand() -> None:
    """5 V through 1 kΩ to 1 kΩ is 2.5 V; to 250 Ω is 1 V (Ohm's law)."""
    table = plan_with("up: 1000, mute: 250").engineering["wheel_buttons"][0]
    assert [row["button"] for row in table["buttons"]] == ["mute", "up"]
    assert [value(row["volts"]) for row in table["buttons"]] == [1.0, 2.5]
    assert [row["long_press"] for row in table["buttons"]] == [True, False]
    assert value(table["idle_v"]) == 5
    assert (table["tail"], table["against"]) == ("radio/sw", "radio/sg")
    assert any("Never at the wheel" in note for note in table["notes"])


def test_buttons_that_read_alike_hold() -> None:
    close = INPUT.replace(" tolerance_percent: 0", " tolerance_percent: 5")
    plan = plan_with("up: 1000, down: 1080", close)
    assert codes(plan, "buttons-overlap") == ["buttons-overlap"]
    assert "'up' and 'down'" in message(plan, "buttons-overlap")
    assert plan.held
    assert codes(plan_with("up: 1000, down: 1200", close), "buttons-overlap") == []


def test_a_part_that_hides_its_input_gets_resistances_only() -> None:
    """5 % resistors and 20 Ω of contact: 330 Ω reads 313.5 to 366.5 Ω."""
    table = plan_with("up: 330, down: 820", more="").engineering["wheel_buttons"][0]
    up = table["buttons"][0]
    assert (value(up["meter_low_ohm"]), value(up["meter_high_ohm"])) == (pytest.approx(313.5), pytest.approx(366.5))
    assert up["volts"].value is None
    assert "buttons-overlap" in codes(plan_with("up: 330, down: 360", more=""))


def test_each_button_is_a_check_at_the_radio_plug() -> None:
    plan = plan_with("up: 1000, mute: 250")
    found = [c for c in plan.checks if c.key.startswith("wheel-wheel-button-1-")]
    assert [(c.key, c.low, c.high) for c in found] == [
        ("wheel-wheel-button-1-mute", 250, 250),
        ("wheel-wheel-button-1-up", 1000, 1000),
    ]
    assert {c.probes for c in found} == {"radio/sw to radio/sg"}
    assert {c.stage for c in found} == {"before-plugging-in"}


def test_a_part_that_stays_wired_in_is_not_read_with_the_buttons() -> None:
    """Its own input would stand in parallel: the lead comes off, and the vehicle's plug is measured."""
    plan = work(
        lead("dash", "vehicle", *DASH, "A.2 wheel-button-1", "A.3 wheel-ground"),
        lead("radio", "radio", *RADIO, more=DRAWS),
        lead("box", "module", "red supply-switched", "black ground", "sw wheel-button-1", "sg wheel-ground"),
        vehicle=CAR + "wheel_buttons: [{buttons: {up: 1000, mute: 250}, source: measured}]\n",
    )
    found = [c for c in plan.checks if c.key.startswith("wheel-")]
    assert {c.probes for c in found} == {"dash/A.2 to dash/A.3"}
    assert all("pulled off the vehicle's plug" in c.condition for c in found)


def test_buttons_that_travel_another_way_are_left_out_and_said() -> None:
    plan = plan_with("up: 1000", wires=False)
    assert plan.engineering["wheel_buttons"] == []
    assert any("not joined in this job" in note for note in plan.engineering["notes"])


WHEEL_CAR = CAR.replace("features: []", "features: [wheel-controls]")


def hand_over(buttons: str, long_press: str) -> str:
    plan = work(
        lead("dash", "vehicle", *DASH, "A.2 wheel-button-1", "A.3 wheel-ground"),
        lead("radio", "radio", *RADIO, "sw wheel-button-1", "sg wheel-ground", more=DRAWS + INPUT),
        vehicle=WHEEL_CAR + f"wheel_buttons: [{{buttons: {{{buttons}}}, long_press: {long_press}, source: measured}}]\n",
    )
    taught = {row["button"] for row in plan.engineering["wheel_buttons"][0]["buttons"] if row["long_press"]}
    words = next(c.expected for c in plan.checks if c.key == "hand-over-wheel-controls")
    assert all(name.replace("-", " ") in words for name in taught)
    return words


def test_what_is_held_long_at_hand_over_is_what_the_table_teaches_so() -> None:
    """Both from the vehicle's file: no part and no feature says which button is held long."""
    assert hand_over("up: 1000, source-select: 250", "[source-select]").endswith("Hold long as well: source select.")
    assert hand_over("up: 1000, mute: 250", "[up, mute]").endswith("Hold long as well: mute and up.")
    assert hand_over("up: 1000, mute: 250", "[]").endswith("No button has a long press.")


def test_teaching_is_not_told_in_one_breath_with_measuring() -> None:
    """Teaching needs the radio on, measuring needs it unplugged: common practice, no source."""
    notes = plan_with("up: 1000, mute: 250").engineering["wheel_buttons"][0]["notes"]
    teach = next(i for i, note in enumerate(notes) if "teach" in note.lower())
    assert "plugged in and on" in notes[teach] and not any("unplugged" in note for note in notes[: teach + 2])
