"""What a meter shows: windows that make sense and that tell one function from another."""

from __future__ import annotations

import pytest

from loomleaf.model.reference import ExpectedReading

from .shipped import reference


def _reading(function: str, condition: str, quantity: str, pole: str | None = None) -> ExpectedReading:
    found = [
        r
        for r in reference().functions[function].readings
        if (r.condition, r.quantity, r.pole) == (condition, quantity, pole)
    ]
    assert len(found) == 1, f"{function} {condition} {quantity} {pole}"
    return found[0]


def _holds(reading: ExpectedReading, value: float) -> bool:
    low = reading.low if reading.low is not None else float("-inf")
    high = reading.high if reading.high is not None else float("inf")
    return not reading.open and low <= value <= high


def test_low_is_below_high_and_open_has_neither() -> None:
    for name, function in reference().functions.items():
        for reading in function.readings:
            if reading.open:
                assert reading.low is None and reading.high is None and reading.quantity == "Ω", name
            else:
                assert reading.low is not None or reading.high is not None, name
            if reading.low is not None and reading.high is not None:
                assert reading.low < reading.high, name
            assert reading.between, f"{name}: where do the probes go?"


def test_a_reading_can_be_matched_to_one_window_only() -> None:
    for name, function in reference().functions.items():
        keys = [(r.condition, r.quantity, r.pole) for r in function.readings]
        assert len(keys) == len(set(keys)), name
        assert all(r.pole is None or r.pole in function.poles for r in function.readings), name


def test_what_is_proved_on_the_vehicle_has_a_needed_reading_for_every_pole() -> None:
    for name, function in reference().functions.items():
        if not function.prove_on_vehicle:
            continue
        for pole in function.poles or (None,):
            assert any(r.needed and r.pole in (None, pole) for r in function.readings), f"{name} {pole}"


def test_supplies_are_proved_under_a_load() -> None:
    # common practice, no source: a meter alone reads full volts through one strand
    for name in ("supply-constant", "supply-switched", "supply-retained"):
        assert all(r.load for r in reference().functions[name].readings if r.needed), name
    assert _reading("ground", "any", "V").load == "5 A"


@pytest.mark.parametrize("volts", [11.89, 12.06, 12.24, 12.45, 12.65])
def test_a_battery_at_rest_is_inside_the_constant_window(volts: float) -> None:
    # Battery Council International, open-circuit volts of a flooded battery from 0 to 100 % (as restated in a training text)
    assert _holds(_reading("supply-constant", "asleep", "V"), volts)


def test_a_charging_vehicle_is_inside_the_window() -> None:
    # smart charging, 12 to 15 V: common practice, no source
    for volts in (12.0, 13.8, 14.4, 15.0):
        assert _holds(_reading("supply-constant", "key-on", "V"), volts)
        assert _holds(_reading("supply-switched", "key-on", "V"), volts)


def test_red_and_yellow_changed_over_cannot_pass() -> None:
    constant, switched = _reading("supply-constant", "asleep", "V"), _reading("supply-switched", "asleep", "V")
    assert switched.high is not None and constant.low is not None and switched.high < constant.low
    retained = _reading("supply-retained", "asleep", "V")
    assert retained.high is not None and retained.high < constant.low


def test_lights_and_reverse_are_dead_when_off() -> None:
    for name, condition in (("illumination", "lights-on"), ("reverse", "reverse")):
        on, off = _reading(name, condition, "V"), _reading(name, "key-on", "V")
        assert on.needed and off.needed
        assert off.high is not None and on.low is not None and off.high < on.low


# Direct-current resistance by rated impedance, a public table: rated Ω, lowest, highest.
@pytest.mark.parametrize(
    ("rated", "low", "high"), [(2, 1.2, 2.0), (4, 3.1, 4.0), (6, 4.0, 6.0), (8, 5.7, 8.0), (16, 12.0, 16.0)]
)
def test_a_loudspeaker_is_inside_its_window_and_outside_that_of_an_input(rated: float, low: float, high: float) -> None:
    loudspeaker = _reading("speaker-front-left", "unplugged", "Ω", "plus")
    amplifier_input = _reading("speaker-level-front-left", "unplugged", "Ω", "plus")
    for value in (low, high):
        assert _holds(loudspeaker, value)
        assert not _holds(amplifier_input, value)


def test_a_bridged_minus_is_open_to_ground() -> None:
    # bridged outputs: both wires driven, seen in amplifier circuit data; the rule is common practice
    for place in ("front-left", "front-right", "rear-left", "rear-right", "centre", "subwoofer"):
        assert _reading(f"speaker-{place}", "unplugged", "Ω", "minus").open


def test_the_data_pair_reads_near_sixty_ohms() -> None:
    # ISO 11898-2, from memory: 120 Ω at each end of the pair
    both = 1 / (1 / 120 + 1 / 120)
    assert _holds(_reading("data-can", "unplugged", "Ω", "high"), both)
    assert not _holds(_reading("data-can", "unplugged", "Ω", "high"), 120)


def test_nothing_is_measured_on_what_is_left_alone() -> None:
    for name, function in reference().functions.items():
        if function.never:
            assert function.readings == (), name
