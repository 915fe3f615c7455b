"""What the engineering of one job is worked out from, and how it says what it found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from ..calc.answer import Answer
from ..calc.conductor import outside
from ..calc.tables import Tables
from ..figure import Figure
from ..model.job import Job
from ..model.lead import Lead
from ..model.reference import Reference
from ..model.shop import Shop, StockItem
from ..model.vehicle import Vehicle
from ..problems import Location, Problem, Severity
from .types import Circuit, JobTail, Spare

Place = Callable[..., Location]
T = TypeVar("T")

MAIN_SUPPLIES = ("supply-constant", "supply-switched", "supply-retained", "accessory-output", "camera-supply")
"""Functions over which a part takes its current, the likeliest first: the first that it has carries all of it (common
practice, no source: a radio's switched wire only wakes it)."""


@dataclass(frozen=True, kw_only=True)
class Context:
    """Read-only inputs. ``stock`` is None for a shop that keeps no stock file."""

    job: Job
    vehicle: Vehicle
    leads: tuple[Lead, ...]
    circuits: tuple[Circuit, ...]
    spares: tuple[Spare, ...]
    reference: Reference
    shop: Shop
    stock: Mapping[str, StockItem] | None
    tables: Tables
    job_place: Place
    vehicle_place: Place
    tail_place: Callable[[JobTail], Location]
    lead_place: Callable[[str], Location]
    kept: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)  # what was looked up once already

    def once(self, key: tuple[Any, ...], make: Callable[[], T]) -> T:
        """What ``make`` gives, worked out once for a key while this job is worked out."""
        if key not in self.kept:
            self.kept[key] = make()
        found: T = self.kept[key]
        return found

    def outside_mm(self, tail: JobTail) -> float | None:
        """Outside diameter of a tail over its insulation; None where its size or the tables say nothing."""
        size = tail.tail.size
        if size is None:
            return None
        return self.once(("outside", size.written), lambda: as_float(outside(size, self.tables)))

    @property
    def made(self) -> tuple[Circuit, ...]:
        return self.once(("made",), lambda: tuple(c for c in self.circuits if c.made))

    def hold(self, code: str, message: str, where: Location, hint: str = "") -> Problem:
        return self._problem(code, Severity.HOLD, message, where, hint)

    def warning(self, code: str, message: str, where: Location, hint: str = "") -> Problem:
        return self._problem(code, Severity.WARNING, message, where, hint)

    def _problem(self, code: str, severity: Severity, message: str, where: Location, hint: str) -> Problem:
        return Problem(code=code, severity=severity, message=message, hint=hint, location=where, job=self.job.job)


@dataclass
class Findings:
    """What one part of the engineering found: holds and warnings, and what it could not work out."""

    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)


@dataclass(frozen=True, kw_only=True)
class PartCalled:
    """A part that the plan calls for beside the leads: what, how many, why, and the shelf's item ("" for none)."""

    what: str
    item_id: str
    quantity: int
    circuit: str
    why: str

    def plain(self) -> dict[str, Any]:
        return {
            "what": self.what,
            "item": self.item_id,
            "quantity": self.quantity,
            "circuit": self.circuit,
            "why": self.why,
        }


def answered(answer: Answer, name: str) -> tuple[Figure | None, str]:
    """One figure of an answer, or None and the first thing that was wrong."""
    figures, problems = answer
    found = figures.get(name)
    if found is not None:
        return found, ""
    return None, problems[0].message if problems else f"{name} was not worked out"


def as_float(figure: Figure | None) -> float | None:
    """The value of a figure when it is a number."""
    value = figure.value if figure is not None else None
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def missing(unit: str, why: str) -> Figure:
    """A figure that has no value, and why."""
    return Figure(value=None, unit=unit, working=f"not worked out: {why}")


def main_supply(lead: Lead, circuits: tuple[Circuit, ...]) -> tuple[Circuit, JobTail] | None:
    """The circuit and tail over which a part takes its current; None when none of its supplies is joined."""
    takes = [
        (circuit, tail)
        for circuit in circuits
        if circuit.made and circuit.group == "supply"
        for tail in circuit.takers
        if tail.lead.lead == lead.lead
    ]

    def rank(pair: tuple[Circuit, JobTail]) -> tuple[int, int, str]:
        tail = pair[1]
        known = MAIN_SUPPLIES.index(tail.function_id) if tail.function_id in MAIN_SUPPLIES else len(MAIN_SUPPLIES)
        return (0 if tail.tail.feed == "battery" else 1, known, tail.name)

    return min(takes, key=rank, default=None)


def states_draws(lead: Lead) -> bool:
    """Whether a part's file says what it takes while it runs."""
    return "draws" in lead.model_fields_set and "running_a" in lead.draws.model_fields_set


def powered(leads: tuple[Lead, ...], circuits: tuple[Circuit, ...]) -> tuple[Lead, ...]:
    """The parts that take a supply in this job, by name."""
    names = {
        t.lead.lead for c in circuits if c.made and c.group == "supply" for t in c.takers if t.lead.side != "vehicle"
    }
    return tuple(sorted((lead for lead in leads if lead.lead in names), key=lambda lead: lead.lead))
