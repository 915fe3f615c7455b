"""A job as the workshop sees it: minutes, cut list, picking list, price. One place that puts the four together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from ..model.shop import Shop, Stock
from ..problems import Location, Problem
from ..units import UnitError
from .minutes import JobMinutes, job_minutes
from .picking import Cut, Need, Pick, cut_list, job_needs, picks, still_needed, stock_problems
from .price import Authorised, Estimate, PriceLine, authorised, estimate_for, left_out_problems, price_problems
from .types import Plan


@dataclass(frozen=True, kw_only=True)
class Workshop:
    """Minutes, cuts for one vehicle, needs of the whole job and what of them is short, price, and what was agreed.

    ``waiting`` is what has yet to be taken from the shelf, for the vehicles that are not verified.
    ``estimate`` is None where a price or a tax in the files cannot be used: then nothing is added up at all.
    """

    minutes: JobMinutes
    cuts: tuple[Cut, ...]
    needs: tuple[Need, ...]
    picks: tuple[Pick, ...]
    estimate: Estimate | None
    authorised: Authorised | None
    waiting: tuple[Need, ...] = ()


def workshop_of(plan: Plan, shop: Shop, stock: Stock) -> Workshop:
    """Worked out from a plan, the shop's settings and its stock."""
    minutes = job_minutes(plan, shop)
    cuts = cut_list(plan, stock)
    needs = job_needs(plan, shop, stock, cuts=cuts)
    every = all(s.state != "verified" for s in plan.states)
    waiting = needs if every else still_needed(plan, shop, stock, cuts=cuts)
    estimate: Estimate | None
    try:
        found = picks(needs, stock, waiting)
        estimate = estimate_for(plan, shop, stock, minutes, needs)
    except (UnitError, KeyError):  # an amount or a tax that the rules have refused already
        found, estimate = (), None
    return Workshop(
        minutes=minutes,
        cuts=cuts,
        needs=needs,
        picks=found,
        estimate=estimate,
        authorised=authorised(plan.job, estimate) if estimate else None,
        waiting=waiting,
    )


def workshop_problems(
    plan: Plan,
    work: Workshop,
    shop: Shop,
    stock: Stock | None,
    place: Callable[..., Location],
    shop_place: Callable[..., Location],
    part_place: Callable[[str], Location],
) -> tuple[Problem, ...]:
    """What is short on the shelf, where the price is beyond what was agreed, and what is in no price.

    ``place`` gives places in the job's file, ``shop_place`` in shop.yaml, ``part_place`` that of a part's price.
    """
    if work.estimate is None:
        return ()
    short = stock_problems(plan, work.picks, place) if stock is not None else ()
    out = left_out_problems(plan, shop, stock or Stock(), work.minutes, shop_place, part_place)
    return (*short, *price_problems(plan.job, work.estimate, shop, place), *out)


NO_WORKSHOP: dict[str, Any] = {"minutes": None, "cut_list": [], "picking": [], "price": None}
"""What stands in ``plan --json`` for a plan that was made without a shop."""


def workshop_json(work: Workshop) -> dict[str, Any]:
    """The keys that ``plan --json`` gains: minutes, cut_list, picking, price. Money as text, so that no cent is lost."""
    m = work.minutes
    return {
        "minutes": {
            "set_up": float(m.set_up),
            "first_vehicle": float(m.first),
            "further_vehicle": float(m.repeat),
            "once": float(m.once),
            "vehicles": m.vehicles,
            "low": float(m.low),
            "likely": float(m.likely),
            "high": float(m.high),
            "operations": [
                {
                    "operation": o.name,
                    "title": o.title,
                    "count": float(o.count),
                    "each": float(o.each),
                    "minutes": float(o.minutes),
                    "once": o.once,
                    "for": list(o.traces),
                }
                for o in m.operations
            ],
            "drivers": list(m.drivers),
            "missing": list(m.missing),
        },
        "cut_list": [
            {
                "for": c.trace,
                "what": c.what,
                "item": c.item_id,
                "length_mm": float(c.length_mm),
                "pieces": c.pieces,
            }
            for c in work.cuts
        ],
        "picking": [
            {
                "item": p.need.item_id,
                "title": p.need.title,
                "kind": p.need.kind,
                "unit": p.need.unit,
                "wanted": float(p.need.quantity),
                "on_hand": float(p.on_hand),
                "short": float(p.short),
                "order": float(p.order),
                "packs": p.packs,
                "for": list(p.need.traces),
                "comes_with": list(p.need.comes_with),
            }
            for p in work.picks
        ],
        "price": _price_json(work),
    }


def _price_json(work: Workshop) -> dict[str, Any] | None:
    e = work.estimate
    if e is None:
        return None
    agreed = work.authorised
    return {
        "lines": [
            {
                "kind": line.kind,
                "what": line.what,
                "quantity": line.quantity,
                "total": str(line.total),
                "tax": line.tax,
                "for": list(line.traces),
                "added": line.added.isoformat() if line.added else None,
                "agreed_by": line.agreed_by,
                "agreed_on": line.agreed_on.isoformat() if line.agreed_on else None,
            }
            for line in e.lines
        ],
        "subtotal": str(e.subtotal),
        "discount": str(e.discount),
        "taxes": [
            {"name": t.name, "percent": str(t.percent), "on": str(t.base), "tax": str(t.amount)} for t in e.taxes
        ],
        "tax_included": e.tax_included,
        "net": str(e.net),
        "rounding": str(e.rounding),
        "gross": str(e.gross),
        "deposit": str(e.deposit),
        "balance": str(e.balance),
        "valid_until": e.valid_until.isoformat(),
        "agreed": str(agreed.amount) if agreed and agreed.amount is not None else None,
        "notes": list(e.notes),
    }


def _agreed(line: PriceLine) -> str:
    """What is said after a line that came after the go-ahead."""
    if line.added is None:
        return ""
    if not line.agreed_by:
        return f" (added {line.added.isoformat()}, nobody has agreed yet)"
    how = f", {line.agreed_how}" if line.agreed_how else ""
    on = f", {line.agreed_on.isoformat()}" if line.agreed_on else ""
    return f" (added {line.added.isoformat()}, agreed by {line.agreed_by}{how}{on})"


def workshop_text(work: Workshop, shop: Shop) -> str:
    """For the end of ``loomleaf plan``: time with its range, price, what is short."""
    from ..money import shown
    from .minutes import plain, spoken
    from .picking import amount

    m = work.minutes
    lines = ["", f"Time: {spoken(m.likely)} ({spoken(m.low)} to {spoken(m.high)})"]
    lines += [f"  {o.title}: {plain(o.count)} × {plain(o.each)} min" for o in m.operations]
    lines.append(f"  Set-up: {plain(m.set_up)} min")
    if m.vehicles > 1:
        lines.append(f"  {m.vehicles} vehicles: the first {plain(m.first)} min, each further one {plain(m.repeat)} min")
    if m.drivers:
        lines.append("  What it hangs on:")
        lines += [f"    {line}" for line in m.drivers]
    e = work.estimate
    if e is not None:

        def money(value: Decimal) -> str:
            return shown(value, shop.currency, shop.decimals).replace("\u202f", " ")

        lines += ["", f"Price: {money(e.gross)}, valid until {e.valid_until.isoformat()}"]
        for line in e.lines:
            if line.kind != "material":
                about = "about " if line.kind == "labour" else ""
                lines.append(f"  {line.what}, {about}{line.quantity}: {money(line.total)}{_agreed(line)}")
        if e.materials:
            lines.append(f"  Small materials, {sum(x.kind == 'material' for x in e.lines)} kinds: {money(e.materials)}")
        if e.discount:
            lines.append(f"  Discount, {plain(e.discount_percent)} %: {money(-e.discount)}")
        for tax in e.taxes:
            rate = f"{tax.title}, {plain(tax.percent)} %"
            if e.tax_included:
                lines.append(f"  in it {rate}: {money(tax.amount)}; without it {money(tax.base - tax.amount)}")
            else:
                lines.append(f"  {rate} of {money(tax.base)}: {money(tax.amount)}")
        if e.rounding:
            lines.append(f"  Rounding: {money(e.rounding)}")
        if e.deposit:
            lines.append(f"  Deposit: {money(-e.deposit)}; still to pay: {money(e.balance)}")
        if work.authorised and work.authorised.amount is not None:
            words = " + ".join(money(amount) for amount in work.authorised.amounts)
            several = len(work.authorised.amounts) > 1
            lines.append(f"  Agreed: {money(work.authorised.amount)}" + (f", every word added: {words}" if several else ""))
    short = [p for p in work.picks if p.short > 0]
    if short:
        lines += ["", "To order"]
        for p in short:
            said = amount(p.order, p.need.unit)
            lines.append(f"  {p.need.title}: {said}" + ("" if p.listed else " (not in stock.yaml)"))
    return "\n".join(lines) + "\n"
