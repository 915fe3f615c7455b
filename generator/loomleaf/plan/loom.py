"""The loom: where each joint lies, how thick it gets, its branches, tape and ties.

Joints are spread over stations from the plug that the vehicle leaves (or, for circuits that do not reach it, from the
radio's plug), as far as the shortest tail allows. A supply is never beside a ground.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..calc.answer import PRACTICE
from ..calc.bundle import bundle
from ..calc.stagger import JointAt, Stagger, stagger
from ..calc.tape import tape
from ..figure import Figure, number
from ..model.lead import Lead
from ..problems import Problem
from .changed import changed
from .context import Context, Findings, as_float, missing
from .joints import Cap, Shape
from .types import Circuit, JobTail, Joint

BUDGET = 250
"""Steps of the search for the best spread: some milliseconds. Beyond it the result is bounded and says so."""


@dataclass(frozen=True, kw_only=True)
class Loom:
    """Joints with their places, and the rows for paper."""

    joints: tuple[Joint, ...]
    plain: dict[str, Any]


def loom_for(
    context: Context, joints: tuple[Joint, ...], shapes: Mapping[str, Shape], caps: Sequence[Cap], found: Findings
) -> Loom:
    """Place the joints of every lead, then measure each loom."""
    circuits = {c.id: c for c in context.circuits}
    plugs = {lead.lead for lead in context.leads if lead.side == "vehicle" and lead.plugs}
    radios = {lead.lead for lead in context.leads if lead.side == "radio"}
    groups = _groups([j for j in joints if j.id in shapes], circuits, plugs, radios)
    placed: dict[str, Joint] = {}
    looms = []
    for lead, members in groups.items():
        spread = _spread(
            context,
            lead,
            members,
            circuits,
            shapes,
            in_dash=lead in plugs | radios,
            on_route=lead in plugs,
            found=found,
        )
        mine = _put(members, spread, lead)
        placed |= {joint.id: joint for joint in mine}
        row = _measure(context, lead, mine, circuits, shapes, spread, lead in plugs, found)
        row["near_radio"] = _near_radio(context, mine, circuits, lead, row["length_mm"]) if lead in plugs else ""
        if row["near_radio"]:
            found.note(row["near_radio"])
        looms.append(row)
    whole = tuple(placed.get(j.id, j) for j in joints)
    return Loom(
        joints=whole,
        plain={
            "looms": looms,
            "branches": _branches(context),
            "sleeves": _sleeves(whole, caps),
            "ties": _ties(context, looms),
        },
    )


def _groups(
    joints: Sequence[Joint], circuits: Mapping[str, Circuit], plugs: set[str], radios: set[str]
) -> dict[str, list[Joint]]:
    """Joints by the lead whose plug their place is measured from, by name.

    Joints between the radio and another part lie in the loom of the dash plug that has most joints, so that one loom has
    one measure and its supplies and grounds are kept apart.
    """
    own = {j.id: _measured_from(circuits[j.circuit]) for j in joints}
    counts: dict[str, int] = defaultdict(int)
    for lead in own.values():
        if lead in plugs:
            counts[lead] += 1
    dash = max(sorted(counts), key=lambda lead: counts[lead], default="")
    groups: dict[str, list[Joint]] = defaultdict(list)
    for joint in joints:
        lead = own[joint.id]
        groups[dash if dash and lead in radios else lead].append(joint)
    return {lead: groups[lead] for lead in sorted(groups)}


def _measured_from(circuit: Circuit) -> str:
    """The lead whose plug the joint's place is measured from, taken by itself."""

    def rank(tail: JobTail) -> tuple[int, str]:
        dash = tail.lead.side == "vehicle"
        order = 0 if dash and tail.plug_name else 1 if dash else 2 if tail.lead.side == "radio" else 3
        return order, tail.lead.lead

    return min(circuit.tails, key=rank).lead.lead


def _put(joints: Sequence[Joint], spread: Stagger | None, lead: str) -> list[Joint]:
    """The joints at their places, in whole millimetres from the lead's plug; as they are where nothing was spread."""
    if spread is None:
        return list(joints)
    return [
        changed(
            joint,
            station=spread.station[joint.id],
            position_mm=float(math.floor(spread.middle_mm[spread.station[joint.id]] + 0.5)),
            position_from=lead,
        )
        for joint in joints
    ]


def _near_radio(
    context: Context, joints: Sequence[Joint], circuits: Mapping[str, Circuit], lead: str, length: Figure
) -> str:
    """What to say where the last joints lie nearer to the radio's plug than the shop wants; "" where they do not."""
    whole = as_float(length)
    mine = [j for j in joints if j.position_mm is not None and _radio_tails(circuits[j.circuit], lead)]
    if whole is None or not mine:
        return ""
    wanted = context.shop.loom.first_joint_mm
    last = max(j.position_mm or 0.0 for j in mine)
    if whole - last >= wanted:
        return ""
    named = ", ".join(j.id for j in mine if j.position_mm == last)
    return (
        f"The loom of {lead} is too short to keep {number(wanted)} mm free of joints at both plugs: "
        f"{named} {'lies' if ',' not in named else 'lie'} {number(whole - last)} mm from the radio's plug."
    )


def _radio_tails(circuit: Circuit, lead: str) -> list[JobTail]:
    """The circuit's tails of a radio that is not the loom's own lead."""
    return [t for t in circuit.tails if t.lead.side == "radio" and t.lead.lead != lead]


def _spread(
    context: Context,
    lead: str,
    joints: Sequence[Joint],
    circuits: Mapping[str, Circuit],
    shapes: Mapping[str, Shape],
    *,
    in_dash: bool,
    on_route: bool,
    found: Findings,
) -> Stagger | None:
    """Stations for the joints of one lead.

    In the dash they begin near the plug, farther out where the route would not be reached otherwise, and end as far from
    the radio's plug, unless they then find no room or make the loom too thick for the opening. Elsewhere they lie at the
    end of the tails, so that none is cut short.
    """
    settings = context.shop.loom
    near = [t for j in joints for t in circuits[j.circuit].tails if t.lead.lead == lead]
    unknown = next((t for t in near if t.tail.length_mm is None), None)
    if unknown is not None:
        found.note(f"Joints of {lead} not spread: the length of {unknown.name} is not stated.")
        return None
    end = min(t.tail.length_mm or 0.0 for t in near)
    longest = max(settings.station_pitch_mm, *(shapes[j.id].length_mm for j in joints))
    useful = (len(joints) + 1.5) * longest  # one each, and one between supplies and grounds: no use for more
    first = settings.first_joint_mm
    if not in_dash:
        first = max(first, end - useful)
    marks = [
        JointAt(
            id=j.id,
            kind=_kind(circuits[j.circuit]),
            length_mm=shapes[j.id].length_mm,
            diameter_mm=shapes[j.id].diameter_mm,
        )
        for j in joints
    ]
    starts = [first]
    route = context.job.route_mm.get("dash") if on_route else None
    if route is not None:
        later = _start_for(route, joints, circuits, lead, longest)
        if later is not None and later > first:
            starts = [later, first]
    problems: tuple[Problem, ...] = ()
    for start, stop in _both_ends(context, starts, end, route, joints, circuits, lead, longest, on_route=on_route):
        spread, problems = stagger(
            marks,
            usable_mm=min(max(stop - start, 1.0), useful),
            pitch_mm=settings.station_pitch_mm,
            first_mm=start,
            budget=BUDGET,
        )
        kept = stop < end
        if spread is not None and not (kept and _too_thick(context, lead, joints, circuits, shapes, spread)):
            return spread
    for problem in problems:
        found.problems.append(
            context.hold(
                "joints-too-close",
                f"the joints of {lead} cannot be spread: {problem.message}",
                context.lead_place(lead),
                hint=problem.hint,
            )
        )
    return None


def _start_for(
    route: float, joints: Sequence[Joint], circuits: Mapping[str, Circuit], lead: str, longest: float
) -> float | None:
    """Where stations must begin for the radio's tails to reach along the route; None where no radio tail is stated."""
    starts = [
        route - t.tail.length_mm + (as_float(j.strip_mm) or 0.0) / 2 - longest / 2
        for j in joints
        for t in circuits[j.circuit].tails
        if t.lead.lead != lead and t.lead.side == "radio" and t.tail.length_mm is not None
    ]
    return math.ceil(max(starts)) if starts else None


def _both_ends(
    context: Context,
    starts: Sequence[float],
    end: float,
    route: float | None,
    joints: Sequence[Joint],
    circuits: Mapping[str, Circuit],
    lead: str,
    longest: float,
    *,
    on_route: bool,
) -> Iterator[tuple[float, float]]:
    """Where stations may begin and end, best first: free of joints at both plugs, then a station nearer to the radio's
    plug each time, up to the whole length of the tails."""
    free = context.shop.loom.first_joint_mm
    for start in starts:
        stop = _far_limit(start, route, joints, circuits, lead, longest, free) if on_route else None
        while stop is not None and stop < end:
            yield start, stop
            stop += longest
    for start in starts:
        yield start, end


def _far_limit(
    start: float,
    route: float | None,
    joints: Sequence[Joint],
    circuits: Mapping[str, Circuit],
    lead: str,
    longest: float,
    free: float,
) -> float | None:
    """Where stations must end to leave ``free`` mm at the radio's plug; None where no radio tail is stated.

    The loom is as long as the route or, without one, as its first joint and the radio's shortest tail make it.
    """
    tails = [
        (t.tail.length_mm, (as_float(j.strip_mm) or 0.0) / 2)
        for j in joints
        for t in _radio_tails(circuits[j.circuit], lead)
        if t.tail.length_mm is not None
    ]
    if not tails:
        return None
    whole = route if route is not None else start + longest / 2 + min(length - lap for length, lap in tails)
    return max(whole - free, 0.0)


def _too_thick(
    context: Context,
    lead: str,
    joints: Sequence[Joint],
    circuits: Mapping[str, Circuit],
    shapes: Mapping[str, Shape],
    spread: Stagger,
) -> bool:
    """Whether the loom, spread like this, is known not to pass the opening behind the radio."""
    wide = context.vehicle.opening.loom_mm
    if wide is None:
        return False
    near = {j.id: [t for t in circuits[j.circuit].tails if t.lead.lead == lead] for j in joints}
    far = {j.id: [t for t in circuits[j.circuit].tails if t.lead.lead != lead] for j in joints}
    spares = [s.tail for s in context.spares if s.tail.lead.lead == lead]
    thick = as_float(_thickest(context, _put(joints, spread, lead), shapes, near, far, spares))
    return thick is not None and thick > wide


def _kind(circuit: Circuit) -> str:
    return circuit.group if circuit.group in ("supply", "ground") else ""


def _wide(context: Context, tails: Sequence[JobTail]) -> list[float] | str:
    out = []
    for tail in tails:
        value = context.outside_mm(tail)
        if value is None:
            return f"no outside diameter is known for {tail.name} ({tail.size_text})"
        out.append(value)
    return out


def _measure(
    context: Context,
    lead: str,
    joints: Sequence[Joint],
    circuits: Mapping[str, Circuit],
    shapes: Mapping[str, Shape],
    spread: Stagger | None,
    on_route: bool,
    found: Findings,
) -> dict[str, Any]:
    """One loom: length, thickness with and without its joints, tape."""
    near = {j.id: [t for t in circuits[j.circuit].tails if t.lead.lead == lead] for j in joints}
    far = {j.id: [t for t in circuits[j.circuit].tails if t.lead.lead != lead] for j in joints}
    spares = [s.tail for s in context.spares if s.tail.lead.lead == lead]
    length = _length(context, lead, joints, far, on_route, found)
    row: dict[str, Any] = {
        "from": lead,
        "joints": [j.id for j in sorted(joints, key=lambda j: (j.station, j.id))],
        "stations": len({j.station for j in joints if j.station}),
        "spread": spread.method if spread else "not worked out",
        "most_at_a_station": _most(joints) if spread else None,
        "length_mm": length,
    }
    ends = [_wide(context, [*(t for j in joints for t in side[j.id]), *spares, *spares]) for side in (near, far)]
    gap = next((end for end in ends if isinstance(end, str)), None)
    if gap is not None:
        found.note(f"Thickness of the loom of {lead} not worked out: {gap}.")
        return row | {
            "bundle_mm": missing("mm", gap),
            "bundle_with_joints_mm": missing("mm", gap),
            "opening_mm": _opening(context),
            "tape_mm": missing("mm", gap),
            "turns": missing("", gap),
        }
    wires = max((end for end in ends if isinstance(end, list)), key=lambda end: math.fsum(d * d for d in end))
    plain = bundle(outsides_mm=wires, tables=context.tables)[0]["diameter_mm"]
    thick = (
        _thickest(context, joints, shapes, near, far, spares) if spread else missing("mm", "the joints are not spread")
    )
    row |= {
        "bundle_mm": plain,
        "bundle_with_joints_mm": thick,
        "opening_mm": _opening(context),
        **_tape(context, as_float(plain) or 0.0, as_float(length), found),
    }
    if on_route:
        _fits(context, lead, as_float(thick) or as_float(plain) or 0.0, found)
    return row


def _most(joints: Sequence[Joint]) -> int:
    counts: dict[int, int] = defaultdict(int)
    for joint in joints:
        counts[joint.station] += 1
    return max(counts.values(), default=0)


def _thickest(
    context: Context,
    joints: Sequence[Joint],
    shapes: Mapping[str, Shape],
    near: Mapping[str, list[JobTail]],
    far: Mapping[str, list[JobTail]],
    spares: Sequence[JobTail],
) -> Figure:
    """At each station: the joints there, the wires of joints farther on, the wires behind joints passed."""
    folded = _wide(context, [*spares, *spares])
    best: tuple[float, int, Figure] | None = None
    for station in sorted({j.station for j in joints}):
        here: list[float] = list(folded) if isinstance(folded, list) else []
        for joint in joints:
            if joint.station == station:
                here.append(shapes[joint.id].diameter_mm)
                continue
            passing = _wide(context, near[joint.id] if joint.station > station else far[joint.id])
            here += passing if isinstance(passing, list) else []
        figure = bundle(outsides_mm=here, tables=context.tables)[0]["diameter_mm"]
        value = as_float(figure) or 0.0
        if best is None or value > best[0]:
            best = (value, station, figure)
    if best is None:
        return missing("mm", "no joints")
    return changed(best[2], working=f"station {best[1]}: {best[2].working}")


def _length(
    context: Context,
    lead: str,
    joints: Sequence[Joint],
    far: Mapping[str, list[JobTail]],
    on_route: bool,
    found: Findings,
) -> Figure:
    """Plug to plug when made: the shortest that any joint leaves; in the dash the route, if the job states one."""
    reach = []
    for joint in joints:
        ends = [t for t in far[joint.id] if not on_route or t.lead.side == "radio"]
        own = [t.tail.length_mm for t in ends if t.tail.length_mm is not None]
        if own and joint.position_mm is not None:
            lap = as_float(joint.strip_mm) or 0.0
            reach.append((joint.position_mm + min(own) - lap / 2, joint.id))
    route = context.job.route_mm.get("dash") if on_route else None
    if not reach:
        if route is None:
            return missing("mm", "no route is stated in the job and no joint has a place")
        return Figure(value=route, unit="mm", working="the route stated in the job")
    most, by = min(reach)
    most = math.floor(most)
    if route is None:
        return PRACTICE.figure(most, "mm", f"{by}: place of the joint + the tail behind it, less the lap")
    if route > most + 1e-9:
        found.problems.append(
            context.warning(
                "loom-too-short",
                f"with the joints spread, {lead} reaches {number(most)} mm; the route is {number(route)} mm",
                context.job_place("route_mm"),
                hint=f"lengthen the tails by {number(route - most)} mm, or shorten the route",
            )
        )
    return Figure(
        value=route, unit="mm", working=f"the route stated in the job; the tails reach {number(most)} mm ({by})"
    )


def _opening(context: Context) -> Figure:
    wide = context.vehicle.opening.loom_mm
    if wide is None:
        return missing("mm", "the opening has not been measured")
    return Figure(value=wide, unit="mm", working="widest bundle that passes, from the vehicle's file")


def _fits(context: Context, lead: str, thick_mm: float, found: Findings) -> None:
    wide = context.vehicle.opening.loom_mm
    if wide is not None and thick_mm > wide:
        found.problems.append(
            context.warning(
                "loom-too-thick",
                f"the loom of {lead} gets {number(thick_mm, 3)} mm thick; {number(wide)} mm passes behind the radio",
                context.vehicle_place("opening"),
                hint="spread the joints farther, use slimmer joints, or lead a part of the loom another way",
            )
        )


def _tape(context: Context, bundle_mm: float, length_mm: float | None, found: Findings) -> dict[str, Figure]:
    settings = context.shop.loom
    if length_mm is None:
        return {"tape_mm": missing("mm", "the length of the loom is not known"), "turns": missing("", "no length")}
    figures, problems = tape(
        bundle_mm=bundle_mm, length_mm=length_mm, width_mm=settings.tape_width_mm, overlap=settings.tape_overlap
    )
    if problems:
        found.note(f"Tape not worked out: {problems[0].message}.")
        return {"tape_mm": missing("mm", problems[0].message), "turns": missing("", problems[0].message)}
    return {"tape_mm": figures["tape_mm"], "turns": figures["turns"]}


def _branches(context: Context) -> list[dict[str, Any]]:
    """Tails of modules, accessories and battery cables that leave the loom."""
    used = {t.name for c in context.made for t in c.tails}
    rows = []
    for lead in sorted(context.leads, key=lambda one: one.lead):
        if lead.side == "radio" or (lead.side == "vehicle" and lead.plugs):
            continue
        tails = [t for c in context.made for t in c.tails if t.lead.lead == lead.lead and t.name in used]
        if tails:
            rows.append(_branch(context, lead, tails))
    return rows


def _branch(context: Context, lead: Lead, tails: Sequence[JobTail]) -> dict[str, Any]:
    lengths = [t.tail.length_mm for t in tails if t.tail.length_mm is not None]
    wires = _wide(context, tails)
    return {
        "lead": lead.lead,
        "title": lead.title,
        "wires": len(tails),
        "length_mm": Figure(value=max(lengths), unit="mm", working="its longest tail")
        if lengths
        else missing("mm", "no length is stated"),
        "bundle_mm": bundle(outsides_mm=wires, tables=context.tables)[0]["diameter_mm"]
        if isinstance(wires, list)
        else missing("mm", wires),
    }


def _sleeves(joints: Sequence[Joint], caps: Sequence[Cap]) -> dict[str, Figure]:
    """Sleeving to cut, by item: the sum over joints and caps."""
    pieces: dict[str, list[float]] = defaultdict(list)
    for name, cut in [
        *((j.sleeve_id or j.sleeve_title, j.sleeve_cut_mm) for j in joints),
        *((c.sleeve_id or c.sleeve_title, c.cut_mm) for c in caps),
    ]:
        value = as_float(cut)
        if name and value is not None:
            pieces[name].append(value)
    return {
        name: PRACTICE.figure(math.fsum(cuts), "mm", f"{len(cuts)} pieces: {_summed(cuts)} mm")
        for name, cuts in sorted(pieces.items())
    }


def _summed(cuts: Sequence[float]) -> str:
    counts: dict[float, int] = defaultdict(int)
    for cut in cuts:
        counts[cut] += 1
    return " + ".join(f"{n} × {number(cut)}" for cut, n in sorted(counts.items()))


def _ties(context: Context, looms: Sequence[Mapping[str, Any]]) -> Figure:
    """Ties every so often along each loom, one at both ends."""
    lengths = [value for row in looms if (value := as_float(row["length_mm"])) is not None]
    if not lengths:
        return missing("", "no length of loom is known")
    every = context.shop.loom.tie_every_mm
    count = sum(math.floor(length / every) + 1 for length in lengths)
    return PRACTICE.figure(count, "", f"every {number(every)} mm along {' + '.join(number(x) for x in lengths)} mm")
