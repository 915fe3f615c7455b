"""What holds a job whole though each circuit looks right. Every case is the demo shop with a line spoilt: rules are common
practice, no source, where none is named."""

from __future__ import annotations

import pytest

from loomleaf.plan.battery import airbag_areas
from loomleaf.plan.types import Plan
from tests.plan.spoilt import after, codes, drop, new, planned, swap, told

RADIO, AMP, KIT = "leads/wheatear-d1.yaml", "leads/dunnock-amp-4.yaml", "leads/dunnock-cable-kit.yaml"
HERON, DUNLIN = "vehicles/corvane-heron-2016.yaml", "vehicles/telwick-dunlin-2001.yaml"


@pytest.mark.parametrize(
    ("number", "state"),
    [("2038", "plug-in"), ("2041", "build"), ("2044", "build"), ("2047", "build"), ("2049", "held"), ("2052", "build")],
)
def test_the_demo_as_it_stands_is_held_by_nothing_new(number: str, state: str) -> None:
    assert planned(number).state == state


# --- supply and ground -----------------------------------------------------------------------------------------------


def test_a_radio_whose_ground_is_capped_is_held() -> None:
    plan = planned("2038", swap(RADIO, "M.3, function: ground", "M.3, role: drives, function: ground"))
    assert codes(plan) == {"ground-not-joined"}


def test_an_amplifier_that_says_it_needs_no_ground_is_held() -> None:
    plan = planned("2041", swap(AMP, "{at: body, function", "{at: body, needed: no, function"), drop(KIT, "at: stud"))
    assert codes(plan) == {"ground-not-joined"}
    assert "dunnock-amp-4/body" in next(p.message for p in plan.problems if p.code == "ground-not-joined")


def test_a_radio_without_any_supply_is_held() -> None:
    assert codes(planned("2038", drop(RADIO, "at: M.1,", "at: M.2,"))) == {"part-not-fed"}


def test_an_amplifier_whose_supply_is_not_needed_is_held() -> None:
    plan = planned("2041", swap(AMP, "{at: supply, function", "{at: supply, needed: no, function"), drop(KIT, "at: battery"))
    assert "part-not-fed" in codes(plan)


# --- where a ground is bolted ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("stud", ["seat-belt", "airbag", "fuel-system", "battery-post", "body-screw\nbody: aluminium"])
def test_a_ground_is_never_bolted_there(stud: str) -> None:
    plan = planned("2041", swap(HERON, "ground_stud: prepared", f"ground_stud: {stud}"))
    assert codes(plan) == {"ground-point-forbidden"}


def test_a_post_whose_sensor_nobody_looked_for_is_taken_to_have_one() -> None:
    edits = swap(HERON, "ground_stud: prepared", "ground_stud: battery-post"), swap(HERON, "sensor: yes, ", "")
    assert codes(planned("2041", *edits)) == {"ground-point-forbidden"}
    without = swap(HERON, "ground_stud: prepared", "ground_stud: battery-post"), swap(HERON, "sensor: yes", "sensor: no")
    assert planned("2041", *without).state == "build"


def test_a_ground_point_that_nobody_named_holds_a_job_that_bolts_one() -> None:
    assert codes(planned("2041", drop(HERON, "ground_stud"))) == {"ground-point-unknown"}
    assert planned("2038", drop(DUNLIN, "ground_stud")).state == "plug-in"  # its ground is the dash plug's


def test_a_screw_in_a_steel_body_will_do() -> None:
    assert planned("2041", swap(HERON, "ground_stud: prepared", "ground_stud: body-screw")).state == "build"


# --- the vehicle's own circuits --------------------------------------------------------------------------------------


def test_a_gateway_never_leaves_with_the_old_radio() -> None:
    edits = (swap(DUNLIN, "bus_gateway: no", "bus_gateway: yes"), drop("jobs/2038.yaml", "removed_radio_asked"))
    assert codes(planned("2038", *edits)) == {"gateway-leaves"}


def test_a_data_part_may_take_the_gateways_place() -> None:
    gateway = swap("vehicles/brackmoor-godwit-2019.yaml", "bus_gateway: no", "bus_gateway: yes")
    assert codes(planned("2044", gateway)) == {"gateway-leaves"}
    box = swap("leads/fulmar-data-box.yaml", "provides: [", "provides: [bus-gateway, ")
    assert planned("2044", gateway, box).state == "build"


CAMERA = """lead: camera
title: Camera
side: accessory
known_from: leaflet
leaflet: card
tails:
  - {at: red, function: camera-supply, volts: 12, colour: red, size: 0.5 mm2, length_mm: 300}
  - {at: black, function: ground, colour: black, size: 0.5 mm2, length_mm: 300}
draws: {running_a: 0.2, peak_a: 0.3}
"""


def test_a_watched_reverse_lamp_feeds_no_camera() -> None:
    edits = (
        after("leads/iso-10487-ab.yaml", "  - {at: A.6", "  - {at: A.1, function: reverse, size: 0.5 mm2, length_mm: 200}"),
        new("leads/camera.yaml", CAMERA),
        swap("jobs/2038.yaml", "wheatear-d1]", "wheatear-d1, camera]\nfeed: {camera-supply: iso-10487-ab/A.1}"),
    )  # fmt: skip
    assert "lamp-feeds-part" not in codes(planned("2038", *edits))
    watched = swap(DUNLIN, "ground_stud", "bulbs_checked: yes\nground_stud")
    assert "lamp-feeds-part" in codes(planned("2038", *edits, watched))


# --- pairs and data --------------------------------------------------------------------------------------------------

CAMPER, BOX = "leads/brackmoor-24.yaml", "leads/fulmar-data-box.yaml"
MEDIA, ISO = "leads/wheatear-r2.yaml", "leads/iso-10487-ab.yaml"
SECOND_PAIR = after(
    CAMPER,
    "  - {at: A.6,",
    "  - {at: A.7, function: data-can, pole: high, colour: orange/violet, size: 0.35 mm2, length_mm: 250}",
    "  - {at: A.8, function: data-can, pole: low, colour: orange/white, size: 0.35 mm2, length_mm: 250}",
)


def test_two_networks_of_the_vehicle_are_never_tied_together() -> None:
    plan = planned("2044", SECOND_PAIR)
    assert "circuit-contested" in codes(plan) and not any(c.made for c in plan.circuits if c.group == "data")
    feed = "feed: {fulmar-data-box/D.3: brackmoor-24/A.7, fulmar-data-box/D.4: brackmoor-24/A.8}\ntakes:"
    chosen = planned("2044", SECOND_PAIR, swap("jobs/2044.yaml", "takes:", feed))
    joined = {(c.drivers[0].name, c.takers[0].name) for c in chosen.circuits if c.group == "data"}
    assert joined == {("brackmoor-24/A.7", "fulmar-data-box/D.3"), ("brackmoor-24/A.8", "fulmar-data-box/D.4")}
    assert chosen.state == "build" and "brackmoor-24/A.5" in {s.tail.name for s in chosen.spares}


def test_half_a_data_pair_is_held() -> None:
    assert codes(planned("2044", drop(BOX, "at: D.4,"))) == {"half-a-pair"}


def test_a_radio_is_no_data_lead_of_a_module() -> None:
    tap = after(MEDIA, "  - {at: M.11", "  - {at: M.12, function: data-can, pole: high, size: 0.5 mm2, length_mm: 180}")
    assert "data-refused" in codes(planned("2044", swap(MEDIA, "side: radio", "side: radio\nkind: data"), tap))


def test_a_data_box_without_data_keeps_nothing() -> None:
    plan = planned("2044", drop(CAMPER, "at: A.5,", "at: A.6,"))
    assert {"data-not-joined", "safety-feature-lost", "promise-not-kept"} <= codes(plan)
    lost = {f.feature_id for f in plan.features if f.outcome == "loses"}
    assert {"wheel-controls", "safety-tones"} <= lost


def test_a_radio_keeps_no_buttons_that_the_vehicle_does_not_bring() -> None:
    edits = swap("jobs/2044.yaml", "wheatear-r2", "wheatear-r3"), drop(CAMPER, "at: A.5,", "at: A.6,")
    assert next(f.outcome for f in planned("2044", *edits).features if f.feature_id == "wheel-controls") == "loses"


def test_loudspeakers_with_a_common_return_are_joined_to_no_bridged_output() -> None:
    minus = ("B.2", "B.4", "B.6", "B.8")
    plan = planned(
        "2038",
        drop(ISO, *(f"at: {way}," for way in minus)),
        after(ISO, "  - {at: B.1,", "  - {at: B.2, function: speaker-common, size: 0.5 mm2, length_mm: 200}"),
        drop("jobs/2038.yaml", *(f"ab/{way}," for way in minus)),
    )
    assert "join-refused" in codes(plan)
    assert not any(c.made for c in plan.circuits if c.group == "speaker")
    assert any("common return were made for" in c.reason for c in plan.circuits)  # the words of speaker-common-plus


def test_a_loudspeaker_with_one_wire_is_held() -> None:
    assert codes(planned("2038", drop(ISO, "at: B.2,"), drop("jobs/2038.yaml", "ab/B.2,"))) == {"half-a-pair"}


BRAKE_BOX = """lead: brake-box
title: Brake box
side: module
kind: plain
known_from: leaflet
leaflet: card
tails:
  - {at: green, function: parking-brake, colour: light green, size: 0.5 mm2, length_mm: 200}
  - {at: black, function: ground, colour: black, size: 0.5 mm2, length_mm: 200}
price: "9.00"
"""
WITH_BRAKE_BOX = (
    new("leads/brake-box.yaml", BRAKE_BOX),
    swap("jobs/2041.yaml", "dunnock-cable-kit]", "dunnock-cable-kit, brake-box]"),
)


def test_nothing_pretends_that_the_brake_is_on() -> None:
    assert codes(planned("2041", *WITH_BRAKE_BOX)) == {"join-refused"}
    chosen = swap("jobs/2041.yaml", "feed: {", "feed: {wheatear-r2/M.7: brake-box/green, ")
    assert codes(planned("2041", *WITH_BRAKE_BOX, chosen)) == {"feed-refused"}
    active = swap("leads/brake-box.yaml", "kind: plain", "kind: active")
    assert codes(planned("2041", *WITH_BRAKE_BOX, active)) == {"join-refused"}


# --- cameras ---------------------------------------------------------------------------------------------------------

CAMERA_OUT = after(MEDIA, "  - {at: M.11", "  - {at: M.12, function: camera-supply, size: 0.75 mm2, length_mm: 180, fuse_a: 1}")
CAMERA_IN = after(CAMPER, "  - {at: A.6,", "  - {at: A.7, function: camera-supply, size: 0.75 mm2, length_mm: 250}")


@pytest.mark.parametrize(("reading", "code"), [("", "camera-volts-unknown"), ("6.1 V", "proof-contradicts"), ("12.1 V", "")])
def test_a_camera_is_fed_when_its_volts_are_known(reading: str, code: str) -> None:
    proof = f"{{tail: brackmoor-24/A.7, condition: reverse, reading: {reading}, by: RP, on: 2026-05-20}}"
    edits = [swap("jobs/2044.yaml", "removed_radio", f"proofs: [{proof}]\nremoved_radio")] if reading else []
    assert codes(planned("2044", CAMERA_OUT, CAMERA_IN, *edits)) == ({code} if code else set())


def test_volts_at_the_way_are_enough_and_must_agree() -> None:
    def stated(volts: str) -> set[str]:
        return codes(planned("2044", CAMERA_OUT, CAMERA_IN, swap(CAMPER, "camera-supply,", f"camera-supply, volts: {volts},")))

    assert stated("12") == set() and "attributes-differ" in stated("6")


def test_a_cameras_own_plug_never_goes_straight_into_a_radio() -> None:
    edits = (
        swap("jobs/2044.yaml", ", curlew-camera-adapter]", "]"),
        swap(MEDIA, "  - {name: camera-picture,", "  - {name: camera, type: camera-plug}\n  - {name: camera-picture,"),
    )
    assert "camera-volts-unknown" in codes(planned("2044", *edits))
    both = [swap(file, "type: camera-plug", "type: camera-plug, volts: 12") for file in (CAMPER, MEDIA)]
    assert "camera-volts-unknown" not in codes(planned("2044", *edits, *both))


# --- known by whom ---------------------------------------------------------------------------------------------------


def test_known_by_meter_wants_a_reading_of_this_vehicle() -> None:
    osmere = "leads/osmere-16.yaml"
    plan = planned(
        "2049",
        swap(osmere, "known_from: leaflet\nleaflet: card in the bag, no issue number", "known_from: meter"),
        swap(osmere, "known_from: colour, ", "", every=True),
    )
    assert codes(plan) == {"meter-without-reading", "colour-of-another"}


CROSSED = (
    swap(RADIO, "M.1, function: supply-constant,", "M.1, function: supply-switched,"),
    swap(RADIO, "M.2, function: supply-switched,", "M.2, function: supply-constant,"),
    swap(RADIO, "colour: red, size: 0.5", "colour: red, size: 0.75"),
)


def test_a_reading_on_the_radios_own_wire_clears_nothing() -> None:
    proofs = """proofs:
  - {tail: wheatear-d1/M.1, condition: key-on, load: 5 W lamp, reading: 12.1 V, by: RP, on: 2026-05-12}
  - {tail: wheatear-d1/M.1, condition: asleep, load: 5 W lamp, reading: 0 V, by: RP, on: 2026-05-12}
  - {tail: wheatear-d1/M.2, condition: asleep, load: 5 W lamp, reading: 12.4 V, by: RP, on: 2026-05-12}
"""
    plan = planned("2038", *CROSSED, swap("jobs/2038.yaml", "proofs:\n", proofs))
    assert codes(plan) == {"colour-of-another"}
    assert all("leaflet" in p.hint and "known_from: leaflet" in p.hint for p in plan.problems if p.code == "colour-of-another")
    looked_up = swap(RADIO, "M.1, ", "M.1, known_from: leaflet, "), swap(RADIO, "M.2, ", "M.2, known_from: leaflet, ")
    assert planned("2038", *CROSSED, *looked_up).state == "plug-in"


def test_a_part_known_from_colour_is_cured_by_its_leaflet_alone() -> None:
    guessed = swap(RADIO, "M.1, ", "M.1, known_from: colour, ")
    proof = "proofs:\n  - {tail: wheatear-d1/M.1, condition: asleep, load: 5 W lamp, reading: 12.5 V, by: RP, on: 2026-05-12}\n"
    plan = planned("2038", guessed, swap("jobs/2038.yaml", "proofs:\n", proof))
    assert codes(plan) == {"colour-only"} and "leaflet" in plan.problems[0].hint


# --- where the work is -----------------------------------------------------------------------------------------------


def test_a_radio_is_never_taken_out_of_the_boot_alone() -> None:
    assert "radio-area-missing" in told("2038", swap("jobs/2038.yaml", "work_areas: [dash-centre]", "work_areas: [boot]"))
    both = swap("jobs/2038.yaml", "work_areas: [dash-centre]", "work_areas: [boot, console]")
    assert "radio-area-missing" not in told("2038", both)


def test_a_job_that_names_no_area_works_at_the_dash() -> None:
    plan = planned("2038", swap("jobs/2038.yaml", "work_areas: [dash-centre]", "work_areas: []"))
    assert airbag_areas(plan.job, plan.vehicle) == ("dash-centre",)


# --- what is left alone ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["airbag", "airbag-left", "srs", "squib", "seat-belt", "high-voltage"])
def test_a_ready_end_of_an_airbag_is_none(name: str) -> None:
    edits = (
        swap(ISO, "  - {name: antenna,", f"  - {{name: {name}, type: coax-75-plug}}\n  - {{name: antenna,"),
        swap(RADIO, "  - {name: antenna,", f"  - {{name: {name}, type: coax-75-socket}}\n  - {{name: antenna,"),
    )
    assert "never-mated" in told("2038", *edits)
    assert "never-mated" not in told("2038")


SOURCED = "source: common-practice, standing: common-practice"


@pytest.mark.parametrize(
    "entry",
    [
        f"functions: {{airbag: {{title: A, group: control, drivers: [vehicle], does: D., {SOURCED}}}}}",
        f"functions: {{airbag: {{title: A, group: control, never: yes, does: D., {SOURCED}}}}}",
        f"functions: {{ground: {{title: G, group: ground, drivers: [vehicle], prove_on_vehicle: yes, does: D., {SOURCED}}}}}",
        f"features: {{safety-tones: {{title: T, customer: t, does: D., functions: [warning-chime], {SOURCED}}}}}",
        f"refusals: {{airbag-with-anything: {{title: T, driver: airbag, taker: ground, reason: R., {SOURCED}}}}}",
        f"refusals: {{parking-brake-bypass: {{title: T, driver: not-used, taker: any, reason: R., {SOURCED}}}}}",
        f"meetings: {{own: {{driver: speaker-front-left, taker: line-front-left, why: W., {SOURCED}}}}}",
    ],
)
def test_a_shops_own_entry_never_makes_the_reference_looser(entry: str) -> None:
    assert "overlay-loosens" in told("2038", new("reference/own.yaml", entry + "\n"))


@pytest.mark.parametrize(
    "entry",
    [
        f"functions: {{airbag: {{title: SRS, group: safety, never: yes, does: D., {SOURCED}}}}}",
        f"refusals: {{airbag-with-anything: {{title: T, driver: any, taker: airbag, reason: Never., {SOURCED}}}}}",
        f"features: {{clock-display: {{title: T, customer: t, does: D., safety: yes, needs_part: yes, {SOURCED}}}}}",
        f"meetings: {{own: {{driver: speaker-centre, taker: speaker-level-front-left, why: W., {SOURCED}}}}}",
    ],
)
def test_a_shops_own_entry_may_be_stricter_or_as_strict(entry: str) -> None:
    assert "overlay-loosens" not in told("2038", new("reference/own.yaml", entry + "\n"))


def test_what_the_old_radio_carries_is_asked_for() -> None:
    assert "old-radio-not-asked" in told("2038", drop("jobs/2038.yaml", "removed_radio_asked"))
    assert "old-radio-not-asked" not in told("2038")


# --- what a proof has to say to count --------------------------------------------------------------------------------

DUNLIN_JOB = "jobs/2038.yaml"
GROUND = "condition: any, load: 5 A, reading: 0.04 V"


def proved(old: str, fresh: str, *, every: bool = False) -> Plan:
    return planned("2038", swap(DUNLIN_JOB, old, fresh, every=every))


@pytest.mark.parametrize("load", ["none", "no", '"-"', "0 A", "no load", "meter only"])
def test_no_load_is_no_load(load: str) -> None:
    plan = proved("condition: asleep, load: 5 W lamp, reading: 12.5 V", f"condition: asleep, load: {load}, reading: 12.5 V")
    assert plan.state == "build" and plan.states[0].unproved == ("iso-10487-ab/A.4",)


@pytest.mark.parametrize(
    ("ground", "state"),
    [
        ("load: 5 W lamp, reading: 0.09 V", "build"),
        ("load: 10 mA, reading: 0.01 V", "build"),
        ("load: 55 W lamp, reading: 0.04 V", "plug-in"),
        ("load: 5.2 A, reading: 0.04 V", "plug-in"),
        ("load: 5 A, between: this way and the minus of the same lamp, reading: 0.04 V", "build"),
        ("load: 5 A, between: this way and the battery minus, reading: 0.04 V", "plug-in"),
        ("load: 5 A, between: this way and bare metal, reading: 0.04 V", "build"),
    ],
)
def test_a_ground_is_proved_at_5_a_and_against_the_battery(ground: str, state: str) -> None:
    plan = proved(GROUND, f"condition: any, {ground}")
    assert plan.state == state
    assert any("The reading there" in line for line in plan.states[0].before_next) == (state == "build")


def test_a_reading_that_nobody_signed_proves_nothing() -> None:
    plan = proved(", by: RP, on: 2026-05-12", "", every=True)
    assert plan.state == "build" and "does not say who took it and which day" in plan.states[0].before_next[0]
    assert proved("by: RP, on", 'by: "?", on', every=True).state == "build"


def test_proofs_of_another_year_are_an_error() -> None:
    assert "dates-out-of-order" in told("2038", swap(DUNLIN_JOB, "on: 2026-05-12}", "on: 2020-05-12}", every=True))


@pytest.mark.parametrize("condition", ["accessory", "awake", "cranking"])
def test_a_constant_supply_that_is_dead_at_any_time_is_held(condition: str) -> None:
    taken = "by: RP, on: 2026-05-12"
    dead = f"proofs:\n  - {{tail: iso-10487-ab/A.4, condition: {condition}, load: 5 W lamp, reading: 0.0 V, {taken}}}\n"
    assert codes(proved("proofs:\n", dead)) == {"proof-contradicts"}
    assert proved("proofs:\n", dead.replace("0.0 V", "12.2 V")).state == "plug-in"


def test_the_starter_pulls_a_constant_supply_down_and_that_is_right() -> None:
    low = "proofs:\n  - {tail: iso-10487-ab/A.4, condition: cranking, load: 5 W lamp, reading: 9.4 V, by: RP, on: 2026-05-12}\n"
    assert proved("proofs:\n", low).state == "plug-in"


@pytest.mark.parametrize("written", ["12.5 V DC", "12.5 VDC", "12.5V dc", "12,5 V"])
def test_a_proof_is_written_as_a_reading_on_a_sheet_is(written: str) -> None:
    assert proved("reading: 12.5 V", f'reading: "{written}"').state == "plug-in"


@pytest.mark.parametrize("written", ["O.L.", "OVL", "> 20 MΩ", "20M", "over 20 Mohm", "0.L"])
def test_an_open_circuit_is_written_in_many_ways(written: str) -> None:
    assert proved("reading: OL", f'reading: "{written}"', every=True).state == "plug-in"


def test_more_than_a_figure_is_no_reading_but_at_the_end_of_the_scale() -> None:
    assert "bad-reading" in told("2038", swap(DUNLIN_JOB, "reading: 12.5 V", 'reading: "> 12.5 V"'))


# --- fuses -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("amps", "held"), [("30", set()), ("40", {"fuse-over-conductor"}), ("70", {"fuse-over-conductor"})])
def test_the_fuse_at_the_battery_answers_for_the_cable_up_to_the_next_one(amps: str, held: set[str]) -> None:
    """The amplifier's own 30 A fuse sits at the far end of 6 mm2, which may carry 36.5 A: it limits no fault before it."""
    plan = planned("2041", swap(KIT, "fuse_a: 30", f"fuse_a: {amps}"))
    assert codes(plan) & {"fuse-over-conductor"} == held
    if held:
        message = next(p.message for p in plan.problems if p.code == "fuse-over-conductor")
        assert f"the fuse of {amps} A" in message and "dunnock-amp-4/supply" in message


def test_a_part_that_does_not_say_what_it_takes_is_told() -> None:
    draws = swap(AMP, "draws: {running_a: 10, peak_a: 24, standby_ma: 1}\n", "")
    assert "draws-missing" in told("2041", draws) and "draws-missing" not in told("2041")
    assert "draws-missing" in told("2038", drop(RADIO, "draws: {"))
