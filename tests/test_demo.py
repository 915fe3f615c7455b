"""The demo shop says what an installer would expect of each of its jobs.

The demo is invented; what is tested here is the design's own rules on it: which wires meet, what becomes of each
feature, how far each vehicle is cleared, and why a held one is held.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.types import Circuit, FeatureOutcome, Plan
from loomleaf.problems import Problem, Severity

JOBS = ("2031", "2038", "2041", "2044", "2047", "2049", "2052")


@pytest.fixture(scope="module")
def loaded(root: Path) -> Loaded:
    return load_shop(root / "content")


@pytest.fixture(scope="module")
def worked_out(loaded: Loaded) -> tuple[dict[str, Plan], tuple[Problem, ...]]:
    return plan_jobs(loaded)


@pytest.fixture(scope="module")
def plans(worked_out: tuple[dict[str, Plan], tuple[Problem, ...]]) -> dict[str, Plan]:
    return worked_out[0]


def joined_to(plan: Plan, tail: str) -> set[str]:
    """Everything that meets a tail in a circuit that is made, the tail itself left out."""
    found = [c for c in plan.circuits if c.made and tail in {t.name for t in c.tails}]
    assert len(found) <= 1, f"{tail} is in {len(found)} circuits"
    return {t.name for c in found for t in c.tails} - {tail}


def circuit_of(plan: Plan, tail: str) -> Circuit:
    return next(c for c in plan.circuits if tail in {t.name for t in c.tails})


def mated(plan: Plan) -> set[tuple[str, ...]]:
    return {tuple(sorted(e.name for e in c.ends)) for c in plan.circuits if c.outcome == "mated"}


def feature(plan: Plan, name: str) -> FeatureOutcome:
    return next(f for f in plan.features if f.feature_id == name)


def states(plan: Plan) -> dict[str, str]:
    return {s.registration.plate: s.state for s in plan.states}


def outcomes(plan: Plan) -> set[str]:
    return {c.outcome for c in plan.circuits}


# --- the whole shop ----------------------------------------------------------------------------------------------


def test_every_job_of_the_demo_is_worked_out(plans: dict[str, Plan]) -> None:
    assert tuple(sorted(plans)) == JOBS


def test_the_demo_has_no_error_and_no_warning(worked_out: tuple[dict[str, Plan], tuple[Problem, ...]]) -> None:
    bad = [p.line() for p in worked_out[1] if p.severity is not Severity.HOLD]
    assert bad == []


def test_only_the_coupe_is_held(worked_out: tuple[dict[str, Plan], tuple[Problem, ...]]) -> None:
    assert {p.job for p in worked_out[1] if p.severity is Severity.HOLD} == {"2049"}


@pytest.mark.parametrize("job", JOBS)
def test_a_tail_is_in_one_circuit_or_a_spare_and_never_both(plans: dict[str, Plan], job: str) -> None:
    plan = plans[job]
    placed = [t.name for c in plan.circuits for t in c.tails] + [s.tail.name for s in plan.spares]
    every = [f"{lead.lead}/{tail.at}" for lead in plan.leads for tail in lead.tails]
    assert sorted(placed) == sorted(every)


@pytest.mark.parametrize("job", JOBS)
def test_every_made_circuit_has_one_joint(plans: dict[str, Plan], job: str) -> None:
    plan = plans[job]
    assert sorted(j.circuit for j in plan.joints) == sorted(c.id for c in plan.circuits if c.made)


@pytest.mark.parametrize("job", JOBS)
def test_no_joint_has_more_than_one_driver_but_a_data_pair(plans: dict[str, Plan], job: str) -> None:
    for circuit in plans[job].circuits:
        if circuit.made and circuit.combine != "bus":
            assert len(circuit.drivers) == 1, circuit.title


@pytest.mark.parametrize("job", JOBS)
def test_poles_never_cross(plans: dict[str, Plan], job: str) -> None:
    for circuit in plans[job].circuits:
        assert len({t.tail.pole for t in circuit.tails}) <= 1, circuit.title


@pytest.mark.parametrize("job", JOBS)
def test_an_airbag_wire_meets_nothing(plans: dict[str, Plan], job: str) -> None:
    for circuit in plans[job].circuits:
        if any(t.function_id == "airbag" for t in circuit.tails):
            assert (circuit.outcome, len(circuit.tails)) == ("refused", 1)


@pytest.mark.parametrize("job", JOBS)
def test_each_promise_comes_back_as_a_check_at_hand_over(plans: dict[str, Plan], job: str) -> None:
    plan = plans[job]
    shown = {c.feature for c in plan.checks if c.stage == "hand-over"}
    promised = {f.feature_id for f in plan.features if (f.promised or f.safety) and f.outcome != "loses"}
    assert promised and promised <= shown


def test_an_airbag_wait_stands_in_one_job_only_and_says_that_it_is_invented(plans: dict[str, Plan]) -> None:
    waits = {number: plan.job.airbag_wait for number, plan in plans.items() if plan.job.airbag_wait.value}
    assert set(waits) == {"2044"}
    wait = waits["2044"]
    assert all("invented" in text for text in (wait.value, wait.source, wait.page))


# --- 2038: a plain swap ------------------------------------------------------------------------------------------


def test_plain_swap_joins_way_to_way(plans: dict[str, Plan]) -> None:
    # Ways of ISO 10487 plugs A and B as customary: A.4 constant, A.5 antenna, A.7 switched, A.8 ground, B.1 to B.8
    # the loudspeakers (three public listings agree; the standard itself fixes the shape only).
    plan = plans["2038"]
    meets = {
        "A.4": "M.1", "A.7": "M.2", "A.8": "M.3", "A.5": "M.4",
        "B.5": "M.5", "B.6": "M.6", "B.3": "M.7", "B.4": "M.8",
        "B.7": "M.9", "B.8": "M.10", "B.1": "M.11", "B.2": "M.12",
    }  # fmt: skip
    for way, radio in meets.items():
        assert joined_to(plan, f"iso-10487-ab/{way}") == {f"wheatear-d1/{radio}"}
    assert mated(plan) == {("iso-10487-ab/antenna", "wheatear-d1/antenna")}
    assert [(s.tail.name, s.live) for s in plan.spares] == [("iso-10487-ab/A.6", True)]


def test_plain_swap_is_clear_to_plug_in_with_every_way_proved(plans: dict[str, Plan]) -> None:
    state = plans["2038"].states[0]
    assert (state.state, state.reasons, state.unproved) == ("plug-in", (), ())
    assert len(state.proofs) == 13
    assert all(p.verdict is True for p in state.proofs)


def test_plain_swap_keeps_everything(plans: dict[str, Plan]) -> None:
    assert {f.outcome for f in plans["2038"].features} == {"keeps"}


# --- 2041: factory amplifier, wheel box, added amplifier ---------------------------------------------------------


def test_the_chosen_amplifier_feeds_the_front_and_listens_to_the_radio(plans: dict[str, Plan]) -> None:
    plan = plans["2041"]
    assert joined_to(plan, "corvane-16/A.8") == {"dunnock-amp-4/S.7"}
    assert joined_to(plan, "wheatear-r2/M.13") == {"dunnock-amp-4/S.3"}
    assert joined_to(plan, "wheatear-r2/M.17") == {"corvane-16/A.12"}


def test_one_turn_on_wire_wakes_both_amplifiers(plans: dict[str, Plan]) -> None:
    circuit = circuit_of(plans["2041"], "wheatear-r2/M.6")
    assert circuit.outcome == "shared"
    assert {t.name for t in circuit.takers} == {"corvane-16/A.5", "dunnock-amp-4/S.1"}


@pytest.mark.parametrize(("job", "amplifier"), [("2041", "dunnock-amp-4"), ("2052", "dunnock-amp-4-line")])
def test_the_amplifier_is_fed_from_the_battery_and_apart_from_the_dash(
    plans: dict[str, Plan], job: str, amplifier: str
) -> None:
    plan = plans[job]
    for at, kit in (("supply", "battery"), ("body", "stud")):
        assert joined_to(plan, f"{amplifier}/{at}") == {f"dunnock-cable-kit/{kit}"}
        assert circuit_of(plan, f"{amplifier}/{at}").feed == "battery"
    dash = [c for c in plan.circuits if c.group in ("supply", "ground") and c.feed == "dash"]
    assert amplifier not in {t.lead.lead for c in dash for t in c.tails}


def test_wheel_buttons_pass_through_their_box(plans: dict[str, Plan]) -> None:
    plan = plans["2041"]
    assert joined_to(plan, "corvane-16/A.2") == {"fulmar-wheel-box/green"}
    assert joined_to(plan, "corvane-16/A.3") == {"fulmar-wheel-box/grey"}
    assert joined_to(plan, "wheatear-r2/M.11") == {"fulmar-wheel-box/blue"}
    kept = feature(plan, "wheel-controls")
    assert (kept.outcome, kept.by) == ("keeps with a part", "fulmar-wheel-box")


def test_factory_amplifier_is_kept_by_the_vehicles_own_wires(plans: dict[str, Plan]) -> None:
    kept = feature(plans["2041"], "factory-amplifier")
    assert (kept.outcome, kept.by) == ("keeps", "")


def test_a_loss_that_was_agreed_does_not_hold(plans: dict[str, Plan]) -> None:
    lost = feature(plans["2041"], "clock-display")
    assert lost.outcome == "loses"
    assert lost.agreed is not None and lost.agreed.isoformat() == "2026-05-10"
    assert states(plans["2041"]) == {"SM16 HRN": "build"}


def replan(shop: Path, job: str, old: str, new: str) -> Plan:
    """A job worked out again after one change of its file."""
    path = shop / "jobs" / f"{job}.yaml"
    text = path.read_text()
    assert text.count(old) == 1, old
    path.write_text(text.replace(old, new))
    return plan_jobs(load_shop(shop), (job,))[0][job]


def test_a_supply_read_without_a_lamp_is_not_proved(demo_copy: Path) -> None:
    # An unloaded meter shows 12 V through a bad feed too (common practice, no source).
    with_lamp = "iso-10487-ab/A.7, condition: key-on, load: 5 W lamp,"
    plan = replan(demo_copy, "2038", with_lamp, with_lamp.replace(" load: 5 W lamp,", ""))
    assert (plan.state, plan.states[0].unproved) == ("build", ("iso-10487-ab/A.7",))
    (line,) = plan.states[0].before_next
    assert "key on" in line and "5 W lamp" in line and "asleep" not in line


def test_a_ground_read_without_current_is_not_proved(demo_copy: Path) -> None:
    # No current, no drop: a ground through one strand reads 0 V as well (Ohm's law).
    loaded_reading = "iso-10487-ab/A.8, condition: any, load: 5 A,"
    plan = replan(demo_copy, "2038", loaded_reading, loaded_reading.replace(" load: 5 A,", ""))
    assert (plan.state, plan.states[0].unproved) == ("build", ("iso-10487-ab/A.8",))


# --- 2044: the camper --------------------------------------------------------------------------------------------


def test_camper_takes_its_switched_supply_from_the_data_module(plans: dict[str, Plan]) -> None:
    plan = plans["2044"]
    assert joined_to(plan, "fulmar-data-box/D.5") == {"wheatear-r2/M.2", "curlew-camera-adapter/red"}
    assert circuit_of(plan, "wheatear-r2/M.2").function_id == "supply-switched"


def test_only_the_data_module_meets_the_data_pair(plans: dict[str, Plan]) -> None:
    plan = plans["2044"]
    assert joined_to(plan, "brackmoor-24/A.5") == {"fulmar-data-box/D.3"}
    assert joined_to(plan, "brackmoor-24/A.6") == {"fulmar-data-box/D.4"}


def test_camper_camera_goes_through_its_adapter(plans: dict[str, Plan]) -> None:
    plan = plans["2044"]
    assert mated(plan) == {
        ("brackmoor-24/antenna", "wheatear-r2/antenna"),
        ("brackmoor-24/camera", "curlew-camera-adapter/camera"),
        ("curlew-camera-adapter/camera-picture", "wheatear-r2/camera-picture"),
    }
    kept = feature(plan, "reversing-camera")
    assert (kept.outcome, kept.by, kept.safety) == ("keeps with a part", "curlew-camera-adapter", True)


def test_camper_features(plans: dict[str, Plan]) -> None:
    plan = plans["2044"]
    assert {f.feature_id: f.outcome for f in plan.features} == {
        "am-fm-reception": "keeps",
        "factory-amplifier": "keeps",
        "wheel-controls": "keeps with a part",
        "clock-display": "loses",
        "illumination-dimming": "keeps with a part",
        "safety-tones": "changes",
        "reversing-camera": "keeps with a part",
        "seat-belt-warning": "keeps",
        "airbag-lamp": "keeps",
        "hazard-and-indicators": "keeps",
    }
    assert states(plan) == {"SM19 GDW": "build"}


def test_camper_leaves_an_unknown_wire_alone(plans: dict[str, Plan]) -> None:
    spare = next(s for s in plans["2044"].spares if s.tail.name == "brackmoor-24/A.24")
    assert spare.tail.function_id == "unknown"


def test_without_its_camera_adapter_the_camper_is_held(demo_copy: Path) -> None:
    plan = replan(demo_copy, "2044", ", curlew-camera-adapter", "")
    assert plan.held
    assert "safety-feature-lost" in {p.code for p in plan.problems}


# --- 2047: six vans ----------------------------------------------------------------------------------------------


def test_proofs_of_two_vans_never_clear_the_other_four(plans: dict[str, Plan]) -> None:
    assert states(plans["2047"]) == {
        "SM21 PAA": "verified",
        "SM21 PAB": "plug-in",
        "SM21 PAC": "build",
        "SM21 PAD": "build",
        "SM21 PAE": "build",
        "SM21 PAF": "build",
    }
    assert plans["2047"].state == "build"


def test_a_van_that_was_only_begun_wants_the_rest(plans: dict[str, Plan]) -> None:
    begun = next(s for s in plans["2047"].states if s.registration.plate == "SM21 PAC")
    assert "ansterby-12/A.1" not in begun.unproved
    assert {"ansterby-12/A.2", "ansterby-12/A.4"} <= set(begun.unproved)


def test_a_reading_that_contradicts_holds_one_van_alone(demo_copy: Path) -> None:
    first = "{registration: SM21 PAB, tail: ansterby-12/A.1, condition: asleep, load: 5 W lamp, reading: 12.5 V"
    plan = replan(demo_copy, "2047", first, first.replace("12.5 V", "0.1 V"))
    assert states(plan) == {
        "SM21 PAA": "verified",
        "SM21 PAB": "held",
        "SM21 PAC": "build",
        "SM21 PAD": "build",
        "SM21 PAE": "build",
        "SM21 PAF": "build",
    }
    assert [(p.code, p.registration) for p in plan.problems] == [("proof-contradicts", "SM21 PAB")]


def test_each_van_has_readings_of_its_own(plans: dict[str, Plan]) -> None:
    read = {s.registration.plate: {r.result for r in s.readings} for s in plans["2047"].states}
    assert read.pop("SM21 PAA") == {"pass"}
    assert set().union(*read.values()) == set()


# --- 2031: done, verified, come back once -------------------------------------------------------------------------


def test_a_finished_job_is_verified_by_its_readings(plans: dict[str, Plan]) -> None:
    plan = plans["2031"]
    assert plan.state == "verified"
    loaded_readings = [r for r in plan.states[0].readings if r.stage == "after-plugging-in"]
    assert loaded_readings and {r.result for r in loaded_readings} == {"pass"}


def test_its_frozen_copy_is_of_what_stands(loaded: Loaded, plans: dict[str, Plan]) -> None:
    (copy,) = [e.value for e in loaded.library.issued if e.value.job == "2031"]
    assert (copy.revision, copy.digest) == (plans["2031"].job.revision, plans["2031"].digest)
    assert "customer" in copy.inputs["job"] and copy.inputs["job"]["customer"] == {"name": "left out"}


@pytest.mark.parametrize(
    "change",
    [
        ('reading: "13.9 V"', 'reading: "10.9 V"'),
        ('check: "sound-l1", result: "pass"', 'check: "sound-l1", result: "fail"'),
    ],
)
def test_a_failed_reading_holds_it_again(demo_copy: Path, change: tuple[str, str]) -> None:
    path = demo_copy / "readings/2031-A.yaml"
    text = path.read_text("utf-8")
    assert text.count(change[0]) >= 1
    path.write_text(text.replace(change[0], change[1], 1), "utf-8")
    plan = plan_jobs(load_shop(demo_copy), ("2031",))[0]["2031"]
    assert plan.held
    (reason,) = plan.states[0].reasons
    assert (reason.code, reason.location.file) == ("reading-failed", "readings/2031-A.yaml")
    assert "look first" in reason.hint


def test_a_change_of_what_is_made_takes_it_back_to_held(demo_copy: Path) -> None:
    plan = replan(demo_copy, "2031", "ground: butt-connector", "ground: closed-end-connector")
    assert {p.code for p in plan.problems} == {"cleared-then-changed", "revision-used"}


# --- 2049: the coupé ---------------------------------------------------------------------------------------------


def test_coupe_is_held_by_three_colours_and_a_pair_known_from_colour(plans: dict[str, Plan]) -> None:
    plan = plans["2049"]
    reasons = [(p.code, p.message.split()[0]) for p in plan.states[0].reasons]
    assert sorted(reasons) == [
        ("colour-of-another", "osmere-16/A.4"),
        ("colour-of-another", "osmere-16/A.5"),
        ("colour-of-another", "osmere-16/A.7"),
        ("colour-only", "osmere-16/B.1"),
        ("colour-only", "osmere-16/B.2"),
    ]
    assert states(plan) == {"SM06 WBL": "held"}


def test_coupe_is_paired_by_function_and_not_by_colour(plans: dict[str, Plan]) -> None:
    plan = plans["2049"]
    red, blue, yellow = "osmere-16/A.4", "osmere-16/A.7", "osmere-16/A.5"
    assert joined_to(plan, red) == {"wheatear-d1/M.1"}  # constant, red against yellow
    assert joined_to(plan, blue) == {"wheatear-d1/M.2"}  # switched, blue against red
    assert joined_to(plan, yellow) == {"wheatear-d1/M.4"}  # antenna turn-on, yellow against blue


COUPE_PROOFS = """
proofs:
  - {tail: osmere-16/A.4, condition: asleep, load: 5 W lamp, reading: 12.4 V, by: RP, on: 2026-05-22}
  - {tail: osmere-16/A.5, condition: unplugged, reading: 0.0 V, by: RP, on: 2026-05-22}
  - {tail: osmere-16/A.7, condition: key-on, load: 5 W lamp, reading: 12.0 V, by: RP, on: 2026-05-22}
  - {tail: osmere-16/A.7, condition: asleep, load: 5 W lamp, reading: 0.0 V, by: RP, on: 2026-05-22}
  - {tail: osmere-16/B.1, condition: unplugged, reading: 3.6 ohm, by: RP, on: 2026-05-22}
  - {tail: osmere-16/B.2, condition: unplugged, reading: OL, by: RP, on: 2026-05-22}
"""


def test_the_meter_releases_the_coupe(demo_copy: Path) -> None:
    job = demo_copy / "jobs" / "2049.yaml"
    job.write_text(job.read_text() + COUPE_PROOFS)
    plan = plan_jobs(load_shop(demo_copy), ("2049",))[0]["2049"]
    assert states(plan) == {"SM06 WBL": "build"}


def test_the_meter_can_also_prove_the_card_wrong(demo_copy: Path) -> None:
    changed_over = COUPE_PROOFS.replace(
        "asleep, load: 5 W lamp, reading: 12.4 V", "asleep, load: 5 W lamp, reading: 0.0 V"
    )
    assert changed_over != COUPE_PROOFS
    job = demo_copy / "jobs" / "2049.yaml"
    job.write_text(job.read_text() + changed_over)
    plan = plan_jobs(load_shop(demo_copy), ("2049",))[0]["2049"]
    assert plan.held
    assert "proof-contradicts" in {p.code for p in plan.problems}


# --- 2052: line leads, subwoofer, wheel buttons read by the radio ------------------------------------------------


def test_line_leads_mate_and_the_radios_own_front_outputs_stay_spare(plans: dict[str, Plan]) -> None:
    plan = plans["2052"]
    assert {
        ("dunnock-amp-4-line/line-front", "wheatear-r3/line-front"),
        ("dunnock-amp-4-line/line-subwoofer", "wheatear-r3/line-subwoofer"),
    } <= mated(plan)
    live = {s.tail.name for s in plan.spares if s.live}
    assert {f"wheatear-r3/M.{way}" for way in (13, 14, 15, 16)} <= live


def test_subwoofer_hangs_on_the_amplifier_alone(plans: dict[str, Plan]) -> None:
    plan = plans["2052"]
    assert joined_to(plan, "shingle-sub-8/plus") == {"dunnock-amp-4-line/S.11"}
    assert joined_to(plan, "shingle-sub-8/minus") == {"dunnock-amp-4-line/S.12"}


def test_wheel_buttons_reach_the_radio_against_their_own_ground(plans: dict[str, Plan]) -> None:
    plan = plans["2052"]
    assert joined_to(plan, "telwick-20/A.6") == {"wheatear-r3/M.11"}
    assert joined_to(plan, "telwick-20/A.7") == {"wheatear-r3/M.12"}


def test_dimmer_return_is_never_grounded(plans: dict[str, Plan]) -> None:
    spare = next(s for s in plans["2052"].spares if s.tail.name == "telwick-20/A.4")
    assert spare.tail.function_id == "dimmer-return"


def test_without_a_choice_the_front_loudspeakers_are_contested(demo_copy: Path) -> None:
    plan = replan(demo_copy, "2052", "feed: {speaker-front: dunnock-amp-4-line}\n", "")
    assert plan.held
    contested = [c for c in plan.circuits if c.outcome == "contested"]
    assert {c.function_id for c in contested} == {"speaker-front-left", "speaker-front-right"}
    assert {c.reason_code for c in contested} == {"several-drivers"}


def test_the_smallest_shop_is_worked_out(root: Path) -> None:
    loaded = load_shop(root / "tests" / "shops" / "minimal")
    plans, problems = plan_jobs(loaded)
    assert [p.line() for p in problems] == []
    assert [c.outcome for c in plans["1"].circuits] == ["joined", "joined", "joined", "mated"]
    assert plans["1"].state == "build"
