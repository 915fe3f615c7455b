"""The estimate: what the work comes to, in plain words, for the customer.

Labour, parts and small materials stand apart; what was added later stands apart again, each line with who agreed, how and
when. What was estimated and what was authorised are two things, and each is signed for itself. It shows no note that is
meant for the workshop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from ..model.job import Agreement, long_date
from ..model.reference import Reference
from ..model.shop import Shop
from ..money import parse_money, rounded
from ..plan.price import Authorised, Estimate, PriceLine, is_nothing
from ..plan.types import Plan
from ..problems import Problem, Severity
from ..units import UnitError
from .summary import LineView, open_points
from .views import FrameView, capital, sentence


@dataclass(frozen=True, kw_only=True)
class MoneyView:
    """One line with an amount; ``detail`` says how much of what. ``strong`` for a sum."""

    what: str
    detail: str
    amount: str
    strong: bool = False


@dataclass(frozen=True, kw_only=True)
class BlockView:
    """Lines of one kind and their sum."""

    title: str
    lines: tuple[MoneyView, ...]
    total: MoneyView


@dataclass(frozen=True, kw_only=True)
class AddedView:
    """Something added later: when, what it costs, and the customer's word on it (or a line to sign)."""

    what: str
    added: str
    amount: str
    word: str
    field: str


@dataclass(frozen=True, kw_only=True)
class EstimateView:
    """Everything on the estimate."""

    shop: tuple[str, ...]
    facts: tuple[LineView, ...]
    request: str
    open_points: str
    currency: str
    blocks: tuple[BlockView, ...]
    added: tuple[AddedView, ...]
    sums: tuple[MoneyView, ...]
    each: str
    unpriced: tuple[str, ...]
    terms: tuple[str, ...]
    words: tuple[MoneyView, ...]
    authorised_total: MoneyView | None
    difference: str
    no_word: bool
    legal: str


def price_problems(plan: Plan, shop: Shop, paper: str) -> tuple[Problem, ...]:
    """No estimate is printed where the price could not be added up."""
    if plan.workshop is not None and plan.workshop.estimate is not None:
        return ()
    return (
        Problem(
            code="no-price",
            severity=Severity.ERROR,
            message="the price cannot be added up, so there is no estimate to print",
            hint="put the prices and taxes right that  loomleaf check  tells of",
            job=plan.job.job,
        ),
    )


def priced(plan: Plan) -> tuple[Estimate, Authorised]:
    """The price of a plan, and what of it the customer said yes to. Raises ValueError where there is none."""
    work = plan.workshop
    if work is None or work.estimate is None or work.authorised is None:
        raise ValueError("the plan has no price")
    return work.estimate, work.authorised


def money(value: Decimal, decimals: int) -> str:
    """An amount without its currency: digits in threes, a true minus.

    >>> money(Decimal("-1234.5"), 2).replace("\\u202f", " ")
    '−1 234.50'
    """
    return f"{rounded(value, decimals):,.{decimals}f}".replace(",", "\u202f").replace("-", "−")


def percent(value: Decimal) -> str:
    """A percentage without idle zeros.

    >>> percent(Decimal("20.00")), percent(Decimal("5.5"))
    ('20 %', '5.5 %')
    """
    text = f"{value:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + " %"


def estimate_view(plan: Plan, shop: Shop, reference: Reference, head: FrameView) -> EstimateView:
    """The estimate of a plan."""
    job = plan.job
    estimate, agreed = priced(plan)
    places = shop.decimals
    booked = long_date(job.booked) if job.booked else ""
    return EstimateView(
        shop=tuple(part for part in (shop.name, shop.town, shop.contact) if part),
        facts=(
            LineView(label="Customer", text=job.customer.name, field="customer"),
            LineView(label="Vehicle", text=plan.vehicle.title, field="vehicle"),
            LineView(label="Registration", text=", ".join(r.plate for r in job.registrations), field="registration"),
            LineView(label="Booked in", text=booked, field="booked"),
            LineView(label="This paper", text=f"revision {job.revision}, {job.issued_text}", field="issued"),
        ),
        request=sentence(capital(job.request)),
        open_points=" ".join((*open_points(plan), "The price may change.")) if plan.held else "",
        currency=shop.currency,
        blocks=_blocks(estimate, shop),
        added=tuple(_added(line, places, n) for n, line in enumerate(estimate.added, start=1)),
        sums=_sums(estimate, shop),
        each=_each(estimate, shop, len(job.registrations)),
        unpriced=_unpriced(plan, shop),
        terms=_terms(estimate, shop),
        words=tuple(_word(a, places) for a in job.agreed),
        authorised_total=_agreed_sum(agreed, places),
        difference=_difference(estimate, agreed, shop),
        no_word=not job.agreed,
        legal=shop.legal,
    )


# --- lines -------------------------------------------------------------------------------------------------------


def _blocks(estimate: Estimate, shop: Shop) -> tuple[BlockView, ...]:
    """Labour, parts, small materials as one line, and what else was planned from the start."""
    lines = estimate.estimated
    blocks = []
    for kind, title, total in (("labour", "Labour", "Labour in all"), ("part", "Parts", "Parts in all")):
        own = [line for line in lines if line.kind == kind]
        if own:
            blocks.append(_block(title, total, own, shop))
    materials = [line for line in lines if line.kind == "material"]
    extras = [line for line in lines if line.kind == "extra"]
    small = sum((line.total for line in materials), Decimal(0))
    other = [_line(line, shop) for line in extras]
    if materials:
        other.insert(
            0, MoneyView(what="Connectors, sleeves, tape, solder", detail="", amount=money(small, shop.decimals))
        )
    if other:
        total_of = small + sum((line.total for line in extras), Decimal(0))
        title = "Small materials" if not extras else "Small materials and other work" if materials else "Other work"
        blocks.append(
            BlockView(
                title=title,
                lines=tuple(other),
                total=MoneyView(what=f"{title} in all", detail="", amount=money(total_of, shop.decimals), strong=True),
            )
        )
    return tuple(blocks)


def _block(title: str, total: str, lines: Sequence[PriceLine], shop: Shop) -> BlockView:
    summed = sum((line.total for line in lines), Decimal(0))
    return BlockView(
        title=title,
        lines=tuple(_line(line, shop) for line in lines),
        total=MoneyView(what=total, detail="", amount=money(summed, shop.decimals), strong=True),
    )


def _line(line: PriceLine, shop: Shop) -> MoneyView:
    each = money(line.each, max(shop.decimals, 0))
    if line.kind == "labour":
        detail = f"{line.quantity} at {each} an hour"
    elif line.quantity == "1":
        detail = ""
    else:
        detail = f"{line.quantity} at {each}"
    return MoneyView(what=line.what, detail=detail, amount=money(line.total, shop.decimals))


def _added(line: PriceLine, places: int, number: int) -> AddedView:
    word = ""
    if line.agreed_by:
        how = f", {line.agreed_how}" if line.agreed_how else ""
        on = f", on {long_date(line.agreed_on)}" if line.agreed_on else ""
        word = f"Agreed by {line.agreed_by}{how}{on}."
    return AddedView(
        what=line.what,
        added=f"Added on {long_date(line.added)}" if line.added else "",
        amount=money(line.total, places),
        word=word,
        field=f"added-{number}",
    )


def _sums(estimate: Estimate, shop: Shop) -> tuple[MoneyView, ...]:
    """From the sum of the lines down to what is still to pay: only the steps that this job has."""
    places = shop.decimals
    out = []
    single = not estimate.discount and estimate.tax_included and not estimate.rounding
    if not single:
        out.append(MoneyView(what="Sum of all lines", detail="", amount=money(estimate.subtotal, places)))
    if estimate.discount:
        off = percent(estimate.discount_percent)
        out.append(MoneyView(what="Discount", detail=off, amount=money(-estimate.discount, places)))
    if not estimate.tax_included:
        out += [
            MoneyView(
                what=tax.title,
                detail=f"{percent(tax.percent)} of {money(tax.base, places)}",
                amount=money(tax.amount, places),
            )
            for tax in estimate.taxes
            if tax.percent
        ]
    if estimate.rounding:
        out.append(MoneyView(what="Rounded", detail="", amount=money(estimate.rounding, places)))
    out.append(MoneyView(what="Total", detail="", amount=money(estimate.gross, places), strong=True))
    if estimate.tax_included:
        out += [
            MoneyView(what=f"of which {tax.title}", detail=percent(tax.percent), amount=money(tax.amount, places))
            for tax in estimate.taxes
            if tax.percent
        ]
    if estimate.deposit:
        out.append(MoneyView(what="Deposit", detail="", amount=money(-estimate.deposit, places)))
        out.append(MoneyView(what="Still to pay", detail="", amount=money(estimate.balance, places), strong=True))
    return tuple(out)


def _each(estimate: Estimate, shop: Shop, vehicles: int) -> str:
    if vehicles < 2:
        return ""
    mean = money(estimate.gross / vehicles, shop.decimals)
    return f"That is {shop.currency} {mean} for each of the {vehicles} vehicles, on average."


WORK_WORDS = {
    "spare": "making unused wires safe",
    "check": "our checks",
    "remove-radio": "taking the old radio out",
    "fit-radio": "putting the new radio in",
    "fit-module": "fitting of the added boxes",
    "fit-accessory": "fitting of the added parts",
    "tape": "wrapping of the wires",
    "hand-over": "the hand-over to you",
}
"""Work in a customer's words; every other operation is a way of joining wires."""


def _unpriced(plan: Plan, shop: Shop) -> tuple[str, ...]:
    """What the price does not hold yet: parts that cost nothing so far, and work by its kinds."""
    assert plan.workshop is not None
    minutes = plan.workshop.minutes
    sold = {line.traces[0] for line in priced(plan)[0].lines if line.kind == "part" and line.total}
    names = [
        lead.exact or lead.title
        for lead in plan.leads
        if lead.lead not in sold and (lead.side != "vehicle" or (lead.price and is_nothing(lead.price)))
    ]
    if is_nothing(shop.rates.labour_hour):
        return (*names, "our work")
    return (*names, *dict.fromkeys(_work_words(name) for name in minutes.missing))


def _work_words(name: str) -> str:
    area = name.removeprefix("access-")
    if area != name:
        return f"opening and closing of the {area.replace('-', ' ')}"
    return WORK_WORDS.get(name, "joining of the wires")


def _terms(estimate: Estimate, shop: Shop) -> tuple[str, ...]:
    taxed = [tax.title for tax in estimate.taxes if tax.percent]
    tax_words = ""
    if taxed:
        names = list(dict.fromkeys(taxed))
        named, are = " and ".join(names), "are" if len(names) > 1 else "is"
        tax_words = f"The amounts include {named}." if estimate.tax_included else f"{named} {are} added at the end."
    return tuple(
        line
        for line in (
            f"All amounts are in {shop.currency}.",
            tax_words,
            f"This estimate holds until {long_date(estimate.valid_until)}.",
            "An estimate is our best guess of the price. It is not a bill.",
            "If the work will cost more, we ask you first.",
        )
        if line
    )


# --- the customer's word -----------------------------------------------------------------------------------------


def _word(agreement: Agreement, places: int) -> MoneyView:
    who = agreement.who or "You"
    how = f", {agreement.how}" if agreement.how else ""
    on = f", {long_date(agreement.on)}" if agreement.on else ""
    try:
        amount = money(parse_money(agreement.amount), places) if agreement.amount else "no amount"
    except UnitError:
        amount = agreement.amount
    return MoneyView(what=f"{who}{how}{on}", detail=agreement.for_, amount=amount)


def _agreed_sum(agreed: Authorised, places: int) -> MoneyView | None:
    if agreed.amount is None:
        return None
    return MoneyView(what="You have agreed to", detail="", amount=money(agreed.amount, places), strong=True)


def _difference(estimate: Estimate, agreed: Authorised, shop: Shop) -> str:
    if agreed.amount is None:
        return ""
    more = estimate.gross - agreed.amount
    if more > 0:
        amount = f"{shop.currency} {money(more, shop.decimals)}"
        return f"This estimate is {amount} more than you have agreed to. We do only what you have agreed to."
    return "This estimate stays within what you have agreed to."


def estimate_data(plan: Plan, shop: Shop) -> dict[str, Any]:
    """What the estimate shows, as plain data; amounts are text."""
    estimate, agreed = priced(plan)
    job, places = plan.job, shop.decimals

    def text(value: Decimal) -> str:
        return f"{rounded(value, places):f}"

    materials = sum((line.total for line in estimate.estimated if line.kind == "material"), Decimal(0))
    return {
        "sheet": "estimate",
        "job": job.job,
        "revision": job.revision,
        "issued": job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "customer": job.customer.name,
        "vehicle": plan.vehicle.title,
        "registrations": [r.plate for r in job.registrations],
        "currency": shop.currency,
        "lines": [
            {"kind": line.kind, "what": line.what, "total": text(line.total)}
            for line in estimate.estimated
            if line.kind != "material"
        ],
        "materials": text(materials),
        "added": [
            {
                "what": line.what,
                "total": text(line.total),
                "added": line.added.isoformat() if line.added else "",
                "agreed_by": line.agreed_by,
                "agreed_how": line.agreed_how,
                "agreed_on": line.agreed_on.isoformat() if line.agreed_on else "",
            }
            for line in estimate.added
        ],
        "subtotal": text(estimate.subtotal),
        "discount": text(estimate.discount),
        "taxes": [
            {"name": t.title, "percent": f"{t.percent:f}", "base": text(t.base), "amount": text(t.amount)}
            for t in estimate.taxes
        ],
        "tax_included": estimate.tax_included,
        "total": text(estimate.gross),
        "deposit": text(estimate.deposit),
        "balance": text(estimate.balance),
        "valid_until": estimate.valid_until.isoformat(),
        "authorised": text(agreed.amount) if agreed.amount is not None else None,
        "vehicles": len(job.registrations),
    }
