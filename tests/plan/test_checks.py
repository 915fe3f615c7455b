"""The checks that come out of a job's circuits."""

from __future__ import annotations

import re
from pathlib import Path

from loomleaf.model.readings import ReadingBack
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.readings import judge_reading
from loomleaf.plan.types import STAGES
from tests.makers import VEHICLE, lead, plan_of

CAR = lead(
    "car",
    "vehicle",
    "A.4 supply-constant yellow",
    "A.5 ground black",
    "A.6 speaker-front-left + white",
    "A.7 speaker-front-left - white/black",
    "A.20 airbag yellow",
    "A.21 data-can high orange",
)
RADIO = lead(
    "radio",
    "radio",
    "M.1 supply-constant yellow",
    "M.2 ground black",
    "M.3 speaker-front-left + white",
    "M.4 speaker-front-left - white/black",
)


def test_numbers_run_on_and_keys_are_unique_and_plain() -> None:
    checks = plan_of(CAR, RADIO).checks
    assert [c.number for c in checks] == list(range(1, len(checks) + 1))
    keys = [c.key for c in checks]
    assert len(set(keys)) == len(keys)
    assert all(key.replace("-", "").isalnum() and key.isascii() for key in keys)
    stages = [STAGES.index(c.stage) for c in checks]
    assert stages == sorted(stages)


def test_every_joined_circuit_is_checked_for_continuity_under_0_3_ohm() -> None:
    """0.3 Ω with the leads nulled: common practice, no source."""
    plan = plan_of(CAR, RADIO)
    continuity = {c.circuit: c for c in plan.checks if c.key.startswith("continuity-")}
    assert set(continuity) == {c.id for c in plan.circuits if c.made}
    assert all(c.high == 0.3 and c.unit == "Ω" and "nulled" in c.meter for c in continuity.values())


def test_supplies_and_grounds_are_checked_under_five_amps() -> None:
    plan = plan_of(CAR, RADIO)
    loaded = {c.circuit for c in plan.checks if c.key.startswith("drop-")}
    assert loaded == {c.id for c in plan.circuits if c.group in ("supply", "ground") and c.made}


def test_neighbouring_circuits_are_checked_for_isolation_each_pair_once() -> None:
    plan = plan_of(CAR, RADIO)
    owner = {t.name: c.id for c in plan.circuits for t in c.tails}
    found = [
        frozenset((check.circuit, owner[other]))
        for check in plan.checks
        if check.key.startswith("apart-")
        for other in check.tails[1:]
    ]
    assert len(set(found)) == len(found)
    names = {c.function_id + c.pole: c.id for c in plan.circuits}
    supply, ground = names["supply-constant"], names["ground"]
    plus, minus = names["speaker-front-leftplus"], names["speaker-front-leftminus"]
    assert {frozenset(p) for p in [(supply, ground), (ground, plus), (plus, minus)]} <= set(found)


def test_nothing_is_ever_measured_on_an_airbag_or_data_way() -> None:
    plan = plan_of(CAR, RADIO)
    touched = {t for c in plan.checks for t in c.tails}
    assert not touched & {"car/A.20", "car/A.21"}
    assert not any("A.20" in c.probes or "A.21" in c.probes for c in plan.checks)


def test_expected_values_are_never_just_ok_and_failure_is_answered() -> None:
    for check in plan_of(CAR, RADIO).checks:
        assert check.expected.strip().lower() not in ("", "ok", "good", "pass")
        assert check.on_failure and check.probes and check.condition
        assert check.yes_no or check.open or check.low is not None or check.high is not None


# --- what a fitter can really do at each of them (common practice, no source) --------------------------------------

FEED = lead(
    "kit",
    "vehicle",
    "battery supply-constant feed=battery role=drives terminal=ring-terminal size=8_AWG length_mm=5000 fuse_a=30",
    "stud ground feed=battery role=drives terminal=ring-terminal size=8_AWG",
)
AMP = lead(
    "amp",
    "accessory",
    "supply supply-constant feed=battery terminal=ring-terminal size=6_mm2",
    "body ground feed=battery terminal=ring-terminal size=6_mm2",
)
BOX = lead("box", "module", "red supply-constant red fuse_a=1", "black ground black")


def test_no_test_current_goes_through_a_small_fuse_in_a_wire() -> None:
    """5 A would open a 1 A fuse; the radio, with none in its wire, still takes the test."""
    plan = plan_of(CAR, RADIO, BOX)
    probes = {c.key: c.probes for c in plan.checks if c.key.startswith("drop-")}
    supplies = [words for key, words in probes.items() if key.startswith("drop-s")]
    assert any("radio/M.1" in words for words in supplies) and not any("box/red" in words for words in supplies)
    assert any("box/black" in words for key, words in probes.items() if key.startswith("drop-g"))
    assert not [c for c in plan_of(CAR, BOX).checks if c.key.startswith("drop-s")]


def test_long_thin_wires_are_allowed_what_they_lose_at_five_amps() -> None:
    """2 × 2 m of 0.5 mm² at 39.0 Ω/km (IEC 60228 class 5, or less in the automotive list) lose 0.78 V at 5 A."""
    long = lead("car", "vehicle", "A.4 supply-constant size=0.5_mm2 length_mm=2000", "A.5 ground")
    radio = lead("radio", "radio", "M.1 supply-constant size=0.5_mm2 length_mm=2000", "M.2 ground")
    checks = {c.key: c for c in plan_of(long, radio).checks}
    limit = checks["drop-s1"].high
    assert limit is not None and 5 * 4 * 0.0371 <= limit <= 5 * (4 * 0.039 + 0.002) + 0.01
    assert checks["drop-g1"].high == 0.1


def test_a_poor_joint_does_not_hide_behind_the_longest_wire_of_a_shared_ground() -> None:
    """Three parts on one ground: each branch has its own reading and its own limit. 0.3 m + 0.2 m of 0.75 mm² and a joint
    of 2 mΩ lose 5 × (0.5 × 0.026 + 0.002) = 0.075 V at 5 A (IEC 60228 class 5, 26.0 Ω/km): 0.1 V stands. 0.3 m of
    0.75 mm² and 2 m of 0.5 mm² (39.0 Ω/km; the automotive list says 37.1) lose up to 5 × (0.0078 + 0.078 + 0.002) =
    0.439 V. Before, 0.43 V or more was allowed to the radio as well, and 90 mΩ in its joint passed."""
    dash = lead("dash", "vehicle", "A.4 supply-constant", "A.5 ground size=0.75_mm2 length_mm=300")
    radio = lead("radio", "radio", "M.1 supply-constant", "M.3 ground size=0.75_mm2 length_mm=200")
    box = lead("box", "module", "red supply-constant", "black ground size=0.5_mm2 length_mm=2000")
    checks = {c.key: c for c in plan_of(dash, radio, box).checks}
    near, far = checks["drop-g1-radio-m-3"], checks["drop-g1-box-black"]
    assert (near.probes, near.high) == ("dash/A.5 to radio/M.3", 0.1)
    assert far.probes == "dash/A.5 to box/black"
    assert far.high is not None and 5 * (0.3 * 0.0247 + 2 * 0.0371) <= far.high <= 0.439 + 0.01
    assert "drop-g1" not in checks
    joined = checks["continuity-g1"]
    assert joined.probes == "dash/A.5 to each of radio/M.3 and box/black" and joined.high == 0.3


def test_every_fitted_part_that_is_fed_is_checked_under_load_and_tried_by_its_name() -> None:
    """A camera that provides none of the vehicle's features is plugged in like any other part (common practice)."""
    camera = lead(
        "lookout", "accessory", "red supply-constant", "black ground", more="draws: {running_a: 0.3}\nfuse_a: 1\n"
    ).replace("title: lookout", "title: Lookout dash camera")
    checks = {c.key: c for c in plan_of(CAR, RADIO, camera).checks}
    supply, ground = checks["loaded-lookout-red"], checks["loaded-lookout-black"]
    assert supply.title == "Constant supply of Lookout dash camera under load"
    assert (supply.stage, supply.unit) == ("after-plugging-in", "V")
    assert (supply.low or 0) > 11 and ground.high == 0.1 and ground.probes == "lookout/black to bare body metal"
    tried = checks["hand-over-part-lookout"]
    assert (tried.title, tried.expected, tried.yes_no) == ("Lookout dash camera", "works: does what it is for", True)
    assert "loaded-radio-m-1" in checks  # the radio's own stay
    loaded = [c.probes.partition(" to ")[2] for c in checks.values() if c.key.startswith("loaded-")]
    ends = ["the ground of the same plug", "the ground of the same part", "bare body metal"]
    assert loaded == sorted(loaded, key=ends.index)  # one way to probe after the other


def test_a_part_that_keeps_a_feature_is_tried_by_that_feature_alone() -> None:
    """One line for one thing to try: the wheel box is shown at work by the wheel buttons."""
    box = lead("wheel-box", "module", "red supply-constant", "black ground", more="provides: [clock-display]\n")
    vehicle = VEHICLE.replace("features: []", "features: [clock-display]")
    keys = {c.key for c in plan_of(CAR, RADIO, box, vehicle=vehicle).checks}
    assert "hand-over-clock-display" in keys and "hand-over-part-wheel-box" not in keys
    assert "hand-over-part-wheel-box" in {c.key for c in plan_of(CAR, RADIO, box).checks}


def test_a_feed_from_the_battery_is_dead_until_its_fuse_goes_in() -> None:
    checks = [c for c in plan_of(CAR, RADIO, FEED, AMP).checks if "amp/supply" in c.tails]
    before = [c for c in checks if c.stage == "before-plugging-in"]
    dead = next(c for c in before if c.unit == "V" and "fuse of the battery feed out" in c.condition)
    assert (dead.low, dead.high) == (0.0, 0.5)
    assert not [c for c in before if c.unit == "V" and (c.low or 0) > 1]  # none asks for 12 V behind a fuse that is out
    live = next(c for c in checks if c.stage == "after-plugging-in")
    assert live.low is not None and live.low > 10


def test_a_laid_feed_is_measured_from_its_fuse_holder_and_against_the_body() -> None:
    plan = plan_of(CAR, RADIO, FEED, AMP)
    laid = next(c.id for c in plan.circuits if c.feed == "battery" and c.group == "supply")
    own = {c.key.partition("-")[0]: c for c in plan.checks if c.circuit == laid and c.stage == "before-plugging-in"}
    assert "load side" in own["continuity"].probes and "load side" in own["drop"].probes
    assert "bare metal" in own["apart"].probes and "fuse out" in own["apart"].condition
    proved = next(c for c in plan.checks if c.key.startswith("prove-kit-battery"))
    assert "battery side of its fuse holder" in proved.probes


def test_nothing_on_the_bench_asks_for_cable_that_lies_in_the_vehicle() -> None:
    plan = plan_of(CAR, RADIO, FEED, AMP)
    laid = {t.name for c in plan.circuits if c.feed == "battery" and c.group in ("supply", "ground") for t in c.tails}
    assert not laid & {t for c in plan.checks if c.stage == "on-the-bench" for t in c.tails}


def test_between_the_wires_of_a_part_that_stays_on_only_a_short_is_looked_for() -> None:
    """A module with no plug is read through: 1 MΩ cannot be had between its supply and its ground."""
    plan = plan_of(CAR, RADIO, BOX)
    pair = [c for c in plan.checks if {"box/red", "box/black"} <= set(c.tails) and c.unit == "Ω" and c.low]
    assert [(c.low, c.key.partition("-")[0]) for c in pair] == [(100.0, "short")]
    other = [c for c in plan.checks if c.key.startswith("apart-")]
    assert other and all(c.low == 1_000_000 for c in other)


def test_what_is_seen_when_a_control_works_is_told_function_by_function() -> None:
    car = lead(
        "car", "vehicle", "A.1 reverse", "A.2 illumination", "A.3 wheel-button-1", "A.4 wheel-ground", "A.5 mute"
    )
    radio = lead(
        "radio", "radio", "M.1 reverse", "M.2 illumination", "M.3 wheel-button-1", "M.4 wheel-ground", "M.5 mute"
    )
    plan = plan_of(car, radio)
    names = {c.id: c.function_id for c in plan.circuits}
    seen = {names[c.circuit]: c.expected for c in plan.checks if c.key.startswith("works-")}
    assert set(seen) == {"reverse", "illumination", "wheel-button-1", "mute"}  # a return shows nothing by itself
    assert "picture" in seen["reverse"] and "dims" in seen["illumination"] and "drops" in seen["mute"]
    assert len(set(seen.values())) == len(seen)


def test_lights_off_and_out_of_reverse_stand_in_the_condition() -> None:
    car = lead("car", "vehicle", "A.1 reverse", "A.2 illumination")
    plan = plan_of(car, lead("radio", "radio", "M.1 reverse", "M.2 illumination"))
    zero = {c.tails[0]: c.condition for c in plan.checks if c.unit == "V" and c.high == 0.5}
    assert zero["car/A.1"] == "key on, out of reverse" and zero["car/A.2"] == "key on, lights off"


def test_each_loudspeaker_is_heard_quietly_before_anything_is_loud() -> None:
    after = [c for c in plan_of(CAR, RADIO).checks if c.stage == "after-plugging-in"]
    kinds = [c.key.partition("-")[0] for c in after]
    assert kinds == sorted(kinds, key=["sound", "works", "mated", "gain", "loaded"].index) and kinds[0] == "sound"
    assert all(("loud" in c.condition) == c.key.startswith("loaded") for c in after)


def test_one_live_spare_is_and_several_are() -> None:
    one = plan_of(CAR, lead("radio", "radio", "M.3 ground black"))
    words = next(c.expected for c in one.checks if c.key == "trim-spares-capped")
    live = [s.id for s in one.spares if s.live]
    assert len(live) == 1 and words.endswith(f"({live[0]} is live)")
    more = lead("car", "vehicle", "A.4 supply-constant", "A.7 supply-switched", "A.5 ground")
    two = plan_of(more, lead("radio", "radio", "M.3 ground black"))
    live = [s.id for s in two.spares if s.live]
    assert next(c.expected for c in two.checks if c.key == "trim-spares-capped").endswith(
        f"({live[0]} and {live[1]} are live)"
    )


def test_what_is_missing_to_a_megohm_is_written_in_plain_digits() -> None:
    apart = next(c for c in plan_of(CAR, RADIO).checks if c.key.startswith("apart-"))
    assert judge_reading(apart, ReadingBack(check=apart.key, reading="0.4 ohm")).why == "1000000 Ω too low"


def test_names_and_probes_of_a_round_stand_in_one_order(root: Path) -> None:
    """Read side by side, the third name is the third way: common practice, no source."""
    seen = 0
    for plan in plan_jobs(load_shop(root / "content"))[0].values():
        owner = {t.name: c.id for c in plan.circuits for t in c.tails}
        for check in plan.checks:
            if check.key.startswith(("apart-", "short-")) and not check.key.endswith("-body"):
                names = re.split(", | and ", check.title.partition(" is apart from ")[2])
                ways = re.split(", | and ", check.probes.partition(" to ")[2])
                assert [owner[way] for way in ways] == names, check.title
                assert list(check.tails[1:]) == ways
                seen += len(names) > 1
    assert seen > 20


def test_buttons_are_tried_after_they_are_taught_and_a_drive_comes_last() -> None:
    """A drive wants the trim back, the codes read and no lamp lit: common practice, no source."""
    car = lead("car", "vehicle", "A.1 wheel-button-1", "A.2 wheel-ground", "A.3 speed", "A.4 illumination")
    radio = lead("radio", "radio", "M.1 wheel-button-1", "M.2 wheel-ground", "M.3 speed", "M.4 illumination")
    plan = plan_of(car, radio)
    names = {c.id: c.function_id for c in plan.circuits}
    works = {names[c.circuit]: c for c in plan.checks if c.key.startswith("works-")}
    assert works["illumination"].stage == "after-plugging-in" and works["illumination"].condition == "radio on"
    assert works["wheel-button-1"].stage == "before-trim" and "taught" in works["wheel-button-1"].condition
    assert works["speed"].stage == "hand-over" and "drive" in works["speed"].condition
    lamp = next(c for c in plan.checks if c.key == "hand-over-airbag-lamp")
    assert lamp.number < works["speed"].number == len(plan.checks)
    assert not any("drive" in f"{c.condition} {c.expected}" for c in plan.checks if c.stage in STAGES[:-1])
