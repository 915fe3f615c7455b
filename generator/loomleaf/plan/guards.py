"""What holds a job whole though every circuit by itself looks right: parts without supply or ground, grounds in places where
none may be, what leaves with the old radio, half a pair, a data box without its data.

Each guard is a small function of the whole job; what it finds holds every vehicle. Sources: common practice, no source,
where a guard names none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from ..model.job import Job
from ..model.lead import Lead
from ..model.vehicle import Vehicle
from ..problems import Location, Problem, Severity
from .types import Circuit, JobTail

FORBIDDEN_POINTS = {
    "seat-belt": "a seat belt's fixing",
    "airbag": "an airbag's fixing",
    "fuel-system": "a fixing of the fuel system",
}
GATEWAY = "bus-gateway"
CAMERA_ENDS = ("camera-plug", "camera-socket")
"""Ready ends that carry a camera's supply beside its picture."""


@dataclass(frozen=True, kw_only=True)
class Whole:
    """A job as the guards see it. ``tails`` are all of its tails, whether they are joined or not."""

    job: Job
    vehicle: Vehicle
    leads: tuple[Lead, ...]
    circuits: tuple[Circuit, ...]
    tails: tuple[JobTail, ...]
    vehicle_place: Callable[..., Location]
    lead_place: Callable[[str], Location]
    tail_place: Callable[[JobTail], Location]

    @property
    def made(self) -> tuple[Circuit, ...]:
        return tuple(c for c in self.circuits if c.made)

    def hold(self, code: str, message: str, where: Location, hint: str) -> Problem:
        return Problem(code=code, severity=Severity.HOLD, message=message, hint=hint, location=where, job=self.job.job)


def guarded(whole: Whole) -> tuple[Problem, ...]:
    """Everything that the guards find, in the order of ``GUARDS``."""
    return tuple(problem for guard in GUARDS for problem in guard(whole))


# --- supply and ground of each part ------------------------------------------------------------------------------


def every_part_is_fed(whole: Whole) -> Iterator[Problem]:
    """The radio, and each part that works on a supply, takes one: none left in the box, none capped."""
    told = _unmade(whole, "supply")
    for lead in _parts(whole):
        inputs = [t for t in whole.tails if t.lead is lead and t.function.group == "supply" and t.role == "takes"]
        if not (lead.side == "radio" or (lead.kind != "plain" and inputs)) or lead.lead in told:
            continue
        if not _joined(whole, lead, "supply", takers_only=True):
            named = f": nothing meets {' and '.join(t.name for t in inputs)}" if inputs else ": its file has no supply"
            yield whole.hold(
                "part-not-fed",
                f"{lead.title} is not fed{named}",
                whole.tail_place(inputs[0]) if inputs else whole.lead_place(lead.lead),
                "add its supply from the leaflet, or the vehicle's at the other end",
            )


def every_fed_part_is_grounded(whole: Whole) -> Iterator[Problem]:
    """A part that is fed has a ground that is joined, home to the vehicle: else its current looks for another way."""
    told = _unmade(whole, "ground")
    grounded = _grounded(whole)
    for lead in _parts(whole):
        fed = [t for c in whole.made if c.group == "supply" for t in c.takers if t.lead is lead]
        if not fed or lead.lead in grounded or lead.lead in told:
            continue
        own = [t for t in whole.tails if t.lead is lead and t.function.group == "ground"]
        feed = min(fed, key=lambda t: t.name)
        home = "its current would come home through the antenna, a picture lead or a loudspeaker wire"
        if not own:
            yield whole.hold(
                "no-ground-tail",
                f"{lead.lead} is fed ({feed.name}) and has no ground: {home}",
                whole.tail_place(feed),
                "add its ground tail from the leaflet; one that grounds through its case has a tail for that as well",
            )
        else:
            yield whole.hold(
                "ground-not-joined",
                f"{lead.lead} is fed ({feed.name}) and its ground ({own[0].name}) is joined to none of the vehicle's: {home}",
                whole.tail_place(own[0]),
                "take  role  or  needed: no  away there, or add the vehicle's ground that it goes to",
            )


def _parts(whole: Whole) -> Iterator[Lead]:
    yield from sorted((lead for lead in whole.leads if lead.side != "vehicle"), key=lambda lead: lead.lead)


def _unmade(whole: Whole, group: str) -> set[str]:
    """Parts of which a circuit of this group is held already, with its own reason."""
    return {t.lead.lead for c in whole.circuits if not c.made and c.group == group for t in c.tails}


def _joined(whole: Whole, lead: Lead, group: str, *, takers_only: bool = False) -> bool:
    return any(t.lead is lead for c in whole.made if c.group == group for t in (c.takers if takers_only else c.tails))


def _grounded(whole: Whole) -> set[str]:
    """Leads whose ground comes home to the vehicle, straight or through another part's."""
    home = {lead.lead for lead in whole.leads if lead.side == "vehicle"}
    circuits = [c for c in whole.made if c.group == "ground"]
    before = -1
    while len(home) != before:
        before = len(home)
        for circuit in circuits:
            if any(t.lead.lead in home for t in circuit.drivers):
                home |= {t.lead.lead for t in circuit.tails}
    return home


# --- where a ground may be bolted --------------------------------------------------------------------------------


def grounds_are_bolted_where_they_may(whole: Whole) -> Iterator[Problem]:
    """Never to a belt, an airbag or the fuel system; not to the post of a battery with a sensor; a prepared stud on a bonded or
    aluminium body. A job that bolts a ground of its own knows where."""
    vehicle, stud = whole.vehicle, whole.vehicle.ground_stud
    grounds = [t for c in whole.made if c.group == "ground" for t in c.drivers if t.lead.side == "vehicle"]
    bolted = next((t for t in grounds if t.tail.feed == "battery"), None)
    where = whole.vehicle_place("ground_stud")
    if stud in FORBIDDEN_POINTS:
        yield whole.hold(
            "ground-point-forbidden",
            f"the vehicle's file has {FORBIDDEN_POINTS[stud]} for a ground point: nothing is ever bolted there",
            where,
            "find a stud that the vehicle's maker made for a ground, then write it at  ground_point  and  ground_stud",
        )
        return
    if bolted is None:
        return
    if stud is None:
        yield whole.hold(
            "ground-point-unknown",
            f"{bolted.name} is bolted to the body, and the vehicle's file does not say to what",
            whole.vehicle_place(),
            "look at the place, then write  ground_point: WHERE  and  ground_stud: prepared, body-screw or battery-post",
        )
    elif stud == "battery-post" and vehicle.battery.sensor is not False:
        sensor = "has a sensor on it" if vehicle.battery.sensor else "may have a sensor on it (nobody has said)"
        yield whole.hold(
            "ground-point-forbidden",
            f"{bolted.name} would be bolted to the battery's post, and the post {sensor}: the sensor would not see its current",
            where,
            "use a body point that the vehicle's maker names; without a sensor write  battery: {sensor: no}",
        )
    elif stud == "body-screw" and vehicle.body != "steel":
        yield whole.hold(
            "ground-point-forbidden",
            f"{bolted.name} would be bolted to a screw of a body that is {vehicle.body}: only a prepared stud is a ground there",
            where,
            "find the stud that the vehicle's maker prepared",
        )


# --- the vehicle's own circuits ----------------------------------------------------------------------------------


def watched_lamps_feed_nothing(whole: Whole) -> Iterator[Problem]:
    """A reverse lamp that the vehicle watches gives a signal and no supply."""
    if not whole.vehicle.bulbs_checked:
        return
    for circuit in whole.made:
        for driver in circuit.drivers:
            taker = next((t for t in circuit.takers if t.function.group == "supply"), None)
            if driver.lead.side == "vehicle" and driver.function_id == "reverse" and taker is not None:
                yield whole.hold(
                    "lamp-feeds-part",
                    f"{circuit.id} {circuit.title}: the vehicle watches its reverse lamps, and {driver.name} would feed"
                    f" {taker.name}",
                    whole.tail_place(taker),
                    "feed it from the switched supply, or by a relay with a fused feed of its own",
                )


def no_gateway_leaves(whole: Whole) -> Iterator[Problem]:
    """Where control units talk to each other through the old radio, a data part takes its place or the radio stays."""
    if not whole.vehicle.removed_radio.bus_gateway:
        return
    joined = {t.lead.lead for c in whole.made if c.group == "data" for t in c.tails}
    if any(lead.kind == "data" and GATEWAY in lead.provides and lead.lead in joined for lead in whole.leads):
        return
    yield whole.hold(
        "gateway-leaves",
        "the vehicle's control units talk to each other through the radio that is taken out, and nothing takes its place",
        whole.vehicle_place("removed_radio", "bus_gateway"),
        f"add a data part that  provides: [{GATEWAY}]  and join its data pair, or leave the old radio in",
    )


# --- pairs and data ----------------------------------------------------------------------------------------------


def pairs_are_whole(whole: Whole) -> Iterator[Problem]:
    """Both wires of a loudspeaker, both of a data pair: with one alone, current or signal comes home where it must not."""
    poles: dict[tuple[str, str, str], set[str]] = {}
    first: dict[tuple[str, str, str], tuple[Circuit, JobTail]] = {}
    for circuit in whole.made:
        for taker in circuit.takers:
            for driver in circuit.drivers:
                key = (taker.function_id, driver.lead.lead, taker.lead.lead)
                poles.setdefault(key, set()).add(taker.tail.pole or "")
                first.setdefault(key, (circuit, taker))
                if driver.wiring == taker.wiring == "common-return":
                    poles[key] |= {"plus", "minus"}
    told = {(t.function_id, t.lead.lead) for c in whole.circuits if c.reason for t in c.tails}
    for key, found in poles.items():
        circuit, taker = first[key]
        wanted = [pole for pole in taker.function.poles if pole != "shield"]
        short = [pole for pole in wanted if pole not in found]
        if circuit.group not in ("speaker", "data") or not short or (key[0], key[2]) in told:
            continue
        title = taker.function.title
        yield whole.hold(
            "half-a-pair",
            f"{circuit.id} {circuit.title}: only the {' and '.join(sorted(found))} of {title} between {key[1]} and {key[2]}"
            f" is joined; its {' and '.join(short)} meets nothing",
            whole.tail_place(taker),
            "add the missing way from the leaflet, at both ends",
        )


def data_parts_have_their_data(whole: Whole) -> Iterator[Problem]:
    """A part that reads the vehicle's data gives nothing without it: neither a switched supply nor reverse, nor tones."""
    told = _unmade(whole, "data")
    mated = {e.lead.lead for c in whole.circuits if c.outcome == "mated" for e in c.ends if _to_vehicle(c)}
    for lead in _parts(whole):
        own = [t for t in whole.tails if t.lead is lead and t.function.group == "data"]
        if lead.kind != "data" or lead.lead in told or _joined(whole, lead, "data") or (not own and lead.lead in mated):
            continue
        named = f": nothing meets {' and '.join(t.name for t in own)}" if own else ", and its file has no data tails"
        yield whole.hold(
            "data-not-joined",
            f"{lead.title} reads the vehicle's data, and none reaches it{named}",
            whole.tail_place(own[0]) if own else whole.lead_place(lead.lead),
            "find the data ways of the vehicle's plug in its leaflet and add them to the adapter",
        )


def _to_vehicle(circuit: Circuit) -> bool:
    return any(e.lead.side == "vehicle" for e in circuit.ends)


# --- cameras -----------------------------------------------------------------------------------------------------


def camera_plugs_get_their_volts(whole: Whole) -> Iterator[Problem]:
    """The plug of a vehicle's camera carries its supply: it goes to a part made for its volts, never to a radio untold."""
    for circuit in whole.circuits:
        camera = next((e for e in circuit.ends if e.lead.side == "vehicle" and e.end.type in CAMERA_ENDS), None)
        if circuit.outcome != "mated" or camera is None:
            continue
        other = next((e for e in circuit.ends if e is not camera), camera)
        stated, given = camera.end.volts, other.end.volts
        if stated is not None and given is not None and stated != given:
            said = f"the camera takes {stated:g} V and {other.name} gives {given:g} V"
        elif stated is None and (other.lead.side == "radio" or other.lead.kind == "plain"):
            said = f"nobody has said how many volts the camera takes; many run on 6 V, and {other.lead.title} may give 12 V"
        elif given is None and other.lead.side == "radio":
            said = f"nobody has said how many volts {other.name} gives, and the camera takes {stated:g} V"
        else:
            continue
        yield whole.hold(
            "camera-volts-unknown",
            f"{circuit.id} {circuit.title}: {said}",
            whole.lead_place(camera.lead.lead),
            "add the adapter made for this camera, or write  volts  at both ready ends from the label and the leaflet",
        )


GUARDS: tuple[Callable[[Whole], Iterable[Problem]], ...] = (
    every_part_is_fed,
    every_fed_part_is_grounded,
    grounds_are_bolted_where_they_may,
    watched_lamps_feed_nothing,
    no_gateway_leaves,
    pairs_are_whole,
    data_parts_have_their_data,
    camera_plugs_get_their_volts,
)
