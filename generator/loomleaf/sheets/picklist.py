"""What a job takes from the shelf, as a list to tick: how much of each thing, where it is looked for, what is short."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from ..plan.picking import READY_END, TOOL, Pick, amount
from ..plan.types import Plan

FIRST, LAST = TOOL, READY_END
"""Tools are fetched first; ready ends come in the bags of parts and are looked for last."""


@dataclass(frozen=True, kw_only=True)
class PickView:
    """One thing to fetch. ``note`` says what is special about it, "" for nothing."""

    what: str
    quantity: str
    note: str


def pick_list(plan: Plan) -> tuple[PickView, ...]:
    """Every need of the job for all its vehicles; empty where the plan was made without a shop."""
    work = plan.workshop
    if work is None:
        return ()
    found = sorted(work.picks, key=lambda p: (p.need.kind != FIRST, p.need.kind == LAST, p.need.kind, p.need.title))
    return tuple(PickView(what=p.need.title, quantity=_fetched(p), note=_note(plan, p)) for p in found)


def _fetched(pick: Pick) -> str:
    """A quantity for the hand: lengths up to the next whole centimetre."""
    quantity = pick.need.quantity
    if pick.need.unit == "m":
        quantity = quantity.quantize(Decimal("0.01"), rounding=ROUND_CEILING)
    return amount(quantity, pick.need.unit)


def _note(plan: Plan, pick: Pick) -> str:
    if pick.short > 0:
        on_hand = amount(pick.on_hand, pick.need.unit)
        listed = f"short: {on_hand} on hand, order {amount(pick.order, pick.need.unit)}"
        return listed if pick.listed else "not in the stock list"
    if pick.need.comes_with:
        titles = {lead.lead: lead.title for lead in plan.leads}
        return "with " + ", ".join(titles.get(name, name) for name in pick.need.comes_with)
    if pick.need.kind == TOOL:
        return "tool, comes back"
    return "" if pick.listed else "not in the stock list"
