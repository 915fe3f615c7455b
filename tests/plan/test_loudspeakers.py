"""Loads, windows at the plug, power and levels."""

from __future__ import annotations

import math

import pytest

from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, codes, message, value, work

LIMITS = "limits: {speaker_minimum_ohm: 4, speaker_power_w: 22, power_ohm: 4, line_out_v: 4, speaker_level_v: 9.4}\n"


def pair_of(function: str, plus: str, minus: str) -> tuple[str, str]:
    return f"{plus} {function} +", f"{minus} {function} -"


def plan_with(load: str, more: str = LIMITS, extra: str = "", job: str = ""):
    vehicle = CAR + f'speakers: [{{at: front-left, load: "{load}"{extra}}}]\n' if load else CAR
    return work(
        lead("dash", "vehicle", *DASH, *pair_of("speaker-front-left", "B.5", "B.6")),
        lead("radio", "radio", *RADIO, *pair_of("speaker-front-left", "white", "white-black"), more=DRAWS + more),
        vehicle=vehicle,
        job=job,
    )


def channel(plan):
    return plan.engineering["loudspeakers"]["channels"][0]


def test_two_of_4_ohm_in_parallel_are_under_a_4_ohm_driver() -> None:
    """4 × 4 ÷ (4 + 4) = 2 Ω; IEC 60268-5 lets the lowest fall to 80 % of rated, 1.6 Ω."""
    plan = plan_with("4 || 4")
    assert (value(channel(plan)["impedance_ohm"]), value(channel(plan)["lowest_ohm"])) == (2, 1.6)
    assert codes(plan, "speaker-load-low") == ["speaker-load-low"]
    assert "2 Ω" in message(plan, "speaker-load-low")
    assert plan.held
    assert codes(plan_with("4 + 4"), "speaker-load-low") == []


def test_power_shared_by_a_voltage_source() -> None:
    """22 W into 4 Ω gives 11 W into 8 Ω (P = V² / R)."""
    assert value(channel(plan_with("8"))["power_w"]) == pytest.approx(11)


def test_the_window_at_the_plug_reaches_the_checks() -> None:
    """4 Ω reads 3.1 to 4.0 Ω (a published list), and 0.5 Ω more through the vehicle's wire (common practice)."""
    plan = plan_with("4")
    found = [
        c for c in plan.checks if c.unit == "Ω" and "dash/B.5" in c.tails and not c.open and c.stage == "before-joining"
    ]
    assert [(c.low, c.high) for c in found] == [(3.1, 4.5)]


def test_a_proof_in_the_job_file_is_judged_by_the_same_window_as_the_sheet() -> None:
    """4 Ω reads 3.1 to 4.0 Ω (a published list), 4.5 Ω with the wire (common practice). 1.2 Ω is inside the 1 to 16 Ω that
    the function allows any loudspeaker, and is half a short here."""
    proof = "proofs:\n  - {tail: dash/B.5, condition: unplugged, reading: %s ohm, by: RP, on: 2026-05-11}\n"
    for reading, verdict in (("1.2", False), ("3.8", True), ("15", False)):
        plan = plan_with("4", job=proof % reading)
        judged = next(p for p in plan.states[0].proofs if p.tail == "dash/B.5")
        assert (judged.verdict, judged.expected) == (verdict, "3.1 to 4.5 Ω")
        assert ("proof-contradicts" in codes(plan)) is not verdict
        assert not any("1 to 16" in line for state in plan.states for line in state.before_next)
    wide = plan_with("4", extra=", crossover: yes", job=proof % "1.2")
    assert next(p for p in wide.states[0].proofs).expected == "1 to 16 Ω"


def test_behind_a_crossover_no_window_is_claimed() -> None:
    plan = plan_with("4", extra=", crossover: yes")
    found = [
        c for c in plan.checks if c.unit == "Ω" and "dash/B.5" in c.tails and not c.open and c.stage == "before-joining"
    ]
    assert [(c.low, c.high) for c in found] == [(1.0, 16.0)]


def test_what_is_not_stated_is_said() -> None:
    plan = plan_with("")
    assert channel(plan)["impedance_ohm"].value is None
    assert any("front left is not in the vehicle's file" in note for note in plan.engineering["notes"])
    silent = plan_with("4", more="")
    assert any("does not state its least load" in note for note in silent.engineering["notes"])
    assert channel(silent)["power_w"].value is None


def added(sensitivity: str, by: str):
    amp_ends = "ready_ends: [{name: line-front, type: line-plug}]\n" if by == "line" else ""
    radio_ends = "ready_ends: [{name: line-front, type: line-socket}]\n" if by == "line" else ""
    feed = "feed=battery terminal=ring-terminal size=6_mm2"
    ohm = "" if "power_ohm" in sensitivity else "power_ohm: 4, "
    inputs = pair_of("speaker-level-front-left", "ip", "im") if by == "speaker" else ()
    return work(
        lead("dash", "vehicle", *DASH, *pair_of("speaker-front-left", "B.5", "B.6")),
        lead("radio", "radio", *RADIO, *pair_of("speaker-front-left", "white", "white-black"), more=DRAWS + LIMITS + radio_ends),
        lead("kit", "vehicle", f"battery supply-constant {feed}", f"stud ground {feed}", more="fuse_a: 30\n"),
        lead("amp", "accessory", f"plus supply-constant {feed}", f"minus ground {feed}", *inputs,
             *pair_of("speaker-front-left", "op", "om"),
             more="draws: {running_a: 10, peak_a: 20}\nfuse_a: 30\n" + amp_ends
             + f"limits: {{power_w: 50, speaker_minimum_ohm: 2, {ohm}{sensitivity}}}\n"),
        job="feed: {speaker-front-left: amp, speaker-level-front-left: radio}\n",
        vehicle=CAR + 'speakers: [{at: front-left, load: "4"}]\n',
    )  # fmt: skip


def test_an_amplifiers_gain_is_set_by_volts() -> None:
    """50 W into 4 Ω is √200 = 14.14 V; from 4 V of line that is 20 log10(14.14 ÷ 4) = 10.97 dB."""
    plan = added("sensitivity_low_v: 0.2, sensitivity_high_v: 5", "line")
    row = plan.engineering["loudspeakers"]["levels"][0]
    assert (row["by"], value(row["in_v"])) == ("line level", 4)
    assert value(row["gain_setting_v"]) == pytest.approx(math.sqrt(200))
    assert value(row["gain_db"]) == pytest.approx(10.97, abs=0.005)
    check = next(c for c in plan.checks if c.key == "gain-amp")
    assert (check.unit, check.high) == ("Vac", 14.14)


def test_a_subwoofers_gain_is_set_with_a_tone_that_its_output_passes() -> None:
    """A low-passed output gives almost nothing at 1 kHz: 50 Hz (common practice, no source)."""

    def gain(*outputs: str) -> tuple[str, str]:
        tails_ = [row for n, name in enumerate(outputs) for row in pair_of(name, f"p{n}", f"m{n}")]
        plan = work(
            lead("dash", "vehicle", *DASH),
            lead("radio", "radio", *RADIO, more=DRAWS),
            lead("amp", "accessory", "red supply-switched", "black ground", *tails_,
                 more="draws: {running_a: 2}\nfuse_a: 3\nlimits: {power_w: 50, power_ohm: 4}\n"),
        )  # fmt: skip
        check = next(c for c in plan.checks if c.key == "gain-amp")
        return check.condition.partition(" test tone")[0], plan.engineering["loudspeakers"]["levels"][0][
            "tone_hz"
        ].known.value

    assert gain("speaker-subwoofer") == ("50 Hz", "common-practice")
    assert gain("speaker-front-left", "speaker-front-right") == ("1 kHz", "common-practice")
    assert gain("speaker-front-left", "speaker-subwoofer")[0] == "1 kHz"


def test_speaker_level_against_line_level() -> None:
    """9.4 V against 4 V: 20 log10(2.35) = 7.42 dB."""
    row = added("sensitivity_low_v: 2, sensitivity_high_v: 10", "speaker").engineering["loudspeakers"]["levels"][0]
    assert row["by"] == "speaker level"
    assert value(row["speaker_to_line_db"]) == pytest.approx(7.42, abs=0.005)


@pytest.mark.parametrize(
    ("sensitivity", "by", "told"),
    [
        ("sensitivity_low_v: 0.2, sensitivity_high_v: 3", "line", ["level-too-high"]),
        ("sensitivity_low_v: 5, sensitivity_high_v: 9", "line", ["level-too-low"]),
        ("sensitivity_low_v: 0.2, sensitivity_high_v: 5", "line", []),
        ("sensitivity_low_v: 2, sensitivity_high_v: 9", "speaker", ["level-too-high"]),
    ],
)
def test_a_level_outside_the_input_is_told(sensitivity: str, by: str, told: list[str]) -> None:
    plan = added(sensitivity, by)
    assert codes(plan, "level-too-high", "level-too-low") == told
    assert not plan.held


@pytest.mark.parametrize(("stated", "power_ohm"), [("9.4", "0.001"), ("400", "4")])
def test_a_level_that_cannot_be_worked_out_is_left_open(
    monkeypatch: pytest.MonkeyPatch, stated: str, power_ohm: str
) -> None:
    """A thousandth of an ohm, or 400 V from a radio, are outside what is worked out: the field says why it is empty."""
    monkeypatch.setattr(
        "tests.plan.test_loudspeakers.LIMITS", LIMITS.replace("line_out_v: 4,", f"line_out_v: {stated},")
    )
    plan = added(f"sensitivity_low_v: 0.2, sensitivity_high_v: 5, power_ohm: {power_ohm}", "line")
    row = plan.engineering["loudspeakers"]["levels"][0]
    assert row["gain_db"].value is None and "it must be from" in row["gain_db"].working
