"""Earlier issues of a job, worked out from their frozen copies: what was measured on them stays known.

It proves nothing for what stands now; it tells where to look, what a job took, and what the record of a later issue says of
the earlier ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from ..check.library import Entry, Library
from ..check.rules import run_rules
from ..model.job import Job
from ..model.readings import Issued
from ..problems import Collector, Severity
from ..source.nodes import Document
from .filed import files_of
from .issued import read_inputs
from .planner import plan_job
from .types import Plan


def library_of_issue(
    document: Document, inputs: Mapping[str, Any], library: Library, found: Collector
) -> Library | None:
    """A library whose one job, its vehicle and its leads are those of a frozen copy."""
    read = read_inputs(inputs)
    if read is None:
        found.error(
            "bad-issued",
            "the frozen copy cannot be read as a job any more",
            document.place("inputs"),
            hint="compare with the job file instead",
        )
        return None
    job, vehicle, leads = read
    return replace(
        library,
        jobs={job.job: Entry(value=job, document=document, base=("inputs", "job"))},
        vehicles={
            **library.vehicles,
            vehicle.vehicle: Entry(value=vehicle, document=document, base=("inputs", "vehicle")),
        },
        leads={
            **library.leads,
            **{x.lead: Entry(value=x, document=document, base=("inputs", "leads", x.lead)) for x in leads},
        },
    )


def plan_of_issue(library: Library, issue: Entry[Issued], *, with_readings: bool) -> Plan | None:
    """An issue as it was, from its frozen copy; None where it can no longer be worked out. Its readings are judged along with
    it where they are wanted."""
    number = issue.value.job
    own = library_of_issue(issue.document, issue.value.inputs, library, Collector())
    if own is None or number not in own.jobs:
        return None
    its = [e for e in library.readings if e.value.job == number and e.value.revision == issue.value.revision]
    own = replace(own, readings=tuple(its) if with_readings else (), issued=())
    problems = run_rules(own)
    file = issue.document.file
    if any(p.severity is Severity.ERROR and (p.job == number or p.location.file == file) for p in problems):
        return None
    return plan_job(own, own.jobs[number], problems)


def earlier_plans(library: Library, job: Job) -> tuple[Plan, ...]:
    """The issues of a job before the one that stands, oldest first, each with the readings that came back from it."""
    issues = [e for e in library.issued if e.value.job == job.job and e.value.revision != job.revision]
    issues.sort(key=lambda e: (e.value.on.isoformat() if e.value.on else "", e.document.file))
    plans = (plan_of_issue(library, issue, with_readings=True) for issue in issues)
    return tuple(plan for plan in plans if plan is not None)


def plans_to_learn_from(plans: Iterable[Plan], library: Library) -> tuple[Plan, ...]:
    """Each job as it stands, or, where nothing of it is verified yet, as the newest issue of which something was.

    A frozen copy does not know the customer: the job does, so that no name that a fitter wrote down gets into the notes.
    """
    out = []
    for plan in plans:
        if not _verified(plan) and (known := [p for p in earlier_plans(library, plan.job) if _verified(p)]):
            people = {name: getattr(plan.job, name) for name in ("customer", "agreed", "extras")}
            plan = replace(known[-1], job=known[-1].job.model_copy(update=people))
        out.append(plan)
    return tuple(out)


def _verified(plan: Plan) -> bool:
    return any(s.state == "verified" for s in plan.states)


def told_of_earlier(library: Library, job: Job) -> tuple[str, ...]:
    """What was read on each earlier issue of a job, a sentence a vehicle; nothing where nothing came back."""
    lines = []
    for plan in earlier_plans(library, job):
        for state in plan.states:
            plate = state.registration.plate
            days = [e.value.on for e in files_of(plan.job, plate, library.readings) if e.value.on is not None]
            count = {word: sum(r.result == word for r in state.readings) for word in ("pass", "fail")}
            if not any(count.values()):
                continue
            on = f", the last on {max(days).isoformat()}" if days else ""
            failed = f" and {count['fail']} failed" if count["fail"] else ""
            stood = f" It stood at {state.state}." if state.state != "held" else ""
            lines.append(
                f"Revision {plan.job.revision}, {plate}: {count['pass']} readings passed{failed}{on}.{stood}"
                f" They were taken on that revision and prove nothing for {job.revision}."
            )
    return tuple(lines)
