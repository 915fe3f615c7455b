"""The customer summary: what was asked for, what was fitted, what keeps, changes and stops, and how to use it.

Plain and short. It holds no code, no alarm wiring, no blame, no legal claim and no promise about the vehicle maker's
warranty; where the job says nothing it leaves a line to write on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..model.job import Agreement, Extra, long_date
from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.types import FeatureOutcome, Plan
from .views import FrameView, capital, counted, field_name, sentence

_OPEN_POINTS = {
    "loss-not-agreed": "We still have to talk with you about something that would stop working.",
    "promise-not-kept": "We have not yet found a way to keep something you asked us to keep.",
    "safety-feature-lost": "A safety function must stay. We have not yet found a way to keep it.",
}
"""Holds that a customer is told of in so many words; every other hold is only counted."""


@dataclass(frozen=True, kw_only=True)
class LineView:
    """A label with its words, or with a line to write on when ``text`` is empty."""

    label: str
    text: str
    field: str


@dataclass(frozen=True, kw_only=True)
class PartView:
    """A part that is fitted. Whether it was new is ticked by hand: the job file does not say."""

    title: str
    field: str
    choices: tuple[str, ...] = ("new", "used", "rebuilt")


@dataclass(frozen=True, kw_only=True)
class ListView:
    """One of the three lists. ``kind`` names its style."""

    kind: str
    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SummaryView:
    """Everything on the customer summary."""

    shop: tuple[str, ...]
    facts: tuple[LineView, ...]
    registrations: tuple[LineView, ...]
    request: str
    open_points: tuple[str, ...]
    agreed: tuple[str, ...]
    agreed_lines: tuple[LineView, ...]
    extras: tuple[str, ...]
    fits: str
    parts: tuple[PartView, ...]
    old_parts: str
    old_parts_choices: tuple[str, ...]
    keeps: ListView
    changes_and_stops: tuple[ListView, ...]
    use: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    warranty: LineView
    call: tuple[str, ...]
    legal: str


def summary_view(plan: Plan, shop: Shop, reference: Reference, head: FrameView) -> SummaryView:
    """The customer summary of a plan."""
    job = plan.job
    lists = three_lists(plan.features, reference)
    return SummaryView(
        shop=tuple(part for part in (shop.name, shop.town, shop.contact) if part),
        facts=_facts(plan),
        registrations=_registrations(plan),
        request=sentence(capital(job.request)),
        open_points=open_points(plan),
        agreed=tuple(_agreement(a, shop) for a in job.agreed),
        agreed_lines=() if job.agreed else _agreement_lines(),
        extras=tuple(_extra(e) for e in job.extras if e.added is not None or e.agreed_by),
        fits="What we fitted" if plan.state == "verified" else "What we fit",
        parts=_parts(plan),
        old_parts=_OLD_PARTS.get(job.old_parts, _NOTHING_SAID)[plan.state == "verified"],
        old_parts_choices=() if job.old_parts else ("given back to you", "kept by us"),
        keeps=lists[0],
        changes_and_stops=lists[1:],
        use=tuple(dict.fromkeys(sentence(line) for lead in plan.leads for line in lead.use)),
        notes=(sentence(job.customer_note),) if job.customer_note else (),
        cautions=_cautions(reference, done=plan.state == "verified"),
        warranty=LineView(label="Our warranty", text=sentence(shop.warranty), field="warranty"),
        call=tuple(sentence(line) for line in (shop.come_back, *shop.after_care) if line),
        legal=shop.legal,
    )


_OLD_PARTS = {
    "returned": ("You get the old parts back.", "We gave the old parts back to you."),
    "kept": ("We keep the old parts, as agreed.", "We kept the old parts, as agreed."),
}
"""What becomes of the old parts: while the work is not finished, and when it is."""
_NOTHING_SAID = ("", "")


def _facts(plan: Plan) -> tuple[LineView, ...]:
    job = plan.job
    booked = long_date(job.booked) if job.booked else ""
    return (
        LineView(label="Customer", text=job.customer.name, field="customer"),
        LineView(label="Vehicle", text=plan.vehicle.title, field="vehicle"),
        LineView(label="Booked in", text=booked, field="booked"),
        LineView(label="This paper", text=f"revision {job.revision}, {job.issued_text}", field="issued"),
    )


def _registrations(plan: Plan) -> tuple[LineView, ...]:
    """Mileage in and out of each vehicle, written in or left as a line."""
    lines = []
    for reg in plan.job.registrations:
        lines.append(LineView(label=f"{reg.plate}, mileage in", text=reg.odometer, field=field_name("in", reg.plate)))
        lines.append(LineView(label="out", text=reg.odometer_out, field=field_name("out", reg.plate)))
    return tuple(lines)


def open_points(plan: Plan) -> tuple[str, ...]:
    """What is still open, in the customer's words, on every paper of theirs; the workshop's own points are only counted."""
    codes = [reason.code for reason in dict.fromkeys(r for s in plan.states for r in s.reasons)]
    told = [_OPEN_POINTS[code] for code in dict.fromkeys(codes) if code in _OPEN_POINTS]
    other = sum(code not in _OPEN_POINTS for code in codes)
    if other:
        told.append(f"We have {counted(other, 'point', 'points')} to settle in the workshop before we fit anything.")
    return tuple(told)


def _agreement(agreement: Agreement, shop: Shop) -> str:
    who = agreement.who or "You"
    how = f" {agreement.how}" if agreement.how else ""
    on = f" on {long_date(agreement.on)}" if agreement.on else ""
    amount = f" for {shop.currency} {agreement.amount}" if agreement.amount else ""
    what = f" ({agreement.for_})" if agreement.for_ else ""
    return f"{who} agreed{how}{on}{amount}{what}."


def _agreement_lines() -> tuple[LineView, ...]:
    return (
        LineView(label="Agreed by", text="", field="agreed-by"),
        LineView(label="How", text="", field="agreed-how"),
        LineView(label="When", text="", field="agreed-when"),
        LineView(label="Price", text="", field="agreed-price"),
    )


def _extra(extra: Extra) -> str:
    on = f" on {long_date(extra.added)}" if extra.added else ""
    by = f", agreed by {extra.agreed_by}" if extra.agreed_by else ", not yet agreed"
    how = f" {extra.agreed_how}" if extra.agreed_how else ""
    return f"Added{on}: {extra.what}{by}{how}."


def _parts(plan: Plan) -> tuple[PartView, ...]:
    """Every part that is fitted, by the name that the estimate gives it: leads, then what else is charged as a part."""
    many = str(len(plan.job.registrations))
    leads = [PartView(title=_times(many, lead.title), field=field_name("part", lead.lead)) for lead in plan.leads]
    estimate = plan.workshop.estimate if plan.workshop is not None else None
    own = {lead.lead for lead in plan.leads}
    more = [
        PartView(title=_times(line.quantity, line.what), field=f"part__more-{n}")
        for n, line in enumerate(
            (x for x in (estimate.lines if estimate else ()) if x.kind == "part" and not own & set(x.traces)), start=1
        )
    ]
    return (*leads, *more)


def _times(quantity: str, what: str) -> str:
    return what if quantity == "1" else f"{quantity} × {what}"


def three_lists(features: tuple[FeatureOutcome, ...], reference: Reference) -> tuple[ListView, ...]:
    """What keeps working, what changes, what stops. A list with nothing in it says so."""
    keeps = tuple(capital_first(f.customer) for f in features if f.outcome in ("keeps", "keeps with a part"))
    changes = tuple(
        f"{capital_first(f.customer)}. {sentence(f.how)}".strip() for f in features if f.outcome == "changes"
    )
    stops = tuple(_stops(f, reference) for f in features if f.outcome == "loses")
    nothing = ("Nothing.",)
    return (
        ListView(kind="keeps", title="Keeps working", lines=keeps or nothing),
        ListView(kind="changes", title="Changes", lines=changes or nothing),
        ListView(kind="stops", title="Stops", lines=stops or nothing),
    )


def capital_first(text: str) -> str:
    """The first letter large, whatever follows."""
    return text[:1].upper() + text[1:]


def _stops(feature: FeatureOutcome, reference: Reference) -> str:
    entry = reference.features.get(feature.feature_id)
    words = entry.lost_in_words if entry and entry.lost_in_words else f"{capital_first(feature.customer)} will stop."
    told = f" You agreed on {long_date(feature.agreed)}." if feature.agreed else " We still have to agree this with you."
    return sentence(words) + told


def _cautions(reference: Reference, *, done: bool) -> tuple[str, ...]:
    """The standing cautions in the customer's words, those of finished work when it is ``done``."""
    told = ((c.customer_after if done else "") or c.customer for c in reference.cautions.values() if c.standing_caution)
    return tuple(sentence(words) for words in told if words)


def summary_data(plan: Plan) -> dict[str, Any]:
    """What the summary shows, as plain data."""
    job = plan.job
    return {
        "sheet": "summary",
        "job": job.job,
        "revision": job.revision,
        "issued": job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "customer": job.customer.name,
        "vehicle": plan.vehicle.title,
        "registrations": [r.plate for r in job.registrations],
        "request": job.request,
        "parts": [part.title for part in _parts(plan)],
        "features": [{"feature": f.feature_id, "outcome": f.outcome} for f in plan.features],
    }
