"""Joints: cmil addition, equivalent size, connectors' ranges, tensile minimums."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.joint import equivalent_gauge, joint, pull_newtons, try_method
from loomleaf.calc.tables import shipped_tables
from loomleaf.figure import Standing
from loomleaf.units import CMIL_MM2, awg_area_mm2, parse_size

METHODS = {method.name: method for method in shipped_tables().joint_methods}


def sizes(text: str) -> list[object]:
    return [parse_size(part) for part in text.split(",")]


def test_circular_mils_add() -> None:
    # A connector maker's worked example: 16 strands of 18 AWG (1600) and 19 of 16 AWG (2426) are 4026, a 14 AWG.
    figures, problems = joint(tails=[parse_size("1600 cmil"), parse_size("2426 cmil")])
    assert not problems
    assert figures["total_cmil"].value == pytest.approx(4026)
    assert figures["equivalent_awg"].value == 14


@pytest.mark.parametrize(
    ("cmil", "gauge"),
    [
        (4026, 14),
        (1662, 17),
        (1624, 18),
        (1625, 17),
        (2048.1, 17),
        (6529.9, 12),
        (6531, 11),
        (105_500, 0),
        (120_000, -1),
    ],
)
def test_equivalent_size_is_rounded_up_never_to_the_nearest(cmil: float, gauge: int) -> None:
    # NASA-STD-8739.4: no exact match, take the next larger. 22 + 20 AWG is 1662 cmil: 17 AWG, though 18 is nearer.
    assert equivalent_gauge(cmil * CMIL_MM2) == gauge


def test_large_equivalents_are_written_as_the_trade_does() -> None:
    figures, _ = joint(tails=[parse_size("35 mm2"), parse_size("16 mm2")], method="solder-and-sleeve")
    assert figures["equivalent_awg"].value == "1/0"


# UL 486A as a connector maker prints it; the crimped-splice column of IPC/WHMA-A-620.
@pytest.mark.parametrize(
    ("size", "newtons"),
    [("22 AWG", 35.6), ("20 AWG", 57.9), ("18 AWG", 89.0), ("16 AWG", 133.5), ("14 AWG", 222.5), ("12 AWG", 311.5),
     ("10 AWG", 356.0)],
)  # fmt: skip
def test_tensile_minimums(size: str, newtons: float) -> None:
    figure = pull_newtons(parse_size(size))
    assert figure is not None and figure.value == newtons and figure.known is Standing.PUBLISHED
    assert "destructive test" in figure.working


@pytest.mark.parametrize(
    ("size", "newtons", "known"),
    [
        ("0.75 mm2", 85, "memory"),  # 20 AWG row 57.9; IEC 60352-2 from memory 85
        ("1 mm2", 108, "memory"),  # 18 AWG row 89.0; own row 108
        ("2.5 mm2", 230, "memory"),  # 14 AWG row 222.5; own row 230
        ("6 mm2", 360, "memory"),  # 10 AWG row 356.0; own row 360
        ("10 mm2", 400.5, "memory"),  # 8 AWG row 400.5; own row 380
        ("2 mm2", 133.5, "published"),  # no row of its own: 16 AWG
        ("1600 cmil", 57.9, "published"),  # under 18 AWG by area
    ],
)
def test_a_metric_size_takes_the_larger_of_two_rows(size: str, newtons: float, known: str) -> None:
    figure = pull_newtons(parse_size(size))
    assert figure is not None and (figure.value, figure.known.value) == (newtons, known)


# JIS C 2807: total conductor area of one closed-end connector.
@pytest.mark.parametrize(
    ("tails", "item"),
    [
        ("0.5 mm2, 0.5 mm2", "CE1"),
        ("0.75 mm2, 1 mm2", "CE1"),  # 1.75, its upper end
        ("0.75 mm2, 1.25 mm2", "CE2"),
        ("1.5 mm2, 1.5 mm2", "CE2"),  # 3.0
        ("2 mm2, 1.25 mm2", "CE5"),  # 3.25, just over CE2
        ("2 mm2, 2 mm2", "CE5"),
        ("3 mm2, 3 mm2", "CE5"),  # 6.0
        ("3 mm2, 4 mm2", "CE8"),
    ],
)
def test_closed_end_connectors_by_total_area(tails: str, item: str) -> None:
    figures, problems = joint(tails=sizes(tails), method="closed-end-connector")  # type: ignore[arg-type]
    assert not problems
    assert figures["item"].value == f"closed-end connector {item}"
    assert figures["strip_mm"].value is None and "card" in figures["strip_mm"].working


def test_beyond_the_largest_connector_is_a_problem_with_a_way_out() -> None:
    figures, problems = joint(tails=sizes("6 mm2, 4 mm2"), method="closed-end-connector")  # type: ignore[arg-type]
    assert [problem.code for problem in problems] == ["no-joint"]
    assert "10 mm²" in problems[0].message and problems[0].hint == "butt-connector would do"
    assert figures["total_mm2"].value == 10


@pytest.mark.parametrize(
    ("tails", "item"),
    [
        ("0.75 mm2, 0.75 mm2", "red butt connector"),
        ("16 AWG, 16 AWG", "red butt connector"),  # each barrel is judged, not the two together
        ("2.5 mm2, 2.5 mm2", "blue butt connector"),
        ("4 mm2, 4 mm2", "yellow butt connector"),
        ("0.75 mm2, 0.75 mm2, 0.75 mm2", "red butt connector"),  # 0.75 against 1.5
        ("22 AWG, 22 AWG", "red butt connector"),
    ],
)
def test_butt_connectors_by_each_barrel(tails: str, item: str) -> None:
    # Barrel ranges of a common series, from memory: red 0.26 to 1.65, blue 1.04 to 2.62, yellow 2.62 to 6.64 mm².
    figures, problems = joint(tails=sizes(tails), method="butt-connector")  # type: ignore[arg-type]
    assert not problems and figures["item"].value == item


def test_a_thin_and_a_thick_tail_do_not_share_a_butt_connector() -> None:
    choice = try_method(sizes("0.5 mm2, 6 mm2"), METHODS["butt-connector"])  # type: ignore[arg-type]
    assert choice.connector is None and "no single connector" in choice.why_not


def test_conductors_under_22_awg_are_outside_ordinary_connectors() -> None:
    _, problems = joint(tails=sizes("0.22 mm2, 0.5 mm2"), method="butt-connector")  # type: ignore[arg-type]
    assert "outside ordinary connectors" in problems[0].message
    figures, problems = joint(tails=sizes("0.22 mm2, 0.5 mm2"))  # type: ignore[arg-type]
    assert not problems and figures["method"].value == "solder-and-sleeve"
    assert "not butt-connector" in figures["method"].working


def test_a_soldered_joint_has_a_lap_and_no_pull_value() -> None:
    # NASA-STD-8739.4 section 19: a lap of 3 to 6 conductor diameters. 18 AWG: 1.0237 mm.
    figures, _ = joint(tails=sizes("18 AWG, 20 AWG"), method="solder-and-sleeve")  # type: ignore[arg-type]
    assert figures["strip_mm"].value == pytest.approx(6 * 1.0237, rel=1e-4)
    assert figures["item"].value is None and "pull_n" not in figures


def test_three_tails_each_written_its_own_way() -> None:
    figures, problems = joint(tails=sizes("0.75 mm2, 18 AWG, 1600 cmil"))  # type: ignore[arg-type]
    assert not problems
    assert list(figures) == ["total_mm2", "total_cmil", "equivalent_awg", "method", "item", "strip_mm", "pull_n"]
    assert figures["total_mm2"].value == pytest.approx(0.75 + awg_area_mm2(18) + 1600 * CMIL_MM2)
    assert figures["equivalent_awg"].value == 13


@pytest.mark.parametrize("tails", ["22 AWG, 18 AWG", "18 AWG, 22 AWG", "18 AWG, 20 AWG, 22 AWG"])
def test_the_smallest_tail_sets_the_pull(tails: str) -> None:
    figures, _ = joint(tails=sizes(tails), method="butt-connector")  # type: ignore[arg-type]
    assert figures["pull_n"].value == 35.6


def test_problems() -> None:
    _, problems = joint(tails=[parse_size("1 mm2")])
    assert problems[0].code == "out-of-range" and "tails is 1" in problems[0].message
    _, problems = joint(tails=sizes("1 mm2, 1 mm2"), method="but-connector")  # type: ignore[arg-type]
    assert (problems[0].code, problems[0].hint) == ("unknown-method", "did you mean 'butt-connector'?")
    _, problems = joint(tails=sizes("50 mm2, 50 mm2, 50 mm2"))  # type: ignore[arg-type]
    assert problems[0].code == "out-of-range" and "at most 4/0 AWG" in problems[0].message


SOME = st.lists(st.sampled_from(["0.35 mm2", "0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "20 AWG", "16 AWG"]),
                min_size=2, max_size=5)  # fmt: skip


@given(SOME, st.sampled_from(sorted(METHODS)))
def test_a_connector_is_always_within_its_range_and_order_does_not_matter(tails: list[str], method: str) -> None:
    parsed = [parse_size(tail) for tail in tails]
    figures, problems = joint(tails=parsed, method=method)
    again, _ = joint(tails=parsed[::-1], method=method)
    if problems:
        return
    assert figures["item"].value == again["item"].value
    connector = next((one for one in METHODS[method].connectors if one.name == figures["item"].value), None)
    if connector is None:
        assert METHODS[method].rule == "any"
        return
    areas = sorted(size.area_mm2 for size in parsed)
    ends = [sum(areas)] if METHODS[method].rule == "total" else [areas[-1], sum(areas[:-1])]
    assert all(connector.least_mm2 - 1e-9 <= end <= connector.most_mm2 + 1e-9 for end in ends)


@given(st.floats(0.01, 100))
def test_the_equivalent_size_is_the_smallest_that_is_not_under(total: float) -> None:
    gauge = equivalent_gauge(total)
    assert gauge is not None
    assert awg_area_mm2(gauge) >= total * (1 - 1e-8)
    assert gauge == 40 or awg_area_mm2(gauge + 1) < total


def test_two_tails_are_soldered_in_line_and_more_are_twisted() -> None:
    """Two ends laid side by side, more on a twist: common practice, no source."""
    three = sizes("0.5 mm2, 0.5 mm2, 0.75 mm2")
    _, problems = joint(tails=three, method="solder-and-sleeve")  # type: ignore[arg-type]
    assert [p.code for p in problems] == ["no-joint"] and "takes 2 tails, not 3" in problems[0].message
    figures, problems = joint(tails=three, method="solder-twist-and-sleeve")  # type: ignore[arg-type]
    assert not problems and figures["method"].value == "solder-twist-and-sleeve"
