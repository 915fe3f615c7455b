"""The as-fitted record: what was joined, how it was proved, how to put it back; and the two standards it claims at once.

ISO 19005-3 (PDF/A-3) and ISO 14289-1 (PDF/UA-1) are held to by structure here; a validator was run on the demo by hand.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from functools import cache
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from loomleaf.model.readings import PartSerial, Readings
from loomleaf.pipeline import load_shop, readings_of
from loomleaf.plan.types import Plan
from loomleaf.sheets import render_sheet, sheet_html
from loomleaf.sheets.archive import add_ua_identification
from loomleaf.sheets.record import RecordView, factory_wires, put_back, record_view
from loomleaf.sheets.views import frame
from tests.conftest import ROOT

from .conftest import CAMERA_JOB, FLEET_JOB, FULL_JOB, JOBS, PLAIN_JOB, World, planned

DONE_JOB = "2031"
HELD = "2049"
EVERY = (*JOBS, DONE_JOB) if DONE_JOB not in JOBS else JOBS


@cache
def came_back(job: str) -> tuple[Readings, ...]:
    return readings_of(load_shop(ROOT / "content"), planned().plans[job])


def view_of(world: World, plan: Plan, readings: tuple[Readings, ...] = (), paper: str = "A4") -> RecordView:
    head, _ = frame(
        plan, world.shop, world.reference, kind="record", title="As-fitted record", paper=paper, fillable=False
    )
    assert head is not None
    return record_view(plan, world.shop, world.reference, head, readings=readings)


@cache
def made(job: str, paper: str = "A4") -> bytes:
    world = planned()
    found, problems = render_sheet(
        "record", world.plans[job], world.shop, world.reference, paper=paper, readings=came_back(job)
    )
    assert found is not None, [p.line() for p in problems]
    assert problems == ()
    return found.pdf


def reader(job: str, paper: str = "A4") -> Any:
    return PdfReader(BytesIO(made(job, paper)))


# --- the two standards -------------------------------------------------------------------------------------------

RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
PDFA = "{http://www.aiim.org/pdfa/ns/id/}"
UA = "{http://www.aiim.org/pdfua/ns/id/}"
SCHEMA = "{http://www.aiim.org/pdfa/ns/schema#}"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_one_metadata_block_claims_both_and_describes_the_second(paper: str) -> None:
    """ISO 19005-3, 6.6.2.3.3: a property of another schema is described in the file; ISO 14289-1, clause 5: part is 1."""
    stream = reader(DONE_JOB, paper).trailer["/Root"]["/Metadata"].get_data()
    tree = ElementTree.fromstring(re.sub(rb"<\?xpacket[^>]*\?>", b"", stream))
    (rdf,) = tree.iter(f"{RDF}RDF")
    claims = {key: value for item in rdf for key, value in item.attrib.items()}
    assert claims[f"{PDFA}part"] == "3"
    assert claims[f"{PDFA}conformance"] == "A"
    assert [e.text for e in rdf.iter(f"{UA}part")] == ["1"]
    described = [e.text for e in rdf.iter(f"{SCHEMA}namespaceURI")]
    assert described == [UA.strip("{}")]


def test_a_document_without_one_metadata_block_is_refused() -> None:
    class Stream:
        number = 3
        stream = (b"<x/>",)

    class Pdf:
        catalog = {"Metadata": "3 0 R"}  # noqa: RUF012
        objects = [Stream()]  # noqa: RUF012

    with pytest.raises(ValueError, match="not one RDF block"):
        add_ua_identification(Pdf())


def test_what_pdf_a_forbids_is_not_there() -> None:
    """ISO 19005-3: no form appearances to be made later, no scripts, no encryption; a colour profile and a file identifier."""
    found = reader(DONE_JOB)
    root = found.trailer["/Root"]
    assert "/AcroForm" not in root and "/OpenAction" not in root
    assert not found.is_encrypted
    assert "/ID" in found.trailer
    (intent,) = root["/OutputIntents"]
    assert intent.get_object()["/S"] == "/GTS_PDFA1"
    assert "/DestOutputProfile" in intent.get_object()
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]) == planned().shop.language
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_the_data_shown_is_attached_with_its_relation_and_type() -> None:
    """ISO 19005-3, 6.8: AFRelationship, an AF entry, a MIME type, a date."""
    root = reader(DONE_JOB).trailer["/Root"]
    (spec,) = {str(s.get_object()["/F"]): s.get_object() for s in root["/AF"]}.values()
    assert spec["/AFRelationship"] == "/Data"
    stream = spec["/EF"]["/F"].get_object()
    assert stream["/Subtype"] == "/application/json"
    assert "/ModDate" in stream["/Params"]
    data = json.loads(stream.get_data())
    plan = planned().plans[DONE_JOB]
    assert (data["sheet"], data["job"], data["revision"], data["digest"]) == ("record", DONE_JOB, "A", plan.digest)
    text = json.dumps(data)
    assert plan.job.customer.name not in text
    assert "D1-004417" in text


def test_every_figure_says_what_it_shows() -> None:
    from .conftest import structure

    figures = [item for _, item in structure(reader(DONE_JOB)) if item["/S"] == "/Figure"]
    assert len(figures) > 20
    assert all(str(item.get("/Alt", "")).strip() for item in figures)


def test_the_same_bytes_again() -> None:
    world = planned()
    again, _ = render_sheet(
        "record", world.plans[DONE_JOB], world.shop, world.reference, paper="A4", readings=came_back(DONE_JOB)
    )
    assert again is not None and again.pdf == made(DONE_JOB)


# --- what it says ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", EVERY)
def test_every_tail_of_every_lead_stands_on_it(world: World, job: str) -> None:
    plan, view = world.plans[job], view_of(world, world.plans[job])
    shown = [f"{e.lead}/{e.way}" for g in view.groups for c in g.circuits for e in (*c.ends, *c.other)]
    for row in view.left:
        shown += [part.strip() for part in row.where.split(",") if "/" in part and " to " not in part]
    names = {f"{lead.lead}/{tail.at}" for lead in plan.leads for tail in lead.tails}
    assert names <= set(shown)


@pytest.mark.parametrize("job", EVERY)
def test_every_joint_names_its_method_and_place(world: World, job: str) -> None:
    plan = world.plans[job]
    lines = {c.id: " ".join(c.joint) for g in view_of(world, plan).groups for c in g.circuits}
    for joint in plan.joints:
        said = lines[joint.circuit]
        assert (joint.item_title or joint.method.title.partition(",")[0]) in said
        if joint.position_mm is not None:
            assert f"at {joint.position_mm:g} mm" in said


def test_an_adapter_cuts_no_factory_wire_and_a_joined_one_is_named(world: World) -> None:
    plan = world.plans[FULL_JOB]
    said = factory_wires(plan)
    assert len(said) == 2 and all(line.endswith("no factory wire cut.") for line in said)
    lead = next(one for one in plan.leads if one.side == "vehicle" and one.plugs)
    tapped = lead.tails[0].model_copy(update={"at": "green-tap"})
    changed = lead.model_copy(update={"tails": (tapped, *lead.tails[1:])})
    other = replace(plan, leads=tuple(changed if one is lead else one for one in plan.leads))
    assert any("joined to the vehicle's own wires at green-tap" in line for line in factory_wires(other))
    assert any("green-tap" in step for step in put_back(other))


@pytest.mark.parametrize("job", EVERY)
def test_putting_back_begins_and_ends_with_the_battery_and_names_every_part(world: World, job: str) -> None:
    plan = world.plans[job]
    steps = put_back(plan)
    assert steps[0].startswith("Take the negative lead off first")
    assert steps[-2:] == ("Put the negative lead back last.", "See the airbag lamp light, go out and stay out.")
    whole = " ".join(steps)
    for lead in plan.leads:
        if lead.side in ("module", "accessory"):
            assert lead.title in whole
        if lead.side == "vehicle" and lead.plugs:
            assert f"Pull {lead.lead} off" in whole
    laid = [c.id for c in plan.circuits if c.made and c.feed == "battery"]
    assert ("Take out the fuse at the battery" in whole) is bool(laid)
    assert all(len(step.split()) <= 20 for step in steps)


@pytest.mark.parametrize("job", EVERY)
def test_nothing_is_taken_out_before_the_battery_is_off_and_the_airbags_have_been_waited_for(world: World, job: str) -> None:
    """Common practice, no source: battery first, then the wait, then work; makers differ in the waiting time only."""
    steps = put_back(world.plans[job])
    assert "negative lead off" in steps[0] and steps[1].startswith("Wait for the airbags")
    assert not any("wait" in step.lower() for step in steps[2:])
    laid = [c.id for c in world.plans[job].circuits if c.made and c.feed == "battery"]
    assert ("Take out the fuse at the battery" in steps[2]) == bool(laid)


@pytest.mark.parametrize("job", [FULL_JOB, CAMERA_JOB])
def test_an_airbag_way_is_crossed_out_on_its_plugs_faces_and_on_every_part_of_the_loom(world: World, job: str) -> None:
    """Common practice, no source."""
    plan = world.plans[job]
    (airbag,) = (tail for c in plan.circuits for tail in c.tails if tail.function_id == "airbag")
    view = view_of(world, plan)
    faces = [face.picture for face in view.faces if airbag.lead.title in face.title]
    assert faces and all("Crossed out: never touched" in face for face in faces)
    assert all(f"Never touched: way {airbag.way}, " in face for face in faces)
    drawn = [loom for loom in view.looms if f">Plug {airbag.plug_name}<" in loom]
    said = [" ".join(re.findall(r">([^<>]+)</text>", loom)) for loom in drawn]
    assert said and all(f"never touched ({airbag.tail.at}, " in text for text in said)


def test_what_came_back_stands_on_it(world: World) -> None:
    plan = world.plans[DONE_JOB]
    text = " ".join(" ".join(page.extract_text().split()) for page in reader(DONE_JOB).pages)
    (back,) = came_back(DONE_JOB)
    for wanted in (*back.found, "D1-004417", back.by, back.checked_by, "14 April 2026"):
        assert wanted in text, wanted
    view = view_of(world, plan, came_back(DONE_JOB))
    (vehicle,) = view.vehicles
    rows = [r for s in vehicle.stages for r in s.rows]
    (state,) = plan.states
    judged = {str(v.number): v for v in state.readings}
    assert len(rows) == sum(v.result != "missing" for v in state.readings)
    for row in rows:
        assert row.verdict.startswith(
            {"pass": "passed", "fail": "FAILED", "unclear": "unclear"}[judged[row.number].result]
        )
        assert row.written == (judged[row.number].written or "seen")


def test_a_failed_reading_says_so_in_words(world: World) -> None:
    plan = world.plans[DONE_JOB]
    (state,) = plan.states
    bad = replace(state.readings[0], result="fail", why="0.4 V too high")
    lost = replace(state.readings[1], result="missing", written="")
    changed = replace(plan, states=(replace(state, readings=(bad, lost, *state.readings[2:])),))
    (vehicle,) = view_of(world, changed).vehicles
    row = vehicle.stages[0].rows[0]
    assert (row.verdict, row.failed) == ("FAILED: 0.4 V too high", True)
    assert vehicle.missing == f"Not read: 1 check, {lost.number}."


def test_the_newest_people_serials_and_firmware_count(world: World) -> None:
    plan = world.plans[PLAIN_JOB]
    first = Readings(
        job=PLAIN_JOB,
        revision="A",
        by="WA",
        on=date(2026, 5, 1),
        parts=(PartSerial(part="wheatear-d1", serial="X1", firmware="1"),),
    )
    later = Readings(
        job=PLAIN_JOB, revision="A", by="RP", on=date(2026, 5, 3), parts=(PartSerial(part="wheatear-d1", firmware="2"),)
    )
    view = view_of(world, plan, (first, later))
    assert dict(view.vehicles[0].people)["Fitted and read by"] == "RP"
    assert dict(view.vehicles[0].people)["On"] == "3 May 2026"
    part = next(p for p in view.parts if p.side == "radio")
    assert (part.serial, part.firmware) == ("X1", "2")


def test_blank_lines_where_nothing_came_back(world: World) -> None:
    plan = world.plans[FULL_JOB]
    html, _ = sheet_html("record", plan, world.shop, world.reference)
    assert html is not None
    assert "No sheet has come back yet." in html
    assert "Not finished:" in html
    assert "Splices, damage, marks:" in html
    assert "never a security code" in html
    assert "<input" not in html


def test_a_fleets_vehicles_are_told_apart(world: World) -> None:
    plan = world.plans[FLEET_JOB]
    view = view_of(world, plan, came_back(FLEET_JOB))
    assert [v.title.partition(",")[0] for v in view.vehicles] == [r.plate for r in plan.job.registrations]
    assert [bool(v.stages) for v in view.vehicles] == [bool(s.readings) for s in plan.states]
    assert [bool(dict(v.people)["Fitted and read by"]) for v in view.vehicles] == [
        bool(s.readings) for s in plan.states
    ]


def test_each_vehicle_of_a_fleet_has_a_line_for_its_own_radios_number(world: World) -> None:
    plan = world.plans[FLEET_JOB]
    view = view_of(world, plan, came_back(FLEET_JOB))
    radio = plan.radio
    assert radio is not None
    assert [p.serial for p in view.parts if p.side != "vehicle"] == ["with each vehicle"]
    assert all(v.parts == (radio.exact,) for v in view.vehicles)
    plate = plan.job.registrations[0].plate
    told = Readings(job=FLEET_JOB, revision="A", registration=plate, parts=(PartSerial(part=radio.lead, serial="D1-9"),))
    (first, *others) = view_of(world, plan, (told,)).vehicles
    assert first.parts == () and any("serial D1-9" in line for line in first.told)
    assert all(v.parts == (radio.exact,) for v in others)
    assert view_of(world, world.plans[DONE_JOB], came_back(DONE_JOB)).vehicles[0].parts == ()


def test_a_reading_names_its_circuit_once_its_way_with_the_plug_and_when_its_window_holds(world: World) -> None:
    view = view_of(world, world.plans[DONE_JOB], came_back(DONE_JOB))
    titles = [row.title for vehicle in view.vehicles for stage in vehicle.stages for row in stage.rows]
    assert "S2 Switched supply, A.7: asleep, 5 W lamp" in titles
    assert "S2 Switched supply, A.7: key on, 5 W lamp" in titles
    assert "S2 Switched supply, M.2: key on, 5 W lamp" in titles
    assert any(title.startswith("L1 is apart from ") for title in titles)
    assert not [title for title in titles if ", way " in title or re.match(r"(\S+) \1 ", title)]
    assert len(set(titles)) == len(titles)


def test_a_proof_is_told_once(world: World) -> None:
    """What the job's file holds, once; what came back on a sheet stands among the readings of that sheet."""
    for job in (DONE_JOB, FLEET_JOB):
        plan = world.plans[job]
        assert any(len(s.proofs) > len(plan.job.proofs) / len(plan.states) for s in plan.states)  # sheets brought some
        for vehicle, state in zip(view_of(world, plan, came_back(job)).vehicles, plan.states, strict=True):
            single = len(plan.states) == 1
            plate = state.registration.plate
            held = [p for p in plan.job.proofs if p.registration == plate or (single and not p.registration)]
            assert [row.written for row in vehicle.proofs] == [p.reading.text for p in held]
            assert all(re.match(r"[A-Z]{2}, ", row.initials) for row in vehicle.proofs)


def test_live_spares_and_refused_circuits_are_what_to_mind(world: World) -> None:
    plan = world.plans[FULL_JOB]
    said = " ".join(view_of(world, plan).mind)
    for spare in plan.spares:
        assert (spare.tail.name in said) is spare.live
    for circuit in plan.circuits:
        assert (f"Left alone: {circuit.id} " in said) is (circuit.outcome == "refused")


@pytest.mark.parametrize(("job", "paper"), [(FULL_JOB, "A4"), (HELD, "Letter"), (DONE_JOB, "Letter")])
def test_pictures_keep_to_the_page(job: str, paper: str) -> None:
    """Every picture that is drawn lies inside the margins of its page: 20 mm at the left, 12 mm at the right."""
    from loomleaf.sheets.pdf import layout
    from loomleaf.sheets.registry import styles_of

    from .conftest import boxes

    world = planned()
    html, _ = sheet_html("record", world.plans[job], world.shop, world.reference, paper=paper, readings=came_back(job))
    assert html is not None
    mm = 96 / 25.4
    seen = 0
    for page in layout(html, styles=styles_of("record", paper)).pages:
        bottom = page.height - 37 * mm
        for box in boxes(page, lambda b: str(b.element_tag).endswith("}svg")):
            seen += 1
            assert box.position_x >= 20 * mm - 0.5
            assert box.position_x + box.width <= page.width - 12 * mm + 0.5
            assert box.position_y + box.height <= bottom + 0.5
    assert seen > 10


def test_no_customer_no_price_no_minutes(world: World) -> None:
    for job in EVERY:
        plan = world.plans[job]
        html, _ = sheet_html("record", plan, world.shop, world.reference, readings=came_back(job))
        assert html is not None
        bare = re.sub(r"<[^>]+>", " ", html)
        assert plan.job.customer.name not in bare
        assert world.shop.currency not in bare
        assert not re.search(r"\b\d+\s*(min|minutes)\b", bare)


# --- whatever somebody wrote on a filled sheet -------------------------------------------------------------------


def test_answers_serials_and_hold_points_of_each_vehicle_stand_with_it() -> None:
    world = planned()
    plan = world.plans[FLEET_JOB]
    first, second = (r.plate for r in plan.job.registrations[:2])
    back = Readings(
        job=plan.job.job,
        revision=plan.job.revision,
        registration=second,
        digest=plan.digest,
        on=date(2026, 5, 21),
        parts=(PartSerial(part=plan.leads[-1].lead, serial="D1-22", condition="used"),),
        answers={"as-found": {"lamps": "engine", "am-fm-reception": "dead"}, "gate-voltage": {"none": "yes"}},
        signatures=({"row": "before-plugging-in", "by": "TO", "when": "21 May, 11:00"},),
        odometer_out="68860 km",
    )
    view = view_of(world, plan, (back,))
    told = {v.title.partition(",")[0]: v.told for v in view.vehicles}
    assert told[first] == ()
    assert told[second] == (
        "High voltage: none.",
        f"As the vehicle came in: warning lamps lit: engine; dead: {title_of(plan, 'am-fm-reception')}.",
        f"{plan.leads[-1].exact or plan.leads[-1].title}: serial D1-22, used.",
        "Before plugging in, released by TO, 21 May, 11:00.",
        "Odometer when it left: 68860 km.",
    )
    assert [p.serial for p in view.parts if p.serial] == ["with each vehicle"]


def title_of(plan: Plan, feature: str) -> str:
    return next(f.title for f in plan.features if f.feature_id == feature)


def test_no_note_in_any_script_keeps_a_record_from_being_made() -> None:
    """Two words of Greek: the space between them is drawn with the letters' own typeface. And letters nobody bundles."""
    world = planned()
    plan = world.plans[DONE_JOB]
    back = Readings(
        job=plan.job.job,
        revision=plan.job.revision,
        notes=("δοκιμή και ещё раз: " + "x" * 400, "مذياع and 収音機"),
        found=("𝟙 splice",),
    )
    found, problems = render_sheet("record", plan, world.shop, world.reference, readings=(back,))
    assert found is not None and problems == ()
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(found.pdf)).pages).split())
    assert "δοκιμή και ещё раз:" in text and "[…] and […]." in text and "[…] splice" in text
    assert "this paper's typeface lacks" in text
    assert "xxx" in text


def test_a_place_measured_from_the_lead_that_most_are_does_not_name_it_again(world: World) -> None:
    plan = world.plans["2052"]
    html, problems = sheet_html("record", plan, world.shop, world.reference)
    assert html is not None, problems
    named = [joint.position_from for joint in plan.joints if joint.position_mm is not None]
    most = max(named, key=named.count)
    others = [name for name in named if name != most]
    assert others
    assert f"measured from {most}, to the joint's middle, unless a row names another lead." in html
    assert [html.count(f"\u00a0mm from {name}") for name in sorted(set(others))] == [
        others.count(name) for name in sorted(set(others))
    ]
    assert f"mm from {most}" not in html
