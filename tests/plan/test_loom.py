"""Where joints lie, and how thick the loom gets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, codes, joint, value, work

CONTROLS = ("illumination", "reverse", "speed", "parking-brake", "antenna-turn-on")


def plan_with(count: int, length: int = 200, far: int = 180, job: str = "", vehicle: str = CAR, shop: str = ""):
    near = [f"A.{i + 10} {name}" for i, name in enumerate(CONTROLS[:count])]
    radio = [f"w{i} {name}" for i, name in enumerate(CONTROLS[:count])]
    return work(
        lead("dash", "vehicle", *(f"{row} length_mm={length}" for row in (*DASH, *near))),
        lead("radio", "radio", *(f"{row} length_mm={far}" for row in (*RADIO, *radio)), more=DRAWS),
        job=job,
        vehicle=vehicle,
        shop=shop,
    )


def loom(plan):
    return plan.engineering["loom"]["looms"][0]


@settings(max_examples=60)
@given(count=st.integers(0, 5), length=st.integers(150, 600), pitch=st.integers(10, 60))
def test_a_supply_is_never_beside_a_ground(count: int, length: int, pitch: int) -> None:
    plan = plan_with(count, length, shop=f"loom: {{station_pitch_mm: {pitch}}}\n")
    placed = [j for j in plan.joints if j.station]
    if codes(plan, "joints-too-close"):
        assert placed == []
        assert plan.held
        return
    groups = {c.id: c.group for c in plan.circuits}
    supplies = [j.station for j in placed if groups[j.circuit] == "supply"]
    grounds = [j.station for j in placed if groups[j.circuit] == "ground"]
    assert supplies and grounds
    assert min(abs(a - b) for a in supplies for b in grounds) >= 2
    for made in placed:
        assert made.position_mm is not None
        assert 60 <= made.position_mm <= length
        assert made.position_from == "dash"


def test_tails_too_short_to_keep_them_apart_hold() -> None:
    plan = plan_with(0, length=100)
    assert codes(plan, "joints-too-close") == ["joints-too-close"]
    assert plan.held


def test_as_few_joints_a_station_as_the_length_allows() -> None:
    """8 joints of 26 mm from 60 mm on: 200 mm hold 5 stations, so two at most; 600 mm give each its own."""
    assert loom(plan_with(5))["most_at_a_station"] == 2
    assert loom(plan_with(5, length=600, far=600))["most_at_a_station"] == 1


def test_a_tail_of_unknown_length_is_said() -> None:
    near = lead("dash", "vehicle", *DASH).replace("length_mm: 200", "note: coiled")
    plan = work(near, lead("radio", "radio", *RADIO, more=DRAWS))
    assert any("the length of dash/A.4 is not stated" in note for note in plan.engineering["notes"])
    assert {j.station for j in plan.joints} == {0}


def test_the_bundle_of_equal_wires_by_the_packing_table() -> None:
    """3 wires of 0.75 mm² (1.9 mm over the insulation): 1 + 2/√3 = 2.1547 diameters (proved packing of three)."""
    assert value(loom(plan_with(0))["bundle_mm"]) == pytest.approx((1 + 2 / math.sqrt(3)) * 1.9)


def test_joints_make_it_thicker() -> None:
    found = loom(plan_with(4))
    assert value(found["bundle_with_joints_mm"]) > value(found["bundle_mm"])


def test_a_loom_that_does_not_pass_is_told() -> None:
    plan = plan_with(4, vehicle=CAR + "opening: {loom_mm: 5}\n")
    assert codes(plan, "loom-too-thick") == ["loom-too-thick"]
    assert not plan.held
    assert codes(plan_with(4, vehicle=CAR + "opening: {loom_mm: 40}\n"), "loom-too-thick") == []


def test_a_route_that_the_tails_do_not_reach_is_told() -> None:
    plan = plan_with(0, job="route_mm: {dash: 420}\n")
    assert codes(plan, "loom-too-short") == ["loom-too-short"]
    assert codes(plan_with(0, job="route_mm: {dash: 230}\n"), "loom-too-short") == []


def test_joints_move_out_so_that_the_route_is_reached() -> None:
    """Tails of 400 and 180 mm on a route of 400: the joints must lie beyond 220 mm."""
    plan = plan_with(0, length=400, job="route_mm: {dash: 400}\n")
    assert codes(plan, "loom-too-short") == []
    assert all(j.position_mm is not None and j.position_mm >= 400 - 180 for j in plan.joints)
    assert all(j.position_mm < 150 for j in plan_with(0, length=400).joints if j.title == "Constant supply")


def test_tape_by_hand() -> None:
    """π D L / (w (1 − o)): the area laid over the area covered."""
    found = loom(plan_with(0, job="route_mm: {dash: 230}\n"))
    diameter = (1 + 2 / math.sqrt(3)) * 1.9
    assert value(found["tape_mm"]) == pytest.approx(math.pi * diameter * 230 / (19 * 0.5))


def test_away_from_the_dash_joints_lie_at_the_end_of_the_tails() -> None:
    plan = work(
        lead("dash", "vehicle", *DASH),
        lead("radio", "radio", *RADIO, more=DRAWS),
        lead("amp", "accessory", "p speaker-subwoofer + length_mm=1500", "m speaker-subwoofer - length_mm=1500"),
        lead(
            "sub",
            "accessory",
            "p speaker-subwoofer + role=takes",
            "m speaker-subwoofer - role=takes",
            more='load: "4"\n',
        ),
    )
    circuit = next(c for c in plan.circuits if c.function_id == "speaker-subwoofer")
    made = joint(plan, circuit.id)
    assert made.position_from == "amp"
    assert made.position_mm is not None and made.position_mm > 1350


def between_plugs(plan) -> tuple[float, float]:
    """From the dash plug to the first joint's middle, and from the last one's to the radio's plug."""
    places = [j.position_mm for j in plan.joints if j.position_mm is not None]
    return min(places), value(loom(plan)["length_mm"]) - max(places)


@pytest.mark.parametrize("route", (250, 300, 340))
def test_both_plugs_are_kept_free_of_joints_where_the_loom_is_long_enough(route: int) -> None:
    """The shop's 60 mm at the vehicle's plug and at the radio's (common practice, no source)."""
    plan = plan_with(3, length=300, far=300, job=f"route_mm: {{dash: {route}}}\n")
    first, last = between_plugs(plan)
    assert first >= 60 and last >= 60
    assert loom(plan)["near_radio"] == ""


def test_both_plugs_are_kept_free_without_a_stated_route() -> None:
    """The tails then make the length: the first joint's place and the radio's tail behind it, less half the lap."""
    first, last = between_plugs(plan_with(5, length=400, far=180))
    assert first >= 60 and last >= 60


def test_a_loom_too_short_for_both_says_which_joints_come_near_the_radio() -> None:
    plan = plan_with(0, length=180, job="route_mm: {dash: 150}\n")
    _, last = between_plugs(plan)
    assert last < 60
    said = loom(plan)["near_radio"]
    assert "too short to keep 60 mm free of joints at both plugs" in said
    assert f"{last:.0f} mm from the radio's plug" in said
    assert said in plan.engineering["notes"]


def test_a_loom_too_thick_for_the_opening_is_spread_nearer_to_the_radio() -> None:
    """Fewer joints a station count for more than the free length at the radio's plug."""
    job = "route_mm: {dash: 200}\n"
    free = plan_with(5, length=200, job=job)
    thick = value(loom(free)["bundle_with_joints_mm"])
    tight = plan_with(5, length=200, job=job, vehicle=CAR + f"opening: {{loom_mm: {thick - 0.1:.2f}}}\n")
    assert value(loom(tight)["bundle_with_joints_mm"]) < thick
    assert loom(tight)["near_radio"] and not loom(free)["near_radio"]


def test_places_are_whole_millimetres() -> None:
    """A rule and a pen do no better (common practice, no source)."""
    plan = plan_with(5, length=400, shop="loom: {station_pitch_mm: 27}\n")
    assert all(j.position_mm == round(j.position_mm) for j in plan.joints if j.position_mm is not None)
