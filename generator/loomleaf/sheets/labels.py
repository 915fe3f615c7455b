"""Labels on die-cut sheets: a flag for every tail and every joint, and one label for the whole lead.

A flag is folded round its wire with its two halves back to back: two faces and the way round the wire, 2 × face + π × D,
make up the label's width. Both faces carry the same words, upright, since the fold runs across the strip. A wire too
thick for that gets a label that lies along it. No label carries anything about the customer: a lead is known by its job,
and a vehicle of a fleet by its place in the list.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from markupsafe import Markup

from ..calc.conductor import outside
from ..draw.letters import first_that_fits, fit, fit_name, text_width, wrap
from ..draw.strip import scale_bar
from ..draw.svg import SMALL, Picture
from ..figure import number
from ..model.reference import Reference
from ..model.shop import LabelSheet, Shop
from ..plan.types import Circuit, JobTail, Joint, Plan, Spare
from ..problems import Problem, Severity
from .views import FrameView, counted

PAPER_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
INSET_MM = 1.5  # from the die cut to the nearest letter
FOLD_GAP_MM = 0.8  # from the wire's own room to the nearest letter
LEAST_SIZE_MM = 2.67  # of the type: capitals of 0.75 × 2.67 = 2.0 mm
NAME_SIZES_MM = (5.0, 4.25, 3.55, 3.2, LEAST_SIZE_MM)
WORD_SIZES_MM = (3.55, 3.2, 2.9, LEAST_SIZE_MM)
LEADING = 1.2
LEAST_FACE_MM = 11.0  # of words on a face: less, and the label lies along the wire
EDGE_LINE_MM = 9.0  # of bare edge above the first row, for the line that names the sheet

Shape = Literal["flag", "along"]


@dataclass(frozen=True, kw_only=True)
class LineView:
    """One line of a label. ``top_mm`` is where its box begins below the face's own top."""

    text: str
    size_mm: float
    bold: bool
    top_mm: float


@dataclass(frozen=True, kw_only=True)
class FaceView:
    """A block of lines on a label, placed from the label's top left corner."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    lines: tuple[LineView, ...]


@dataclass(frozen=True, kw_only=True)
class LabelView:
    """One label on its sheet. ``fold_left_mm`` and ``fold_width_mm`` are the wire's own room; None on a plain label."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    faces: tuple[FaceView, ...]
    fold_left_mm: float | None = None
    fold_width_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class LabelsView:
    """The cover page, the test page and every sheet of labels."""

    steps: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    bar: Markup
    grid: Markup
    grid_bar: Markup
    grid_bar_top_mm: float
    edge_line: bool
    edge: str
    sheets: tuple[tuple[LabelView, ...], ...]
    page_width_mm: float
    page_height_mm: float


@dataclass(frozen=True, kw_only=True)
class Label:
    """What one label says, before it is laid out. ``titles`` from the fullest to the shortest; ``wire_mm`` None: not known.

    ``name`` and ``code`` together find the row on the sheet: the circuit's number and the way. A line of ``extra`` may hold
    several wordings, one under the other, from the fullest to the shortest.
    """

    kind: Literal["lead", "tail", "joint", "spare"]
    name: str
    code: str
    titles: tuple[str, ...]
    wire_mm: float | None = None
    extra: tuple[str, ...] = ()


def geometry(shop: Shop, paper: str) -> LabelSheet:
    """The shop's label sheet for a paper."""
    return shop.labels_letter if paper == "Letter" else shop.labels


# --- what the labels say -----------------------------------------------------------------------------------------


def labels_of(plan: Plan, *, vehicle: int = 1) -> tuple[Label, ...]:
    """The labels of one vehicle: its lead, then circuit by circuit the tails and their joint, then the spares."""
    found = [_lead_label(plan, vehicle)]
    joints = {joint.circuit: joint for joint in plan.joints}
    for circuit in plan.circuits:
        if circuit.made:
            found += [_tail_label(circuit, tail) for tail in circuit.tails]
            if circuit.id in joints:
                found.append(_joint_label(circuit, joints[circuit.id]))
    found += [_spare_label(spare) for spare in plan.spares]
    return tuple(found)


def wire_mm(tail: JobTail) -> float | None:
    """Widest outside diameter of a tail over its insulation; None where the tables hold none."""
    value = outside(tail.tail.size).value if tail.tail.size else None
    return float(value) if isinstance(value, (int, float)) else None


def _lead_label(plan: Plan, vehicle: int) -> Label:
    count = len(plan.job.registrations)
    kind = plan.vehicle
    radio = plan.radio
    whole = " ".join(part for part in (kind.maker, kind.model, kind.years) if part)
    lines = [f"vehicle {vehicle} of {count}"] if count > 1 else []
    lines += ["\n".join(f"{plan.job.issued.isoformat()} {plan.digest[:count]}" for count in (12, 8, 6))]
    short = " ".join(part for part in (kind.maker, kind.model) if part)
    radio = plan.radio
    lines += ["\n".join((whole, short)), *([radio.title] if radio else [])]
    return Label(kind="lead", name=f"Lead {plan.job.job}", code=plan.job.revision, titles=(), extra=tuple(lines))


def _titles(circuit: Circuit) -> tuple[str, ...]:
    short = circuit.function.short if circuit.function else ""
    pole = {"plus": "+", "minus": "−"}.get(circuit.pole, circuit.pole)
    return tuple(dict.fromkeys(t for t in (circuit.title, f"{short} {pole}".strip() if short else "") if t))


def _tail_label(circuit: Circuit, tail: JobTail) -> Label:
    return Label(kind="tail", name=circuit.id, code=tail.tail.at, titles=_titles(circuit), wire_mm=wire_mm(tail))


def _joint_label(circuit: Circuit, joint: Joint) -> Label:
    """A joint's flag goes round the thickest of its tails, beside the joint."""
    widths = [wire_mm(tail) for tail in circuit.tails]
    known = [w for w in widths if w is not None]
    return Label(
        kind="joint",
        name=joint.id,
        code="joint",
        titles=_titles(circuit),
        wire_mm=max(known) if len(known) == len(widths) else None,
        extra=(f"at {number(joint.position_mm)} mm\n{number(joint.position_mm)} mm",)
        if joint.position_mm is not None
        else (),
    )


def _spare_label(spare: Spare) -> Label:
    tail = spare.tail
    short = tail.function.short
    titles = tuple(dict.fromkeys(t for t in (tail.title, f"{short} {tail.pole_text}".strip() if short else "") if t))
    word = "spare, live" if spare.live else "spare"
    return Label(kind="spare", name=spare.id, code=tail.tail.at, titles=titles, wire_mm=wire_mm(tail), extra=(word,))


# --- laying out one label ----------------------------------------------------------------------------------------


def face_width_mm(label_mm: float, wire: float) -> float:
    """Room for words on one face of a flag: (label − π × D) ÷ 2, less the inset and the gap at the fold.

    >>> round(face_width_mm(38.1, 2.0), 2)
    13.61
    """
    return (label_mm - math.pi * wire) / 2 - INSET_MM - FOLD_GAP_MM


def laid_out(label: Label, sheet: LabelSheet, *, held: bool, widest_mm: float) -> LabelView:
    """One label at the corner (0, 0). An unknown wire is taken to be as thick as ``widest_mm``."""
    height = sheet.height_mm - 2 * INSET_MM
    wire = label.wire_mm if label.wire_mm is not None else widest_mm
    face = face_width_mm(sheet.width_mm, wire)
    if label.kind == "lead" or face < LEAST_FACE_MM:
        width = sheet.width_mm - 2 * INSET_MM
        faces = (_face(label, INSET_MM, width, height, held=held),)
        return LabelView(left_mm=0, top_mm=0, width_mm=sheet.width_mm, height_mm=sheet.height_mm, faces=faces)
    room = math.pi * wire
    fold = (sheet.width_mm - room) / 2
    return LabelView(
        left_mm=0,
        top_mm=0,
        width_mm=sheet.width_mm,
        height_mm=sheet.height_mm,
        faces=tuple(_face(label, x, face, height, held=held) for x in (INSET_MM, fold + room + FOLD_GAP_MM)),
        fold_left_mm=fold,
        fold_width_mm=room,
    )


def _face(label: Label, left: float, width: float, height: float, *, held: bool) -> FaceView:
    lines = face_lines(label, width, height, held=held)
    placed, top = [], 0.0
    for text, size, bold in lines:
        placed.append(LineView(text=text, size_mm=size, bold=bold, top_mm=round(top, 3)))
        top += size * LEADING
    return FaceView(left_mm=left, top_mm=INSET_MM, width_mm=width, height_mm=height, lines=tuple(placed))


Line = tuple[str, float, bool]


def face_lines(label: Label, width: float, height: float, *, held: bool) -> list[Line]:
    """The lines of a face: text, size, bold. Number and way first and large, then the function, then the rest.

    What is too long is set smaller, then said with its short name, then cut with "…"; it never runs over.
    """
    rest = [
        (first_that_fits(tuple(text.split("\n")), width, LEAST_SIZE_MM), LEAST_SIZE_MM, False) for text in label.extra
    ]
    if held:
        rest.append(("HELD", LEAST_SIZE_MM, True))
    names = _name_choices(label, width)
    for titles in ([title] for title in label.titles or ("",)):
        for name in names:
            room = height - _tall(name) - _tall(rest)
            words = _title_lines(titles, width, room)
            if room > -1e-6 and (words is not None or not titles[0]):
                return [*name, *(words or []), *rest]
    name = min(names, key=_tall)
    while (
        len(rest) > int(held)
        and _tall(name) + _tall(rest) + LEAST_SIZE_MM * LEADING * bool(label.titles) > height + 1e-6
    ):
        rest.pop(-1 - int(held))  # the last of the rest goes first; HELD stays
    return [*name, *_cut_lines(label.titles, width, height - _tall(name) - _tall(rest)), *rest]


def _tall(lines: Sequence[Line]) -> float:
    return sum(size * LEADING for _, size, _ in lines)


def _name_choices(label: Label, width: float) -> list[list[Line]]:
    """Number and way side by side, or one under the other, from the largest to the smallest; what is too wide is cut."""
    both = f"{label.name} {label.code}".strip()
    beside: list[list[Line]] = [[(both, s, True)] for s in NAME_SIZES_MM if text_width(both, s, bold=True) <= width]
    under: list[list[Line]] = [
        [
            (label.name, size, True),
            (fit_name(label.code, width, max(small, LEAST_SIZE_MM), bold=True), max(small, LEAST_SIZE_MM), True),
        ]
        for size, small in zip(NAME_SIZES_MM, NAME_SIZES_MM[2:] + (LEAST_SIZE_MM,) * 2, strict=True)
        if text_width(label.name, size, bold=True) <= width and label.code
    ]
    large = [choice for choice in beside if choice[0][1] >= NAME_SIZES_MM[2]]
    found = [*large, *under, *(choice for choice in beside if choice not in large)]
    if found:
        return found
    room = width - text_width(f"{label.name} ", LEAST_SIZE_MM, bold=True)
    whole = f"{label.name} {fit_name(label.code, room, LEAST_SIZE_MM, bold=True)}".strip() if room > 0 else both
    return [[(fit(whole, width, LEAST_SIZE_MM, bold=True), LEAST_SIZE_MM, True)]]


def _title_lines(titles: Sequence[str], width: float, room: float) -> list[Line] | None:
    """The first title that goes into the room whole, at the largest size; None when none does."""
    for title in titles:
        for size in WORD_SIZES_MM:
            whole = all(text_width(word, size) <= width for word in title.split())
            lines = _pole_kept(wrap(title, width, size))
            if whole and len(lines) * size * LEADING <= room + 1e-6:
                return [(line, size, False) for line in lines]
    return None


def _cut_lines(titles: Sequence[str], width: float, room: float) -> list[Line]:
    """The shortest title in as many lines as there is room for, cut where it must be."""
    count = int((room + 1e-6) // (LEAST_SIZE_MM * LEADING))
    if not titles or count < 1:
        return []
    words = " ".join(fit(word, width, LEAST_SIZE_MM) for word in titles[-1].split())
    return [(line, LEAST_SIZE_MM, False) for line in wrap(words, width, LEAST_SIZE_MM, lines=count)]


def _pole_kept(lines: list[str]) -> list[str]:
    """A pole never stands alone on a line: the word before it goes down with it.

    >>> _pole_kept(["front left", "+"])
    ['front', 'left +']
    """
    if len(lines) > 1 and lines[-1] in ("+", "−") and " " in lines[-2]:
        before, word = lines[-2].rsplit(" ", 1)
        return [*lines[:-2], before, f"{word} {lines[-1]}"]
    return lines


# --- sheets ------------------------------------------------------------------------------------------------------


def place(labels: Iterable[LabelView], sheet: LabelSheet) -> tuple[tuple[LabelView, ...], ...]:
    """Labels on their sheets, row by row, from the start position of the first sheet."""
    a_sheet = sheet.columns * sheet.rows
    pages: list[list[LabelView]] = []
    for at, label in enumerate(labels, start=sheet.start - 1):
        page, cell = divmod(at, a_sheet)
        row, column = divmod(cell, sheet.columns)
        while len(pages) <= page:
            pages.append([])
        left, top = sheet.left_mm + column * sheet.pitch_x_mm, sheet.top_mm + row * sheet.pitch_y_mm
        pages[page].append(replace(label, left_mm=round(left, 3), top_mm=round(top, 3)))
    return tuple(tuple(page) for page in pages)


def sheet_problems(plan: Plan, shop: Shop, paper: str) -> tuple[Problem, ...]:
    """What is wrong with a label sheet's geometry: off the paper, over one another, too small, a start that is not there."""
    sheet = geometry(shop, paper)
    setting = "labels_letter" if paper == "Letter" else "labels"
    width, height = PAPER_MM[paper]
    right = sheet.left_mm + max(sheet.columns - 1, 0) * sheet.pitch_x_mm + sheet.width_mm
    bottom = sheet.top_mm + max(sheet.rows - 1, 0) * sheet.pitch_y_mm + sheet.height_mm
    least_height = 2 * INSET_MM + 3 * LEAST_SIZE_MM * LEADING
    least_width = 2 * INSET_MM + 2 * LEAST_FACE_MM
    faults = []
    if sheet.columns < 1 or sheet.rows < 1:
        faults.append("it has no labels")
    if right > width + 1e-6 or bottom > height + 1e-6:
        faults.append(
            f"its labels reach {number(right)} by {number(bottom)} mm; the paper is {number(width)} by {number(height)} mm"
        )
    if sheet.pitch_x_mm < sheet.width_mm - 1e-6 or sheet.pitch_y_mm < sheet.height_mm - 1e-6:
        faults.append("its labels lie over one another: a pitch is smaller than the label")
    if sheet.width_mm < least_width or sheet.height_mm < least_height:
        tall = math.ceil(least_height * 10) / 10
        faults.append(f"a label must be at least {number(least_width)} by {number(tall)} mm to be read")
    if not 1 <= sheet.start <= max(sheet.columns * sheet.rows, 1):
        faults.append(f"start is {sheet.start}, and the sheet has {sheet.columns * sheet.rows} labels")
    return tuple(
        Problem(
            code="label-sheet",
            severity=Severity.ERROR,
            message=f"the label sheet for {paper} cannot be printed: {fault}",
            hint=f"put  {setting}  of shop.yaml right: measure a sheet, or take the figures from its packet",
            job=plan.job.job,
        )
        for fault in faults
    )


def labels_view(plan: Plan, shop: Shop, reference: Reference, head: FrameView) -> LabelsView:
    """The labels of a plan, a set for each vehicle."""
    sheet = geometry(shop, head.paper)
    vehicles = len(plan.job.registrations)
    sets = [labels_of(plan, vehicle=n) for n in range(1, vehicles + 1)]
    known = [label.wire_mm for label in sets[0] if label.wire_mm is not None]
    widest = max(known, default=2.0)
    made = [laid_out(label, sheet, held=plan.held, widest_mm=widest) for group in sets for label in group]
    pages = place(made, sheet)
    width, height = PAPER_MM[head.paper]
    return LabelsView(
        steps=(
            "Print this page and the test page on plain paper at 100 %, not fitted to the page.",
            "Measure the bar of 100 mm on both.",
            "Hold the test page behind a label sheet against the light. Each frame lies on its label.",
            "If a frame lies beside its label, correct the sizes in shop.yaml first.",
            "Print the pages after the test page on label sheets at 100 %.",
            "Lay the wire between the dashed lines of a flag. Press the halves back to back.",
            "Put a joint's flag on its thickest tail, beside the joint.",
            "Lay a label without dashed lines along its cable.",
        ),
        facts=_facts(sheet, len(pages), sets),
        notes=_notes(sets[0], sheet, widest, held=plan.held),
        bar=Markup(scale_bar(key="bar-cover")),
        grid=Markup(_grid(sheet, width, height)),
        grid_bar=Markup(scale_bar(key="bar-grid")),
        grid_bar_top_mm=round(sheet.top_mm + sheet.rows // 2 * sheet.pitch_y_mm + (sheet.height_mm - 14) / 2, 3),
        edge_line=sheet.top_mm >= EDGE_LINE_MM,
        edge=f"{plan.job.job}, revision {plan.job.revision}, {plan.job.issued_text}, labels",
        sheets=pages,
        page_width_mm=width,
        page_height_mm=height,
    )


_KIND_WORDS = {
    "lead": ("for the lead", "for the lead"),
    "tail": ("for a tail", "for tails"),
    "joint": ("for a joint", "for joints"),
    "spare": ("for a spare", "for spares"),
}


def _facts(sheet: LabelSheet, pages: int, sets: Sequence[Sequence[Label]]) -> tuple[tuple[str, str], ...]:
    kinds = [label.kind for label in sets[0]]
    parts = [
        f"{kinds.count(kind)} {words[kinds.count(kind) > 1]}" for kind, words in _KIND_WORDS.items() if kind in kinds
    ]
    of_each = (
        f"{counted(len(kinds), 'label', 'labels')}{' for each vehicle' if len(sets) > 1 else ''}: {', '.join(parts)}"
    )
    size = f"{number(sheet.width_mm)} by {number(sheet.height_mm)} mm"
    return (
        ("Labels", of_each),
        *([("Vehicles", f"numbered 1 to {len(sets)} in the order of the bench sheet")] if len(sets) > 1 else []),
        (
            "Label sheet",
            f"{sheet.columns} by {sheet.rows} labels of {size}; the first {number(sheet.left_mm)} mm from the left edge and "
            f"{number(sheet.top_mm)} mm from the top, the next {number(sheet.pitch_x_mm)} mm across and "
            f"{number(sheet.pitch_y_mm)} mm down",
        ),
        ("To print on", f"{counted(pages, 'label sheet', 'label sheets')}, from label {sheet.start} of the first"),
    )


def _notes(labels: Sequence[Label], sheet: LabelSheet, widest: float, *, held: bool) -> tuple[str, ...]:
    notes = []
    unknown = [f"{label.name} {label.code}" for label in labels if label.kind != "lead" and label.wire_mm is None]
    if unknown:
        notes.append(
            f"No diameter is known for {', '.join(unknown)}. Their flags leave room for {number(widest, 2)} mm: measure the wire."
        )
    along = [
        f"{label.name} {label.code}"
        for label in labels
        if label.wire_mm is not None and face_width_mm(sheet.width_mm, label.wire_mm) < LEAST_FACE_MM
    ]
    if along:
        notes.append(f"Too thick for a flag of this size, so the label lies along the cable: {', '.join(along)}.")
    if held:
        notes.append("The job is held: each label says HELD. Print them again when the job is cleared.")
    return tuple(notes)


def _grid(sheet: LabelSheet, width: float, height: float) -> str:
    """Every die cut of a sheet as a frame with its number, at full size."""
    picture = Picture(
        title="Test page of the label sheet",
        desc=f"Frames of {sheet.columns * sheet.rows} labels, each with its number.",
        width_mm=width,
        height_mm=height,
        key="label-grid",
    )
    for cell in range(sheet.columns * sheet.rows):
        row, column = divmod(cell, sheet.columns)
        x, y = sheet.left_mm + column * sheet.pitch_x_mm, sheet.top_mm + row * sheet.pitch_y_mm
        picture.rect(x, y, sheet.width_mm, sheet.height_mm, 0.25)
        picture.centred(
            x + sheet.width_mm / 2, y + sheet.height_mm / 2, str(cell + 1), SMALL, bold=cell + 1 == sheet.start
        )
    return picture.svg()


def labels_data(plan: Plan) -> dict[str, Any]:
    """What the labels show, as plain data."""
    return {
        "sheet": "labels",
        "job": plan.job.job,
        "revision": plan.job.revision,
        "issued": plan.job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "vehicles": len(plan.job.registrations),
        "labels": [
            {
                "kind": label.kind,
                "name": label.name,
                "code": label.code,
                "title": label.titles[0] if label.titles else "",
            }
            for label in labels_of(plan)
            if label.kind != "lead"
        ],
    }
