"""Plug faces from the mating side and from the wire side, and outlines of ends that have no numbered ways.

The two views of a face are mirror images: a plug read from the wrong side swaps left and right, which is the commonest
way to probe the wrong wire. Each view therefore says in words where the eye is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from ..model.reference import ConnectorType
from .letters import CAP_HEIGHT, text_width, wrap
from .svg import PAPER, SHADE, SMALL, STRONG, Picture, line_path, rect_path
from .symbols import crossed_place

View = Literal["mating", "wire"]
Rows = Sequence[Sequence[str]]

VIEW_WORDS: dict[View, tuple[str, str]] = {
    "mating": ("Mating side", "seen from the plug that goes in; the wires run away from you"),
    "wire": ("Wire side", "seen from behind; the wires come towards you"),
}

CELL_MM = 8.0  # a place of a face when it holds a number only
GAP_MM = 1.2  # between places, and between the places and the shell
WIDE_MM = 22.0  # widest a place grows to hold its function
_LATCH_MM = (14.0, 4.6)
_WORDS_LINES = 3


def seen_rows(rows: Rows, view: View) -> tuple[tuple[str, ...], ...]:
    """The rows as the eye meets them: as written from the mating side, each one reversed from the wire side.

    >>> seen_rows([["1", "2"], ["3", ""]], "wire")
    (('2', '1'), ('', '3'))
    """
    return tuple(tuple(row) if view == "mating" else tuple(reversed(row)) for row in squared(rows))


def squared(rows: Rows) -> tuple[tuple[str, ...], ...]:
    """Rows made equally long with blank places at their right, as seen from the mating side."""
    longest = max((len(row) for row in rows), default=0)
    return tuple(tuple(row) + ("",) * (longest - len(row)) for row in rows)


def first_way(rows: Rows) -> str:
    """The way that carries the mark: way 1, or the first one named when there is no way 1."""
    named = [way for row in rows for way in row if way]
    return "1" if "1" in named else (named[0] if named else "")


class _Layout:
    """Sizes of one view of a face: places, shell, latch."""

    def __init__(
        self,
        rows: Rows,
        wanted: Mapping[str, str],
        width_mm: float,
        latch: bool,
        never: Mapping[str, str] | None = None,
    ) -> None:
        self.rows = squared(rows)
        self.never = never or {}
        self.columns = max(len(self.rows[0]) if self.rows else 1, 1)
        self.latch = latch
        room = (width_mm - GAP_MM) / self.columns - GAP_MM
        self.cell_w, self.words = self._cells(wanted, room)
        most = max((len(lines) for lines in self.words.values()), default=0)
        self.cell_h = CELL_MM + (most * SMALL * 1.15 + 0.6 if most else 0)
        self.width = self.columns * (self.cell_w + GAP_MM) + GAP_MM
        self.height = len(self.rows) * (self.cell_h + GAP_MM) + GAP_MM
        self.top = _LATCH_MM[1] if latch else SMALL * 1.6

    def _cells(self, wanted: Mapping[str, str], room: float) -> tuple[float, dict[str, list[str]]]:
        named = [way for row in self.rows for way in row if way]
        narrow = max([min(CELL_MM, room)] + [text_width(way, STRONG, bold=True) + 1.2 for way in named])
        wide = min(WIDE_MM, room)
        spoken = {way: words for way, words in wanted.items() if words and way in named}
        if not spoken or wide < narrow:
            return narrow, {}
        lines = {way: wrap(words, wide - 1.4, SMALL) for way, words in spoken.items()}
        whole = all(" ".join(found) == " ".join(spoken[way].split()) for way, found in lines.items())
        if not whole or max(len(found) for found in lines.values()) > _WORDS_LINES:
            return narrow, {}
        return wide, lines


def _draw_face(
    picture: Picture, x: float, y: float, layout: _Layout, view: View, wanted: Mapping[str, str], marked: str
) -> None:
    rows = seen_rows(layout.rows, view)
    top = y + layout.top
    if layout.latch:
        width, height = _LATCH_MM
        left = x + layout.width / 2 - width / 2
        picture.rect(left, y, width, height, 0.5, fill=PAPER)
        picture.centred(left + width / 2, y + height / 2, "latch", SMALL)
    else:
        picture.text(x + layout.width / 2, y + SMALL, "top", SMALL, anchor="middle")
    picture.rect(x, top, layout.width, layout.height, 0.7)
    for r, row in enumerate(rows):
        for c, way in enumerate(row):
            if way:
                left = x + GAP_MM + c * (layout.cell_w + GAP_MM)
                _draw_place(
                    picture, left, top + GAP_MM + r * (layout.cell_h + GAP_MM), layout, way, way in wanted, marked
                )


def _draw_place(picture: Picture, x: float, y: float, layout: _Layout, way: str, wanted: bool, marked: str) -> None:
    edge = 0.2  # a thick edge keeps its distance from the shell
    if way in layout.never:
        crossed_place(picture, x + edge, y + edge, layout.cell_w - 2 * edge, layout.cell_h - 2 * edge, way)
        return
    if wanted:
        picture.path(rect_path(x + edge, y + edge, layout.cell_w - 2 * edge, layout.cell_h - 2 * edge), 0.7, fill=SHADE)
    else:
        picture.rect(x, y, layout.cell_w, layout.cell_h, 0.25)
    if way == marked:
        picture.path(line_path([(x, y), (x + 2.6, y), (x, y + 2.6)], closed=True), 0, fill="#000")
    middle = x + layout.cell_w / 2
    lines = layout.words.get(way, [])
    if not lines:
        picture.centred(middle, y + layout.cell_h / 2, way, STRONG, bold=True)
        return
    picture.centred(middle, y + CELL_MM / 2, way, STRONG, bold=True)
    picture.paragraph(middle, y + CELL_MM - 1.2 + SMALL * CAP_HEIGHT, lines, SMALL, anchor="middle", leading=1.15)


def plug_face(
    connector: ConnectorType,
    view: View,
    wanted: Mapping[str, str] | None = None,
    *,
    never: Mapping[str, str] | None = None,
    name: str = "",
    width_mm: float = 178,
    key: str = "",
) -> str:
    """One view of a plug's face. ``wanted`` maps ways to their function in a few words ("" for none).

    ``never`` maps the ways that are never touched to what they are: crossed out and named, never shaded.
    ``name`` is the plug's name on its lead. The face is drawn with its latch up; the connector's rows are read as seen
    from the mating side.
    """
    return _faces(connector, (view,), wanted or {}, never or {}, name, width_mm, key)


def plug_faces(
    connector: ConnectorType,
    wanted: Mapping[str, str] | None = None,
    *,
    never: Mapping[str, str] | None = None,
    name: str = "",
    width_mm: float = 178,
    key: str = "",
) -> str:
    """Both views of a plug's face, side by side where the width allows, one under the other where it does not."""
    return _faces(connector, ("mating", "wire"), wanted or {}, never or {}, name, width_mm, key)


def _faces(
    connector: ConnectorType,
    views: tuple[View, ...],
    wanted: Mapping[str, str],
    never: Mapping[str, str],
    name: str,
    width_mm: float,
    key: str,
) -> str:
    wanted = {way: words for way, words in wanted.items() if way not in never}
    rows = connector.rows
    if not rows:
        return _no_rows(connector, wanted, never, name, width_mm, key)
    marked = first_way(rows)
    layout = _Layout(rows, wanted, width_mm - 2, bool(connector.latch), never)
    width_mm = max(width_mm, layout.width + 2)  # a face with more ways than the width holds is drawn wider
    captions = {view: _caption(view, max(layout.width, 44)) for view in views}
    block_w = max(layout.width, *(text_width(line, SMALL) for lines in captions.values() for line in lines[1:]))
    beside = len(views) > 1 and 2 * block_w + 10 <= width_mm
    if not beside:
        captions = {view: _caption(view, width_mm - 2) for view in views}
    head_h = max(STRONG + (len(lines) - 1) * SMALL * 1.3 for lines in captions.values()) + 1.5
    block_h = head_h + layout.top + layout.height + 1
    notes = _notes(connector, wanted, marked, layout, name)
    note_lines = [line for note in notes for line in wrap(note, width_mm - 2, SMALL)]
    listed = _listed(wanted, layout, width_mm)
    height = (block_h if beside or len(views) == 1 else 2 * block_h + 5) + 3
    height += sum(len(row) > 0 for row in listed) * 5.4 + len(note_lines) * SMALL * 1.3 + 1
    picture = Picture(
        title=" ".join(part for part in (f"Plug {name}:" if name else "", connector.title) if part),
        desc=_face_words(connector, views, wanted, never, marked),
        width_mm=width_mm,
        height_mm=height,
        key=key,
    )
    x, y = 1.0, 0.0
    for view in views:
        picture.text(x, y + STRONG, captions[view][0], STRONG, bold=True)
        picture.paragraph(x, y + STRONG + SMALL * 1.3, captions[view][1:], SMALL)
        _draw_face(picture, x, y + head_h, layout, view, wanted, marked)
        if beside:
            x += block_w + 10
        else:
            y += block_h + 5
    y = (block_h if beside or len(views) == 1 else 2 * block_h + 5) + SMALL + 2
    for row in listed:
        for at, way, words in row:
            picture.text(1 + at, y + 0.6, way, STRONG, bold=True)
            picture.text(1 + at + text_width(way, STRONG, bold=True) + 1.6, y + 0.6, words, SMALL)
        y += 5.4
    picture.paragraph(1, y, note_lines, SMALL)
    return picture.svg()


def _caption(view: View, width_mm: float) -> list[str]:
    head, where = VIEW_WORDS[view]
    return [head, *wrap(where, width_mm, SMALL)]


def _notes(connector: ConnectorType, wanted: Mapping[str, str], marked: str, layout: _Layout, name: str) -> list[str]:
    parts = [f"Filled corner: way {marked}."]
    if wanted:
        parts.append("Shaded with a thick edge: ways that are used.")
    if layout.never:
        parts.append(f"Crossed out: never touched ({_never_words(layout.never)}).")
    if connector.latch and connector.latch.lower() not in ("top", "up"):
        parts.append(f"Latch: {connector.latch}.")
    if not connector.latch:
        parts.append("No latch is stated for this plug: find way 1 by the mark in its moulding.")
    absent = sorted(way for way in wanted if not any(way in row for row in layout.rows))
    if absent:
        parts.append(f"Not on this face: {', '.join(absent)}.")
    return [" ".join(parts)]


def _never_words(never: Mapping[str, str]) -> str:
    return "; ".join(f"way {way}, {words[:1].lower() + words[1:]}" if words else f"way {way}" for way, words in never.items())


def _listed(wanted: Mapping[str, str], layout: _Layout, width_mm: float) -> list[list[tuple[float, str, str]]]:
    """Ways with their functions in columns, for a face whose places are too narrow to hold them."""
    if layout.words:
        return []
    order = [way for row in layout.rows for way in row if wanted.get(way)]
    if not order:
        return []
    widest = max(text_width(way, STRONG, bold=True) + text_width(wanted[way], SMALL) + 6 for way in order)
    columns = max(1, int((width_mm - 2) // widest))
    depth = -(-len(order) // columns)
    step = (width_mm - 2) / columns
    return [
        [
            (c * step, order[c * depth + r], wanted[order[c * depth + r]])
            for c in range(columns)
            if c * depth + r < len(order)
        ]
        for r in range(depth)
    ]


def _face_words(
    connector: ConnectorType,
    views: tuple[View, ...],
    wanted: Mapping[str, str],
    never: Mapping[str, str],
    marked: str,
) -> str:
    says = []
    for view in views:
        rows = "; ".join(
            f"row {n}: " + ", ".join(way or "blank" for way in row)
            for n, row in enumerate(seen_rows(connector.rows, view), start=1)
        )
        up = "latch up" if connector.latch else "top up"
        says.append(f"{VIEW_WORDS[view][0]}, {VIEW_WORDS[view][1]}, {up}, left to right: {rows}.")
    if marked:
        says.append(f"Way {marked} is marked.")
    if wanted:
        used = ", ".join(f"{way} {words}".strip() for way, words in wanted.items())
        says.append(f"Used: {used}.")
    if never:
        says.append(f"Never touched: {_never_words(never)}.")
    return " ".join(says)


def _no_rows(
    connector: ConnectorType,
    wanted: Mapping[str, str],
    never: Mapping[str, str],
    name: str,
    width_mm: float,
    key: str,
) -> str:
    """Ways of a plug whose face is not on record: a plain list that does not pretend to be a face."""
    title = " ".join(part for part in (f"Plug {name}:" if name else "", connector.title) if part)
    lines = wrap(
        f"{title}. The order of its ways on the face is not on record: count from the mark in the moulding.",
        width_mm - 2,
        SMALL,
    )
    if never:
        lines += wrap(f"Never touched: {_never_words(never)}.", width_mm - 2, SMALL)
    rows = [list(wanted)[at : at + 8] for at in range(0, len(wanted), 8)]
    listing = _Layout([list(wanted)] if wanted else [[""]], {}, width_mm, False)
    listed = _listed(wanted, listing, width_mm) if rows else []
    picture = Picture(
        title=title,
        desc=f"{title}. No picture of the face is on record. Used: "
        + (", ".join(f"{way} {words}".strip() for way, words in wanted.items()) or "none")
        + "."
        + (f" Never touched: {_never_words(never)}." if never else ""),
        width_mm=width_mm,
        height_mm=2 + len(lines) * SMALL * 1.3 + len(listed) * 5.4,
        key=key,
    )
    y = picture.paragraph(1, SMALL, lines, SMALL) + 1.2
    for row in listed:
        for at, way, words in row:
            picture.text(1 + at, y, way, STRONG, bold=True)
            picture.text(1 + at + text_width(way, STRONG, bold=True) + 1.6, y, words, SMALL)
        y += 5.4
    return picture.svg()


# Ends that have no numbered ways: a side view, 56 by 26 mm, cable from the left.


def _cable(picture: Picture, x1: float, x2: float, y: float, half: float = 1.2) -> None:
    picture.line(x1, y - half, x2, y - half, 0.35)
    picture.line(x1, y + half, x2, y + half, 0.35)
    picture.lines([(x1, y - half), (x1 - 0.8, y - 0.4), (x1 + 0.8, y + 0.4), (x1, y + half)], 0.25)


def _callout(picture: Picture, x: float, y: float, words: str, at_x: float, at_y: float) -> None:
    picture.line(x, y, at_x, at_y, 0.18)
    below = at_y > y
    picture.text(at_x, at_y + (SMALL * 0.95 if below else -0.8), words, SMALL, anchor="middle")


def _coax(p: Picture, y: float) -> None:
    _cable(p, 4, 18, y)
    p.rect(18, y - 2.4, 5, 4.8, 0.35)
    p.rect(23, y - 3.6, 14, 7.2, 0.5)
    p.line(27, y - 3.6, 27, y + 3.6, 0.25)
    p.rect(37, y - 0.7, 9, 1.4, 0.35, fill="#000")
    _callout(p, 42, y - 0.7, "centre", 46, y - 6)
    _callout(p, 31, y + 3.6, "outer: screen", 31, y + 7)


def _line(p: Picture, y: float) -> None:
    _cable(p, 4, 16, y, 1.0)
    p.lines(
        [(16, y - 1.6), (22, y - 3.2), (32, y - 3.2), (32, y + 3.2), (22, y + 3.2), (16, y + 1.6)], 0.5, closed=True
    )
    p.lines([(32, y - 2.6), (39, y - 2.6), (39, y - 1.5), (32, y - 1.5)], 0.35)
    p.lines([(32, y + 2.6), (39, y + 2.6), (39, y + 1.5), (32, y + 1.5)], 0.35)
    p.rect(32, y - 0.45, 14, 0.9, 0.35, fill="#000")
    _callout(p, 44, y - 0.5, "signal", 46, y - 6)
    _callout(p, 36, y + 2.6, "ring: signal ground", 33, y + 7)


def _usb(p: Picture, y: float) -> None:
    _cable(p, 4, 16, y, 1.6)
    p.rect(16, y - 4.4, 15, 8.8, 0.5)
    p.rect(31, y - 3.4, 14, 6.8, 0.5)
    p.rect(35, y - 2.2, 2, 1.4, 0.35)
    p.rect(35, y + 0.8, 2, 1.4, 0.35)
    _callout(p, 45, y - 1, "shell", 49, y - 6)
    _callout(p, 24, y + 4.4, "moulded grip", 24, y + 7)


def _camera(p: Picture, y: float) -> None:
    _cable(p, 4, 16, y, 1.6)
    p.lines(
        [(16, y - 2.2), (22, y - 3.6), (28, y - 3.6), (28, y + 3.6), (22, y + 3.6), (16, y + 2.2)], 0.35, closed=True
    )
    p.rect(28, y - 4.6, 7, 9.2, 0.5)
    for step in (29.4, 31.5, 33.6):
        p.line(step, y - 4.6, step, y + 4.6, 0.18)
    p.rect(35, y - 3.2, 5, 6.4, 0.35)
    p.rect(40, y - 2.1, 4, 0.7, 0.25, fill="#000")
    p.rect(40, y + 1.4, 4, 0.7, 0.25, fill="#000")
    _callout(p, 43, y - 2, "pins, keyed", 46, y - 6)
    _callout(p, 31.5, y + 4.6, "coupling ring", 31.5, y + 7.2)


def _microphone(p: Picture, y: float) -> None:
    _cable(p, 4, 16, y, 0.9)
    p.lines(
        [(16, y - 1.4), (20, y - 2.6), (29, y - 2.6), (29, y + 2.6), (20, y + 2.6), (16, y + 1.4)], 0.5, closed=True
    )
    p.rect(29, y - 1.4, 7, 2.8, 0.35)
    p.rect(37.1, y - 1.4, 4, 2.8, 0.35)
    p.lines([(42.2, y - 1.4), (43.8, y - 1.4), (46, y), (43.8, y + 1.4), (42.2, y + 1.4)], 0.35, closed=True)
    _callout(p, 44, y - 1.2, "tip", 48, y - 6)
    _callout(p, 32.5, y + 1.4, "sleeve", 32.5, y + 6.6)


def _fuse_holder(p: Picture, y: float) -> None:
    p.line(3, y, 13, y, 1.0)
    p.line(43, y, 53, y, 1.0)
    p.rect(13, y - 4.4, 30, 8.8, 0.5)
    p.line(33, y - 4.4, 33, y + 4.4, 0.35)
    p.rect(17, y - 2.6, 12, 5.2, 0.35)
    p.lines([(14.6, y), (19, y), (21, y - 1.4), (25, y + 1.4), (27, y), (31.4, y)], 0.5)
    _callout(p, 23, y + 2.6, "fuse", 21, y + 7.6)
    _callout(p, 38, y + 4.4, "cap", 39, y + 7.6)
    p.text(28, y - 6.2, "as near the feed as it goes", SMALL, anchor="middle")


def _terminal(p: Picture, y: float) -> None:
    p.line(3, y, 15, y, 1.0)
    p.rect(15, y - 2.6, 11, 5.2, 0.5)
    p.line(19, y - 2.6, 19, y + 2.6, 0.25)
    p.line(22, y - 2.6, 22, y + 2.6, 0.25)
    p.lines([(26, y - 1.8), (33, y - 2.4)], 0.5)
    p.lines([(26, y + 1.8), (33, y + 2.4)], 0.5)
    p.circle(38, y, 5.4, 0.5, fill=PAPER)
    p.circle(38, y, 2.8, 0.35)
    _callout(p, 20.5, y + 2.6, "barrel", 18, y + 7)
    _callout(p, 39.5, y + 2.4, "stud hole", 44, y + 8.2)


_ENDS: dict[str, tuple[Callable[[Picture, float], None], str]] = {
    "coax": (_coax, "Coaxial antenna end: a centre contact inside an outer contact that is the screen."),
    "line": (_line, "Line-level end: a signal pin inside a ring that is the signal ground."),
    "usb": (_usb, "USB end: a flat metal shell on a moulded grip."),
    "video": (_camera, "Camera end: keyed pins inside a coupling ring."),
    "microphone": (_microphone, "Microphone end: a round plug with tip and sleeve."),
    "fuse-holder": (_fuse_holder, "Fuse holder in a cable: the fuse lies between the two ends, under a cap."),
    "terminal": (_terminal, "Ring terminal: a barrel for the conductor and a ring for the stud."),
}


def end_picture(connector: ConnectorType, *, key: str = "") -> str:
    """Outline of an end that has no numbered ways, from the side; not to scale."""
    draw, words = _ENDS[connector.kind]
    width = 62.0
    lines = wrap(connector.title, width - 2, SMALL, bold=True)
    picture = Picture(
        title=connector.title,
        desc=f"{words} Drawn from the side, not to scale.",
        width_mm=width,
        height_mm=26 + len(lines) * SMALL * 1.3,
        key=key,
    )
    after = picture.paragraph(1, SMALL, lines, SMALL, bold=True)
    draw(picture, after + 9.2)
    return picture.svg()


def connector_picture(
    connector: ConnectorType, wanted: Mapping[str, str] | None = None, *, width_mm: float = 178, key: str = ""
) -> str:
    """The picture that suits the connector's kind: both faces of a plug, or the outline of another end."""
    if connector.kind == "plug":
        return plug_faces(connector, wanted, width_mm=width_mm, key=key)
    return end_picture(connector, key=key)
