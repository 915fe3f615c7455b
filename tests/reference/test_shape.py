"""Every shipped file reads without a problem, holds its own section only, and holds enough."""

from __future__ import annotations

import pytest

from .shipped import SECTIONS, raw, reference

FEWEST = {
    "functions": 60,
    "meetings": 15,
    "refusals": 40,
    "connectors": 16,
    "methods": 6,
    "features": 20,
    "cautions": 12,
    "sources": 10,
}


@pytest.mark.parametrize("section", SECTIONS)
def test_a_file_holds_its_own_section_only(section: str) -> None:
    assert list(raw(section)) == [section]


@pytest.mark.parametrize("section", SECTIONS)
def test_there_are_enough_entries(section: str) -> None:
    assert len(getattr(reference(), section)) >= FEWEST[section]


def test_an_order_is_used_once_in_a_group() -> None:
    seen: dict[tuple[str, int], str] = {}
    for name, function in reference().functions.items():
        key = (function.group, function.order)
        assert key not in seen, f"{name} and {seen.get(key)} stand at the same place of {function.group}"
        seen[key] = name


def test_short_names_fit_a_label() -> None:
    for name, function in reference().functions.items():
        assert 1 <= len(function.short.split()) <= 3, name
        assert len(function.short) <= 22, name


def test_the_group_never_joined_holds_only_what_is_never_joined() -> None:
    for name, function in reference().functions.items():
        assert (function.group == "safety") == function.never, name


def test_every_function_explains_itself() -> None:
    for name, function in reference().functions.items():
        assert len(function.does.split()) >= 8, name
        assert function.must_never, name
        assert function.mistakes, name
        assert function.also_called, name
        assert function.may_join or function.never or name in ("unknown", "not-used"), name


def test_the_ids_that_leads_rely_on_are_there() -> None:
    wanted = """supply-constant supply-switched supply-retained accessory-output ground illumination dimmer-return
        antenna-turn-on amplifier-turn-on mute phone-mute parking-brake reverse speed wheel-button-1 wheel-button-2
        wheel-ground camera-video camera-supply camera-trigger microphone data-can data-lin data-vehicle
        radio-remote-wire airbag telephone-audio warning-chime line-input-left line-input-right unknown
        not-used""".split()  # noqa: SIM905 - a paragraph of ids
    for place in ("front-left", "front-right", "rear-left", "rear-right", "centre", "subwoofer"):
        wanted += [f"speaker-{place}", f"speaker-level-{place}", f"line-{place}"]
    assert [name for name in wanted if name not in reference().functions] == []


def test_wire_pairs_name_their_poles() -> None:
    for name, function in reference().functions.items():
        if name.startswith("speaker-") and name != "speaker-common":
            assert function.poles == ("plus", "minus"), name
            assert function.wiring == "bridged", name
        if name.startswith("line-"):
            assert set(function.poles) == {"plus", "minus", "shield"}, name
    assert reference().functions["data-can"].poles == ("high", "low")


def test_data_lines_are_buses_and_marked_as_data() -> None:
    for name, function in reference().functions.items():
        assert function.data == (function.group == "data"), name
        assert (function.combine == "bus") == function.data, name


def test_what_must_be_proved_on_the_vehicle() -> None:
    # supplies, ground, turn-on and loudspeaker ways are proved by meter on this very vehicle before plugging in
    proved = {name for name, function in reference().functions.items() if function.prove_on_vehicle}
    for name, function in reference().functions.items():
        driven_by_vehicle = "vehicle" in function.drivers
        if (function.group in ("supply", "ground") and driven_by_vehicle) or function.group == "speaker":
            assert name in proved, name
    assert {"antenna-turn-on", "amplifier-turn-on", "reverse"} <= proved


def test_a_loudspeaker_without_a_driver_is_wanting() -> None:
    functions = reference().functions
    for name in ("supply-constant", "supply-switched", "ground", "camera-supply", "speaker-front-left"):
        assert functions[name].unfed == "wanting", name
    for name in ("warning-chime", "emergency-call-audio", "emergency-call-mute"):
        assert functions[name].unused == "wanting", name
