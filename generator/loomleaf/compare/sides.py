"""The two sides of a comparison: job files, frozen copies and printed sheets, in one shape."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ..check.convert import convert, values
from ..check.library import Entry, Library
from ..check.rules import run_rules
from ..collect.pdf import read_printed
from ..model.job import Job
from ..model.shop import Shop
from ..plan.earlier import library_of_issue, plan_of_issue
from ..plan.planner import plan_job
from ..plan.types import Plan
from ..problems import Collector, Location, Problem, Severity, in_order
from ..sheets.changed import Changed
from ..sheets.registry import sheet_kinds
from ..source.nodes import read_document
from .facts import Side
from .rows import changed_rows
from .work import merged, work_data


def sheets_of_pdf(name: str, data: bytes) -> tuple[dict[str, Mapping[str, Any]], tuple[Problem, ...]]:
    """What a PDF carries, by kind of sheet: one, or all of a job's."""
    found, problems = read_printed(name, data)
    return {str(sheet.get("sheet", "")): sheet for sheet in found}, problems


def side_of_job(name: str, data: bytes, library: Library) -> tuple[Plan | None, tuple[Problem, ...]]:
    """A job file, or a frozen copy from issued/, worked out with the shop's leads and vehicles (a frozen copy's own).

    A frozen copy knows nothing of money, so its plan has no price.
    """
    document, problems = read_document(name, data)
    if document.root is None or any(p.severity is Severity.ERROR for p in problems):
        return None, problems
    found = Collector()
    plain = values(document.root)
    inputs = plain.get("inputs") if isinstance(plain, dict) else None
    if isinstance(inputs, dict):
        own = library_of_issue(document, inputs, library, found)
    else:
        job = convert(document, Job, found)
        own = None if job is None else replace(library, jobs={job.job: Entry(value=job, document=document)})
    if own is None:
        return None, tuple(found.problems)
    problems = (*found.problems, *run_rules(own))
    number = next(iter(own.jobs))
    errors = [p for p in problems if p.severity is Severity.ERROR and (p.job == number or p.location.file == name)]
    if errors:
        return None, in_order(errors)
    quiet = replace(own, readings=(), issued=())
    plan = plan_job(quiet, own.jobs[number], problems)
    return (replace(plan, workshop=None) if isinstance(inputs, dict) else plan), ()


def sides(
    old: tuple[str, bytes], new: tuple[str, bytes], library: Library
) -> tuple[tuple[Side, Side] | None, tuple[Problem, ...]]:
    """Both sides in one shape: a job against printed sheets is shown as those sheets show it; of several sheets in one
    file those that both sides have are put together."""
    printed: list[dict[str, Mapping[str, Any]]] = []
    plans: list[Plan | None] = []
    problems: list[Problem] = []
    for name, data in (old, new):
        pdf = b"%PDF-" in data[:1024] or name.lower().endswith(".pdf")
        sheets, told = sheets_of_pdf(name, data) if pdf else ({}, ())
        plan, more = (None, ()) if pdf else side_of_job(name, data, library)
        printed.append(sheets)
        plans.append(plan)
        problems += [*told, *more]
    if problems:
        return None, tuple(problems)
    if printed[0] and printed[1]:
        kinds = [kind for kind in printed[0] if kind in printed[1]]
        if not kinds:
            said = [" and ".join(sheets) for sheets in printed]
            message = f"one is a {said[0]} sheet, the other a {said[1]} sheet"
            return None, (_refusal(new[0], message, "print the same one"),)
    else:
        kinds = list(printed[0] or printed[1]) or ["job"]
    shop = library.shop.value if library.shop else Shop(name="")
    shown: list[dict[str, Mapping[str, Any]]] = []
    for sheets, plan in zip(printed, plans, strict=True):
        found = {kind: sheets[kind] if plan is None else _as_sheet(plan, kind, shop) for kind in kinds}
        shown.append({kind: data for kind, data in found.items() if data is not None})
    kinds = [kind for kind in kinds if kind in shown[0] and kind in shown[1]]
    if not kinds:
        name = old[0] if not shown[0] else new[0]
        return None, (_refusal(name, "it has no price to compare", "compare job files, or two printed estimates"),)
    first, second = (
        Side(name=name, data=merged(sheets[kind] for kind in kinds))
        for (name, _), sheets in zip((old, new), shown, strict=True)
    )
    if first.job != second.job:
        return None, (
            _refusal(new[0], f"one is of job {first.job}, the other of job {second.job}", "name two of one job"),
        )
    return (first, second), ()


def earlier_issue(library: Library, job: Job) -> Plan | None:
    """The issue that a job's revision replaces, worked out from its frozen copy; None where there is none to be had."""
    entry = next(
        (e for e in library.issued if e.value.job == job.job and e.value.revision == job.replaces), None
    )
    if not job.replaces or entry is None:
        return None
    return plan_of_issue(library, entry, with_readings=False)


def changed_since(library: Library, plan: Plan) -> Changed | None:
    """The rows of a job's sheets that say something else than the issue they replace; None for one that replaces none.

    Without a copy of that issue, or with one that cannot be worked out any more, nothing is known, and that is said.
    """
    if not plan.job.replaces:
        return None
    since = f"revision {plan.job.replaces}"
    old = earlier_issue(library, plan.job)
    return Changed(since=since, unknown=True) if old is None else changed_rows(work_data(old), work_data(plan), since)


def _as_sheet(plan: Plan, kind: str, shop: Shop) -> Mapping[str, Any] | None:
    """What a job shows as a kind of sheet; None where it cannot be shown so."""
    chosen = sheet_kinds.get(kind)
    if chosen is None:
        return work_data(plan, plan.workshop.estimate if plan.workshop else None)
    if chosen.priced:
        return chosen.data(plan, shop) if plan.workshop and plan.workshop.estimate else None
    return chosen.data(plan, ()) if getattr(chosen, "as_fitted", False) else chosen.data(plan)


def _refusal(file: str, message: str, hint: str) -> Problem:
    return Problem(
        code="cannot-compare", severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file)
    )
