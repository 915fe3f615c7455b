"""Every kind of sheet, and the one way to make one. A new sheet is a view module, a template and a line here."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.types import Plan
from ..problems import Problem, Severity
from .bench import bench_data, bench_view
from .html import to_html
from .summary import summary_data, summary_view
from .views import FrameView, frame

View = Callable[[Plan, Shop, Reference, FrameView], object]


@dataclass(frozen=True, kw_only=True)
class SheetKind:
    """A kind of sheet. ``data`` gives what is attached to its PDF, and may hold only what the sheet shows."""

    name: str
    title: str
    template: str
    style: str
    view: View
    data: Callable[[Plan], dict[str, Any]]
    fillable: bool = False
    for_customer: bool = False


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
    )
}


def sheet_html(
    kind: str, plan: Plan, shop: Shop, reference: Reference, *, paper: str | None = None, **options: bool
) -> tuple[str | None, tuple[Problem, ...]]:
    """The HTML of a sheet, or the Problems that stop it."""
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
    if head is None:
        return None, problems
    view = chosen.view(plan, shop, reference, head, **options)
    return to_html(chosen.template, frame=head, view=view), ()


def styles_of(kind: str, paper: str) -> tuple[str, ...]:
    """The style sheets of a kind of sheet on a paper."""
    return ("sheet.css", f"sheet-{paper.lower()}.css", sheet_kinds[kind].style)


def render_sheet(
    kind: str, plan: Plan, shop: Shop, reference: Reference, *, paper: str | None = None, **options: bool
) -> tuple[RenderedSheet | None, tuple[Problem, ...]]:
    """One sheet of one job as HTML and PDF. With an error among the Problems there is no sheet."""
    from .pdf import Attached, missing_characters, render

    chosen = sheet_kinds[kind]
    html, problems = sheet_html(kind, plan, shop, reference, paper=paper, **options)
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
    attached = Attached(
        name=f"{name}.json",
        description=f"What this {chosen.title.lower()} shows, as data",
        text=json.dumps(chosen.data(plan), ensure_ascii=False, indent=1, sort_keys=True),
    )
    data, trouble = render(
        html,
        styles=styles_of(kind, size),
        job=job.job,
        issued=job.issued,
        forms=chosen.fillable,
        attached=(attached,),
    )
    if any(p.severity is Severity.ERROR for p in trouble):
        return None, trouble
    return RenderedSheet(name=name, html=html, pdf=data), trouble
