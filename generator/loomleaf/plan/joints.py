"""How each circuit's tails are joined: method, item from stock, strip and sleeve lengths, what a sample must hold.

The job's wish counts first, by function, then by group, then its default; what does not fit is passed over with its
reason. What is too thin, of aluminium or of copper alloy for ordinary connectors is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..calc.answer import Basis, known_by, on
from ..calc.bundle import bundle_diameter_mm
from ..calc.joint import equivalent_gauge, pull_newtons
from ..calc.sleeve import choose_sleeve, cut_length_mm, grips, passes
from ..calc.tables import JointMethod, Sleeve, Tables
from ..figure import Figure, Standing, number
from ..model.job import Job
from ..model.reference import JoiningMethod
from ..model.shop import StockItem
from ..units import CMIL_MM2, Size, awg_area_mm2, gauge_text
from .changed import changed
from .context import Context, Findings, PartCalled, as_float, missing
from .types import Circuit, JobTail, Joint, Spare

FALLBACK = (
    "butt-connector",
    "solder-and-sleeve",
    "solder-twist-and-sleeve",
    "closed-end-connector",
    "lined-sleeve-butt",
)
ITEM_KINDS = ("crimp", "closed-end", "terminal")
STOCK_KINDS = ("connector", "closed-end", "terminal")
LEAST_LAP = 3.0  # conductor diameters of a soldered lap (NASA-STD-8739.4: 3 to 6)
SLEEVE_WALL_MM = 0.6  # of a recovered sleeve; common practice, no source: measure the one on the shelf
CAP_PAST_MM = 10.0  # a cap stands past the copper by this much; common practice, no source
_EDGE = 1e-3  # of a size: hints round to three places, and what a hint says must fit


@dataclass(frozen=True, kw_only=True)
class Shape:
    """How much room a joint takes in the loom, in mm."""

    length_mm: float
    diameter_mm: float


@dataclass(frozen=True, kw_only=True)
class Cap:
    """The sleeve that caps one spare."""

    spare: str
    tail: str
    sleeve_id: str
    sleeve_title: str
    cut_mm: Figure


@dataclass(frozen=True, kw_only=True)
class Jointing:
    """Every joint in the circuits' order, the room each takes, the caps of the spares, and parts called for."""

    joints: tuple[Joint, ...]
    shapes: Mapping[str, Shape]
    caps: tuple[Cap, ...]
    parts: tuple[PartCalled, ...]


@dataclass(frozen=True, kw_only=True)
class _Item:
    """A connector that may be chosen: from stock, or from the tables where a shop keeps no stock file."""

    id: str
    title: str
    low_mm2: float
    high_mm2: float
    strip_mm: float | None
    length_mm: float | None
    outside_mm: float | None
    lined: bool
    basis: Basis


@dataclass(frozen=True, kw_only=True)
class _Made:
    """A method that fits, with what it is made of."""

    name: str
    method: JoiningMethod
    item: _Item | None = None
    sleeve: tuple[str, str, Sleeve] | None = None  # stock id, title, row of the sleeve table
    over_mm: float = 0.0  # the widest thing in the joint, 0 where it is not known
    grip_mm: float = 0.0
    strip: Figure | None = None
    remark: str = ""


def joints_for(context: Context, found: Findings) -> Jointing:
    """One joint for every made circuit, and one cap for every spare."""
    joints: list[Joint] = []
    shapes: dict[str, Shape] = {}
    parts: list[PartCalled] = []
    for circuit in context.made:
        joint, shape = _joint(context, circuit, found)
        if joint is None:
            continue
        joints.append(joint)
        if shape is not None:
            shapes[joint.id] = shape
        parts += _combining(context, circuit)
    caps = tuple(cap for spare in context.spares if (cap := _cap(context, spare, found)) is not None)
    return Jointing(joints=tuple(joints), shapes=shapes, caps=caps, parts=tuple(parts))


# --- one circuit -------------------------------------------------------------------------------------------------


def _joint(context: Context, circuit: Circuit, found: Findings) -> tuple[Joint | None, Shape | None]:
    name = f"{circuit.id} {circuit.title}"
    unknown = [t for t in circuit.tails if t.tail.size is None]
    if unknown:
        for tail in unknown:
            found.problems.append(
                context.hold(
                    "size-missing",
                    f"{name}: the size of {tail.name} is not stated, so no joint, strip length or fuse can be worked out",
                    context.tail_place(tail),
                    hint="add  size: …, measured or from the leaflet",
                )
            )
        return _unsized(context, circuit, unknown), None
    chosen, why, passed = choose(context, circuit)
    if chosen is None:
        found.problems.append(
            context.hold(
                "no-joint-fits",
                f"{name}: no joint fits {_tails_text(circuit)} ({_first(passed)})",
                context.job_place("joining"),
                hint=what_to_stock(context, circuit),
            )
        )
        return None, None
    bare = as_float(chosen.strip)
    cut = None
    if chosen.sleeve is not None:
        cut = _cut(context, chosen, bare or 0.0)
    smallest = min((_size(t) for t in circuit.tails), key=lambda size: size.area_mm2)
    pull = None
    if chosen.method.kind in ITEM_KINDS:
        pull = context.once(("pull", smallest.written), lambda: pull_newtons(smallest, context.tables))
        pull = pull or missing("N", f"no row for {smallest.short}")
    item = chosen.item
    total_mm2, total_cmil, equivalent = context.once(("totals", *_sizes_key(circuit)), lambda: _totals(circuit))
    joint = Joint(
        id=circuit.id,
        circuit=circuit.id,
        title=circuit.title,
        tails=tuple(t.name for t in circuit.tails),
        method_id=chosen.name,
        method=chosen.method,
        place=", ".join(context.job.places),
        total_mm2=total_mm2,
        total_cmil=total_cmil,
        equivalent=equivalent,
        item_id=item.id if item else "",
        item_title=item.title if item else "",
        items=(len(circuit.tails) if chosen.method.kind == "terminal" else 1) if item else 0,
        strip_mm=chosen.strip,
        sleeve_id=chosen.sleeve[0] if chosen.sleeve else "",
        sleeve_title=chosen.sleeve[1] if chosen.sleeve else "",
        sleeve_cut_mm=cut,
        pull_n=pull,
        why="; ".join(filter(None, (why, chosen.remark, _combine_remark(circuit)))),
        layout=_layout(context, circuit, chosen),
        instead_of=_instead_of(context, circuit, chosen, passed),
        passed_over=passed,
    )
    return joint, _shape(context, chosen, bare or 0.0)


def _first(passed: Sequence[str], shown: int = 3) -> str:
    """The first few reasons, and how many more methods there were."""
    more = f"; {len(passed) - shown} more methods do not fit either" if len(passed) > shown else ""
    return "; ".join(passed[:shown]) + more


def _unsized(context: Context, circuit: Circuit, unknown: Sequence[JobTail]) -> Joint | None:
    wish = _wish(context.job, circuit)
    method = context.reference.methods.get(wish) or context.reference.methods.get(FALLBACK[0])
    if method is None:
        return None
    why = f"the size of {', '.join(t.name for t in unknown)} is not stated"
    return Joint(
        id=circuit.id,
        circuit=circuit.id,
        title=circuit.title,
        tails=tuple(t.name for t in circuit.tails),
        method_id=wish if wish in context.reference.methods else FALLBACK[0],
        method=method,
        place=", ".join(context.job.places),
        total_mm2=missing("mm²", why),
        total_cmil=missing("cmil", why),
        why=why,
    )


def _size(tail: JobTail) -> Size:
    assert tail.tail.size is not None
    return tail.tail.size


def _sizes_key(circuit: Circuit) -> tuple[Any, ...]:
    """The sizes of a circuit's tails, drivers and takers apart."""
    return tuple(_size(t).written for t in circuit.drivers), tuple(_size(t).written for t in circuit.takers)


def _tails_text(circuit: Circuit) -> str:
    return " and ".join(f"{t.name} ({_size(t).short})" for t in circuit.tails)


def _totals(circuit: Circuit) -> tuple[Figure, Figure, Figure]:
    """Total area in mm² and circular mils, and as a gauge, rounded up."""
    sizes = [_size(t) for t in circuit.tails]
    total, cmil = sum(s.area_mm2 for s in sizes), sum(s.area_cmil for s in sizes)
    area, up = known_by("astm-b258"), known_by("nasa-8739-4")
    gauge = equivalent_gauge(total)
    rounded = f"{number(cmil)} cmil is above 4/0 AWG"
    if gauge is not None:
        rounded = f"{number(cmil)} cmil, rounded up to the next gauge ({number(awg_area_mm2(gauge) / CMIL_MM2)} cmil)"
    return (
        area.figure(total, "mm²", " + ".join(number(s.area_mm2) for s in sizes) + f" = {number(total)} mm²"),
        area.figure(cmil, "cmil", " + ".join(number(s.area_cmil) for s in sizes) + f" = {number(cmil)} cmil"),
        up.figure(gauge_text(gauge) if gauge is not None else None, "", rounded),
    )


# --- choosing ----------------------------------------------------------------------------------------------------


def _wish(job: Job, circuit: Circuit) -> str:
    return job.joining.get(circuit.function_id) or job.joining.get(circuit.group) or job.joining.get("default") or ""


def _layout(context: Context, circuit: Circuit, chosen: _Made) -> str:
    """ "A.4 in one end; M.1 and B.2 in the other": the widest alone, as its range was worked out."""
    own = next((m for m in context.tables.joint_methods if m.name == chosen.name), None)
    if own is None or own.rule != "barrels" or len(circuit.tails) < 3:
        return ""
    widest = max(circuit.tails, key=lambda t: _size(t).area_mm2)
    rest = [t.name for t in circuit.tails if t is not widest]
    return f"{widest.name} in one end, {', '.join(rest[:-1])} and {rest[-1]} in the other"


def _instead_of(context: Context, circuit: Circuit, chosen: _Made, passed: Sequence[str]) -> str:
    """What the job asked for and why it was not taken; "" where it was, or where a terminal on a tail decides."""
    asked = _wish(context.job, circuit)
    if asked in ("", chosen.name) or chosen.method.kind == "terminal":
        return ""
    title = context.reference.methods[asked].title if asked in context.reference.methods else ""
    return next((words for words in passed if title and words.startswith(f"{title}: ")), "")


def choose(context: Context, circuit: Circuit) -> tuple[_Made | None, str, tuple[str, ...]]:
    """The method with what it is made of, why it was chosen, and what was passed over with its reason."""
    methods = context.reference.methods
    ring = next((t.tail.terminal for t in circuit.tails if t.tail.terminal), None)
    wish = _wish(context.job, circuit)
    if ring is not None and ring in methods:
        order = [ring]
        wish = ring
    else:
        order = [name for name in dict.fromkeys((wish, *FALLBACK, *sorted(methods))) if name in methods]
    passed: list[str] = []
    for name in order:
        method = methods[name]
        if method.kind in ("plug-in", "sleeve") or (method.kind == "terminal" and name != ring):
            if name == wish:
                passed.append(f"{method.title}: not a joint between tails")
            continue
        against = objections(name, method, circuit, context.job, context.tables)
        made = None
        if not against:
            made, against = _make(context, circuit, name, method)
        if made is None:
            passed.append(f"{method.title}: {against}")
            continue
        if ring is not None:
            why = "each tail ends in a terminal of its own, bolted together"
        elif name == wish:
            why = "asked for in the job"
        elif wish in methods:
            why = f"{methods[wish].title.lower()} does not fit here"
        else:
            why = "the first method that fits"
        return made, why, tuple(passed)
    return None, "", tuple(passed)


def objections(name: str, method: JoiningMethod, circuit: Circuit, job: Job, tables: Tables) -> str:
    """Why a method may not be used for a circuit's tails in these places; "" when it may.

    Never a crimp on tinned strands; no solder where the loom flexes; sealed methods where it is damp; nothing that is
    made for copper on aluminium or copper alloy; no barrel on a conductor under 0.35 mm² (22 AWG).
    """
    tails = circuit.tails
    sizes = [_size(t) for t in tails]
    pressed = method.kind in ITEM_KINDS
    count = 1 if method.kind == "terminal" else len(tails)
    if not method.tails_low <= count <= method.tails_high:
        many = (
            f"{method.tails_low} to {method.tails_high}" if method.tails_low < method.tails_high else method.tails_low
        )
        return f"takes {many} tails, not {count}"
    metal = next((t for t in tails if t.tail.conductor == "aluminium"), None)
    if metal is not None:
        return f"{metal.name} is aluminium, outside ordinary connectors and solder"
    alloy = next((t for t in tails if t.tail.conductor == "copper-alloy"), None)
    if alloy is not None and pressed:
        return f"{alloy.name} is copper alloy, outside ordinary connectors"
    tinned = next((t for t in tails if t.tail.strands == "tinned"), None)
    if tinned is not None and pressed:
        return f"{tinned.name} is tinned with solder, which is never crimped"
    least = awg_area_mm2(int(tables.constant("smallest_crimp_awg").value))
    thin = next((t for t in tails if pressed and _size(t).area_mm2 < least * (1 - _EDGE)), None)
    if thin is not None:
        return f"{thin.name} is {_size(thin).short}, under 0.35 mm² and outside ordinary connectors"
    if method.solder and "flexing" in job.places:
        return "no solder where the loom flexes"
    for place, words in (
        ("damp", "not sealed, and the place is damp"),
        ("flexing", "not for a loom that flexes"),
        ("hot", "not for a hot place"),
    ):
        if place in job.places and place not in method.suits:
            return words
    ends = _ends(sizes, method, next((one for one in tables.joint_methods if one.name == name), None))
    if method.low_mm2 is not None and min(ends) < method.low_mm2 * (1 - _EDGE):
        return f"{number(min(ends))} mm² is under its {number(method.low_mm2)} mm²"
    if method.high_mm2 is not None and max(ends) > method.high_mm2 * (1 + _EDGE):
        return f"{number(max(ends))} mm² is over its {number(method.high_mm2)} mm²"
    return ""


def _make(context: Context, circuit: Circuit, name: str, method: JoiningMethod) -> tuple[_Made | None, str]:
    """What a method is made of here, or None and what is lacking."""
    item: _Item | None = None
    if method.kind in ITEM_KINDS or method.item:
        sizes = [_size(t) for t in circuit.tails]
        item, against = _item(context, name, method, sizes)
        if item is None:
            return None, against
    strip = _strip(context, method, item, circuit)
    key = ("geometry", *_sizes_key(circuit), item.title if item else "")
    geometry = context.once(key, lambda: _geometry(context, circuit, item))
    over, grip = geometry if isinstance(geometry, tuple) else (0.0, 0.0)
    made = _Made(name=name, method=method, item=item, strip=strip, over_mm=over, grip_mm=grip)
    if method.sleeve == "none" or (item is not None and item.lined):
        return made, ""
    if isinstance(geometry, str):
        return changed(made, remark=f"sleeve not chosen: {geometry}"), ""
    want = method.sleeve == "lined"
    sleeve, remark, against = context.once(
        ("sleeve", over, grip, want), lambda: _sleeve(context, over, grip, lined=want)
    )
    if sleeve is None:
        return None, against
    return changed(made, sleeve=sleeve, remark=remark), ""


def _items(context: Context, name: str) -> list[_Item]:
    """Connectors of a method from small to large."""
    if context.stock is None:
        own = next((m for m in context.tables.joint_methods if m.name == name), None)
        return [
            _Item(
                id="",
                title=c.name[0].upper() + c.name[1:],
                low_mm2=c.least_mm2,
                high_mm2=c.most_mm2,
                strip_mm=c.strip_mm,
                length_mm=None,
                outside_mm=None,
                lined="lined" in c.name,
                basis=on(c),
            )
            for c in (own.connectors if own else ())
        ]
    shelf = [
        (key, item)
        for key, item in context.stock.items()
        if item.method == name and item.kind in STOCK_KINDS and item.low_mm2 is not None and item.high_mm2 is not None
    ]
    return [_from_stock(key, item) for key, item in sorted(shelf, key=lambda pair: (pair[1].high_mm2, pair[0]))]


def _from_stock(key: str, item: StockItem) -> _Item:
    return _Item(
        id=key,
        title=item.title,
        low_mm2=item.low_mm2 or 0.0,
        high_mm2=item.high_mm2 or 0.0,
        strip_mm=item.strip_mm,
        length_mm=item.length_mm,
        outside_mm=item.outside_mm,
        lined=item.lined,
        basis=Basis(sources=("common-practice",), known=Standing.COMMON_PRACTICE),
    )


def _ends(sizes: Sequence[Size], method: JoiningMethod, own: JointMethod | None) -> tuple[float, ...]:
    """Copper in each barrel: a ring holds one tail, a butt connector the widest against the rest, others all together."""
    areas = sorted((size.area_mm2 for size in sizes), reverse=True)
    if method.kind == "terminal":
        return tuple(areas)
    if own is not None and own.rule == "barrels" and len(areas) > 1:
        return areas[0], sum(areas[1:])
    return (sum(areas),)


def _item(context: Context, name: str, method: JoiningMethod, sizes: Sequence[Size]) -> tuple[_Item | None, str]:
    own = next((m for m in context.tables.joint_methods if m.name == name), None)
    ends = _ends(sizes, method, own)
    items = context.once(("items", name), lambda: _items(context, name))
    for item in items:
        if all(item.low_mm2 * (1 - _EDGE) <= end <= item.high_mm2 * (1 + _EDGE) for end in ends):
            return item, ""
    shelf = "in stock" if context.stock is not None else "in the tables"
    if not items:
        return None, f"none {shelf}"
    wanted = " and ".join(f"{number(end)} mm²" for end in dict.fromkeys(ends))
    reach = f"{number(min(i.low_mm2 for i in items))} to {number(max(i.high_mm2 for i in items))} mm²"
    return None, f"none {shelf} takes {wanted} (they take {reach})"


def _strip(context: Context, method: JoiningMethod, item: _Item | None, circuit: Circuit) -> Figure | None:
    """Bare length of each tail in mm: the connector's own, else the method's, never less than the least lap."""
    if item is not None and item.strip_mm is not None:
        return item.basis.figure(item.strip_mm, "mm", f"{item.title}: as its card says")
    if not method.solder:
        if method.strip_mm is None:
            return missing("mm", f"the card of the {method.title.lower()} says it")
        return Figure(
            value=method.strip_mm,
            unit="mm",
            working=f"usual for {method.title.lower()}; the connector's card governs",
            sources=(method.source,),
            known=Standing(method.standing),
        )
    widest = max(2 * math.sqrt(_size(t).area_mm2 / math.pi) for t in circuit.tails)
    lap = on(context.tables.constant("lap_in_wire_diameters"))
    least = LEAST_LAP * widest
    if method.strip_mm is not None and method.strip_mm >= least:
        own = Basis(sources=(method.source,), known=Standing(method.standing))
        return (own + lap).figure(
            method.strip_mm,
            "mm",
            f"usual for {method.title.lower()}; at least {number(LEAST_LAP)} × {number(widest)} mm = {number(least)} mm",
        )
    return lap.figure(
        math.ceil(least), "mm", f"lap of {number(LEAST_LAP)} conductor diameters × {number(widest)} mm, rounded up"
    )


# --- sleeves -----------------------------------------------------------------------------------------------------


def _outsides(context: Context, tails: Sequence[JobTail]) -> list[float] | str:
    out = []
    for tail in tails:
        value = context.outside_mm(tail)
        if value is None:
            return f"no outside diameter for {_size(tail).short} in the tables; measure the cable"
        out.append(value)
    return out


def _geometry(context: Context, circuit: Circuit, item: _Item | None) -> tuple[float, float] | str:
    """Widest thing the sleeve passes over and thinnest it must hold, in mm: drivers on one side, takers on the other."""
    sides = []
    for side in (circuit.drivers, circuit.takers):
        wires = _outsides(context, side)
        if isinstance(wires, str):
            return wires
        if wires:
            sides.append(wires[0] if len(wires) == 1 else bundle_diameter_mm(wires, context.tables)[0])
    if not sides:
        return "it has no tails"
    copper = [2 * math.sqrt(_size(t).area_mm2 / math.pi) for t in circuit.tails]
    widest = max(*sides, bundle_diameter_mm(copper, context.tables)[0])
    if item is not None and item.outside_mm:
        widest = max(widest, item.outside_mm)
    return widest, min(sides)


def _sleeves(context: Context) -> list[tuple[str, str, Sleeve]]:
    rows = {row.name: row for row in context.tables.sleeves}
    if context.stock is None:
        return [("", f"Sleeve {row.name}", row) for row in context.tables.sleeves]
    return [
        (key, item.title, rows[item.sleeve])
        for key, item in sorted(context.stock.items())
        if item.kind == "sleeve" and item.sleeve in rows
    ]


def _sleeve(
    context: Context, over: float, grip: float, *, lined: bool
) -> tuple[tuple[str, str, Sleeve] | None, str, str]:
    """The sleeve, a remark, and what is lacking when there is none. A lined one serves where no plain one does."""
    shelf = context.once(("sleeves",), lambda: _sleeves(context))
    for want in (lined,) if lined else (False, True):
        rows = [row for _, _, row in shelf if row.kind.lined == want]
        best = choose_sleeve(rows, over, grip, context.tables)
        if best is not None:
            found = next(entry for entry in shelf if entry[2] is best)
            return found, "" if want == lined else "no plain sleeve both passes and grips, a lined one does", ""
    kind = "lined sleeve" if lined else "sleeve"
    if not shelf:
        return None, "", f"no {kind} in stock"
    return None, "", f"no {kind} in stock passes over {number(over)} mm and grips {number(grip)} mm"


def _cut(context: Context, made: _Made, bare: float) -> Figure:
    assert made.sleeve is not None
    row, overlap = made.sleeve[2], context.shop.loom.overlap_mm
    exact = cut_length_mm(bare, overlap, row.kind.length_shrink)
    basis = on(row.kind, context.tables.constant("shrink_at_least"), context.tables.constant("keep_unshrunk"))
    return basis.figure(
        math.ceil(exact - _EDGE),
        "mm",
        f"({number(bare)} bare + 2 × {number(overlap)} overlap) ÷ (1 − {number(row.kind.length_shrink)})"
        f" = {number(exact)} mm, rounded up; passes over {number(made.over_mm)} mm"
        f" (at most 0.8 × {number(row.expanded_mm)}), grips {number(made.grip_mm)} mm"
        f" (at least 1.1 × {number(row.recovered_mm)})",
    )


def sleeve_suits(row: Sleeve, over_mm: float, grip_mm: float, tables: Tables) -> bool:
    """Whether a sleeve passes over and grips."""
    return passes(row, over_mm, tables) and grips(row, grip_mm, tables)


def _cap(context: Context, spare: Spare, found: Findings) -> Cap | None:
    """The sleeve over a spare's folded end."""
    tail = spare.tail
    if tail.tail.size is None:
        found.note(f"Cap of {spare.id} not chosen: the size of {tail.name} is not stated.")
        return None
    wide = context.outside_mm(tail)
    if wide is None:
        found.note(f"Cap of {spare.id} not chosen: no outside diameter for {tail.tail.size.short} in the tables.")
        return None
    lined = "damp" in context.job.places
    sleeve, _, against = _sleeve(context, wide, wide, lined=lined)
    if sleeve is None:
        found.note(f"Cap of {spare.id} not chosen: {against}.")
        return None
    overlap, shrink = context.shop.loom.overlap_mm, sleeve[2].kind.length_shrink
    exact = (overlap + CAP_PAST_MM) / (1 - shrink)
    return Cap(
        spare=spare.id,
        tail=tail.name,
        sleeve_id=sleeve[0],
        sleeve_title=sleeve[1],
        cut_mm=on(sleeve[2].kind).figure(
            math.ceil(exact - _EDGE),
            "mm",
            f"({number(overlap)} on the insulation + {number(CAP_PAST_MM)} past the end) ÷ (1 − {number(shrink)})"
            f" = {number(exact)} mm, rounded up",
        ),
    )


def _shape(context: Context, made: _Made, bare: float) -> Shape | None:
    """Room in the loom; None for terminals, which lie at the stud."""
    if made.method.kind == "terminal":
        return None
    overlap = context.shop.loom.overlap_mm
    length, wide = bare, made.over_mm
    if made.item is not None:
        length = made.item.length_mm or 2 * bare
    if made.sleeve is not None:
        length = max(length, bare + 2 * overlap)
        wide += 2 * SLEEVE_WALL_MM
    return Shape(length_mm=length, diameter_mm=wide) if length > 0 and wide > 0 else None


# --- remarks and parts -------------------------------------------------------------------------------------------


def _combine_remark(circuit: Circuit) -> str:
    if circuit.combine == "diode":
        return f"one diode in the wire of each of the {len(circuit.drivers)} drivers, its band towards the part"
    if circuit.combine == "relay":
        return "through a relay with a clamp across its coil"
    return ""


def stock_item(context: Context, kind: str, least_a: float | None = None) -> tuple[str, str]:
    """Id and title of the smallest item of a kind with at least a rating; ("", "") when the shelf has none."""
    fit = [
        (item.rating_a or 0.0, key, item.title)
        for key, item in (context.stock or {}).items()
        if item.kind == kind and (least_a is None or (item.rating_a or 0.0) >= least_a)
    ]
    return min(fit)[1:] if fit else ("", "")


def _combining(context: Context, circuit: Circuit) -> list[PartCalled]:
    if circuit.combine not in ("diode", "relay"):
        return []
    item, title = stock_item(context, circuit.combine)
    several = circuit.combine == "diode"
    return [
        PartCalled(
            what=title or ("Diode" if several else "Relay 12 V, coil with a clamp"),
            item_id=item,
            quantity=len(circuit.drivers) if several else 1,
            circuit=circuit.id,
            why=f"several parts drive {circuit.title.lower()}; none may feed back into another"
            if several or len(circuit.drivers) > 1
            else f"{circuit.title.lower()} is asked for more than its output gives",
        )
    ]


def what_to_stock(context: Context, circuit: Circuit) -> str:
    """Which connector of the tables would take the tails of a circuit in these places, as a hint."""
    sizes = [_size(t) for t in circuit.tails]
    for own in context.tables.joint_methods:
        method = context.reference.methods.get(own.name)
        if method is None or objections(own.name, method, circuit, context.job, context.tables):
            continue
        ends = _ends(sizes, method, own)
        for connector in own.connectors:
            if all(connector.least_mm2 * (1 - _EDGE) <= end <= connector.most_mm2 * (1 + _EDGE) for end in ends):
                reach = f"{number(connector.least_mm2)} to {number(connector.most_mm2)} mm²"
                return f"put into stock: {connector.name}, {reach} in a barrel"
    if any(t.tail.conductor != "copper" for t in circuit.tails):
        return "follow the vehicle maker's own repair method for this conductor"
    if any(t.tail.terminal for t in circuit.tails):
        widest = max(size.area_mm2 for size in sizes)
        return f"put into stock: a ring terminal that takes {number(widest)} mm²"
    return (
        "put into stock a connector or sleeve that takes these tails, or make two joints of it: give one part a supply or"
        " ground lead of its own, with  feed: battery  in both tails"
    )
