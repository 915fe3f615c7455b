"""What a job takes from the shelf, counted from its joints, parts, ready ends, fuses and loom; and what is short.

What is sold by the metre is counted from the cut list: every piece with its measured length, then the shop's waste once on
top. What is sold by the piece has no waste.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from operator import itemgetter
from typing import Any

from ..figure import Figure
from ..model.shop import Shop, Stock, StockItem
from ..money import parse_money
from ..problems import Location, Problem, Severity, few
from .bench_checks import is_laid
from .kept import REFERENCES, kept
from .types import Plan

SOLDER_MM = Decimal(30)  # of solder wire a joint; common practice, no source
READY_END = "ready-end"
TOOL = "tool"
SUNDRIES: Mapping[str, str] = {
    "stud": "Insulated stud with cover",
    "coat": "Rust coat for a ground",
    "grommet": "Grommet for the cable from the battery",
}
"""What joints and laid cables take besides connectors, by kind of shelf item, in words where the shelf lists none."""


@dataclass(frozen=True, kw_only=True)
class Cut:
    """A piece that is cut from something sold by the metre, for one vehicle. ``trace`` is a joint, a spare or the loom."""

    item_id: str
    title: str
    trace: str
    length_mm: Decimal
    pieces: int = 1
    what: str = ""

    @property
    def total_mm(self) -> Decimal:
        return self.length_mm * self.pieces


@dataclass(frozen=True, kw_only=True)
class Need:
    """An item and how much of it: pieces, or metres for what is sold by the metre. ``traces`` name joints and parts.

    ``item_id`` is "" for a thing that stock.yaml does not list. ``waste`` is already in ``quantity``. ``comes_with``
    names the parts a ready end is on: it is looked for in their bags, and nothing is taken from the shelf.
    """

    item_id: str
    title: str
    unit: str
    quantity: Decimal
    traces: tuple[str, ...]
    kind: str = ""
    comes_with: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Pick:
    """A need against the shelf. ``order`` is a whole number of packs' worth, 0 when enough is on hand."""

    need: Need
    on_hand: Decimal
    short: Decimal
    order: Decimal
    packs: int
    price_each: Decimal
    listed: bool = True  # stock.yaml has it


# --- one job -----------------------------------------------------------------------------------------------------


def cut_list(plan: Plan, stock: Stock) -> tuple[Cut, ...]:
    """Every piece to cut for one vehicle: sleeves of joints and spares, solder, tape. Without waste."""
    cuts: list[Cut] = []

    def cut(item_id: str, trace: str, length_mm: Decimal, what: str) -> None:
        if item_id in stock.stock and length_mm > 0:
            cuts.append(
                Cut(item_id=item_id, title=stock.stock[item_id].title, trace=trace, length_mm=length_mm, what=what)
            )

    solder = _first(stock, "solder")
    for joint in plan.joints:
        length = _number(joint.sleeve_cut_mm)
        if joint.sleeve_id and length is not None:
            cut(joint.sleeve_id, joint.id, length, "sleeve over the joint")
        if joint.method.solder:
            cut(solder, joint.id, SOLDER_MM, "solder")
    for cap in _rows(_loom(plan).get("caps")):
        length = _number(cap.get("cut_mm"))
        if length is not None:
            cut(str(cap.get("sleeve", "")), str(cap.get("spare", "")), length, "cap of a spare")
    for loom in _rows(_loom(plan).get("looms")):
        tape = _number(loom.get("tape_mm"))
        if tape is not None:
            whole = tape.to_integral_value(rounding=ROUND_CEILING)
            cut(_first(stock, "tape"), f"loom of {loom.get('from', '')}", whole, "tape round the loom")
    return tuple(cuts)


def job_needs(
    plan: Plan, shop: Shop, stock: Stock, vehicles: int | None = None, *, cuts: tuple[Cut, ...] | None = None
) -> tuple[Need, ...]:
    """Everything for all vehicles of a job, or for so many of them; sorted by kind and title.

    ``cuts`` is the job's cut list, where it is worked out already.
    """
    vehicles = len(plan.job.registrations) if vehicles is None else vehicles
    counted = _Counted()
    for joint in plan.joints:
        if joint.item_id:
            counted.add(joint.item_id, Decimal(max(1, joint.items)), joint.id)
    for kind, trace in _taken_by_joints(plan):
        if _first(stock, kind):
            counted.add(_first(stock, kind), Decimal(1), trace)
        else:
            counted.add_loose(SUNDRIES[kind], "called-for", Decimal(1), trace)
    for called in _rows(plan.engineering.get("parts_called_for")):
        item_id, trace = str(called.get("item", "")), str(called.get("circuit", ""))
        quantity = Decimal(str(called.get("quantity", 1)))
        if item_id in stock.stock:
            counted.add(item_id, quantity, trace)
        else:
            counted.add_loose(str(called.get("what", item_id)), "called-for", quantity, trace)
    ties = _number(_loom(plan).get("ties"))
    if ties is not None and _first(stock, "tie"):
        counted.add(_first(stock, "tie"), ties, "loom")
    by_part = {item.part: name for name, item in stock.stock.items() if item.part}
    for lead in plan.leads:
        if lead.lead in by_part:
            counted.add(by_part[lead.lead], Decimal(1), lead.lead)
        elif lead.side != "vehicle" or lead.price:
            counted.add_loose(lead.title, "part", Decimal(1), lead.lead)
        # else it is the vehicle's own wiring
    tools: dict[str, Decimal] = {}
    for index, taken in enumerate(plan.job.takes):
        item, quantity = stock.stock.get(taken.item), Decimal(str(taken.quantity))
        if item is None:
            counted.add_loose(taken.item, "", quantity, f"takes[{index}]")
        elif item.kind == TOOL:
            tools[taken.item] = max(tools.get(taken.item, Decimal(0)), quantity)
        else:
            counted.add(taken.item, quantity, f"takes[{index}]")

    waste = 1 + Decimal(str(shop.loom.waste_percent)) / 100
    for cut in cut_list(plan, stock) if cuts is None else cuts:
        in_units = cut.total_mm / 1000 if stock.stock[cut.item_id].unit == "m" else Decimal(cut.pieces)
        counted.add(cut.item_id, in_units * (waste if stock.stock[cut.item_id].unit == "m" else 1), cut.trace)

    needs = [
        _need(stock, name, quantity * vehicles, tuple(dict.fromkeys(traces)))
        for name, (quantity, traces) in counted.items.items()
    ]
    needs += [_need(stock, name, quantity, ("tool",)) for name, quantity in tools.items()]
    needs += [
        Need(item_id="", title=title, unit="each", quantity=quantity * vehicles, traces=tuple(traces), kind=kind)
        for (title, kind), (quantity, traces) in counted.loose.items()
    ]
    needs += _ready_ends(plan, vehicles)
    return tuple(sorted(needs, key=lambda n: (n.kind, n.title, n.item_id)))


class _Counted:
    """Quantities and traces as they are gathered: by item of the shelf, and by title for what the shelf does not list."""

    def __init__(self) -> None:
        self.items: dict[str, tuple[Decimal, list[str]]] = {}
        self.loose: dict[tuple[str, str], tuple[Decimal, list[str]]] = {}

    def add(self, item_id: str, quantity: Decimal, trace: str) -> None:
        have, traces = self.items.get(item_id, (Decimal(0), []))
        traces.append(trace)
        self.items[item_id] = (have + quantity, traces)

    def add_loose(self, title: str, kind: str, quantity: Decimal, trace: str) -> None:
        have, traces = self.loose.get((title, kind), (Decimal(0), []))
        traces.append(trace)
        self.loose[title, kind] = (have + quantity, traces)


def _need(stock: Stock, name: str, quantity: Decimal, traces: tuple[str, ...]) -> Need:
    item = stock.stock[name]
    step = Decimal("0.001") if item.unit == "m" else Decimal(1)
    return Need(
        item_id=name,
        title=item.title,
        unit=item.unit,
        quantity=quantity.quantize(step, rounding=ROUND_CEILING),
        traces=traces,
        kind=item.kind,
    )


def _ready_ends(plan: Plan, vehicles: int) -> list[Need]:
    """Connections that mate as they are: looked for in the bags of the parts that bring them."""
    out = []
    for circuit in plan.circuits:
        if circuit.outcome == "mated":
            types = " to ".join(end.type.title if end.type else end.end.type for end in circuit.ends)
            out.append(
                Need(
                    item_id="",
                    title=f"{circuit.title}: {types}",
                    unit="each",
                    quantity=Decimal(vehicles),
                    traces=(circuit.id,),
                    kind=READY_END,
                    comes_with=tuple(dict.fromkeys(end.lead.lead for end in circuit.ends)),
                )
            )
    return out


def _taken_by_joints(plan: Plan) -> list[tuple[str, str]]:
    """Kind and circuit of what a joint's own steps take, and a grommet for every supply that is laid through the vehicle."""
    circuits = {c.id: c for c in plan.circuits}
    out = [
        (step.takes, joint.id)
        for joint in plan.joints
        for step in joint.method.steps
        if step.takes and step.only in (None, circuits[joint.circuit].group)
    ]
    return out + [("grommet", c.id) for c in plan.circuits if c.made and is_laid(c) and c.group == "supply"]


def _first(stock: Stock, kind: str) -> str:
    return _firsts(stock).get(kind, "")


@kept(REFERENCES)
def _firsts(stock: Stock) -> dict[str, str]:
    """By kind: the first item of it by name."""
    return {item.kind: name for name, item in sorted(stock.stock.items(), reverse=True)}


def _loom(plan: Plan) -> Mapping[str, Any]:
    loom = plan.engineering.get("loom")
    return loom if isinstance(loom, Mapping) else {}


def _rows(value: Any) -> list[Mapping[str, Any]]:
    return [row for row in value if isinstance(row, Mapping)] if isinstance(value, (list, tuple)) else []


def _number(value: Any) -> Decimal | None:
    """The number of a figure, or a bare number, as an exact decimal of its printed form."""
    bare = value.value if isinstance(value, Figure) else value
    if isinstance(bare, bool) or not isinstance(bare, (int, float)):
        return None
    return Decimal(str(bare))


# --- several jobs, and the shelf ---------------------------------------------------------------------------------


def open_plans(plans: Iterable[Plan]) -> tuple[Plan, ...]:
    """The jobs that still take something from the shelf: those with a vehicle that is not verified."""
    return tuple(p for p in plans if any(s.state != "verified" for s in p.states))


def still_needed(plan: Plan, shop: Shop, stock: Stock, *, cuts: tuple[Cut, ...] | None = None) -> tuple[Need, ...]:
    """What a job has yet to take from the shelf: for its vehicles that are not verified. A verified one has its parts."""
    waiting = sum(s.state != "verified" for s in plan.states)
    return job_needs(plan, shop, stock, waiting, cuts=cuts) if waiting else ()


def total_needs(needs: Iterable[tuple[str, tuple[Need, ...]]]) -> tuple[Need, ...]:
    """Needs of several jobs added up; traces become ``job:trace``. A tool serves one job after the other."""
    wanted: dict[tuple[str, str, str, str], list[tuple[str, Need]]] = {}
    for job, group in needs:
        for need in group:
            wanted.setdefault((need.kind, need.title, need.item_id, need.unit), []).append((job, need))
    return tuple(
        Need(
            item_id=item_id,
            title=title,
            unit=unit,
            kind=kind,
            quantity=max(need.quantity for _, need in same)
            if kind == TOOL
            else sum((need.quantity for _, need in same), Decimal(0)),
            traces=tuple(f"{job}:{trace}" for job, need in same for trace in need.traces),
            comes_with=tuple(dict.fromkeys(part for _, need in same for part in need.comes_with)),
        )
        for (kind, title, item_id, unit), same in sorted(wanted.items(), key=itemgetter(0))
    )


def picks(needs: Iterable[Need], stock: Stock, still: Iterable[Need] | None = None) -> tuple[Pick, ...]:
    """Each need against what is on hand, with whole packs or reels to order.

    ``still`` is what has yet to be taken, where some of it is in the vehicles already: only that can be short.
    """
    waiting = None if still is None else {(n.item_id, n.title): n.quantity for n in still}
    return tuple(
        _pick(
            need,
            stock.stock.get(need.item_id),
            need.quantity if waiting is None else waiting.get((need.item_id, need.title), Decimal(0)),
        )
        for need in needs
    )


def _pick(need: Need, item: StockItem | None, still: Decimal) -> Pick:
    on_hand = Decimal(f"{item.on_hand:.10g}") if item else Decimal(0)
    short = Decimal(0) if need.comes_with else max(Decimal(0), still - on_hand)
    pack = max(1, item.pack) if item else 1
    packs = int((short / pack).to_integral_value(rounding=ROUND_CEILING))
    return Pick(
        need=need,
        on_hand=on_hand,
        short=short,
        order=Decimal(packs * pack),
        packs=packs,
        price_each=parse_money(item.price) if item else Decimal(0),
        listed=item is not None,
    )


def stock_problems(plan: Plan, found: Sequence[Pick], place: Callable[..., Location]) -> tuple[Problem, ...]:
    """A warning for each listed item of which the job has yet to take more than is on hand."""
    return tuple(
        _short(
            f"{pick.need.title}: {amount(pick.short + pick.on_hand, pick.need.unit)} wanted,"
            f" {amount(pick.on_hand, pick.need.unit)} on hand",
            pick,
            _place_of(pick.need, plan, place),
            plan.job.job,
        )
        for pick in found
        if pick.listed and pick.short > 0
    )


def shelf_problems(
    needs: Iterable[tuple[str, tuple[Need, ...]]], stock: Stock, place: Callable[..., Location]
) -> tuple[Problem, ...]:
    """A warning for each item that several open jobs want, and of which there is not enough for all of them.

    ``needs`` are what each job has yet to take, by its number; ``place`` gives places in stock.yaml.
    """
    groups = list(needs)
    wanting: dict[str, list[str]] = {}
    for job, group in groups:
        for need in group:
            wanting.setdefault(need.item_id, []).append(job)
    return tuple(
        _short(
            f"{pick.need.title}: {amount(pick.need.quantity, pick.need.unit)} wanted by jobs"
            f" {few(wanting[pick.need.item_id])} together, {amount(pick.on_hand, pick.need.unit)} on hand",
            pick,
            place("stock", pick.need.item_id, key=True),
            "",
        )
        for pick in picks(total_needs(groups), stock)
        if pick.listed and pick.short > 0 and len(wanting[pick.need.item_id]) > 1
    )


def _short(message: str, pick: Pick, where: Location, job: str) -> Problem:
    packs = f" ({pick.packs} pack{'s' if pick.packs > 1 else ''})" if pick.order != pick.packs else ""
    return Problem(
        code="short-of-stock",
        severity=Severity.WARNING,
        message=message,
        hint=f"order {amount(pick.order, pick.need.unit)}{packs}",
        location=where,
        job=job,
    )


def _place_of(need: Need, plan: Plan, place: Callable[..., Location]) -> Location:
    """Where the job asks for it: its own line under takes, its line among the parts, or the parts as a whole."""
    for index, taken in enumerate(plan.job.takes):
        if taken.item == need.item_id:
            return place("takes", index)
    for trace in need.traces:
        if trace in plan.job.parts:
            return place("parts", plan.job.parts.index(trace))
    return place("parts")


def amount(quantity: Decimal, unit: str) -> str:
    """A quantity as people read it: "3", "1.25 m".

    >>> amount(Decimal("1.250"), "m"), amount(Decimal("3"), "each")
    ('1.25 m', '3')
    """
    text = f"{quantity:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text} m" if unit == "m" else text


PICK_HEADER = ("kind", "item", "title", "wanted", "unit", "on hand", "short", "order", "packs", "for", "comes with")
CUT_HEADER = ("for", "what", "item", "title", "length mm", "pieces a vehicle", "vehicles", "pieces in all")

Row = tuple[str | int | Decimal, ...]


def pick_rows(found: Sequence[Pick]) -> tuple[Row, ...]:
    """The picking list as a table for a spreadsheet."""
    return tuple(
        (
            p.need.kind,
            p.need.item_id,
            p.need.title,
            p.need.quantity,
            p.need.unit,
            p.on_hand,
            p.short,
            p.order,
            p.packs,
            ", ".join(p.need.traces),
            ", ".join(p.need.comes_with),
        )
        for p in found
    )


def cut_rows(cuts: Sequence[Cut], vehicles: int) -> tuple[Row, ...]:
    """The cut list as a table for a spreadsheet."""
    return tuple(
        (c.trace, c.what, c.item_id, c.title, c.length_mm, c.pieces, vehicles, c.pieces * vehicles) for c in cuts
    )
