"""Jobs that are alike share what is worked out, and each still gets what it would get alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from loomleaf.check.library import Entry
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.planner import ALIKE_KEPT, WISHES, alike, work_for, work_out

JOBS = ("2031", "2038", "2041", "2044", "2047", "2049", "2052")


def leads_of(loaded: Loaded, number: str) -> tuple[Any, ...]:
    return tuple(loaded.library.leads[part].value for part in dict.fromkeys(loaded.library.jobs[number].value.parts))


@pytest.fixture
def shop(demo_copy: Path) -> Path:
    """The demo with each job a second time: another number, another plate, a joint length that a place is told for."""
    for number in JOBS:
        text = (demo_copy / f"jobs/{number}.yaml").read_text("utf-8")
        again = str(int(number) + 5000)
        for plate in load_shop(demo_copy).library.jobs[number].value.registrations:
            text = text.replace(plate.plate, f"{plate.plate}X")
        (demo_copy / f"jobs/{again}.yaml").write_text(
            text.replace(f'"{number}"', f'"{again}"').replace(f"job: {number}", f"job: {again}"), "utf-8"
        )
    return demo_copy


def test_a_job_planned_after_one_just_like_it_is_what_it_is_alone(shop: Path) -> None:
    loaded = load_shop(shop)
    for number in JOBS:
        again = str(int(number) + 5000)
        assert alike(loaded.library.jobs[number].value) == alike(loaded.library.jobs[again].value)
        after, told = plan_jobs(loaded, (number, again))
        alone, told_alone = plan_jobs(load_shop(shop), (again,))
        assert repr(after[again]) == repr(alone[again])
        assert [p for p in told if p.job == again] == [p for p in told_alone if p.job == again]


def test_the_work_is_shared(shop: Path) -> None:
    loaded = load_shop(shop)
    first, second = (work_for(loaded.library, loaded.library.jobs[n], leads_of(loaded, n)) for n in ("2031", "7031"))
    assert first.checks is second.checks and first.pairing is second.pairing


@pytest.mark.parametrize("number", JOBS)
def test_nothing_else_of_a_job_is_read_for_its_work(root: Path, number: str) -> None:
    """If it were, two jobs that differ in it would be given the same work."""
    loaded = load_shop(root / "content")
    entry = loaded.library.jobs[number]
    read: set[str] = set()

    class Watched:
        def __getattr__(self, name: str) -> Any:
            read.add(name)
            return getattr(entry.value, name)

    watched: Any = Entry(value=Watched(), document=entry.document, base=entry.base)  # type: ignore[type-var]
    work_out(loaded.library, watched, leads_of(loaded, number))
    assert read <= {*WISHES, "job"}
    assert {"vehicle", "joining", "feed"} <= read


def test_what_is_told_with_a_place_in_the_job_is_not_taken_over(shop: Path) -> None:
    """A joint that cannot be made is told at the job's own wish for it."""
    for number in ("2031", "7031"):
        path = shop / f"jobs/{number}.yaml"
        path.write_text(path.read_text("utf-8") + "\nplaces: [damp, hot, flexing]\n", "utf-8")
    loaded = load_shop(shop)
    _, told = plan_jobs(loaded, ("2031", "7031"))
    places = {p.location.file for p in told if p.code == "no-joint-fits" and p.job == "7031"}
    assert places == {"jobs/7031.yaml"}


def test_only_the_last_few_are_kept(root: Path) -> None:
    from loomleaf.plan.planner import _latest

    loaded = load_shop(root / "content")
    plan_jobs(loaded)
    assert 1 <= len(_latest(loaded.library)) <= ALIKE_KEPT
