"""Every kind of sheet, and the one way to make one. A new sheet is a view module, a template and a line here."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from ..model.readings import Readings
from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.types import Plan
from ..problems import Problem, Severity
from .bench import bench_data, bench_view
from .changed import Changed, marked
from .cutting import cutting_data, cutting_view
from .estimate import estimate_data, estimate_view, price_problems
from .fitting import fitting_data, fitting_view
from .html import to_html, with_whole_ways
from .labels import labels_data, labels_view, sheet_problems
from .record import record_data, record_view
from .summary import summary_data, summary_view
from .views import FrameView, counted, frame, vehicle_line

View = Callable[..., object]
"""Called with plan, shop, reference, frame and the sheet's own options."""


def _nothing_wrong(plan: Plan, shop: Shop, paper: str) -> tuple[Problem, ...]:
    return ()


@dataclass(frozen=True, kw_only=True)
class SheetKind:
    """A kind of sheet. ``data`` gives what is attached to its PDF, and may hold only what the sheet shows.

    ``priced`` sheets hand the shop to their data, too: it knows the currency. ``refuse`` gives the Problems that stop a
    sheet before it is laid out. A sheet that is not ``personal`` names no registration; one that does
    not list what holds the job sends the reader to the bench sheet. A ``turned`` sheet has pages on their side, too.
    One with ``bars`` marks the rows that changed since the issue before.
    The sheet ``as_fitted`` is handed what came back from the vehicle, and is written for the archive.
    """

    name: str
    title: str
    template: str
    style: str
    view: View
    data: Callable[..., dict[str, Any]]
    fillable: bool = False
    for_customer: bool = False
    priced: bool = False
    personal: bool = True
    lists_reasons: bool = True
    turned: bool = False
    as_fitted: bool = False
    bars: bool = False
    refuse: Callable[[Plan, Shop, str], tuple[Problem, ...]] = _nothing_wrong


@dataclass(frozen=True, kw_only=True)
class RenderedSheet:
    """A finished sheet. ``name`` is its file's name without an ending."""

    name: str
    html: str
    pdf: bytes


sheet_kinds: dict[str, SheetKind] = {
    kind.name: kind
    for kind in (
        SheetKind(
            name="bench",
            title="Bench sheet",
            template="sheets/bench.html",
            style="sheet-bench.css",
            view=bench_view,
            data=bench_data,
            fillable=True,
            bars=True,
        ),
        SheetKind(
            name="summary",
            title="Customer summary",
            template="sheets/summary.html",
            style="sheet-summary.css",
            view=summary_view,
            data=summary_data,
            fillable=True,
            for_customer=True,
        ),
        SheetKind(
            name="estimate",
            title="Estimate",
            template="sheets/estimate.html",
            style="sheet-estimate.css",
            view=estimate_view,
            data=estimate_data,
            fillable=True,
            for_customer=True,
            priced=True,
            refuse=price_problems,
        ),
        SheetKind(
            name="cutting",
            title="Cutting sheet",
            template="sheets/cutting.html",
            style="sheet-cutting.css",
            view=cutting_view,
            data=cutting_data,
            bars=True,
            lists_reasons=False,
            turned=True,
        ),
        SheetKind(
            name="labels",
            title="Labels",
            template="sheets/labels.html",
            style="sheet-labels.css",
            view=labels_view,
            data=labels_data,
            personal=False,
            lists_reasons=False,
            refuse=sheet_problems,
        ),
        SheetKind(
            name="fitting",
            title="Fitting sheet",
            template="sheets/fitting.html",
            style="sheet-fitting.css",
            view=fitting_view,
            data=fitting_data,
            fillable=True,
            bars=True,
            lists_reasons=False,
        ),
        SheetKind(
            name="record",
            title="As-fitted record",
            template="sheets/record.html",
            style="sheet-record.css",
            view=record_view,
            data=record_data,
            lists_reasons=False,
            as_fitted=True,
        ),
    )
}


def sheet_html(
    kind: str,
    plan: Plan,
    shop: Shop,
    reference: Reference,
    *,
    paper: str | None = None,
    readings: tuple[Readings, ...] = (),
    changed: Changed | None = None,
    **options: bool,
) -> tuple[str | None, tuple[Problem, ...]]:
    """The HTML of a sheet, or the Problems that stop it. ``readings`` are the job's own files, oldest first; rows that
    ``changed`` names get their bar on the sheets that have such rows."""
    chosen = sheet_kinds[kind]
    head, problems = frame(
        plan,
        shop,
        reference,
        kind=kind,
        title=chosen.title,
        paper=paper,
        fillable=chosen.fillable,
        for_customer=chosen.for_customer,
    )
    problems += chosen.refuse(plan, shop, paper or shop.paper)
    if head is None or problems:
        return None, problems
    if not chosen.personal:
        head = _without_plates(head, plan)
    if not chosen.lists_reasons:
        head = replace(head, band=head.band.replace("on page 1", "on the bench sheet"))
    back = {"readings": readings} if chosen.as_fitted else {}
    view = chosen.view(plan, shop, reference, head, **back, **options)
    if changed is not None and chosen.bars:
        view, shown = marked(view, changed)
        head = replace(head, changed=shown.line)
    return with_whole_ways(to_html(chosen.template, frame=head, view=view)), ()


def _without_plates(head: FrameView, plan: Plan) -> FrameView:
    """The frame with the number of vehicles where the registrations stand."""
    count = counted(len(plan.job.registrations), "vehicle", "vehicles")
    subject = f"{head.title}, {vehicle_line(plan)}, {count}, issued {head.issued}"
    return replace(head, plates=count, subject=subject)


def styles_of(kind: str, paper: str) -> tuple[str, ...]:
    """The style sheets of a kind of sheet on a paper."""
    size = f"sheet-{paper.lower()}"
    turned = (f"{size}-turned.css",) if sheet_kinds[kind].turned else ()
    return ("sheet.css", f"{size}.css", *turned, sheet_kinds[kind].style)


def render_sheet(
    kind: str,
    plan: Plan,
    shop: Shop,
    reference: Reference,
    *,
    paper: str | None = None,
    readings: tuple[Readings, ...] = (),
    changed: Changed | None = None,
    **options: bool,
) -> tuple[RenderedSheet | None, tuple[Problem, ...]]:
    """One sheet of one job as HTML and PDF. With an error among the Problems there is no sheet."""
    from .pdf import Attached, missing_characters, render

    chosen = sheet_kinds[kind]
    html, problems = sheet_html(kind, plan, shop, reference, paper=paper, readings=readings, changed=changed, **options)
    if html is None:
        return None, problems
    job = plan.job
    missing = missing_characters(html)
    if missing:
        problem = Problem(
            code="no-such-letter",
            severity=Severity.ERROR,
            message=f"no bundled typeface has the characters {' '.join(missing)}",
            hint="write the name in letters that the sheet's typeface has",
            job=job.job,
        )
        return None, (problem,)
    name = f"{job.job}-{kind}"
    size = paper or shop.paper
    handed = (shop,) if chosen.priced else (readings,) if chosen.as_fitted else ()
    shown = chosen.data(plan, *handed)
    attached = Attached(
        name=f"{name}.json",
        description=f"What this {chosen.title.lower()} shows, as data",
        text=json.dumps(shown, ensure_ascii=False, indent=1, sort_keys=True),
    )
    data, trouble = render(
        html,
        styles=styles_of(kind, size),
        job=job.job,
        issued=job.issued,
        forms=chosen.fillable,
        attached=(attached,),
        archive=chosen.as_fitted,
    )
    if any(p.severity is Severity.ERROR for p in trouble):
        return None, trouble
    return RenderedSheet(name=name, html=html, pdf=data), trouble
