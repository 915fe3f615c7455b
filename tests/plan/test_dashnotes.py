"""Dash notes: what verified jobs found on a kind of vehicle, and never whose vehicle it was."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomleaf.begin import job_files
from loomleaf.model.job import Job
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.dashnotes import DashNotes, dash_notes, is_personal, note_lines, ways_swapped
from loomleaf.plan.types import Plan
from tests.plan.shops import PROOFS, planned


@pytest.fixture(scope="module")
def demo(root: Path) -> tuple[Loaded, dict[str, Plan]]:
    loaded = load_shop(root / "content")
    return loaded, plan_jobs(loaded)[0]


@pytest.fixture(scope="module")
def notes(demo: tuple[Loaded, dict[str, Plan]]) -> dict[str, DashNotes]:
    loaded, plans = demo
    estimates = {n: p.workshop.minutes for n, p in plans.items() if p.workshop}
    return dash_notes(plans.values(), loaded.library.readings, estimates)


def test_only_kinds_of_vehicle_with_a_verified_job_have_notes(notes: dict[str, DashNotes]) -> None:
    assert set(notes) == {"osmere-whimbrel-2006", "ansterby-sanderling-2021"}


def test_the_colours_that_lied_are_told_with_their_job(notes: dict[str, DashNotes]) -> None:
    lied = notes["osmere-whimbrel-2006"].lied
    assert {n.text for n in lied} == {
        "osmere-16/A.4 is red and carries constant supply",
        "osmere-16/A.5 is yellow and carries antenna turn-on",
        "osmere-16/A.7 is blue and carries switched supply",
    }
    assert {n.jobs for n in lied} == {("2031",)}


def test_leads_time_and_what_fitters_found_are_kept(notes: dict[str, DashNotes]) -> None:
    note = notes["osmere-whimbrel-2006"]
    assert [n.text for n in note.leads] == ["osmere-16", "wheatear-d1"]
    assert any("heater duct" in n.text for n in note.found)
    (time,) = note.times
    assert [time.job, time.minutes] == ["2031", 255]


def test_no_customer_no_plate_no_number_to_call(
    demo: tuple[Loaded, dict[str, Plan]], notes: dict[str, DashNotes]
) -> None:
    text = "\n".join(line for note in notes.values() for line in note_lines(note)).lower()
    for plan in demo[1].values():
        job = plan.job
        for word in (
            *job.customer.name.lower().split(),
            job.customer.contact,
            *(r.plate.lower() for r in job.registrations),
        ):
            if len(word) > 3 and word not in ("depot", "parcels,"):
                assert word not in text, word


JOB = Job.model_validate(
    {
        "job": "1",
        "issued": "2026-05-12",
        "customer": {"name": "Ines Vale", "contact": "555 0134"},
        "vehicle": "x",
        "registrations": ["SM16 HRN"],
        "high_voltage": "none",
        "request": "x",
        "parts": ["x"],
        "agreed": [{"who": "Bram Tolliver"}],
    }
)


@pytest.mark.parametrize(
    ("line", "personal"),
    [
        ("A.4 and A.7 are changed over", False),
        ("Fuse 5 also feeds the clock", False),
        ("Mrs Vale's dog ate the antenna", True),
        ("ask INES first", True),
        ("as on sm16hrn", True),
        ("call 555-0134", True),
        ("ring 01234 567 890", True),
        ("Bram says it rattles", True),
        ("write to x@y.invalid", True),
    ],
)
def test_a_line_that_tells_whose_it_was_is_left_out(line: str, personal: bool) -> None:
    assert is_personal(line, JOB) is personal


def test_a_way_that_carried_something_else_is_noted() -> None:
    plan, _ = planned(job=PROOFS.replace("reading: 12.1 V", "reading: 12.1 V, shows: supply-constant"))
    assert ways_swapped(plan) == ("car/A.7 carries supply-constant, not supply-switched as its leaflet says",)


def test_a_begun_job_starts_from_them_and_says_prove_again(
    demo: tuple[Loaded, dict[str, Plan]], notes: dict[str, DashNotes]
) -> None:
    loaded, plans = demo
    library = loaded.library
    files, problems = job_files(
        "osmere-whimbrel-2006",
        vehicles={n: e.value for n, e in library.vehicles.items()},
        leads={n: e.value for n, e in library.leads.items()},
        jobs=[e.value for e in library.jobs.values()],
        today=date(2026, 6, 1),
        proved_on=[n for n, p in plans.items() if p.state in ("plug-in", "verified")],
        notes=notes["osmere-whimbrel-2006"],
    )
    assert problems == ()
    (text,) = files.values()
    lines = [line for line in text.splitlines() if line.startswith("#")]
    assert any("osmere-16/A.4 is red and carries constant supply (proved on job 2031, prove again)" in x for x in lines)
    assert any("proved on job 2031 (12.4 V), prove again" in x for x in lines)
    assert "Tern" not in text and "SM56" not in text


def test_without_a_verified_job_there_are_none() -> None:
    plan, library = planned(job=PROOFS)
    assert dash_notes([plan], library.readings) == {}
