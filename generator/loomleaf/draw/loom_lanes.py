"""From a plan to the lanes and plugs of its loom picture, before anything is measured or drawn."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from ..model.lead import Lead
from ..model.reference import ConnectorType
from ..plan.types import GROUPS, Circuit, JobTail, Joint, Plan, Spare
from .faces import first_way, squared
from .lanes import Block, Lane
from .svg import number

SPARES = "spares"
Kind = Literal["made", "mated", "wanting", "contested", "refused", "spare"]
_HEADINGS = {key: title for key, _, title in GROUPS} | {
    "ready": "Ready ends: they mate as they are",
    SPARES: "Spares: folded back, capped one by one, tied",
}


@dataclass(frozen=True, kw_only=True)
class LoomLane:
    """One lane of the picture. ``titles`` from the fullest to the shortest. ``note`` is said under the lane, "" for none.

    ``left`` are tails of the vehicle's leads, ``right`` those of every other part. ``ends`` are the two ready ends of a
    mated circuit in words. ``joints`` are those that have a place on the ruler or whose place nothing tells; where the
    plan's ruler cannot show a joint's place, ``away`` says where it is ("" where the ruler can).
    """

    id: str
    titles: tuple[str, ...]
    group: str
    unit: str
    kind: Kind
    left: tuple[JobTail, ...] = ()
    right: tuple[JobTail, ...] = ()
    joints: tuple[Joint, ...] = ()
    note: str = ""
    away: str = ""
    ends: tuple[str, str] = ("", "")

    @property
    def places(self) -> tuple[float, ...]:
        """Where its joints stand on the ruler, mm from the vehicle's plug."""
        return () if self.away else tuple(j.position_mm for j in self.joints if j.position_mm is not None)

    @property
    def heading(self) -> str:
        return _HEADINGS.get(self.group, self.group.capitalize())

    @property
    def lane(self) -> Lane:
        return Lane(
            name=self.id,
            group=self.group,
            unit=self.unit,
            left=tuple(tail.name for tail in self.left),
            right=tuple(tail.name for tail in self.right),
        )


@dataclass(frozen=True, kw_only=True)
class LoomPlug:
    """A plug, or the free tails of a part that has none (``rows`` empty and ``loose``), at one side of the picture.

    ``rows`` holds tail names (lead/plug.way), "" for a blank place; ``way_of`` gives what is written in the place.
    ``never`` maps the tails that are never touched at all (airbag) to what they are.
    """

    name: str
    head: str
    title: str
    side: Literal["left", "right"]
    rows: tuple[tuple[str, ...], ...]
    way_of: Mapping[str, str]
    marked: str = ""
    latch: bool = False
    loose: bool = False
    known_face: bool = True
    never: Mapping[str, str] = field(default_factory=dict)

    def touches(self, used: frozenset[str]) -> bool:
        """Whether any of its ways is among those used."""
        return any(name in used for row in self.rows for name in row)

    def ways(self, used: frozenset[str], *, whole: bool) -> tuple[str, ...]:
        """Names of the places from top to bottom, place by place across the rows.

        When not ``whole`` only those used, and those never touched, so that nobody takes one for a way that is free.
        """
        if self.loose or not self.known_face:
            return tuple(name for row in self.rows for name in row if name in used or name in self.never)
        columns = len(self.rows[0]) if self.rows else 0
        found = [row[column] for column in range(columns) for row in self.rows]
        return tuple(name for name in found if name and (whole or name in used or name in self.never))

    def block(self, used: frozenset[str]) -> Block:
        return Block(name=self.name, ways=self.ways(used, whole=True), loose=self.loose)

    def row_of(self, name: str) -> int:
        return next((at for at, row in enumerate(self.rows) if name in row), 0)


def lanes_of(plan: Plan) -> tuple[LoomLane, ...]:
    """Every circuit and every spare of the plan once, in the plan's order, groups in working order."""
    joints: dict[str, list[Joint]] = {}
    for joint in plan.joints:
        joints.setdefault(joint.circuit, []).append(joint)
    ruled = any(_on_ruler(plan, joint) for joint in plan.joints)
    found = []
    for circuit in plan.circuits:
        mine = tuple(joints.get(circuit.id, ()))
        found.append(_circuit_lane(circuit, mine, _away(plan, circuit, mine, ruled)))
    found += [_spare_lane(spare) for spare in plan.spares]
    rank = {key: at for at, key in enumerate(_HEADINGS)}
    return tuple(sorted(found, key=lambda lane: rank.get(lane.group, len(rank) - 1)))


def _on_ruler(plan: Plan, joint: Joint) -> bool:
    """The ruler begins at the vehicle's plugs: a place measured from another part's plug is none on it."""
    measured_from = next((lead for lead in plan.leads if lead.lead == joint.position_from), None)
    return joint.position_mm is not None and (measured_from is None or measured_from.side == "vehicle")


def _away(plan: Plan, circuit: Circuit, joints: tuple[Joint, ...], ruled: bool) -> str:
    """Where a circuit's joint is, when the ruler cannot show it; ``ruled``: the plan has places on the ruler at all."""
    off = [joint for joint in joints if not _on_ruler(plan, joint)]
    if len(off) < len(joints) or not off:
        return ""
    first = off[0]
    if first.position_mm is not None:
        plug = next((t.plug_name for t in circuit.tails if t.lead.lead == first.position_from and t.plug_name), "")
        start = f"plug {plug} of {first.position_from}" if plug else first.position_from
        return f"Joint at {number(first.position_mm)} mm from {start}."
    if not ruled:
        return ""
    return "Joint at its stud, not along the loom." if first.method.kind == "terminal" else "Place not worked out."


def _is_left(tail: JobTail) -> bool:
    return tail.lead.side == "vehicle"


def _short(circuit: Circuit) -> str:
    if circuit.function is None or not circuit.function.short:
        return ""
    pole = {"plus": "+", "minus": "−"}.get(circuit.pole, circuit.pole)
    return f"{circuit.function.short} {pole}".strip()


def _circuit_lane(circuit: Circuit, joints: tuple[Joint, ...], away: str) -> LoomLane:
    kind: Kind = "made" if circuit.outcome in ("joined", "shared") else circuit.outcome  # type: ignore[assignment]
    note = ""
    if kind == "refused":
        note = f"Never joined: {circuit.reason}"
    elif kind in ("wanting", "contested"):
        note = f"{kind.capitalize()}: {circuit.reason}"
    elif circuit.combine in ("diode", "relay"):
        note = f"Drivers are brought together through a {circuit.combine}."
    note = f"{away} {note}".strip()
    ends = ("", "")
    if circuit.ends:
        ordered = sorted(circuit.ends, key=lambda end: end.lead.side != "vehicle")
        words = [f"{end.end.name}: {end.lead.title}" for end in ordered]
        ends = (words[0], "; ".join(words[1:]))
    return LoomLane(
        id=circuit.id,
        titles=(circuit.title, _short(circuit)),
        group=circuit.group,
        unit=f"{circuit.function_id}|{circuit.feed}",
        kind=kind,
        left=tuple(tail for tail in circuit.tails if _is_left(tail)),
        right=tuple(tail for tail in circuit.tails if not _is_left(tail)),
        joints=joints,
        note=note,
        away=away,
        ends=ends,
    )


def _spare_lane(spare: Spare) -> LoomLane:
    left = _is_left(spare.tail)
    return LoomLane(
        id=spare.id,
        titles=(spare.tail.title, spare.tail.function.short),
        group=SPARES,
        unit=spare.id,
        kind="spare",
        left=(spare.tail,) if left else (),
        right=() if left else (spare.tail,),
        note=("live, so cap it first; " if spare.live else "") + spare.why,
    )


def plugs_of(plan: Plan, connectors: Mapping[str, ConnectorType]) -> tuple[LoomPlug, ...]:
    """Every plug of the plan's leads, and a block of free tails for each lead that has tails outside a plug."""
    out: list[LoomPlug] = []
    for lead in plan.leads:
        side: Literal["left", "right"] = "left" if lead.side == "vehicle" else "right"
        plugged: set[str] = set()
        for plug in lead.plugs:
            tails = [tail.at for tail in lead.tails if tail.at.startswith(f"{plug.name}.")]
            plugged.update(tails)
            out.append(_plug(lead, plug.name, tails, side, connectors.get(plug.type)))
        free = [tail.at for tail in lead.tails if tail.at not in plugged]
        if free:
            names = tuple(f"{lead.lead}/{at}" for at in free)
            way_of = dict(zip(names, free, strict=True))
            out.append(
                LoomPlug(
                    name=lead.lead,
                    head="Free tails",
                    title=lead.title,
                    side=side,
                    rows=(names,),
                    way_of=way_of,
                    loose=True,
                    known_face=False,
                )
            )
    never = never_touched(plan)
    return tuple(
        replace(plug, never={n: never[n] for row in plug.rows for n in row if n in never}) if never else plug for plug in out
    )


def never_touched(plan: Plan) -> dict[str, str]:
    """Tails of functions that are never touched at all, an airbag's: their names, and what each is."""
    tails = [t for c in plan.circuits for t in c.tails] + [spare.tail for spare in plan.spares]
    return {tail.name: tail.title for tail in tails if tail.function.never}


def _plug(
    lead: Lead, plug: str, tails: list[str], side: Literal["left", "right"], connector: ConnectorType | None
) -> LoomPlug:
    prefix = f"{lead.lead}/{plug}."
    rows = squared(connector.rows) if connector and connector.rows else ()
    on_face = {way for row in rows for way in row if way}
    wanted = [at.rpartition(".")[2] for at in tails]
    if not rows or not set(wanted) <= on_face:
        ordered = sorted(wanted, key=_natural)
        names = tuple(prefix + way for way in ordered)
        return LoomPlug(
            name=prefix,
            head=f"Plug {plug}",
            title=lead.title,
            side=side,
            rows=(names,),
            way_of=dict(zip(names, ordered, strict=True)),
            known_face=False,
        )
    return LoomPlug(
        name=prefix,
        head=f"Plug {plug}",
        title=lead.title,
        side=side,
        rows=tuple(tuple(prefix + way if way else "" for way in row) for row in rows),
        way_of={prefix + way: way for way in on_face},
        marked=prefix + first_way(rows),
        latch=bool(connector and connector.latch),
    )


def _natural(way: str) -> tuple[tuple[int, str], ...]:
    return tuple((int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"(\d+)", way) if part)
