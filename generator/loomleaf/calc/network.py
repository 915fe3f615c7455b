"""A supply as a network of resistances: every shared feed and return solved together.

Modified nodal analysis: node volts and the currents of the supplies are the unknowns, Gaussian elimination with
partial pivoting solves them. Loads draw a constant current, which a radio with a regulator does near enough.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..figure import number
from ..problems import Collector, Problem
from .answer import in_range


@dataclass(frozen=True, kw_only=True)
class Resistor:
    """A segment between two nodes, in ohms. 0 Ω is allowed: the two nodes are then one point."""

    name: str
    a: str
    b: str
    ohm: float


@dataclass(frozen=True, kw_only=True)
class Source:
    """An ideal source of ``volts`` from ``minus`` to ``plus`` behind ``internal_ohm``."""

    name: str
    plus: str
    minus: str
    volts: float
    internal_ohm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Load:
    """A constant current from ``plus`` through the load to ``minus``, in A."""

    name: str
    plus: str
    minus: str
    amps: float


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Volts of every node against the reference; amps from a to b and volts lost of every resistor; amps out of every
    source; volts across every load."""

    node_v: Mapping[str, float]
    branch_a: Mapping[str, float]
    drop_v: Mapping[str, float]
    source_a: Mapping[str, float]
    load_v: Mapping[str, float]


def solve(
    *, resistors: Sequence[Resistor], sources: Sequence[Source], loads: Sequence[Load], reference: str
) -> tuple[Solution | None, tuple[Problem, ...]]:
    """Solve a network against a reference node (0 V), or None with what is wrong with it.

    Problems: a value out of range, a part that hangs on nothing (``network-open``), no single answer
    (``network-singular``), a load whose volts would be 0 or less (``network-collapse``).
    """
    return solve_cases(resistors=resistors, sources=sources, cases=(loads,), reference=reference)[0]


def solve_cases(
    *,
    resistors: Sequence[Resistor],
    sources: Sequence[Source],
    cases: Sequence[Sequence[Load]],
    reference: str,
) -> tuple[tuple[Solution | None, tuple[Problem, ...]], ...]:
    """The same network under several loads, which hang on the same points in each case: what ``solve`` gives for each."""
    checked = [Collector() for _ in cases]
    for found, loads in zip(checked, cases, strict=True):
        _check(found, resistors, sources, loads)
    if any(found.problems for found in checked):
        return tuple((None, tuple(found.problems)) for found in checked)
    nodes = _nodes(resistors, sources, [load for loads in cases for load in loads], reference)
    found = Collector()
    lost = _unreached(nodes, resistors, sources, reference)
    if lost:
        found.error(
            "network-open",
            f"{', '.join(lost)} {'hangs' if len(lost) == 1 else 'hang'} on nothing that leads to {reference}",
            hint="every point needs a way through conductors to the reference",
        )
        return tuple((None, tuple(found.problems)) for _ in cases)
    answers = _unknowns(nodes, resistors, sources, cases, reference)
    if answers is None:
        found.error(
            "network-singular",
            "the network has no single answer: supplies or 0 Ω parts stand straight against each other",
            hint="give each supply and each joint a resistance of its own",
        )
        return tuple((None, tuple(found.problems)) for _ in cases)
    return tuple(
        _told(_solution(x, nodes, resistors, sources, loads, reference), loads)
        for x, loads in zip(answers, cases, strict=True)
    )


def _told(solution: Solution, loads: Sequence[Load]) -> tuple[Solution, tuple[Problem, ...]]:
    """A solution, and the loads that it cannot feed."""
    found = Collector()
    for load in loads:
        if load.amps > 0 and solution.load_v[load.name] <= 0:
            found.error(
                "network-collapse",
                f"{load.name} asks {number(load.amps)} A, more than its supply and conductors can give",
                hint="larger conductors, or less load",
            )
    return solution, tuple(found.problems)


def _check(found: Collector, resistors: Sequence[Resistor], sources: Sequence[Source], loads: Sequence[Load]) -> None:
    for resistor in resistors:
        in_range(found, resistor.name, resistor.ohm, 0, 1_000_000, "Ω")
    for source in sources:
        in_range(found, source.name, source.volts, 0, 1000, "V")
        in_range(found, source.name, source.internal_ohm, 0, 1000, "Ω")
    for load in loads:
        in_range(found, load.name, load.amps, 0, 10_000, "A")
    for parts in (resistors, sources, loads):
        names = [part.name for part in parts]
        for name in sorted({name for name in names if names.count(name) > 1}):
            found.error("network-singular", f"two parts of the network are named '{name}'", hint="name each apart")


def _nodes(
    resistors: Sequence[Resistor], sources: Sequence[Source], loads: Sequence[Load], reference: str
) -> list[str]:
    ends = [end for one in resistors for end in (one.a, one.b)]
    ends += [end for source in sources for end in (source.plus, source.minus)]
    ends += [end for load in loads for end in (load.plus, load.minus)]
    return sorted({*ends, reference} - {reference})


def _unreached(
    nodes: Sequence[str], resistors: Sequence[Resistor], sources: Sequence[Source], reference: str
) -> list[str]:
    beside: dict[str, list[str]] = {node: [] for node in (*nodes, reference)}
    for a, b in [(one.a, one.b) for one in resistors] + [(one.plus, one.minus) for one in sources]:
        beside[a].append(b)
        beside[b].append(a)
    seen, waiting = {reference}, [reference]
    while waiting:
        for node in beside[waiting.pop()]:
            if node not in seen:
                seen.add(node)
                waiting.append(node)
    return [node for node in nodes if node not in seen]


def _unknowns(
    nodes: Sequence[str],
    resistors: Sequence[Resistor],
    sources: Sequence[Source],
    cases: Sequence[Sequence[Load]],
    reference: str,
) -> list[list[float]] | None:
    """For each case: node volts, then the current of each 0 Ω part, then of each source (from plus out into the network)."""
    place = {node: index for index, node in enumerate(nodes)}
    shorts = [one for one in resistors if one.ohm == 0]
    size = len(nodes) + len(shorts) + len(sources)
    matrix = [[0.0] * size for _ in range(size)]
    rights = [[0.0] * size for _ in cases]

    def at(row: int | None, column: int | None, value: float) -> None:
        if row is not None and column is not None:
            matrix[row][column] += value

    for one in resistors:
        if one.ohm > 0:
            a, b = place.get(one.a), place.get(one.b)
            for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                at(row, column, sign / one.ohm)
    for index, one in enumerate(shorts, len(nodes)):
        a, b = place.get(one.a), place.get(one.b)
        at(a, index, 1)
        at(b, index, -1)
        at(index, a, 1)
        at(index, b, -1)
    for index, source in enumerate(sources, len(nodes) + len(shorts)):
        plus, minus = place.get(source.plus), place.get(source.minus)
        at(plus, index, -1)
        at(minus, index, 1)
        at(index, plus, 1)
        at(index, minus, -1)
        at(index, index, source.internal_ohm)
        for right in rights:
            right[index] = source.volts
    for right, loads in zip(rights, cases, strict=True):
        for load in loads:
            plus, minus = place.get(load.plus), place.get(load.minus)
            if plus is not None:
                right[plus] -= load.amps
            if minus is not None:
                right[minus] += load.amps
    return _eliminated(matrix, rights)


def eliminate(matrix: list[list[float]], right: list[float]) -> list[float] | None:
    """Solve ``matrix · x = right`` by Gaussian elimination with partial pivoting; None when the matrix is singular.

    >>> eliminate([[2.0, 1.0], [1.0, 3.0]], [3.0, 5.0])
    [0.8, 1.4]
    """
    answers = _eliminated(matrix, [right])
    return answers[0] if answers is not None else None


def _eliminated(matrix: list[list[float]], rights: Sequence[list[float]]) -> list[list[float]] | None:
    """The answer for each right side, all in one pass over the matrix."""
    rows = [[*row, *values] for row, *values in zip(matrix, *rights, strict=True)]
    size = len(rows)
    for column in range(size):
        scale = max(max(map(abs, row[column:size])) for row in rows[column:])
        pivot = max(range(column, size), key=lambda index: abs(rows[index][column]))
        if scale == 0 or abs(rows[pivot][column]) < scale * 1e-15:
            return None
        rows[column], rows[pivot] = rows[pivot], rows[column]
        head = rows[column]
        tail = head[column:]
        for row in rows[column + 1 :]:
            if row[column]:
                factor = row[column] / head[column]
                row[column:] = [value - factor * above for value, above in zip(row[column:], tail, strict=True)]
    answers = [_back(rows, size, size + index) for index in range(len(rights))]
    return answers if all(math.isfinite(value) for x in answers for value in x) else None


def _back(rows: Sequence[Sequence[float]], size: int, right: int) -> list[float]:
    """The unknowns from the last to the first, for the right side that stands in column ``right``."""
    x = [0.0] * size
    for index in range(size - 1, -1, -1):
        row = rows[index]
        x[index] = (row[right] - math.fsum(row[k] * x[k] for k in range(index + 1, size))) / row[index]
    return x


def _solution(
    x: Sequence[float],
    nodes: Sequence[str],
    resistors: Sequence[Resistor],
    sources: Sequence[Source],
    loads: Sequence[Load],
    reference: str,
) -> Solution:
    volts = {reference: 0.0, **dict(zip(nodes, x, strict=False))}
    shorts = [one.name for one in resistors if one.ohm == 0]
    short_a = dict(zip(shorts, x[len(nodes) :], strict=False))
    source_a = {one.name: x[len(nodes) + len(shorts) + index] for index, one in enumerate(sources)}
    drop = {one.name: 0.0 if one.ohm == 0 else volts[one.a] - volts[one.b] for one in resistors}
    return Solution(
        node_v=volts,
        branch_a={one.name: short_a[one.name] if one.ohm == 0 else drop[one.name] / one.ohm for one in resistors},
        drop_v=drop,
        source_a=source_a,
        load_v={one.name: volts[one.plus] - volts[one.minus] for one in loads},
    )
