"""Checks of what can be read and can hardly be meant: amounts far from any real one, fuses that count nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ...model.vehicle import RadioFeed
from ...problems import Collector
from ..library import Entry, Library

FACTORY_AMPLIFIER = "factory-amplifier"
_FACTORS = (1000.0, 0.001, 100.0, 0.01, 10.0, 0.1)


@dataclass(frozen=True, kw_only=True)
class Likely:
    """Between what bounds an amount lies in nearly every vehicle or part (common practice, no source)."""

    path: tuple[str, ...]
    what: str
    unit: str
    low: float
    high: float


VEHICLE = (
    Likely(path=("feed", "length_mm"), what="from the fuse to the dash", unit="mm", low=200, high=15_000),
    Likely(path=("feed", "switched_mm"), what="from the switched fuse to the dash", unit="mm", low=200, high=15_000),
    Likely(path=("feed", "ground_mm"), what="from the dash plug to its ground point", unit="mm", low=30, high=6000),
    Likely(path=("feed", "fuse_a"), what="in the fuse before the radio", unit="A", low=1, high=60),
    Likely(path=("feed", "switched_fuse_a"), what="in the switched fuse before the radio", unit="A", low=1, high=60),
    Likely(path=("feed", "load_a"), what="already on the radio's fuse", unit="A", low=0, high=60),
    Likely(path=("battery", "capacity_ah"), what="in the vehicle's battery", unit="Ah", low=20, high=300),
    Likely(path=("battery", "standby_ma"), what="of the vehicle with its key out", unit="mA", low=0, high=500),
    Likely(path=("battery", "aged"), what="of the battery's capacity left", unit="of 1", low=0.2, high=1),
    Likely(path=("opening", "depth_mm"), what="behind the radio", unit="mm", low=60, high=600),
    Likely(path=("opening", "width_mm"), what="in the radio's opening", unit="mm", low=100, high=600),
    Likely(path=("opening", "height_mm"), what="in the radio's opening", unit="mm", low=40, high=400),
)
LEAD = (
    Likely(path=("draws", "running_a"), what="taken by a part that runs", unit="A", low=0, high=250),
    Likely(path=("draws", "peak_a"), what="taken by a part at its peak", unit="A", low=0, high=500),
    Likely(path=("draws", "standby_ma"), what="taken by a part with the key out", unit="mA", low=0, high=500),
    Likely(path=("limits", "line_out_v"), what="out of line sockets", unit="V", low=0.1, high=15),
    Likely(path=("limits", "sensitivity_low_v"), what="into an amplifier's input", unit="V", low=0.02, high=40),
    Likely(path=("limits", "sensitivity_high_v"), what="into an amplifier's input", unit="V", low=0.1, high=60),
)
TAIL = (
    Likely(path=("length_mm",), what="of a conductor", unit="mm", low=20, high=15_000),
    Likely(path=("fuse_a",), what="in a conductor's own fuse", unit="A", low=0.1, high=300),
)
ROUTE = Likely(path=(), what="of a way in the vehicle", unit="mm", low=20, high=15_000)


def amounts_are_likely(library: Library, found: Collector) -> None:
    """An amount far from any real one was typed in another unit, or with a digit too many or too few."""
    for vehicle in library.vehicles.values():
        _told(vehicle, (), vehicle.value, VEHICLE, found)
    for lead in library.leads.values():
        _told(lead, (), lead.value, LEAD, found)
        for index, tail in enumerate(lead.value.tails):
            _told(lead, ("tails", index), tail, TAIL, found)
    for job in library.jobs.values():
        for name, value in job.value.route_mm.items():
            _tell(job, ("route_mm", name), float(value), ROUTE, found, job.value.job)


def _told(
    entry: Entry[Any], base: tuple[str | int, ...], value: Any, rows: tuple[Likely, ...], found: Collector
) -> None:
    for row in rows:
        amount, stated = value, True
        for key in row.path:
            stated = stated and key in amount.model_fields_set
            amount = getattr(amount, key)
        if stated and amount is not None:
            _tell(entry, (*base, *row.path), float(amount), row, found)


def _tell(
    entry: Entry[Any], path: tuple[str | int, ...], amount: float, row: Likely, found: Collector, job: str = ""
) -> None:
    if row.low <= amount <= row.high:
        return
    meant = next((amount * factor for factor in _FACTORS if row.low <= amount * factor <= row.high), None)
    found.warning(
        "unlikely-amount",
        f"{path[-1]}: {amount:g} {row.unit} {row.what}; it is {row.low:g} to {row.high:g} {row.unit} in nearly every one",
        entry.place(*path),
        hint=f"did you mean {meant:g} {row.unit}? Measure it again"
        if meant is not None and amount > 0
        else "measure it again",
        job=job,
    )


def fuses_have_places_of_their_own(library: Library, found: Collector) -> None:
    """Two fuses with two ratings cannot sit in one place."""
    for vehicle in library.vehicles.values():
        feed: RadioFeed = vehicle.value.feed
        if feed.fuse_a is None or feed.switched_fuse_a is None or feed.fuse_a == feed.switched_fuse_a or not feed.place:
            continue
        switched = feed.switched_place or feed.place
        if " ".join(switched.lower().split()) == " ".join(feed.place.lower().split()):
            found.warning(
                "one-place-two-fuses",
                f"{feed.place}: the constant supply's fuse of {feed.fuse_a:g} A and the switched one's of"
                f" {feed.switched_fuse_a:g} A cannot both sit there",
                vehicle.place("feed", "switched_place" if feed.switched_place else "place"),
                hint="look at both in the fuse box, then write  switched_place:  for the switched one",
            )


def fuses_count_somewhere(library: Library, found: Collector) -> None:
    """``fuse_a`` on a conductor that is no supply, or of a whole adapter on the vehicle's own feed, would be read by nothing."""
    functions = library.reference.functions
    for lead in library.leads.values():
        supplies = []
        for index, tail in enumerate(lead.value.tails):
            function = functions.get(tail.function)
            if function is None:
                continue
            if function.group == "supply":
                supplies.append(tail)
            elif tail.fuse_a is not None:
                found.warning(
                    "fuse-counts-nowhere",
                    f"{tail.at} is no supply ({function.title.lower()}): its fuse of {tail.fuse_a:g} A is counted nowhere",
                    lead.place("tails", index, "fuse_a"),
                    hint="write  fuse_a  on the supply way that the fuse is in",
                )
        if (
            lead.value.side == "vehicle"
            and lead.value.fuse_a is not None
            and not any(t.feed == "battery" for t in supplies)
        ):
            found.warning(
                "fuse-counts-nowhere",
                f"a lead on the vehicle's own feed has no fuse as a whole: its {lead.value.fuse_a:g} A are counted nowhere",
                lead.place("fuse_a"),
                hint="write  fuse_a  on the supply way that the fuse is in",
            )


def what_takes_current_says_how_much(library: Library, found: Collector) -> None:
    """A radio, or a part on a feed from the battery, states what it takes: without that no fuse, cable or drop is judged."""
    functions = library.reference.functions
    for lead in library.leads.values():
        part = lead.value
        if part.side == "vehicle" or ("draws" in part.model_fields_set and "running_a" in part.draws.model_fields_set):
            continue
        supplies = [
            (index, tail)
            for index, tail in enumerate(part.tails)
            if tail.function in functions and functions[tail.function].group == "supply" and tail.role != "drives"
        ]
        main = next(((i, t) for i, t in supplies if part.side == "radio" or t.feed == "battery"), None)
        if main is not None:
            found.warning(
                "draws-missing",
                f"{part.title} takes a supply ({main[1].at}), and its file does not say how much: no fuse and no drop is judged",
                lead.place("tails", main[0]),
                hint="add  draws: {running_a: …, peak_a: …, standby_ma: …}  from its leaflet",
            )


def never_fed(library: Library, found: Collector) -> None:
    """``feed`` names nothing that is never joined: an airbag circuit, a data line, an emergency call."""
    functions = library.reference.functions
    for entry in library.jobs.values():
        for key in entry.value.feed:
            for name in _meant(library, entry, key):
                function = functions.get(name)
                if function is not None and function.never:
                    found.error(
                        "never-fed",
                        f"'{key}' is never fed by anything: {function.title.lower()} is never joined to or measured",
                        entry.place("feed", key, key=True),
                        hint="take the line out",
                        job=entry.value.job,
                    )
                    break


def _meant(library: Library, entry: Entry[Any], key: str) -> Iterator[str]:
    """The functions that a key of ``feed`` speaks of: of one tail, or every one that begins so."""
    if "/" in key:
        part, _, at = key.partition("/")
        if part in library.leads:
            yield from (t.function for t in library.leads[part].value.tails if t.at == at)
        return
    yield from (name for name in library.reference.functions if name == key or name.startswith(key + "-"))


def the_factory_amplifier_is_spoken_of(library: Library, found: Collector) -> None:
    """Where the vehicle's maker fitted an amplifier, an adapter's loudspeaker ways may be its inputs: somebody must say."""
    feature = library.reference.features.get(FACTORY_AMPLIFIER)
    for entry in library.jobs.values():
        job = entry.value
        vehicle = library.vehicles.get(job.vehicle)
        leads = [library.leads[name] for name in job.parts if name in library.leads]
        if vehicle is None or feature is None or FACTORY_AMPLIFIER not in {f.feature for f in vehicle.value.features}:
            continue
        if FACTORY_AMPLIFIER in {item.feature for item in job.give_up}:
            continue
        dash = [lead for lead in leads if lead.value.side == "vehicle"]
        told = {t.function for lead in dash for t in lead.value.tails} | {
            e.type for lead in dash for e in lead.value.ready_ends
        }
        if any(name.startswith(("speaker-level-", "line-")) for name in told):
            continue
        plain = next(
            (
                (lead, index, tail)
                for lead in dash
                for index, tail in enumerate(lead.value.tails)
                if tail.function.startswith("speaker-")
            ),
            None,
        )
        if plain is not None:
            lead, index, tail = plain
            found.hold(
                "factory-amplifier-unsaid",
                f"{lead.value.lead}/{tail.at} is written as a loudspeaker, and the vehicle has an amplifier of its maker's:"
                " the way may be that amplifier's input",
                lead.place("tails", index, "function"),
                hint="measure it: written as  speaker-level-…  it feeds the amplifier; if the amplifier is left out,"
                " add  give_up: [{feature: factory-amplifier, told_customer: DATE}]",
                job=job.job,
            )
