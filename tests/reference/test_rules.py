"""The rules of meeting: complete, free of contradiction, and each with a reason."""

from __future__ import annotations

import pytest

from loomleaf.model.reference import Refusal

from .shipped import reference

Side = tuple[str, str | None]  # function, pole


def _word_fits(word: str, function: str) -> bool:
    return word == "any" or word == function or word == f"group:{reference().functions[function].group}"


def _fits(rule: Refusal, a: Side, b: Side) -> bool:
    return (
        _word_fits(rule.driver, a[0])
        and _word_fits(rule.taker, b[0])
        and rule.driver_pole in (None, a[1])
        and rule.taker_pole in (None, b[1])
    )


def _refusing(a: Side, b: Side) -> list[str]:
    if a == b:
        return []
    return [name for name, rule in reference().refusals.items() if _fits(rule, a, b) or _fits(rule, b, a)]


# The joins that are refused, from the trade's own list: common practice, no source.
REFUSED: list[tuple[Side, Side]] = [
    (("airbag", None), ("ground", None)),
    (("airbag", None), ("supply-constant", None)),
    (("supply-switched", None), ("airbag", None)),
    (("data-can", "high"), ("speaker-front-left", "plus")),
    (("data-can", "high"), ("data-can", "low")),
    (("data-lin", None), ("wheel-button-1", None)),
    (("speaker-front-left", "minus"), ("ground", None)),
    (("speaker-front-left", "minus"), ("speaker-front-right", "minus")),
    (("speaker-rear-left", "minus"), ("speaker-common", None)),
    (("speaker-front-left", "plus"), ("speaker-common", None)),
    (("speaker-front-left", "minus"), ("line-front-left", "shield")),
    (("speaker-front-left", "plus"), ("line-front-left", "plus")),
    (("line-front-left", "minus"), ("line-front-left", "shield")),
    (("line-front-left", "minus"), ("ground", None)),
    (("dimmer-return", None), ("ground", None)),
    (("supply-constant", None), ("ground", None)),
    (("supply-switched", None), ("speaker-front-left", "plus")),
    (("supply-constant", None), ("line-front-left", "plus")),
    (("supply-constant", None), ("supply-switched", None)),
    (("parking-brake", None), ("ground", None)),
    (("parking-brake", None), ("reverse", None)),
    (("parking-brake", None), ("mute", None)),
    (("unknown", None), ("supply-switched", None)),
    (("unknown", None), ("reverse", None)),
    (("antenna-turn-on", None), ("supply-constant", None)),
    (("amplifier-turn-on", None), ("supply-switched", None)),
    (("illumination", None), ("supply-switched", None)),
    (("wheel-button-1", None), ("ground", None)),
    (("microphone", "plus"), ("speaker-front-left", "plus")),
    (("high-voltage", None), ("ground", None)),
    (("emergency-call-audio", "plus"), ("line-input-left", "plus")),
]


@pytest.mark.parametrize(("a", "b"), REFUSED)
def test_a_join_that_is_never_made(a: Side, b: Side) -> None:
    assert _refusing(a, b) != []
    assert _refusing(b, a) == _refusing(a, b)


# Joins that the work lives from.
MADE: list[tuple[Side, Side]] = [
    (("supply-constant", None), ("supply-constant", None)),
    (("supply-retained", None), ("supply-switched", None)),
    (("accessory-output", None), ("supply-switched", None)),
    (("reverse", None), ("camera-trigger", None)),
    (("phone-mute", None), ("mute", None)),
    (("speaker-front-left", "plus"), ("speaker-front-left", "plus")),
    (("data-can", "high"), ("data-can", "high")),
    (("line-front-left", "shield"), ("line-front-left", "shield")),
    (("ground", None), ("ground", None)),
]


@pytest.mark.parametrize(("a", "b"), MADE)
def test_a_join_that_is_made_is_not_refused(a: Side, b: Side) -> None:
    assert _refusing(a, b) == []


def test_no_rule_that_names_two_functions_forbids_a_meeting() -> None:
    for name, meeting in reference().meetings.items():
        a, b = (meeting.driver, None), (meeting.taker, None)
        named = [
            rule
            for rule in _refusing(a, b)
            if {reference().refusals[rule].driver, reference().refusals[rule].taker} == {meeting.driver, meeting.taker}
        ]
        assert named == [], name


def test_only_pairs_of_loudspeaker_wires_meet_across_a_group_rule() -> None:
    """A rule for a group gives way to a meeting; that is needed for loudspeaker outputs into speaker-level inputs alone."""
    needing = {
        name
        for name, meeting in reference().meetings.items()
        for pole in (None, "plus", "minus")
        if _refusing((meeting.driver, pole), (meeting.taker, pole))
    }
    assert needing == {name for name in reference().meetings if name.endswith("into-speaker-level")}


def test_what_meets_agrees_in_its_attributes() -> None:
    functions = reference().functions
    for name, meeting in reference().meetings.items():
        driver, taker = functions[meeting.driver], functions[meeting.taker]
        for attribute in ("volts", "signal", "sense", "wiring"):
            a, b = getattr(driver, attribute), getattr(taker, attribute)
            assert a is None or b is None or a == b, f"{name}: {attribute}"
        if driver.poles and taker.poles:
            assert set(driver.poles) & set(taker.poles), name


def test_a_function_without_drivers_is_fed_through_a_meeting_or_left_alone() -> None:
    fed = {meeting.taker for meeting in reference().meetings.values()}
    alone = {"speaker-common", "unknown", "not-used"}
    for name, function in reference().functions.items():
        if not function.drivers:
            assert name in fed or function.never or name in alone, name


def test_a_driver_of_a_meeting_can_drive() -> None:
    for name, meeting in reference().meetings.items():
        assert reference().functions[meeting.driver].drivers, name


def test_a_pair_meets_once() -> None:
    pairs = [(m.driver, m.taker) for m in reference().meetings.values()]
    assert len(pairs) == len(set(pairs))


def test_every_rule_gives_a_reason_in_whole_sentences() -> None:
    for name, rule in reference().refusals.items():
        assert rule.reason.endswith(".") and len(rule.reason.split()) >= 6, name
    for name, meeting in reference().meetings.items():
        assert meeting.why.endswith(".") and len(meeting.why.split()) >= 6, name


def test_no_rule_is_said_twice() -> None:
    seen: dict[frozenset[tuple[str, str | None]] | tuple[str, ...], str] = {}
    for name, rule in reference().refusals.items():
        key = frozenset({(rule.driver, rule.driver_pole), (rule.taker, rule.taker_pole)})
        assert key not in seen, f"{name} repeats {seen.get(key)}"
        seen[key] = name


def test_turn_on_and_mute_drivers_may_be_combined_through_diodes() -> None:
    # common practice, no source: outputs that are joined are kept apart by a diode in each
    for name in ("amplifier-turn-on", "mute", "phone-mute", "emergency-call-mute"):
        assert reference().functions[name].combine == "diode", name
    for name in ("supply-constant", "speaker-front-left", "reverse", "illumination"):
        assert reference().functions[name].combine == "none", name
