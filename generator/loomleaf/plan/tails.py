"""The job's tails and ready ends, each with its function looked up and its side of the circuit decided."""

from __future__ import annotations

from collections.abc import Callable

from ..model.lead import Lead, Tail
from ..model.reference import Reference, WireFunction
from .kept import FILES, REFERENCES, kept
from .types import JobEnd, JobTail

ATTRIBUTES = ("volts", "signal", "sense", "wiring", "carries", "video")
ATTRIBUTE_WORDS = {
    "volts": "the volts",
    "signal": "steady against pulsed",
    "sense": "the sense",
    "wiring": "the way the pair is wired",
    "carries": "wire against data",
    "video": "the video standard",
}


def job_tails(leads: tuple[Lead, ...], reference: Reference) -> tuple[JobTail, ...]:
    """Every tail of every lead whose function is known, sorted by name so that file order never matters."""
    of_lead = _tails_of(reference)
    ordered = sorted(leads, key=lambda lead: lead.lead)
    return tuple(tail for lead in ordered for tail in of_lead(lead))


@kept(REFERENCES)
def _tails_of(reference: Reference) -> Callable[[Lead], tuple[JobTail, ...]]:
    """The tails of a lead under this reference, sorted by name; the same for every job that uses the lead."""

    @kept(FILES)
    def of(lead: Lead) -> tuple[JobTail, ...]:
        known = [(tail, reference.functions.get(tail.function)) for tail in lead.tails]
        out = [_resolve(lead, tail, function) for tail, function in known if function is not None]
        return tuple(sorted(out, key=lambda t: way_key(t.tail.at)))

    return of


def job_ends(leads: tuple[Lead, ...], reference: Reference) -> tuple[JobEnd, ...]:
    """Every ready end, sorted by name."""
    ends = [
        JobEnd(lead=lead, end=end, type=reference.connectors.get(end.type)) for lead in leads for end in lead.ready_ends
    ]
    return tuple(sorted(ends, key=lambda e: e.name))


def way_key(at: str) -> tuple[str, int, str]:
    """Sorts A.2 before A.10.

    >>> sorted(["A.10", "A.2", "B.1"], key=way_key)
    ['A.2', 'A.10', 'B.1']
    """
    plug, _, way = at.rpartition(".")
    return (plug, int(way) if way.isdecimal() else 0, way)


def _resolve(lead: Lead, tail: Tail, function: WireFunction) -> JobTail:
    role = tail.role or ("drives" if lead.side in function.drivers else "takes")

    def attribute(name: str) -> object:
        own = getattr(tail, name)
        return own if own is not None else getattr(function, name, None)

    return JobTail(
        lead=lead,
        tail=tail,
        function=function,
        role=role,
        known_from=tail.known_from or lead.known_from,
        **{name: attribute(name) for name in ATTRIBUTES},  # type: ignore[arg-type]
    )
