"""What was measured on an earlier issue stays known, and proves nothing for the one that stands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loomleaf.check.library import Library
from loomleaf.model.shop import Shop
from loomleaf.plan.dashnotes import dash_notes
from loomleaf.plan.earlier import earlier_plans, plans_to_learn_from, told_of_earlier
from loomleaf.plan.issued import frozen
from loomleaf.plan.types import Plan
from loomleaf.report import report_of, report_text
from loomleaf.sheets.record import record_data
from loomleaf.sheets.registry import sheet_html
from tests.plan.shops import PROOFS, planned
from tests.plan.test_issued import cleared
from tests.plan.test_readings import sheet

B = "revision: B\nreplaces: A\nwork_areas: [dash-centre, boot]\n"


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    """Revision A cleared, read through and verified."""
    plan, library = planned(job=PROOFS)
    plan, library = planned(job=PROOFS + cleared(plan.digest))
    copy = frozen(plan, library)
    assert copy is not None
    minutes = "{remove-radio: '40', fit-radio: 1 h}"
    told = "[the bracket is bent, it was Test who bent it]"
    back = sheet(plan, minutes=minutes, found=told, signatures="[{row: before-plugging-in, by: RP}]")
    assert planned(job=PROOFS + cleared(plan.digest), files=back)[0].state == "verified"
    return {copy.name: copy.text, **back}


@pytest.fixture(scope="module")
def begun(files: dict[str, str]) -> tuple[Plan, Library]:
    """Revision B of it, begun with no proof of its own."""
    plan, library = planned(job=B, files=files)
    assert plan.state == "build" and {r.result for s in plan.states for r in s.readings} <= {"missing"}
    return plan, library


def test_the_earlier_issue_is_worked_out_with_its_readings(begun: tuple[Plan, Library]) -> None:
    plan, library = begun
    (earlier,) = earlier_plans(library, plan.job)
    assert (earlier.job.revision, earlier.state) == ("A", "verified")
    assert earlier.digest != plan.digest


def test_its_minutes_stay_in_the_report(begun: tuple[Plan, Library]) -> None:
    plan, library = begun
    report = report_of({"1": plan}, library, library.shop.value if library.shop else Shop(name=""))
    assert {row.name: int(row.taken) for row in report.minutes} == {"remove-radio": 40, "fit-radio": 60}
    assert "no job has minutes recorded yet" not in report_text(report)
    (time,) = report.notes["test-car"].times
    assert int(time.minutes) == 100


def test_the_dash_notes_stay_and_name_nobody(begun: tuple[Plan, Library]) -> None:
    """The frozen copy does not know the customer: the job does."""
    plan, library = begun
    learnt = plans_to_learn_from([plan], library)
    note = dash_notes(learnt, library.readings)["test-car"]
    assert [n.text for n in note.leads] == ["car", "radio"]
    assert [n.text for n in note.found] == ["the bracket is bent"]
    assert {w.tail.name for w in note.ways} >= {"car/A.4", "car/A.7"}
    assert dash_notes([plan], library.readings) == {}


def test_the_record_says_what_the_earlier_issue_proved_and_when(begun: tuple[Plan, Library]) -> None:
    plan, library = begun
    (line,) = told_of_earlier(library, plan.job)
    count = sum(r.result == "pass" for r in earlier_plans(library, plan.job)[0].states[0].readings)
    assert line == (
        f"Revision A, AB1: {count} readings passed, the last on 2026-05-12. It stood at verified."
        " They were taken on that revision and prove nothing for B."
    )
    shown = replace(plan, earlier=(line,))
    html, problems = sheet_html("record", shown, library.shop.value if library.shop else Shop(name=""), library.reference)
    assert problems == () and html is not None
    assert "Earlier revisions of this job" in html and line in html
    assert record_data(shown)["earlier_issues"] == [line]


def test_what_stands_is_learnt_from_itself_once_it_is_verified(files: dict[str, str]) -> None:
    plan, library = planned(job=PROOFS, files={name: text for name, text in files.items() if "readings" in name})
    assert plans_to_learn_from([plan], library) == (plan,)
    assert told_of_earlier(library, plan.job) == ()
