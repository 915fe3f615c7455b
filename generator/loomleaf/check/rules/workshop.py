"""Checks of what the workshop writes down beside the work: prices, minutes, things taken, come-backs, readings."""

from __future__ import annotations

import re
from collections.abc import Callable

from ...model.job import Job
from ...model.readings import Readings, check_name
from ...problems import Collector, Location, nearest
from ...units import UnitError, parse_minutes
from ..library import Entry, Library
from .jobs import LONGEST_WAIT


def prices_name_known_rates(library: Library, found: Collector) -> None:
    """A tax or a rate that is named is one of shop.yaml's."""
    if library.shop is None:
        return
    shop = library.shop
    taxes, rates = shop.value.tax.others, shop.value.rates.others
    for kind, name in shop.value.tax.uses.items():
        if name not in taxes:
            found.error(
                "unknown-tax",
                f"the tax '{name}' is not among the others",
                shop.place("tax", "uses", kind),
                hint=nearest(name, taxes) or "add it under  tax: {others: {NAME: percent}}",
            )
    for operation, name in shop.value.rates.operations.items():
        if name not in rates:
            found.error(
                "unknown-rate",
                f"the rate '{name}' is not among the others",
                shop.place("rates", "operations", operation),
                hint=nearest(name, rates) or "add it under  rates: {others: {NAME: amount}}",
            )
    for job in library.jobs.values():
        for index, extra in enumerate(job.value.extras):
            if extra.tax is not None and extra.tax not in taxes:
                found.error(
                    "unknown-tax",
                    f"shop.yaml has no tax '{extra.tax}'",
                    job.place("extras", index, "tax"),
                    hint=nearest(extra.tax, taxes) or "leave it out for the usual tax",
                    job=job.value.job,
                )
            if extra.rate is not None and extra.rate not in rates:
                found.error(
                    "unknown-rate",
                    f"shop.yaml has no rate '{extra.rate}'",
                    job.place("extras", index, "rate"),
                    hint=nearest(extra.rate, rates) or "leave it out for the usual rate",
                    job=job.value.job,
                )


def additions_are_agreed(library: Library, found: Collector) -> None:
    """What came after the go-ahead waits until somebody has agreed to it; it is for a vehicle of the job."""
    for job in library.jobs.values():
        for index, extra in enumerate(job.value.extras):
            _is_of_the_job(job, extra.registration, ("extras", index, "registration"), found)
            if extra.added is not None and not extra.agreed_by:
                found.hold(
                    "addition-not-agreed",
                    f"'{extra.what}' was added, and nobody has agreed to it yet",
                    job.place("extras", index),
                    hint="ask, then add  agreed_by, agreed_how, agreed_on",
                    job=job.value.job,
                    registration=extra.registration,
                )


def taken_things_are_in_stock_file(library: Library, found: Collector) -> None:
    """What a job takes from the shelf is listed in stock.yaml."""
    if library.stock is None and "stock.yaml" in library.broken:
        return  # there is a list, and it cannot be read
    stock = library.stock.value.stock if library.stock else {}
    for job in library.jobs.values():
        for index, taken in enumerate(job.value.takes):
            if taken.item not in stock:
                found.error(
                    "unknown-item",
                    f"stock.yaml has no '{taken.item}'",
                    job.place("takes", index),
                    hint=nearest(taken.item, stock) or "list it in stock.yaml, with on_hand: 0",
                    job=job.value.job,
                )


def _operations(library: Library) -> set[str]:
    shop = library.shop.value.minutes if library.shop else None
    names = {"set-up", *library.reference.methods}
    return names | (set(shop.operations) | {f"access-{area}" for area in shop.access} if shop else set())


def minutes_name_known_operations(library: Library, found: Collector) -> None:
    """Recorded minutes belong to an operation that the estimate knows, so that the two can be compared."""
    if library.shop is None:
        return
    known = _operations(library)
    if library.shop is not None:
        for name in library.shop.value.minutes.spread:
            if name not in known:
                found.error(
                    "unknown-operation",
                    f"'{name}' is not an operation with standard minutes",
                    library.shop.place("minutes", "spread", name, key=True),
                    hint=nearest(name, known),
                )
    for entry in library.readings:
        of = library.jobs.get(entry.value.job)
        for name in entry.value.minutes:
            if of is not None and name not in known and not _an_extra(name, of.value):
                found.warning(
                    "unknown-operation",
                    f"'{name}' is not an operation with standard minutes: these are compared with nothing",
                    entry.place("minutes", name, key=True),
                    hint=nearest(name, known),
                    job=of.value.job,
                )
    for job in library.jobs.values():
        for name in job.value.minutes_spent:
            if name not in known and not _an_extra(name, job.value):
                found.error(
                    "unknown-operation",
                    f"'{name}' is not an operation with standard minutes",
                    job.place("minutes_spent", name, key=True),
                    hint=nearest(name, known),
                    job=job.value.job,
                )


def _an_extra(name: str, job: Job) -> bool:
    return name in {f"extra-{number + 1}" for number in range(len(job.extras))}


def come_backs_are_later(library: Library, found: Collector) -> None:
    """A vehicle comes back after it was done; a method that is named is known."""
    for job in library.jobs.values():
        for index, come_back in enumerate(job.value.come_backs):
            if come_back.on < job.value.issued:
                found.error(
                    "dates-out-of-order",
                    "the vehicle came back before the sheets were issued",
                    job.place("come_backs", index, "on"),
                    job=job.value.job,
                )
            _is_of_the_job(job, come_back.registration, ("come_backs", index, "registration"), found)
            method = come_back.method
            if method is not None and method not in library.reference.methods:
                found.error(
                    "unknown-method",
                    f"the joining method '{method}' is not known",
                    job.place("come_backs", index, "method"),
                    hint=nearest(method, library.reference.methods),
                    job=job.value.job,
                )


def _day_of_readings(entry: Entry[Readings], job: Job, found: Collector) -> None:
    """A day far after the sheets and after every time the vehicle came back is a slip: its readings would be the newest for
    good, and hide what failed since."""
    on = entry.value.on
    known = max([job.issued, *(back.on for back in job.come_backs)])
    if on is not None and on - known > LONGEST_WAIT:
        found.error(
            "dates-out-of-order",
            f"these readings are dated {on.isoformat()}, more than a year after the sheets",
            entry.place("on"),
            hint="look at the year, here and at  issued  in the job",
            job=job.job,
        )


def readings_belong_to_a_job(library: Library, found: Collector) -> None:
    """A readings file names a job of the shop and one of its vehicles, and says nothing twice."""
    for entry in library.readings:
        value = entry.value
        job = library.jobs.get(value.job)
        if job is None:
            if value.job not in library.broken:
                found.error(
                    "unknown-job",
                    f"the readings are of a job '{value.job}' that the shop does not have",
                    entry.place("job"),
                    hint=nearest(value.job, library.jobs),
                )
            continue
        _vehicle_of_readings(entry.place, value.registration, job, found)
        _day_of_readings(entry, job.value, found)
        seen: set[str] = set()
        never = _never_probed(library, job.value)
        for index, back in enumerate(value.readings):
            untouched = next((tail for part, tail in never.items() if f"-{part}-" in f"{back.check.lower()}-"), "")
            if untouched and (back.reading or back.result):
                found.error(
                    "never-probed",
                    f"'{back.check}' is read on {untouched}, which is never probed",
                    entry.place("readings", index),
                    hint="take the reading out; if a meter was on this circuit, stop and ask the vehicle maker's service",
                    job=value.job,
                )
            if back.check in seen:
                found.error(
                    "twice",
                    f"the check '{back.check}' is read twice in one file",
                    entry.place("readings", index, "check"),
                    hint="keep the one that counts; a later reading goes into a file of its own",
                    job=value.job,
                )
            seen.add(back.check)
        for name, text in value.minutes.items():
            try:
                parse_minutes(text)
            except UnitError as wrong:
                found.error("bad-minutes", str(wrong), entry.place("minutes", name), hint=wrong.hint, job=value.job)
        if value.digest and (len(value.digest) < 8 or not re.fullmatch(r"[0-9a-f]+", value.digest)):
            found.error(
                "bad-digest",
                f"'{value.digest[:40]}' is not a digest as printed in the foot of the sheet",
                entry.place("digest"),
                hint="at least the first eight of its letters and digits",
                job=value.job,
            )


def _never_probed(library: Library, job: Job) -> dict[str, str]:
    """The job's tails that no meter may touch, by the words that stand for them in the name of a check."""
    functions = library.reference.functions
    leads = [library.leads[part].value for part in job.parts if part in library.leads]
    names = [
        f"{lead.lead}/{tail.at}"
        for lead in leads
        for tail in lead.tails
        if tail.function in functions and functions[tail.function].never
    ]
    return {check_name(name): name for name in names}


def _vehicle_of_readings(
    place: Callable[..., Location], registration: str, job: Entry[Job], found: Collector
) -> None:
    plates = [r.plate for r in job.value.registrations]
    keys = {"".join(p.split()).upper() for p in plates}
    if registration and "".join(registration.split()).upper() not in keys:
        found.error(
            "not-in-this-job",
            f"the vehicle {registration} is not in this job",
            place("registration"),
            hint=nearest(registration, plates),
            job=job.value.job,
        )
    if not registration and len(plates) > 1:
        found.error(
            "reading-without-vehicle",
            "the readings do not say which vehicle they were taken on",
            place(),
            hint="add  registration: one of the job's",
            job=job.value.job,
        )


def _is_of_the_job(job: Entry[Job], registration: str, path: tuple[str | int, ...], found: Collector) -> None:
    """What is said of a vehicle is said of one that the job has; of no vehicle, it is said of them all."""
    plates = [r.plate for r in job.value.registrations]
    if registration and registration not in plates:
        found.error(
            "not-in-this-job",
            f"the vehicle {registration} is not in this job",
            job.place(*path),
            hint=nearest(registration, plates),
            job=job.value.job,
        )
