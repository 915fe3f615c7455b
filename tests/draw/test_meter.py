"""Meter set-ups and typical faults: dial, jack and probes in the picture and in words; no reading that nobody gave."""

from __future__ import annotations

import pytest

from loomleaf.draw.meter import FAULT_NAMES, FAULTS, SET_UPS, fault_picture, meter_picture

from .drawn import assert_well_made, overlaps, root, strokes, too_close, words

WANTED = {
    "volts-under-load", "ohms-speaker", "drop-ground", "drop-joint", "continuity", "isolation", "drain", "buttons", "gain",
}  # fmt: skip
WANTED_FAULTS = {"unloaded-reading", "speaker-minus-on-ground", "sleeve-forgotten", "tinned-strand", "mirrored-face"}


def test_all_set_ups_and_faults_are_there() -> None:
    assert set(SET_UPS) == WANTED
    assert set(FAULT_NAMES) == WANTED_FAULTS


@pytest.mark.parametrize("name", sorted(WANTED))
def test_a_set_up_is_well_made(name: str) -> None:
    svg = meter_picture(name)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []
    set_up = SET_UPS[name]
    said = [word.text for word in words(svg)]
    assert {set_up.dial, set_up.jack, "COM"} <= set(said)
    told = root(svg)[1].text or ""
    assert f"Meter set to {set_up.dial}" in told and f"red lead in {set_up.jack}" in told


@pytest.mark.parametrize("name", sorted(WANTED))
def test_no_reading_is_printed_unless_given(name: str) -> None:
    plain = {word.text for word in words(meter_picture(name))}
    shown = {word.text for word in words(meter_picture(name, shows="11.9 V"))}
    assert shown - plain == {"11.9 V"} and plain <= shown
    assert "11.9 V" in (root(meter_picture(name, shows="11.9 V"))[1].text or "")


@pytest.mark.parametrize("name", sorted(WANTED))
def test_red_and_black_leads_can_be_told_apart_without_colour(name: str) -> None:
    leads = [stroke for stroke in strokes(meter_picture(name)) if "Q" in stroke.d and stroke.width == 0.5]
    assert {bool(stroke.dash) for stroke in leads} == {True, False}


def test_current_is_measured_from_the_current_jack_and_resistance_without_power() -> None:
    assert SET_UPS["drain"].jack == "10 A" and SET_UPS["drain"].dial.startswith("A")
    assert "nothing powered" in SET_UPS["ohms-speaker"].words
    assert "asleep" in SET_UPS["drain"].words


@pytest.mark.parametrize("name", sorted(WANTED_FAULTS))
def test_a_fault_is_well_made(name: str) -> None:
    svg = fault_picture(name)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []


def test_the_two_readings_of_the_unloaded_fault_can_be_given() -> None:
    said = [word.text for word in words(fault_picture("unloaded-reading", shows=("12.4 V", "6.1 V")))]
    assert "12.4 V" in said and "6.1 V" in said


def test_the_mirrored_face_is_a_mirror_image() -> None:
    digits = [
        word.text for word in sorted(words(fault_picture("mirrored-face")), key=lambda w: w.x) if word.text in "1234"
    ]
    assert digits[:4] == digits[4:][::-1]


def test_fault_words_name_their_cause() -> None:
    assert "driven" in FAULTS["speaker-minus-on-ground"].words
