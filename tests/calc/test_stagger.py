"""Joints along the loom, against a search of every placement."""

from __future__ import annotations

import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomleaf.calc.stagger import JointAt, stagger


def joints(*parts: tuple[str, float]) -> list[JointAt]:
    return [
        JointAt(id=f"j{index:02}", kind=kind, length_mm=25, diameter_mm=across)
        for index, (kind, across) in enumerate(parts)
    ]


def legal(place: dict[str, int], of: list[JointAt]) -> bool:
    return all(abs(place[a.id] - place[b.id]) > 1 for a in of for b in of if (a.kind, b.kind) == ("supply", "ground"))


def score(place: dict[str, int], of: list[JointAt]) -> tuple[int, float]:
    """The most joints at a station, and the fattest station."""
    count: dict[int, int] = {}
    fat: dict[int, float] = {}
    for one in of:
        count[place[one.id]] = count.get(place[one.id], 0) + 1
        fat[place[one.id]] = fat.get(place[one.id], 0.0) + one.diameter_mm**2
    return max(count.values()), max(fat.values())


def best_of_all(of: list[JointAt], stations: int) -> tuple[int, float] | None:
    scores = []
    for places in itertools.product(range(1, stations + 1), repeat=len(of)):
        place = dict(zip((one.id for one in of), places, strict=True))
        if legal(place, of):
            scores.append(score(place, of))
    return min(scores, default=None)


SOME = st.lists(
    st.tuples(st.sampled_from(["supply", "ground", "speaker"]), st.sampled_from([3.0, 4.0, 5.0, 6.5, 8.0])),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(SOME, st.integers(1, 4))
def test_exact_against_every_placement(parts: list[tuple[str, float]], stations: int) -> None:
    of = joints(*parts)
    result, problems = stagger(of, usable_mm=stations * 30, pitch_mm=30)
    best = best_of_all(of, stations)
    if best is None:
        assert result is None and [problem.code for problem in problems] == ["stagger-impossible"]
        return
    assert result is not None and result.method == "exact"
    place = dict(result.station)
    assert legal(place, of) and set(place.values()) <= set(range(1, stations + 1))
    most, fattest = score(place, of)
    assert most == best[0] and fattest == pytest.approx(best[1])
    assert result.most_joints == best[0] and result.fattest_mm2 == pytest.approx(best[1])


@settings(max_examples=60, deadline=None)
@given(SOME, st.integers(3, 6), st.randoms(use_true_random=False))
def test_the_order_of_the_input_does_not_matter(
    parts: list[tuple[str, float]], stations: int, shuffle: random.Random
) -> None:
    of = joints(*parts)
    first, _ = stagger(of, usable_mm=stations * 30, pitch_mm=30)
    mixed = list(of)
    shuffle.shuffle(mixed)
    assert stagger(mixed, usable_mm=stations * 30, pitch_mm=30)[0] == first


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["supply", "ground", "speaker"]), st.floats(2, 9)), min_size=1, max_size=11),
       st.integers(3, 7))  # fmt: skip
def test_never_worse_than_the_naive_order(parts: list[tuple[str, float]], stations: int) -> None:
    # Naive: one after another along the loom, round and round, wherever that happens to be legal.
    of = joints(*parts)
    result, _ = stagger(of, usable_mm=stations * 30, pitch_mm=30)
    assert result is not None
    place = dict(result.station)
    assert legal(place, of)
    naive = {one.id: index % stations + 1 for index, one in enumerate(of)}
    if legal(naive, of):
        most, fattest = score(place, of)
        assert most <= score(naive, of)[0]
        assert fattest <= score(naive, of)[1] + 1e-9


def test_a_radio_swap() -> None:
    # Sixteen circuits on 350 mm of tail: 11 stations of 30 mm, at most two joints each.
    of = joints(*[("supply", 5.0)] * 3, *[("ground", 5.0)], *[("speaker", 4.0)] * 8, *[("data", 3.0)] * 4)
    result, problems = stagger(of, usable_mm=350, pitch_mm=30, first_mm=40)
    assert result is not None and not problems
    assert result.most_joints == 2 and legal(dict(result.station), of)
    assert result.middle_mm[1] == 55 and max(result.middle_mm) == 11
    assert result.fattest_mm2 <= 16 + 16  # nothing fatter than two speaker joints side by side


def test_a_crowd_is_still_legal_and_its_bound_is_told() -> None:
    of = [
        JointAt(
            id=f"j{i:02}", kind=("supply", "ground", "x", "y")[i % 4], length_mm=25, diameter_mm=3 + (i * 37 % 29) / 7
        )
        for i in range(40)
    ]
    result, problems = stagger(of, usable_mm=300, pitch_mm=30)
    assert result is not None and not problems
    assert legal(dict(result.station), of)
    assert result.bound_mm2 <= result.fattest_mm2 <= 1.25 * result.bound_mm2
    assert result.method in {"exact", "bounded"}
    assert stagger(of[::-1], usable_mm=300, pitch_mm=30)[0] == result


def test_a_long_joint_makes_its_stations_longer() -> None:
    of = [
        JointAt(id="a", kind="x", length_mm=60, diameter_mm=4),
        JointAt(id="b", kind="x", length_mm=20, diameter_mm=4),
    ]
    result, _ = stagger(of, usable_mm=130, pitch_mm=30)
    assert result is not None and result.middle_mm == {1: 30, 2: 90}


def test_no_joints_need_no_place() -> None:
    result, problems = stagger([], usable_mm=100, pitch_mm=30)
    assert result is not None and not problems and result.station == {}


@pytest.mark.parametrize(
    ("parts", "usable", "said"),
    [
        ([("supply", 4.0), ("ground", 4.0)], 60, "holds 2 stations"),
        ([("x", 4.0)], 20, "holds 0 stations"),
        ([("x", 4.0)], 0, "usable-mm is 0 mm"),
        ([("x", float("nan"))], 100, "j00 diameter"),
    ],
)
def test_impossible_is_a_problem(parts: list[tuple[str, float]], usable: float, said: str) -> None:
    result, problems = stagger(joints(*parts), usable_mm=usable, pitch_mm=30)
    assert result is None and said in problems[0].message


def test_two_joints_of_one_name() -> None:
    one = JointAt(id="a", kind="x", length_mm=20, diameter_mm=4)
    result, problems = stagger([one, one], usable_mm=100, pitch_mm=30)
    assert result is None and "named 'a'" in problems[0].message
