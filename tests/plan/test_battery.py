"""What a battery's place brings into a job. An airbag's supply can be reached there: common practice, no source."""

from __future__ import annotations

from pathlib import Path

from loomleaf.model.job import Job, Registration
from loomleaf.model.vehicle import Vehicle
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.battery import airbag_areas, second_batteries
from loomleaf.plan.types import Plan
from loomleaf.sheets.fitting import BlockView, fitting_view, touched_airbag_areas
from loomleaf.sheets.views import frame
from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, work


def both(battery: str, *registrations: Registration) -> tuple[Job, Vehicle]:
    plan = work(
        lead("dash", "vehicle", *DASH),
        lead("radio", "radio", *RADIO, more=DRAWS),
        vehicle=CAR.replace("battery: {", f"battery: {{{battery}, "),
    )
    return plan.job.model_copy(update={"registrations": registrations or plan.job.registrations}), plan.vehicle


def test_a_battery_under_a_seat_is_at_the_airbag_gate_whatever_the_job_names() -> None:
    for battery in ("place: under the driver's seat", "place: behind the trim, area: seat"):
        job, vehicle = both(battery)
        assert "seat" in airbag_areas(job, vehicle)
    assert "seat" not in airbag_areas(*both("place: engine bay"))
    assert "seat" in airbag_areas(*both("place: boot", Registration(plate="AB1", second_battery="under the rear seat")))


def test_a_place_that_holds_no_airbag_brings_none() -> None:
    job, vehicle = both("place: boot, area: boot")
    assert "boot" not in airbag_areas(job, vehicle)


def test_a_second_battery_is_named_with_its_vehicle_unless_all_have_it() -> None:
    assert second_batteries(*both("place: boot")) == ()
    assert second_batteries(*both("second: load space")) == ("load space",)
    own = Registration(plate="AB2", second_battery="under the bed")
    assert second_batteries(*both("place: boot", Registration(plate="AB1"), own)) == ("AB2, under the bed",)
    assert second_batteries(*both("place: boot", own)) == ("under the bed",)


def test_the_demo_van_says_so_at_its_gate_and_in_its_steps(root: Path) -> None:
    plan = plan_jobs(load_shop(root / "content"))[0]["2047"]
    assert "seat" in touched_airbag_areas(plan) and "seat" not in plan.job.work_areas
    assert [where.partition(",")[0] for where in second_batteries(plan.job, plan.vehicle)] == ["SM21 PAF"]
    steps = [s.text for b in _isolate_blocks(plan, root) for s in b.steps]
    off = next(i for i, text in enumerate(steps) if text.startswith("Take the negative lead off first"))
    assert steps[off + 1] == "Take the second battery's negative lead off as well: SM21 PAF, load space behind the bulkhead."


def _isolate_blocks(plan: Plan, root: Path) -> tuple[BlockView, ...]:
    library = load_shop(root / "content").library
    assert library.shop is not None
    head, problems = frame(
        plan, library.shop.value, library.reference, kind="fitting", title="Fitting sheet", paper="A4", fillable=True
    )
    assert head is not None and problems == ()
    return fitting_view(plan, library.shop.value, library.reference, head).vehicles[0].blocks
