"""What a sheet says stops work stops the state: unsigned hold points, empty airbag boxes, lamps, current with the key out."""

from __future__ import annotations

import pytest

from loomleaf.plan.answers import lamp_lit
from loomleaf.plan.types import Plan
from loomleaf.problems import Severity
from tests.makers import VEHICLE
from tests.plan.shops import PROOFS, planned
from tests.plan.test_readings import again, keyed, sheet

SIGNED = "{row: before-plugging-in, by: TO, when: '12 May 2026'}, {row: before-the-trim-goes-back, by: TO, when: '12 May 2026'}"
UNSIGNED = "{row: before-plugging-in}, {row: before-the-trim-goes-back}"
SRS = "work_areas: [dash-centre]\n"


@pytest.fixture(scope="module")
def proved() -> Plan:
    return planned(job=PROOFS)[0]


@pytest.fixture(scope="module")
def near_airbags() -> Plan:
    return planned(job=PROOFS + SRS)[0]


def told(plan: Plan) -> dict[str, Severity]:
    return {p.code: p.severity for p in plan.problems}


def test_a_file_without_such_rows_verifies_nothing_and_says_so(proved: Plan) -> None:
    """Nobody says that the bench sheet was done: the readings under load alone are not enough."""
    plan = again(sheet(proved, signatures=""))
    assert plan.state == "plug-in"
    assert plan.states[0].before_next == (
        "The readings after plugging in passed. Still missing: the signature of the hold point before plugging in.",
    )
    assert told(plan)["readings-unsigned"] is Severity.WARNING


@pytest.mark.parametrize("text", ["", "-", "?", "not done", "later", "12:30"])
def test_a_stand_in_for_a_name_releases_nothing(proved: Plan, text: str) -> None:
    row = f"{{row: before-plugging-in, by: '{text}'}}"
    assert again(sheet(proved, signatures=f"[{row}]")).state == "held"
    assert again(sheet(proved, signatures=f"[{row.replace(repr(text), 'Tamsin')}]")).state == "verified"


@pytest.mark.parametrize("name", ["-", "?", "tbd"])
def test_a_stand_in_for_who_fitted_verifies_nothing(proved: Plan, name: str) -> None:
    assert again(sheet(proved, by=f"'{name}'")).state == "plug-in"


@pytest.mark.parametrize("change", ["", "lamp stays on"])
def test_nothing_is_verified_before_the_airbag_lamp_was_seen(proved: Plan, change: str) -> None:
    (lamp,) = [c for c in proved.checks if c.key == "hand-over-airbag-lamp"]
    plan = again(sheet(proved, change={lamp.key: change}))
    assert plan.state == "plug-in"
    assert f"Still missing: check {lamp.number}, the airbag lamp." in plan.states[0].before_next[0]


@pytest.mark.parametrize("text", ["later", "tbd", "not yet", "??"])
def test_a_stand_in_at_the_airbags_is_an_empty_box(near_airbags: Plan, text: str) -> None:
    files = sheet(near_airbags, answers="{gate-airbag: {" + GATE.format("yes", text, "Service book", "4-12") + "}}")
    plan = planned(job=PROOFS + SRS, files=files)[0]
    assert "airbag-gate-open" in {p.code for p in plan.states[0].reasons}


def test_an_unsigned_hold_point_with_readings_after_it_holds(proved: Plan) -> None:
    plan = again(sheet(proved, signatures=f"[{UNSIGNED}]"))
    assert plan.state == "held"
    assert [p.code for p in plan.states[0].reasons] == ["hold-point-unsigned"] * 2
    assert "before plugging in" in plan.states[0].reasons[0].message
    assert again(sheet(proved, signatures=f"[{SIGNED}]")).state == "verified"


@pytest.mark.parametrize(
    ("row", "stages", "held"),
    [
        ("before-plugging-in", ("before-joining", "on-the-bench", "before-plugging-in"), False),
        ("before-plugging-in", ("on-the-bench", "after-plugging-in"), True),
        ("before-the-trim-goes-back", ("after-plugging-in", "before-trim"), False),
        ("before-the-trim-goes-back", ("hand-over",), True),
        ("made-by", ("hand-over",), False),
    ],
)
def test_only_what_comes_after_the_hold_point_tells_that_work_went_on(
    proved: Plan, row: str, stages: tuple[str, ...], held: bool
) -> None:
    others = {c.key: "" for c in proved.checks if c.stage not in stages}
    assert again(sheet(proved, change=others, signatures=f"[{{row: {row}}}]")).held is held


def test_a_sheet_that_comes_back_signed_releases_it(proved: Plan) -> None:
    unsigned = sheet(proved, signatures=f"[{UNSIGNED}]")
    nothing = {c.key: "" for c in proved.checks}
    later = sheet(proved, name="readings/1-A.2.yaml", change=nothing, signatures=f"[{SIGNED}]")
    assert again(unsigned | later).state == "verified"
    stale = sheet(
        proved, name="readings/1-A.2.yaml", change=nothing, signatures=f"[{SIGNED}]", digest="0123456789abcdef"
    )
    assert again(unsigned | stale).state == "held"  # signed for something else
    undated = sheet(proved, name="readings/1-A.2.yaml", change=nothing, signatures=f"[{SIGNED}]", on="")
    assert again(unsigned | undated).state == "held"


GATE = "looked-up: '{}', wait: '{}', document: '{}', page: '{}'"


@pytest.mark.parametrize(
    ("given", "empty"),
    [
        (("yes", "yes", "Manual", "4-12"), ""),
        (("yes", "yes", "", ""), "document, page"),
        (("yes", "", "Manual", "4-12"), "wait"),
        (("", "yes", "Manual", "4-12"), "airbags, tensioners and sensors found"),
        (("yes", "yes", "Manual", "-"), "page"),
    ],
)
def test_a_box_left_empty_at_the_airbags_holds(near_airbags: Plan, given: tuple[str, ...], empty: str) -> None:
    files = sheet(near_airbags, answers="{gate-airbag: {" + GATE.format(*given) + "}}")
    plan = planned(job=PROOFS + SRS, files=files)[0]
    assert plan.state == ("held" if empty else "verified")
    if empty:
        assert [(p.code, p.message.partition(": ")[2]) for p in plan.states[0].reasons] == [("airbag-gate-open", empty)]


def test_an_empty_box_holds_nothing_while_nothing_is_done_at_the_vehicle(near_airbags: Plan) -> None:
    others = {c.key: "" for c in near_airbags.checks if c.stage != "on-the-bench"}
    files = sheet(near_airbags, change=others, answers="{gate-airbag: {looked-up: '', page: ''}}")
    assert not planned(job=PROOFS + SRS, files=files)[0].held


@pytest.mark.parametrize("text", ["airbag lamp still lit", "airbag", "no, airbag", "none but the oil", "yes", "?"])
def test_a_lamp_still_lit_holds(proved: Plan, text: str) -> None:
    plan = again(sheet(proved, answers=f"{{end: {{lamps: '{text}'}}}}"))
    assert plan.state == "held" and [p.code for p in plan.states[0].reasons] == ["lamp-still-lit"]


@pytest.mark.parametrize("text", ["none", "None.", "no", "-", "0", "no lamps lit", "all out", "nothing", ""])
def test_no_lamp_lit_is_written_many_ways(text: str) -> None:
    assert not lamp_lit(text)


def test_a_lamp_that_went_out_is_told_by_a_later_file(proved: Plan) -> None:
    lit = sheet(proved, answers="{end: {lamps: airbag}}")
    nothing = {c.key: "" for c in proved.checks}

    def later(text: str, **keys: str) -> Plan:
        return again(
            lit
            | sheet(proved, name="readings/1-A.2.yaml", change=nothing, answers=f"{{end: {{lamps: {text}}}}}", **keys)
        )

    assert later("none").state == "verified"
    assert later("none", on="").state == "held"
    assert later("none", digest="0123456789abcdef").state == "held"
    assert later("oil").state == "held"


@pytest.mark.parametrize(("read", "held"), [("900 mA", True), ("0.9 A", True), ("18 mA", False), ("50", False)])
def test_a_current_with_the_key_out_is_held_against_the_shops_limit(read: str, held: bool) -> None:
    """50 mA for the whole vehicle: the shop's setting, common practice, no source."""
    files = {"vehicles/test-car.yaml": VEHICLE.replace(", standby_ma: 20", "")}
    plan = planned(job=PROOFS, files=files)[0]
    assert not any(c.key == "standby-current" for c in plan.checks)
    back = sheet(plan, answers=f"{{standby: {{read: {read}}}}}")
    after = planned(job=PROOFS, files=files | back)[0]
    assert after.state == ("held" if held else "verified")
    assert ("standby-read-high" in told(after)) is held


@pytest.mark.parametrize(("read", "doubted"), [("0,2", True), ("0", True), ("0.2 mA", False), ("18", False)])
def test_a_current_that_may_be_amperes_is_told(read: str, doubted: bool) -> None:
    """A clamp meter shows amperes, and the vehicle's own draw is not known; common practice, no source."""
    files = {"vehicles/test-car.yaml": VEHICLE.replace(", standby_ma: 20", "")}
    plan = planned(job=PROOFS, files=files)[0]
    after = planned(job=PROOFS, files=files | sheet(plan, answers=f"{{standby: {{read: '{read}'}}}}"))[0]
    assert ("reading-unclear" in told(after)) is doubted


@pytest.mark.parametrize(
    ("known", "ticked", "differs"),
    [("no", "yes", True), ("yes", "no", True), ("no", "no", False), ("no", "yes and no", True), (None, "yes", False)],
)
def test_an_answer_that_the_vehicles_file_contradicts_is_told(known: str | None, ticked: str, differs: bool) -> None:
    more = f"removed_radio: {{telematics: {known}}}\n" if known else ""
    files = {"vehicles/test-car.yaml": VEHICLE + more}
    plan = planned(job=PROOFS, files=files)[0]
    back = sheet(plan, answers=f"{{old-radio: {{telematics: '{ticked}'}}}}")
    after = planned(job=PROOFS, files=files | back)[0]
    assert after.state == "verified"
    assert told(after).get("answer-differs") is (Severity.WARNING if differs else None)


def test_no_airbag_near_the_work_is_told_where_the_job_names_one(near_airbags: Plan) -> None:
    files = sheet(near_airbags, answers="{gate-airbag: {none: 'yes'}}")
    assert "answer-differs" in told(planned(job=PROOFS + SRS, files=files)[0])


@pytest.mark.parametrize(("on", "issue"), [("2026-05-11", True), ("2026-05-12", False), ("2026-05-13", False)])
def test_readings_older_than_their_sheet_are_told(proved: Plan, on: str, issue: bool) -> None:
    plan = again(sheet(proved, on=on))
    assert ("reading-before-issue" in told(plan)) is issue
    other = again(sheet(proved, on=on, digest="0123456789abcdef", change={keyed(proved, "drop-g1"): ""}))
    assert "reading-before-issue" not in told(other)  # of an earlier sheet
