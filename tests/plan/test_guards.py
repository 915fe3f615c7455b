"""What holds a job whole though each circuit looks right. Every case is the demo shop with a line spoilt: rules are common
practice, no source, where none is named."""

from __future__ import annotations

import pytest

from tests.plan.spoilt import after, codes, drop, new, planned, swap

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
