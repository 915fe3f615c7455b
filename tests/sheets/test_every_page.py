"""What each page of each sheet carries: rules 1 and 2, the cautions, the band of a held job."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from loomleaf.sheets import render_sheet, sheet_html, sheet_kinds
from loomleaf.sheets.views import STANDING_CAUTIONS, plates_line, vehicle_line

from .conftest import FLEET_JOB, HELD_JOB, JOBS, Sheet, World, planned, sheet


def flat(text: str) -> str:
    return " ".join(text.split())


def test_page_x_of_y_counts_the_real_pages(sample: Sheet) -> None:
    pages = sample.pages
    for number, text in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in text


def test_job_kind_vehicle_revision_and_date_on_every_page(sample: Sheet) -> None:
    job = sample.plan.job
    for text in sample.pages:
        assert job.job in text
        assert sheet_kinds[sample.kind].title in text
        assert vehicle_line(sample.plan) in text
        assert plates_line(job.registrations) in text
        assert f"Revision {job.revision}" in text
        assert job.issued_text in text
        assert sample.plan.digest[:12] in text


def test_a_reissued_sheet_names_what_it_replaces() -> None:
    made = sheet("summary", "2041")
    assert made.plan.job.replaces == "A"
    assert all("Revision B, replaces A." in text for text in made.pages)


def test_uncontrolled_and_where_the_current_revision_is(sample: Sheet, world: World) -> None:
    for text in sample.pages:
        assert "Uncontrolled when printed" in text
        assert flat(world.shop.revisions) in text


def test_short_cautions_in_every_foot(sample: Sheet, world: World) -> None:
    for text in sample.pages:
        for name in STANDING_CAUTIONS:
            assert flat(world.reference.cautions[name].short) in text


def test_full_cautions_on_page_one_only_as_a_block(sample: Sheet, world: World) -> None:
    first = sample.pages[0]
    for name in STANDING_CAUTIONS:
        caution = world.reference.cautions[name]
        for part in (caution.word, caution.title, caution.hazard, caution.result, caution.limit):
            assert flat(part) in first
    assert all(flat(world.reference.cautions[STANDING_CAUTIONS[0]].hazard) not in p for p in sample.pages[1:])


@pytest.mark.parametrize("name", STANDING_CAUTIONS)
def test_without_a_standing_caution_there_is_no_sheet(world: World, name: str) -> None:
    cautions = {key: value for key, value in world.reference.cautions.items() if key != name}
    bare = world.reference.model_copy(update={"cautions": cautions})
    made, problems = render_sheet("summary", world.plans["2041"], world.shop, bare)
    assert made is None
    assert [p.code for p in problems] == ["no-standing-caution"]
    assert name in problems[0].message


@pytest.mark.parametrize("kind", ["bench", "summary"])
def test_held_band_on_every_page(kind: str) -> None:
    made = sheet(kind, HELD_JOB, "Letter")
    assert made.plan.held
    for text in made.pages:
        assert re.search(r"HELD (Nothing may be made or connected|This paper is not final)", text)


def test_held_reasons_are_counted_and_named_on_page_one() -> None:
    made = sheet("bench", HELD_JOB, "Letter")
    reasons = dict.fromkeys((r.code, r.message) for s in made.plan.states for r in s.reasons)
    assert f"{len(reasons)} reasons, on page 1" in made.pages[0]
    for _, message in reasons:
        assert flat(message) in flat(made.pages[0])


def test_no_band_where_nothing_is_held() -> None:
    made = sheet("bench", "2038")
    assert not made.plan.held
    assert not any("HELD" in text for text in made.pages)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("kind", ["bench", "summary"])
def test_demo_sheets_say_that_all_is_invented(world: World, kind: str, job: str) -> None:
    html, _ = sheet_html(kind, world.plans[job], world.shop, world.reference)
    assert html is not None
    assert "is invented." in html
    real = world.shop.model_copy(update={"invented": False})
    html, _ = sheet_html(kind, world.plans[job], real, world.reference)
    assert html is not None
    assert "Demonstration" not in html


def test_released_line_only_for_a_word_given_for_this_very_content(world: World) -> None:
    from loomleaf.model.job import Clearing

    plan = world.plans["2038"]
    word = {"to": "build", "by": "Rowan Pell", "on": plan.job.issued}
    good = plan.job.model_copy(update={"cleared": (Clearing(digest=plan.digest[:12], **word),)})
    stale = plan.job.model_copy(update={"cleared": (Clearing(digest="0" * 12, **word),)})
    html, _ = sheet_html("bench", replace(plan, job=good), world.shop, world.reference)
    assert html is not None and "RELEASED to make the lead: Rowan Pell, 12 May 2026." in html
    html, _ = sheet_html("bench", replace(plan, job=stale), world.shop, world.reference)
    assert html is not None and "RELEASED" not in html


def test_a_fleet_lists_each_plate_with_its_own_state() -> None:
    made = sheet("bench", FLEET_JOB)
    first = " ".join(made.pages[:2])
    for state in made.plan.states:
        assert state.registration.plate in first


def test_metadata_names_job_revision_digest_and_shop(sample: Sheet) -> None:
    meta = sample.reader.metadata
    assert meta is not None
    job = sample.plan.job
    assert meta.title == f"Job {job.job}: {sheet_kinds[sample.kind].title.lower()}"
    assert meta.author == planned().shop.name
    for word in (f"job {job.job}", f"revision {job.revision}", f"digest {sample.plan.digest}", "Loomleaf "):
        assert word in str(meta.keywords)
    assert meta.creation_date is not None
    assert meta.creation_date.date() == job.issued
