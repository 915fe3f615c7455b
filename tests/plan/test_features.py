"""What becomes of each feature: kept, kept with a part, changed, lost; and what a loss does to the job."""

from __future__ import annotations

from loomleaf.plan.types import FeatureOutcome, Plan
from tests.makers import VEHICLE, lead, plan_of


def car_with(*features: str) -> str:
    return VEHICLE.replace("features: []", f"features: [{', '.join(features)}]")


def outcome(plan: Plan, name: str) -> FeatureOutcome:
    return next(f for f in plan.features if f.feature_id == name)


def codes(plan: Plan) -> set[str]:
    return {p.code for p in plan.problems}


FED = ("A.7 supply-switched red", "A.8 ground black")
CAR = lead("car", "vehicle", *FED, "A.9 wheel-button-1 grey", "A.10 wheel-ground grey/black")
RADIO = lead("radio", "radio", "M.2 supply-switched red", "M.3 ground black")


def test_a_feature_in_the_radio_taken_out_is_lost_and_must_be_agreed() -> None:
    plan = plan_of(CAR, RADIO, vehicle=car_with("clock-display"))
    assert outcome(plan, "clock-display").outcome == "loses"
    assert codes(plan) == {"loss-not-agreed"} and plan.state == "held"


def test_an_agreed_loss_no_longer_holds() -> None:
    job = "give_up: [{feature: clock-display, told_customer: 2026-05-10}]\n"
    plan = plan_of(CAR, RADIO, vehicle=car_with("clock-display"), job=job)
    lost = outcome(plan, "clock-display")
    assert (lost.outcome, str(lost.agreed)) == ("loses", "2026-05-10") and plan.state == "build"


def test_given_up_without_telling_the_customer_still_holds() -> None:
    plan = plan_of(CAR, RADIO, vehicle=car_with("clock-display"), job="give_up: [{feature: clock-display}]\n")
    assert codes(plan) == {"loss-not-agreed"}


def test_a_safety_feature_cannot_be_given_up_at_all() -> None:
    job = "give_up: [{feature: safety-tones, told_customer: 2026-05-10}]\n"
    plan = plan_of(CAR, RADIO, vehicle=car_with("safety-tones"), job=job)
    assert codes(plan) == {"safety-feature-lost"}


def test_required_equipment_counts_as_safety() -> None:
    vehicle = VEHICLE.replace("features: []", "features: [{feature: reversing-camera, required: yes}]")
    job = "give_up: [{feature: reversing-camera, told_customer: 2026-05-10}]\n"
    assert codes(plan_of(CAR, RADIO, vehicle=vehicle, job=job)) == {"safety-feature-lost"}


def test_a_module_keeps_it_with_a_part() -> None:
    box = lead(
        "box",
        "module",
        "B.1 wheel-button-1 role=takes",
        "B.2 wheel-ground role=takes",
        more="kind: active\nprovides: [wheel-controls]\n",
    )
    plan = plan_of(CAR, RADIO, box, vehicle=car_with("wheel-controls"))
    kept = outcome(plan, "wheel-controls")
    assert (kept.outcome, kept.by) == ("keeps with a part", "box")


def test_a_part_cannot_keep_what_its_wires_do_not_reach() -> None:
    box = lead("box", "module", "B.3 ground", more="kind: active\nprovides: [wheel-controls]\n")
    plan = plan_of(CAR, RADIO, box, vehicle=car_with("wheel-controls"))
    assert outcome(plan, "wheel-controls").outcome == "loses"


def test_the_radio_itself_may_give_a_feature() -> None:
    radio = lead("radio", "radio", "M.3 ground black", more="provides: [clock-display]\n")
    plan = plan_of(CAR, radio, vehicle=car_with("clock-display"))
    kept = outcome(plan, "clock-display")
    assert (kept.outcome, kept.by) == ("keeps", "radio")


def test_a_changed_feature_says_how() -> None:
    radio = lead("radio", "radio", "M.3 ground black", more="changes: {clock-display: The clock moves to the radio.}\n")
    changed = outcome(plan_of(CAR, radio, vehicle=car_with("clock-display")), "clock-display")
    assert (changed.outcome, changed.how) == ("changes", "The clock moves to the radio.")


def test_a_promise_that_nothing_keeps_holds_the_job() -> None:
    plan = plan_of(CAR, RADIO, vehicle=car_with("wheel-controls"), job="keep: [wheel-controls]\n")
    assert codes(plan) == {"promise-not-kept"}


def test_every_kept_and_every_safety_feature_is_shown_at_hand_over() -> None:
    radio = lead("radio", "radio", "M.3 ground black", more="provides: [clock-display, safety-tones]\n")
    plan = plan_of(CAR, radio, vehicle=car_with("clock-display", "safety-tones", "wheel-controls"))
    shown = {c.feature for c in plan.checks if c.stage == "hand-over" and c.feature}
    assert shown == {"clock-display", "safety-tones"}
    assert any(c.key == "hand-over-airbag-lamp" for c in plan.checks)


# --- a picture that nothing brings up; buttons that the radio reads itself -------------------------------------------

CAMERA_CAR = ("A.7 supply-switched red", "A.8 ground black", "A.1 reverse")
CAMERA_END = "ready_ends: [{name: camera, type: line-plug}]\n"
CAMERA_RADIO = ("M.2 supply-switched red", "M.3 ground black", "M.1 reverse")
CAMERA_INPUT = "ready_ends: [{name: camera, type: line-socket}]\n"


def camera_plan(car: tuple[str, ...], radio: tuple[str, ...], job: str = "", required: str = "") -> Plan:
    vehicle = VEHICLE.replace("features: []", f"features: [{{feature: reversing-camera{required}}}]")
    return plan_of(
        lead("car", "vehicle", *car, more=CAMERA_END),
        lead("radio", "radio", *radio, more=CAMERA_INPUT),
        vehicle=vehicle,
        job=job,
    )


def test_the_reversing_picture_is_kept_when_reverse_reaches_the_radio() -> None:
    assert outcome(camera_plan(CAMERA_CAR, CAMERA_RADIO), "reversing-camera").outcome == "keeps"


def test_the_reversing_picture_is_lost_when_nothing_drives_the_radios_reverse_input() -> None:
    """The camera mates, but nothing tells the radio to show it. Common practice, no source."""
    plan = camera_plan(CAMERA_CAR[:2], CAMERA_RADIO)
    lost = outcome(plan, "reversing-camera")
    assert lost.outcome == "loses" and "radio/M.1" in lost.how
    assert codes(plan) == {"loss-not-agreed"} and plan.state == "held"
    told = next(p for p in plan.problems if p.code == "loss-not-agreed")
    assert "radio/M.1" in told.message and "needed: no" in told.hint


def test_required_equipment_with_an_undriven_reverse_input_cannot_be_given_up() -> None:
    job = "give_up: [{feature: reversing-camera, told_customer: 2026-05-10}]\n"
    assert codes(camera_plan(CAMERA_CAR[:2], CAMERA_RADIO, job, ", required: yes")) == {"safety-feature-lost"}


def test_an_input_that_its_leaflet_does_without_takes_nothing_away() -> None:
    plan = camera_plan(CAMERA_CAR[:2], ("M.3 ground black", "M.1 reverse needed=no"))
    assert outcome(plan, "reversing-camera").outcome == "keeps"


def test_one_driven_input_of_a_radio_is_enough() -> None:
    radio = (*CAMERA_RADIO, "M.4 camera-trigger")
    assert outcome(camera_plan(CAMERA_CAR, radio), "reversing-camera").outcome == "keeps"


def test_a_radio_with_inputs_of_its_own_keeps_the_wheel_buttons() -> None:
    radio = lead("radio", "radio", "M.3 ground black", "M.4 wheel-button-1", "M.5 wheel-ground")
    kept = outcome(plan_of(CAR, radio, vehicle=car_with("wheel-controls")), "wheel-controls")
    assert (kept.outcome, kept.by) == ("keeps", "radio")
    half = lead("radio", "radio", "M.3 ground black", "M.4 wheel-button-1")
    assert outcome(plan_of(CAR, half, vehicle=car_with("wheel-controls")), "wheel-controls").outcome == "loses"
