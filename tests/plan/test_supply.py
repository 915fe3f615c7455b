"""The supply network of a job against sums done by hand, and its limits."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, codes, message, value, work

HOT = 1 + 0.00393 * (65 - 20)  # copper at 65 °C, IEC 60028


def radio(more: str = DRAWS, size: str = "0.75_mm2") -> str:
    rows = [f"{row} size={size}" for row in RADIO]
    return lead("radio", "radio", *rows, more=more)


def dash(size: str = "0.75_mm2") -> str:
    return lead("dash", "vehicle", *(f"{row} size={size}" for row in DASH))


def part(plan, name: str):
    return next(row for row in plan.engineering["supply"]["parts"] if row["part"] == name)


def test_a_radio_in_the_dash_by_hand() -> None:
    """IEC 60228 class 5: 26.0 mΩ/m at 0.75 mm², 13.3 at 1.5 mm²; the rest from the shop's settings, 4 A.

    Out: holder 5 + fuse 6 + 2 m × 13.3 + contact 5 + 0.2 m × 26 + joint 1 + 0.2 m × 26.
    Back: 0.2 × 26 + joint 1 + 0.2 × 26 + contact 5 + 0.5 m × 13.3 + fixing 2 + body 1.
    """
    row = part(work(dash(), radio()), "radio")
    copper_out, copper_back = 2 * 13.3 + 0.4 * 26, 0.4 * 26 + 0.5 * 13.3
    cold = (5 + 6 + 5 + 1 + copper_out + 1 + 5 + 2 + 1 + copper_back) * 4 / 1000
    hot = (5 + 6 + 5 + 1 + copper_out * HOT + 1 + 5 + 2 + 1 + copper_back * HOT) * 4 / 1000
    assert value(row["drop_running_20c_v"]) == pytest.approx(cold)
    assert value(row["drop_running_v"]) == pytest.approx(hot)
    assert value(row["volts_running_v"]) == pytest.approx(13.8 - hot)
    assert value(row["drop_peak_v"]) == pytest.approx(2 * hot)
    assert row["worst_segment"].startswith("the maker's feed cable")


def test_the_drop_is_the_sum_of_its_segments() -> None:
    plan = work(dash(), radio())
    total = sum(value(s["running_v"]) for s in plan.engineering["supply"]["segments"])
    assert total == pytest.approx(value(part(plan, "radio")["drop_running_v"]))


def test_a_shared_ground_carries_both() -> None:
    """A module on the same plug lifts the radio's ground by its own current through the shared way only."""
    box = lead(
        "box", "module", "plus supply-constant", "minus ground", more="draws: {running_a: 1, peak_a: 1}\nfuse_a: 2\n"
    )
    alone, both = work(dash(), radio()), work(dash(), radio(), box)
    shared_out = 5 + 6 + 2 * 13.3 * HOT + 5 + 0.2 * 26 * HOT + 1
    shared_back = 1 + 0.2 * 26 * HOT + 5 + 0.5 * 13.3 * HOT + 2 + 1
    lifted = value(part(both, "radio")["drop_running_v"]) - value(part(alone, "radio")["drop_running_v"])
    assert lifted == pytest.approx((shared_out + shared_back) / 1000)


def test_what_already_hangs_on_the_fuse_counts_in_the_fuse_alone() -> None:
    more = work(dash(), radio(), vehicle=CAR.replace("feed: {", "feed: {load_a: 2, "))
    lifted = value(part(more, "radio")["drop_running_v"]) - value(
        part(work(dash(), radio()), "radio")["drop_running_v"]
    )
    assert lifted == pytest.approx(2 * (5 + 6) / 1000)


def amplifier(
    running: float = 10, size: str = "8_AWG", length: str = "5000", fuse: str = "fuse_a: 30\n"
) -> tuple[str, str]:
    feed = "terminal=ring-terminal feed=battery"
    kit = lead(
        "kit",
        "vehicle",
        f"battery supply-constant size={size} length_mm={length} {feed}",
        f"stud ground size={size} length_mm=600 {feed}",
        more=fuse,
    )
    amp = lead(
        "amp",
        "accessory",
        f"plus supply-constant size={size} {feed}",
        f"minus ground size={size} {feed}",
        more=f"draws: {{running_a: {running}, peak_a: {running * 2}, standby_ma: 1}}\n",
    )
    return kit, amp


def test_an_amplifier_from_the_battery_and_the_radio_share_only_the_body() -> None:
    alone = work(dash(), radio())
    both = work(dash(), radio(), *amplifier(10))
    lifted = value(part(both, "radio")["drop_running_v"]) - value(part(alone, "radio")["drop_running_v"])
    assert lifted == pytest.approx(10 * 1 / 1000)  # 10 A in the shared 1 mΩ of body
    offset = both.engineering["supply"]["ground_offset"]
    back = {name: value(part(both, name)["volts_running_v"]) for name in ("radio", "amp")}
    assert set(offset["between"]) == {"radio", "amp"}
    assert 0 < value(offset["offset_v"]) < abs(back["radio"] - back["amp"]) + 0.5


def test_grounds_that_lie_apart_hold() -> None:
    far = work(dash(), radio(), *amplifier(10), shop="supply: {ground_offset_limit_v: 0.01}\n")
    assert codes(far, "ground-offset") == ["ground-offset"]
    assert far.held
    near = work(dash(), radio(), *amplifier(10), shop="supply: {ground_offset_limit_v: 0.5}\n")
    assert codes(near, "ground-offset") == []


def test_more_drop_than_the_shop_allows_holds_and_names_the_worst_piece() -> None:
    plan = work(dash(), radio(), vehicle=CAR.replace("length_mm: 2000", "length_mm: 9000"))
    assert codes(plan, "supply-drop") == ["supply-drop"]
    assert "the maker's feed cable, 9000 mm of 1.5 mm²" in message(plan, "supply-drop")
    assert plan.held


@pytest.mark.parametrize(
    ("vehicle", "leads", "told"),
    [
        (
            CAR.replace("cable: 1.5 mm2, length_mm: 2000, ", ""),
            None,
            "the size of the maker's feed cable is not stated",
        ),
        (CAR, (dash(), radio(more="fuse_a: 10\n")), "nobody has stated how much current it takes"),
        (CAR, (dash(), radio().replace("size: 0.75 mm2, length_mm: 200", "size: 0.75 mm2")), "the length of radio/"),
        (CAR, (dash(size="0.6_mm2"), radio()), "0.6 mm²"),
    ],
)
def test_what_is_not_stated_is_said_and_never_guessed(vehicle: str, leads: tuple[str, str] | None, told: str) -> None:
    plan = work(*(leads or (dash(), radio())), vehicle=vehicle)
    assert plan.engineering["supply"]["parts"] == []
    assert any(told in note for note in plan.engineering["notes"]), plan.engineering["notes"]
    check = next(c for c in plan.checks if c.key == "loaded-radio-yellow")
    assert check.figure is None


def test_an_unmeasured_ground_wire_is_not_counted_and_said() -> None:
    plan = work(dash(), radio(), vehicle=CAR.replace(",\n  ground_cable: 1.5 mm2, ground_mm: 500", ""))
    assert any("ground wire" in note for note in plan.engineering["notes"])
    known = value(part(work(dash(), radio()), "radio")["drop_running_v"])
    assert value(part(plan, "radio")["drop_running_v"]) == pytest.approx(known - 4 * 0.5 * 13.3 * HOT / 1000)


def test_a_camera_fed_by_a_module_draws_through_it() -> None:
    box = lead(
        "box", "module", "plus supply-constant", "minus ground", "out accessory-output gives_ma=2000",
        more="kind: data\ndraws: {running_a: 0.2, peak_a: 0.2}\nfuse_a: 5\n",
    )  # fmt: skip
    camera = lead("camera", "accessory", "red supply-switched", "black ground",
                  more="draws: {running_a: 0.3, peak_a: 0.3}\nfuse_a: 1\n")  # fmt: skip
    near = lead("dash", "vehicle", "A.4 supply-constant", "A.8 ground")
    plan = work(near, lead("radio", "radio", "yellow supply-constant", "black ground", more=DRAWS), box, camera)
    row = next(s for s in plan.engineering["supply"]["segments"] if s["segment"].startswith("box/plus"))
    assert value(row["running_v"]) == pytest.approx(0.5 * 0.2 * 26 * HOT / 1000)
    assert any("loses inside" in note for note in plan.engineering["notes"])


def test_the_check_under_load_expects_the_vehicles_own_range_less_the_drop() -> None:
    """ISO 16750-2 equipment sees what the vehicle does: a plain supply runs from 13.5 to 14.7 V (common practice)."""
    plan = work(dash(), radio())
    lost = value(part(plan, "radio")["drop_running_v"])
    check = next(c for c in plan.checks if c.key == "loaded-radio-yellow")
    assert check.low is not None and 13.5 - lost - 0.1 <= check.low <= 13.5 - lost
    assert check.high == 14.7
    assert check.figure is not None and value(check.figure) == pytest.approx(13.8 - lost)
    smart = work(dash(), radio(), vehicle=CAR + "supply: smart-charging\n")
    low = next(c.low for c in smart.checks if c.key == "loaded-radio-yellow")
    assert low is not None and low < 12


def test_a_part_that_needs_more_than_the_vehicle_gives_holds() -> None:
    limits = "limits: {lowest_supply_v: 13.4, highest_supply_v: 16}\n"
    plan = work(dash(), radio(more=DRAWS + limits))
    assert codes(plan, "supply-range", "supply-weak") == ["supply-range", "supply-weak"]
    fine = work(dash(), radio(more=DRAWS + "limits: {lowest_supply_v: 10.5, highest_supply_v: 16}\n"))
    assert codes(fine, "supply-range", "supply-weak") == []
    assert any("go out while the engine starts" in note for note in fine.engineering["notes"])


def test_an_amplifier_of_150_a_and_cable_beyond_the_tables() -> None:
    """IEC 60228: 0.386 mΩ/m at 50 mm². 150 A over 5 m out and 0.6 m back."""
    plan = work(*amplifier(150, "50_mm2", fuse=""), shop="supply: {drop_limit_v: 5}\n")
    row = part(plan, "amp")
    copper = 0.386 * HOT * (5 + 0.2 + 0.6 + 0.2)
    assert value(row["drop_running_v"]) == pytest.approx(150 * (5 + 6 + 1 + copper + 1 + 2 + 1) / 1000)
    beyond = work(*amplifier(150, "70_mm2", fuse=""))
    assert "conductor-unknown" in codes(beyond)
    assert "is not in the conductor table" in message(beyond, "conductor-unknown")
    assert beyond.held


@settings(max_examples=40)
@given(radio_a=st.floats(0.1, 8), box_a=st.floats(0, 3), amp_a=st.floats(0, 30))
def test_more_current_anywhere_never_raises_a_parts_volts(radio_a: float, box_a: float, amp_a: float) -> None:
    def volts(a: float, b: float, c: float) -> dict[str, float]:
        box = lead(
            "box", "module", "plus supply-constant", "minus ground", more=f"draws: {{running_a: {b:.3f}}}\nfuse_a: 5\n"
        )
        plan = work(
            dash(),
            radio(more=f"draws: {{running_a: {a:.3f}}}\nfuse_a: 10\n"),
            box,
            *amplifier(round(c, 3)),
            shop="supply: {drop_limit_v: 9}\n",
        )
        return {row["part"]: value(row["volts_running_v"]) for row in plan.engineering["supply"]["parts"]}

    base = volts(radio_a, box_a, amp_a)
    for more in (volts(radio_a + 1, box_a, amp_a), volts(radio_a, box_a + 1, amp_a), volts(radio_a, box_a, amp_a + 5)):
        assert set(more) == set(base)
        assert all(more[name] <= base[name] + 1e-9 for name in base)
