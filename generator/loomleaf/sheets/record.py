"""The as-fitted record: for the person who opens this dash in six years.

It says what was joined to what and how that was proved, which factory wires were cut, and how to put the vehicle back as
it was. It is for the archive, so it has no fields: what nobody has written down is a line to write on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from ..draw.faces import plug_faces
from ..draw.loom import loom_pages
from ..draw.loom_lanes import never_touched
from ..figure import number
from ..model.job import long_date
from ..model.lead import Lead
from ..model.readings import Readings
from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.answers import answer_lines, newest_answers
from ..plan.filed import plate_key
from ..plan.types import GROUPS, Check, Circuit, JobTail, Joint, JudgedReading, Plan, Stage, VehicleState
from .bench import positions_differ, positions_from, short_ways
from .fuses import FuseView, fuse_data, fuse_views
from .swatches import swatch
from .views import FrameView, capital, counted, job_proofs, sentence, state_word

PICTURE_MM = {"A4": (178.0, 212.0), "Letter": (183.9, 194.0)}
"""Room for a picture under its heading: width, height."""
BAND_MM = 11.0  # the band of a held job takes this of the height

_STAGES: dict[Stage, str] = {
    "before-joining": "Before joining, at the vehicle's plug",
    "on-the-bench": "On the bench",
    "before-plugging-in": "Before plugging in",
    "after-plugging-in": "After plugging in",
    "before-trim": "Before the trim went back",
    "hand-over": "Hand-over",
}
_RESULTS = {"pass": "passed", "fail": "FAILED", "missing": "not read", "unclear": "unclear"}


@dataclass(frozen=True, kw_only=True)
class EndView:
    """One end of a circuit: its way, its lead, its colour."""

    way: str
    lead: str
    colour: str
    swatch: Markup


@dataclass(frozen=True, kw_only=True)
class MadeView:
    """One circuit as it was made. ``ends`` on the vehicle's side and ``other`` on the rest."""

    id: str
    title: str
    ends: tuple[EndView, ...]
    joint: tuple[str, ...]
    other: tuple[EndView, ...]


@dataclass(frozen=True, kw_only=True)
class GroupView:
    """Circuits of one kind."""

    title: str
    circuits: tuple[MadeView, ...]


@dataclass(frozen=True, kw_only=True)
class LeftView:
    """A tail or an end that is not in a joint: what, where, what became of it."""

    id: str
    what: str
    where: str
    became: str


@dataclass(frozen=True, kw_only=True)
class PartView:
    """A part with what tells it from its like. Empty text is a line to write on."""

    title: str
    side: str
    serial: str
    firmware: str
    known: str


@dataclass(frozen=True, kw_only=True)
class MaterialView:
    """What the joints were made with, and how many; the batch is written in."""

    title: str
    count: str


@dataclass(frozen=True, kw_only=True)
class ReadView:
    """One reading with its judgement."""

    number: str
    title: str
    expected: str
    written: str
    verdict: str
    initials: str
    failed: bool


@dataclass(frozen=True, kw_only=True)
class StageView:
    """Readings of one stage."""

    title: str
    rows: tuple[ReadView, ...]


@dataclass(frozen=True, kw_only=True)
class VehicleView:
    """What came back for one vehicle. ``missing`` says which checks nobody read; ``told`` is what else was answered.

    ``parts`` are the parts of one vehicle of several whose serial numbers nobody has written down yet.
    """

    title: str
    told: tuple[str, ...]
    people: tuple[tuple[str, str], ...]
    proofs: tuple[ReadView, ...]
    parts: tuple[str, ...]
    stages: tuple[StageView, ...]
    missing: str

    @property
    def signed(self) -> bool:
        """Whether any reading bears initials of its own."""
        return any(row.initials for stage in self.stages for row in stage.rows)


@dataclass(frozen=True, kw_only=True)
class FaceView:
    """A plug's face, from both sides."""

    title: str
    picture: Markup


@dataclass(frozen=True, kw_only=True)
class RecordView:
    """Everything on the record. ``facts`` stand two a line; an empty text anywhere is a line to write on."""

    facts: tuple[tuple[tuple[str, str], ...], ...]
    standing: str
    cut: tuple[str, ...]
    back: tuple[str, ...]
    mind: tuple[str, ...]
    found: tuple[str, ...]
    notes: tuple[str, ...]
    earlier: tuple[str, ...]  # what was read on earlier issues: it proves nothing for this one
    positions_from: str
    positions_differ: bool
    groups: tuple[GroupView, ...]
    left: tuple[LeftView, ...]
    fuses: tuple[FuseView, ...]
    parts: tuple[PartView, ...]
    materials: tuple[MaterialView, ...]
    vehicles: tuple[VehicleView, ...]
    looms: tuple[Markup, ...]
    faces: tuple[FaceView, ...]


def record_view(
    plan: Plan, shop: Shop, reference: Reference, head: FrameView, *, readings: Sequence[Readings] = ()
) -> RecordView:
    """The record of a plan with what came back from the vehicle, oldest first."""
    written = readings
    readings = tuple(_drawable_readings(one) for one in written)
    notes = _told(line for one in readings for line in one.notes)
    if readings != tuple(written):
        notes = (*notes, f"Letters that this paper's typeface lacks stand as {LACKED}: the readings file has them.")
    return RecordView(
        facts=_facts(plan),
        standing=_standing(plan),
        cut=factory_wires(plan),
        back=put_back(plan),
        mind=_mind(plan),
        found=_told(line for one in readings for line in one.found),
        notes=notes,
        earlier=plan.earlier,
        positions_from=positions_from(plan),
        positions_differ=positions_differ(plan),
        groups=_groups(plan),
        left=_left(plan),
        fuses=fuse_views(plan),
        parts=tuple(_part(lead, readings, several=len(plan.states) > 1) for lead in plan.leads),
        materials=_materials(plan),
        vehicles=tuple(_vehicle(plan, state, readings) for state in plan.states),
        looms=_looms(plan, reference, head.paper, held=head.held),
        faces=_faces(plan, reference, head.paper),
    )


LACKED = "[…]"


def _drawable(text: str) -> str:
    """A text with every run of letters that no bundled typeface has replaced: a note never keeps a record from being made."""
    from .pdf import missing_characters

    missing = missing_characters(text)
    return re.sub(f"[{re.escape(missing)}]+", LACKED, text) if missing else text


def _drawable_readings(one: Readings) -> Readings:
    """The same for everything that was written on a filled sheet."""

    def plain(value: Any) -> Any:
        if isinstance(value, str):
            return _drawable(value)
        if isinstance(value, dict):
            return {key: plain(item) for key, item in value.items()}
        return tuple(plain(item) for item in value) if isinstance(value, (list, tuple)) else value

    return Readings.model_validate(plain(one.model_dump()))


def _told(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(sentence(line) for line in lines))


def _facts(plan: Plan) -> tuple[tuple[tuple[str, str], ...], ...]:
    vehicle, radio, job = plan.vehicle, plan.radio, plan.job
    several = len(job.registrations) > 1
    plates = ", ".join(
        r.plate if several else ", ".join(p for p in (r.plate, r.odometer) if p) for r in job.registrations
    )
    rows = (
        ("Registrations" if several else "Registration", plates),
        ("Vehicle", vehicle.title),
        ("Trim", vehicle.trim or "not stated"),
        ("Sound option", vehicle.sound or "not stated"),
        ("Radio", (radio.exact or radio.title) if radio else "no radio in this job"),
        (
            "Revision",
            f"{job.revision}, issued {job.issued_text}" + (f", replaces {job.replaces}" if job.replaces else ""),
        ),
    )
    return tuple(rows[i : i + 2] for i in range(0, len(rows), 2))


def _standing(plan: Plan) -> str:
    """Whether this is the finished record."""
    if plan.state == "verified":
        return ""
    words = ", ".join(dict.fromkeys(state_word(s.state).lower() for s in plan.states))
    return f"Not finished: {words}. What is not read back yet is left open."


# --- for whoever opens the dash next -----------------------------------------------------------------------------


def factory_wires(plan: Plan) -> tuple[str, ...]:
    """Which of the vehicle's own wires the plan cuts. An adapter's plug mates with the vehicle's, so it cuts none."""
    out = []
    for lead in plan.vehicle_leads:
        if lead.plugs:
            plugs = ", ".join(plug.name for plug in lead.plugs)
            word = "plug" if len(lead.plugs) == 1 else "plugs"
            out.append(f"{lead.title} ({lead.lead}) mates with the vehicle's {word} {plugs}: no factory wire cut.")
        loose = [t for t in lead.tails if "." not in t.at]
        own = [t for t in loose if t.feed == "battery"]
        if own:
            out.append(f"{lead.title} ({lead.lead}) is a cable of its own: no factory wire cut.")
        tapped = [t.at for t in loose if t.feed != "battery"]
        if tapped:
            out.append(f"{lead.title} ({lead.lead}): joined to the vehicle's own wires at {', '.join(tapped)}.")
    return tuple(out)


def put_back(plan: Plan) -> tuple[str, ...]:
    """How to put the vehicle back as it was, a step a line."""
    steps = [
        "Take the negative lead off first, by the vehicle maker's procedure.",
        "Wait for the airbags as long as the vehicle maker says.",
        "Take the radio out.",
    ]
    laid = [c for c in plan.circuits if c.made and c.feed == "battery"]
    if laid:
        ids = ", ".join(c.id for c in laid)
        steps.insert(2, f"Take out the fuse at the battery and the cables of {ids}, at both ends.")
    for lead in plan.leads:
        if lead.side in ("module", "accessory"):
            steps.append(f"Take out {lead.title}.")
    for lead in plan.vehicle_leads:
        if lead.plugs:
            plugs = ", ".join(plug.name for plug in lead.plugs)
            steps.append(f"Pull {lead.lead} off the vehicle's {'plug' if len(lead.plugs) == 1 else 'plugs'} {plugs}.")
    loose = [
        f"{lead.lead}/{t.at}"
        for lead in plan.vehicle_leads
        for t in lead.tails
        if "." not in t.at and t.feed != "battery"
    ]
    if loose:
        steps.append(f"Close the vehicle's own wires again where they were joined: {', '.join(loose)}.")
    old = {"returned": ", which the customer was given", "kept": ", which the shop kept"}.get(plan.job.old_parts, "")
    steps.append(f"Plug the vehicle's plugs and antenna into the old radio{old}.")
    if plan.vehicle.removed_radio.codes is not False:
        steps.append("The old radio may ask for its code: the owner has it, this paper does not.")
    steps += ["Put the negative lead back last.", "See the airbag lamp light, go out and stay out."]
    return tuple(steps)


def _mind(plan: Plan) -> tuple[str, ...]:
    """What is not as the maker built it, and what is live."""
    live = [s for s in plan.spares if s.live]
    lines = []
    if live:
        lines.append(
            "Live and capped behind the radio: "
            + "; ".join(f"{s.id} {s.tail.name}, {s.tail.title}" for s in live)
            + "."
        )
    for circuit in plan.circuits:
        if circuit.outcome == "refused":
            names = ", ".join(t.name for t in circuit.tails)
            lines.append(f"Left alone: {circuit.id} {circuit.title}, {names}. {sentence(capital(circuit.reason))}")
    for feature in plan.features:
        if feature.outcome == "loses":
            lines.append(f"No longer works: {_lower(feature.title)}.")
        elif feature.outcome == "changes":
            lines.append(f"Works otherwise: {_lower(feature.title)}. {sentence(feature.how)}".strip())
        elif feature.by and feature.outcome == "keeps with a part":
            lines.append(f"Works through {feature.by_title}: {_lower(feature.title)}.")
    lines += [note.text for c in plan.circuits for note in c.colour_notes if note.code != "colour-differs"]
    return tuple(dict.fromkeys(sentence(line) for line in lines))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


# --- what was joined ---------------------------------------------------------------------------------------------


def _groups(plan: Plan) -> tuple[GroupView, ...]:
    joints: dict[str, list[Joint]] = {}
    for joint in plan.joints:
        joints.setdefault(joint.circuit, []).append(joint)
    groups = []
    usual = positions_from(plan)
    for group, _, title in GROUPS:
        here = [c for c in plan.circuits if c.made and c.group == group]
        if here:
            groups.append(GroupView(title=title, circuits=tuple(_made(c, joints.get(c.id, []), usual) for c in here)))
    return tuple(groups)


def _made(circuit: Circuit, joints: list[Joint], usual: str) -> MadeView:
    near = [t for t in circuit.tails if t.lead.side == "vehicle"]
    far = [t for t in circuit.tails if t.lead.side != "vehicle"]
    if not near or not far:
        near, far = list(circuit.tails[:1]), list(circuit.tails[1:])
    return MadeView(
        id=circuit.id,
        title=circuit.title,
        ends=tuple(_end(t) for t in near),
        joint=tuple(line for joint in joints for line in _joint(joint, usual)) or ("not worked out",),
        other=tuple(_end(t) for t in far),
    )


def _end(tail: JobTail) -> EndView:
    return EndView(
        way=tail.tail.at,
        lead=tail.lead.lead,
        colour=tail.colour_text,
        swatch=swatch(tail.tail.colour, f"record-{tail.name}"),
    )


def _joint(joint: Joint, usual: str) -> Iterable[str]:
    """How it was joined, and where along the loom: from which lead only where it is not the ``usual`` one."""
    method = joint.method.title.removesuffix(", with a sleeve") if joint.sleeve_title else joint.method.title
    what = joint.item_title or method
    place = ""
    if joint.position_mm is not None:
        place = f" at {number(joint.position_mm, 4)} mm" + (
            f" from {joint.position_from}" if joint.position_from not in ("", usual) else ""
        )
    yield (f"{joint.items} × {what}" if joint.items > 1 else what) + place
    if joint.sleeve_title:
        yield joint.sleeve_title


def _left(plan: Plan) -> tuple[LeftView, ...]:
    """What plugs in as it is, then what meets nothing, then what was not joined."""
    rows = [
        LeftView(
            id=c.id, what=c.title, where=" to ".join(e.name for e in c.ends), became="plugged in as it is, no joint"
        )
        for c in plan.circuits
        if c.outcome == "mated"
    ]
    for spare in plan.spares:
        tail = spare.tail
        live = "live; " if spare.live else ""
        rows.append(
            LeftView(
                id=spare.id,
                what=tail.title,
                where=f"{tail.name}, {tail.colour_text}",
                became=f"{live}folded back, capped singly: {_lower(spare.why)}".rstrip(": "),
            )
        )
    rows += [
        LeftView(
            id=c.id,
            what=c.title,
            where=", ".join(f"{t.name}, {t.colour_text}" for t in c.tails) or ", ".join(e.name for e in c.ends),
            became=f"{c.outcome}: {_lower(c.reason)}".rstrip(": "),
        )
        for c in plan.circuits
        if c.outcome in ("refused", "wanting", "contested")
    ]
    return tuple(rows)


def _part(lead: Lead, readings: Sequence[Readings], *, several: bool) -> PartView:
    """The newest serial number and firmware that came back; the part's own file for the firmware otherwise. Those of
    ``several`` vehicles stand with each vehicle."""
    own = [part for one in readings for part in one.parts if part.part == lead.lead]
    serials = list(dict.fromkeys(part.serial for part in own if part.serial))
    firmware = list(dict.fromkeys(part.firmware for part in own if part.firmware))
    known = {"leaflet": lead.leaflet or "leaflet not named", "meter": "measured", "colour": "colour only"}[
        lead.known_from
    ]
    listed = lead.firmware or ("none" if lead.side == "vehicle" else "")
    return PartView(
        title=lead.exact or lead.title,
        side=lead.side,
        serial="with each vehicle" if several and (serials or lead.side != "vehicle") else ", ".join(serials),
        firmware="with each vehicle" if several and firmware else firmware[-1] if firmware else listed,
        known=known,
    )


def _parts_of(plan: Plan, own: Sequence[Readings]) -> tuple[tuple[str, str, str, str], ...]:
    """Name, serial number, firmware and condition of each part of one vehicle of which something came back."""

    def newest(lead: str, key: str) -> str:
        said = [getattr(part, key) for one in own for part in one.parts if part.part == lead]
        return next((text for text in reversed(said) if text), "")

    rows = [
        (x.lead, newest(x.lead, "serial"), newest(x.lead, "firmware"), newest(x.lead, "condition")) for x in plan.leads
    ]
    return tuple(row for row in rows if any(row[1:]))


def _told_of(plan: Plan, own: Sequence[Readings]) -> tuple[str, ...]:
    """What came back of one vehicle besides its readings: answers, parts, signed hold points, the way it left."""
    features = {f.feature_id: f.title for f in plan.features}
    lines = [f"{heading}: {text}" for heading, text in answer_lines(newest_answers(own), features)]
    titles = {lead.lead: lead.exact or lead.title for lead in plan.leads}
    for name, serial, firmware, condition in _parts_of(plan, own):
        said = (f"serial {serial}" if serial else "", f"firmware {firmware}" if firmware else "", condition)
        lines.append(f"{titles[name]}: {', '.join(part for part in said if part)}")
    rows = {s.row: s for one in own for s in one.signatures if s.row.startswith("before-") and (s.by or s.when)}
    for signature in rows.values():
        words = capital(signature.row.replace("-", " "))
        lines.append(f"{words}, released by {', '.join(part for part in (signature.by, signature.when) if part)}")
    out = [one.odometer_out for one in own if one.odometer_out]
    if out:
        lines.append(f"Odometer when it left: {out[-1]}")
    return tuple(sentence(line) for line in lines)


def _materials(plan: Plan) -> tuple[MaterialView, ...]:
    count: dict[str, int] = {}
    for joint in plan.joints:
        if joint.item_title:
            count[joint.item_title] = count.get(joint.item_title, 0) + max(joint.items, 1)
        if joint.sleeve_title:
            count[joint.sleeve_title] = count.get(joint.sleeve_title, 0) + 1
    return tuple(MaterialView(title=title, count=str(n)) for title, n in sorted(count.items()))


# --- what was read -----------------------------------------------------------------------------------------------


def _vehicle(plan: Plan, state: VehicleState, readings: Sequence[Readings]) -> VehicleView:
    plate = state.registration.plate
    own = _own(state, readings)
    read = [v for v in state.readings if v.result != "missing"]
    checks, ways = {check.key: check for check in plan.checks}, short_ways(plan)
    stages = []
    for stage, title in _STAGES.items():
        rows = tuple(_read(v, checks.get(v.check), ways) for v in read if v.stage == stage)
        if rows:
            stages.append(StageView(title=title, rows=rows))
    missing = [v.number for v in state.readings if v.result == "missing"]
    if not state.readings:
        said = "No sheet has come back yet."
    else:
        said = f"Not read: {counted(len(missing), 'check', 'checks')}, {_numbers(missing)}." if missing else ""
    several = len(plan.states) > 1
    return VehicleView(
        title=f"{plate}, {state_word(state.state).lower()}" if several else "",
        told=_told_of(plan, own),
        people=_people(own),
        proofs=tuple(
            ReadView(
                number="",
                title=f"{proof.tail}, {proof.condition.replace('-', ' ')}",
                expected=proof.expected or "no window known",
                written=proof.reading,
                verdict={True: "passed", False: "FAILED", None: "not judged"}[proof.verdict],
                initials=", ".join(part for part in (proof.by, long_date(proof.on) if proof.on else "") if part),
                failed=proof.verdict is False,
            )
            for proof in job_proofs(plan, state)
        ),
        parts=_unnumbered(plan, own) if several else (),
        stages=tuple(stages),
        missing=said,
    )


def _own(state: VehicleState, readings: Sequence[Readings]) -> list[Readings]:
    """The files of one vehicle."""
    return [r for r in readings if plate_key(r.registration) in ("", plate_key(state.registration.plate))]


def _numbers(numbers: Sequence[int]) -> str:
    """Numbers with runs drawn together: "4, 7 to 9".

    >>> _numbers([4, 7, 8, 9])
    '4, 7 to 9'
    """
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]} to {r[-1]}" for r in runs)


def _read(verdict: JudgedReading, check: Check | None, ways: Mapping[str, str]) -> ReadView:
    why = f": {verdict.why}" if verdict.why else ""
    return ReadView(
        number=str(verdict.number),
        title=_check_title(verdict, check, ways),
        expected=verdict.expected,
        written=_drawable(verdict.written) or "seen",
        verdict=f"{_RESULTS[verdict.result]}{_drawable(why)}",
        initials=_drawable(verdict.initials),
        failed=verdict.result == "fail",
    )


_UNDER_A_CONDITION: frozenset[Stage] = frozenset({"before-joining", "before-plugging-in", "after-plugging-in"})
"""Stages whose windows hold under the condition that a check names; elsewhere the stage's heading says when."""


def _check_title(verdict: JudgedReading, check: Check | None, ways: Mapping[str, str]) -> str:
    """What was read: the circuit once, the way with its plug, and when the window holds."""
    title = verdict.title
    if check is not None and len(check.tails) == 1:
        at = ways.get(check.tails[0], check.tails[0])
        bare = title.removesuffix(f", way {at.rpartition('.')[2]}")
        if bare != title or (verdict.stage == "after-plugging-in" and "." in at):
            title = f"{bare}, {at}"
    if verdict.circuit and verdict.circuit not in title.split():
        title = f"{verdict.circuit} {title}"
    when = check.condition if check is not None and verdict.stage in _UNDER_A_CONDITION else ""
    return f"{title}: {when}" if when else title


def _unnumbered(plan: Plan, own: Sequence[Readings]) -> tuple[str, ...]:
    """The parts of a vehicle, its adapters left out, of which no serial number came back."""
    numbered = {part.part for one in own for part in one.parts if part.serial}
    return tuple(
        lead.exact or lead.title for lead in plan.leads if lead.side != "vehicle" and lead.lead not in numbered
    )


def _people(own: Sequence[Readings]) -> tuple[tuple[str, str], ...]:
    """Who fitted, who checked, when: from the newest readings that say so; lines to write on otherwise."""

    def newest(values: Iterable[str]) -> str:
        said = [v for v in values if v]
        return said[-1] if said else ""

    return (
        ("Fitted and read by", newest(r.by for r in own)),
        ("Checked by", newest(r.checked_by for r in own)),
        ("On", newest(long_date(r.on) if r.on else "" for r in own)),
    )


# --- pictures ----------------------------------------------------------------------------------------------------


def _looms(plan: Plan, reference: Reference, paper: str, *, held: bool) -> tuple[Markup, ...]:
    width, height = PICTURE_MM[paper]
    room = height - (BAND_MM if held else 0.0)
    pages = loom_pages(plan, reference.connectors, width_mm=width, height_mm=room, key="record-loom")
    return tuple(Markup(page.svg) for page in pages)


def _faces(plan: Plan, reference: Reference, paper: str) -> tuple[FaceView, ...]:
    """Both views of every plug of every lead whose connector is known: ways used filled, ways never touched crossed out."""
    never = never_touched(plan)
    used = {t.name for c in plan.circuits if c.made for t in c.tails}
    out = []
    for lead in plan.leads:
        for plug in lead.plugs:
            connector = reference.connectors.get(plug.type)
            if connector is None:
                continue
            ways = {
                tail.at.rpartition(".")[2]: ""
                for tail in lead.tails
                if f"{lead.lead}/{tail.at}" in used and tail.at.rpartition(".")[0] == plug.name
            }
            picture = plug_faces(
                connector,
                ways,
                never={
                    tail.at.rpartition(".")[2]: never[f"{lead.lead}/{tail.at}"]
                    for tail in lead.tails
                    if f"{lead.lead}/{tail.at}" in never and tail.at.rpartition(".")[0] == plug.name
                },
                name=f"{lead.lead} {plug.name}",
                width_mm=PICTURE_MM[paper][0],
                key=f"record-face-{lead.lead}-{plug.name}",
            )
            title = f"{lead.title}, plug {plug.name}: {connector.title}"
            out.append(FaceView(title=title, picture=Markup(picture)))
    return tuple(out)


# --- data --------------------------------------------------------------------------------------------------------


def record_data(plan: Plan, readings: Sequence[Readings] = ()) -> dict[str, Any]:
    """What the record shows, as plain data. No customer, no price, no minutes, no code."""
    job = plan.job
    return {
        "sheet": "record",
        "job": job.job,
        "revision": job.revision,
        "issued": job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "vehicle": plan.vehicle.title,
        "registrations": [r.plate for r in job.registrations],
        "factory_wires": list(factory_wires(plan)),
        "put_back": list(put_back(plan)),
        "circuits": [
            {
                "id": c.id,
                "title": c.title,
                "outcome": c.outcome,
                "tails": [
                    {"tail": t.name, "function": t.function_id, "colour": t.colour_text, "size": t.size_text}
                    for t in c.tails
                ],
                "ends": [e.name for e in c.ends],
            }
            for c in plan.circuits
        ],
        "joints": [
            {"id": j.id, "circuit": j.circuit, "method": j.method_id, "item": j.item_id, "position_mm": j.position_mm}
            for j in plan.joints
        ],
        "spares": [{"id": s.id, "tail": s.tail.name, "live": s.live} for s in plan.spares],
        "fuses": fuse_data(plan),
        "parts": [
            {"part": lead.lead, "title": v.title, "serial": v.serial, "firmware": v.firmware}
            for lead in plan.leads
            for v in [_part(lead, readings, several=len(plan.states) > 1)]
        ],
        "found": list(_told(line for one in readings for line in one.found)),
        "notes": list(_told(line for one in readings for line in one.notes)),
        "earlier_issues": list(plan.earlier),
        "vehicles": [
            {
                "registration": s.registration.plate,
                "state": s.state,
                "told": list(_told_of(plan, _own(s, readings))),
                "proofs": [
                    {"tail": p.tail, "condition": p.condition, "reading": p.reading, "passed": p.verdict}
                    for p in job_proofs(plan, s)
                ],
                "readings": [
                    {
                        "check": v.check,
                        "number": v.number,
                        "expected": v.expected,
                        "written": v.written,
                        "result": v.result,
                        "initials": v.initials,
                    }
                    for v in s.readings
                    if v.result != "missing"
                ],
            }
            for s in plan.states
        ],
    }
