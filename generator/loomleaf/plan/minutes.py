"""Minutes a job takes, by operation, with an honest range and what drives it; and what was really taken against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from ..model.shop import Shop
from .readings import Taken
from .types import Plan

Kind = Literal["set-up", "joint", "part", "check", "finish", "access", "extra"]


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One kind of work: how often on one vehicle, minutes each, minutes in all on one vehicle.

    ``once`` marks work that is done once for the whole job, however many vehicles it has. ``rate`` names the rate of
    shop.yaml ("" for the usual one).
    """

    name: str
    title: str
    count: Decimal
    each: Decimal
    minutes: Decimal
    traces: tuple[str, ...] = ()  # joints, parts or checks it comes from
    kind: Kind = "finish"
    once: bool = False
    rate: str = ""


@dataclass(frozen=True, kw_only=True)
class JobMinutes:
    """Minutes of a job. ``first`` is the first vehicle's work without set-up, ``repeat`` each further one's, ``once`` the
    extras that are done once. ``likely`` is the sum, ``low`` and ``high`` its range: each operation's own, set-up and work
    by the shop's usual one, and what ways that no meter has proved may add.

    ``missing`` names operations for which the shop has no standard minutes: they count as nothing and are told.
    ``drivers`` say in words what the range hangs on.
    """

    set_up: Decimal
    operations: tuple[Operation, ...]
    first: Decimal
    repeat: Decimal
    vehicles: int
    likely: Decimal
    low: Decimal
    high: Decimal
    drivers: tuple[str, ...]
    missing: tuple[str, ...]
    once: Decimal = Decimal(0)

    def in_all(self, operation: Operation) -> Decimal:
        """Minutes of one operation over all vehicles."""
        if operation.once or not self.first:
            return operation.minutes
        return operation.minutes * (1 + self.repeat / self.first * (self.vehicles - 1))


SET_UP = "set-up"
"""What set-up is called on sheets, in readings and in the report."""


def timed_at_the_bench(minutes: JobMinutes) -> tuple[tuple[str, str], ...]:
    """Name and title of all that is timed while the lead is made: set-up, joints, spares, tape."""
    own = [o for o in minutes.operations if (o.kind == "joint" and o.name != "plug-in") or o.name == "tape"]
    return ((SET_UP, "Set-up"), *((o.name, o.title) for o in own))


def timed_in_the_vehicle(minutes: JobMinutes) -> tuple[tuple[str, str], ...]:
    """Name and title of all that is timed in the vehicle, checks of both sheets together; extras are timed with what they are
    part of."""
    order = {name: at for at, name in enumerate(("access", "part", "plug-in", "check", "finish"))}
    bench = {name for name, _ in timed_at_the_bench(minutes)}
    own = [o for o in minutes.operations if o.name not in bench and o.kind != "extra"]
    own.sort(key=lambda o: (order.get(o.name, order.get(o.kind, 0)), o.name != "remove-radio", o.name != "fit-radio"))
    return tuple((o.name, o.title) for o in own)


def job_minutes(plan: Plan, shop: Shop) -> JobMinutes:
    """Standard minutes from shop.yaml times what the plan needs; set-up once, further vehicles by the repeat factor.

    A joining method that shop.yaml does not list takes the minutes of its own entry in the reference.
    """
    settings = shop.minutes
    usual = {j.method_id: j.method.minutes for j in plan.joints}
    operations: list[Operation] = []
    missing: list[str] = []
    for name, (kind, title, traces) in sorted(_wanted(plan).items()):
        standard = (settings.access if kind == "access" else settings.operations).get(name.removeprefix("access-"))
        if standard is None:
            standard = usual.get(name)
        if standard is None:
            missing.append(name)
            continue
        each = Decimal(str(standard))
        if each:
            operations.append(
                Operation(
                    name=name,
                    title=title,
                    count=Decimal(len(traces)),
                    each=each,
                    minutes=each * len(traces),
                    traces=tuple(traces),
                    kind=kind,
                    rate=shop.rates.operations.get(name, ""),
                )
            )
    operations += _extras(plan)
    first = sum((o.minutes for o in operations if not o.once), Decimal(0))
    once = sum((o.minutes for o in operations if o.once), Decimal(0))
    repeat = first * Decimal(str(settings.repeat_factor))
    set_up = Decimal(str(settings.set_up))
    vehicles = len(plan.job.registrations)
    found = JobMinutes(
        set_up=set_up,
        operations=tuple(operations),
        first=first,
        repeat=repeat,
        vehicles=vehicles,
        likely=set_up + once + first + repeat * (vehicles - 1),
        low=Decimal(0),
        high=Decimal(0),
        drivers=(),
        missing=tuple(missing),
        once=once,
    )
    ranges = _ranges(found, shop, sum(len(s.unproved) for s in plan.states))
    return replace(
        found,
        low=sum((r.low for r in ranges), Decimal(0)),
        high=sum((r.high for r in ranges), Decimal(0)),
        drivers=_drivers(plan, ranges, missing),
    )


@dataclass(frozen=True, kw_only=True)
class _Range:
    """Least, likely and most minutes of one piece of the work, over all vehicles."""

    title: str
    low: Decimal
    likely: Decimal
    high: Decimal


def _ranges(minutes: JobMinutes, shop: Shop, unproved: int) -> list[_Range]:
    """One for set-up, one an operation, and one for what is not proved yet: together the job's range."""
    settings = shop.minutes
    usual = (Decimal(str(min(settings.low_factor, 1))), Decimal(str(max(settings.high_factor, 1))))

    def of(name: str, title: str, likely: Decimal) -> _Range:
        own = settings.spread.get(name)
        low, high = (Decimal(str(own.low)), Decimal(str(own.high))) if own is not None else usual
        return _Range(title=title, low=likely * low, likely=likely, high=likely * high)

    out = [of("set-up", "Set-up", minutes.set_up)]
    out += [of(o.name, o.title, minutes.in_all(o)) for o in minutes.operations]
    more = unproved * Decimal(str(settings.unproved_way))
    if more:
        out.append(_Range(title="Ways still to prove", low=Decimal(0), likely=Decimal(0), high=more))
    return out


def _wanted(plan: Plan) -> dict[str, tuple[Kind, str, list[str]]]:
    """Operation to kind, title and what it is done for, one trace each time it is done on one vehicle."""
    found: dict[str, tuple[Kind, str, list[str]]] = {}

    def add(name: str, kind: Kind, trace: str, title: str = "") -> None:
        if name not in found:
            found[name] = (kind, title or _words(name), [])
        found[name][2].append(trace)

    for joint in plan.joints:
        add(joint.method_id, "joint", joint.id, joint.method.title)
    for circuit in plan.circuits:
        if circuit.outcome == "mated":
            add("plug-in", "joint", circuit.id)
    for spare in plan.spares:
        add("spare", "joint", spare.id)
    for lead in sorted(plan.leads, key=lambda x: x.lead):
        if lead.side == "radio":
            add("remove-radio", "part", lead.lead)
            add("fit-radio", "part", lead.lead)
        elif lead.side in ("module", "accessory"):
            add(f"fit-{lead.side}", "part", lead.lead)
    for check in plan.checks:
        add("check", "check", check.key)
    if plan.joints:
        add("tape", "finish", "loom")
    add("hand-over", "finish", "job")
    for area in sorted(set(plan.job.work_areas)):
        add(f"access-{area}", "access", area, f"Access: {_words(area).lower()}")
    return found


def _extras(plan: Plan) -> list[Operation]:
    return [
        Operation(
            name=f"extra-{index + 1}",
            title=extra.what,
            count=Decimal(extra.quantity),
            each=Decimal(str(extra.minutes)),
            minutes=Decimal(str(extra.minutes)) * extra.quantity,
            traces=(f"extras[{index}]",),
            kind="extra",
            once=True,
            rate=extra.rate or "",
        )
        for index, extra in enumerate(plan.job.extras)
        if extra.minutes
    ]


def _drivers(plan: Plan, ranges: Sequence[_Range], missing: Sequence[str]) -> tuple[str, ...]:
    """What the range hangs on: the three pieces of it that may differ most, then all that is not yet known."""
    widest = sorted((r for r in ranges if r.likely and r.high > r.low), key=lambda r: (r.low - r.high, r.title))[:3]
    lines = [f"{r.title}: {r.low:.0f} to {r.high:.0f} min" for r in widest]
    unproved = sum(len(s.unproved) for s in plan.states)
    if unproved:
        more = sum((r.high for r in ranges if not r.likely), Decimal(0))
        ways = f"{unproved} way{'s' if unproved != 1 else ''} still to prove by meter"
        lines.append(ways + (f": up to {more:.0f} min more" if more else ""))
    reasons = len({(p.code, p.message) for s in plan.states for p in s.reasons})
    if reasons:
        lines.append(f"{reasons} reason{'s' if reasons != 1 else ''} that hold{'' if reasons != 1 else 's'} the job")
    differing = [s for s in plan.states if s.registration.differs]
    if differing:
        one = len(differing) == 1
        lines.append(f"{len(differing)} vehicle{'' if one else 's'} that differ{'s' if one else ''} from the others")
    lines += [f"No standard minutes for: {_words(name).lower()}" for name in missing]
    return tuple(lines)


def _words(name: str) -> str:
    text = name.replace("-", " ")
    return text[:1].upper() + text[1:]


def plain(minutes: Decimal) -> str:
    """Minutes without idle zeros.

    >>> plain(Decimal("12.50")), plain(Decimal("30"))
    ('12.5', '30')
    """
    text = f"{minutes:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def spoken(minutes: Decimal, step: int = 5) -> str:
    """Rounded to ``step`` minutes, in hours and minutes: "2 h 35 min".

    >>> spoken(Decimal("153")), spoken(Decimal("153"), 1)
    ('2 h 35 min', '2 h 33 min')
    """
    whole = int((minutes / step).to_integral_value(rounding="ROUND_HALF_UP")) * step
    hours, rest = divmod(whole, 60)
    return " ".join(w for w in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if w)


# --- estimate against what was taken -----------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One operation over several jobs: how often it was timed, minutes by the standard for as often, minutes taken.

    ``own_each`` is the standard that would have given exactly what was taken, with further vehicles by the same factor: put
    in the place of ``each`` in shop.yaml, it makes the estimate come true. To a tenth of a minute, below two to a hundredth.
    """

    name: str
    title: str
    jobs: tuple[str, ...]
    count: Decimal
    standard: Decimal
    taken: Decimal
    each: Decimal
    own_each: Decimal
    kind: Kind = "finish"


def own_standard(each: Decimal, taken: Decimal, standard: Decimal) -> Decimal:
    """The minutes for one that make the standard for all of it equal to what was taken.

    >>> own_standard(Decimal(5), Decimal(70), Decimal(55)), own_standard(Decimal("0.5"), Decimal(62), Decimal(50))
    (Decimal('6.4'), Decimal('0.62'))
    """
    exact = each * taken / standard
    return exact.quantize(Decimal("0.1") if exact >= 2 else Decimal("0.01"), rounding=ROUND_HALF_UP)


def compare_minutes(jobs: Iterable[tuple[str, JobMinutes, Mapping[str, Taken]]]) -> tuple[Compared, ...]:
    """Standard against taken by operation, from the vehicles on which that operation was timed; sorted by name.

    Set-up is compared as an operation of its own. An operation that was timed and is not in the plan is left out here:
    it has no standard to be held against.
    """
    rows: dict[str, Compared] = {}
    for job, minutes, taken in jobs:
        planned = {o.name: o for o in minutes.operations}
        for name, spent in taken.items():
            operation = planned.get(name)
            kind: Kind
            if name == "set-up":
                title, count, standard, each, kind = "Set-up", Decimal(1), minutes.set_up, minutes.set_up, "set-up"
            elif operation is None or not spent.vehicles:
                continue
            else:
                title, count, standard = operation.title, operation.count, operation.minutes
                each, kind = operation.each, operation.kind
                if not operation.once:  # a vehicle's share of what the fleet was estimated at
                    count *= spent.vehicles
                    standard = minutes.in_all(operation) / minutes.vehicles * spent.vehicles
            if not standard:
                continue
            have = rows.get(name)
            if have is not None:
                count, standard = count + have.count, standard + have.standard
            took = spent.minutes + (have.taken if have is not None else Decimal(0))
            rows[name] = Compared(
                name=name,
                title=title,
                jobs=(*(have.jobs if have is not None else ()), job),
                count=count,
                standard=standard,
                taken=took,
                each=each,
                own_each=own_standard(each, took, standard),
                kind=kind,
            )
    return tuple(rows[name] for name in sorted(rows))


JOBS_FOR_A_RANGE = 5
"""Fewer timed jobs than this say nothing of how far the next one may differ. A habit of ours, no source."""


def taken_shares(jobs: Iterable[tuple[str, JobMinutes, Mapping[str, Taken]]]) -> tuple[tuple[str, Decimal], ...]:
    """Taken as a share of the standard, a job, over the operations that were timed on it."""
    out = []
    for job, minutes, taken in jobs:
        rows = compare_minutes([(job, minutes, taken)])
        standard = sum((r.standard for r in rows), Decimal(0))
        if standard:
            out.append((job, sum((r.taken for r in rows), Decimal(0)) / standard))
    return tuple(out)


def own_lines(rows: Sequence[Compared], shares: Sequence[tuple[str, Decimal]] = ()) -> tuple[str, ...]:
    """Lines of YAML that take the place of those of the same name in shop.yaml; none where nothing was timed.

    The range is offered when enough jobs were timed: the least and the most that one of them took.
    """

    def line(name: str, row: Compared) -> str:
        times = f"{plain(row.count)} time{'s' if row.count != 1 else ''}"
        jobs = f"{len(row.jobs)} job{'s' if len(row.jobs) != 1 else ''}"
        return f"{name}: {plain(row.own_each)} # was {plain(row.each)}; {times} on {jobs}"

    lines = [f"  {line('set_up', row)}" for row in rows if row.kind == "set-up"]
    work = [row for row in rows if row.kind not in ("set-up", "extra", "access")]
    access = [row for row in rows if row.kind == "access"]
    lines += ["  operations:", *(f"    {line(row.name, row)}" for row in work)] if work else []
    lines += ["  access:", *(f"    {line(row.name.removeprefix('access-'), row)}" for row in access)] if access else []
    if len(shares) >= JOBS_FOR_A_RANGE:
        low, high = min(s for _, s in shares), max(s for _, s in shares)
        lines.append(f"  low_factor: {min(low, Decimal(1)):.2f} # of {len(shares)} jobs")
        lines.append(f"  high_factor: {max(high, Decimal(1)):.2f}")
    return ("minutes:", *lines) if lines else ()
