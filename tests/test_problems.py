"""How problems are told: each once, however many jobs it concerns."""

import pytest

from loomleaf.cli import main
from loomleaf.problems import Location, Problem, Severity, few, told_once

from .conftest import ROOT

LEAD = Location(file="leads/gulland-8.yaml", line=7, column=3)


def hold(job: str = "", plate: str = "", where: Location = LEAD, message: str = "known from its colour alone") -> Problem:
    return Problem(
        code="colour-only", severity=Severity.HOLD, message=message, location=where, job=job, registration=plate
    )


@pytest.mark.parametrize(
    "problems, whose",
    [
        ([hold()], [""]),
        ([hold("2041")], ["job 2041"]),
        ([hold("2041"), hold("2044"), hold("2041")], ["jobs 2041 and 2044"]),
        ([hold(str(number)) for number in range(1, 8)], ["jobs 1, 2, 3, 4 and 3 more"]),
        ([hold("2041", where=Location(file="jobs/2041.yaml", line=4))], [""]),
        ([hold("2047", "LK 20 VDT"), hold("2047", "LK 21 VDT")], ["job 2047, vehicles LK 20 VDT and LK 21 VDT"]),
        ([hold("2041"), hold("2041", message="red, the usual colour of another")], ["job 2041", "job 2041"]),
    ],
)
def test_a_thing_is_told_once_with_whom_it_concerns(problems: list[Problem], whose: list[str]) -> None:
    assert [words for _, words in told_once(problems)] == whose


def test_nothing_is_lost_and_the_order_stays() -> None:
    one, other = hold("2041"), hold("2041", message="red, the usual colour of another")
    assert [p.message for p, _ in told_once([one, other, hold("2044")])] == [one.message, other.message]


def test_whose_it_is_stands_between_the_place_and_the_hint() -> None:
    problem = Problem(code="c", severity=Severity.HOLD, message="m", hint="h", location=LEAD)
    assert problem.full("  - {at: A.1}", "job 2041").splitlines()[-2:] == ["    for: job 2041", "    hint: h"]
    assert "for:" not in problem.full("  - {at: A.1}")


def test_check_says_how_many_jobs_are_held(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", str(ROOT / "content")]) == 0
    told = capsys.readouterr().err
    assert "    for: job 2049\n" in told
    assert told.endswith("7 jobs looked at: 5 holds, 1 warning, 1 job held\n")


def test_the_names_of_one_job_need_no_count(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "2049", "--shop", str(ROOT / "content")]) == 0
    assert capsys.readouterr().err.endswith("1 job looked at: 5 holds\n")


def test_few_names() -> None:
    assert few([]) == ""
    assert few(["1"]) == "1"
    assert few(["1", "2", "3"]) == "1, 2 and 3"
