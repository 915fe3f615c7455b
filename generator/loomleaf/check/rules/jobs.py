"""Checks of jobs against the shop's vehicles, leads and reference."""

from __future__ import annotations

from datetime import timedelta

from ...model.job import RADIO_AREAS, Job, Proof
from ...model.lead import Tail
from ...model.reference import GROUPS
from ...problems import Collector, nearest
from ..library import Entry, Library
from ..nearby import nearest_entry

LONGEST_WAIT = timedelta(days=366)
"""A proof dated further than this from the sheets is a slip of the pen, or of another time of the vehicle's life; common
practice, no source."""


def _named_otherwise(part: str, library: Library) -> str:
    """A hint for a part that is called by its file's name while the file itself gives another, or nothing."""
    for name, entry in library.leads.items():
        if entry.document.file.rsplit("/", 1)[-1] == f"{part}.yaml":
            return f"the file leads/{part}.yaml names its lead '{name}': use one name in both"
    return ""


def _its_file(folder: str, name: str, library: Library) -> str:
    """A hint that leads to the file of a part that cannot be read."""
    file = library.broken_files.get((folder, name))
    return f"the errors of {file} say where" if file else ""


def _tails(library: Library, job: Job) -> dict[str, str]:
    """Names of the job's tails, each with its lead's side."""
    out: dict[str, str] = {}
    for part in job.parts:
        lead = library.leads.get(part)
        if lead is not None:
            for tail in lead.value.tails:
                out[f"{part}/{tail.at}"] = lead.value.side
    return out


def _complete(library: Library, job: Job) -> bool:
    return all(part in library.leads for part in job.parts)


def every_part_is_known(library: Library, found: Collector) -> None:
    """Vehicle and parts have files; no part is listed twice; there is something on each side."""
    for entry in library.jobs.values():
        job = entry.value
        if job.vehicle not in library.vehicles and job.vehicle not in library.broken:
            found.error(
                "unknown-vehicle",
                f"the vehicle '{job.vehicle}' has no file in vehicles/",
                entry.place("vehicle"),
                hint=nearest(job.vehicle, library.vehicles),
                job=job.job,
            )
        seen: set[str] = set()
        for index, part in enumerate(job.parts):
            if part in library.broken:
                found.error(
                    "part-is-broken",
                    f"the part '{part}' cannot be used until its own file is put right",
                    entry.place("parts", index),
                    hint=_its_file("leads", part, library),
                    job=job.job,
                )
            elif part not in library.leads:
                found.error(
                    "unknown-part",
                    f"the part '{part}' has no file in leads/",
                    entry.place("parts", index),
                    hint=_named_otherwise(part, library) or nearest(part, library.leads),
                    job=job.job,
                )
            if part in seen:
                found.error(
                    "twice",
                    f"the part '{part}' is listed twice",
                    entry.place("parts", index),
                    hint="a second one of the same kind needs a file of its own",
                    job=job.job,
                )
            seen.add(part)
        if job.vehicle in library.broken:
            found.error(
                "part-is-broken",
                f"the vehicle '{job.vehicle}' cannot be used until its own file is put right",
                entry.place("vehicle"),
                hint=_its_file("vehicles", job.vehicle, library),
                job=job.job,
            )


def system_is_within_scope(library: Library, found: Collector) -> None:
    """Only 12 V, negative ground is computed."""
    for entry in library.jobs.values():
        vehicle = library.vehicles.get(entry.value.vehicle)
        if vehicle is None:
            continue
        if vehicle.value.system_volts != 12 or vehicle.value.positive_ground:
            said = "positive ground" if vehicle.value.positive_ground else f"{vehicle.value.system_volts:g} V"
            found.error(
                "outside-scope",
                f"the radio of this vehicle is on {said}; only 12 V with negative ground is worked out",
                entry.place("vehicle"),
                hint="this job cannot be planned here",
                job=entry.value.job,
            )


def high_voltage_is_answered(library: Library, found: Collector) -> None:
    """The job's answer agrees with the vehicle's file; with 48 V or high voltage it names who is trained."""
    for entry in library.jobs.values():
        job = entry.value
        vehicle = library.vehicles.get(job.vehicle)
        if vehicle is not None and vehicle.value.high_voltage != job.high_voltage:
            found.error(
                "high-voltage-differs",
                f"the job says '{job.high_voltage}', the vehicle's file says '{vehicle.value.high_voltage}'",
                entry.place("high_voltage"),
                hint="look at the vehicle, then put the wrong one right",
                job=job.job,
            )
        if job.high_voltage != "none" and not job.trained:
            found.hold(
                "no-trained-person",
                f"the vehicle has {job.high_voltage} and nobody trained for it is named",
                entry.place("high_voltage"),
                hint="add  trained: NAME, or send the job to somebody who is",
                job=job.job,
            )


def airbag_wait_is_whole(library: Library, found: Collector) -> None:
    """A waiting time stands with its source and page, or not at all."""
    for entry in library.jobs.values():
        wait = entry.value.airbag_wait
        given = [bool(wait.value), bool(wait.source), bool(wait.page)]
        if any(given) and not all(given):
            found.error(
                "airbag-wait-unsourced",
                "an airbag waiting time needs the maker's document and the page",
                entry.place("airbag_wait"),
                hint="fill in value, source and page, or leave all three empty",
                job=entry.value.job,
            )


def the_radios_area_is_named(library: Library, found: Collector) -> None:
    """Who takes a radio out works where it sits, beside airbags: an area of it stands among those that the job names. A job
    that names none at all is taken to work at the dash."""
    for entry in library.jobs.values():
        job = entry.value
        leads = [library.leads[part].value for part in job.parts if part in library.leads]
        at_the_plug = [lead for lead in leads if lead.side == "radio" or (lead.side == "vehicle" and lead.plugs)]
        if at_the_plug and job.work_areas and not set(job.work_areas) & set(RADIO_AREAS):
            found.error(
                "radio-area-missing",
                f"the job works at the radio's plug ({at_the_plug[0].lead}), and its work areas are {', '.join(job.work_areas)}",
                entry.place("work_areas"),
                hint=f"add where the radio sits: {', '.join(RADIO_AREAS)}",
                job=job.job,
            )


def registrations_are_unique(library: Library, found: Collector) -> None:
    """A vehicle stands once in a job."""
    for entry in library.jobs.values():
        seen: set[str] = set()
        for index, registration in enumerate(entry.value.registrations):
            key = "".join(registration.plate.split()).upper()
            if key in seen:
                found.error(
                    "twice",
                    f"the registration {registration.plate} is listed twice",
                    entry.place("registrations", index),
                    job=entry.value.job,
                )
            seen.add(key)


def dates_are_in_order(library: Library, found: Collector) -> None:
    """Booked no later than issued. A proof may come after the sheet: it was measured with the sheet in hand."""
    for entry in library.jobs.values():
        job = entry.value
        if job.booked is not None and job.booked > job.issued:
            found.error(
                "dates-out-of-order", "the job is issued before it is booked", entry.place("issued"), job=job.job
            )
        for index, proof in enumerate(job.proofs):
            apart = proof.on - job.issued if proof.on is not None else timedelta(0)
            if abs(apart) > LONGEST_WAIT:
                side = "after" if apart > timedelta(0) else "before"
                found.error(
                    "dates-out-of-order",
                    f"the proof of {proof.tail} is dated more than a year {side} the sheets",
                    entry.place("proofs", index, "on"),
                    hint="look at the year, of the proof and of  issued",
                    job=job.job,
                )


def features_are_the_vehicles(library: Library, found: Collector) -> None:
    """What is kept or given up is something the vehicle has."""
    for entry in library.jobs.values():
        job = entry.value
        vehicle = library.vehicles.get(job.vehicle)
        if vehicle is None:
            continue
        own = {item.feature for item in vehicle.value.features}
        places: list[tuple[str, tuple[str | int, ...]]] = [(name, ("keep", i)) for i, name in enumerate(job.keep)]
        places += [(item.feature, ("give_up", i, "feature")) for i, item in enumerate(job.give_up)]
        for name, place in places:
            if name not in library.reference.features:
                found.error(
                    "unknown-feature",
                    f"the feature '{name}' is not known",
                    entry.place(*place),
                    hint=nearest_entry(name, library.reference.features),
                    job=job.job,
                )
            elif name not in own:
                found.error(
                    "not-on-this-vehicle",
                    f"the vehicle's file does not list '{name}'",
                    entry.place(*place),
                    hint="add it to the vehicle's features, or take it out here",
                    job=job.job,
                )
        for item in set(job.keep) & {g.feature for g in job.give_up}:
            found.error(
                "kept-and-given-up",
                f"'{item}' is both kept and given up",
                entry.place("keep"),
                hint="decide with the customer",
                job=job.job,
            )


def feeds_name_known_things(library: Library, found: Collector) -> None:
    """``feed`` maps a function, the beginning of one, or a tail, to a part of the job or one of its tails."""
    for entry in library.jobs.values():
        job = entry.value
        if not _complete(library, job):
            continue
        tails = _tails(library, job)
        for key, value in job.feed.items():
            if "/" in key:
                if key not in tails:
                    found.error(
                        "unknown-tail",
                        f"the job has no tail '{key}'",
                        entry.place("feed", key, key=True),
                        hint=nearest(key, tails),
                        job=job.job,
                    )
            elif not any(name == key or name.startswith(key + "-") for name in library.reference.functions):
                found.error(
                    "unknown-function",
                    f"'{key}' is not a wire function, nor the beginning of one",
                    entry.place("feed", key, key=True),
                    hint=nearest_entry(key, library.reference.functions),
                    job=job.job,
                )
            if "/" in value:
                if value not in tails:
                    found.error(
                        "unknown-tail",
                        f"the job has no tail '{value}'",
                        entry.place("feed", key),
                        hint=nearest(value, tails),
                        job=job.job,
                    )
            elif value not in job.parts:
                found.error(
                    "unknown-part",
                    f"'{value}' is not a part of this job",
                    entry.place("feed", key),
                    hint=nearest(value, job.parts),
                    job=job.job,
                )


def joining_names_known_methods(library: Library, found: Collector) -> None:
    """``joining`` maps a circuit group, a function or default to a joining method."""
    groups = {name for name, _, _ in GROUPS} | {"default"}
    for entry in library.jobs.values():
        for key, value in entry.value.joining.items():
            if key not in groups and key not in library.reference.functions:
                found.error(
                    "unknown-function",
                    f"'{key}' is neither a group of circuits nor a wire function",
                    entry.place("joining", key, key=True),
                    hint=nearest(key, [*groups, *library.reference.functions]),
                    job=entry.value.job,
                )
            if value not in library.reference.methods:
                found.error(
                    "unknown-method",
                    f"the joining method '{value}' is not known",
                    entry.place("joining", key),
                    hint=nearest(value, library.reference.methods),
                    job=entry.value.job,
                )


def _is_a_reading_of_its_tail(library: Library, entry: Entry[Job], index: int, proof: Proof, found: Collector) -> None:
    """A proof is of a way that may be probed, is a figure that a meter can show, and is in the unit that was asked for."""
    job = entry.value.job
    tail = _tail_named(library, proof.tail)
    function = library.reference.functions.get(tail.function) if tail is not None else None
    if tail is None or function is None:
        return
    if function.never:
        found.error(
            "never-probed",
            f"{proof.tail} is {function.title}: it is never probed, and no reading on it is taken",
            entry.place("proofs", index),
            hint="take the proof out; if a meter was on this circuit, stop and ask the vehicle maker's service",
            job=job,
        )
        return
    unit, value = proof.reading.unit, proof.reading.value
    if value is not None and value < 0 and unit not in ("", "V"):
        found.error(
            "bad-reading",
            f"the reading '{proof.reading.written}' of {proof.tail} has a minus, and a meter shows none in {unit}",
            entry.place("proofs", index, "reading"),
            hint="look at the probes and the range, measure again",
            job=job,
        )
        return
    windows = [r for r in function.readings if r.condition in (proof.condition, "any") and r.pole in (None, tail.pole)]
    if value is None or not unit or not windows or proof.shows not in (None, tail.function):
        return
    wanted = sorted({w.quantity for w in windows})
    if {"A": "mA"}.get(unit, unit) not in wanted:
        asked = next((w for w in windows if w.needed), windows[0])
        found.error(
            "proof-other-unit",
            f"the proof of {proof.tail} is in {unit}, and {proof.condition} it is read in {' or '.join(wanted)}",
            entry.place("proofs", index, "reading"),
            hint=f"{function.title}: {asked.between or 'this way and bare metal'}, {asked.window};"
            " put the unit right, or measure again",
            job=job,
        )


def the_old_radio_is_asked_about(library: Library, found: Collector) -> None:
    """What leaves with the radio taken out is asked for before work, where the vehicle's file says that it carries something."""
    for entry in library.jobs.values():
        job = entry.value
        vehicle = library.vehicles.get(job.vehicle)
        if job.removed_radio_asked or vehicle is None:
            continue
        old = vehicle.value.removed_radio
        carried = {
            "a bus gateway": old.bus_gateway,
            "a code tied to the vehicle": old.codes,
            "telematics": old.telematics,
            "customer's data": old.customer_data,
        }
        known = [words for words, answer in carried.items() if answer]
        if known:
            found.warning(
                "old-radio-not-asked",
                f"the radio taken out carries {' and '.join(known)}, and nobody has asked the customer about it",
                entry.place("vehicle"),
                hint="ask before work, then write  removed_radio_asked: yes",
                job=job.job,
            )


def _tail_named(library: Library, name: str) -> Tail | None:
    lead, _, at = name.partition("/")
    entry = library.leads.get(lead)
    return next((t for t in entry.value.tails if t.at == at), None) if entry is not None else None


def proofs_name_vehicle_tails(library: Library, found: Collector) -> None:
    """A proof is of a tail of the job and, in a fleet, of one of its vehicles."""
    for entry in library.jobs.values():
        job = entry.value
        if not _complete(library, job):
            continue
        tails = _tails(library, job)
        plates = [r.plate for r in job.registrations]
        for index, proof in enumerate(job.proofs):
            if not proof.reading.unit:
                found.error(
                    "bad-reading",
                    f"the reading '{proof.reading.written}' has no unit",
                    entry.place("proofs", index, "reading"),
                    hint="write the unit with it, for example 12.1 V or 3.6 ohm",
                    job=job.job,
                )
            if proof.tail not in tails:
                found.error(
                    "unknown-tail",
                    f"the job has no tail '{proof.tail}'",
                    entry.place("proofs", index, "tail"),
                    hint=nearest(proof.tail, tails),
                    job=job.job,
                )
            elif tails[proof.tail] != "vehicle":
                found.warning(
                    "proof-of-a-part",
                    f"{proof.tail} is a way of a part: a reading taken in the vehicle says nothing about it and clears nothing",
                    entry.place("proofs", index, "tail"),
                    hint="what a part's way is for stands in its leaflet; name the vehicle's way that was read",
                    job=job.job,
                )
            _is_a_reading_of_its_tail(library, entry, index, proof, found)
            if proof.registration and proof.registration not in plates:
                found.error(
                    "not-in-this-job",
                    f"the vehicle {proof.registration} is not in this job",
                    entry.place("proofs", index, "registration"),
                    hint=nearest(proof.registration, plates),
                    job=job.job,
                )
            if not proof.registration and len(plates) > 1:
                found.error(
                    "proof-without-vehicle",
                    "the proof does not say which vehicle it was taken on",
                    entry.place("proofs", index),
                    hint="add  registration: one of the job's",
                    job=job.job,
                )
