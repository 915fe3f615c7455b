"""Every id named by an entry exists, and what must answer each other does."""

from __future__ import annotations

from collections.abc import Iterator

from loomleaf.model.base import Content

from .shipped import SECTIONS, reference, source_ids


def _sources(value: Content, where: str) -> Iterator[tuple[str, str]]:
    named = getattr(value, "source", None)
    if isinstance(named, str):
        yield where, named
    for field in type(value).model_fields:
        inner = getattr(value, field)
        if isinstance(inner, tuple):
            for index, item in enumerate(inner):
                if isinstance(item, Content):
                    yield from _sources(item, f"{where}/{field}/{index}")


def test_every_source_is_in_the_bibliography() -> None:
    missing = [
        (where, named)
        for section in SECTIONS
        if section != "sources"
        for name, entry in getattr(reference(), section).items()
        for where, named in _sources(entry, f"{section}/{name}")
        if named not in source_ids()
    ]
    assert missing == []


def test_related_functions_exist_and_are_others() -> None:
    functions = reference().functions
    for name, function in functions.items():
        assert name not in function.related
        assert [other for other in function.related if other not in functions] == [], name


def test_meetings_and_refusals_name_functions() -> None:
    ref = reference()
    groups = {f"group:{function.group}" for function in ref.functions.values()}
    for name, meeting in ref.meetings.items():
        assert meeting.driver in ref.functions and meeting.taker in ref.functions, name
        assert meeting.driver != meeting.taker, name
    for name, rule in ref.refusals.items():
        for word in (rule.driver, rule.taker):
            assert word == "any" or word in groups or word in ref.functions, f"{name}: {word}"


def test_features_and_steps_name_what_exists() -> None:
    ref = reference()
    for name, feature in ref.features.items():
        assert [f for f in feature.functions if f not in ref.functions] == [], name
    for name, method in ref.methods.items():
        assert [s.caution for s in method.steps if s.caution and s.caution not in ref.cautions] == [], name


def test_mating_is_mutual() -> None:
    connectors = reference().connectors
    for name, connector in connectors.items():
        for other in connector.mates:
            assert other in connectors, f"{name}: {other}"
            assert name in connectors[other].mates, f"{name} mates {other}, but not the other way round"


def test_rows_hold_every_way_once() -> None:
    for name, connector in reference().connectors.items():
        places = [way for row in connector.rows for way in row if way]
        if connector.rows:
            assert len(places) == len(set(places)) == connector.ways, name
            assert len({len(row) for row in connector.rows}) == 1, f"{name}: rows of one length, blanks as empty text"
            assert {way.way for way in connector.pinout} <= set(places), name


def test_pinouts_name_functions() -> None:
    ref = reference()
    for name, connector in ref.connectors.items():
        for way in connector.pinout:
            assert way.function is None or way.function in ref.functions, f"{name}.{way.way}"
            assert way.function is not None or way.note, f"{name}.{way.way} says nothing"


def test_every_function_is_reached_by_some_feature_or_says_why_not() -> None:
    """A function that people would miss belongs to a feature; the rest are the plumbing named here."""
    plumbing = {
        *("supply-constant", "supply-switched", "accessory-output", "key-in", "ground", "dimmer-return", "mute"),
        *("phone-mute", "reverse", "radio-remote-wire", "radio-remote-ground", "camera-trigger", "door-open"),
        *("tailgate-open", "subwoofer-level", "speaker-common", "video-input", "unknown", "not-used"),
        *("data-can", "data-lin", "data-vehicle", "data-optical"),
    }
    carried = {function for feature in reference().features.values() for function in feature.functions}
    left = {n for n, f in reference().functions.items() if not f.never} - carried - plumbing
    assert left == set()
    assert plumbing & carried == set()
