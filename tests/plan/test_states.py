"""From held to verified: what holds a vehicle, what clears it, and that one vehicle's proofs never clear another."""

from __future__ import annotations

import pytest

from loomleaf.plan.types import Plan, VehicleState
from tests.makers import lead, plan_of

CAR = lead("car", "vehicle", "A.4 supply-constant yellow", "A.7 supply-switched red", "A.8 ground black")
RADIO = lead("radio", "radio", "M.1 supply-constant yellow", "M.2 supply-switched red", "M.3 ground black")

PROOFS = """proofs:
  - {tail: car/A.4, condition: asleep, load: 5 W lamp, reading: 12.4 V, by: RP, on: 2026-05-12}
  - {tail: car/A.7, condition: key-on, load: 5 W lamp, reading: 12.1 V, by: RP, on: 2026-05-12}
  - {tail: car/A.7, condition: asleep, reading: 0.0 V, by: RP, on: 2026-05-12}
  - {tail: car/A.8, condition: any, load: 5 A, reading: 0.03 V, by: RP, on: 2026-05-12}
"""


def only(plan: Plan) -> VehicleState:
    assert len(plan.states) == 1
    return plan.states[0]


def codes(plan: Plan) -> list[str]:
    return sorted({p.code for p in plan.problems})


def test_known_from_leaflets_it_may_be_built_and_says_what_to_prove() -> None:
    state = only(plan_of(CAR, RADIO))
    assert state.state == "build"
    assert state.unproved == ("car/A.4", "car/A.7", "car/A.8")
    assert len(state.before_next) == 3
    assert any("car/A.4" in line and "asleep" in line for line in state.before_next)


def test_with_every_proof_it_may_be_plugged_in() -> None:
    state = only(plan_of(CAR, RADIO, job=PROOFS))
    assert (state.state, state.unproved) == ("plug-in", ())
    assert all(p.verdict for p in state.proofs)


def test_an_unloaded_supply_reading_proves_nothing() -> None:
    """An unloaded reading hides a bad feed: common practice, no source."""
    state = only(plan_of(CAR, RADIO, job=PROOFS.replace("asleep, load: 5 W lamp,", "asleep,")))
    assert state.state == "build" and state.unproved == ("car/A.4",)


def test_a_reading_that_lacks_its_load_is_told_so() -> None:
    without = PROOFS.replace("condition: key-on, load: 5 W lamp,", "condition: key-on,")
    line = only(plan_of(CAR, RADIO, job=without)).before_next[0]
    assert line.endswith("does not count: measure under load, write  load: 5 W lamp")
    nothing_yet = only(plan_of(CAR, RADIO)).before_next
    assert not any("does not count" in told for told in nothing_yet)


def test_half_a_proof_is_no_proof() -> None:
    """A switched supply is live with the key on and dead asleep: one reading alone could be a constant one."""
    without = "\n".join(line for line in PROOFS.splitlines() if "0.0 V" not in line) + "\n"
    state = only(plan_of(CAR, RADIO, job=without))
    assert state.state == "build" and state.unproved == ("car/A.7",)


@pytest.mark.parametrize("wrong", ["9.1 V", "0.0 V", "OL"])
def test_a_proof_that_contradicts_the_leaflet_holds(wrong: str) -> None:
    plan = plan_of(CAR, RADIO, job=PROOFS.replace("12.4 V", wrong))
    assert plan.state == "held" and "proof-contradicts" in codes(plan)


def test_a_minus_makes_no_bad_ground_good_and_no_good_one_bad() -> None:
    """Probes the other way round show a minus: the size of a drop counts (common practice, no source)."""
    for reading, state in (("-0.03 V", "plug-in"), ("-0.5 V", "held"), ("0.5 V", "held")):
        plan = plan_of(CAR, RADIO, job=PROOFS.replace("0.03 V", reading))
        assert plan.state == state, reading
    turned = plan_of(CAR, RADIO, job=PROOFS.replace("12.4 V", "-12.4 V"))
    assert codes(turned) == ["proof-contradicts"]


def test_a_proof_that_shows_another_function_holds() -> None:
    plan = plan_of(CAR, RADIO, job=PROOFS.replace("reading: 12.4 V", "reading: 12.4 V, shows: supply-switched"))
    assert codes(plan) == ["proof-contradicts"]


def test_known_from_colour_alone_holds_until_proved_on_this_vehicle() -> None:
    guessed = lead(
        "car", "vehicle", "A.4 supply-constant yellow known_from=colour", "A.8 ground black", "A.7 supply-switched red"
    )
    held = plan_of(guessed, RADIO)
    assert codes(held) == ["colour-only"]
    assert only(plan_of(guessed, RADIO, job=PROOFS)).state == "plug-in"


def test_red_and_yellow_changed_over_hold_until_proved() -> None:
    """Yellow constant, red switched is the after-market habit (common practice, no source)."""
    crossed = lead("car", "vehicle", "A.4 supply-constant red", "A.7 supply-switched yellow", "A.8 ground black")
    held = plan_of(crossed, RADIO)
    assert codes(held) == ["colour-of-another"] and len(held.problems) == 2
    assert only(plan_of(crossed, RADIO, job=PROOFS)).state == "plug-in"


def test_five_proved_never_clear_the_sixth() -> None:
    plates = [f"VAN{i}" for i in range(1, 7)]
    rows = []
    for plate in plates[:5]:
        rows += [
            line.replace("{tail", f"{{registration: {plate}, tail") for line in PROOFS.splitlines() if "tail" in line
        ]
    job = "proofs:\n" + "\n".join(rows) + "\n"
    plan = plan_of(CAR, RADIO, job=job, plates=plates)
    assert [s.state for s in plan.states] == ["plug-in"] * 5 + ["build"]
    assert plan.state == "build"


def test_a_bad_reading_on_one_van_holds_that_van_only() -> None:
    job = "proofs:\n  - {registration: VAN2, tail: car/A.4, condition: asleep, load: lamp, reading: 3 V}\n"
    plan = plan_of(CAR, RADIO, job=job, plates=["VAN1", "VAN2"])
    assert [s.state for s in plan.states] == ["build", "held"]


def test_a_clearing_counts_for_what_it_was_given_for_and_no_more() -> None:
    digest = plan_of(CAR, RADIO).digest
    cleared = f"cleared: [{{to: build, by: RP, on: 2026-05-12, digest: {digest}}}]\n"
    assert plan_of(CAR, RADIO, job=cleared).state == "build"
    changed = lead("car", "vehicle", "A.4 supply-constant yellow", "A.6 supply-switched red", "A.8 ground black")
    plan = plan_of(changed, RADIO, job=cleared)
    assert codes(plan) == ["cleared-then-changed"]
    short = cleared.replace(digest, digest[:4])
    assert codes(plan_of(CAR, RADIO, job=short)) == ["cleared-then-changed"]


STALE = "{to: build, by: RP, on: 2026-05-12, digest: '0123456789abcdef'}"


@pytest.mark.parametrize(
    ("lines", "state"),
    [
        ("[STALE, {to: build, by: TO, on: 2026-05-12, digest: NOW}]", "build"),
        ("[STALE, {to: build, by: TO, on: 2026-05-14, digest: NOW}]", "build"),
        ("[STALE, {to: build, by: TO, on: 2026-05-11, digest: NOW}]", "held"),  # it came before
        ("[{to: build, by: TO, on: 2026-05-12, digest: NOW}, STALE]", "held"),
        ("[STALE, STALE, {to: build, by: TO, on: 2026-05-13, digest: NOW}]", "build"),
        ("[STALE]", "held"),
    ],
)
def test_a_later_clearing_of_what_stands_now_takes_the_place_of_an_earlier_one(lines: str, state: str) -> None:
    digest = plan_of(CAR, RADIO).digest
    plan = plan_of(CAR, RADIO, job=f"cleared: {lines.replace('STALE', STALE).replace('NOW', digest)}\n")
    assert plan.state == state
    assert ("cleared-then-changed" in codes(plan)) == (state == "held")
    if state == "held":
        assert any(f"add a line below:  {{to: build, by: INITIALS, on: DAY, digest: {digest}}}" in p.hint for p in plan.problems)


def test_a_word_to_plug_in_proves_nothing_and_is_not_silent() -> None:
    digest = plan_of(CAR, RADIO).digest
    words = f"cleared: [{{to: plug-in, by: RP, on: 2026-05-12, digest: {digest}}}]\n"
    plan = plan_of(CAR, RADIO, job=words)
    assert (plan.state, codes(plan)) == ("build", ["cleared-not-proved"])
    (told,) = plan.problems
    assert told.severity.value == "warning" and "car/A.4, car/A.7, car/A.8" in told.message
    assert codes(plan_of(CAR, RADIO, job=words + PROOFS)) == []
    assert codes(plan_of(CAR, RADIO, job=words.replace("plug-in", "build"))) == []


def test_a_part_that_is_fed_and_has_no_ground_holds() -> None:
    """Its current would come home through the antenna's screen: common practice, no source."""
    bare = lead("radio", "radio", "M.1 supply-constant yellow", "M.2 supply-switched red")
    plan = plan_of(CAR, bare)
    assert codes(plan) == ["no-ground-tail"] and plan.held
    assert "radio/M.1" in plan.problems[0].message
    assert "no-ground-tail" not in codes(plan_of(CAR, RADIO))
