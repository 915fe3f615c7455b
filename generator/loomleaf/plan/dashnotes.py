"""Dash notes: what this shop has proved on a kind of vehicle, gathered from its verified jobs. Never whose it was.

They tell the next fitter where to look, and prove nothing: everything is proved again on the next vehicle.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from ..check.library import Entry
from ..model.job import Job
from ..model.readings import Readings
from ..model.vehicle import Vehicle
from .filed import files_of
from .minutes import JobMinutes, plain
from .readings import minutes_taken
from .types import JobTail, Plan


@dataclass(frozen=True, kw_only=True)
class Noted:
    """One thing that was found, and the jobs it was found on."""

    text: str
    jobs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class TimeTaken:
    """Minutes recorded on a job, on how many of its vehicles, and what was estimated for all of them."""

    job: str
    minutes: Decimal
    vehicles: int
    estimated: Decimal
    of_vehicles: int


@dataclass(frozen=True, kw_only=True)
class ProvedWay:
    """A way of the vehicle's plugs as the meter showed it under one condition: ``readings`` of earlier vehicles."""

    tail: JobTail
    condition: str
    readings: tuple[str, ...]
    jobs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DashNotes:
    """All that is known of one kind of vehicle. ``leads`` are the parts that were used, ``titles`` what they are called,
    ``ways`` the readings that proved its plugs."""

    vehicle: str
    title: str
    jobs: tuple[str, ...]
    leads: tuple[Noted, ...]
    lied: tuple[Noted, ...]  # colours that said another function than the meter
    swapped: tuple[Noted, ...]  # ways whose function was found on another way
    found: tuple[Noted, ...]  # what fitters wrote down, names left out
    buttons: tuple[Noted, ...]
    times: tuple[TimeTaken, ...]
    titles: Mapping[str, str] = field(default_factory=dict)
    ways: tuple[ProvedWay, ...] = ()


def dash_notes(
    plans: Iterable[Plan], readings: Sequence[Entry[Readings]], estimates: Mapping[str, JobMinutes] | None = None
) -> dict[str, DashNotes]:
    """Notes by vehicle, from jobs of which at least one vehicle is verified; ``plans_to_learn_from`` gives their plans."""
    by_vehicle: dict[str, list[Plan]] = {}
    for plan in plans:
        if any(s.state == "verified" for s in plan.states):
            by_vehicle.setdefault(plan.vehicle.vehicle, []).append(plan)
    return {
        name: _notes(name, sorted(group, key=lambda p: (p.job.issued, p.job.job)), readings, estimates or {})
        for name, group in sorted(by_vehicle.items())
    }


class _Gathered:
    def __init__(self) -> None:
        self.rows: dict[str, list[str]] = {}

    def add(self, text: str, job: str) -> None:
        jobs = self.rows.setdefault(text, [])
        if job not in jobs:
            jobs.append(job)

    def noted(self) -> tuple[Noted, ...]:
        return tuple(Noted(text=text, jobs=tuple(jobs)) for text, jobs in self.rows.items())


def _notes(
    name: str, plans: list[Plan], readings: Sequence[Entry[Readings]], estimates: Mapping[str, JobMinutes]
) -> DashNotes:
    leads, lied, swapped, found, buttons = (_Gathered() for _ in range(5))
    times = []
    for plan in plans:
        number = plan.job.job
        for lead in plan.leads:
            leads.add(lead.lead, number)
        for text in colours_that_lied(plan):
            lied.add(text, number)
        for text in ways_swapped(plan):
            swapped.add(text, number)
        for text in found_by_fitters(plan.job, readings):
            found.add(text, number)
        for text in button_values(plan.vehicle):
            buttons.add(text, number)
        taken = minutes_taken(plan.job, readings)
        if taken:
            estimate = estimates.get(number)
            times.append(
                TimeTaken(
                    job=number,
                    minutes=sum((t.minutes for t in taken.values()), Decimal(0)),
                    vehicles=max(t.vehicles for t in taken.values()),
                    estimated=estimate.likely if estimate else Decimal(0),
                    of_vehicles=len(plan.job.registrations),
                )
            )
    return DashNotes(
        vehicle=name,
        title=plans[0].vehicle.title,
        jobs=tuple(p.job.job for p in plans),
        leads=leads.noted(),
        lied=lied.noted(),
        swapped=swapped.noted(),
        found=found.noted(),
        buttons=buttons.noted(),
        times=tuple(times),
        titles={lead.lead: lead.title for plan in plans for lead in plan.leads},
        ways=ways_proved(plans),
    )


def _tails(plan: Plan) -> dict[str, JobTail]:
    tails = {t.name: t for c in plan.circuits for t in c.tails}
    return tails | {s.tail.name: s.tail for s in plan.spares}


def colours_that_lied(plan: Plan) -> tuple[str, ...]:
    """Vehicle tails whose colour is another function's usual one, where the meter proved the leaflet right."""
    tails = _tails(plan)
    proved = {p.tail for s in plan.states for p in s.proofs if p.verdict}
    out = []
    for circuit in plan.circuits:
        for note in circuit.colour_notes:
            tail = tails.get(note.tails[0]) if note.tails else None
            if note.code == "colour-of-another" and tail is not None and tail.lead.side == "vehicle":
                known = tail.known_from == "meter" or tail.name in proved
                if known:
                    out.append(f"{tail.name} is {tail.colour_text} and carries {tail.function.title.lower()}")
    return tuple(dict.fromkeys(out))


def ways_swapped(plan: Plan) -> tuple[str, ...]:
    """Ways on which the meter showed another function than the leaflet."""
    tails = _tails(plan)
    out = []
    for proof in plan.job.proofs:
        tail = tails.get(proof.tail)
        if tail is None or proof.shows is None or proof.shows == tail.function_id:
            continue
        out.append(f"{tail.name} carries {proof.shows}, not {tail.function_id} as its leaflet says")
    return tuple(dict.fromkeys(out))


def ways_proved(plans: Sequence[Plan]) -> tuple[ProvedWay, ...]:
    """Readings that passed on the vehicle's own ways, by way and condition, from verified vehicles only."""
    known: dict[tuple[str, str], tuple[JobTail, list[str], list[str]]] = {}
    for plan in plans:
        tails = _tails(plan)
        for proof in (p for s in plan.states if s.state == "verified" for p in s.proofs if p.verdict):
            tail = tails.get(proof.tail)
            if tail is None or tail.lead.side != "vehicle":
                continue
            _, readings, jobs = known.setdefault((proof.tail, proof.condition), (tail, [], []))
            readings.append(proof.reading)
            jobs.append(plan.job.job)
    return tuple(
        ProvedWay(
            tail=tail,
            condition=condition,
            readings=tuple(dict.fromkeys(readings)),
            jobs=tuple(dict.fromkeys(jobs)),
        )
        for (_, condition), (tail, readings, jobs) in known.items()
    )


def found_by_fitters(job: Job, readings: Sequence[Entry[Readings]]) -> tuple[str, ...]:
    """Lines written under ``found`` on the job's sheets; one that holds a name, a plate or a number to call is left out."""
    out = []
    for registration in job.registrations:
        for entry in files_of(job, registration.plate, readings, every_issue=True):
            out += [text for text in entry.value.found if text and not is_personal(text, job)]
    return tuple(dict.fromkeys(out))


def is_personal(text: str, job: Job) -> bool:
    """Whether a line holds anything that tells whose vehicle it was: customer, plate, contact, anybody who agreed."""
    bare = re.sub(r"[^a-z0-9]", "", text.lower())
    words = set(re.findall(r"[a-z]+|\d+", text.lower()))
    names = " ".join([job.customer.name, *(a.who for a in job.agreed), *(e.agreed_by for e in job.extras)])
    if words & {w for w in re.findall(r"[a-z]+", names.lower()) if len(w) > 2}:
        return True
    whole = [r.plate for r in job.registrations] + [job.customer.contact]
    if any(w and re.sub(r"[^a-z0-9]", "", w.lower()) in bare for w in whole):
        return True
    return bool(re.search(r"\d[\d ()+/.-]{6,}\d", text) or "@" in text)


def button_values(vehicle: Vehicle) -> tuple[str, ...]:
    """Wheel-button resistances of a kind of vehicle, as measured."""
    out = []
    for ladder in vehicle.wheel_buttons:
        values = ", ".join(f"{name} {ohms:g} Ω" for name, ohms in ladder.buttons.items())
        if values:
            out.append(f"{ladder.wire} to {ladder.reference}: {values}" + (f" ({ladder.source})" if ladder.source else ""))
    return tuple(out)


def note_lines(notes: DashNotes) -> tuple[str, ...]:
    """The notes as sentences, each with the job it was proved on."""

    def on(noted: Noted) -> str:
        jobs = ", ".join(noted.jobs)
        return f"{noted.text} (proved on job{'s' if len(noted.jobs) > 1 else ''} {jobs}, prove again)"

    lines = ["Parts used before: " + "; ".join(f"{n.text} (job {', '.join(n.jobs)})" for n in notes.leads) + "."]
    lines += [f"Colour that lied: {on(n)}." for n in notes.lied]
    lines += [f"Changed over: {on(n)}." for n in notes.swapped]
    lines += [f"Found: {on(n)}." for n in notes.found]
    lines += [f"Wheel buttons: {on(n)}." for n in notes.buttons]
    for time in notes.times:
        some = f" ({time.vehicles} of {time.of_vehicles} vehicles timed)" if time.of_vehicles > 1 else ""
        against = f", {time.estimated:.0f} estimated" if time.estimated else ""
        lines.append(f"Time: {plain(time.minutes)} minutes on job {time.job}{some}{against}.")
    return tuple(lines)


