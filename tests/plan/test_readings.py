"""Readings as people write them, judged; files of one job in their order; from plug-in to verified and back to held."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.check.convert import values
from loomleaf.check.library import Entry
from loomleaf.model.readings import ReadingBack, Readings
from loomleaf.pipeline import load_shop
from loomleaf.plan.planner import plan_job
from loomleaf.plan.readings import judge_reading, minutes_taken
from loomleaf.plan.types import Check, Plan
from loomleaf.source.nodes import read_document
from tests.plan.shops import PROOFS, codes, planned


def check(**words: Any) -> Check:
    base: dict[str, Any] = {
        "number": 1,
        "key": "k",
        "stage": "after-plugging-in",
        "circuit": "S1",
        "title": "t",
        "probes": "p",
        "meter": "m",
        "condition": "c",
        "expected": "e",
    }
    return Check(**(base | words))


VOLTS = check(unit="V", low=11.5, high=15.0)
SMALL = check(unit="Ω", high=0.3)
APART = check(unit="Ω", low=1e6)
OPEN_WANTED = check(unit="Ω", open=True)
SEEN = check(yes_no=True)
DRAIN = check(unit="mA", high=50.0)
DROP = check(unit="V", high=0.1)
DEAD = check(unit="V", low=0.0, high=0.5)
ASLEEP = check(unit="mA", high=50.0, alone=15.0)  # the vehicle alone takes 15 mA
BUTTON = check(unit="Ω", low=1140.0, high=1260.0)
AC = check(unit="Vac", high=2.0)
RELAY = check(unit="V", open=True)


@pytest.mark.parametrize(
    ("wanted", "reading", "tick", "result"),
    [
        (VOLTS, "12.4 V", "", "pass"),
        (VOLTS, "11.5", "", "pass"),  # the limit itself is inside
        (VOLTS, "15.0", "pass", "pass"),
        (VOLTS, "11.49", "", "fail"),
        (VOLTS, "10.9 V", "pass", "fail"),  # the figure counts, not the tick
        (VOLTS, "12.4 V", "fail", "fail"),  # and somebody meant the fail
        (VOLTS, "", "pass", "missing"),  # a tick is no figure
        (VOLTS, "", "fail", "fail"),
        (VOLTS, "", "", "missing"),
        (VOLTS, "12.4 ohm", "", "unclear"),
        (VOLTS, "OL", "", "unclear"),
        (VOLTS, "fine", "", "unclear"),
        (VOLTS, "12.4 V", "pass fail", "unclear"),
        (SMALL, "0,1", "", "pass"),
        (SMALL, "0.4 ohm", "", "fail"),
        (SMALL, "OL", "", "fail"),
        (SMALL, "< 0.1 ohm", "", "pass"),
        (APART, "OL", "", "pass"),
        (APART, "> 20 MΩ", "", "pass"),
        (APART, "20", "", "fail"),  # ohms: a bridge
        (APART, "20 M", "", "pass"),
        (APART, "> 10 k", "", "unclear"),
        (OPEN_WANTED, "OL", "", "pass"),
        (OPEN_WANTED, "3.6 ohm", "", "fail"),
        (OPEN_WANTED, "> 20 M", "", "pass"),  # the meter's end of scale
        (OPEN_WANTED, "20 M", "", "pass"),  # a figure as far as isolation is asked for: common practice, no source
        (OPEN_WANTED, "20 Mohm", "", "pass"),
        (OPEN_WANTED, "< 20 M", "", "fail"),
        (OPEN_WANTED, "900 k", "", "fail"),
        (OPEN_WANTED, "> 20 k", "", "fail"),
        # A minus in volts: the probes were the other way round. A meter shows none in ohms, AC volts, or a current that is
        # drawn with the key out. Common practice, no source.
        (DROP, "0.05 V", "", "pass"),
        (DROP, "-0.05 V", "", "pass"),
        (DROP, "-0.5 V", "", "fail"),
        (DROP, "−0.5", "pass", "fail"),
        (DEAD, "-0.4 V", "", "pass"),
        (DEAD, "-0.6 V", "", "fail"),
        (VOLTS, "-12.4 V", "", "fail"),
        (SMALL, "-0.5", "", "unclear"),
        (SMALL, "-0.1 ohm", "pass", "unclear"),
        (APART, "-20 M", "", "unclear"),
        (DRAIN, "-18 mA", "", "unclear"),
        (AC, "-1.2", "", "unclear"),
        (DROP, "< -0.5 V", "", "unclear"),
        (RELAY, "OL", "", "pass"),
        (SEEN, "", "pass", "pass"),
        (SEEN, "yes", "", "pass"),
        (SEEN, "no", "", "fail"),
        (SEEN, "", "fail", "fail"),
        (SEEN, "yes", "fail", "unclear"),
        (SEEN, "", "", "missing"),
        (SEEN, "", "not ok", "fail"),
        (SEEN, "", "not seen", "fail"),
        (SEEN, "not good", "", "fail"),
        (SEEN, "", "does not work", "fail"),
        (SEEN, "", "doesn't work", "fail"),
        (SEEN, "", "FAIL!", "fail"),
        (SEEN, "", "failed: left side", "fail"),
        (SEEN, "", "nok", "fail"),
        (SEEN, "", "❌", "fail"),
        (SEEN, "OK.", "", "pass"),
        (SEEN, "", "lamp stays on", "unclear"),
        (SEEN, "", "not tested", "unclear"),
        (SEEN, "no rattle", "", "unclear"),
        (SEEN, "", "pass fail", "unclear"),
        (SEEN, "", "-", "unclear"),
        (VOLTS, "13.9 V", "not ok", "fail"),
        (VOLTS, "13.9 V", "FAIL!", "fail"),
        (VOLTS, "13.9 V", "lamp stays on", "unclear"),
        (DRAIN, "18 mA", "", "pass"),
        (DRAIN, "0.018 A", "", "pass"),
        (DRAIN, "0.2 A", "", "fail"),
        # A clamp meter shows amperes: 0,2 may be 200 mA. Far less than the vehicle alone draws is not believed: common
        # practice, no source.
        (ASLEEP, "0,2", "", "unclear"),
        (ASLEEP, "0,2", "pass", "unclear"),
        (ASLEEP, "0.2", "fail", "fail"),
        (ASLEEP, "0", "", "unclear"),
        (ASLEEP, "0.2 mA", "", "unclear"),
        (ASLEEP, "< 1 mA", "", "unclear"),
        (ASLEEP, "0.2 A", "", "fail"),
        (ASLEEP, "0.018 A", "", "pass"),
        (ASLEEP, "18", "", "pass"),
        (ASLEEP, "8 mA", "", "pass"),
        (BUTTON, "1.2 k", "", "pass"),
        (BUTTON, "1.2", "", "fail"),
        (DROP, "60 mV", "", "pass"),
        (DROP, "60", "", "fail"),
    ],
)
def test_a_reading_is_judged(wanted: Check, reading: str, tick: str, result: str) -> None:
    assert judge_reading(wanted, ReadingBack(check="k", reading=reading, result=tick)).result == result


@pytest.mark.parametrize(
    ("wanted", "reading", "why"),
    [
        (DROP, "-0.05 V", "the minus says that the probes were the other way round; its size counts"),
        (DROP, "-0.5 V", "0.4 V too high; the minus says that the probes were the other way round; its size counts"),
        (SMALL, "-0.5", "a meter shows no minus in Ω: look at the probes and the range, read again"),
        (VOLTS, "-12.4 V", "23.9 V too low: the probes were the other way round, or the two wires are changed over"),
        (VOLTS, "~12.5 V", "'~12.5 V' says about: write the figure that the meter shows, and nothing before it"),
        (VOLTS, "about 12", "'about 12' says about: write the figure that the meter shows, and nothing before it"),
        (VOLTS, "aboutness", "'aboutness' is not a reading"),
        (OPEN_WANTED, "20 Mohm", "1 MΩ or more counts as open"),
        (
            ASLEEP,
            "0,2",
            "'0,2' has no unit, and the vehicle alone draws about 15 mA: write the unit that the meter showed, mA or A",
        ),
        (
            ASLEEP,
            "0.2 mA",
            "'0.2 mA' is far less than the 15 mA that the vehicle alone draws: look at the range and the zero of the meter,"
            " read again",
        ),
        (BUTTON, "1.2", "1139 Ω too low; no unit is written: if the meter showed kΩ, write kΩ behind the figure"),
        (APART, "20", "999980 Ω too low; no unit is written: if the meter showed MΩ, write MΩ behind the figure"),
        (DROP, "60", "59.9 V too high; no unit is written: if the meter showed mV, write mV behind the figure"),
        (DROP, "12.4", "12.3 V too high"),  # a way that is live: nothing is made of it
    ],
)
def test_it_is_told_what_was_done_with_a_reading(wanted: Check, reading: str, why: str) -> None:
    assert judge_reading(wanted, ReadingBack(check="k", reading=reading)).why == why


@given(st.floats(0.2, 20))
def test_no_minus_makes_a_bad_drop_good(volts: float) -> None:
    result = judge_reading(DROP, ReadingBack(check="k", reading=f"-{volts:.3f} V")).result
    assert result == judge_reading(DROP, ReadingBack(check="k", reading=f"{volts:.3f} V")).result == "fail"


@given(st.floats(11.5, 15.0), st.floats(0.01, 20))
def test_inside_passes_and_outside_fails(inside: float, beyond: float) -> None:
    def result(value: float) -> str:
        return judge_reading(VOLTS, ReadingBack(check="k", reading=f"{value:.4f} V")).result

    assert result(min(max(round(inside, 3), 11.5), 15.0)) == "pass"
    assert result(15.0 + beyond) == result(11.5 - beyond) == "fail"


# --- files -------------------------------------------------------------------------------------------------------


def sheet(
    plan: Plan, *, name: str = "readings/1-A.yaml", change: dict[str, str] | None = None, **keys: str
) -> dict[str, str]:
    """A readings file in which everything passes and both hold points are signed, but for what is changed."""
    head: dict[str, str] = {
        "job": '"1"',
        "revision": "A",
        "digest": plan.digest,
        "on": "2026-05-12",
        "by": "RP",
        "signatures": "[{row: before-plugging-in, by: TO}, {row: before-the-trim-goes-back, by: TO}]",
    }
    lines = [f"{k}: {v}" for k, v in (head | keys).items() if v]
    lines.append("readings:")
    for c in plan.checks:
        reading = "OL" if c.unit == "Ω" and c.high is None else f"{_middle(c):g} {c.unit}" if c.unit else ""
        told = (change or {}).get(c.key)
        text = told if told is not None else reading
        result = "" if text else ", result: pass"
        if told == "":
            continue
        lines.append(f'  - {{check: {c.key}, reading: "{text}"{result}}}')
    return {name: "\n".join(lines) + "\n"}


def _middle(c: Check) -> float:
    low = c.low if c.low is not None else 0.0
    return (low + c.high) / 2 if c.high is not None else low + 1


def keyed(plan: Plan, beginning: str) -> str:
    return next(c.key for c in plan.checks if c.key.startswith(beginning))


def again(files: dict[str, str], **words: Any) -> Plan:
    return planned(job=PROOFS + words.pop("job", ""), files=files, **words)[0]


@pytest.fixture(scope="module")
def proved() -> Plan:
    plan = planned(job=PROOFS)[0]
    assert plan.state == "plug-in", [p.line() for p in plan.problems]
    return plan


def test_every_check_has_a_key_of_its_own(proved: Plan) -> None:
    keys = [c.key for c in proved.checks]
    assert len(keys) == len(set(keys))


def test_all_readings_passed_make_it_verified(proved: Plan) -> None:
    assert again(sheet(proved)).state == "verified"


def test_one_missing_after_plugging_in_keeps_it_at_plug_in_and_is_named(proved: Plan) -> None:
    plan = again(sheet(proved, change={keyed(proved, "loaded-radio-m-1"): ""}))
    assert plan.state == "plug-in"
    number = next(c.number for c in plan.checks if c.key == keyed(proved, "loaded-radio-m-1"))
    assert str(number) in plan.states[0].before_next[0]


def test_a_failed_reading_holds_and_says_where_to_look(proved: Plan) -> None:
    key = keyed(proved, "loaded-radio-m-1")
    plan = again(sheet(proved, change={key: "9.8 V"}))
    (reason,) = plan.states[0].reasons
    assert (plan.state, reason.code, reason.location.file) == ("held", "reading-failed", "readings/1-A.yaml")
    assert "9.8 V" in reason.message and "too low" in reason.message
    assert reason.hint.startswith("Switch off. Measure each segment of the feed")


def test_a_failed_reading_of_any_stage_holds(proved: Plan) -> None:
    assert again(sheet(proved, change={keyed(proved, "continuity"): "4 ohm"})).state == "held"


def test_a_later_reading_takes_the_place_of_an_earlier_one(proved: Plan) -> None:
    key = keyed(proved, "loaded-radio-m-1")
    bad = sheet(proved, change={key: "9.8 V"})
    good = {
        "readings/1-A.2.yaml": f'job: "1"\nrevision: A\ndigest: {proved.digest}\non: 2026-05-12\nby: RP\n'
        f'readings: [{{check: {key}, reading: "13.6 V"}}]\n'
    }
    assert again(bad | good).state == "verified"
    worse = {"readings/1-A.10.yaml": good["readings/1-A.2.yaml"].replace("13.6", "9.9")}
    assert again(bad | good | worse).state == "held"


def test_a_pass_on_other_content_clears_nothing_and_a_fail_still_holds(proved: Plan) -> None:
    stale = sheet(proved, digest="0123456789abcdef")
    assert again(stale).state == "plug-in"
    failed = sheet(proved, digest="0123456789abcdef", change={keyed(proved, "loaded-radio-m-1"): "9.8 V"})
    assert again(failed).state == "held"


def one_reading(proved: Plan, number: int, key: str, reading: str, digest: str, on: str = "2026-05-12") -> dict[str, str]:
    head = f'job: "1"\nrevision: A\ndigest: {digest}\non: {on}\nby: RP\n'
    return {f"readings/1-A.{number}.yaml": f'{head}readings: [{{check: {key}, reading: "{reading}"}}]\n'}


def verdict_of(plan: Plan, key: str) -> str:
    return next(r.result for r in plan.states[0].readings if r.check == key)


def test_a_failure_that_was_put_right_does_not_come_back_when_the_job_changes(proved: Plan) -> None:
    key, other = keyed(proved, "drop-g1"), "0123456789abcdef"
    bad, good = one_reading(proved, 2, key, "0,4", other), one_reading(proved, 3, key, "40 mV", other[:10])
    assert again(bad).held
    plan = again(bad | good)
    assert (plan.state, verdict_of(plan, key)) == ("plug-in", "missing")  # to be read again on what stands now
    assert again(bad | one_reading(proved, 3, key, "40 mV", "fedcba9876543210")).held  # a pass on something else
    assert again(bad | one_reading(proved, 3, key, "40 mV", other, on="")).held  # nobody knows whether it came after
    assert again(bad | good | one_reading(proved, 4, key, "0.5 V", other)).held
    assert again(bad | one_reading(proved, 3, key, "fine", other)).held


def test_what_cannot_be_made_out_takes_no_failure_away(proved: Plan) -> None:
    key = keyed(proved, "drop-g1")
    bad = one_reading(proved, 2, key, "0,4", proved.digest)
    assert again(bad | one_reading(proved, 3, key, "fine", proved.digest)).held
    assert not again(bad | one_reading(proved, 3, key, "40 mV", proved.digest)).held


def test_another_revision_counts_for_nothing(proved: Plan) -> None:
    assert again(sheet(proved, revision="B")).state == "plug-in"


def test_a_short_digest_is_refused(proved: Plan) -> None:
    assert "bad-digest" in codes(job=PROOFS, files=sheet(proved, digest=proved.digest[:6]))


def test_nobody_signed_is_not_verified(proved: Plan) -> None:
    assert again(sheet(proved, by="")).state == "plug-in"


def test_a_shop_of_two_signatures_wants_two_people(proved: Plan) -> None:
    two = "two_signatures: yes\n"
    assert again(sheet(proved), shop_more=two).state == "plug-in"
    assert again(sheet(proved, checked_by="rp"), shop_more=two).state == "plug-in"
    assert again(sheet(proved, checked_by="TO"), shop_more=two).state == "verified"


@pytest.mark.parametrize(
    ("keys", "missing"),
    [
        ({"by": "RP"}, "the signature of somebody else who checked"),
        ({"by": "RP", "checked_by": "rp "}, "the signature of a second person: RP stands as fitter and as checker"),
        ({"by": "", "checked_by": "TO"}, "the signature of who fitted"),
    ],
)
def test_the_signature_that_is_missing_is_named(proved: Plan, keys: dict[str, str], missing: str) -> None:
    plan = again(sheet(proved, **keys), shop_more="two_signatures: yes\n")
    assert plan.states[0].before_next == (f"The readings after plugging in passed. Still missing: {missing}.",)
    (problem,) = [p for p in plan.problems if p.code == "readings-unsigned"]
    assert (problem.severity.value, problem.location.file) == ("warning", "readings/1-A.yaml")
    assert problem.message.endswith(f"missing: {missing}")
    signed = again(sheet(proved, checked_by="TO"), shop_more="two_signatures: yes\n")
    assert "readings-unsigned" not in {p.code for p in signed.problems}


def test_an_unclear_reading_is_told_and_does_not_hold(proved: Plan) -> None:
    plan = again(sheet(proved, change={keyed(proved, "loaded-radio-m-1"): "fine"}))
    assert plan.state == "plug-in"
    assert [(p.code, p.severity.value) for p in plan.problems if p.code.startswith("reading")] == [
        ("reading-unclear", "warning")
    ]


def test_a_current_that_may_be_amperes_is_told(proved: Plan) -> None:
    """The test vehicle alone draws 20 mA."""
    plan = again(sheet(proved, change={"standby-current": "0,2"}))
    (problem,) = [p for p in plan.problems if p.code == "reading-unclear"]
    assert "the vehicle alone draws about 20 mA: write the unit" in problem.message
    assert next(r.result for r in plan.states[0].readings if r.check == "standby-current") == "unclear"


def test_a_fleet_is_read_van_by_van() -> None:
    fleet = PROOFS.replace("{tail", "{registration: AB1, tail") + PROOFS.replace(
        "{tail", "{registration: AB2, tail"
    ).removeprefix("proofs:\n")
    first = planned(job=fleet, plates="[AB1, AB2]")[0]
    assert [s.state for s in first.states] == ["plug-in", "plug-in"]
    files = sheet(first, name="readings/1-A-AB2.yaml", registration="ab2")
    plan = planned(job=fleet, plates="[AB1, AB2]", files=files)[0]
    assert {s.registration.plate: s.state for s in plan.states} == {"AB1": "plug-in", "AB2": "verified"}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ('job: "2"\nrevision: A\n', "unknown-job"),
        ('job: "1"\nrevision: A\nregistration: ZZ9\n', "not-in-this-job"),
        ('job: "1"\nrevision: A\nreadings: [{check: a}, {check: a}]\n', "twice"),
        ('job: "1"\nrevision: A\nminutes: {check: soon}\n', "bad-minutes"),
        ('job: "1"\nrevision: A\ndigest: not-one-at-all\n', "bad-digest"),
    ],
)
def test_a_readings_file_that_is_wrong_is_a_problem(text: str, code: str) -> None:
    assert code in codes(files={"readings/x.yaml": text})


@pytest.mark.parametrize(
    ("on", "more", "wrong"),
    [
        ("2062-05-12", "", True),  # a slip in the year: it would be the newest for good
        ("2027-05-13", "", False),
        ("2027-06-12", "", True),
        ("2027-06-12", "come_backs: [{on: 2027-06-10, symptom: no sound}]\n", False),
    ],
)
def test_a_reading_long_after_its_sheet_is_a_slip(on: str, more: str, wrong: bool) -> None:
    files = {"readings/1-A.yaml": f'job: "1"\nrevision: A\non: {on}\n'}
    assert ("dates-out-of-order" in codes(job=more, files=files)) is wrong


def test_readings_of_a_fleet_say_which_vehicle() -> None:
    assert "reading-without-vehicle" in codes(plates="[AB1, AB2]", files={"readings/x.yaml": 'job: "1"\nrevision: A\n'})


def test_minutes_come_from_the_sheets_and_else_from_the_job(proved: Plan) -> None:
    files = sheet(proved, minutes='{remove-radio: "25", tape: "1:05"}')
    plan, library = planned(job=PROOFS + "minutes_spent: {remove-radio: 40, hand-over: 12}\n", files=files)
    taken = minutes_taken(plan.job, library.readings)
    assert {name: t.minutes for name, t in taken.items()} == {
        "hand-over": Decimal(12),
        "remove-radio": Decimal(25),
        "tape": Decimal(65),
    }


def test_a_pass_without_a_day_clears_nothing_and_a_fail_without_one_outlasts_every_pass(proved: Plan) -> None:
    undated = again(sheet(proved, on=""))
    assert undated.state == "plug-in"
    assert {p.code: p.severity.value for p in undated.problems if p.code == "reading-undated"} == {
        "reading-undated": "warning"
    }
    key = keyed(proved, "loaded-radio-m-1")
    failed = sheet(proved, name="readings/1-A.yaml", on="", change={key: "9.8 V"})
    passed = sheet(proved, name="readings/1-A.2.yaml")
    assert again(passed).state == "verified"
    assert again(failed | passed).state == "held"  # nobody can tell which came first
    assert again(sheet(proved, change={key: "9.8 V"}, on="2026-05-11") | passed).state == "verified"


def test_the_same_file_with_its_day_takes_the_undated_ones_place(proved: Plan) -> None:
    """As the hint says: collect the sheet again with its day. Nothing is left to warn of, and a failure has its day too."""
    undated = sheet(proved, on="")
    dated = sheet(proved, name="readings/1-A.2.yaml")
    plan = again(undated | dated)
    assert plan.state == "verified" and "reading-undated" not in {p.code for p in plan.problems}
    bad = {keyed(proved, "drop-g1"): "0,4"}
    failed = sheet(proved, on="", change=bad) | sheet(proved, name="readings/1-A.2.yaml", change=bad)
    later = sheet(proved, name="readings/1-A.3.yaml", on="2026-05-13")
    assert again(failed).held and again(failed | later).state == "verified"
    another = sheet(proved, on="", change=bad) | dated
    assert again(another).held and "reading-undated" in {p.code for p in again(another).problems}


def test_a_blank_file_is_not_told_to_lack_its_day(proved: Plan) -> None:
    files = {"readings/1-A.yaml": f'job: "1"\nrevision: A\ndigest: {proved.digest}\non:\nreadings: [{{check: x}}]\n'}
    assert "reading-undated" not in {p.code for p in again(files).problems}


def test_a_name_under_the_bench_sheet_vouches_for_nothing_read_in_the_vehicle(proved: Plan) -> None:
    loaded = [c.key for c in proved.checks if c.stage == "after-plugging-in"]
    bench = sheet(proved, change=dict.fromkeys(loaded, ""))
    others = {c.key: "" for c in proved.checks if c.key not in loaded}
    fitting = sheet(proved, name="readings/1-A.2.yaml", change=others, by="")
    assert again(bench | fitting).state == "plug-in"
    assert again(bench | sheet(proved, name="readings/1-A.2.yaml", change=others)).state == "verified"


@pytest.mark.parametrize(
    ("ticked", "held"),
    [("{none: 'yes'}", False), ("{48-v: 'yes'}", True), ("{none: 'yes', high: 'yes'}", True), ("{trained: RP}", False)],
)
def test_a_vehicle_found_on_another_voltage_is_held(proved: Plan, ticked: str, held: bool) -> None:
    plan = again(sheet(proved, answers=f"{{gate-voltage: {ticked}}}"))
    assert plan.held is held
    assert ("voltage-found-otherwise" in {p.code for p in plan.problems}) is held


# --- readings taken before joining prove their tails -------------------------------------------------------------


def test_a_filled_sheet_proves_the_ways_it_was_filled_in_for() -> None:
    bare = planned()[0]
    assert bare.state == "build"
    assert planned(files=sheet(bare))[0].state == "verified"
    without = sheet(bare, change={keyed(bare, "prove-car-a-8"): ""})
    plan = planned(files=without)[0]
    assert (plan.state, plan.states[0].unproved) == ("build", ("car/A.8",))


def test_it_proves_nothing_on_other_content_or_for_another_van() -> None:
    bare = planned()[0]
    assert planned(files=sheet(bare, digest="0123456789abcdef"))[0].state == "build"
    fleet = planned(plates="[AB1, AB2]")[0]
    files = sheet(fleet, name="readings/1-A-AB2.yaml", registration="AB2")
    plan = planned(plates="[AB1, AB2]", files=files)[0]
    assert {s.registration.plate: s.state for s in plan.states} == {"AB1": "build", "AB2": "verified"}


def test_a_proof_read_on_a_sheet_stands_among_the_others_with_its_day_and_whoever_read_it() -> None:
    bare = planned()[0]
    proofs = planned(files=sheet(bare))[0].states[0].proofs
    assert {p.tail for p in proofs} == {"car/A.4", "car/A.7", "car/A.8"}
    assert all(p.verdict and p.on is not None and p.on.isoformat() == "2026-05-12" for p in proofs)
    assert {p.by for p in proofs} == {"RP"}


@pytest.mark.parametrize("told", ["9.8 V", "fine", "12.4 ohm"])
def test_a_reading_that_did_not_pass_proves_nothing(told: str) -> None:
    bare = planned()[0]
    plan = planned(files=sheet(bare, change={keyed(bare, "prove-car-a-4"): told}))[0]
    assert "car/A.4" in plan.states[0].unproved
    assert plan.state == ("held" if told == "9.8 V" else "build")


def test_the_meters_end_of_scale_proves_as_ol_does(root: Path) -> None:
    """A loudspeaker's minus against the body: "> 20 MΩ" is how some meters show what others show as OL."""
    loaded = load_shop(root / "content")
    library = loaded.library
    entry = library.jobs["2038"]
    plan = plan_job(library, entry)
    opens = [c.key for c in plan.checks if c.stage == "before-joining" and c.open]
    assert opens
    rows = "".join(f'  - {{check: {key}, reading: "> 20 MΩ"}}\n' for key in opens)
    text = f'job: "2038"\nrevision: {plan.job.revision}\ndigest: {plan.digest}\non: 2026-05-12\nreadings:\n{rows}'
    document, _ = read_document("readings/2038-x.yaml", text.encode())
    assert document.root is not None
    back = Entry(value=Readings.model_validate(values(document.root)), document=document)
    read = plan_job(replace(library, readings=(*library.readings, back)), entry)
    assert "proof-contradicts" not in {p.code for p in read.problems}
    assert {r.result for r in read.states[0].readings if r.check in opens} == {"pass"}


def test_a_way_known_by_its_colour_alone_is_settled_by_the_sheet() -> None:
    from tests.plan.shops import CAR

    guessed = {
        "leads/car.yaml": CAR.replace("known_from: leaflet", "known_from: colour").replace("leaflet: sheet 1\n", "")
    }
    held = planned(files=guessed)[0]
    assert held.state == "held" and {p.code for p in held.problems} == {"colour-only"}
    assert planned(files=guessed | sheet(held))[0].state == "verified"


def test_a_reading_under_a_name_that_is_no_check_is_told_with_the_name_that_was_meant(proved: Plan) -> None:
    """Typed from paper with a letter wrong, a reading that failed would be seen by nobody."""
    key = keyed(proved, "continuity-s1")
    files = sheet(proved, change={key: ""})
    name, text = next(iter(files.items()))
    files[name] = text + f'  - {{check: {key.replace("continuity", "continiuty")}, reading: "44 ohm"}}\n'
    (told,) = [p for p in again(files).problems if p.code == "reading-of-nothing"]
    assert told.severity == "warning" and told.hint == f"did you mean '{key}'?"
    assert told.location.line == files[name].count("\n")
    assert "reading-of-nothing" not in {p.code for p in again(sheet(proved)).problems}
