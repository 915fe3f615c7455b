"""What a job costs: every line traceable to joints, parts or extras, and lines that always add up to the total shown.

Each line is rounded once, to the currency's decimals, half away from zero; every sum is a sum of rounded lines, and tax
and discount are lines of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from ..model.job import Extra
from ..model.shop import Shop, Stock
from ..money import parse_money, rounded
from .minutes import JobMinutes, spoken
from .picking import Need
from .types import Plan


@dataclass(frozen=True, kw_only=True)
class PriceLine:
    """One line of an estimate. ``total`` is rounded; ``added`` and ``agreed_by`` are set for what came later."""

    kind: Literal["labour", "part", "material", "extra"]
    what: str
    quantity: str
    total: Decimal
    traces: tuple[str, ...] = ()
    added: date | None = None
    agreed_by: str = ""
    agreed_how: str = ""


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """Lines and sums, all rounded. ``tax_included`` says whether line totals already hold the tax.

    ``gross`` is what the customer pays; ``net`` is it without tax; ``balance`` is what is left after the deposit.
    """

    lines: tuple[PriceLine, ...]
    labour: Decimal
    parts: Decimal
    materials: Decimal
    extras: Decimal
    subtotal: Decimal
    discount: Decimal
    net: Decimal
    tax_name: str
    tax_percent: Decimal
    tax: Decimal
    tax_included: bool
    gross: Decimal
    deposit: Decimal
    balance: Decimal
    valid_until: date
    notes: tuple[str, ...]


def estimate_for(plan: Plan, shop: Shop, stock: Stock, minutes: JobMinutes, needs: Sequence[Need]) -> Estimate:
    """Labour from the likely minutes, parts from their files, materials from the picking list, extras as written."""
    lines: list[PriceLine] = []
    notes: list[str] = []
    vehicles = len(plan.job.registrations)
    rate = parse_money(shop.rates.labour_hour)
    lines.append(
        PriceLine(
            kind="labour",
            what="Fitting" if vehicles == 1 else f"Fitting, {vehicles} vehicles",
            quantity=spoken(minutes.likely),
            total=rounded(minutes.likely / 60 * rate, shop.decimals),
            traces=tuple(o.name for o in minutes.operations),
        )
    )
    by_part = {item.part: item for item in stock.stock.values() if item.part}
    for lead in plan.leads:
        price = lead.price or (by_part[lead.lead].price if lead.lead in by_part else "")
        if not price:
            if lead.side != "vehicle":
                notes.append(f"{lead.title} has no price in its file")
            continue
        lines.append(
            PriceLine(
                kind="part",
                what=lead.title,
                quantity=str(vehicles),
                total=rounded(parse_money(price) * vehicles, shop.decimals),
                traces=(lead.lead,),
            )
        )
    for need in needs:
        item = stock.stock.get(need.item_id)
        if item is None or item.kind == "part":
            continue
        total = rounded(parse_money(item.price) * need.quantity, shop.decimals)
        quantity = f"{need.quantity.normalize():f}" + (" m" if item.unit == "m" else "")
        lines.append(PriceLine(kind="material", what=item.title, quantity=quantity, total=total, traces=need.traces))
    lines += [_extra_line(extra, shop, index) for index, extra in enumerate(plan.job.extras) if extra.price]
    return _summed(tuple(lines), plan, shop, tuple(notes))


def _extra_line(extra: Extra, shop: Shop, index: int) -> PriceLine:
    return PriceLine(
        kind="extra",
        what=extra.what,
        quantity=str(extra.quantity),
        total=rounded(parse_money(extra.price) * extra.quantity, shop.decimals),
        traces=(f"extras[{index}]",),
        added=extra.added,
        agreed_by=extra.agreed_by,
        agreed_how=extra.agreed_how,
    )


def _summed(lines: tuple[PriceLine, ...], plan: Plan, shop: Shop, notes: tuple[str, ...]) -> Estimate:
    def of(kind: str) -> Decimal:
        return sum((line.total for line in lines if line.kind == kind), Decimal(0))

    subtotal = sum((line.total for line in lines), Decimal(0))
    percent = parse_money(shop.tax.percent)
    discount = rounded(subtotal * Decimal(str(plan.job.discount_percent)) / 100, shop.decimals)
    after = subtotal - discount
    tax = tax_on(after, percent, included=shop.tax.included, decimals=shop.decimals)
    gross = after if shop.tax.included else after + tax
    deposit = rounded(parse_money(plan.job.deposit), shop.decimals) if plan.job.deposit else Decimal(0)
    return Estimate(
        lines=lines,
        labour=of("labour"),
        parts=of("part"),
        materials=of("material"),
        extras=of("extra"),
        subtotal=subtotal,
        discount=discount,
        net=gross - tax,
        tax_name=shop.tax.name,
        tax_percent=percent,
        tax=tax,
        tax_included=shop.tax.included,
        gross=gross,
        deposit=deposit,
        balance=gross - deposit,
        valid_until=plan.job.issued + timedelta(days=shop.valid_days),
        notes=notes,
    )


def tax_on(amount: Decimal, percent: Decimal, *, included: bool, decimals: int) -> Decimal:
    """Tax on an amount, or the tax that an amount already holds; rounded once.

    >>> tax_on(Decimal("120.00"), Decimal(20), included=True, decimals=2)
    Decimal('20.00')
    """
    if included:
        return rounded(amount * percent / (100 + percent), decimals)
    return rounded(amount * percent / 100, decimals)
