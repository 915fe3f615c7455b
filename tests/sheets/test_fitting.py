"""The fitting sheet: gates before step 1, steps that can be followed, every check with its place, nothing by default.

The rules tested are named at each test by their subject: as found, battery order, airbags, high voltage, hazards of the
ways of joining, features promised (public human-factors and safety guidance; common practice where no source is named).
"""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter

from loomleaf.collect.pdf import read_sheet
from loomleaf.collect.readings_file import collected_from
from loomleaf.model.job import AirbagWait
from loomleaf.plan.readings import judge_reading
from loomleaf.plan.types import Plan
from loomleaf.sheets import sheet_html
from loomleaf.sheets.fitting import FITTING_STAGES, MOST_IN_A_BLOCK, FittingView, fitting_view, laid_circuits
from loomleaf.sheets.views import field_name, frame

from .conftest import CAMERA_JOB, FLEET_JOB, FULL_JOB, HELD_JOB, JOBS, PLAIN_JOB, World, sheet


def view_of(world: World, plan: Plan) -> FittingView:
    head, _ = frame(plan, world.shop, world.reference, kind="fitting", title="Fitting sheet", paper="A4", fillable=True)
    assert head is not None
    return fitting_view(plan, world.shop, world.reference, head)


def html_of(world: World, plan: Plan, shop: Any = None) -> str:
    html, problems = sheet_html("fitting", plan, shop or world.shop, world.reference)
    assert html is not None, problems
    return html


def with_job(plan: Plan, **changes: Any) -> Plan:
    return replace(plan, job=plan.job.model_copy(update=changes))


def steps_of(view: FittingView) -> list[Any]:
    return [step for v in view.vehicles for block in v.blocks for step in (*block.steps, *block.after)]


def names_in(html: str) -> list[str]:
    return re.findall(r'<input [^>]*?name="([^"]+)"', html)


# --- steps, checks, names ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_each_step_is_one_action_in_at_most_twenty_words(world: World, job: str) -> None:
    for step in steps_of(view_of(world, world.plans[job])):
        bare = re.sub(r"\b[A-Z]\d+\b,?", "", step.text)
        assert len(bare.split()) <= 20, step.text
        assert step.text[0].isupper() and step.text.endswith(".")
        assert not re.search(r"\b(as needed|properly|correctly|if necessary|OK)\b", step.text)


@pytest.mark.parametrize("job", JOBS)
def test_no_block_holds_more_than_nine_items_between_pauses(world: World, job: str) -> None:
    """Fewer than ten items at a pause (Gawande, seen in secondary text)."""
    for vehicle in view_of(world, world.plans[job]).vehicles:
        for block in vehicle.blocks:
            assert len(block.steps) <= MOST_IN_A_BLOCK
            assert len(block.after) <= MOST_IN_A_BLOCK
            for table in block.tables:
                assert 1 <= sum(len(group.rows) for group in table.groups) <= MOST_IN_A_BLOCK


@pytest.mark.parametrize("job", JOBS)
def test_every_check_of_its_stages_stands_once_a_vehicle_under_its_own_name(world: World, job: str) -> None:
    plan = world.plans[job]
    html = html_of(world, plan)
    names = names_in(html)
    assert len(names) == len(set(names))
    plates = [r.plate for r in plan.job.registrations]
    for check in plan.checks:
        for plate in plates:
            own = (plate,) if len(plates) > 1 else ()
            wanted = ["pass", "fail", "initials", *([] if check.yes_no else ["actual"])]
            for part in wanted:
                assert (field_name(check.key, *own, part) in names) is (check.stage in FITTING_STAGES), check.key


@pytest.mark.parametrize("job", JOBS)
def test_every_check_says_condition_expected_limits_and_what_to_do(world: World, job: str) -> None:
    plan = world.plans[job]
    by_number = {c.number: c for c in plan.checks}
    for vehicle in view_of(world, plan).vehicles:
        for block in vehicle.blocks:
            for table in block.tables:
                for group in table.groups:
                    for row in group.rows:
                        check = by_number[row.number]
                        assert group.title.lower().startswith(check.condition.lower())
                        assert check.meter == "none" or check.meter in group.title
                        assert check.expected.lower().removeprefix(f"{check.title.lower()}: ") == row.expected.lower()
                        failure = row.on_failure or group.title.partition(" If not: ")[2] or table.failure
                        assert check.on_failure and failure.lower().rstrip(".") == check.on_failure.lower().rstrip(".")
                        if check.high is not None and not check.open:
                            shown = f"{row.expected} {row.limits}"
                            assert re.search(rf"\b{check.high:g}", shown) or f"{check.high:.1f}" in shown, shown


def test_a_filled_sheet_is_read_back_and_judged(world: World) -> None:
    """One reading inside its window, one outside, one tick: what the sheet says comes out of it."""
    plan = world.plans[PLAIN_JOB]
    made = sheet("fitting", PLAIN_JOB)
    good, bad = [c for c in plan.checks if c.stage == "before-joining" and c.unit == "V"][:2]
    seen = next(c for c in plan.checks if c.stage == "hand-over")
    writer = PdfWriter(clone_from=PdfReader(BytesIO(made.pdf)))
    writer.update_page_form_field_values(
        None,  # every page
        {
            field_name(good.key, "actual"): "12,4",
            field_name(bad.key, "actual"): "3 V",
            field_name(good.key, "initials"): "RP",
            "found__2": "Fuse 5 feeds the clock.",
            "fitted-by__1": "RP",
            "fitted-by__3": "2026-05-12",
            "serial__wheatear-d1": "D1-1",
        },
        auto_regenerate=False,
    )
    out = BytesIO()
    writer.write(out)
    filled, problems = read_sheet("x.pdf", out.getvalue())
    assert filled is not None, problems
    assert filled.kind == "fitting"
    (one,) = collected_from(plan, filled)
    by_key = {b.check: b for b in one.readings.readings}
    assert judge_reading(good, by_key[good.key]).result == "pass"
    assert judge_reading(bad, by_key[bad.key]).result == "fail"
    assert seen.key not in by_key
    assert by_key[good.key].initials == "RP"
    assert one.readings.found == ("Fuse 5 feeds the clock.",)
    assert one.readings.by == "RP" and one.readings.on is not None
    assert [(p.part, p.serial) for p in one.readings.parts] == [("wheatear-d1", "D1-1")]


# --- before step 1 -----------------------------------------------------------------------------------------------


def test_the_gates_stand_before_step_1(world: World) -> None:
    html = html_of(world, world.plans[FULL_JOB])
    first_step = html.index('class="act-number">1<')
    for word in ("gate-voltage__none", "gate-voltage__48-v", "gate-voltage__high", "gate-airbag__wait"):
        assert html.index(word) < first_step


@pytest.mark.parametrize("said", ["none", "48 V", "high voltage"])
def test_the_high_voltage_gate_is_answered_by_hand_and_names_who_is_trained(world: World, said: str) -> None:
    plan = with_job(world.plans[PLAIN_JOB], high_voltage=said, trained="Wren Ashdown" if said != "none" else "")
    gate = view_of(world, plan).vehicles[0].gates[0]
    assert [t.label for t in gate.ticks] == ["none", "48 V", "high voltage"]
    assert f"The job says: {said}." in gate.text
    assert "no trained person here: stop" in gate.text
    assert "Orange cables are not touched" in gate.text
    assert gate.blanks[0].known == ("Wren Ashdown" if said != "none" else "")
    assert [h.word for h in gate.hazards] == {"none": [], "48 V": ["WARNING"], "high voltage": ["DANGER"]}[said]


@pytest.mark.parametrize(
    ("areas", "boxed"),
    [
        (("dash-centre",), True),
        (("seat", "boot"), True),
        (("boot", "engine-bay"), False),
        ((), True),  # nobody has said where: taken for the dash
        (("roof",), True),
    ],
)
def test_the_airbag_box_hangs_on_the_work_areas(world: World, areas: tuple[str, ...], boxed: bool) -> None:
    plan = with_job(world.plans[PLAIN_JOB], work_areas=areas)
    gate = view_of(world, plan).vehicles[0].gates[1]
    assert bool(gate.hazards) is boxed
    assert ("Wait" in [b.label for b in gate.blanks]) is boxed
    assert any("airbag" in t.label for t in gate.ticks)
    texts = [s.text for s in steps_of(view_of(world, plan))]
    assert ("Wait as at the airbag gate." in texts) is boxed


def test_no_waiting_time_by_default_and_the_makers_own_with_document_and_page(world: World) -> None:
    plan = with_job(world.plans[PLAIN_JOB], airbag_wait=AirbagWait())
    blanks = view_of(world, plan).vehicles[0].gates[1].blanks
    assert [b.known for b in blanks] == ["", "", ""]
    assert not re.search(r"\d+\s*(s|seconds?|min|minutes?)\b", re.sub(r"<input[^>]*>", "", html_of(world, plan)))
    unsourced = with_job(plan, airbag_wait=AirbagWait(value="7 minutes"))
    assert "7 minutes" not in html_of(world, unsourced)
    stated = with_job(plan, airbag_wait=AirbagWait(value="7 minutes", source="Book K", page="9"))
    assert [b.known for b in view_of(world, stated).vehicles[0].gates[1].blanks] == ["7 minutes", "Book K", "9"]


@pytest.mark.parametrize("job", JOBS)
def test_as_found_asks_for_all_of_it_and_never_for_a_code(world: World, job: str) -> None:
    plan = world.plans[job]
    for vehicle in view_of(world, plan).vehicles:
        labels = " ".join(a.label for a in vehicle.found).lower()
        for word in ("battery", "lamps", "fault codes", "dead", "marks", "codes ready"):
            assert word in labels
        codes = next(a for a in vehicle.found if "codes ready" in a.label)
        assert [b.kind for b in codes.blanks] == ["tick", "tick"]
        assert codes.known == "Never write the code itself."
        works = [w.title for line in vehicle.works for w in line]
        assert sorted(works) == sorted(f.title for f in plan.features)
        assert {a.label for a in vehicle.carries} >= {"bus gateway", "telematics", "customer's data"}


# --- the battery, timed steps, hazards ---------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_negative_lead_off_first_on_last_with_times(world: World, job: str) -> None:
    """Earth lead off first and on last (HSE INDG139, seen)."""
    vehicle = view_of(world, world.plans[job]).vehicles[0]
    steps = [s for b in vehicle.blocks for s in (*b.steps, *b.after)]
    texts = [s.text for s in steps]
    off, covered = (
        texts.index("Take the negative lead off first."),
        texts.index("Cover the negative lead so that it cannot spring back."),
    )
    again, last = texts.index("Take the negative lead off again."), texts.index("Put the negative lead back last.")
    procedure = texts.index("Write down the vehicle maker's battery procedure.")
    assert procedure < off < covered < again < last
    for at in (off, again, last):
        assert [b.kind for b in steps[at].blanks] == ["time"]
    assert {b.label for b in steps[procedure].blanks} == {"Document", "Page"}
    assert texts.index("Wait until the vehicle sleeps.") < off


@pytest.mark.parametrize("job", JOBS)
def test_timed_steps_have_a_note_and_blanks_for_start_and_earliest(world: World, job: str) -> None:
    timed = [s for s in steps_of(view_of(world, world.plans[job])) if s.text.startswith("Wait")]
    assert timed
    for step in timed:
        assert step.note
        assert [b.label for b in step.blanks] == ["Started", "Not before"]


@pytest.mark.parametrize("job", JOBS)
def test_hazards_stand_before_their_steps_worst_first_without_boxes(world: World, job: str) -> None:
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    for vehicle in view_of(world, world.plans[job]).vehicles:
        for block in vehicle.blocks:
            ranks = [order.index(h.word) for h in block.hazards]
            assert ranks == sorted(ranks)
            assert not block.hazards or block.steps
    boxes = re.findall(r'<div class="standing.*?</div>', html_of(world, world.plans[job]), re.DOTALL)
    assert boxes
    assert not any("<input" in box for box in boxes)


def test_eye_protection_always_and_the_hazards_of_joints_made_in_the_vehicle(world: World) -> None:
    """Eye protection: OSHA 29 CFR 1910.133(a)(1), seen. The other boxes follow the way of joining."""
    for job in JOBS:
        first = view_of(world, world.plans[job]).vehicles[0].blocks[0]
        assert "Eyes" in [h.title for h in first.hazards]
        assert first.steps[0].text == "Put on eye protection and gloves."
    plan = world.plans[FULL_JOB]
    laid = laid_circuits(plan)
    assert laid
    block = next(b for b in view_of(world, plan).vehicles[0].blocks if b.title.startswith("Lay the battery feed"))
    ids = {c.id for c in laid}

    def titles(solder: bool, heat: bool) -> list[str]:
        joints = tuple(
            replace(j, method=j.method.model_copy(update={"solder": solder, "heat_gun": heat, "steps": ()}))
            if j.circuit in ids
            else j
            for j in plan.joints
        )
        found = view_of(world, replace(plan, joints=joints)).vehicles[0].blocks
        return [h.title for b in found if b.title == block.title for h in b.hazards]

    assert "Hot air" in titles(False, True) and "Solder fume" not in titles(False, True)
    assert {"Solder fume", "Hot iron", "Lead in solder"} <= set(titles(True, False))
    assert "Hot air" not in titles(True, False)
    bolt = next(b for b in view_of(world, plan).vehicles[0].blocks if b.title.startswith("Bolt down"))
    assert any("bare metal" in s.text for s in bolt.steps) and "Take the bench sheet's check" in bolt.steps[-1].text
    assert not any(b.title.startswith("Lay") for b in view_of(world, world.plans[PLAIN_JOB]).vehicles[0].blocks)


def test_a_cordless_tool_brings_the_lithium_box(world: World) -> None:
    plan = world.plans[PLAIN_JOB]
    drill = world.shop.model_copy(update={"tools": (*world.shop.tools, "Cordless drill")})
    assert "Lithium batteries of tools" in html_of(world, plan, drill)
    assert "Lithium batteries of tools" not in html_of(world, plan)


# --- what hangs on the job ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_every_feature_that_stays_and_every_safety_one_is_a_last_check(world: World, job: str) -> None:
    """49 USC 30122 for the safety features; one to one with what the customer was promised."""
    plan = world.plans[job]
    by_number = {c.number: c for c in plan.checks}
    for vehicle in view_of(world, plan).vehicles:
        rows = [r for t in vehicle.blocks[-1].tables for g in t.groups for r in g.rows]
        shown = {by_number[r.number].feature for r in rows}
        wanted = {f.feature_id for f in plan.features if f.outcome != "loses" or f.safety}
        assert wanted <= shown


def test_wheel_buttons_in_learning_order_with_retests(world: World) -> None:
    plan = world.plans[FULL_JOB]
    (table,) = plan.engineering["wheel_buttons"]
    (block,) = [b for b in view_of(world, plan).vehicles[0].blocks if b.buttons]
    shown = block.buttons[0]
    assert [b.name.lower().replace(" ", "-") for b in shown.buttons] == [row["button"] for row in table["buttons"]]
    assert [b.order for b in shown.buttons] == list(range(1, len(shown.buttons) + 1))
    for button, row in zip(shown.buttons, table["buttons"], strict=True):
        assert [b.field.rsplit("__")[-1] for b in button.retests] == ["lights", "left", "right"]
        assert (button.long_press is not None) is row["long_press"]
    assert "Never at the wheel" in " ".join(shown.notes)
    assert not any(b.buttons for b in view_of(world, world.plans[PLAIN_JOB]).vehicles[0].blocks)


@pytest.mark.parametrize(("job", "way"), [(FULL_JOB, "A.6"), (CAMERA_JOB, "A.20")])
def test_an_airbag_way_is_named_wherever_its_neighbours_are_probed(world: World, job: str, way: str) -> None:
    """Beside the ways that a probe goes to stands one that no probe may touch: in the head of each table of readings."""
    assert any(t.name.endswith(f"/{way}") for c in world.plans[job].circuits if c.group == "safety" for t in c.tails)
    made = sheet("fitting", job, "Letter")
    pages = [text for text in made.pages if "Prove each way, block" in text]
    assert len(pages) > 1
    never = re.compile(rf"Never touch way (\S+/)?{re.escape(way)}: airbag circuit \(X1\)\. Prove each way, block")
    assert all(len(never.findall(text)) == text.count("Prove each way, block") for text in pages)
    assert not any("Never touch way" in text for text in sheet("fitting", PLAIN_JOB).pages)


def test_a_camera_is_fed_when_its_volts_are_read_and_nobody_stands_behind_a_running_engine(world: World) -> None:
    plan = world.plans[CAMERA_JOB]
    (camera,) = [c.id for c in plan.circuits if c.outcome == "mated" and c.function_id == "camera"]
    steps = [step.text for step in steps_of(view_of(world, plan))]
    at = {word: next(i for i, text in enumerate(steps) if text.startswith(word)) for word in (
        "Plug in the ready ends", f"Leave {camera} open", "Switch the key on, engine off", "Read the camera's supply",
        f"When both volts agree, plug in {camera}", "Hold an object", "Start the engine", "Stop the engine", "Read the current",
    )}  # fmt: skip
    assert list(at.values()) == sorted(at.values())
    assert camera not in steps[at["Plug in the ready ends"]]
    first = next(n for n, t in enumerate(sheet("fitting", CAMERA_JOB).pages) if "Camera volts." in t)
    assert "Hold an object" in sheet("fitting", CAMERA_JOB).pages[first]  # the hazard's page holds all its steps


@pytest.mark.parametrize("job", [FULL_JOB, "2052"])
def test_the_caution_of_loud_tones_stands_over_every_table_that_wants_one(world: World, job: str) -> None:
    seen = 0
    for block in view_of(world, world.plans[job]).vehicles[0].blocks:
        for index, table in enumerate(block.tables):
            if any("test tone" in group.title for group in table.groups):
                seen += 1
                over = table.hazards if index else block.hazards
                assert "Loud test tones" in [c.title for c in over]
    assert seen


def test_wheel_buttons_are_taught_before_they_are_tried(world: World) -> None:
    titles = [b.title for b in view_of(world, world.plans[FULL_JOB]).vehicles[0].blocks]
    assert titles.index("Wheel buttons") < titles.index("Read under load, look and listen")


def test_each_page_of_a_vehicle_of_a_fleet_names_it(world: World) -> None:
    """Pages come apart; each must say whose it is (DOE-STD-1029 from memory: every page identifies its subject)."""
    made = sheet("fitting", FLEET_JOB)
    plates = [r.plate for r in made.plan.job.registrations]
    fleet = f"{plates[0]} to {plates[-1]}"
    own = {plate: 0 for plate in plates}
    for page, text in zip(made.reader.pages, made.pages, strict=True):
        names = {str(a.get_object().get("/T", "")) for a in page.get("/Annots", [])}
        here = {plate for plate in plates if any(field_name(plate) in name.split("__") for name in names)}
        assert len(here) <= 1
        for plate in here:
            own[plate] += 1
            assert fleet not in text and [p for p in plates if p in text] == [plate]
        assert here or fleet in text
    assert min(own.values()) >= 4


def test_a_held_sheet_says_how_far_it_may_be_followed(world: World) -> None:
    """Some holds are answered by proving a way, so that much of the sheet is followed, and no more."""
    plan = world.plans[HELD_JOB]
    (vehicle,) = view_of(world, plan).vehicles
    prove = next(b for b in vehicle.blocks if b.title.startswith("Prove each way"))
    assert f"only steps 1 to {prove.steps[-1].number} with check" in vehicle.held
    assert prove.after[0].stop and prove.after[0].text == "Stop here while the job is held: join nothing, plug nothing in."
    free = view_of(world, world.plans[PLAIN_JOB]).vehicles[0]
    assert free.held == "" and not any("held" in step.text for b in free.blocks for step in b.after)


def test_camera_steps_only_where_there_is_a_camera(world: World) -> None:
    def titles(job: str) -> list[str]:
        return [b.title for b in view_of(world, world.plans[job]).vehicles[0].blocks]

    assert "Camera" in titles(CAMERA_JOB)
    assert "Camera" not in titles(PLAIN_JOB)


def test_standby_says_what_it_adds_up_and_what_to_read(world: World) -> None:
    plan = world.plans[FULL_JOB]
    block = next(b for b in view_of(world, plan).vehicles[0].blocks if b.title == "Before the trim goes back")
    standby = plan.engineering["standby"]
    assert standby["total_ma"].text in block.facts[0]
    assert "Current with the key out" in [r.title for t in block.tables for g in t.groups for r in g.rows]
    bare = dict(plan.engineering) | {"standby": {}}
    checks = tuple(c for c in plan.checks if c.key != "standby-current")
    without = view_of(world, replace(plan, engineering=bare, checks=checks))
    block = next(b for b in without.vehicles[0].blocks if b.title == "Before the trim goes back")
    assert block.steps[-1].blanks, "nothing worked out: the reading is still written down"


def test_the_hold_point_before_the_trim_and_the_complete_line_last(world: World) -> None:
    plan = world.plans[PLAIN_JOB]
    html = html_of(world, plan)
    assert "Before the trim goes back: work stops here until this is signed." in html
    assert html.index('name="hold__before-the-trim-goes-back__1"') < html.index("Complete: every box ticked")
    assert html.index("Stop until the bench sheet&#39;s hold point") < html.index("Put the negative lead back last")
    after = html[html.index("Complete: every box ticked") :]
    assert 'name="fitted-by__1"' in after and 'name="checked-by__1"' in after
    assert "__pass" not in after and "fit-step" not in after


def test_faults_come_from_the_job_and_stand_last(world: World) -> None:
    plan = world.plans[FULL_JOB]
    html = html_of(world, plan)
    assert plan.faults
    tail = html[html.index("If something does not work") :]
    for fault in (one for one in plan.faults if one.on_paper):
        assert fault.symptom in tail
    assert "<input" not in tail


def test_a_fleet_has_every_vehicle_by_itself(world: World) -> None:
    plan = world.plans[FLEET_JOB]
    view = view_of(world, plan)
    assert [v.title.partition(",")[0] for v in view.vehicles] == [r.plate for r in plan.job.registrations]
    texts = [[s.text for b in v.blocks for s in (*b.steps, *b.after)] for v in view.vehicles]
    assert all(t == texts[0] for t in texts)
    names = names_in(html_of(world, plan))
    plate = field_name(plan.job.registrations[2].plate)
    assert f"found__{plate}__1" in names and f"fitted-by__{plate}__1" in names
    assert f"hold__before-the-trim-goes-back__{plate}__1" in names


def test_what_does_not_belong_on_it(world: World) -> None:
    for job in JOBS:
        plan = world.plans[job]
        html = html_of(world, plan)
        assert plan.job.customer.name not in html
        assert not plan.job.customer.contact or plan.job.customer.contact not in html
        assert world.shop.currency not in html


def test_pages_of_a_held_job_say_so(world: World) -> None:
    made = sheet("fitting", HELD_JOB, "Letter")
    assert made.plan.held
    assert all("HELD Nothing may be made or connected" in text for text in made.pages)
    assert all("on the bench sheet" in text for text in made.pages)
    for number, text in enumerate(made.pages, 1):
        assert f"Page {number} of {len(made.pages)}" in text
