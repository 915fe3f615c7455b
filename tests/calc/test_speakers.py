"""Loudspeakers in series and parallel."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.speakers import LoadError, net_ohm, parse_load, speakers

Tree = int | tuple[str, "Tree", "Tree"]
TREES: st.SearchStrategy[Tree] = st.recursive(
    st.integers(1, 32), lambda deeper: st.tuples(st.sampled_from(["+", "||"]), deeper, deeper), max_leaves=25
)


def exact(tree: Tree) -> Fraction:
    if isinstance(tree, int):
        return Fraction(tree)
    one, other = exact(tree[1]), exact(tree[2])
    return one + other if tree[0] == "+" else 1 / (1 / one + 1 / other)


def full(tree: Tree) -> str:
    """Every bracket written."""
    return str(tree) if isinstance(tree, int) else f"({full(tree[1])} {tree[0]} {full(tree[2])})"


def lean(tree: Tree) -> str:
    """Only the brackets that the rule "parallel binds closer" needs."""
    if isinstance(tree, int):
        return str(tree)
    parts = [lean(side) for side in tree[1:]]
    if tree[0] == "||":
        parts = [f"({text})" if not isinstance(side, int) and side[0] == "+" else text
                 for side, text in zip(tree[1:], parts, strict=True)]  # fmt: skip
    return tree[0].join(parts)


@given(TREES)
def test_random_trees_against_exact_fractions(tree: Tree) -> None:
    for text in (full(tree), lean(tree)):
        assert net_ohm(parse_load(text)) == pytest.approx(float(exact(tree)), rel=1e-12)


def test_depth_is_no_limit() -> None:
    assert net_ohm(parse_load("(" * 5000 + "4" + ")" * 5000)) == 4


@pytest.mark.parametrize(
    ("load", "ohm"),
    [("4", 4), ("4 || 4", 2), ("4||4||4", 4 / 3), ("4 + 4", 8), ("(4 + 4) || 8", 4), ("4 + 4 || 4", 6), ("2.5+.5", 3)],
)
def test_loads_worked_by_hand(load: str, ohm: float) -> None:
    figures, problems = speakers(load=load)
    assert not problems and figures["impedance_ohm"].value == pytest.approx(ohm)


@pytest.mark.parametrize(
    "load",
    [
        "",
        "4 ||",
        "|| 4",
        "4 4",
        "4 | 4",
        "(4",
        "4)",
        "()",
        "4 + (",
        "-4",
        "four",
        "4 || 4 )",
        "1e9",
        "nan",
        "4 + * 4",
        "4(4)",
    ],
)
def test_what_cannot_be_read_is_a_problem(load: str) -> None:
    figures, problems = speakers(load=load)
    assert figures == {} and [problem.code for problem in problems] == ["bad-expression"]


def test_a_flood_of_loudspeakers_is_refused() -> None:
    with pytest.raises(LoadError, match="more than 200"):
        parse_load(" || ".join(["4"] * 201))


# IEC 60268-5: the lowest impedance is at least 80 % of the rated one.
@pytest.mark.parametrize(("load", "lowest"), [("4", 3.2), ("8", 6.4), ("2", 1.6)])
def test_eighty_percent_rule(load: str, lowest: float) -> None:
    assert speakers(load=load)[0]["lowest_ohm"].value == pytest.approx(lowest)


# Public table of measured direct-current resistance by rated impedance.
@pytest.mark.parametrize(
    ("load", "low", "high"),
    [("4", 3.1, 4.0), ("8", 5.7, 8), ("4 || 4", 1.55, 2.0), ("4 + 4", 6.2, 8),
     ("(4 + 4) || 8", 6.2 * 5.7 / 11.9, 4.0)],
)  # fmt: skip
def test_direct_current_window(load: str, low: float, high: float) -> None:
    figures, _ = speakers(load=load)
    assert figures["dc_low_ohm"].value == pytest.approx(low)
    assert figures["dc_high_ohm"].value == pytest.approx(high)


def test_no_window_for_an_impedance_the_table_lacks() -> None:
    figures, problems = speakers(load="3 + 4")
    assert not problems and figures["dc_low_ohm"].value is None and "3 Ω" in figures["dc_low_ohm"].working


@pytest.mark.parametrize(("load", "watts"), [("4", 50), ("2", 100), ("8", 25), ("4 || 4", 100)])
def test_power_of_a_voltage_source(load: str, watts: float) -> None:
    figures, _ = speakers(load=load, power_w=50, rated_ohm=4)
    assert figures["power_w"].value == pytest.approx(watts)


@pytest.mark.parametrize(("load", "minimum", "bad"), [("4 || 4", 4, True), ("4", 4, False), ("4 || 4", 2, False)])
def test_against_what_the_driver_may_feed(load: str, minimum: float, bad: bool) -> None:
    figures, problems = speakers(load=load, minimum_ohm=minimum)
    assert [problem.code for problem in problems] == (["below-minimum-impedance"] if bad else [])
    assert "impedance_ohm" in figures


@pytest.mark.parametrize(
    ("options", "field"),
    [({"load": "0"}, "load"), ({"minimum_ohm": 0}, "minimum-ohm"), ({"power_w": 50}, "rated-ohm"),
     ({"rated_ohm": 4}, "power-w"), ({"power_w": float("nan"), "rated_ohm": 4}, "power-w")],
)  # fmt: skip
def test_numbers_out_of_range(options: dict[str, float | str], field: str) -> None:
    figures, problems = speakers(**{"load": "4", **options})  # type: ignore[arg-type]
    assert figures == {} and [problem.message.split(" is ")[0] for problem in problems] == [field]


@given(TREES)
def test_a_parallel_load_is_under_either_and_a_series_one_over(tree: Tree) -> None:
    net = net_ohm(parse_load(full(tree)))
    assert net_ohm(parse_load(f"({full(tree)}) || 4")) < min(net, 4)
    assert net_ohm(parse_load(f"({full(tree)}) + 4")) > max(net, 4)
