"""JSON Schema for every kind of file, so that an editor completes and checks while one types."""

from __future__ import annotations

import json

from ..model.base import Content
from ..model.crew import Apprentice
from ..model.job import Job
from ..model.lead import Lead
from ..model.readings import Issued, Readings
from ..model.reference import ReferenceFile
from ..model.shop import Shop, Stock
from ..model.vehicle import Vehicle

KINDS: dict[str, tuple[type[Content], str]] = {
    "shop": (Shop, "shop.yaml"),
    "stock": (Stock, "stock.yaml"),
    "reference": (ReferenceFile, "reference/*.yaml"),
    "vehicle": (Vehicle, "vehicles/*.yaml"),
    "lead": (Lead, "leads/*.yaml"),
    "job": (Job, "jobs/*.yaml"),
    "readings": (Readings, "readings/*.yaml"),
    "issued": (Issued, "issued/*.yaml"),
    "crew": (Apprentice, "crew/*.yaml"),
}


def schemas() -> dict[str, str]:
    """File name to JSON text."""
    out = {}
    for name, (model, files) in KINDS.items():
        schema = {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": f"Loomleaf {name} ({files})",
            **{k: v for k, v in model.model_json_schema(by_alias=True).items() if k != "title"},
        }
        out[f"{name}.schema.json"] = json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"
    return out
