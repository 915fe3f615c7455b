"""What can be read and can hardly be meant. The bounds are common practice, without a source."""

from __future__ import annotations

import pytest

from loomleaf.problems import Problem, Severity
from tests.check.test_rules import FILES
from tests.makers import library_of


def told(code: str, **changes: tuple[str, str]) -> list[Problem]:
    """The problems of one code in the small shop; ``changes`` by file: text to replace ("" adds), and the new one."""
    files = dict(FILES)
    for name, (old, new) in changes.items():
        file = {
            "vehicle": "vehicles/test-car.yaml",
            "car": "leads/car.yaml",
            "radio": "leads/radio.yaml",
            "job": "jobs/1.yaml",
        }[name]
        assert old in files[file] or not old
        files[file] = files[file].replace(old, new) if old else files[file] + new
    return [p for p in library_of(files)[1] if p.code == code]


@pytest.mark.parametrize(
    ("change", "message", "hint"),
    [
        (
            {"vehicle": ("length_mm: 2500", "length_mm: 2")},
            "length_mm: 2 mm from the fuse to the dash",
            "did you mean 2000 mm?",
        ),
        ({"vehicle": ("capacity_ah: 60", "capacity_ah: 45000")}, "capacity_ah: 45000 Ah in the", "did you mean 45 Ah?"),
        ({"vehicle": ("", "opening: {depth_mm: 17}\n")}, "depth_mm: 17 mm behind the radio", "did you mean 170 mm?"),
        ({"radio": ("running_a: 4}", "running_a: 4000}")}, "running_a: 4000 A taken by", "did you mean 4 A?"),
        ({"car": ("length_mm: 200", "length_mm: 0.2")}, "length_mm: 0.2 mm of a conductor", "did you mean 200 mm?"),
        ({"job": ("", "route_mm: {dash: 1.2}\n")}, "dash: 1.2 mm of a way in the vehicle", "did you mean 1200 mm?"),
    ],
)
def test_an_amount_far_from_any_real_one_is_told_with_its_unit(
    change: dict[str, tuple[str, str]], message: str, hint: str
) -> None:
    found = told("unlikely-amount", **change)
    assert found and all(p.severity is Severity.WARNING and p.location.line for p in found)
    assert message in found[0].message and hint in found[0].hint


def test_everyday_amounts_are_not() -> None:
    assert told("unlikely-amount") == []
    assert (
        told("unlikely-amount", vehicle=("", "opening: {depth_mm: 170}\n"), job=("", "route_mm: {dash: 350}\n")) == []
    )


FEED = "fuse_a: 10, switched_fuse_a: 10"


@pytest.mark.parametrize(
    ("written", "codes"),
    [
        ("fuse_a: 15, switched_fuse_a: 10, place: Fuse 12", ["one-place-two-fuses"]),
        ("fuse_a: 15, switched_fuse_a: 10, place: Fuse 12, switched_place: fuse  12", ["one-place-two-fuses"]),
        ("fuse_a: 15, switched_fuse_a: 10, place: Fuse 12, switched_place: Fuse 13", []),
        ("fuse_a: 10, switched_fuse_a: 10, place: Fuse 12", []),  # one fuse for both
    ],
)
def test_two_ratings_cannot_sit_in_one_place(written: str, codes: list[str]) -> None:
    found = told("one-place-two-fuses", vehicle=(FEED, written))
    assert [p.code for p in found] == codes and all(p.severity is Severity.WARNING for p in found)


def test_a_fuse_is_counted_or_told() -> None:
    assert "A.5 is no supply" in told("fuse-counts-nowhere", car=("pole: plus", "pole: plus, fuse_a: 5"))[0].message
    assert told("fuse-counts-nowhere", car=("", "fuse_a: 5\n"))
    assert told("fuse-counts-nowhere", radio=("", "fuse_a: 10\n")) == []
    assert told("fuse-counts-nowhere", car=("supply-constant", "supply-constant, fuse_a: 5")) == []


def test_nothing_feeds_an_airbag() -> None:
    found = told("never-fed", job=("", "feed: {airbag: radio}\n"))
    assert [p.severity for p in found] == [Severity.ERROR] and "airbag circuit is never joined" in found[0].message
    assert told("never-fed", job=("", "feed: {speaker-front: radio}\n")) == []


def test_loudspeaker_ways_beside_a_factory_amplifier_are_held_until_somebody_says() -> None:
    amplifier = ("[am-fm-reception, clock-display]", "[am-fm-reception, factory-amplifier]")
    found = told("factory-amplifier-unsaid", vehicle=amplifier)
    assert [p.severity for p in found] == [Severity.HOLD] and "car/A.5" in found[0].message
    level = ("speaker-front-left", "speaker-level-front-left")
    assert told("factory-amplifier-unsaid", vehicle=amplifier, car=level) == []
    given = "give_up: [{feature: factory-amplifier, told_customer: 2026-05-10}]\n"
    assert told("factory-amplifier-unsaid", vehicle=amplifier, job=("", given)) == []
    assert told("factory-amplifier-unsaid") == []
