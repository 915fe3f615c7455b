"""How the shop stands: jobs by state and why, come-backs, minutes against estimate, what to order. No customer, no plate.

``report_of`` gathers; ``report_text``, ``report_json`` and ``report_html`` show the same values in three ways.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from .check.library import Entry, Library
from .model.readings import Readings
from .model.shop import Shop, Stock
from .plan.dashnotes import DashNotes, dash_notes
from .plan.earlier import plans_to_learn_from
from .plan.filed import files_of
from .plan.minutes import (
    Compared,
    JobMinutes,
    compare_minutes,
    job_minutes,
    own_lines,
    plain,
    spoken,
    taken_shares,
)
from .plan.picking import Pick, amount, open_plans, picks, still_needed, total_needs
from .plan.readings import Taken, minutes_taken
from .plan.types import STATES, Plan


@dataclass(frozen=True, kw_only=True)
class JobRow:
    """One job: how many of its vehicles stand in which state, why it is held, and its minutes.

    ``taken`` is everything that was recorded. ``like`` is what of it has a standard, ``standard`` the minutes by the
    standard for just that work on just those vehicles: these two may be compared. ``untimed`` is what was not recorded.
    """

    job: str
    revision: str
    vehicle: str
    state: str
    vehicles: Mapping[str, int]
    reasons: tuple[str, ...]
    next: tuple[str, ...]
    estimated: Decimal
    low: Decimal
    high: Decimal
    taken: Decimal | None
    timed: int  # vehicles on which anything was timed
    cleared: bool
    agreed: bool
    like: Decimal = Decimal(0)
    standard: Decimal = Decimal(0)
    untimed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ComeBackRow:
    """A vehicle that came back: how long after the work, where, how that joint was made, how cold it was."""

    job: str
    on: date
    days: int
    symptom: str
    circuit: str
    circuit_title: str
    method: str
    outside_c: float | None
    cause: str
    put_right: str


@dataclass(frozen=True, kw_only=True)
class Report:
    jobs: tuple[JobRow, ...]
    come_backs: tuple[ComeBackRow, ...]
    by_method: tuple[tuple[str, int, int], ...]  # joining method, joints made, come-backs at one
    minutes: tuple[Compared, ...]
    to_order: tuple[Pick, ...]
    notes: Mapping[str, DashNotes]
    left_out: tuple[str, ...]
    as_of: date  # the latest day on which, by the shop's own files, anything happened
    shares: tuple[tuple[str, Decimal], ...] = ()  # job, and what it took as a share of the standard

    @property
    def states(self) -> Mapping[str, int]:
        """How many vehicles stand in each state."""
        return {state: sum(row.vehicles.get(state, 0) for row in self.jobs) for state in STATES}


def report_of(plans: Mapping[str, Plan], library: Library, shop: Shop) -> Report:
    """Gathered from plans, job files and readings."""
    stock = library.stock.value if library.stock else Stock()
    estimates = {number: job_minutes(plan, shop) for number, plan in plans.items()}
    taken = {number: minutes_taken(plan.job, library.readings) for number, plan in plans.items()}
    learnt = plans_to_learn_from([plan for _, plan in sorted(plans.items())], library)
    rows = [_job_row(plan, estimates[number], taken[number]) for number, plan in sorted(plans.items())]
    backs = [row for _, plan in sorted(plans.items()) for row in _come_backs(plan, library.readings)]
    timed = [(n, estimates[n], taken[n]) for n in sorted(plans) if taken[n]]
    needs = [(p.job.job, still_needed(p, shop, stock)) for p in open_plans(plan for _, plan in sorted(plans.items()))]
    return Report(
        jobs=tuple(rows),
        come_backs=tuple(sorted(backs, key=lambda r: (r.on, r.job))),
        by_method=_by_method(plans.values(), backs),
        minutes=compare_minutes(timed),
        shares=taken_shares(timed),
        to_order=tuple(p for p in picks(total_needs(needs), stock) if p.short > 0),
        notes=dash_notes(learnt, library.readings, {p.job.job: job_minutes(p, shop) for p in learnt}),
        left_out=tuple(sorted(set(library.jobs) - set(plans))),
        as_of=_latest(plans.values(), library.readings),
    )


def _latest(plans: Collection[Plan], readings: Sequence[Entry[Readings]]) -> date:
    """No clock is asked: a report says up to which day it knows that anything happened.

    Something read, proved, cleared, told, agreed, added or come back happened; a day on which a sheet is to be issued may
    lie ahead, and counts only where nothing has happened yet.
    """
    jobs = [p.job for p in plans]
    days = [e.value.on for e in readings]
    for job in jobs:
        days += [item.on for item in job.proofs] + [item.on for item in job.cleared]
        days += [item.on for item in job.agreed] + [item.on for item in job.come_backs]
        days += [item.told_customer for item in job.give_up]
        days += [day for item in job.extras for day in (item.added, item.agreed_on)]
    happened = [day for day in days if day is not None]
    return max(happened or [job.issued for job in jobs], default=date.min)


def _job_row(plan: Plan, minutes: JobMinutes, taken: Mapping[str, Taken]) -> JobRow:
    counts: dict[str, int] = {}
    for state in plan.states:
        counts[state.state] = counts.get(state.state, 0) + 1
    reasons = [f"{p.message} [{p.code}]" for s in plan.states for p in s.reasons]
    steps = [line for s in plan.states if not s.reasons for line in s.before_next]
    rows = compare_minutes([(plan.job.job, minutes, taken)])
    every = {"set-up": "Set-up"} | {o.name: o.title for o in minutes.operations}
    return JobRow(
        job=plan.job.job,
        revision=plan.job.revision,
        vehicle=plan.vehicle.title,
        state=plan.state,
        vehicles={state: counts[state] for state in STATES if state in counts},
        reasons=tuple(dict.fromkeys(reasons)),
        next=tuple(dict.fromkeys(steps)),
        estimated=minutes.likely,
        low=minutes.low,
        high=minutes.high,
        taken=sum((t.minutes for t in taken.values()), Decimal(0)) if taken else None,
        timed=max((t.vehicles for t in taken.values()), default=0),
        cleared=any(plan.digest.startswith(c.digest) and len(c.digest) >= 8 for c in plan.job.cleared),
        agreed=bool(plan.job.agreed),
        like=sum((r.taken for r in rows), Decimal(0)),
        standard=sum((r.standard for r in rows), Decimal(0)),
        untimed=tuple(title for name, title in every.items() if name not in taken) if taken else (),
    )


def _come_backs(plan: Plan, readings: Sequence[Entry[Readings]]) -> list[ComeBackRow]:
    titles = {c.id: c.title for c in plan.circuits}
    rows = []
    for back in plan.job.come_backs:
        done = plan.job.issued
        for registration in plan.job.registrations:
            if not back.registration or back.registration == registration.plate:
                for entry in files_of(plan.job, registration.plate, readings):
                    done = max(done, entry.value.on or done)
        joint = next((j for j in plan.joints if j.circuit == back.circuit), None)
        rows.append(
            ComeBackRow(
                job=plan.job.job,
                on=back.on,
                days=(back.on - done).days,
                symptom=back.symptom,
                circuit=back.circuit,
                circuit_title=titles.get(back.circuit, back.circuit),
                method=back.method or (joint.method_id if joint else ""),
                outside_c=back.outside_c,
                cause=back.cause,
                put_right=back.put_right,
            )
        )
    return rows


DAYS = ((7, "up to 7 days"), (30, "8 to 30 days"), (90, "31 to 90 days"), (365, "91 to 365 days"))
TEMPERATURES = ((0, "below 0 °C"), (10, "0 to 10 °C"), (20, "10 to 20 °C"), (30, "20 to 30 °C"))


def _days(row: ComeBackRow) -> str:
    return next((words for limit, words in DAYS if row.days <= limit), "over a year")


def _outside(row: ComeBackRow) -> str:
    if row.outside_c is None:
        return "not noted"
    degrees = row.outside_c
    return next((words for limit, words in TEMPERATURES if degrees < limit), "30 °C and more")


GROUPINGS: tuple[tuple[str, Callable[[ComeBackRow], str], tuple[str, ...]], ...] = (
    ("symptom", lambda row: row.symptom, ()),
    ("circuit", lambda row: row.circuit_title or "not noted", ()),
    ("joint method", lambda row: row.method or "not at a joint", ()),
    ("days since", _days, (*(words for _, words in DAYS), "over a year")),
    ("temperature", _outside, (*(words for _, words in TEMPERATURES), "30 °C and more", "not noted")),
)
"""What come-backs are counted by: its name, the words for one, and their order (the most frequent first when empty)."""


def come_backs_by(rows: Sequence[ComeBackRow]) -> tuple[tuple[str, tuple[tuple[str, int], ...]], ...]:
    """Come-backs counted in each way: the counts of each add up to all of them."""
    out = []
    for name, words_of, order in GROUPINGS:
        counts: dict[str, int] = {}
        for row in rows:
            counts[words_of(row)] = counts.get(words_of(row), 0) + 1
        place = {words: at for at, words in enumerate(order)}
        out.append((name, tuple(sorted(counts.items(), key=lambda c: (place.get(c[0], 0), -c[1], c[0])))))
    return tuple(out)


def _by_method(plans: Iterable[Plan], backs: Sequence[ComeBackRow]) -> tuple[tuple[str, int, int], ...]:
    """Joints by method in vehicles that were made, and come-backs at a joint of that method."""
    made: dict[str, int] = {}
    for plan in plans:
        done = sum(s.state in ("plug-in", "verified") for s in plan.states)
        for joint in plan.joints if done else ():
            made[joint.method_id] = made.get(joint.method_id, 0) + done
    back: dict[str, int] = {}
    for row in backs:
        if row.method:
            back[row.method] = back.get(row.method, 0) + 1
    return tuple((name, made.get(name, 0), back.get(name, 0)) for name in sorted({*made, *back}))


# --- shown -------------------------------------------------------------------------------------------------------

STATE_WORDS = {"held": "HELD", "build": "build", "plug-in": "plug in", "verified": "verified"}


def report_text(report: Report) -> str:
    """For a terminal."""
    lines = ["Vehicles by state"]
    lines += [f"  {STATE_WORDS[state]:<9}{count:>3}" for state, count in report.states.items()]
    lines += ["", "Jobs"]
    for row in report.jobs:
        counts = ", ".join(
            STATE_WORDS[state] if len(row.vehicles) == 1 and count == 1 else f"{count} {STATE_WORDS[state]}"
            for state, count in row.vehicles.items()
        )
        lines.append(f"  {row.job} {row.revision}  {row.vehicle}: {counts}")
        lines += [f"      held: {reason}" for reason in row.reasons]
        if not row.reasons and row.next:
            more = f" (and {len(row.next) - 1} more)" if len(row.next) > 1 else ""
            lines.append(f"      next: {row.next[0]}{more}")
        if not row.agreed:
            lines.append("      nobody has agreed to a price yet")
    if report.left_out:
        lines.append(f"  left out because of errors: {', '.join(report.left_out)}")
    lines += ["", "Minutes: taken against estimated"]
    timed = [row for row in report.jobs if row.taken is not None]
    for row in timed:
        every = sum(row.vehicles.values())
        some = f" on {row.timed} of {every} vehicles" if every > 1 else ""
        lines.append(f"  {row.job}  {plain(row.like)} taken{some}, {row.standard:.0f} by the standard for the same work")
        beside = (row.taken or Decimal(0)) - row.like
        if beside:
            lines.append(f"      and {plain(beside)} on work that has no standard")
        whole = f"{row.estimated:.0f} ({row.low:.0f} to {row.high:.0f})"
        if row.untimed or some:
            lines.append(f"      the whole job was estimated at {whole}")
        if row.untimed:
            lines.append(f"      not timed: {', '.join(title.lower() for title in row.untimed)}")
    if not timed:
        lines.append("  no job has minutes recorded yet")
    if report.minutes:
        lines += ["", f"  {'operation':<26}{'times':>6}{'standard':>10}{'taken':>8}{'was each':>10}{'own each':>10}"]
        for c in report.minutes:
            lines.append(
                f"  {c.name:<26}{plain(c.count):>6}{plain(c.standard.quantize(Decimal('0.1'))):>10}{plain(c.taken):>8}"
                f"{plain(c.each):>10}{plain(c.own_each):>10}"
            )
        lines += ["", "  The shop's own figures. In shop.yaml each takes the place of the line of its name:"]
        lines += [f"    {line}" for line in own_lines(report.minutes, report.shares)]
    lines += ["", "Come-backs"]
    for back in report.come_backs:
        cold = f", {back.outside_c:g} °C outside" if back.outside_c is not None else ""
        where = ", ".join(dict.fromkeys(w for w in (back.circuit, back.circuit_title, back.method) if w))
        lines.append(
            f"  job {back.job}, {back.days} days after: {back.symptom}" + (f" ({where})" if where else "") + cold
        )
        lines += [f"      cause: {back.cause}"] if back.cause else []
        lines += [f"      put right: {back.put_right}"] if back.put_right else []
    if not report.come_backs:
        lines.append("  none")
    for name, counted in come_backs_by(report.come_backs):
        if counted:
            lines.append(f"  by {name}: " + "; ".join(f"{count} × {words}" for words, count in counted))
    if report.by_method:
        lines += ["", "  of the joints made"]
        lines += [f"  {name}: {back} of {made} joints" for name, made, back in report.by_method]
    lines += ["", "To order for all open jobs"]
    lines += [
        f"  {p.need.title}: {amount(p.order, p.need.unit)}" + ("" if p.listed else " (not in stock.yaml)")
        for p in report.to_order
    ] or ["  nothing"]
    return "\n".join(lines) + "\n"


def report_json(report: Report) -> dict[str, Any]:
    """The same as plain values; minutes as numbers, money left out."""
    return {
        "states": dict(report.states),
        "jobs": [
            {
                "job": r.job,
                "revision": r.revision,
                "vehicle": r.vehicle,
                "state": r.state,
                "vehicles": dict(r.vehicles),
                "reasons": list(r.reasons),
                "next": list(r.next),
                "cleared": r.cleared,
                "agreed": r.agreed,
                "minutes": {
                    "low": float(r.low),
                    "likely": float(r.estimated),
                    "high": float(r.high),
                    "taken": float(r.taken) if r.taken is not None else None,
                    "timed_vehicles": r.timed,
                    "taken_of_standard": float(r.like),
                    "standard": float(r.standard),
                    "not_timed": list(r.untimed),
                },
            }
            for r in report.jobs
        ],
        "left_out": list(report.left_out),
        "minutes": [
            {
                "operation": c.name,
                "count": float(c.count),
                "standard_min": float(c.standard),
                "taken_min": float(c.taken),
                "each_min": float(c.each),
                "own_each_min": float(c.own_each),
                "jobs": list(c.jobs),
            }
            for c in report.minutes
        ],
        "own_minutes": list(own_lines(report.minutes, report.shares)),
        "taken_shares": {job: round(float(share), 3) for job, share in report.shares},
        "come_backs": [
            {
                "job": b.job,
                "on": b.on.isoformat(),
                "days": b.days,
                "symptom": b.symptom,
                "circuit": b.circuit,
                "circuit_title": b.circuit_title,
                "method": b.method,
                "outside_c": b.outside_c,
                "cause": b.cause,
                "put_right": b.put_right,
            }
            for b in report.come_backs
        ],
        "come_backs_by": {name: dict(counts) for name, counts in come_backs_by(report.come_backs)},
        "joints": [{"method": name, "made": made, "come_backs": back} for name, made, back in report.by_method],
        "to_order": [
            {
                "item": p.need.item_id,
                "title": p.need.title,
                "unit": p.need.unit,
                "wanted": float(p.need.quantity),
                "on_hand": float(p.on_hand),
                "order": float(p.order),
                "listed": p.listed,
            }
            for p in report.to_order
        ],
    }


__all__ = ["ComeBackRow", "JobRow", "Report", "report_json", "report_of", "report_text", "spoken"]
