"""The whole job, worked out: one readable function from typed content to a Plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..check.library import Entry, Library
from ..model.job import Job
from ..model.lead import Lead
from ..problems import Location, Problem, Severity
from .checks import checks_for
from .circuits import pair
from .colours import with_colour_notes
from .digest import digest_of
from .features import feature_outcomes
from .joints import joints_for
from .states import vehicle_states
from .steps import steps_for
from .tails import job_tails
from .types import JobTail, Plan


def plan_job(library: Library, entry: Entry[Job], found: Sequence[Problem] = ()) -> Plan:
    """Plan one job whose vehicle and parts are all there. ``found`` are the problems already known about the shop.

    Raises KeyError when the vehicle or a part is missing: the caller leaves such jobs out.
    """
    job = entry.value
    vehicle = library.vehicles[job.vehicle].value
    leads = tuple(library.leads[part].value for part in dict.fromkeys(job.parts))
    reference = library.reference

    tails = job_tails(leads, reference)
    by_name = {t.name: t for t in tails}
    pairing = with_colour_notes(pair(job, leads, reference), tails, reference)
    features = feature_outcomes(job, vehicle, leads, pairing.circuits, reference)
    joints = joints_for(pairing.circuits, job, reference)
    checks = checks_for(vehicle, pairing.circuits, pairing.spares, features, reference)
    steps = steps_for(pairing.circuits, pairing.spares, joints, reference)
    digest = digest_of(job, vehicle, leads)
    holds = [p for p in found if p.severity is Severity.HOLD and p.job == job.job]
    states = vehicle_states(
        job,
        pairing.circuits,
        features,
        by_name,
        holds,
        digest,
        job_place=entry.place,
        tail_place=_tail_place(library, leads),
        readings_passed=lambda plate: False,
    )
    reasons = tuple(dict.fromkeys(p for state in states for p in state.reasons))
    return Plan(
        job=job,
        vehicle=vehicle,
        leads=leads,
        circuits=pairing.circuits,
        spares=pairing.spares,
        features=features,
        states=states,
        checks=checks,
        steps=steps,
        joints=joints,
        faults=(),
        problems=reasons,
        digest=digest,
    )


def _tail_place(library: Library, leads: tuple[Lead, ...]) -> Callable[[JobTail], Location]:
    index = {(lead.lead, tail.at): i for lead in leads for i, tail in enumerate(lead.tails)}

    def place(tail: JobTail) -> Location:
        return library.leads[tail.lead.lead].place("tails", index[tail.lead.lead, tail.tail.at])

    return place
