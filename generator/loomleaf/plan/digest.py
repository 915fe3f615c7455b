"""One digest for everything a plan is worked out from, so that a word given for it can be told from one given for less."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, is_dataclass
from typing import Any

from ..model.job import Job
from ..model.lead import Lead
from ..model.vehicle import Vehicle


def digest_of(job: Job, vehicle: Vehicle, leads: tuple[Lead, ...]) -> str:
    """SHA-256 over the job (its clearings, agreement and notes left out), the vehicle and the leads; 16 hexadecimal digits."""
    left_out = {"cleared", "agreed", "note", "customer_note", "come_backs", "minutes_spent"}
    parts = {
        "job": job.model_dump(exclude=left_out),
        "vehicle": vehicle.model_dump(),
        "leads": {lead.lead: lead.model_dump() for lead in leads},
    }
    text = json.dumps(parts, sort_keys=True, ensure_ascii=False, default=_plain, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return str(value)
