"""The order of lanes, and of the plugs at their two ends, that crosses few lines.

A loom picture has three columns: ways of the plugs on the left, lanes in the middle, ways of the plugs on the right.
Two lines between neighbouring columns cross when their ends stand in opposite order, so what has to be chosen is an
order. The lanes of a group stay together, and so do the lanes of one
wire function (plus beside minus); inside that they are free.
Plugs may change places on their side and be turned end for end; the ways of a plug keep their order.

Method. Whether two things cross depends only on which of them comes first, so with the other columns standing still
the best order of a column is a linear ordering problem over a table of pair costs. It is solved exactly (over all
subsets) up to ``EXACT`` things, and by barycentre and sifting above that. Columns are solved in turn until nothing
gets better, beginning from the order given and from every way of turning the plugs. The result is the best column by
column (up to ``EXACT`` things), not always the best of all orders of all columns together, and never worse than the
order it began with.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

EXACT = 9
_ROUNDS = 8


@dataclass(frozen=True, kw_only=True)
class Lane:
    """A lane: its group, its unit (lanes of one unit stay side by side), the ways it reaches on each side."""

    name: str
    group: str
    unit: str
    left: tuple[str, ...] = ()
    right: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Block:
    """A plug at one side: its ways from top to bottom. ``loose``: free tails with no plug, which may stand in any order."""

    name: str
    ways: tuple[str, ...]
    loose: bool = False

    @property
    def turned(self) -> Block:
        return Block(name=self.name, ways=tuple(reversed(self.ways)), loose=self.loose)


@dataclass(frozen=True, kw_only=True)
class Arrangement:
    """Lanes and blocks from top to bottom. ``turned`` names the blocks that were turned end for end."""

    lanes: tuple[Lane, ...]
    left: tuple[Block, ...]
    right: tuple[Block, ...]
    turned: frozenset[str] = frozenset()

    @property
    def crossings(self) -> int:
        return count_crossings(self.lanes, self.left, "left") + count_crossings(self.lanes, self.right, "right")


def places(blocks: Sequence[Block]) -> dict[str, int]:
    """Way → its place from the top, over all blocks of a side."""
    return {way: at for at, way in enumerate(way for block in blocks for way in block.ways)}


def _ends(lane: Lane, side: str, place: Mapping[str, int]) -> list[int]:
    ways = lane.left if side == "left" else lane.right
    return sorted(place[way] for way in ways if way in place)


def count_crossings(lanes: Sequence[Lane], blocks: Sequence[Block], side: str) -> int:
    """Number of crossings between the lanes and the ways of one side.

    >>> a, b = Lane(name="a", group="", unit="a", left=("1",)), Lane(name="b", group="", unit="b", left=("2",))
    >>> plug = Block(name="p", ways=("1", "2"))
    >>> count_crossings([a, b], [plug], "left"), count_crossings([b, a], [plug], "left")
    (0, 1)
    """
    place = places(blocks)
    total = 0
    above: list[int] = []
    for lane in lanes:  # the ends of one lane stand in order, so only lines of different lanes can cross
        for end in _ends(lane, side, place):
            total += len(above) - bisect_right(above, end)
            insort(above, end)
    return total


def _inverted(upper: Sequence[int], lower: Sequence[int]) -> int:
    """Crossings when the lines to ``upper`` start above the lines to ``lower``."""
    if len(upper) == 1 and len(lower) == 1:
        return int(upper[0] > lower[0])
    return sum(a > b for a in upper for b in lower)


def best_order(costs: Sequence[Sequence[int]], hints: Sequence[float]) -> list[int]:
    """The order with the lowest sum of ``costs[a][b]`` over all pairs with a before b. Ties keep the given order.

    Exact up to ``EXACT`` things; above that the better of the given order and the order of the hints (barycentres),
    each improved by sifting.

    >>> best_order([[0, 3], [1, 0]], [0, 1])
    [1, 0]
    """
    count = len(costs)
    if count <= 1:
        return list(range(count))
    if count <= EXACT:
        return _exact(costs)
    starts = [list(range(count)), sorted(range(count), key=lambda i: (hints[i], i))]
    return min((_sifted(start, costs) for start in starts), key=lambda order: (_total(order, costs), order))


def _total(order: Sequence[int], costs: Sequence[Sequence[int]]) -> int:
    return sum(costs[order[i]][order[j]] for i in range(len(order)) for j in range(i + 1, len(order)))


def _exact(costs: Sequence[Sequence[int]]) -> list[int]:
    count = len(costs)
    best: dict[int, tuple[int, tuple[int, ...]]] = {0: (0, ())}
    for taken in range(1, 1 << count):
        found: tuple[int, tuple[int, ...]] | None = None
        for last in range(count):
            if not taken >> last & 1:
                continue
            before_cost, before = best[taken ^ (1 << last)]
            trial = (before_cost + sum(costs[earlier][last] for earlier in before), (*before, last))
            if found is None or trial < found:
                found = trial
        assert found is not None
        best[taken] = found
    return list(best[(1 << count) - 1][1])


def _sifted(start: Sequence[int], costs: Sequence[Sequence[int]]) -> list[int]:
    order = list(start)
    improved = True
    while improved:
        improved = False
        for item in list(order):
            at = order.index(item)
            rest = order[:at] + order[at + 1 :]
            cost = sum(costs[item][other] for other in rest)
            here, best_at, best_cost = cost, 0, cost
            for slot, other in enumerate(rest, start=1):
                cost += costs[other][item] - costs[item][other]
                if slot == at:
                    here = cost
                if cost < best_cost:
                    best_at, best_cost = slot, cost
            if at == 0:
                here = sum(costs[item][other] for other in rest)
            if best_cost < here:
                order = [*rest[:best_at], item, *rest[best_at:]]
                improved = True
    return order


def _ordered_lanes(lanes: Sequence[Lane], left: Sequence[Block], right: Sequence[Block]) -> list[Lane]:
    """Lanes in their best order with the blocks standing still, group by group and unit by unit."""
    left_place, right_place = places(left), places(right)
    ends = {lane.name: (_ends(lane, "left", left_place), _ends(lane, "right", right_place)) for lane in lanes}

    def cost(upper: Sequence[Lane], lower: Sequence[Lane]) -> int:
        return sum(_inverted(ends[a.name][side], ends[b.name][side]) for a in upper for b in lower for side in (0, 1))

    def middle(members: Sequence[Lane]) -> float:
        found = [place for lane in members for side in (0, 1) for place in ends[lane.name][side]]
        return sum(found) / len(found) if found else 0.0

    out: list[Lane] = []
    for group in _split(lanes, lambda lane: lane.group):
        units = []
        for unit in _split(group, lambda lane: lane.unit):
            inside = best_order([[cost([a], [b]) for b in unit] for a in unit], [middle([a]) for a in unit])
            units.append([unit[i] for i in inside])
        order = best_order([[cost(a, b) for b in units] for a in units], [middle(unit) for unit in units])
        out.extend(lane for i in order for lane in units[i])
    return out


def _split(lanes: Sequence[Lane], of: Callable[[Lane], str]) -> list[list[Lane]]:
    """Lanes with the same key together, keys in the order in which they first stand."""
    found: dict[str, list[Lane]] = {}
    for lane in lanes:
        found.setdefault(of(lane), []).append(lane)
    return list(found.values())


def _ordered_blocks(lanes: Sequence[Lane], blocks: Sequence[Block], side: str) -> list[Block]:
    """Blocks in their best order and each turned the better way, with the lanes standing still."""

    def heights(block: Block) -> list[int]:
        mine = set(block.ways)
        return [
            at for at, lane in enumerate(lanes) for way in (lane.left if side == "left" else lane.right) if way in mine
        ]

    turned = []
    for block in blocks:
        if block.loose:
            turned.append(_in_lane_order(block, lanes, side))
            continue
        as_is = count_crossings(lanes, [block], side)
        other = count_crossings(lanes, [block.turned], side)
        turned.append(block.turned if other < as_is else block)
    seen = [heights(block) for block in turned]
    costs = [[_inverted(a, b) for b in seen] for a in seen]
    hints = [sum(found) / len(found) if found else 0.0 for found in seen]
    return [turned[i] for i in best_order(costs, hints)]


def gathered(lanes: Sequence[Lane]) -> list[Lane]:
    """The lanes as given, with groups and units brought together: the order that ``arrange`` begins with."""
    groups = _split(lanes, lambda lane: lane.group)
    return [lane for group in groups for unit in _split(group, lambda lane: lane.unit) for lane in unit]


def _in_lane_order(block: Block, lanes: Sequence[Lane], side: str) -> Block:
    """Free tails in the order of the lanes they belong to, which crosses nothing inside the block."""
    reached = [way for lane in lanes for way in (lane.left if side == "left" else lane.right) if way in block.ways]
    order = list(dict.fromkeys([*reached, *block.ways]))
    return Block(name=block.name, ways=tuple(order), loose=True)


def _starts(given: Arrangement) -> Iterator[Arrangement]:
    """The order as given, then the lanes fitted to each way of turning the plugs (all of them up to four plugs)."""
    yield given
    names = [block.name for block in (*given.left, *given.right) if not block.loose][:4]
    for turned in product((False, True), repeat=len(names)):
        flip = {name for name, turn in zip(names, turned, strict=True) if turn}
        left = [block.turned if block.name in flip else block for block in given.left]
        right = [block.turned if block.name in flip else block for block in given.right]
        lanes = _ordered_lanes(given.lanes, left, right)
        yield Arrangement(lanes=tuple(lanes), left=tuple(left), right=tuple(right))


def arrange(lanes: Sequence[Lane], left: Sequence[Block], right: Sequence[Block]) -> Arrangement:
    """Lanes and blocks in an order that crosses few lines; never more than as they were given and gathered."""
    start = Arrangement(lanes=tuple(gathered(lanes)), left=tuple(left), right=tuple(right))
    best, best_crossings = start, start.crossings
    for now in _starts(start):
        crossings = now.crossings
        for _ in range(_ROUNDS):
            if crossings < best_crossings:
                best, best_crossings = now, crossings
            if best_crossings == 0:
                break
            new_left = _ordered_blocks(now.lanes, now.left, "left")
            new_right = _ordered_blocks(now.lanes, now.right, "right")
            new_lanes = _ordered_lanes(now.lanes, new_left, new_right)
            now = Arrangement(lanes=tuple(new_lanes), left=tuple(new_left), right=tuple(new_right))
            before, crossings = crossings, now.crossings
            if crossings >= before:
                break
    original = {block.name: block.ways for block in (*left, *right) if not block.loose}
    turned = frozenset(
        block.name for block in (*best.left, *best.right) if original.get(block.name, block.ways) != block.ways
    )
    return Arrangement(lanes=best.lanes, left=best.left, right=best.right, turned=turned)
