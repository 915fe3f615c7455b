"""Checks are numbered as their rows follow one another on paper."""

from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.check_order import (
    BENCH_STAGES,
    by_condition,
    in_working_order,
    of_kind,
    probes_without_way,
    sharing,
    under_conditions,
    watched_order,
)
from loomleaf.plan.types import STAGES, Check, Plan, Stage


@pytest.fixture(scope="module")
def plans(root: Path) -> dict[str, Plan]:
    return plan_jobs(load_shop(root / "content"))[0]


def check(key: str, stage: Stage = "before-plugging-in", condition: str = "asleep", **more: object) -> Check:
    values: dict[str, object] = {"meter": "Volts DC", "expected": "0 to 0.5 V", "unit": "V", "on_failure": "Stop."}
    values |= {"probes": "this way and bare metal", "circuit": "S1", "title": key} | more
    return Check(number=0, key=key, stage=stage, condition=condition, **values)  # type: ignore[arg-type]


def test_one_condition_after_the_other() -> None:
    checks = [check("a"), check("b", condition="key on"), check("c"), check("d", condition="key on")]
    assert [c.key for c in in_working_order(checks)] == ["a", "c", "b", "d"]


def test_stages_come_in_the_order_of_the_work() -> None:
    checks = [check(stage, stage) for stage in reversed(STAGES)]
    assert [c.stage for c in in_working_order(checks)] == list(STAGES)


def test_on_the_bench_one_table_after_the_other() -> None:
    ohms = {"meter": "Ohms", "expected": "0.3 Ω or less", "unit": "Ω", "high": 0.3}
    checks = [check("s1", "on-the-bench", **ohms), check("drop", "on-the-bench"), check("s2", "on-the-bench", **ohms)]
    assert [[c.key for c in some] for some in sharing(checks)] == [["s1", "s2"], ["drop"]]
    assert [c.key for c in in_working_order(checks)] == ["s1", "s2", "drop"]


def test_the_same_words_with_another_limit_are_another_table() -> None:
    checks = [check("a", high=0.1), check("b", high=0.2)]
    assert len(sharing(checks)) == 2


def test_quietly_before_loud() -> None:
    """What is watched comes first after plugging in, and last elsewhere."""
    for stage, first in (("after-plugging-in", "heard"), ("hand-over", "read")):
        checks = [check("read", stage), check("heard", stage, yes_no=True)]  # type: ignore[arg-type]
        assert in_working_order(checks)[0].key == first
        assert of_kind(checks, watched_order(stage)[0])[0].key == first  # type: ignore[arg-type]


def test_a_key_is_turned_one_way() -> None:
    words = [group[0][0] for group in by_condition([check("a", condition="key on"), check("b", condition="asleep")])]
    assert words == ["asleep", "key on"]


def test_the_way_is_taken_off_where_the_probes_name_it() -> None:
    assert probes_without_way(check("a", probes="x/A.1: this way", tails=("x/A.1",))) == "this way"


@pytest.mark.parametrize("job", ["2031", "2038", "2041", "2044", "2047", "2049", "2052"])
def test_numbers_run_down_every_table_of_the_demo(job: str, plans: dict[str, Plan]) -> None:
    checks = plans[job].checks
    assert [c.number for c in checks] == list(range(1, len(checks) + 1))
    for stage in STAGES:
        own = [c for c in checks if c.stage == stage]
        if stage == "on-the-bench":
            rows = [c for some in sharing(own) for c in some]
        elif stage in BENCH_STAGES:
            rows = [c for _, some in under_conditions(own) for c in some]
        else:
            rows = [c for w in watched_order(stage) for _, some in by_condition(of_kind(own, w)) for c in some]
        assert [c.number for c in rows] == [c.number for c in own], stage
