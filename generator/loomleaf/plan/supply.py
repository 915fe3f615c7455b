"""The supply of a job as one network: battery, maker's feed, plugs, tails, joints, parts, and the shared ground back.

Every feed and return is solved together, running and at the peak, with copper at 20 °C and at the cabin's temperature.
A part takes its whole current over its first supply (constant before switched); peaks of all parts fall together. The
battery's posts are held at the running voltage, as a charging system does; the weakest battery has its own resistance.
A segment that nobody has measured is never guessed: the parts behind it are left out, and that is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from ..calc.answer import OHM, PRACTICE, Basis
from ..calc.conductor import mohm_per_m, resistance_basis, resistance_row
from ..calc.network import Load, Resistor, Solution, Source, solve_cases
from ..calc.supply import stays_on
from ..figure import Figure, number
from ..model.lead import Lead
from ..problems import Collector, Problem
from ..units import Size
from .context import Context, Findings, as_float, main_supply, missing, powered, states_draws
from .types import Circuit, JobTail

POST, BODY, MINUS, BOX = "battery post", "body", "battery minus", "fuse box"
Case = Literal["running", "peak"]
NOTHING: dict[str, Any] = {"running_v": None, "cabin_c": None, "parts": [], "segments": [], "ground_offset": None}


@dataclass(frozen=True, kw_only=True)
class Segment:
    """One piece of the way, in mΩ cold (20 °C) and hot (the cabin's temperature). ``basis`` is what it stands on."""

    name: str
    cold_mohm: float
    hot_mohm: float
    basis: Basis
    circuit: str = ""
    size: Size | None = None


@dataclass(frozen=True, kw_only=True)
class Branch:
    """Segments in series between two points."""

    a: str
    b: str
    segments: tuple[Segment, ...]
    back: bool = False  # part of the ground return

    @property
    def name(self) -> str:
        return f"{self.a} > {self.b}"

    def ohm(self, hot: bool) -> float:
        return sum(s.hot_mohm if hot else s.cold_mohm for s in self.segments) / 1000


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A part that draws current, over which circuit, and where it returns."""

    lead: Lead
    circuit: Circuit
    tail: JobTail
    ground: Circuit
    ground_tail: JobTail
    running_a: float
    peak_a: float

    @property
    def plus(self) -> str:
        return f"{self.lead.lead} plus"

    @property
    def minus(self) -> str:
        return f"{self.lead.lead} ground"


@dataclass
class Grid:
    """The network as it is put together. ``branches`` by name."""

    branches: dict[str, Branch] = field(default_factory=dict)
    parts: list[Drawing] = field(default_factory=list)

    def add(self, branch: Branch) -> None:
        self.branches.setdefault(branch.name, branch)


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What came of it. ``volts`` maps a part's supply tail to (low, high, figure) to expect with the engine running."""

    plain: dict[str, Any]
    expected: dict[str, Expected]
    grid: Grid


@dataclass(frozen=True, kw_only=True)
class Expected:
    """Volts to expect at a supply tail: the window with the engine running, and the figure at the usual voltage."""

    low: float
    high: float
    figure: Figure


def supply_for(context: Context, found: Findings) -> Supply:
    """The network of a job, solved, with its limits checked."""
    grid = build(context, found)
    if not grid.parts:
        found.note(
            "Supply not worked out: no part with a stated draw has its whole way to the battery and back stated."
        )
        return Supply(plain=NOTHING, expected={}, grid=grid)
    good = _solve(context, grid, found)
    if good is None:
        return Supply(plain=NOTHING, expected={}, grid=grid)
    rows = [_part(context, grid, part, good, found) for part in grid.parts]
    plain = {
        "running_v": _setting(context.shop.supply.running_v, "V", "at the battery posts, engine running"),
        "cabin_c": _setting(context.shop.supply.cabin_c, "°C", "copper where it is warm"),
        "parts": rows,
        "segments": _segments(grid, good),
        "ground_offset": _offset(context, grid, good, found),
    }
    return Supply(plain=plain, expected=_expected(context, grid, good), grid=grid)


# --- pieces of the way -------------------------------------------------------------------------------------------


def practice(context: Context, name: str, mohm: float, circuit: str = "") -> Segment:
    """A contact, fuse, joint or fixing: the shop's own figure, the same hot and cold."""
    return Segment(name=name, cold_mohm=mohm, hot_mohm=mohm, basis=PRACTICE, circuit=circuit)


def wire(context: Context, name: str, size: Size | None, length_mm: float | None, circuit: str = "") -> Segment | str:
    """A length of conductor, or what is missing."""
    if size is None:
        return f"the size of {name} is not stated"
    if length_mm is None:
        return f"the length of {name} is not stated"
    found = Collector()
    row = resistance_row(found, name, size, context.tables)
    if row is None:
        return found.problems[0].message
    metres = length_mm / 1000
    return Segment(
        name=f"{name}, {number(length_mm)} mm of {size.short}",
        cold_mohm=mohm_per_m(row, 20, context.tables) * metres,
        hot_mohm=mohm_per_m(row, context.shop.supply.cabin_c, context.tables) * metres,
        basis=resistance_basis(row, context.tables),
        circuit=circuit,
        size=size,
    )


def driver_way(context: Context, circuit: Circuit, tail: JobTail) -> list[Segment] | str:
    """From where a driver's tail is fed to the joint of its circuit."""
    settings = context.shop.supply
    way: list[Segment] = []
    if tail.plug_name:
        way.append(practice(context, f"contact of {tail.name}", settings.contact_mohm, circuit.id))
    if tail.tail.fuse_a is not None and tail.lead.side == "vehicle" and tail.tail.feed == "dash":
        way += fuse_way(context, f"{tail.name}:")  # in its own wire, behind the vehicle maker's
    length = wire(context, tail.name, tail.tail.size, tail.tail.length_mm, circuit.id)
    if isinstance(length, str):
        return length
    way += [length, practice(context, f"joint {circuit.id}", settings.joint_mohm, circuit.id)]
    return way


def taker_way(context: Context, circuit: Circuit, tail: JobTail) -> list[Segment] | str:
    """From the joint of a circuit into a part."""
    length = wire(context, tail.name, tail.tail.size, tail.tail.length_mm, circuit.id)
    if isinstance(length, str):
        return length
    way = [length]
    if tail.plug_name:
        way.append(practice(context, f"contact of {tail.name}", context.shop.supply.contact_mohm, circuit.id))
    return way


def maker_way(context: Context, tail: JobTail) -> list[Segment] | str:
    """The vehicle maker's cable to the dash plug, from its fuse on; or what is missing."""
    feed = context.vehicle.feed
    if tail.function_id == "supply-constant":
        cable = wire(context, "the maker's feed cable", feed.cable, feed.length_mm)
    elif tail.function_id in ("supply-switched", "supply-retained"):
        cable = wire(context, "the maker's switched cable", feed.switched_cable, feed.switched_mm)
    else:
        return f"the vehicle's own cable of the {tail.function.title.lower()} is not in its file"
    return cable if isinstance(cable, str) else [cable]


def maker_box(tail: JobTail) -> str:
    """The point behind the maker's fuse of a supply."""
    return BOX if tail.function_id == "supply-constant" else f"{BOX} of {tail.name}"


def fuse_way(context: Context, whose: str) -> list[Segment]:
    settings = context.shop.supply
    return [
        practice(context, f"{whose} fuse holder", settings.fuse_holder_mohm),
        practice(context, f"{whose} fuse", settings.fuse_mohm),
    ]


def ground_way(context: Context, circuit: Circuit, tail: JobTail, found: Findings) -> list[Segment] | str:
    """From the joint of a ground circuit over a vehicle tail to the body."""
    way = driver_way(context, circuit, tail)
    if isinstance(way, str):
        return way
    way = list(reversed(way))
    feed = context.vehicle.feed
    if tail.tail.feed == "dash" and tail.plug_name:
        own = wire(context, "the maker's ground wire", feed.ground_cable, feed.ground_mm)
        if isinstance(own, str):
            found.note("The maker's ground wire behind the dash plug is not in the vehicle's file: it is not counted.")
        else:
            way.append(own)
    way.append(practice(context, f"ground fixing of {tail.name}", context.shop.supply.ground_fixing_mohm, circuit.id))
    return way


# --- putting the network together --------------------------------------------------------------------------------


def build(context: Context, found: Findings) -> Grid:
    """Branches and parts. A part with a gap on its way is left out with a note."""
    grid = Grid()
    grid.add(
        Branch(
            a=BODY,
            b=MINUS,
            segments=(practice(context, "body to battery", context.shop.supply.chassis_mohm),),
            back=True,
        )
    )
    drawing: dict[str, Drawing] = {}
    for lead in powered(context.leads, context.circuits):
        part = _drawing(context, lead, found)
        if part is not None:
            drawing[lead.lead] = part
    reached: set[str] = set()
    for name in sorted(drawing):
        _reach(context, name, drawing, reached, set(), grid, found)
    grid.parts = [drawing[name] for name in sorted(reached)]
    return grid


def _drawing(context: Context, lead: Lead, found: Findings) -> Drawing | None:
    main = main_supply(lead, context.circuits)
    if main is None:
        return None
    circuit, tail = main
    if not states_draws(lead):
        found.note(f"Supply of {lead.title} not worked out: nobody has stated how much current it takes.")
        return None
    grounds = [(c, t) for c in context.made if c.group == "ground" for t in c.takers if t.lead.lead == lead.lead]
    own = min(grounds, key=lambda pair: (pair[1].tail.feed != tail.tail.feed, pair[1].name), default=None)
    if own is None:
        found.note(f"Supply of {lead.title} not worked out: no ground of it is joined.")
        return None
    return Drawing(
        lead=lead,
        circuit=circuit,
        tail=tail,
        ground=own[0],
        ground_tail=own[1],
        running_a=lead.draws.running_a,
        peak_a=max(lead.draws.peak_a, lead.draws.running_a),
    )


def _reach(
    context: Context,
    name: str,
    drawing: dict[str, Drawing],
    reached: set[str],
    asked: set[str],
    grid: Grid,
    found: Findings,
) -> bool:
    """Adds the branches of one part, and first of the part that feeds it; False with a note when the way has a gap."""
    if name in reached:
        return True
    part = drawing.get(name)
    if part is None or name in asked:
        return False
    asked.add(name)
    feed = _feeding(context, part, drawing, reached, asked, grid, found)
    into = taker_way(context, part.circuit, part.tail)
    home = _returning(context, part, found)
    gap = next((x for x in (feed, into, home) if isinstance(x, str)), None)
    if gap is not None or isinstance(feed, str) or isinstance(into, str) or isinstance(home, str):
        found.note(f"Supply of {part.lead.title} not worked out: {gap}.")
        return False
    into_branch = Branch(a=f"joint {part.circuit.id}", b=part.plus, segments=tuple(into))
    for branch in (*feed, into_branch, *home):
        grid.add(branch)
    reached.add(name)
    return True


def _feeding(
    context: Context,
    part: Drawing,
    drawing: dict[str, Drawing],
    reached: set[str],
    asked: set[str],
    grid: Grid,
    found: Findings,
) -> list[Branch] | str:
    """The branches that bring current to the joint of a part's supply circuit."""
    driver = part.circuit.drivers[0]
    own = driver_way(context, part.circuit, driver)
    if isinstance(own, str):
        return own
    joint = f"joint {part.circuit.id}"
    if driver.lead.side != "vehicle":
        if not _reach(context, driver.lead.lead, drawing, reached, asked, grid, found):
            return f"the way to {driver.lead.title}, which feeds it, is not known"
        found.note(f"What {driver.lead.title} loses inside is not known and not counted.")
        return [Branch(a=f"{driver.lead.lead} plus", b=joint, segments=tuple(own))]
    if driver.tail.feed == "battery":
        return [Branch(a=POST, b=joint, segments=(*fuse_way(context, f"{driver.name}"), *own))]
    maker = maker_way(context, driver)
    if isinstance(maker, str):
        return maker
    box = maker_box(driver)
    return [
        Branch(a=POST, b=box, segments=tuple(fuse_way(context, f"{driver.function.title.lower()}: the maker's"))),
        Branch(a=box, b=joint, segments=(*maker, *own)),
    ]


def _returning(context: Context, part: Drawing, found: Findings) -> list[Branch] | str:
    """The branches that bring a part's current to the body."""
    out = taker_way(context, part.ground, part.ground_tail)
    if isinstance(out, str):
        return out
    joint = f"joint {part.ground.id}"
    branches = [Branch(a=part.minus, b=joint, segments=tuple(reversed(out)), back=True)]
    for index, driver in enumerate(part.ground.drivers):
        way = ground_way(context, part.ground, driver, found)
        if isinstance(way, str):
            return way
        middle = f"{joint} by {driver.name}" if index else joint
        if index:  # a second ground beside the first keeps a name of its own
            branches.append(Branch(a=joint, b=middle, segments=(), back=True))
        branches.append(Branch(a=middle, b=BODY, segments=tuple(way), back=True))
    return branches


# --- solving -----------------------------------------------------------------------------------------------------


def amps(part: Drawing, case: Case) -> float:
    return part.running_a if case == "running" else part.peak_a


def _solve(context: Context, grid: Grid, found: Findings) -> Solved | None:
    """The network running and at the peak, cold and hot; None with holds when one of them has no answer."""
    cases: tuple[Case, ...] = ("running", "peak")
    out: Solved = {}
    told: dict[tuple[Case, bool], tuple[Problem, ...]] = {}
    for hot in (False, True):
        answers = solve_cases(
            resistors=[Resistor(name=b.name, a=b.a, b=b.b, ohm=b.ohm(hot)) for b in grid.branches.values()],
            sources=[Source(name="battery", plus=POST, minus=MINUS, volts=context.shop.supply.running_v)],
            cases=[_loads(context, grid, case) for case in cases],
            reference=MINUS,
        )
        for case, (solution, problems) in zip(cases, answers, strict=True):
            told[case, hot] = problems
            if solution is not None:
                out[case, hot] = solution
    wrong = [problem for case in cases for hot in (False, True) for problem in told[case, hot]]
    for problem in wrong:
        found.problems.append(
            context.hold("supply-impossible", f"supply: {problem.message}", context.vehicle_place("feed"), problem.hint)
        )
    return out if not wrong else None


def _loads(context: Context, grid: Grid, case: Case) -> list[Load]:
    loads = [Load(name=p.lead.lead, plus=p.plus, minus=p.minus, amps=amps(p, case)) for p in grid.parts]
    if any(BOX in (b.a, b.b) for b in grid.branches.values()) and context.vehicle.feed.load_a > 0:
        loads.append(Load(name="what else the fuse feeds", plus=BOX, minus=MINUS, amps=context.vehicle.feed.load_a))
    return loads


def _basis(segments: Iterable[Segment]) -> Basis:
    total = OHM
    for segment in segments:
        total += segment.basis
    return total


def way_of(grid: Grid, part: Drawing) -> tuple[list[Branch], list[Branch]]:
    """The branches out to a part and back from it."""
    by_end: dict[str, Branch] = {b.b: b for b in grid.branches.values() if not b.back}
    out: list[Branch] = []
    point = part.plus
    while point != POST and point in by_end:
        out.append(by_end[point])
        point = by_end[point].a
    back: list[Branch] = []
    point = part.minus
    while point != MINUS:
        step = next(b for b in grid.branches.values() if b.back and b.a == point)
        back.append(step)
        point = step.b
    return out[::-1], back


Solved = dict[tuple[str, bool], Solution]


def _drops(part: Drawing, solution: Solution) -> tuple[float, float]:
    """Volts lost on the way out and on the way back."""
    return (
        solution.node_v[POST] - solution.node_v[part.plus],
        solution.node_v[part.minus] - solution.node_v[MINUS],
    )


def _part(context: Context, grid: Grid, part: Drawing, solved: Solved, found: Findings) -> dict[str, Any]:
    settings = context.shop.supply
    out, back = way_of(grid, part)
    basis = _basis(s for b in (*out, *back) for s in b.segments)
    row: dict[str, Any] = {
        "part": part.lead.lead,
        "title": part.lead.title,
        "circuit": part.circuit.id,
        "ground": part.ground.id,
        "tail": part.tail.name,
        "running_a": basis.figure(part.running_a, "A", f"stated by {part.lead.title}"),
        "peak_a": basis.figure(part.peak_a, "A", f"stated by {part.lead.title}"),
    }
    for case in ("running", "peak"):
        for hot in (False, True):
            lost_out, lost_back = _drops(part, solved[case, hot])
            where = f"{number(settings.cabin_c)} °C" if hot else "20 °C"
            drop = basis.figure(
                lost_out + lost_back,
                "V",
                f"{number(lost_out)} V out + {number(lost_back)} V back, {case}, copper at {where}",
            )
            suffix = "" if hot else "_20c"
            row[f"drop_{case}{suffix}_v"] = drop
            row[f"volts_{case}{suffix}_v"] = basis.figure(
                settings.running_v - lost_out - lost_back,
                "V",
                f"{number(settings.running_v)} V − {number(lost_out)} V out − {number(lost_back)} V back,"
                f" {case}, copper at {where}",
            )
    drop_v = as_float(row["drop_running_v"]) or 0.0
    row["limit_v"] = _setting(settings.drop_limit_v, "V", "the shop's limit, battery to part and back, running")
    worst = _worst(part, grid, solved["running", True])
    row["worst_segment"] = worst[0]
    row["worst_segment_v"] = basis.figure(
        worst[1], "V", f"{worst[0]}: running, copper at {number(settings.cabin_c)} °C"
    )
    if drop_v > settings.drop_limit_v:
        found.problems.append(
            context.hold(
                "supply-drop",
                f"{part.lead.title} would lose {number(drop_v, 3)} V on its way, more than {number(settings.drop_limit_v)} V;"
                f" the worst piece is {worst[0]} with {number(worst[1], 2)} V",
                context.tail_place(part.tail),
                hint="a larger or shorter cable there, or a feed of its own from the battery",
            )
        )
    _range(context, grid, part, drop_v, basis, row, found)
    return row


def _worst(part: Drawing, grid: Grid, solution: Solution) -> tuple[str, float]:
    out, back = way_of(grid, part)
    pieces = [(s.hot_mohm / 1000 * abs(solution.branch_a[b.name]), s.name) for b in (*out, *back) for s in b.segments]
    volts, name = max(pieces, key=lambda piece: (round(piece[0], 9), piece[1]))
    return name, volts


def _range(
    context: Context, grid: Grid, part: Drawing, drop_v: float, basis: Basis, row: dict[str, Any], found: Findings
) -> None:
    """The vehicle's range of supply against what the part works in; and the weakest battery."""
    settings, limits = context.shop.supply, part.lead.limits
    whole = sum(p.running_a for p in grid.parts) + context.vehicle.feed.load_a
    inner = whole * settings.battery_mohm / 1000
    row["weakest_v"] = basis.figure(
        settings.weakest_v - inner - drop_v,
        "V",
        f"{number(settings.weakest_v)} V, engine off − {number(whole)} A × {number(settings.battery_mohm)} mΩ in the"
        f" battery − {number(drop_v)} V on the way",
    )
    if limits.lowest_supply_v is None or limits.highest_supply_v is None:
        row["lowest_v"] = row["highest_v"] = row["runs"] = row["survives_start"] = missing(
            "V", f"{part.lead.title} does not state the supply it works in"
        )
        return
    figures, problems = stays_on(
        kind=context.vehicle.supply,
        drop_v=drop_v,
        least_v=limits.lowest_supply_v,
        most_v=limits.highest_supply_v,
        tables=context.tables,
    )
    for problem in problems:
        found.note(f"Range of supply of {part.lead.title} not worked out: {problem.message}.")
    row |= figures
    if figures and not figures["runs"].value:
        found.problems.append(
            context.hold(
                "supply-range",
                f"{part.lead.title} does not stay inside its supply range: {figures['runs'].working}",
                context.vehicle_place("supply"),
                hint="less drop on the way, or a part made for this vehicle",
            )
        )
    if figures and not figures["survives_start"].value:
        found.note(
            f"{part.lead.title} may go out while the engine starts: {figures['survives_start'].working}. "
            "Tell the customer; it is no fault."
        )
    weakest = as_float(row["weakest_v"])
    if weakest is not None and weakest < limits.lowest_supply_v:
        found.problems.append(
            context.warning(
                "supply-weak",
                f"{part.lead.title} gets {number(weakest, 3)} V from the weakest battery; it works from"
                f" {number(limits.lowest_supply_v)} V",
                context.tail_place(part.tail),
                hint="it goes out before the battery is flat: say so, or shorten the way",
            )
        )


def _segments(grid: Grid, solved: Solved) -> list[dict[str, Any]]:
    rows = []
    for branch in sorted(grid.branches.values(), key=lambda b: (b.back, b.name)):
        running, peak = (abs(solved[case, True].branch_a[branch.name]) for case in ("running", "peak"))
        for s in branch.segments:
            basis = s.basis + OHM
            rows.append(
                {
                    "segment": s.name,
                    "circuit": s.circuit,
                    "back": branch.back,
                    "mohm": basis.figure(s.hot_mohm, "mΩ", "hot" if s.size else "the shop's figure"),
                    "mohm_20c": basis.figure(s.cold_mohm, "mΩ", "at 20 °C" if s.size else "the shop's figure"),
                    "running_v": basis.figure(
                        s.hot_mohm / 1000 * running, "V", f"{number(s.hot_mohm)} mΩ × {number(running)} A"
                    ),
                    "peak_v": basis.figure(
                        s.hot_mohm / 1000 * peak, "V", f"{number(s.hot_mohm)} mΩ × {number(peak)} A"
                    ),
                }
            )
    return rows


def _offset(context: Context, grid: Grid, solved: Solved, found: Findings) -> dict[str, Any] | None:
    """The widest difference between the grounds of two parts, running and hot."""
    if len({p.ground.id for p in grid.parts}) < 2:
        return None
    solution = solved["running", True]
    level = sorted((solution.node_v[p.minus], p.lead.lead) for p in grid.parts)
    low, high = level[0], level[-1]
    titles = {p.lead.lead: p.lead.title for p in grid.parts}
    offset, limit = high[0] - low[0], context.shop.supply.ground_offset_limit_v
    if offset > limit:
        found.problems.append(
            context.hold(
                "ground-offset",
                f"the grounds of {titles[high[1]]} and {titles[low[1]]} would lie {number(offset, 2)} V apart, more than"
                f" {number(limit)} V",
                context.vehicle_place("ground_point"),
                hint="bring both grounds to one stud, or use larger ground cable",
            )
        )
    basis = _basis(s for b in grid.branches.values() if b.back for s in b.segments)
    return {
        "between": [high[1], low[1]],
        "offset_v": basis.figure(
            offset,
            "V",
            f"{titles[high[1]]} {number(high[0])} V − {titles[low[1]]} {number(low[0])} V above the battery",
        ),
        "limit_v": _setting(limit, "V", "the shop's limit"),
    }


def _expected(context: Context, grid: Grid, solved: Solved) -> dict[str, Expected]:
    """The window with the engine running, by supply tail."""
    row = context.tables.vehicle_supplies[context.vehicle.supply]
    out = {}
    for part in grid.parts:
        lost = sum(_drops(part, solved["running", True]))
        ways = way_of(grid, part)
        basis = _basis(s for b in (*ways[0], *ways[1]) for s in b.segments)
        usual = context.shop.supply.running_v - lost
        out[part.tail.name] = Expected(
            low=row.running_low_v - lost,
            high=row.running_high_v,
            figure=basis.figure(
                usual,
                "V",
                f"{number(context.shop.supply.running_v)} V − {number(lost)} V lost; this vehicle's supply runs from"
                f" {number(row.running_low_v)} to {number(row.running_high_v)} V",
            ),
        )
    return out


def _setting(value: float, unit: str, words: str) -> Figure:
    return PRACTICE.figure(value, unit, words)


def total_mohm(segments: Sequence[Segment], *, hot: bool = True) -> float:
    """Resistance of several segments in series."""
    return sum(s.hot_mohm if hot else s.cold_mohm for s in segments)
