"""The supply network against hand-worked circuits and an independent exact solution."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.network import Load, Resistor, Solution, Source, solve


def solved(resistors: list[Resistor], sources: list[Source], loads: list[Load]) -> Solution:
    solution, problems = solve(resistors=resistors, sources=sources, loads=loads, reference="post")
    assert solution is not None and not problems
    return solution


BATTERY = Source(name="battery", plus="plus", minus="post", volts=12.6, internal_ohm=0.02)


def test_series_by_hand() -> None:
    # 12.6 V, 20 mΩ inside, 50 mΩ feed, 30 mΩ return, 10 A: 0.2 + 0.5 + 0.3 V lost, 11.6 V at the radio.
    solution = solved(
        [Resistor(name="feed", a="plus", b="radio", ohm=0.05), Resistor(name="return", a="case", b="post", ohm=0.03)],
        [BATTERY],
        [Load(name="radio", plus="radio", minus="case", amps=10)],
    )
    assert solution.drop_v["feed"] == pytest.approx(0.5)
    assert solution.drop_v["return"] == pytest.approx(0.3)
    assert solution.load_v["radio"] == pytest.approx(11.6)
    assert solution.source_a["battery"] == pytest.approx(10)
    assert solution.branch_a["feed"] == pytest.approx(10)


def test_parallel_by_hand() -> None:
    # Two feeds of 30 and 60 mΩ are 20 mΩ: 9 A share as 6 and 3 A and lose 0.18 V.
    solution = solved(
        [Resistor(name="a", a="plus", b="amp", ohm=0.03), Resistor(name="b", a="plus", b="amp", ohm=0.06)],
        [Source(name="battery", plus="plus", minus="post", volts=12)],
        [Load(name="amp", plus="amp", minus="post", amps=9)],
    )
    assert [solution.branch_a["a"], solution.branch_a["b"]] == pytest.approx([6, 3])
    assert solution.load_v["amp"] == pytest.approx(12 - 0.18)


def test_a_shared_return_lifts_the_other_load() -> None:
    # 20 A of an amplifier through 10 mΩ that the radio's 5 A share: the radio's ground stands at 0.25 V.
    solution = solved(
        [Resistor(name="shared", a="star", b="post", ohm=0.01)],
        [Source(name="battery", plus="plus", minus="post", volts=12)],
        [Load(name="amp", plus="plus", minus="star", amps=20), Load(name="radio", plus="plus", minus="star", amps=5)],
    )
    assert solution.node_v["star"] == pytest.approx(0.25)
    assert solution.load_v["radio"] == pytest.approx(11.75)


def test_an_unbalanced_bridge_by_hand() -> None:
    # Arms 1 and 2 Ω over 3 and 4 Ω, bridge 5 Ω, 10 V. Currents at the two middle points:
    # 150 = 23 v1 − 3 v2 and 100 = 19 v2 − 4 v1, so v1 = 126/17 and v2 = 116/17 V.
    solution = solved(
        [
            Resistor(name="a", a="plus", b="one", ohm=1), Resistor(name="b", a="plus", b="two", ohm=2),
            Resistor(name="c", a="one", b="post", ohm=3), Resistor(name="d", a="two", b="post", ohm=4),
            Resistor(name="bridge", a="one", b="two", ohm=5),
        ],
        [Source(name="battery", plus="plus", minus="post", volts=10)],
        [],
    )  # fmt: skip
    one, two = solution.node_v["one"], solution.node_v["two"]
    assert [one, two] == pytest.approx([126 / 17, 116 / 17])


def test_zero_ohms_join_two_points() -> None:
    solution = solved(
        [Resistor(name="stud", a="plus", b="fuse", ohm=0), Resistor(name="feed", a="fuse", b="radio", ohm=0.1)],
        [BATTERY],
        [Load(name="radio", plus="radio", minus="post", amps=5)],
    )
    assert solution.node_v["fuse"] == solution.node_v["plus"]
    assert solution.branch_a["stud"] == pytest.approx(5)


@pytest.mark.parametrize(
    ("resistors", "sources", "loads", "code"),
    [
        ([], [BATTERY], [Load(name="radio", plus="nowhere", minus="post", amps=1)], "network-open"),
        ([Resistor(name="x", a="p", b="q", ohm=1)], [BATTERY], [], "network-open"),
        ([Resistor(name="feed", a="plus", b="radio", ohm=-1)], [BATTERY], [], "out-of-range"),
        ([Resistor(name="feed", a="plus", b="radio", ohm=float("nan"))], [BATTERY], [], "out-of-range"),
        ([], [BATTERY, Source(name="battery", plus="plus", minus="post", volts=12)], [], "network-singular"),
        (
            [],
            [
                Source(name="a", plus="plus", minus="post", volts=12),
                Source(name="b", plus="plus", minus="post", volts=13),
            ],
            [],
            "network-singular",
        ),
        (
            [Resistor(name="a", a="plus", b="x", ohm=0), Resistor(name="b", a="plus", b="x", ohm=0)],
            [BATTERY],
            [],
            "network-singular",
        ),
    ],
)
def test_what_cannot_be_solved_is_a_problem(
    resistors: list[Resistor], sources: list[Source], loads: list[Load], code: str
) -> None:
    solution, problems = solve(resistors=resistors, sources=sources, loads=loads, reference="post")
    assert solution is None and {problem.code for problem in problems} == {code}


def test_more_than_the_supply_can_give() -> None:
    solution, problems = solve(
        resistors=[Resistor(name="feed", a="plus", b="amp", ohm=0.2)],
        sources=[BATTERY],
        loads=[Load(name="amp", plus="amp", minus="post", amps=100)],
        reference="post",
    )
    assert solution is not None and [problem.code for problem in problems] == ["network-collapse"]


ohms = st.integers(1, 200)


@st.composite
def networks(draw: st.DrawFn) -> tuple[list[tuple[int, int, int]], list[tuple[int, int]]]:
    """Edges (node, node, mΩ) that join every node to node 0, and loads (node, A) from that node to node 0."""
    count = draw(st.integers(2, 7))
    edges = [(node, draw(st.integers(0, node - 1)), draw(ohms)) for node in range(1, count)]
    nodes = st.integers(0, count - 1)
    extra = draw(st.lists(st.tuples(nodes, nodes, ohms), max_size=5))
    loads = draw(st.lists(st.tuples(st.integers(1, count - 1), st.integers(0, 20)), min_size=1, max_size=4))
    return edges + [edge for edge in extra if edge[0] != edge[1]], loads


def exactly(edges: list[tuple[int, int, int]], loads: list[tuple[int, int]], emf: Fraction) -> list[Fraction]:
    """Node volts by exact fractions in another formulation: the source and its 20 mΩ as a current with a conductance
    at node 1 (Norton), the plain conductance matrix, Gauss-Jordan with the first pivot that is not 0."""
    count = 1 + max(max(a, b) for a, b, _ in edges)
    rows = [[Fraction(0)] * (count + 1) for _ in range(count)]
    for a, b, mohm in edges:
        g = Fraction(1000, mohm)
        rows[a][a] += g
        rows[b][b] += g
        rows[a][b] -= g
        rows[b][a] -= g
    rows[1][1] += 50
    rows[1][count] += emf * 50
    for node, amps in loads:
        rows[node][count] -= amps
    rows = [row[1:] for row in rows[1:]]
    size = count - 1
    for column in range(size):
        pivot = next(index for index in range(column, size) if rows[index][column])
        rows[column], rows[pivot] = rows[pivot], rows[column]
        head = rows[column] = [entry / rows[column][column] for entry in rows[column]]
        for index in range(size):
            if index != column:
                factor = rows[index][column]
                rows[index] = [x - factor * h for x, h in zip(rows[index], head, strict=True)]
    return [Fraction(0)] + [row[size] for row in rows]


def build(edges: list[tuple[int, int, int]], loads: list[tuple[int, float]]) -> Solution:
    solution, problems = solve(
        resistors=[Resistor(name=f"r{i}", a=f"n{a}", b=f"n{b}", ohm=m / 1000) for i, (a, b, m) in enumerate(edges)],
        sources=[Source(name="battery", plus="n1", minus="n0", volts=12.6, internal_ohm=0.02)],
        loads=[Load(name=f"l{i}", plus=f"n{n}", minus="n0", amps=amps) for i, (n, amps) in enumerate(loads)],
        reference="n0",
    )
    assert solution is not None
    assert {problem.code for problem in problems} <= {"network-collapse"}
    return solution


@given(networks())
def test_against_an_independent_exact_solution(
    network: tuple[list[tuple[int, int, int]], list[tuple[int, int]]],
) -> None:
    edges, loads = network
    solution = build(edges, list(loads))
    volts = exactly(edges, loads, Fraction(126, 10))
    for node, value in enumerate(volts):
        assert solution.node_v.get(f"n{node}", 0.0) == pytest.approx(float(value), abs=1e-8)
    for index, (a, b, mohm) in enumerate(edges):
        amps = float((volts[a] - volts[b]) * 1000 / mohm)
        assert solution.branch_a[f"r{index}"] == pytest.approx(amps, abs=1e-5)


@given(networks(), st.integers(0, 3), st.floats(0, 30))
def test_more_current_never_lowers_a_drop(
    network: tuple[list[tuple[int, int, int]], list[tuple[int, int]]], which: int, more: float
) -> None:
    # From the battery's own volts down to each node: no node rises when a load takes more.
    edges, loads = network
    before = build(edges, list(loads))
    index = which % len(loads)
    raised = [(node, amps + (more if i == index else 0)) for i, (node, amps) in enumerate(loads)]
    after = build(edges, raised)
    for node, volts in before.node_v.items():
        assert 12.6 - after.node_v[node] >= 12.6 - volts - 1e-9


@given(networks())
def test_currents_balance_at_every_node(network: tuple[list[tuple[int, int, int]], list[tuple[int, int]]]) -> None:
    edges, loads = network
    solution = build(edges, list(loads))
    for node in solution.node_v:
        total = solution.source_a["battery"] * ((node == "n1") - (node == "n0"))
        for index, (a, b, _) in enumerate(edges):
            total += solution.branch_a[f"r{index}"] * ((node == f"n{b}") - (node == f"n{a}"))
        for at, amps in loads:
            total += amps * ((node == "n0") - (node == f"n{at}"))
        assert total == pytest.approx(0, abs=1e-5)
