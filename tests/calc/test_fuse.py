"""Fuses: standard ratings and colours, the choice for an added feed, the check of a maker's fuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.fuse import check_maker_fuse, choose_fuse, find_fuse, fuse, standard_fuses
from loomleaf.calc.tables import shipped_tables
from loomleaf.figure import Standing
from loomleaf.units import parse_size

# Blade fuse colour chart of a fuse maker.
COLOURS = {
    1: "black", 2: "grey", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue", 20: "yellow",
    25: "clear", 30: "green",
}  # fmt: skip


@pytest.mark.parametrize(("amps", "colour"), COLOURS.items())
def test_blade_colours(amps: float, colour: str) -> None:
    found = find_fuse(amps)
    assert found is not None and found.colour == colour and found.kind.name == "blade"
    rating = next(one for one in found.kind.ratings if one.amps == amps)
    assert rating.standing is Standing.PUBLISHED


# ISO 8820-3 opening times, from memory: percent, least, most.
@pytest.mark.parametrize(
    ("percent", "least", "most"),
    [(135, 0.75, 600), (160, 0.25, 50), (200, 0.15, 5), (350, 0.04, 0.5), (600, 0.03, 0.1)],
)
def test_blade_limits(percent: float, least: float, most: float) -> None:
    kind = shipped_tables().fuse_kind("blade")
    assert kind is not None and kind.carry_percent == 110
    point = next(one for one in kind.limits if one.percent == percent)
    assert (point.least_s, point.most_s, point.standing) == (least, most, Standing.MEMORY)


def test_maxi_limits_and_colours_are_their_own() -> None:
    # Working note that copies a data sheet: 200 % 2 to 50 s. Maxi colours from memory: 20 yellow, 60 blue.
    kind = shipped_tables().fuse_kind("maxi-blade")
    assert kind is not None
    assert next(one.most_s for one in kind.limits if one.percent == 200) == 50
    assert {one.amps: one.colour for one in kind.ratings}[60] == "blue"


@pytest.mark.parametrize(
    ("current", "size", "peak", "rating", "colour"),
    [
        (2.2, "0.75 mm2", None, 3, "violet"),  # 2.2 / 0.75 = 2.93
        (7.5, "1.5 mm2", None, 10, "red"),  # 7.5 / 0.75 = 10 exactly
        (7.6, "1.5 mm2", None, 15, "blue"),  # just over: the next standard one
        (5, "1.5 mm2", 12, 15, "blue"),  # 12 A peak: 10 A carries only 11
        (5, "1.5 mm2", 11, 10, "red"),
        (45, "25 mm2", None, 60, "blue"),  # maxi
        (90, "35 mm2", None, 125, None),  # bolt-down, no colour code
    ],
)
def test_choice_for_an_added_feed(
    current: float, size: str, peak: float | None, rating: float, colour: str | None
) -> None:
    figures, problems = fuse(current_a=current, size=parse_size(size), peak_a=peak)
    assert not problems
    assert figures["minimum_a"].value == pytest.approx(current / 0.75)
    assert (figures["rating_a"].value, figures["colour"].value) == (rating, colour)


def test_none_fits_says_which_bound_is_in_the_way() -> None:
    figures, problems = fuse(current_a=9, size=parse_size("0.75 mm2"))
    assert [problem.code for problem in problems] == ["no-fuse"]
    assert "the load asks for at least 15 A" in problems[0].message and "10.22 A" in problems[0].message
    assert figures["rating_a"].value is None and figures["limit_a"].value == pytest.approx(14 * math.sqrt(40 / 75))
    _, problems = fuse(current_a=7, size=parse_size("0.75 mm2"), peak_a=20)
    assert "the peak asks for at least 20 A" in problems[0].message
    _, problems = fuse(current_a=400, size=parse_size("4/0 AWG"))
    assert "largest standard rating" in problems[0].message


@pytest.mark.parametrize(
    ("maker", "current", "peak", "size", "said"),
    [
        (10, 7, None, "1.5 mm2", ""),
        (12, 7, None, "1.5 mm2", ""),  # not a standard rating: taken as it is all the same
        (10, 10.1, None, "1.5 mm2", "the load of 10.1 A is more than the fuse of 10 A"),
        (20, 7, None, "1.5 mm2", "the conductor may carry only 15.34 A"),
        (10, 7, 11.5, "1.5 mm2", "the peak of 11.5 A"),
    ],
)
def test_a_makers_fuse_is_taken_or_refused_but_never_changed(
    maker: float, current: float, peak: float | None, size: str, said: str
) -> None:
    figures, problems = fuse(current_a=current, size=parse_size(size), peak_a=peak, maker_a=maker)
    if said:
        assert [problem.code for problem in problems] == ["maker-fuse"] and said in problems[0].message
        assert figures["rating_a"].value is None
    else:
        assert not problems and figures["rating_a"].value == maker


def test_a_refused_makers_fuse_hints_the_way_out() -> None:
    _, problems = fuse(current_a=12, size=parse_size("2.5 mm2"), maker_a=10)
    assert "own fused feed" in problems[0].hint and "never uprate" in problems[0].hint
    _, problems = fuse(current_a=7, size=parse_size("0.5 mm2"), maker_a=15)
    assert "larger conductor" in problems[0].hint


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"current_a": 0}, "current-a"),
        ({"current_a": math.nan}, "current-a"),
        ({"continuous": 1.2}, "continuous"),
        ({"peak_a": 3}, "peak-a"),  # under the running current
        ({"maker_a": -5}, "maker-a"),
        ({"grouped": 99}, "grouped"),
    ],
)
def test_numbers_out_of_range(options: dict[str, float], field: str) -> None:
    figures, problems = fuse(**{"current_a": 5, "size": parse_size("1.5 mm2"), **options})  # type: ignore[arg-type]
    assert figures == {}
    assert [problem.message.split(" is ")[0] for problem in problems] == [field]


@given(
    st.sampled_from(sorted(shipped_tables().resistances)),
    st.floats(0.01, 300),
    st.one_of(st.none(), st.floats(1, 3)),
    st.floats(-20, 100),
    st.integers(1, 24),
)
def test_a_chosen_fuse_is_never_over_its_conductor(
    key: str, current: float, peaks: float | None, ambient: float, grouped: int
) -> None:
    size = shipped_tables().resistances[key].size
    peak = None if peaks is None else current * peaks
    figures, problems = fuse(current_a=current, size=size, peak_a=peak, ambient_c=ambient, grouped=grouped)
    rating, limit_a = figures["rating_a"].value, figures["limit_a"].value
    assert (rating is None) == bool(problems)
    if rating is not None:
        assert isinstance(rating, float) and isinstance(limit_a, float)
        assert rating <= limit_a
        assert current <= 0.75 * rating * (1 + 1e-9)
        own = find_fuse(rating)
        assert own is not None and (peak is None or peak <= rating * own.kind.carry_percent / 100 * (1 + 1e-9))


@given(st.floats(0.5, 300), st.floats(0.5, 500))
def test_no_smaller_standard_rating_would_do(current: float, limit_a: float) -> None:
    chosen, why = choose_fuse(current_a=current, limit_a=limit_a)
    fit = [one.amps for one in standard_fuses() if one.amps * 0.75 >= current * (1 - 1e-9) and one.amps <= limit_a]
    assert (chosen.amps if chosen else None) == (min(fit) if fit else None)
    assert bool(why) == (chosen is None)


@given(st.floats(1, 60), st.floats(0.1, 80), st.floats(1, 80))
def test_the_makers_fuse_is_never_passed_over_its_conductor(maker: float, current: float, limit_a: float) -> None:
    said = check_maker_fuse(maker_a=maker, current_a=current, limit_a=limit_a)
    assert (said == "") == (current <= maker <= limit_a)


@pytest.mark.parametrize("ambient", [30, 65])
def test_no_size_and_no_load_ever_gets_a_fuse_over_the_conductor(ambient: float) -> None:
    # Every size in the tables with the load that each standard rating was made for, and one just over it.
    seen = 0
    for row in shipped_tables().resistances.values():
        for standard in standard_fuses():
            for current in (standard.amps * 0.75, standard.amps * 0.7501):
                figures, problems = fuse(current_a=current, size=row.size, ambient_c=ambient)
                rating, limit_a = figures["rating_a"].value, figures["limit_a"].value
                if rating is None:
                    assert [problem.code for problem in problems] == ["no-fuse"]
                else:
                    seen += 1
                    assert rating <= limit_a  # type: ignore[operator]
    assert seen > 200


@pytest.mark.parametrize(("limit_a", "rating"), [(9.99, None), (10, 10), (14.99, 10), (15, 10)])
def test_a_limit_just_under_a_rating_refuses_it(limit_a: float, rating: float | None) -> None:
    chosen, _ = choose_fuse(current_a=7, limit_a=limit_a)
    assert (chosen.amps if chosen else None) == rating
