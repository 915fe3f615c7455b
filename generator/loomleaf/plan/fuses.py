"""What protects each supply of a job: the fuse, the load on it, the thinnest conductor behind it, a dead short at its end.

A maker's fuse is taken as it is and never uprated; a part with a fuse of its own keeps that rating; a feed brought from
the battery without one gets the smallest standard fuse that suits. A conductor must carry whatever can flow without a
fuse opening: the fuse's rating, or what the fuses of the parts behind it let through together when that is less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ..calc.answer import PRACTICE
from ..calc.conductor import limit
from ..calc.fuse import check_maker_fuse, choose_fuse, find_fuse, minimum_rating_a
from ..calc.short import short
from ..figure import Figure, number
from ..model.lead import Lead
from ..problems import Collector, Location
from .context import Context, Findings, PartCalled, as_float, main_supply, missing, powered, states_draws
from .joints import stock_item
from .supply import driver_way, fuse_way, ground_way, maker_way, taker_way, total_mohm, wire
from .types import Circuit, JobTail

COUNTS_A = 1.0  # a conductor is loaded, for grouping, when it carries more than this
HOTTEST_C = 160.0  # what the insulation stands for seconds (IEC 60364-5-54: 70 to 160 °C)
START_C = 70.0  # a loaded conductor when the fault begins
NOT_COVERED = "A wire that chafes and arcs may never draw enough to open a fuse: nothing here covers that."


SMALLER_FUSE = "a smaller fuse close to the plug: when it is in the wire, write  fuse_a  at that way of the lead"


@dataclass(frozen=True, kw_only=True)
class Current:
    """What flows in a circuit, and the most that can without a fuse of a part behind it opening (None: no bound)."""

    running_a: float = 0.0
    peak_a: float = 0.0
    bound_a: float | None = 0.0
    bounds: tuple[tuple[str, float], ...] = ()  # the fuses that ``bound_a`` is the sum of, each with its part's title

    def __add__(self, other: Current) -> Current:
        bound = None if self.bound_a is None or other.bound_a is None else self.bound_a + other.bound_a
        return Current(
            running_a=self.running_a + other.running_a,
            peak_a=self.peak_a + other.peak_a,
            bound_a=bound,
            bounds=(*self.bounds, *other.bounds),
        )


@dataclass(frozen=True, kw_only=True)
class Bound:
    """The most that flows in a conductor without a fuse opening, and what it is the sum of, in words."""

    amps: float
    words: str


@dataclass(frozen=True, kw_only=True)
class Protection:
    """The fuse that stands before a circuit. ``rating_a`` None: nobody has stated one."""

    rating_a: float | None
    kind: str | None
    whose: str
    place: str
    chosen: bool = False
    text: str = ""


def fuses_for(context: Context, found: Findings) -> tuple[list[dict[str, Any]], list[PartCalled]]:
    """One row for each supply circuit and one for each fuse in a part's own wire; and the fuses called for."""
    flows = currents(context)
    rows: list[dict[str, Any]] = []
    parts: list[PartCalled] = []
    told: set[str] = set()
    for circuit in context.made:
        if circuit.group != "supply":
            continue
        for driver in circuit.drivers:
            before = _makers_row(context, circuit, driver, flows, found)
            row, called = _row(context, circuit, driver, flows, told, found)
            rows += [before, row] if before is not None else [row]
            parts += called
        rows += _own_rows(context, circuit, flows, found)
    return rows, parts


# --- what flows --------------------------------------------------------------------------------------------------


def currents(context: Context) -> dict[str, Current]:
    """Current of every supply and ground circuit, parts that are fed by other parts counted on the way up."""
    flows: dict[str, Current] = {}
    mains = {lead.lead: main_supply(lead, context.circuits) for lead in powered(context.leads, context.circuits)}
    for lead in powered(context.leads, context.circuits):
        main = mains[lead.lead]
        if main is None:
            continue
        tail = main[1]
        own = tail.tail.fuse_a if tail.tail.fuse_a is not None else lead.fuse_a
        known = states_draws(lead)
        flow = Current(
            running_a=lead.draws.running_a if known else 0.0,
            peak_a=max(lead.draws.peak_a, lead.draws.running_a) if known else 0.0,
            bound_a=own,
            bounds=((lead.title, own),) if own is not None else (),
        )
        seen: set[str] = set()
        step: tuple[Circuit, JobTail] | None = main
        while step is not None and step[0].id not in seen:
            circuit = step[0]
            seen.add(circuit.id)
            flows[circuit.id] = flows.get(circuit.id, Current()) + flow
            driver = circuit.drivers[0]
            step = mains.get(driver.lead.lead) if driver.lead.side != "vehicle" else None
            upstream = next((one for one in context.leads if one.lead == driver.lead.lead), None)
            if step is not None and upstream is not None and (step[1].tail.fuse_a or upstream.fuse_a):
                flow = Current(running_a=flow.running_a, peak_a=flow.peak_a)  # its own fuse bounds both
        grounds = [(c, t) for c in context.made if c.group == "ground" for t in c.takers if t.lead.lead == lead.lead]
        if grounds:
            home = min(grounds, key=lambda pair: (pair[1].tail.feed != tail.tail.feed, pair[1].name))[0]
            flows[home.id] = flows.get(home.id, Current()) + Current(
                running_a=lead.draws.running_a if known else 0.0,
                peak_a=max(lead.draws.peak_a, lead.draws.running_a) if known else 0.0,
                bound_a=own,
                bounds=((lead.title, own),) if own is not None else (),
            )
    return flows


def loaded_together(context: Context, flows: dict[str, Current], feed: str) -> int:
    """Supply and ground conductors of one loom that carry over 1 A without a rest. Loudspeaker wires carry music, far
    under what they may, and are not counted (common practice, no source)."""
    return max(
        1,
        sum(
            1
            for c in context.made
            if c.group in ("supply", "ground") and c.feed == feed and flows.get(c.id, Current()).running_a > COUNTS_A
        ),
    )


# --- one circuit -------------------------------------------------------------------------------------------------


def _row(
    context: Context,
    circuit: Circuit,
    driver: JobTail,
    flows: dict[str, Current],
    told: set[str],
    found: Findings,
) -> tuple[dict[str, Any], list[PartCalled]]:
    flow = flows.get(circuit.id, Current())
    grouped = loaded_together(context, flows, circuit.feed)
    covered = [driver, *(t for t in circuit.takers if t.tail.fuse_a is None)]
    covered += _returns(context, circuit)
    limits = _limits(context, covered, grouped, found)
    extra = 0.0 if in_line_a(context, driver) is not None else _already(context, circuit, driver)
    running, peak = flow.running_a + extra, flow.peak_a + extra
    protection = _protection(context, circuit, driver, running, peak, limits, found)
    by_maker = _on_the_makers_fuse(driver) and in_line_a(context, driver) is None
    where = context.vehicle_place("feed") if by_maker else context.tail_place(driver)
    _tell_unusual(context, protection, where, found)
    row: dict[str, Any] = {
        "circuit": circuit.id,
        "title": circuit.title,
        "feeds": [t.name for t in circuit.takers],
        "fuse": protection.whose,
        "place": protection.place,
        "running_a": PRACTICE.figure(running, "A", _flow_words(context, flow.running_a, extra)),
        "peak_a": PRACTICE.figure(peak, "A", _flow_words(context, flow.peak_a, extra)),
        "minimum_a": _minimum(context, running),
        "grouped": grouped,
        **_rating(context, protection),
    }
    if protection.rating_a is None:
        found.problems.append(_unprotected(context, circuit, driver, protection))
        row |= {"conductor": "", "limit_a": missing("A", "no fuse is known"), "short": None}
        return row, []
    _load(context, circuit, protection, running, peak, found)
    _conductors(context, circuit, driver, protection, flows, limits, row, told, found)
    row["short"] = _short(context, circuit, driver, covered, protection, found)
    called = []
    if protection.chosen:
        item, title = stock_item(context, "fuse", protection.rating_a)
        called.append(
            PartCalled(
                what=f"{title or protection.text}, with a holder",
                item_id=item,
                quantity=1,
                circuit=circuit.id,
                why=f"nothing protects {driver.name} yet; {protection.place}",
            )
        )
    return row, called


def _on_the_makers_fuse(driver: JobTail) -> bool:
    return driver.lead.side == "vehicle" and driver.tail.feed == "dash"


def _makers_a(context: Context, driver: JobTail) -> float | None:
    """The vehicle maker's rating before a supply of the dash; None when nobody has stated it."""
    feed = context.vehicle.feed
    return feed.fuse_a if driver.function_id == "supply-constant" else feed.switched_fuse_a


def in_line_a(context: Context, driver: JobTail) -> float | None:
    """The fuse in the wire of an adapter's or harness's supply, where it opens before the vehicle maker's: it protects
    what lies behind it. None where there is none, or where the maker's is no larger."""
    own = driver.tail.fuse_a
    if own is None or not _on_the_makers_fuse(driver):
        return None
    makers = _makers_a(context, driver)
    return own if makers is None or own < makers * (1 - 1e-12) else None


def _already(context: Context, circuit: Circuit, driver: JobTail) -> float:
    """What else of the vehicle hangs on the maker's fuse, in A."""
    return (
        context.vehicle.feed.load_a if _on_the_makers_fuse(driver) and circuit.function_id == "supply-constant" else 0.0
    )


def _makers_row(
    context: Context, circuit: Circuit, driver: JobTail, flows: dict[str, Current], found: Findings
) -> dict[str, Any] | None:
    """The vehicle maker's fuse as a row of its own where a smaller one stands behind it in the adapter: it protects the
    way up to that, and carries what hangs on it already. None otherwise; a fuse in the adapter that is no smaller is told."""
    own, makers = driver.tail.fuse_a, _makers_a(context, driver)
    if own is None or not _on_the_makers_fuse(driver):
        return None
    if in_line_a(context, driver) is None:
        found.problems.append(
            context.warning(
                "fuse-opens-second",
                f"{driver.name}: its fuse of {number(own)} A is no smaller than the vehicle maker's of {number(makers or 0)} A"
                " before it and protects nothing",
                context.tail_place(driver),
                hint="a smaller fuse there, or leave  fuse_a  out",
            )
        )
        return None
    if makers is None:
        return None  # only the fuse that is known is told
    flow, extra = flows.get(circuit.id, Current()), _already(context, circuit, driver)
    protection = _makers(context, driver)
    running, peak = flow.running_a + extra, flow.peak_a + extra
    _load(context, circuit, protection, running, peak, found)
    _tell_unusual(context, protection, context.vehicle_place("feed"), found)
    return {
        "circuit": circuit.id,
        "title": circuit.title,
        "feeds": [driver.name],
        "fuse": protection.whose,
        "place": protection.place,
        "running_a": PRACTICE.figure(running, "A", _flow_words(context, flow.running_a, extra)),
        "peak_a": PRACTICE.figure(peak, "A", _flow_words(context, flow.peak_a, extra)),
        "minimum_a": _minimum(context, running),
        "grouped": loaded_together(context, flows, circuit.feed),
        **_rating(context, protection),
        "conductor": "",
        "limit_a": missing("A", "the vehicle's own wire with its maker's fuse: its maker answers for it"),
        "bound_a": None,
        "short": None,
    }


def _tell_unusual(context: Context, protection: Protection, where: Location, found: Findings) -> None:
    """A rating that no fuse of the tables has was most likely written wrong. Below 1 A there are others (IEC 60127, from
    memory)."""
    amps = protection.rating_a
    if amps is None or amps < 1 or protection.chosen or find_fuse(amps, context.tables, protection.kind) is not None:
        return
    ratings = sorted({one.amps for kind in context.tables.fuse_kinds for one in kind.ratings})
    under = [a for a in ratings if a < amps][-1:]
    over = [a for a in ratings if a > amps][:1]
    near = " or ".join(f"{number(a)} A" for a in (*under, *over))
    found.problems.append(
        context.warning(
            "fuse-not-standard",
            f"{protection.whose} is written as {number(amps)} A, and no fuse of the tables has that rating",
            where,
            hint=f"read it on the fuse: {near}",
        )
    )


def _makers(context: Context, driver: JobTail) -> Protection:
    feed = context.vehicle.feed
    return Protection(
        rating_a=_makers_a(context, driver),
        kind=feed.fuse_kind,
        whose="the vehicle maker's fuse",
        place=(feed.switched_place if driver.function_id != "supply-constant" else "")
        or feed.place
        or "place not stated",
    )


def _flow_words(context: Context, amps: float, extra: float) -> str:
    own = f"{number(amps)} A of the parts in this job"
    return f"{own} + {number(extra)} A already on this fuse" if extra else own


def _minimum(context: Context, running: float) -> Figure:
    factor = context.shop.supply.continuous_factor
    if running <= 0:
        return Figure(value=None, unit="A", working="only a signal flows: any rating carries it")
    return PRACTICE.figure(minimum_rating_a(running, factor), "A", f"{number(running)} A running ÷ {number(factor)}")


def _rating(context: Context, protection: Protection) -> dict[str, Any]:
    if protection.rating_a is None:
        return {"rating_a": missing("A", "nobody has stated it"), "kind": "", "colour": ""}
    fuse = find_fuse(protection.rating_a, context.tables, protection.kind)
    said = "smallest standard rating that suits" if protection.chosen else f"{protection.whose}, taken as it is"
    figure = (
        fuse.basis.figure(protection.rating_a, "A", f"{fuse.text}: {said}")
        if fuse is not None
        else Figure(value=protection.rating_a, unit="A", working=said)
    )
    return {
        "rating_a": figure,
        "kind": fuse.kind.title if fuse else "",
        "colour": fuse.colour if fuse else "",
    }


def _protection(
    context: Context,
    circuit: Circuit,
    driver: JobTail,
    running: float,
    peak: float,
    limits: dict[str, Figure],
    found: Findings,
) -> Protection:
    near = context.shop.supply.fuse_from_battery_mm
    in_line = in_line_a(context, driver)
    if in_line is not None:
        return Protection(
            rating_a=in_line,
            kind=None,
            whose=f"the fuse of {driver.lead.title}",
            place=f"in the wire of {driver.tail.at}, close to the plug",
        )
    if _on_the_makers_fuse(driver):
        return _makers(context, driver)
    if driver.lead.side != "vehicle":
        own = driver.tail.fuse_a if driver.tail.fuse_a is not None else driver.lead.fuse_a
        return Protection(rating_a=own, kind=None, whose=f"the fuse of {driver.lead.title}", place="in its own lead")
    place = f"within {number(near)} mm of the battery"
    given = driver.tail.fuse_a if driver.tail.fuse_a is not None else driver.lead.fuse_a
    if given is not None:
        return Protection(rating_a=given, kind=None, whose=f"the fuse of {driver.lead.title}", place=place)
    amps = [value for figure in limits.values() if (value := as_float(figure)) is not None]
    if running <= 0 or len(amps) < len(limits) or not amps:
        return Protection(rating_a=None, kind=None, whose="no fuse", place=place)
    best, why = choose_fuse(
        current_a=running,
        limit_a=min(amps),
        peak_a=peak,
        continuous=context.shop.supply.continuous_factor,
        tables=context.tables,
    )
    if best is None:
        return Protection(rating_a=None, kind=None, whose=f"no fuse: {why}", place=place)
    return Protection(
        rating_a=best.amps,
        kind=best.kind.name,
        whose="an added fuse",
        place=place,
        chosen=True,
        text=best.text,
    )


def _unprotected(context: Context, circuit: Circuit, driver: JobTail, protection: Protection) -> Any:
    if _on_the_makers_fuse(driver):
        key = "fuse_a" if driver.function_id == "supply-constant" else "switched_fuse_a"
        return context.hold(
            "segment-not-protected",
            f"{circuit.id} {circuit.title}: nobody has stated the vehicle maker's fuse before {driver.name}",
            context.vehicle_place("feed"),
            hint=f"read it at the fuse box, then add  feed: {{{key}: …}}",
        )
    why = protection.whose.removeprefix("no fuse: ")
    tail = "" if why == "no fuse" else f" ({why})"
    return context.hold(
        "segment-not-protected",
        f"{circuit.id} {circuit.title}: no fuse protects {driver.name}{tail}",
        context.tail_place(driver),
        hint="state the fuse with  fuse_a:, a larger conductor, or less load",
    )


# --- load and conductors -----------------------------------------------------------------------------------------


def _load(
    context: Context, circuit: Circuit, protection: Protection, running: float, peak: float, found: Findings
) -> None:
    """The load added to the fuse: never more than it is made for; more than the continuous part is told."""
    rating = protection.rating_a
    assert rating is not None
    if protection.chosen or running <= 0:
        return
    name = f"{circuit.id} {circuit.title}"
    against = check_maker_fuse(maker_a=rating, current_a=running, limit_a=rating, peak_a=peak, tables=context.tables)
    where = context.tail_place(circuit.drivers[0])
    if against:
        found.problems.append(
            context.hold(
                "fuse-overloaded",
                f"{name}: {against}",
                where,
                hint="give the added load a fused feed of its own; this fuse is never uprated",
            )
        )
    elif running > rating * context.shop.supply.continuous_factor * (1 + 1e-12):
        found.problems.append(
            context.warning(
                "fuse-near-its-limit",
                f"{name}: {number(running)} A flows all the time on {number(rating)} A, more than"
                f" {number(context.shop.supply.continuous_factor)} of it",
                where,
                hint="it will age and may open on a hot day",
            )
        )


def _returns(context: Context, circuit: Circuit) -> list[JobTail]:
    """Ground conductors that bring back the current of this circuit's parts."""
    leads = {
        t.lead.lead for t in circuit.takers if (m := main_supply(t.lead, context.circuits)) and m[0].id == circuit.id
    }
    out: list[JobTail] = []
    for ground in context.made:
        if ground.group == "ground" and ground.feed == circuit.feed:
            own = [t for t in ground.takers if t.lead.lead in leads]
            if own and circuit.drivers[0].lead.side == "vehicle":
                out += ground.drivers
            out += own
    return out


def _limits(context: Context, tails: Sequence[JobTail], grouped: int, found: Findings) -> dict[str, Figure]:
    out: dict[str, Figure] = {}
    for tail in tails:
        if tail.tail.size is None:
            continue  # told as size-missing with the joint
        said = Collector()
        figure = limit(
            said, size=tail.tail.size, ambient_c=context.shop.supply.cabin_c, grouped=grouped, tables=context.tables
        )
        if figure is None:
            found.problems.append(
                context.hold(
                    "conductor-unknown",
                    f"{tail.name}: {said.problems[0].message}",
                    context.tail_place(tail),
                    hint=said.problems[0].hint,
                )
            )
            figure = missing("A", said.problems[0].message)
        out[tail.name] = figure
    return out


def _conductors(
    context: Context,
    circuit: Circuit,
    driver: JobTail,
    protection: Protection,
    flows: dict[str, Current],
    limits: dict[str, Figure],
    row: dict[str, Any],
    told: set[str],
    found: Findings,
) -> None:
    """Each conductor against what may flow in it without a fuse opening; the one with least in hand goes on paper."""
    rating = protection.rating_a
    assert rating is not None
    worst: tuple[float, str, Figure, Bound] | None = None
    for name, figure in limits.items():
        amps = as_float(figure)
        if amps is None:
            continue
        whole = Bound(amps=rating, words=f"the fuse of {number(rating)} A")
        bound = whole if protection.chosen else _bound(context, circuit, name, whole, flows)
        in_hand = amps - bound.amps
        if worst is None or (in_hand, name) < worst[:2]:
            worst = (in_hand, name, figure, bound)
    if worst is None:
        row |= {"conductor": "", "limit_a": missing("A", "no conductor of a known size"), "bound_a": None}
        return
    in_hand, name, figure, bound = worst
    row |= {
        "conductor": name,
        "limit_a": figure,
        "bound_a": PRACTICE.figure(bound.amps, "A", f"the most that flows without a fuse opening: {bound.words}"),
    }
    if in_hand < -1e-9 and name not in told:
        told.add(name)
        weak = next((t for c in context.made for t in (*c.drivers, *c.takers) if t.name == name), driver)
        may = bound.words
        if abs(bound.amps - rating) > 1e-9:
            may = f"the {number(bound.amps)} A that may flow there without a fuse opening ({bound.words})"
        found.problems.append(
            context.hold(
                "fuse-over-conductor",
                f"{circuit.id} {circuit.title}: {name} may carry {number(as_float(figure) or 0, 3)} A, less than {may}",
                context.tail_place(weak),
                hint=f"a larger conductor for {name}, or {SMALLER_FUSE}",
            )
        )


def _summed(parts: Sequence[tuple[str, float]]) -> str:
    """ "5 A by the fuse of the radio + 1 A by the fuse of the camera"."""
    return " + ".join(f"{number(amps)} A by the fuse of {title}" for title, amps in parts)


def _bound(context: Context, circuit: Circuit, name: str, whole: Bound, flows: dict[str, Current]) -> Bound:
    """The most that can flow in one conductor behind a fuse without any fuse opening, one fault at a time.

    On a feed laid from the battery the fuse at its beginning is the workshop's own choice, and it answers for the whole cable up
    to the next fuse: one in the part at the far end limits no fault in the cable before it.
    """
    known = context.once(("fed",), lambda: _fed(context)).get(name)
    if known is None:
        return whole
    one, taker = known
    laid = any(d.lead.side == "vehicle" and d.tail.feed == "battery" for d in one.drivers)
    if laid and one.group == "supply" and one.id == circuit.id:
        return whole
    if taker is not None:
        main = main_supply(taker.lead, context.circuits)
        if one.group == "supply" and (main is None or main[1].name != name):
            return Bound(amps=0.0, words="only a signal: its part lets nothing more flow")
        own = taker.lead.fuse_a if main is None or main[1].tail.fuse_a is None else main[1].tail.fuse_a
        return whole if own is None or own >= whole.amps else Bound(amps=own, words=_summed([(taker.lead.title, own)]))
    if one.group == "ground":
        return _ground_bound(context, one, circuit, whole.amps)
    flow = flows.get(one.id, Current())
    return (
        whole
        if flow.bound_a is None or flow.bound_a >= whole.amps
        else Bound(amps=flow.bound_a, words=_summed(flow.bounds))
    )


def _fed(context: Context) -> dict[str, tuple[Circuit, JobTail | None]]:
    """Tails of supplies and grounds by name: the first circuit each is in, and the tail itself where it takes there."""
    found: dict[str, tuple[Circuit, JobTail | None]] = {}
    for one in context.made:
        if one.group in ("supply", "ground"):
            for tail in one.takers:
                found.setdefault(tail.name, (one, tail))
            for tail in one.drivers:
                found.setdefault(tail.name, (one, None))
    return found


def _ground_bound(context: Context, ground: Circuit, circuit: Circuit, rating: float) -> Bound:
    """A shared ground: the worst of its feeds at what its fuses let through, the others running as usual."""
    feeds: dict[str, list[tuple[str, float | None, float]]] = {}  # part, its own fuse, its running current, by root
    fuses: dict[str, float] = {}
    for lead in sorted({t.lead.lead: t.lead for t in ground.takers}.values(), key=lambda one: one.lead):
        root = _root(context, lead)
        if root is None:
            continue
        given = rating if root.id == circuit.id else _given(context, root)
        main = main_supply(lead, context.circuits)
        own = main[1].tail.fuse_a if main and main[1].tail.fuse_a is not None else lead.fuse_a
        fuses.setdefault(root.id, given if given is not None else rating)
        feeds.setdefault(root.id, []).append((lead.title, own, lead.draws.running_a if states_draws(lead) else 0.0))
    worst = Bound(amps=0.0, words="nothing returns here")
    for name, parts in feeds.items():
        own_fuses = [(title, own) for title, own, _ in parts if own is not None]
        let = sum(amps for _, amps in own_fuses)
        words = _summed(own_fuses)
        if len(own_fuses) < len(parts) or let > fuses[name]:
            let, words = fuses[name], f"{number(fuses[name])} A by the fuse before {name}"
        others = [(title, a) for other, rest in feeds.items() if other != name for title, _, a in rest if a > 0]
        most = let + sum(amps for _, amps in others)
        if most > worst.amps:
            more = "".join(f" + {number(amps)} A of {title}, running" for title, amps in others)
            worst = Bound(amps=most, words=words + more)
    return worst


def _root(context: Context, lead: Lead) -> Circuit | None:
    """The supply circuit from the vehicle that a part's current comes from at last."""
    seen: set[str] = set()
    main = main_supply(lead, context.circuits)
    while main is not None and main[0].id not in seen:
        seen.add(main[0].id)
        driver = main[0].drivers[0]
        if driver.lead.side == "vehicle":
            return main[0]
        main = main_supply(driver.lead, context.circuits)
    return None


def _given(context: Context, circuit: Circuit) -> float | None:
    """The rating stated for the fuse before a supply from the vehicle."""
    driver = circuit.drivers[0]
    if _on_the_makers_fuse(driver):
        in_line = in_line_a(context, driver)
        return in_line if in_line is not None else _makers_a(context, driver)
    return driver.tail.fuse_a if driver.tail.fuse_a is not None else driver.lead.fuse_a


# --- a dead short ------------------------------------------------------------------------------------------------


def _short(
    context: Context,
    circuit: Circuit,
    driver: JobTail,
    covered: Sequence[JobTail],
    protection: Protection,
    found: Findings,
) -> dict[str, Any] | None:
    """A dead short at the far end, at the weakest supply and with hot wire, into the thinnest conductor behind the fuse."""
    sized = [t for t in covered if t.tail.size is not None and t.tail.length_mm]
    if not sized or protection.rating_a is None:
        return None
    thin = min(sized, key=lambda t: (t.tail.size.area_mm2 if t.tail.size else 0.0, t.name))
    way = _upstream(context, circuit, driver, thin)
    if isinstance(way, str):
        found.note(f"Short circuit of {circuit.id} {circuit.title} not worked out: {way}.")
        return None
    settings = context.shop.supply
    assert thin.tail.size is not None and thin.tail.length_mm is not None
    figures, problems = short(
        size=thin.tail.size,
        length_m=max(thin.tail.length_mm / 1000, 0.001),
        fuse_a=protection.rating_a,
        source_mohm=settings.battery_mohm + way,
        supply_v=settings.weakest_v,
        temp_c=max(START_C, settings.cabin_c),
        final_c=HOTTEST_C,
        chassis_mohm=settings.chassis_mohm + _home_mohm(context, circuit, found),
        kind=protection.kind,
        tables=context.tables,
    )
    if problems:
        found.problems.append(
            context.hold(
                "fuse-unknown",
                f"{circuit.id} {circuit.title}: {problems[0].message}",
                context.vehicle_place("feed") if _on_the_makers_fuse(driver) else context.tail_place(driver),
                hint=problems[0].hint,
            )
        )
        return None
    if not figures["protected"].value:
        found.problems.append(
            context.hold(
                "segment-not-protected",
                f"{circuit.id} {circuit.title}: in a dead short the {number(protection.rating_a)} A fuse does not save"
                f" {thin.name} ({thin.tail.size.short}): {_why_not(figures)}",
                context.tail_place(thin),
                hint=f"a larger conductor there, or {SMALLER_FUSE}",
            )
        )
    return {"conductor": thin.name, **figures}


def _why_not(figures: dict[str, Figure]) -> str:
    passed = figures["let_through_a2s"]
    if passed.value is None:
        return passed.working
    return f"it lets {passed.text} through, the wire stands {figures['withstand_a2s'].text}"


def _upstream(context: Context, circuit: Circuit, driver: JobTail, thin: JobTail) -> float | str:
    """mΩ from the battery to where the thinnest conductor begins, hot; the conductor itself is left out."""
    if driver.lead.side != "vehicle":
        main = main_supply(driver.lead, context.circuits)
        if main is None:
            return f"nobody knows what feeds {driver.lead.title}"
        way = _upstream(context, main[0], main[0].drivers[0], thin)
        into = taker_way(context, *main)
        own = driver_way(context, circuit, driver)
        for piece in (way, into, own):
            if isinstance(piece, str):
                return piece
        assert not isinstance(way, str) and not isinstance(into, str) and not isinstance(own, str)
        return way + total_mohm(into) + _without(thin, driver, total_mohm(own), context)
    before = total_mohm(fuse_way(context, ""))
    if _on_the_makers_fuse(driver):
        maker = maker_way(context, driver)
        if isinstance(maker, str):
            return maker
        before += total_mohm(maker)
    own = driver_way(context, circuit, driver)
    if isinstance(own, str):
        return own
    return before + _without(thin, driver, total_mohm(own), context)


def _without(thin: JobTail, driver: JobTail, mohm: float, context: Context) -> float:
    if thin.name != driver.name:
        return mohm
    piece = wire(context, driver.name, driver.tail.size, driver.tail.length_mm)
    return mohm if isinstance(piece, str) else mohm - piece.hot_mohm


def _home_mohm(context: Context, circuit: Circuit, found: Findings) -> float:
    """mΩ of the ground wires of the part behind the short, hot; 0 where they are not known (the body brings it back)."""
    quiet = Findings()
    for ground in context.made:
        if ground.group != "ground" or ground.feed != circuit.feed:
            continue
        own = next((t for t in ground.takers if t.lead.lead in {x.lead.lead for x in circuit.takers}), None)
        if own is None:
            continue
        into, home = taker_way(context, ground, own), ground_way(context, ground, ground.drivers[0], quiet)
        if not isinstance(into, str) and not isinstance(home, str):
            return total_mohm(into) + total_mohm(home)
    return 0.0


# --- fuses in the wires of parts ---------------------------------------------------------------------------------


def _own_rows(context: Context, circuit: Circuit, flows: dict[str, Current], found: Findings) -> list[dict[str, Any]]:
    """A part with a fuse of its own keeps that rating, in its wire or inside it; the load is the part maker's own."""
    rows = []
    for tail in circuit.takers:
        lead = tail.lead
        main = main_supply(lead, context.circuits)
        in_wire = tail.tail.fuse_a is not None
        rating = tail.tail.fuse_a if in_wire else lead.fuse_a
        if rating is None or not (in_wire or (main is not None and main[1].name == tail.name)):
            continue
        known = states_draws(lead)
        running = lead.draws.running_a if known else 0.0
        peak = max(lead.draws.peak_a, running)
        own = Protection(
            rating_a=rating,
            kind=None,
            whose=f"the fuse of {lead.title}",
            place="in its own wire; keep the wire before it as short as the lead allows" if in_wire else "in the part",
        )
        _tell_unusual(context, own, context.tail_place(tail) if in_wire else context.lead_place(lead.lead), found)
        if known and main is not None and main[1].name == tail.name and running > 0:
            against = check_maker_fuse(
                maker_a=rating,
                current_a=running,
                limit_a=rating,
                peak_a=peak,
                tables=context.tables,
            )
            if against:
                found.problems.append(
                    context.hold(
                        "fuse-overloaded",
                        f"{tail.name}: {against}",
                        context.tail_place(tail),
                        hint="compare the leaflet: the part's own fuse and its stated draw do not go together",
                    )
                )
        rows.append(
            {
                "circuit": circuit.id,
                "title": tail.title,
                "feeds": [tail.name],
                "fuse": own.whose,
                "place": own.place,
                "running_a": PRACTICE.figure(running, "A", f"stated by {lead.title}" if known else "not stated"),
                "peak_a": PRACTICE.figure(peak, "A", f"stated by {lead.title}" if known else "not stated"),
                "minimum_a": _minimum(context, running),
                "grouped": loaded_together(context, flows, circuit.feed),
                **_rating(context, own),
                "conductor": tail.name if in_wire else lead.lead,
                "limit_a": missing("A", "the part's own wire with the part's own fuse: its maker answers for it"),
                "bound_a": None,
                "short": None,
            }
        )
    return rows
