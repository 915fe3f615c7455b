"""What a job takes from the shelf, counted from its joints, parts, fuses and loom; and what is short."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any

from ..figure import Figure
from ..model.shop import Shop, Stock, StockItem
from ..money import parse_money
from .types import Plan


@dataclass(frozen=True, kw_only=True)
class Need:
    """An item and how much of it: pieces, or metres for what is sold by the metre. ``traces`` name joints and parts.

    ``item_id`` is "" for a thing that stock.yaml does not list. ``waste`` is already in ``quantity``.
    """

    item_id: str
    title: str
    unit: str
    quantity: Decimal
    traces: tuple[str, ...]
    kind: str = ""


@dataclass(frozen=True, kw_only=True)
class Pick:
    """A need against the shelf. ``order`` is a whole number of packs' worth, 0 when enough is on hand."""

    need: Need
    on_hand: Decimal
    short: Decimal
    order: Decimal
    packs: int
    price_each: Decimal


def job_needs(plan: Plan, shop: Shop, stock: Stock) -> tuple[Need, ...]:
    """Everything for all vehicles of a job, sorted by kind and title."""
    vehicles = len(plan.job.registrations)
    waste = 1 + Decimal(str(shop.loom.waste_percent)) / 100
    gathered: dict[str, tuple[Decimal, list[str]]] = {}
    loose: dict[tuple[str, str], tuple[Decimal, list[str]]] = {}

    def add(item_id: str, quantity: Decimal, trace: str) -> None:
        have, traces = gathered.get(item_id, (Decimal(0), []))
        gathered[item_id] = (have + quantity, [*traces, trace])

    def add_loose(title: str, kind: str, trace: str) -> None:
        have, traces = loose.get((title, kind), (Decimal(0), []))
        loose[(title, kind)] = (have + 1, [*traces, trace])

    for joint in plan.joints:
        if joint.item_id:
            add(joint.item_id, Decimal(1), joint.id)
        if joint.sleeve_id and joint.sleeve_cut_mm is not None and joint.sleeve_cut_mm.value is not None:
            metres = Decimal(str(joint.sleeve_cut_mm.value)) / 1000 * waste
            add(joint.sleeve_id, metres, joint.id)
        if joint.method.solder:
            solder = next((name for name, item in sorted(stock.stock.items()) if item.kind == "solder"), "")
            if solder:
                add(solder, Decimal("0.03") * waste, joint.id)
    for called in plan.engineering.get("parts_called_for", ()):
        item_id, quantity, trace = called["item"], Decimal(str(called.get("quantity", 1))), called.get("for", "")
        if item_id in stock.stock:
            add(item_id, quantity, trace)
        else:
            add_loose(called.get("title", item_id), called.get("kind", ""), trace)
    loom: dict[str, Any] = plan.engineering.get("loom", {})
    tape = loom.get("tape_mm")
    if isinstance(tape, Figure) and isinstance(tape.value, (int, float)):
        item = _first(stock, "tape")
        if item:
            add(item, Decimal(str(round(tape.value, 1))) / 1000 * waste, "loom")
    ties = loom.get("ties")
    if isinstance(ties, Figure) and isinstance(ties.value, (int, float)):
        item = _first(stock, "tie")
        if item:
            add(item, Decimal(int(ties.value)), "loom")
    by_part = {item.part: name for name, item in stock.stock.items() if item.part}
    for lead in plan.leads:
        if lead.side == "vehicle" and not lead.price and lead.lead not in by_part:
            continue  # the vehicle's own wiring
        if lead.lead in by_part:
            add(by_part[lead.lead], Decimal(1), lead.lead)
        else:
            add_loose(lead.title, "part", lead.lead)
    needs = [
        Need(
            item_id=name,
            title=stock.stock[name].title,
            unit=stock.stock[name].unit,
            quantity=(quantity * vehicles).quantize(Decimal("0.001"), rounding=ROUND_CEILING),
            traces=tuple(dict.fromkeys(traces)),
            kind=stock.stock[name].kind,
        )
        for name, (quantity, traces) in gathered.items()
        if name in stock.stock
    ]
    needs += [
        Need(item_id="", title=title, unit="each", quantity=quantity * vehicles, traces=tuple(traces), kind=kind)
        for (title, kind), (quantity, traces) in loose.items()
    ]
    return tuple(sorted(needs, key=lambda n: (n.kind, n.title, n.item_id)))


def _first(stock: Stock, kind: str) -> str:
    return next((name for name, item in sorted(stock.stock.items()) if item.kind == kind), "")


def total_needs(needs: Iterable[tuple[str, tuple[Need, ...]]]) -> tuple[Need, ...]:
    """Needs of several jobs added up; traces become ``job:trace``."""
    summed: dict[tuple[str, str, str, str], tuple[Decimal, list[str]]] = {}
    for job, group in needs:
        for need in group:
            key = (need.item_id, need.title, need.unit, need.kind)
            have, traces = summed.get(key, (Decimal(0), []))
            summed[key] = (have + need.quantity, [*traces, *(f"{job}:{t}" for t in need.traces)])
    return tuple(
        Need(item_id=i, title=t, unit=u, kind=k, quantity=quantity, traces=tuple(traces))
        for (i, t, u, k), (quantity, traces) in sorted(summed.items(), key=lambda row: (row[0][3], row[0][1], row[0][0]))
    )


def picks(needs: Iterable[Need], stock: Stock) -> tuple[Pick, ...]:
    """Each need against what is on hand, with whole packs to order."""
    return tuple(_pick(need, stock.stock.get(need.item_id)) for need in needs)


def _pick(need: Need, item: StockItem | None) -> Pick:
    on_hand = Decimal(str(item.on_hand)) if item else Decimal(0)
    short = max(Decimal(0), need.quantity - on_hand)
    pack = item.pack if item else 1
    packs = int((short / pack).to_integral_value(rounding=ROUND_CEILING))
    return Pick(
        need=need,
        on_hand=on_hand,
        short=short,
        order=Decimal(packs * pack),
        packs=packs,
        price_each=parse_money(item.price) if item else Decimal(0),
    )
