"""Trust: who cleared what, and a frozen copy of each cleared revision, so that a sheet in the van can be told from today's.

Nothing is written here: ``frozen`` gives a file's name and text, and the pipeline writes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import yaml
from pydantic import ValidationError

from ..check.convert import values
from ..check.library import Entry, Library
from ..model.job import Clearing, Job
from ..model.lead import Lead
from ..model.readings import Issued
from ..model.vehicle import Vehicle
from ..problems import Collector, Problem
from .digest import NOT_WORK, digest_of
from .kept import FILES, kept
from .states import valid
from .types import Plan

LEFT_OUT = frozenset(NOT_WORK - {"issued", "booked", "proofs", "cleared", "crew"})
"""Keys of a job that a frozen copy does without: the customer, money, free words, what comes after."""


def trust_holds(entry: Entry[Job], issued: Iterable[Entry[Issued]], digest: str, *, two: bool) -> tuple[Problem, ...]:
    """A clearing without its second pair of initials; a revision letter that was already given to other content; a frozen
    copy that somebody changed."""
    job = entry.value
    found = Collector()
    for other in issued:
        if other.value.job == job.job and _altered(other.value):
            found.hold(
                "issued-altered",
                f"the frozen copy of revision {other.value.revision} no longer says what was cleared: its digest is another",
                other.document.place("inputs", key=True),
                hint="put the copy back as it was written; what changes belongs into the job file",
                job=job.job,
            )
    for index, clearing in enumerate(job.cleared):
        if two and valid(clearing, digest) and not signed_twice(clearing):
            found.hold(
                "one-signature",
                f"{clearing.by} cleared this job to {clearing.to} alone, and the shop wants two people",
                entry.place("cleared", index),
                hint="add  and_by: INITIALS of somebody else who read it",
                job=job.job,
            )
    for other in issued:
        value = other.value
        if value.job == job.job and value.revision == job.revision and value.digest != digest:
            found.hold(
                "revision-used",
                f"revision {job.revision} was cleared with other content ({other.document.file}, digest {value.digest})",
                entry.place("revision"),
                hint="give what stands now the next revision letter, so that two sheets never share one",
                job=job.job,
            )
    return tuple(found.problems)


def earlier_kept(entry: Entry[Job], issued: Iterable[Entry[Issued]]) -> tuple[Problem, ...]:
    """A warning where a revision replaces one of which no copy is kept: its sheets cannot mark what changed."""
    job = entry.value
    if not job.replaces or any(e.value.job == job.job and e.value.revision == job.replaces for e in issued):
        return ()
    found = Collector()
    found.warning(
        "replaced-not-kept",
        f"revision {job.revision} replaces {job.replaces}, and no copy of {job.replaces} is kept in issued/: the sheets"
        " cannot mark what changed",
        entry.place("replaces"),
        hint=f"before the sheets of {job.replaces} are printed over, hold them against it:  loomleaf compare"
        f" build/job-{job.job}/{job.job}-bench.pdf jobs/{job.job}.yaml",
        job=job.job,
    )
    return tuple(found.problems)


def read_inputs(inputs: Mapping[str, Any]) -> tuple[Job, Vehicle, tuple[Lead, ...]] | None:
    """The job, vehicle and leads of a frozen copy; None where this program cannot read them any more."""
    try:
        job = Job.model_validate(inputs.get("job"))
        vehicle = Vehicle.model_validate(inputs.get("vehicle"))
        leads = tuple(Lead.model_validate(lead) for lead in (inputs.get("leads") or {}).values())
    except (ValidationError, AttributeError):
        return None
    return job, vehicle, leads


@kept(FILES)
def _altered(issued: Issued) -> bool:
    read = read_inputs(issued.inputs) if issued.inputs else None
    return read is not None and digest_of(*read) != issued.digest


def signed_twice(clearing: Clearing) -> bool:
    """Whether two different people cleared it."""
    return bool(clearing.and_by) and clearing.and_by.strip().casefold() != clearing.by.strip().casefold()


@dataclass(frozen=True, kw_only=True)
class Frozen:
    """A frozen copy to be written into the shop's folder."""

    name: str
    text: str


def frozen(plan: Plan, library: Library) -> Frozen | None:
    """The frozen copy of a cleared revision; None when nothing valid clears it, it is held, or the copy is there."""
    job = plan.job
    clearing = next((c for c in reversed(job.cleared) if valid(c, plan.digest)), None)
    if clearing is None or plan.held:
        return None
    if any(e.value.job == job.job and e.value.revision == job.revision for e in library.issued):
        return None
    data: dict[str, Any] = {
        "job": job.job,
        "revision": job.revision,
        "digest": plan.digest,
        "to": _borne_out(clearing, plan),
        "cleared_by": clearing.by,
        **({"and_by": clearing.and_by} if clearing.and_by else {}),
        "on": clearing.on.isoformat(),
        "inputs": inputs_of(plan, library),
    }
    head = (
        f"# What was cleared as revision {job.revision} of job {job.job}. A frozen copy: change the job, never this.\n"
        "# The customer is left out on purpose.\n"
    )
    return Frozen(name=f"issued/{file_part(job.job)}-{file_part(job.revision)}.yaml", text=head + as_yaml(data))


def _borne_out(clearing: Clearing, plan: Plan) -> str:
    """What a clearing was given to, as far as any vehicle's proofs bear it out: a word to plug in before is one to build."""
    proved = any(s.state in ("plug-in", "verified") for s in plan.states)
    return clearing.to if proved else "build"


def inputs_of(plan: Plan, library: Library) -> dict[str, Any]:
    """The job, its vehicle and its leads as they were written."""
    job = _written(library.jobs[plan.job.job])
    kept = {key: value for key, value in job.items() if key not in LEFT_OUT}
    kept["customer"] = {"name": "left out"}
    return {
        "job": kept,
        "vehicle": _written(library.vehicles[plan.vehicle.vehicle]),
        "leads": {lead.lead: _written(library.leads[lead.lead]) for lead in plan.leads},
    }


def _written(entry: Entry[Any]) -> dict[str, Any]:
    root = entry.document.root
    plain = values(root) if root is not None else {}
    return plain if isinstance(plain, dict) else {}


def as_yaml(data: Any) -> str:
    """Plain values as YAML that reads back the same: keys in their order, every doubtful text in quotes."""
    return yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=118, default_flow_style=None)


def file_part(text: str) -> str:
    """A word as part of a file's name: letters, digits, hyphens.

    >>> file_part("SM16 HRN"), file_part("../../x")
    ('SM16-HRN', 'x')
    """
    return re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-") or "x"


def next_name(wanted: str, taken: Sequence[str]) -> str:
    """``wanted`` or, when it is taken, the same with the next free number before its ending.

    >>> next_name("readings/8-A.yaml", ["readings/8-A.yaml", "readings/8-A.2.yaml"])
    'readings/8-A.3.yaml'
    """
    used = {name.casefold() for name in taken}
    if wanted.casefold() not in used:
        return wanted
    stem = wanted.removesuffix(".yaml")
    number = 2
    while f"{stem}.{number}.yaml".casefold() in used:
        number += 1
    return f"{stem}.{number}.yaml"
