"""Every fuse of a job, its rating and place: the record lists them, the bench sheet tells those of each circuit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..plan.types import Plan
from .views import capital


@dataclass(frozen=True, kw_only=True)
class FuseView:
    """One fuse in one row. ``feeds`` names the ways behind it."""

    circuit: str
    title: str
    rating: str
    where: str
    feeds: tuple[str, ...]


def fuse_views(plan: Plan) -> tuple[FuseView, ...]:
    """The fuses in the order of their circuits, each once: one that protects several circuits stands in each."""
    return tuple(
        FuseView(
            circuit=row["circuit"],
            title=row["title"],
            rating=_rating(row),
            where=capital(f"{row['fuse']}, {row['place']}"),
            feeds=tuple(row["feeds"]),
        )
        for row in _rows(plan)
    )


def fuse_lines(plan: Plan) -> dict[str, str]:
    """The fuses of each supply circuit in one line, by circuit: "Fuses: 10 A red, the vehicle maker's fuse, …; 1 A black, …"."""
    told: dict[str, list[str]] = {}
    for row in _rows(plan):
        told.setdefault(row["circuit"], []).append(f"{_rating(row)}, {row['fuse']}, {row['place'].partition(';')[0]}")
    return {name: f"{'Fuses' if len(lines) > 1 else 'Fuse'}: {'; '.join(lines)}." for name, lines in told.items()}


def _rating(row: Mapping[str, Any]) -> str:
    return " ".join(filter(None, (row["rating_a"].text, row["colour"]))) if row["rating_a"].value else "not known"


def fuse_data(plan: Plan) -> list[dict[str, Any]]:
    """The same as plain data."""
    return [
        {
            "circuit": row["circuit"],
            "conductor": row["conductor"],
            "rating_a": row["rating_a"].value,
            "fuse": row["fuse"],
            "place": row["place"],
        }
        for row in _rows(plan)
    ]


def _rows(plan: Plan) -> list[Mapping[str, Any]]:
    return list((plan.engineering.get("fuses") or {}).get("rows", ()))
