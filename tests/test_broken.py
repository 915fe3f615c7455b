"""A shop that is wrong in every way: each bad line names the problems it must raise, and nothing else may be raised."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.problems import Problem

EXPECT = re.compile(r"#\s*expect:\s*(?P<codes>[a-z0-9 -]+)$")


def expected(shop: Path) -> Counter[tuple[str, int, str]]:
    """File, line and code of every ``# expect:`` comment."""
    found: Counter[tuple[str, int, str]] = Counter()
    for path in sorted(shop.rglob("*.yaml")):
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
            match = EXPECT.search(line)
            if match:
                found.update((path.relative_to(shop).as_posix(), number, code) for code in match["codes"].split())
    return found


@pytest.fixture(scope="module")
def shop(root: Path) -> Path:
    return root / "tests" / "broken"


@pytest.fixture(scope="module")
def problems(shop: Path) -> tuple[Problem, ...]:
    return plan_jobs(load_shop(shop))[1]


def test_the_complete_list_and_nothing_else(shop: Path, problems: tuple[Problem, ...]) -> None:
    raised = Counter((p.location.file, p.location.line, p.code) for p in problems)
    wanted = expected(shop)
    assert len(wanted) > 80
    assert sorted(raised - wanted) == []
    assert sorted(wanted - raised) == []


@pytest.mark.parametrize("job", ["1-written-wrong", "2-names-wrong", "4-must-never-meet"])
def test_one_job_is_told_ten_things_at_once(problems: tuple[Problem, ...], job: str) -> None:
    assert len([p for p in problems if p.location.file == f"jobs/{job}.yaml"]) >= 10


def test_problems_come_in_file_and_line_order(problems: tuple[Problem, ...]) -> None:
    places = [(p.location.file, p.location.line, p.location.column) for p in problems]
    assert places == sorted(places)


def test_every_problem_says_where_it_is(problems: tuple[Problem, ...]) -> None:
    assert [p.code for p in problems if not (p.location.line and p.location.column)] == []


@pytest.mark.parametrize(
    ("file", "code", "hint"),
    [
        ("leads/dash.yaml", "unknown-function", "did you mean 'supply-constant'?"),
        ("leads/dash.yaml", "unknown-feature", "did you mean 'wheel-controls'?"),
        ("leads/dash.yaml", "wrong-ways", "write 8"),
        ("leads/badly-written.yaml", "unknown-colour", "did you mean 'yellow'?"),
        ("leads/badly-written.yaml", "bad-size", "write for example 0.75 mm2 or 18 AWG"),
        ("jobs/1-written-wrong.yaml", "unknown-key", "did you mean 'keep'?"),
        ("jobs/1-written-wrong.yaml", "not-a-date", "write year-month-day, for example 2026-05-12"),
        ("jobs/2-names-wrong.yaml", "unknown-part", "did you mean 'amplifier'?"),
        ("jobs/2-names-wrong.yaml", "unknown-method", "did you mean 'solder-and-sleeve'?"),
        ("jobs/2-names-wrong.yaml", "unknown-feature", "did you mean 'clock-display'?"),
        ("jobs/3-names-wrong.yaml", "unknown-vehicle", "did you mean 'heron'?"),
        ("jobs/3-names-wrong.yaml", "unknown-tail", "did you mean 'radio/white'?"),
    ],
)
def test_the_right_answer_is_offered(problems: tuple[Problem, ...], file: str, code: str, hint: str) -> None:
    assert hint in {p.hint for p in problems if p.location.file == file and p.code == code}


def test_a_job_with_an_error_is_left_out_and_the_others_are_worked_out(shop: Path) -> None:
    plans, _ = plan_jobs(load_shop(shop))
    assert set(plans) == {"4"}
    assert plans["4"].held
    assert plans["4"].states[0].state == "held"


def test_what_must_never_meet_gives_its_reason(shop: Path) -> None:
    plan = plan_jobs(load_shop(shop))[0]["4"]
    refused = {c.takers[0].name: c.reason for c in plan.circuits if c.outcome == "refused" and c.drivers}
    assert set(refused) == {
        "radio/red",
        "radio/black",
        "radio/green",
        "radio/orange",
        "radio/pink",
        "radio/can",
        "amplifier/blue-white",
    }
    assert all(reason.strip() for reason in refused.values())
    assert "half the supply" in refused["radio/black"]  # a bridged minus sits there: grounding it shorts the stage


def test_the_settings_file_stops_every_job(shop: Path, tmp_path: Path) -> None:
    import shutil

    copy = tmp_path / "broken"
    shutil.copytree(shop, copy)
    (copy / "shop.yaml").write_text("name: Wrong Way Radio\npaper: A5\nlabour: 58\n")
    loaded = load_shop(copy)
    assert [(p.location.line, p.code) for p in loaded.problems if p.location.file == "shop.yaml"] == [
        (2, "not-a-choice"),
        (3, "unknown-key"),
    ]
    assert plan_jobs(loaded)[0] == {}
