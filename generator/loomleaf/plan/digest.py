"""One digest for everything the work is worked out from, so that a word given for it can be told from one given for less."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, is_dataclass
from typing import Any

from ..model.job import Job
from ..model.lead import Lead
from ..model.vehicle import Vehicle
from .kept import FILES, kept

NOT_WORK = frozenset(
    {
        "cleared",
        "customer",
        "agreed",
        "extras",
        "discount_percent",
        "deposit",
        "note",
        "customer_note",
        "booked",
        "issued",
        "crew",
        "proofs",
        "minutes_spent",
        "come_backs",
    }
)
"""What a job file says that changes nothing about what is made: words, dates, money, names; and what is measured later.

Proofs and readings have gates of their own: one that is missing or wrong takes the state back by itself. So a proof added
on the third van leaves what was cleared and read on the first two as it is.
"""


def digest_of(job: Job, vehicle: Vehicle, leads: tuple[Lead, ...]) -> str:
    """SHA-256 over the job (without ``NOT_WORK`` and the odometers), the vehicle and the leads; 16 hexadecimal digits.

    Values left at their defaults do not count, so that a newer program with more keys gives the same digest.
    """
    written = job.model_dump(exclude=set(NOT_WORK), exclude_defaults=True)
    for registration in written["registrations"]:
        registration.pop("odometer", None)
        registration.pop("odometer_out", None)
    for key, items in written.items():
        if isinstance(items, (list, tuple)):  # the order in which a file lists things changes nothing about the work
            written[key] = sorted(items, key=_as_text)
    of_leads = ",".join(_of_lead(lead) for lead in sorted(leads, key=lambda lead: lead.lead))
    text = f'{{"job":{_as_text(written)},"leads":{{{of_leads}}},"vehicle":{_of_vehicle(vehicle)}}}'
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@kept(FILES)
def _of_vehicle(vehicle: Vehicle) -> str:
    return _as_text(vehicle.model_dump(exclude_defaults=True))


@kept(FILES)
def _of_lead(lead: Lead) -> str:
    """The lead under its name; the same whatever order its file lists tails, plugs and ends in."""
    written = lead.model_dump(exclude_defaults=True)
    told = {k: sorted(v, key=_as_text) if isinstance(v, (list, tuple)) else v for k, v in written.items()}
    return f"{_as_text(lead.lead)}:{_as_text(told)}"


def _as_text(value: Any) -> str:
    return json.dumps(value, sort_keys=True, ensure_ascii=False, default=_plain, separators=(",", ":"))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return str(value)
