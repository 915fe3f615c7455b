"""The whole job, worked out: one readable function from typed content to a Plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..check.library import Entry, Library
from ..model.job import Job
from ..model.lead import Lead
from ..model.shop import Shop, Stock
from ..problems import Location, Problem, Severity
from .changed import changed
from .checks import checks_for
from .circuits import Pairing, pair
from .colours import with_colour_notes
from .context import Context, as_float
from .digest import digest_of
from .engineering import Engineering, engineering_for, nothing_worked_out, tables_of
from .faults import faults_for
from .features import feature_outcomes
from .guards import Whole, guarded
from .issued import earlier_kept, trust_holds
from .kept import REFERENCES, kept
from .loudspeakers import circuits_with_windows, with_windows
from .readings import read_back, with_readings
from .states import clearing_warnings, vehicle_states
from .steps import steps_for
from .tails import job_tails
from .types import Check, Fault, FeatureOutcome, JobTail, Plan, WorkStep
from .workshop import workshop_of, workshop_problems

ALIKE_KEPT = 4  # jobs that are alike come one after another where it pays


def plan_job(library: Library, entry: Entry[Job], found: Sequence[Problem] = ()) -> Plan:
    """Plan one job whose vehicle and parts are all there. ``found`` are the problems already known about the shop.

    Raises KeyError when the vehicle or a part is missing: the caller leaves such jobs out.
    """
    job = entry.value
    vehicle = library.vehicles[job.vehicle].value
    leads = tuple(library.leads[part].value for part in dict.fromkeys(job.parts))
    work = work_for(library, entry, leads)
    pairing, features, engineering = work.pairing, work.features, work.engineering
    circuits, joints, checks, faults, steps = engineering.circuits, engineering.joints, work.checks, work.faults, work.steps
    by_name = {t.name: t for t in work.tails}
    digest = digest_of(job, vehicle, leads)
    two = library.shop.value.two_signatures if library.shop else False
    back = read_back(
        job,
        checks,
        library.readings,
        digest,
        vehicle=vehicle,
        two_signatures=two,
        standby_limit_ma=as_float((engineering.plain.get("standby") or {}).get("limit_ma")),
        faults=faults,
        joints=joints,
    )
    holds = [p for p in found if p.severity is Severity.HOLD and p.job == job.job]
    whole = Whole(
        job=job,
        vehicle=vehicle,
        leads=leads,
        circuits=circuits,
        tails=work.tails,
        vehicle_place=library.vehicles[job.vehicle].place,
        lead_place=lambda name: library.leads[name].place(),
        tail_place=_tail_place(library, leads),
    )
    holds += [*guarded(whole), *engineering.holds, *back.holds, *trust_holds(entry, library.issued, digest, two=two)]
    states = vehicle_states(
        job.model_copy(update={"proofs": (*job.proofs, *back.proofs)}),
        circuits,
        features,
        by_name,
        holds,
        digest,
        job_place=entry.place,
        tail_place=_tail_place(library, leads),
        readings_passed=back.passed,
    )
    states = tuple(with_readings(state, back) for state in states)
    reasons = tuple(dict.fromkeys(p for state in states for p in state.reasons))
    plan = Plan(
        job=job,
        vehicle=vehicle,
        leads=leads,
        circuits=circuits,
        spares=pairing.spares,
        features=features,
        states=states,
        checks=checks,
        steps=steps,
        joints=joints,
        faults=faults,
        problems=(
            *reasons,
            *engineering.warnings,
            *back.warnings,
            *clearing_warnings(job, states, digest, entry.place, two=two),
            *earlier_kept(entry, library.issued),
        ),
        digest=digest,
        engineering=engineering.plain,
    )
    return _with_workshop(plan, library, entry)


WISHES = ("vehicle", "parts", "feed", "joining", "places", "route_mm", "keep", "give_up")
"""What a job file says that the work itself hangs on: all that is gathered in ``Work``. Two jobs that say the same there
(the same radio in the same kind of car) differ in papers, proofs and states only."""


@dataclass(frozen=True, kw_only=True)
class Work:
    """What is to be done, whosever vehicle it is done on."""

    pairing: Pairing
    features: tuple[FeatureOutcome, ...]
    engineering: Engineering
    checks: tuple[Check, ...]
    faults: tuple[Fault, ...]
    steps: tuple[WorkStep, ...]
    tails: tuple[JobTail, ...]


def alike(job: Job) -> str:
    """The same for jobs whose work is the same."""
    return repr([getattr(job, name) for name in WISHES])


@kept(REFERENCES)
def _latest(library: Library) -> dict[str, Work]:
    """The work of the last few jobs of a library, by ``alike``."""
    return {}


def work_for(library: Library, entry: Entry[Job], leads: tuple[Lead, ...]) -> Work:
    """The work of a job; taken over from one just like it that was planned a moment ago, with this job's number."""
    latest, key = _latest(library), alike(entry.value)
    if key not in latest:
        made = work_out(library, entry, leads)
        if any(p.location.file == entry.document.file for p in made.engineering.problems):
            return made  # what is told with a place in one job's file is of no use to another
        latest[key] = made
        if len(latest) > ALIKE_KEPT:
            del latest[next(iter(latest))]
    found = latest[key]
    number = entry.value.job
    if all(p.job == number for p in found.engineering.problems):
        return found
    problems = tuple(changed(p, job=number) for p in found.engineering.problems)
    return changed(found, engineering=changed(found.engineering, problems=problems))


def work_out(library: Library, entry: Entry[Job], leads: tuple[Lead, ...]) -> Work:
    """Circuits, features, numbers, checks, faults and steps of a job. Reads ``WISHES`` of it and nothing else."""
    job, vehicle, reference = entry.value, library.vehicles[entry.value.vehicle].value, library.reference
    tails = job_tails(leads, reference)
    pairing = with_colour_notes(pair(job, leads, reference, tails=tails), tails, reference)
    features = feature_outcomes(job, vehicle, leads, pairing.circuits, reference)
    engineering = _engineering(library, entry, leads, pairing)
    engineering = changed(
        engineering, circuits=circuits_with_windows(engineering.circuits, engineering.speaker_ohms)
    )
    circuits, joints = engineering.circuits, engineering.joints
    checks = checks_for(
        vehicle,
        circuits,
        pairing.spares,
        features,
        reference,
        expected_volts=engineering.expected_volts,
        standby=engineering.plain["standby"],
        wheel=engineering.plain["wheel_buttons"],
        levels=engineering.plain["loudspeakers"]["levels"],
        drop_limits=engineering.drop_limits,
    )
    faults = faults_for(circuits, joints, checks, reference)
    steps = steps_for(circuits, pairing.spares, joints, reference)
    return Work(
        pairing=pairing,
        features=features,
        engineering=engineering,
        checks=checks,
        faults=faults,
        steps=steps,
        tails=with_windows(tails, engineering.speaker_ohms),
    )


def _with_workshop(plan: Plan, library: Library, entry: Entry[Job]) -> Plan:
    """The plan with its minutes, lists and price, and the warnings that come of them."""
    shop = library.shop.value if library.shop else Shop(name="")
    stock = library.stock.value if library.stock else None
    work = workshop_of(plan, shop, stock or Stock())
    shop_place = library.shop.place if library.shop else entry.place
    told = workshop_problems(
        plan, work, shop, stock, entry.place, shop_place, lambda part: library.leads[part].place("price")
    )
    return changed(plan, workshop=work, problems=(*plan.problems, *told))


def _engineering(library: Library, entry: Entry[Job], leads: tuple[Lead, ...], pairing: Pairing) -> Engineering:
    """The numbers of a job; where a shop's tables are wrong, none, and the job is held."""
    tables, problems = tables_of(library.tables)
    if tables is None:
        why = "the engineering tables cannot be used: " + "; ".join(p.message for p in problems)
        held = Problem(
            code="bad-table",
            severity=Severity.HOLD,
            message=why,
            hint="put the shop's own rows in reference/ right",
            location=Location(file="reference"),
            job=entry.value.job,
        )
        return nothing_worked_out(pairing.circuits, why, (held,))
    vehicle = library.vehicles[entry.value.vehicle]
    return engineering_for(
        Context(
            job=entry.value,
            vehicle=vehicle.value,
            leads=leads,
            circuits=pairing.circuits,
            spares=pairing.spares,
            reference=library.reference,
            shop=library.shop.value if library.shop else Shop(name=""),
            stock=library.stock.value.stock if library.stock else None,
            tables=tables,
            job_place=entry.place,
            vehicle_place=vehicle.place,
            tail_place=_tail_place(library, leads),
            lead_place=lambda name: library.leads[name].place(),
        )
    )


def _tail_place(library: Library, leads: tuple[Lead, ...]) -> Callable[[JobTail], Location]:
    index = {(lead.lead, tail.at): i for lead in leads for i, tail in enumerate(lead.tails)}

    def place(tail: JobTail) -> Location:
        return library.leads[tail.lead.lead].place("tails", index[tail.lead.lead, tail.tail.at])

    return place
