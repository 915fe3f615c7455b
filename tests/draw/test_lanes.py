"""Order of lanes: against all orders for small pictures, and never worse than the order given."""

from __future__ import annotations

import random
from itertools import pairwise, permutations, product

import pytest

from loomleaf.draw.lanes import Block, Lane, arrange, best_order, count_crossings, gathered


def picture(seed: int, lanes: int, groups: int, plugs: int) -> tuple[list[Lane], list[Block], list[Block]]:
    draw = random.Random(seed)
    left = [f"a{n}" for n in range(lanes)]
    right = [f"b{n}" for n in range(lanes)]
    made = [
        Lane(name=f"l{n}", group=str(n * groups // lanes), unit=f"u{n // 2}", left=(left[n],), right=(right[n],))
        for n in range(lanes)
    ]
    draw.shuffle(left)
    draw.shuffle(right)
    size = -(-lanes // plugs)
    blocks = [
        [Block(name=f"{side}{n}", ways=tuple(ways[n * size : (n + 1) * size])) for n in range(plugs)]
        for side, ways in (("L", left), ("R", right))
    ]
    return made, blocks[0], blocks[1]


def test_crossings_are_counted_as_in_a_hand_drawn_case() -> None:
    # three lines to ways in the opposite order: each pair crosses, 3 in all
    lanes = [Lane(name=n, group="", unit=n, left=(n,)) for n in "abc"]
    assert count_crossings(lanes, [Block(name="p", ways=("c", "b", "a"))], "left") == 3
    assert count_crossings(lanes, [Block(name="p", ways=("a", "b", "c"))], "left") == 0


@pytest.mark.parametrize("seed", range(20))
def test_the_best_order_is_the_best_of_all_orders(seed: int) -> None:
    draw = random.Random(seed)
    count = draw.randint(2, 6)
    costs = [[draw.randint(0, 4) for _ in range(count)] for _ in range(count)]

    def total(order: tuple[int, ...] | list[int]) -> int:
        return sum(costs[order[i]][order[j]] for i in range(count) for j in range(i + 1, count))

    assert total(best_order(costs, [0.0] * count)) == min(total(order) for order in permutations(range(count)))


@pytest.mark.parametrize("seed", range(6))
def test_large_orders_are_no_worse_than_given_and_near_the_bound(seed: int) -> None:
    draw = random.Random(seed)
    count = 30
    place = list(range(count))
    draw.shuffle(place)
    # one wire from each thing: the order without any crossing exists, and must be found
    costs = [[int(place[a] > place[b]) for b in range(count)] for a in range(count)]
    order = best_order(costs, [float(p) for p in place])
    assert [place[i] for i in order] == sorted(place)


CASES = [(seed, *size) for size in ((6, 2, 1), (12, 3, 2), (24, 5, 3)) for seed in range(25)] + [
    (seed, 60, 6, 3) for seed in range(4)
]


@pytest.mark.parametrize(("seed", "lanes", "groups", "plugs"), CASES)
def test_never_more_crossings_than_as_given(seed: int, lanes: int, groups: int, plugs: int) -> None:
    made, left, right = picture(seed, lanes, groups, plugs)
    naive = count_crossings(gathered(made), left, "left") + count_crossings(gathered(made), right, "right")
    chosen = arrange(made, left, right)
    assert chosen.crossings <= naive
    assert sorted(lane.name for lane in chosen.lanes) == sorted(lane.name for lane in made)
    for before, after in ((left, chosen.left), (right, chosen.right)):
        assert {frozenset(block.ways) for block in before} == {frozenset(block.ways) for block in after}
        for block in after:
            original = next(b for b in before if b.name == block.name)
            assert block.ways in (original.ways, original.ways[::-1])  # the ways of a plug keep their order


@pytest.mark.parametrize("seed", range(12))
def test_groups_and_units_stay_together(seed: int) -> None:
    chosen = arrange(*picture(seed, 12, 3, 2))
    for what in ("group", "unit"):
        runs = [getattr(lane, what) for lane in chosen.lanes]
        assert sum(a != b for a, b in pairwise(runs)) == len(set(runs)) - 1


@pytest.mark.parametrize("seed", range(12))
def test_small_pictures_come_within_two_crossings_of_the_best_there_is(seed: int) -> None:
    made, left, right = picture(seed, 6, 1, 1)
    made = [Lane(name=lane.name, group="g", unit=lane.name, left=lane.left, right=lane.right) for lane in made]
    best = min(
        count_crossings(order, [a], "left") + count_crossings(order, [b], "right")
        for order in permutations(made)
        for a, b in product((left[0], left[0].turned), (right[0], right[0].turned))
    )
    assert best <= arrange(made, left, right).crossings <= best + 2


def test_free_tails_take_the_order_of_their_lanes() -> None:
    lanes = [Lane(name=n, group="", unit=n, left=(n,)) for n in "abcd"]
    chosen = arrange(lanes, [Block(name="p", ways=("d", "a", "c", "b"), loose=True)], [])
    assert chosen.crossings == 0 and chosen.turned == frozenset()


def test_the_same_input_gives_the_same_order() -> None:
    made, left, right = picture(3, 24, 5, 3)
    assert arrange(made, left, right) == arrange(made, left, right)
