"""Minutes a job takes, by operation, with an honest range and what drives it; and what was really taken against it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
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
    extras that are done once. ``likely`` is the sum, ``low`` and ``high`` its range.

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
            if kind != "access" or settings.access:
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
    likely = set_up + once + first + repeat * (vehicles - 1)
    return JobMinutes(
        set_up=set_up,
        operations=tuple(operations),
        first=first,
        repeat=repeat,
        vehicles=vehicles,
        likely=likely,
        low=likely * Decimal(str(min(settings.low_factor, 1))),
        high=likely * Decimal(str(max(settings.high_factor, 1))),
        drivers=_drivers(plan, operations, missing),
        missing=tuple(missing),
        once=once,
    )


def _wanted(plan: Plan) -> dict[str, tuple[Kind, str, list[str]]]:
    """Operation to kind, title and what it is done for, one trace each time it is done on one vehicle."""
    found: dict[str, tuple[Kind, str, list[str]]] = {}

    def add(name: str, kind: Kind, trace: str, title: str = "") -> None:
        found.setdefault(name, (kind, title or _words(name), []))[2].append(trace)

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


def _drivers(plan: Plan, operations: list[Operation], missing: list[str]) -> tuple[str, ...]:
    """The three biggest pieces of work, then everything not yet known that may stretch it."""
    biggest = sorted(operations, key=lambda o: (-o.minutes, o.name))[:3]
    lines = [f"{o.title}: {plain(o.minutes)} min" for o in biggest]
    unproved = sum(len(s.unproved) for s in plan.states)
    if unproved:
        lines.append(f"{unproved} way{'s' if unproved != 1 else ''} still to prove by meter")
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


def spoken(minutes: Decimal) -> str:
    """Rounded to five minutes, in hours and minutes: "2 h 35 min".

    >>> spoken(Decimal("153"))
    '2 h 35 min'
    """
    whole = int((minutes / 5).to_integral_value(rounding="ROUND_HALF_UP")) * 5
    hours, rest = divmod(whole, 60)
    return " ".join(w for w in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if w)


# --- estimate against what was taken -----------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One operation over several jobs: how often it was timed, minutes by the standard for as often, minutes taken.

    ``own_each`` is what one of it really took, to a tenth of a minute.
    """

    name: str
    title: str
    jobs: tuple[str, ...]
    count: Decimal
    standard: Decimal
    taken: Decimal
    own_each: Decimal


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
            if name == "set-up":
                title, count, standard = "Set-up", Decimal(1), minutes.set_up
            elif operation is None or not spent.vehicles:
                continue
            elif operation.once:
                title, count, standard = operation.title, operation.count, operation.minutes
            else:  # a vehicle's share of what the fleet was estimated at
                title, count = operation.title, operation.count * spent.vehicles
                standard = minutes.in_all(operation) / minutes.vehicles * spent.vehicles
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
                own_each=(took / count).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP),
            )
    return tuple(rows[name] for name in sorted(rows))
