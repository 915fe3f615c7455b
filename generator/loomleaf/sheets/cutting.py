"""The cutting sheet: what each tail is cut to, at full size, and a card of each way of joining that the job uses.

A joint lies with its middle at its place. Soldered, twisted and closed-end tails reach past that middle by half their
bare length; the two ends of a crimped barrel meet at the stop in its middle. A tail of which no cut can be worked out
(no plug-to-plug length, or an end that goes to a stud) stays at its full length and is only stripped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from ..draw.cards import CARDS, joint_card
from ..draw.letters import text_width
from ..draw.strip import Sleeve, TailStrip, cutting_strips, scale_bar, usable_mm
from ..draw.svg import WORD
from ..figure import Figure, number
from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.types import Circuit, JobTail, Joint, Plan
from .picklist import PickView, pick_list
from .views import FrameView, counted

MEET_AT_THE_STOP = frozenset({"crimp", "sleeve"})
"""Kinds of joint whose tails end in the joint's middle."""

PAGE_MM = {"A4": (265.0, 145.0), "Letter": (247.4, 150.9)}
"""Room between head and foot of a page on its side: width, height."""
HELD_MM = 13.0  # and for the band of a held job
LONGEST_PAGES = 2  # a strip over more pages than this is measured with a tape instead
LABEL_PART = 0.5  # a label's place, as a part of the way to the nearest joint; common practice, no source


@dataclass(frozen=True, kw_only=True)
class Cut:
    """What is done to one tail. ``length_mm`` None: its full length. ``joint_mm`` is the joint's middle on this tail.

    ``sleeve`` goes on this tail before the joint is made. ``short_mm`` is what a tail lacks of its cut. A tail that is
    ``joined`` and has no ``strip_mm`` is bared as its connector's card says; one that is not is a spare.
    """

    circuit: str
    tail: JobTail
    length_mm: float | None
    strip_mm: float | None
    joint_mm: float | None
    label_mm: float
    sleeve: Sleeve | None = None
    short_mm: float = 0.0
    joined: bool = True


@dataclass(frozen=True, kw_only=True)
class RowView:
    """One tail in the table."""

    circuit: str
    way: str
    colour: str
    cut: str
    bare: str
    joint: str
    sleeve: str
    on_strip: str
    changed: bool = False


@dataclass(frozen=True, kw_only=True)
class LeadCutsView:
    """The tails of one lead."""

    title: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True, kw_only=True)
class CardView:
    """One way of joining that this job uses."""

    title: str
    circuits: str
    picture: Markup


@dataclass(frozen=True, kw_only=True)
class CuttingView:
    """Everything on the cutting sheet."""

    bar: Markup
    steps: tuple[str, ...]
    notes: tuple[str, ...]
    leads: tuple[LeadCutsView, ...]
    strips: tuple[Markup, ...]
    cards: tuple[CardView, ...]
    label_text: str
    picks: tuple[PickView, ...] = ()


# --- what is cut -------------------------------------------------------------------------------------------------


def cuts_of(plan: Plan, shop: Shop) -> tuple[Cut, ...]:
    """Every tail of every made circuit in the plan's order, then the spares."""
    joints = {joint.circuit: joint for joint in plan.joints}
    label = shop.loom.first_joint_mm * LABEL_PART
    lengths = _loom_lengths(plan)
    found = []
    for circuit in plan.circuits:
        joint = joints.get(circuit.id)
        if circuit.made and joint is not None:
            found += list(_circuit_cuts(circuit, joint, lengths, label))
    caps = _caps(plan)
    for spare in plan.spares:
        cap = caps.get(spare.tail.name)
        length = spare.tail.tail.length_mm
        sleeve = Sleeve(centre_mm=length or 0.0, cut_mm=cap[0], title=cap[1]) if cap else None
        found.append(
            Cut(
                circuit=spare.id,
                tail=spare.tail,
                length_mm=None,
                strip_mm=None,
                joint_mm=None,
                label_mm=label,
                sleeve=sleeve,
                joined=False,
            )
        )
    return tuple(found)


def past_middle_mm(kind: str, strip_mm: float) -> float:
    """How far a tail reaches past its joint's middle.

    >>> past_middle_mm("solder-inline", 12.0), past_middle_mm("crimp", 6.0)
    (6.0, 0.0)
    """
    return 0.0 if kind in MEET_AT_THE_STOP else strip_mm / 2


def whole_mm(value_mm: float) -> float:
    """A length that a rule can show, half a millimetre up.

    >>> whole_mm(80.5), whole_mm(80.4)
    (81.0, 80.0)
    """
    return float(math.floor(value_mm + 0.5))


def label_place_mm(usual_mm: float, length_mm: float | None, strip_mm: float | None) -> float:
    """Where a label goes: the usual place, or the middle of the insulation that a short tail keeps.

    >>> label_place_mm(30.0, 80.0, 12.0), label_place_mm(30.0, 24.0, 6.0)
    (30.0, 9.0)
    """
    covered = float("inf") if length_mm is None else length_mm - (strip_mm or 0.0)
    return usual_mm if covered > usual_mm * 1.25 else whole_mm(max(covered, 0.0) / 2)


def _circuit_cuts(circuit: Circuit, joint: Joint, lengths: Mapping[str, float], label: float) -> Iterator[Cut]:
    strip = _number(joint.strip_mm)
    past = past_middle_mm(joint.method.kind, strip or 0.0)
    sleeved = _number(joint.sleeve_cut_mm)
    sleeve_on = next((t for t in circuit.tails if t.lead.lead == joint.position_from), circuit.tails[0])
    for tail in circuit.tails:
        middle = _middle_on(tail, joint, lengths)
        first = (
            tail.lead.lead == joint.position_from
        )  # half a millimetre goes to this tail, so that the two make the loom
        length = None if middle is None else whole_mm(middle + past) if first else -whole_mm(-middle - past)
        own = tail.tail.length_mm
        short = max(0.0, length - own) if length is not None and own is not None else 0.0
        sleeve = None
        if sleeved is not None and tail is sleeve_on and middle is not None:
            sleeve = Sleeve(centre_mm=middle, cut_mm=sleeved, title="sleeve, on first")
        elif sleeved is not None and tail is sleeve_on:
            sleeve = Sleeve(centre_mm=own or 0.0, cut_mm=sleeved, title="sleeve, on first")
        yield Cut(
            circuit=circuit.id,
            tail=tail,
            length_mm=length,
            strip_mm=strip,
            joint_mm=middle,
            label_mm=label_place_mm(label, length, strip),
            sleeve=sleeve,
            short_mm=short,
        )


def _middle_on(tail: JobTail, joint: Joint, lengths: Mapping[str, float]) -> float | None:
    """Where the joint's middle lies on this tail, from the tail's own plug; None where the plan does not say."""
    if joint.position_mm is None:
        return None
    if tail.lead.lead == joint.position_from:
        return joint.position_mm
    whole = lengths.get(joint.position_from)
    if tail.lead.side == "radio" and tail.plug_name and whole is not None and whole > joint.position_mm:
        return whole - joint.position_mm
    return None


def _loom_lengths(plan: Plan) -> dict[str, float]:
    """Plug-to-plug length of each loom by the lead it is measured from."""
    loom = plan.engineering.get("loom")
    rows = loom.get("looms", []) if isinstance(loom, Mapping) else []
    found = {str(row.get("from", "")): _number(row.get("length_mm")) for row in rows if isinstance(row, Mapping)}
    return {name: length for name, length in found.items() if length is not None}


def _caps(plan: Plan) -> dict[str, tuple[float, str]]:
    """Tail to the length and the name of the sleeve that caps it."""
    loom = plan.engineering.get("loom")
    rows = loom.get("caps", []) if isinstance(loom, Mapping) else []
    found = {}
    for row in rows:
        length = _number(row.get("cut_mm"))
        if length is not None:
            found[str(row.get("tail", ""))] = (length, str(row.get("title", "")))
    return found


def _number(value: object) -> float | None:
    bare = value.value if isinstance(value, Figure) else value
    return float(bare) if isinstance(bare, (int, float)) and not isinstance(bare, bool) else None


# --- strips ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One strip and the tails that are laid on it, one after the other."""

    name: str
    cuts: tuple[Cut, ...]

    @property
    def words(self) -> str:
        return strip_words(self.cuts)


def strip_words(cuts: Sequence[Cut]) -> str:
    """The tails of a strip: circuit and way of each."""
    return ", ".join(f"{cut.circuit} {cut.tail.tail.at}" for cut in cuts)


def strips_of(cuts: Sequence[Cut], run_mm: float) -> tuple[Strip, ...]:
    """Tails of a lead that are cut, stripped, joined and labelled alike share a strip; by lead, the shortest first.

    A strip takes as many tails as its line has room to name; one that would go over more than two pages is left out.
    """
    groups: dict[tuple[object, ...], list[Cut]] = {}
    for cut in cuts:
        if cut.length_mm is not None and cut.length_mm <= LONGEST_PAGES * run_mm:
            key = (cut.tail.lead.lead, cut.length_mm, cut.strip_mm, cut.joint_mm, cut.label_mm, cut.sleeve)
            groups.setdefault(key, []).append(cut)
    order = {lead: at for at, lead in enumerate(dict.fromkeys(cut.tail.lead.lead for cut in cuts))}
    alike = sorted(groups.values(), key=lambda group: (order[group[0].tail.lead.lead], group[0].length_mm or 0.0))
    room = run_mm - 75.0  # the number before, and "cut … mm, bare … mm, goes on over the join" after
    out: list[Strip] = []
    for group in alike:
        part: list[Cut] = []
        for cut in group:
            if part and text_width(strip_words([*part, cut]), WORD) > room:
                out.append(Strip(name=str(len(out) + 1), cuts=tuple(part)))
                part = []
            part.append(cut)
        out.append(Strip(name=str(len(out) + 1), cuts=tuple(part)))
    return tuple(out)


def tail_strip(strip: Strip) -> TailStrip:
    """A strip as the drawing wants it."""
    one = strip.cuts[0]
    return TailStrip(
        id=strip.name,
        label=strip.words,
        length_mm=one.length_mm or 0.0,
        strip_mm=one.strip_mm,
        joints_mm=(one.joint_mm,) if one.joint_mm is not None else (),
        sleeve=one.sleeve,
        label_mm=one.label_mm,
    )


# --- the sheet ---------------------------------------------------------------------------------------------------


def cutting_view(plan: Plan, shop: Shop, reference: Reference, head: FrameView) -> CuttingView:
    """The cutting sheet of a plan."""
    width, height = PAGE_MM[head.paper]
    cuts = cuts_of(plan, shop)
    strips = strips_of(cuts, usable_mm(width))
    on = {(cut.circuit, cut.tail.name): strip.name for strip in strips for cut in strip.cuts}
    room = height - (HELD_MM if plan.held else 0)
    pictures = cutting_strips([tail_strip(strip) for strip in strips], width_mm=width, height_mm=room)
    label = shop.loom.first_joint_mm * LABEL_PART
    return CuttingView(
        bar=Markup(scale_bar(key="bar-cover")),
        steps=(
            "Print at 100 %, not fitted to the page. Measure the bar of 100 mm on this page.",
            "Lay the plug's face on the zero line of its drawing, with the tail straight along it.",
            "Cut, strip and mark the tail where the drawing says.",
        ),
        notes=_notes(cuts, plan),
        leads=_leads(cuts, on),
        strips=tuple(Markup(picture) for picture in pictures),
        cards=_cards(plan),
        picks=pick_list(plan),
        label_text=f"Each label goes {number(label)} mm from its plug, or where its drawing says.",
    )


def _notes(cuts: Sequence[Cut], plan: Plan) -> tuple[str, ...]:
    notes = []
    short = [c for c in cuts if c.short_mm > 0.05]
    if short:
        named = ", ".join(f"{c.circuit} {c.tail.tail.at} by {number(c.short_mm)} mm" for c in short)
        notes.append(f"Too short as it comes, so a longer tail is wanted: {named}.")
    vehicles = len(plan.job.registrations)
    if vehicles > 1:
        notes.append(f"The lead is made {counted(vehicles, 'time', 'times')}: every length holds for each of them.")
    return tuple(notes)


def _leads(cuts: Sequence[Cut], on: Mapping[tuple[str, str], str]) -> tuple[LeadCutsView, ...]:
    """The table, lead by lead."""
    by_lead: dict[str, list[Cut]] = {}
    for cut in cuts:
        by_lead.setdefault(cut.tail.lead.lead, []).append(cut)
    return tuple(
        LeadCutsView(
            title=f"{lead}: {some[0].tail.lead.title}",
            rows=tuple(_row(cut, on.get((cut.circuit, cut.tail.name), "")) for cut in some),
        )
        for lead, some in by_lead.items()
    )


def _row(cut: Cut, on_strip: str) -> RowView:
    tail = cut.tail
    own = f"{number(tail.tail.length_mm)} mm" if tail.tail.length_mm is not None else "not stated"
    if cut.length_mm is None:
        cut_text, where = f"full, {own}", "at its end" if cut.joined else "fold back, cap, tie"
    else:
        cut_text, where = f"{number(cut.length_mm)} mm", f"{number(cut.joint_mm or 0)} mm"
    return RowView(
        circuit=cut.circuit,
        way=tail.tail.at,
        colour=tail.colour_text,
        cut=cut_text,
        bare=f"{number(cut.strip_mm)} mm" if cut.strip_mm is not None else "its card" if cut.joined else "none",
        joint=where,
        sleeve=_sleeve_text(cut),
        on_strip=on_strip or ("tape" if cut.length_mm is not None else "none"),
    )


def _sleeve_text(cut: Cut) -> str:
    if cut.sleeve is None:
        return "none"
    return f"{number(cut.sleeve.cut_mm)} mm" + ("" if cut.joined else " cap")


def _cards(plan: Plan) -> tuple[CardView, ...]:
    """A card for each way of joining, in the order of first use, with the joints it is for."""
    used: dict[str, list[Joint]] = {}
    for joint in plan.joints:
        if joint.method.kind in CARDS:
            used.setdefault(joint.method_id, []).append(joint)
    return tuple(
        CardView(
            title=joints[0].method.title,
            circuits=", ".join(joint.id for joint in joints),
            picture=Markup(
                joint_card(method.kind, title=method.title, sleeve=method.sleeve != "none", key=f"card-{name}")
            ),
        )
        for name, joints in used.items()
        for method in (joints[0].method,)
    )


def cutting_data(plan: Plan) -> dict[str, Any]:
    """What the cutting sheet shows, as plain data: the joints' own figures."""
    return {
        "sheet": "cutting",
        "job": plan.job.job,
        "revision": plan.job.revision,
        "issued": plan.job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "joints": [
            {
                "id": joint.id,
                "method": joint.method_id,
                "tails": list(joint.tails),
                "position_mm": joint.position_mm,
                "position_from": joint.position_from,
                "strip_mm": _number(joint.strip_mm),
                "sleeve_cut_mm": _number(joint.sleeve_cut_mm),
            }
            for joint in plan.joints
        ],
    }
