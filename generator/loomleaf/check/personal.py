"""Where customer data stand, so that a shop can remove them after its keeping time."""

from __future__ import annotations

from ..problems import Location
from .library import Library


def personal_places(library: Library) -> tuple[tuple[Location, str], ...]:
    """Each place with what kind of data it is (never the data themselves), in file order."""
    out: list[tuple[Location, str]] = []
    for number, entry in sorted(library.jobs.items()):
        job = entry.value
        out.append((entry.place("customer", "name"), f"job {number}: customer's name"))
        if job.customer.contact:
            out.append((entry.place("customer", "contact"), f"job {number}: customer's contact"))
        for index, _ in enumerate(job.registrations):
            out.append((entry.place("registrations", index), f"job {number}: registration"))
        for index, proof in enumerate(job.proofs):
            if proof.registration:
                out.append((entry.place("proofs", index, "registration"), f"job {number}: registration"))
        for index, item in enumerate(job.agreed):
            if item.who:
                out.append((entry.place("agreed", index, "who"), f"job {number}: who agreed"))
        if job.customer_note:
            out.append((entry.place("customer_note"), f"job {number}: note for the customer"))
        if job.note:
            out.append((entry.place("note"), f"job {number}: free text, may hold personal data"))
    for readings in library.readings:
        if readings.value.registration:
            out.append((readings.place("registration"), f"readings of job {readings.value.job}: registration"))
        for heading in readings.value.answers:
            place = readings.place("answers", heading)
            out.append((place, f"readings of job {readings.value.job}: free text, may hold personal data"))
        for key in ("found", "notes"):
            for index, _ in enumerate(getattr(readings.value, key)):
                place = readings.place(key, index)
                out.append((place, f"readings of job {readings.value.job}: free text, may hold personal data"))
    for issued in library.issued:
        registrations = (issued.value.inputs.get("job") or {}).get("registrations") or ()
        for index, _ in enumerate(registrations if isinstance(registrations, (list, tuple)) else (registrations,)):
            place = issued.place("inputs", "job", "registrations", index)
            out.append((place, f"frozen copy of job {issued.value.job}: registration"))
    for number, entry in sorted(library.jobs.items()):
        for index, extra in enumerate(entry.value.extras):
            if extra.agreed_by:
                out.append((entry.place("extras", index, "agreed_by"), f"job {number}: who agreed"))
            if extra.registration:
                out.append((entry.place("extras", index, "registration"), f"job {number}: registration"))
        for index, _ in enumerate(entry.value.come_backs):
            out.append((entry.place("come_backs", index), f"job {number}: free text, may hold personal data"))
    return tuple(sorted(out))
