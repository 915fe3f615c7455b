"""The reference against the world outside: plug ways, terminal numbers, colour habits, colour words, signal words."""

from __future__ import annotations

import pytest

from loomleaf.figure import Standing
from loomleaf.units import COLOURS

from .shipped import reference

# Public lists of the use of ISO 10487 plugs (three agree on A and B, one gives C); the standard itself fixes shapes only.
ISO_10487_WAYS = {
    "A.1": "speed",
    "A.2": "phone-mute",
    "A.4": "supply-constant",
    "A.5": "antenna-turn-on",
    "A.6": "illumination",
    "A.7": "supply-switched",
    "A.8": "ground",
    "B.1": "speaker-rear-right",
    "B.2": "speaker-rear-right",
    "B.3": "speaker-front-right",
    "B.4": "speaker-front-right",
    "B.5": "speaker-front-left",
    "B.6": "speaker-front-left",
    "B.7": "speaker-rear-left",
    "B.8": "speaker-rear-left",
    "C1.1": "line-rear-left",
    "C1.2": "line-rear-right",
    "C1.4": "line-front-left",
    "C1.5": "line-front-right",
    "C2.12": "radio-remote-ground",
    "C3.19": "line-input-left",
    "C3.20": "line-input-right",
}

# DIN 72552 as restated in reference lists; 58d and 86s from memory.
DIN_72552 = {
    "15": "supply-switched",
    "30": "supply-constant",
    "31": "ground",
    "58d": "illumination",
    "86s": "key-in",
}

# The colours of aftermarket leads: common practice, no source (asserted in many pages, no numbered document found).
COLOUR_HABIT = {
    ("supply-constant", None): "yellow",
    ("supply-switched", None): "red",
    ("ground", None): "black",
    ("antenna-turn-on", None): "blue",
    ("amplifier-turn-on", None): "blue/white",
    ("illumination", None): "orange/white",
    ("mute", None): "brown",
    ("parking-brake", None): "light green",
    ("reverse", None): "violet/white",
    ("speed", None): "pink",
    ("speaker-front-left", "plus"): "white",
    ("speaker-front-left", "minus"): "white/black",
    ("speaker-front-right", "plus"): "grey",
    ("speaker-front-right", "minus"): "grey/black",
    ("speaker-rear-left", "plus"): "green",
    ("speaker-rear-left", "minus"): "green/black",
    ("speaker-rear-right", "plus"): "violet",
    ("speaker-rear-right", "minus"): "violet/black",
}

# IEC 60757, table of colours, as adopted in a national edition: BK BN RD OG YE GN BU VT GY WH PK TQ SR GD.
IEC_60757_WORDS = (
    "black",
    "brown",
    "red",
    "orange",
    "yellow",
    "green",
    "blue",
    "violet",
    "grey",
    "white",
    "pink",
    "turquoise",
    "silver",
    "gold",
)


@pytest.mark.parametrize(("way", "function"), ISO_10487_WAYS.items())
def test_iso_10487_way(way: str, function: str) -> None:
    carrying = [name for name, entry in reference().functions.items() if way in entry.iso_10487]
    assert carrying == [function]


def test_no_other_iso_10487_way_is_claimed() -> None:
    shared_returns = {"C1.3", "C3.18"}  # common return of the line outputs; sound ground of the outside sources
    claimed = {way for entry in reference().functions.values() for way in entry.iso_10487}
    assert claimed - shared_returns == set(ISO_10487_WAYS)


def test_the_pinouts_of_the_plugs_say_the_same_as_the_functions() -> None:
    for letter in ("a", "b", "c1", "c2", "c3"):
        connector = reference().connectors[f"iso-10487-{letter}"]
        assert connector.ways == len(connector.pinout)
        for way in connector.pinout:
            if way.function is not None and way.function != "radio-remote-wire":
                assert ISO_10487_WAYS[f"{letter.upper()}.{way.way}"] == way.function


def test_plug_b_pairs_plus_on_odd_ways() -> None:
    # the same public lists: B1, B3, B5 and B7 are plus
    for entry in reference().functions.values():
        ways = [way for way in entry.iso_10487 if way.startswith("B.")]
        if ways:
            plus, minus = (int(way[2:]) for way in ways)
            assert plus % 2 == 1 and minus == plus + 1


@pytest.mark.parametrize(("number", "function"), DIN_72552.items())
def test_din_72552_terminal(number: str, function: str) -> None:
    carrying = [name for name, entry in reference().functions.items() if number in entry.din_72552]
    assert carrying == [function]


def test_terminal_numbers_from_memory_say_so() -> None:
    for name, entry in reference().functions.items():
        if set(entry.din_72552) & {"58d", "86s"}:
            assert entry.standing is Standing.MEMORY, name


@pytest.mark.parametrize(("place", "colour"), COLOUR_HABIT.items())
def test_colour_habit(place: tuple[str, str | None], colour: str) -> None:
    name, pole = place
    usual = {c.colour.written for c in reference().functions[name].colours if c.pole == pole}
    assert colour in usual


def test_a_colour_is_never_more_than_common_practice() -> None:
    for name, entry in reference().functions.items():
        for usual in entry.colours:
            assert usual.standing is Standing.COMMON_PRACTICE and usual.source == "common-practice", name


def test_the_colour_words_of_iec_60757_come_first_and_the_trade_adds_a_few() -> None:
    assert set(IEC_60757_WORDS) <= set(COLOURS)
    words = {
        part.removeprefix("light ").removeprefix("dark ")
        for entry in reference().functions.values()
        for usual in entry.colours
        for part in (usual.colour.base, usual.colour.stripe)
        if part
    }
    assert words <= set(IEC_60757_WORDS)


def test_black_stripe_means_minus() -> None:
    # common practice, no source
    for name, entry in reference().functions.items():
        if entry.poles[:2] == ("plus", "minus"):
            for usual in entry.colours:
                assert (usual.colour.stripe == "black") == (usual.pole == "minus"), name


INJURY = ("burn", "kill", "crush", "crash", "fire", "loss of sight", "asthma", "harm", "rely on", "injure", "hands")


def test_signal_words() -> None:
    # ANSI Z535.6 and ISO 3864-2, as restated in guides that follow them: DANGER will kill or maim, WARNING could,
    # CAUTION could injure lightly, NOTICE is damage alone.
    cautions = reference().cautions
    assert {c.word for c in cautions.values()} == {"DANGER", "WARNING", "CAUTION", "NOTICE"}
    for name, caution in cautions.items():
        said = (caution.result + " " + caution.hazard).lower()
        injures = any(word in said for word in INJURY)
        assert injures == (caution.word != "NOTICE"), name
    assert [name for name, c in cautions.items() if c.word == "DANGER"] == ["high-voltage"]


def test_memory_and_invented_entries_are_told_apart() -> None:
    for section in ("functions", "meetings", "refusals", "methods", "features", "cautions"):
        for name, entry in getattr(reference(), section).items():
            assert entry.standing is not Standing.INVENTED, f"{section}/{name}"
    invented = {n for n, c in reference().connectors.items() if c.standing is Standing.INVENTED}
    assert invented == {n for n, c in reference().connectors.items() if c.source == "demo"}
    assert len(invented) >= 4


def test_a_published_entry_names_a_source_that_was_seen() -> None:
    ref = reference()
    for section in ("functions", "meetings", "refusals", "connectors", "methods", "features", "cautions"):
        for name, entry in getattr(ref, section).items():
            if entry.standing is Standing.PUBLISHED:
                assert ref.sources[entry.source].seen in ("text", "secondary"), f"{section}/{name}"
            if entry.source == "common-practice":
                assert entry.standing is Standing.COMMON_PRACTICE, f"{section}/{name}"
