"""Plans made by hand for the pictures, of any number of circuits; all names are invented."""

from __future__ import annotations

from datetime import date
from typing import Any

from loomleaf.figure import Figure, Standing
from loomleaf.model.job import Customer, Job, Registration
from loomleaf.model.lead import Lead, Plug, ReadyEnd, Tail
from loomleaf.model.reference import ConnectorType, JoiningMethod, WireFunction
from loomleaf.model.vehicle import Vehicle
from loomleaf.plan.types import Circuit, JobEnd, JobTail, Joint, Plan, Spare
from loomleaf.units import parse_colour, parse_size

COLOURS = (
    "yellow",
    "red",
    "black",
    "white/black",
    "grey/red",
    "green/black",
    "blue/white",
    "violet",
    "brown/yellow",
    "light green",
)
GROUPS = ("supply", "ground", "control", "speaker", "speaker", "speaker", "line")


def connector(name: str, ways: int, rows: int = 2, *, latch: str = "top") -> ConnectorType:
    """A plug with its ways numbered row by row."""
    across = -(-ways // rows)
    numbers = [str(n) if n <= ways else "" for n in range(1, rows * across + 1)]
    return ConnectorType(
        title=f"{ways}-way plug {name}",
        kind="plug",
        does="joins a lead to a dash",
        ways=ways,
        rows=tuple(tuple(numbers[r * across : (r + 1) * across]) for r in range(rows)),
        latch=latch,
        source="demo",
        standing="invented",
    )


def function(name: str, group: str) -> WireFunction:
    return WireFunction(
        title=name.replace("-", " ").capitalize(),
        group=group,
        does="carries something",
        short=name.replace("-", " ").capitalize()[:16],
        never=name == "airbag",
        source="demo",
        standing="invented",
    )


def method(kind: str) -> JoiningMethod:
    return JoiningMethod(title=f"Joint of kind {kind}", kind=kind, does="joins", source="demo", standing="invented")


def tail(lead: Lead, at: str) -> JobTail:
    found = next(t for t in lead.tails if t.at == at)
    group = next((g for g in GROUPS if found.function.startswith(g)), "control")
    return JobTail(
        lead=lead,
        tail=found,
        function=function(found.function, group),
        role="drives" if lead.side == "vehicle" else "takes",
        known_from="leaflet",
    )


def lead(name: str, side: str, plug: str, kind: str, tails: list[dict[str, Any]], title: str = "") -> Lead:
    plugs = (Plug(name=plug, type=kind, ways=200),) if plug else ()
    return Lead(
        lead=name,
        title=title or f"Lead {name}",
        side=side,
        known_from="leaflet",
        plugs=plugs,
        tails=tuple(Tail(**t) for t in tails),
        ready_ends=(ReadyEnd(name="antenna", type="coax-75-plug"),),
    )


def plan_of(
    count: int, *, shuffle: int = 7, places: bool = True, extras: bool = True
) -> tuple[Plan, dict[str, ConnectorType]]:
    """A plan of ``count`` joined circuits between a vehicle's plug and a radio's, whose ways stand in another order.

    ``extras`` adds a shared circuit's second taker with free tails, two ready ends, two spares and a refused circuit.
    """
    ways = count + 2
    functions = [f"{GROUPS[n * len(GROUPS) // count]}-{n // 2}" for n in range(count)]
    vehicle = lead(
        "heron-dash",
        "vehicle",
        "A",
        "heron-plug",
        [
            {
                "at": f"A.{n + 1}",
                "function": functions[n],
                "colour": parse_colour(COLOURS[n % len(COLOURS)]),
                "size": parse_size("0.5 mm2"),
            }
            for n in range(count)
        ]
        + [{"at": f"A.{count + 1}", "function": "airbag"}, {"at": f"A.{count + 2}", "function": "dimmer-return"}],
        "Dash adapter, Corvane Heron",
    )
    step = next(s for s in range(shuffle, shuffle + 50) if _coprime(s, count))
    radio = lead(
        "wheatear",
        "radio",
        "M",
        "wheatear-plug",
        [
            {
                "at": f"M.{n * step % count + 1}",
                "function": functions[n],
                "colour": parse_colour(COLOURS[(n + 3) % len(COLOURS)]),
            }
            for n in range(count)
        ]
        + [{"at": f"M.{count + 1}", "function": "mute", "colour": parse_colour("brown")}],
        "Wheatear radio",
    )
    box = lead(
        "fulmar",
        "module",
        "",
        "",
        [{"at": "red-feed", "function": functions[0], "colour": parse_colour("red")}],
        "Fulmar box",
    )
    circuits, joints = [], []
    kinds = ("crimp", "closed-end", "solder-inline", "solder-twist", "sleeve")
    for n in range(count):
        takers = [tail(radio, f"M.{n * step % count + 1}")]
        if extras and n == 0:
            takers.append(tail(box, "red-feed"))
        driver = tail(vehicle, f"A.{n + 1}")
        group = driver.function.group
        circuits.append(
            Circuit(
                id=f"W{n + 1}",
                function_id=functions[n],
                function=driver.function,
                title=f"{driver.function.title} {'+' if n % 2 == 0 else '−'}",
                group=group,
                pole="",
                feed="",
                outcome="shared" if len(takers) > 1 else "joined",
                drivers=(driver,),
                takers=tuple(takers),
            )
        )
        joints.append(
            Joint(
                id=f"W{n + 1}",
                circuit=f"W{n + 1}",
                title="",
                tails=(),
                method_id="x",
                method=method(kinds[n % 5]),
                place="dash",
                total_mm2=_figure(1.0, "mm²"),
                total_cmil=_figure(1974.0, "cmil"),
                station=n % 4,
                position_mm=60.0 + 25 * (n % 4) if places else None,
            )
        )
    spares: list[Spare] = []
    if extras:
        circuits.append(
            Circuit(
                id="X1",
                function_id="airbag",
                function=None,
                title="Airbag",
                group="safety",
                pole="",
                feed="",
                outcome="refused",
                drivers=(tail(vehicle, f"A.{count + 1}"),),
                reason="An airbag circuit is never joined & never probed.",
            )
        )
        ends = tuple(JobEnd(lead=one, end=one.ready_ends[0], type=None) for one in (vehicle, radio))
        circuits.append(
            Circuit(
                id="R1",
                function_id="",
                function=None,
                title="Antenna",
                group="ready",
                pole="",
                feed="",
                outcome="mated",
                ends=ends,
            )
        )
        spares = [
            Spare(id="E1", tail=tail(vehicle, f"A.{count + 2}"), live=True, why="nothing in this job takes it"),
            Spare(id="E2", tail=tail(radio, f"M.{count + 1}"), live=False, why="nothing in this job drives it"),
        ]
    plan = Plan(
        job=Job(
            job="9001",
            issued=date(2026, 5, 12),
            customer=Customer(name="Nobody"),
            vehicle="heron",
            registrations=(Registration(plate="TEST 1"),),
            high_voltage="none",
            request="A picture",
            parts=("heron-dash", "wheatear"),
        ),
        vehicle=Vehicle(vehicle="heron", title="Heron", maker="Corvane", model="Heron"),
        leads=(vehicle, radio, *((box,) if extras else ())),
        circuits=tuple(circuits),
        spares=tuple(spares),
        features=(),
        states=(),
        checks=(),
        steps=(),
        joints=tuple(joints),
        faults=(),
        problems=(),
        digest="0",
    )
    return plan, {"heron-plug": connector("H", ways), "wheatear-plug": connector("W", count + 1)}


def _coprime(a: int, b: int) -> bool:
    while b:
        a, b = b, a % b
    return a == 1


def _figure(value: float, unit: str) -> Figure:
    return Figure(value=value, unit=unit, working="", known=Standing.INVENTED)
