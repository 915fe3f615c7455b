"""Minutes a job takes, by operation, with an honest range and what drives it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..model.shop import Shop
from .types import Plan

ACCESS = ("remove-radio", "fit-radio", "fit-module", "fit-accessory", "tape", "hand-over")


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One kind of work: how often on one vehicle, minutes each, minutes in all on one vehicle."""

    name: str
    title: str
    count: Decimal
    each: Decimal
    minutes: Decimal
    traces: tuple[str, ...] = ()  # joints, parts or checks it comes from


@dataclass(frozen=True, kw_only=True)
class JobMinutes:
    """Minutes of a job. ``first`` is the first vehicle's work without set-up, ``repeat`` each further one's.

    ``missing`` names operations for which the shop has no standard minutes: they count as nothing and are told.
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


def job_minutes(plan: Plan, shop: Shop) -> JobMinutes:
    """Standard minutes from shop.yaml times what the plan needs; set-up once, further vehicles by the repeat factor."""
    settings = shop.minutes
    counts: dict[str, tuple[Decimal, list[str]]] = {}

    def add(name: str, count: int, trace: str) -> None:
        have, traces = counts.get(name, (Decimal(0), []))
        counts[name] = (have + count, [*traces, trace] if trace else traces)

    for joint in plan.joints:
        add(joint.method_id, 1, joint.id)
    for circuit in plan.circuits:
        if circuit.outcome == "mated":
            add("plug-in", 1, circuit.id)
    for spare in plan.spares:
        add("spare", 1, spare.id)
    for lead in plan.leads:
        if lead.side == "radio":
            add("remove-radio", 1, lead.lead)
            add("fit-radio", 1, lead.lead)
        elif lead.side in ("module", "accessory"):
            add(f"fit-{lead.side}", 1, lead.lead)
    if plan.checks:
        add("check", len(plan.checks), "")
    if plan.joints:
        add("tape", 1, "")
    add("hand-over", 1, "")

    operations = []
    missing = []
    for name in sorted(counts):
        count, traces = counts[name]
        standard = settings.operations.get(name)
        if standard is None:
            missing.append(name)
            continue
        each = Decimal(str(standard))
        title = plan.joints and next((j.method.title for j in plan.joints if j.method_id == name), "") or _words(name)
        operations.append(
            Operation(name=name, title=title, count=count, each=each, minutes=each * count, traces=tuple(traces))
        )
    for index, extra in enumerate(plan.job.extras):
        if extra.minutes:
            each = Decimal(str(extra.minutes))
            operations.append(
                Operation(name=f"extra-{index + 1}", title=extra.what, count=Decimal(1), each=each, minutes=each)
            )
    first = sum((o.minutes for o in operations), Decimal(0))
    repeat = first * Decimal(str(settings.repeat_factor))
    set_up = Decimal(str(settings.set_up))
    vehicles = len(plan.job.registrations)
    likely = set_up + first + repeat * (vehicles - 1)
    biggest = sorted(operations, key=lambda o: (-o.minutes, o.name))[:3]
    return JobMinutes(
        set_up=set_up,
        operations=tuple(operations),
        first=first,
        repeat=repeat,
        vehicles=vehicles,
        likely=likely,
        low=likely * Decimal(str(settings.low_factor)),
        high=likely * Decimal(str(settings.high_factor)),
        drivers=tuple(f"{o.title}: {o.minutes:g} min" for o in biggest),
        missing=tuple(missing),
    )


def _words(name: str) -> str:
    text = name.replace("-", " ")
    return text[0].upper() + text[1:]


def spoken(minutes: Decimal) -> str:
    """Rounded to five minutes, in hours and minutes: "2 h 35 min".

    >>> spoken(Decimal("153"))
    '2 h 35 min'
    """
    whole = int((minutes / 5).to_integral_value(rounding="ROUND_HALF_UP")) * 5
    hours, rest = divmod(whole, 60)
    return " ".join(w for w in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if w)
