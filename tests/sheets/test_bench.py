"""The bench sheet's views: every conductor once, totals that reconcile, checks that say all they must, steps that can be
followed. Rules 10 to 24 of the rules for sheets."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from itertools import pairwise
from typing import Any

import pytest

from loomleaf.model.job import Crew
from loomleaf.plan.check_order import BENCH_STAGES
from loomleaf.plan.types import Check
from loomleaf.sheets import sheet_html
from loomleaf.sheets.bench import (
    FEW_STEPS,
    BenchView,
    bench_view,
    check_set,
    checker_name,
    limits_text,
    one_set,
    short_leads,
    short_ways,
    side_by_side,
    totals,
)
from loomleaf.sheets.views import field_name, frame

from .conftest import FLEET_JOB, FULL_JOB, HELD_JOB, JOBS, PLAIN_JOB, World


def view_of(world: World, job: str, *, show_working: bool = False) -> BenchView:
    plan = world.plans[job]
    head, problems = frame(
        plan, world.shop, world.reference, kind="bench", title="Bench sheet", paper="A4", fillable=True
    )
    assert head is not None and problems == ()
    return bench_view(plan, world.shop, world.reference, head, show_working=show_working)


def html_of(world: World, job: str) -> str:
    html, problems = sheet_html("bench", world.plans[job], world.shop, world.reference)
    assert html is not None, problems
    return html


def words(view: Any) -> list[str]:
    """Every string anywhere in a view."""
    if isinstance(view, str):
        return [view]
    if is_dataclass(view):
        return [w for f in fields(view) for w in words(getattr(view, f.name))]
    if isinstance(view, (tuple, list)):
        return [w for item in view for w in words(item)]
    return []


@pytest.mark.parametrize("job", JOBS)
def test_every_tail_of_every_lead_stands_on_the_sheet_exactly_once(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    shown = [
        cell.name
        for group in view.groups
        for circuit in group.circuits
        for pair in circuit.rows
        for cell in (pair.left, pair.right)
        if cell is not None
    ]
    shown += [spare.tail.name for spare in view.spares]
    shown += [line.partition(",")[0] for item in view.not_made for line in item.tails]
    assert sorted(shown) == sorted(f"{lead.lead}/{tail.at}" for lead in plan.leads for tail in lead.tails)


@pytest.mark.parametrize("job", JOBS)
def test_totals_reconcile_and_are_printed(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    counted = totals(plan)
    assert counted.reconciled
    assert counted.circuits == counted.made + counted.mated + counted.not_made
    assert counted.tails == sum(len(lead.tails) for lead in plan.leads)
    assert str(counted.tails) in view.totals[1]


@pytest.mark.parametrize("job", JOBS)
def test_no_cell_of_a_circuit_is_blank(world: World, job: str) -> None:
    """A way without its lead has a plug whose letter the line above the table explains."""
    view = view_of(world, job)
    letters = {fact.label: fact.value for fact in view.plugs}
    for group in view.groups:
        for circuit in group.circuits:
            assert circuit.id and circuit.function
            assert circuit.joints and all(joint.lines for joint in circuit.joints)
            left = sum(pair.left.rows for pair in circuit.rows if pair.left)
            right = sum(pair.right.rows for pair in circuit.rows if pair.right)
            assert left == right == len(circuit.rows)
            for pair in circuit.rows:
                for cell in (pair.left, pair.right):
                    if cell is not None:
                        assert cell.way and cell.colour and cell.size
                        assert cell.lead or f"{letters[cell.plug]}/{cell.plug}.{cell.way}" == cell.name


@pytest.mark.parametrize("job", JOBS)
def test_circuit_numbers_are_the_same_in_table_joints_and_checks(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    in_table = [circuit.id for group in view.groups for circuit in group.circuits]
    assert len(in_table) == len(set(in_table))
    assert set(in_table) == {c.id for c in plan.circuits if c.made}
    assert {j.circuit for j in plan.joints} <= set(in_table)
    assert {c.circuit for c in plan.checks if c.stage in BENCH_STAGES and c.circuit} <= set(in_table)


def test_supply_ground_and_control_come_first(world: World) -> None:
    titles = [group.title for group in view_of(world, FULL_JOB).groups]
    order = ["Supply", "Ground", "Control", "Loudspeakers", "Line level", "Video", "Data"]
    assert titles == [t for t in order if t in titles]
    assert titles[:3] == order[:3]


def test_live_spares_come_first(world: World) -> None:
    found = [spare.live for spare in view_of(world, FULL_JOB).spares]
    assert found == sorted(found, key=lambda word: word != "live")


@pytest.mark.parametrize("job", JOBS)
def test_every_check_says_all_it_must(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    by_number = {check.number: check for check in plan.checks}
    shown = 0
    for stage in view.stages:
        for table in stage.check_sets:
            labels = {fact.label for fact in table.shared}
            for group in table.groups:
                for check in group.checks:
                    shown += 1
                    own = by_number[check.number]
                    assert check.number and check.title and (check.probes or check.way)
                    assert re.search(r"\d|OL|lamp|seen|OL|plays|sound", check.expected), check.expected
                    assert check.expected.strip(". ").lower() not in {"ok", "good", "fine", "normal"}
                    assert check.on_failure
                    assert table.show_expected or "Expected" in labels
                    told = " ".join([*(f.value for f in table.shared), group.title, check.condition]).lower()
                    assert own.meter == "none" or own.meter.lower() in told
                    for part in own.condition.replace("-", " ").split(", "):
                        assert part.lower() in told.replace("-", " "), (part, told)
                    failure = own.on_failure.rstrip(".").lower()
                    assert table.show_failure or failure in told
    wanted = [c for c in plan.checks if c.stage in BENCH_STAGES]
    vehicles = len(plan.job.registrations)
    on_bench = sum(c.stage == "on-the-bench" for c in wanted)
    assert shown == on_bench + vehicles * (len(wanted) - on_bench)


def test_each_lead_of_a_fleet_has_its_own_boxes_for_every_check_on_the_bench(world: World) -> None:
    plan, view = world.plans[FLEET_JOB], view_of(world, FLEET_JOB)
    tables = [table for stage in view.stages for table in stage.check_sets if table.leads]
    plates = [r.plate for r in plan.job.registrations]
    assert tables
    for table in tables:
        assert [(lead.number, lead.plate) for lead in table.leads] == list(enumerate(plates, start=1))
        for row in table.checks:
            key = next(c.key for c in plan.checks if c.number == row.number)
            assert [(b.plate, b.actual) for b in row.boxes] == [(p, field_name(key, p, "actual")) for p in plates]
            fields = {n for b in row.boxes for n in (b.actual, b.passed, b.failed, b.initials)}
            assert len(fields) == 4 * len(plates)
    shown = sorted(row.number for table in tables for row in table.checks)
    assert shown == sorted(c.number for c in plan.checks if c.stage == "on-the-bench")
    names = re.findall(r'name="([^"]+)"', html_of(world, FLEET_JOB))
    for check in plan.checks:
        if check.stage == "on-the-bench":
            assert field_name(check.key, "actual") not in names
            assert all(names.count(field_name(check.key, p, "initials")) == 1 for p in plates)


def test_a_box_ticked_once_for_all_leads_of_a_fleet_says_so(world: World) -> None:
    view, text = view_of(world, FLEET_JOB), html_of(world, FLEET_JOB)
    assert view.done == "All 6 done" and text.count(">All 6 done<") == 3
    assert "what was measured on one never clears another" in view.made_times and view.made_times in text
    alone = html_of(world, FULL_JOB)
    assert ">Done<" in alone and "is made" not in view_of(world, FULL_JOB).made_times


@pytest.mark.parametrize(("vehicles", "tables"), [(2, [2]), (3, [3]), (6, [6]), (7, [3, 4]), (13, [4, 4, 5])])
def test_leads_stand_beside_one_another_in_as_few_tables_as_they_need(vehicles: int, tables: list[int]) -> None:
    plates = [f"P{n}" for n in range(vehicles)]
    found = side_by_side(plates)
    assert [len(columns) for columns in found] == tables
    assert [c.plate for columns in found for c in columns] == plates
    assert [c.number for columns in found for c in columns] == list(range(1, vehicles + 1))


@pytest.mark.parametrize("job", JOBS)
def test_the_first_hold_stands_after_the_checks_before_plugging_in(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    holds = [
        (stage.title, hold.text)
        for stage in view.stages
        for hold in (*(h for s in stage.check_sets for h in s.holds), *stage.holds)
    ]
    vehicles = len(plan.job.registrations)
    assert len(holds) == vehicles
    assert all("efore the radio is plugged in" in text and "work stops here" in text for _, text in holds)
    assert {title for title, _ in holds} == {"Before plugging in"}


@pytest.mark.parametrize("job", JOBS)
def test_the_hold_before_the_trim_stands_on_the_fitting_sheet_alone(world: World, job: str) -> None:
    fitting, problems = sheet_html("fitting", world.plans[job], world.shop, world.reference)
    assert fitting is not None, problems
    vehicles = len(world.plans[job].job.registrations)
    assert len(re.findall("before the trim goes back: work stops here", fitting, re.IGNORECASE)) == vehicles
    assert "trim goes back: work stops" not in html_of(world, job)


def test_each_vehicle_of_a_fleet_is_released_for_itself(world: World) -> None:
    text = html_of(world, FLEET_JOB)
    for registration in world.plans[FLEET_JOB].job.registrations:
        assert f"{registration.plate}: before the radio is plugged in: work stops here" in text


@pytest.mark.parametrize("job", JOBS)
def test_steps_hold_one_action_in_at_most_twenty_words(world: World, job: str) -> None:
    """Rule 11: 20 words (ASD-STE100, seen in secondary text); circuit numbers are names, not words."""
    for stage in view_of(world, job).stages:
        for step in stage.steps:
            bare = re.sub(r"\b[SGCLAVDERX]\d+\b,?", "", step.text)
            assert len(bare.split()) <= 20, step.text
            assert not re.search(r"\b(as needed|as required|properly|correctly|OK|if necessary)\b", step.text)
            assert not re.search(r"\bcheck\b(?! \d|s)", step.text, re.IGNORECASE) or re.search(r"\d", step.text)
            assert step.text[0].isupper()
            assert not re.search(r"\b(and|then) (press|pull|cut|strip|crimp|solder|tie|cap|fold)\b", step.text)


@pytest.mark.parametrize("job", JOBS)
def test_hazards_are_worst_first_just_before_a_step_and_hold_no_box(world: World, job: str) -> None:
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    seen = 0
    for stage in view_of(world, job).stages:
        for step in stage.steps:
            ranks = [order.index(hazard.word) for hazard in step.hazards]
            seen += len(ranks)
            assert ranks == sorted(ranks)
            if step.stop:
                assert not step.hazards
    assert seen
    html = html_of(world, job)
    boxes = re.findall(r'<div class="standing.*?</div>', html, re.DOTALL)
    assert len(boxes) == seen + 3
    assert not any("<input" in box for box in boxes)


def test_injury_words_carry_the_triangle_and_notice_does_not(world: World) -> None:
    from loomleaf.sheets.html import environment
    from loomleaf.sheets.views import caution_view

    macros = environment().get_template("macros/hazards.html").module
    for caution in world.reference.cautions.values():
        box = str(macros.hazard(caution_view(caution)))  # type: ignore[attr-defined]
        assert ("⚠" in box) is (caution.word != "NOTICE")
        assert caution.word in box


@pytest.mark.parametrize("job", JOBS)
def test_the_bench_sheet_leaves_out_price_minutes_and_contact(world: World, job: str) -> None:
    plan, html = world.plans[job], html_of(world, job)
    if plan.job.customer.contact:
        assert plan.job.customer.contact not in html
    assert plan.job.customer.name not in html
    assert world.shop.currency not in html
    for lead in plan.leads:
        if lead.price:
            assert lead.price not in html
    asked = re.sub(r'<p class="minutes">.*?</p>', "", html)  # boxes for what it took; never what it should take
    assert not re.search(r"\bminutes?\b", asked)
    assert ("minutes__set-up" in html) is (len(plan.states) == 1)


def test_checks_two_a_row_keep_their_order_and_long_ones_stand_alone(world: World) -> None:
    wide = 0
    for job in JOBS:
        for stage in view_of(world, job).stages:
            for shown in (shown for shown in stage.check_sets if shown.paired):
                assert re.search(r", each circuit (is joined|carries current)(: |$)", shown.title), shown.title
            for group in (group for shown in stage.check_sets if shown.paired for group in shown.groups):
                assert tuple(check for row in group.pairs for check in row.checks) == group.checks
                for row in group.pairs:
                    wide += row.wide
                    assert len(row.checks) == 1 if row.wide else len(row.checks) in (1, 2)
    assert wide, "no check of the demo has more ways than two a row can show"


def test_a_joint_measured_from_another_lead_than_most_says_so(world: World) -> None:
    plan, html = world.plans["2052"], html_of(world, "2052")
    named = [joint.position_from for joint in plan.joints if joint.position_mm is not None]
    most = max(named, key=named.count)
    others = [name for name in named if name != most]
    assert others
    assert html.count(f"Every joint position is measured from {most} unless its row names another.") == 1
    assert [html.count(f"</span> from {name}") for name in set(others)] == [others.count(n) for n in set(others)]
    assert f"</span> from {most}" not in html


@pytest.mark.parametrize("job", JOBS)
def test_no_waiting_time_is_printed(world: World, job: str) -> None:
    assert not re.search(r"\bwait(ing)?\b[^.<]{0,30}\d+\s*(s|min|seconds|minutes)\b", html_of(world, job))


def test_tools_and_instruments_stand_before_step_one(world: World) -> None:
    html = html_of(world, PLAIN_JOB)
    assert html.index("On the bench before step 1") < html.index('<ol class="steps">')
    for entry in world.shop.instruments:
        assert entry["name"] in html
        assert entry["due"] in html


def test_the_complete_line_is_last_with_two_people(world: World) -> None:
    html = html_of(world, PLAIN_JOB)
    last = html.index("Complete: every box ticked")
    assert last > html.rindex('class="hold"')
    assert html.index("Made by") > last and html.index("Checked by another person") > last
    assert html.index("If alone: inspected again by") > last


def test_what_is_refused_or_unproved_stands_before_the_circuits(world: World) -> None:
    html = html_of(world, FULL_JOB)
    circuits = html.index(">Circuits<")
    assert html.index("Not made") < circuits
    assert html.index("Still to be proved by meter") < circuits
    held = html_of(world, HELD_JOB)
    assert held.index("Held because") < held.index(">Circuits<")


def test_workings_only_when_asked_for(world: World) -> None:
    assert view_of(world, FULL_JOB).working == ()
    working = view_of(world, FULL_JOB, show_working=True).working
    assert any("mm²" in item.value and "+" in item.working for item in working)
    assert "Workings" not in html_of(world, FULL_JOB)
    html, _ = sheet_html("bench", world.plans[FULL_JOB], world.shop, world.reference, show_working=True)
    assert html is not None and "Workings" in html


def check(**changes: Any) -> Check:
    values: dict[str, Any] = {
        "number": 1,
        "key": "k",
        "stage": "on-the-bench",
        "circuit": "S1",
        "title": "t",
        "probes": "a to b",
        "meter": "Ohms",
        "condition": "asleep",
        "expected": "x",
        "unit": "V",
        "on_failure": "Stop.",
    }
    return Check(**{**values, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"low": 11.8, "high": 13.2}, "11.8 to 13.2 V"),
        ({"high": 0.3, "unit": "Ω"}, "0.3 Ω or less"),
        ({"low": 1_000_000.0, "unit": "Ω"}, "1 MΩ or more"),
        ({"low": 10_000.0, "unit": "Ω", "open": True}, "10 kΩ or more, or OL"),
        ({"open": True, "unit": "Ω"}, "OL"),
        ({"low": -0.1, "high": 0.1}, "−0.1 to 0.1 V"),
        ({"low": 100.0, "high": 2_000.0, "unit": "Ω"}, "100 Ω to 2 kΩ"),
        ({"low": 1.0, "high": 3.0, "unit": ""}, "1 to 3"),
        ({"yes_no": True}, "seen or not"),
    ],
)
def test_limits_in_words(changes: dict[str, Any], said: str) -> None:
    assert limits_text(check(**changes)) == said


def test_what_all_checks_share_is_told_once_and_limits_are_not_lost() -> None:
    first = check(number=1, expected="12 V", low=11.0, high=13.0)
    same = check_set("Checks", "", [first, replace(first, number=2)])
    assert not same.show_expected and not same.show_condition
    assert ("Expected", "12 V (limits 11 to 13 V)") in [(f.label, f.value) for f in same.shared]
    other = check_set("Checks", "", [first, replace(first, number=2, high=14.0)])
    assert other.show_expected
    assert {c.limits for c in other.checks} == {"11 to 13 V", "11 to 14 V"}


def test_an_expected_value_that_states_its_limits_is_not_said_twice() -> None:
    view = check_set("Checks", "", [check(expected="11.8 to 13.2 V", low=11.8, high=13.2)])
    assert view.checks[0].limits == ""


@pytest.mark.parametrize(
    ("expected", "low", "high", "limits"),
    [
        ("314 to 366 Ω", 313.5, 366.5, ""),
        ("4465 to 4955 Ω", 4465.0, 4955.0, ""),
        ("314 to 366 Ω", 312.0, 366.5, "312 to 366.5 Ω"),
        ("314 to 366 V", 313.5, 366.5, "313.5 to 366.5 Ω"),
        ("about 340 Ω", 313.5, 366.5, "313.5 to 366.5 Ω"),
    ],
)
def test_limits_that_only_differ_behind_the_last_printed_figure_are_not_said_again(
    expected: str, low: float, high: float, limits: str
) -> None:
    view = check_set("Checks", "", [check(expected=expected, low=low, high=high, unit="Ω")])
    assert view.checks[0].limits == limits


def test_the_fitter_is_never_printed_as_the_other_person_who_checks() -> None:
    assert checker_name(Crew(fitter="Rowan Pell", checker="Rowan Pell")) == ""
    assert checker_name(Crew(fitter="Rowan Pell", checker="Tamsin Orrell")) == "Tamsin Orrell"


@pytest.mark.parametrize("job", JOBS)
def test_checks_done_in_the_vehicle_stand_elsewhere_and_the_sheet_says_where(world: World, job: str) -> None:
    html = html_of(world, job)
    elsewhere = [c for c in world.plans[job].checks if c.stage not in BENCH_STAGES]
    assert elsewhere
    assert not any(f'name="{c.key}__' in html for c in elsewhere)
    after = [c.number for c in elsewhere if c.stage != "before-joining"]
    assert f"Checks {after[0]} to {after[-1]} stand on the fitting sheet." in html


def test_checks_on_the_bench_run_on_kind_by_kind(world: World) -> None:
    checks = [c for c in world.plans[FULL_JOB].checks if c.stage == "on-the-bench"]
    meters = [c.meter for c in checks]
    changes = sum(a != b for a, b in pairwise(meters))
    assert changes == len(set(meters)) - 1
    assert meters[:2] == ["none", "Ohms, leads nulled"] and "Ohms, highest range" in meters


@pytest.mark.parametrize("job", JOBS)
def test_short_names_of_ways_are_clear_and_the_table_of_leads_tells_them(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, job)
    short = short_ways(plan)
    assert len(set(short.values())) == len(short)
    told = {lead.short: lead.id for lead in view.leads if lead.short}
    for name, said in short.items():
        lead, _, at = said.rpartition("/")
        assert name.endswith(f"/{at}")
        assert not lead or lead == name.rpartition("/")[0] or told[lead] == name.rpartition("/")[0]


def test_a_short_name_of_a_lead_is_its_shortest_end_that_no_other_lead_has(world: World) -> None:
    plan = world.plans[FULL_JOB]
    short = short_leads(plan)
    assert (short["fulmar-wheel-box"], short["dunnock-amp-4"]) == ("box", "amp-4")
    twin = plan.leads[0].model_copy(update={"lead": "other-box"})
    assert short_leads(replace(plan, leads=(*plan.leads, twin)))["fulmar-wheel-box"] == "wheel-box"


def test_rows_that_share_condition_setting_and_probes_stand_under_one_line() -> None:
    rows = [
        check(number=1, probes="a/A.1: this way and bare metal", tails=("a/A.1",), condition="key on"),
        check(number=2, probes="a/A.2: this way and bare metal", tails=("a/A.2",), condition="asleep"),
        check(number=3, probes="a/A.3: this way and bare metal", tails=("a/A.3",), condition="key on"),
        check(number=4, probes="a/g to a/h", condition="key out, button up held", on_failure="Measure again."),
        check(number=5, probes="a/g to a/h", condition="key out, button down held", on_failure="Measure again."),
    ]
    view = one_set("Checks", "", rows)
    assert [(group.title, [c.number for c in group.checks]) for group in view.groups] == [
        ("Key on. Ohms: this way and bare metal.", [1, 3]),
        ("Asleep. Ohms: this way and bare metal.", [2]),
        ("Key out. Ohms. If not: Measure again.", [4, 5]),
    ]
    assert [(c.way, c.probes, c.condition) for c in view.checks] == [
        ("a/A.1", "", ""),
        ("a/A.3", "", ""),
        ("a/A.2", "", ""),
        ("", "a/g to a/h.", "Button up held."),
        ("", "a/g to a/h.", "Button down held."),
    ]
    assert [(f.label, f.value) for f in view.shared] == [("If not", "Stop.")]


@pytest.mark.parametrize("job", JOBS)
def test_each_way_of_joining_has_its_own_hazards(world: World, job: str) -> None:
    """A hazard box stands on the page of every step that it covers (rule 9): the ways of joining may begin a page each."""
    plan, view = world.plans[job], view_of(world, job)
    made = next(stage for stage in view.stages if stage.title == "Make the joints")
    methods = {j.method_id for j in plan.joints}
    starts = [run for run in made.runs if run.stop]
    assert len(starts) == len(methods)
    assert all("Eyes" in [h.title for h in run.hazards] for run in starts)


@pytest.mark.parametrize("job", JOBS)
def test_what_is_switched_on_under_one_hazard_stays_under_it_below_the_next(world: World, job: str) -> None:
    """Fume rises from the iron as long as it is used: its box stands on the page of the iron's steps as well."""
    for stage in view_of(world, job).stages:
        for run, after in pairwise(stage.runs):
            assert not (run.hazards and len(run.steps) <= FEW_STEPS and after.hazards and not after.stop)
            names = [c.title for c in run.hazards]
            assert len(names) == len(set(names))
        solder = [run for run in stage.runs if any("iron" in step.text for step in run.steps)]
        for run in solder:
            assert {"Hot iron", "Solder fume"} <= {c.title for c in run.hazards}
