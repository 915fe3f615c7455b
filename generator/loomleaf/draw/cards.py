"""Joint cards: the steps of each way of joining as small drawings, and a good joint beside bad ones.

The wires are drawn in black and white only, thicker than they are, so that strands, barrel and sleeve can be told apart.
What is said here is common practice of the trade; limits and sizes come from the method itself and stand beside the card.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import sin

from .letters import wrap
from .svg import INK, PAPER, SHADE, SMALL, STRONG, Picture, circle_path, line_path, number, rect_path

FRAME_MM = (33.0, 19.0)
_ROWS_APART_MM = 2.0  # a card is low enough for two to stand on a page, the band of a held job included
_HALF_MM = 1.5  # half the thickness of an insulated wire
_ACROSS = 5

Draw = Callable[[Picture, float, float], None]


@dataclass(frozen=True, kw_only=True)
class Frame:
    """One small drawing, ``FRAME_MM`` wide and tall, with the middle of its wire at (x, y), and the words under it.

    ``sleeve``: it puts a sleeve on, and has no place where the method has none."""

    words: str
    draw: Draw
    sleeve: bool = False


@dataclass(frozen=True, kw_only=True)
class Card:
    """All drawings of one kind of joint. ``good`` is one frame, ``bad`` are those to be refused."""

    title: str
    steps: tuple[Frame, ...]
    good: Frame
    bad: tuple[Frame, ...]


# Parts of a drawing. Each is centred on height y.


def _wire(p: Picture, x1: float, x2: float, y: float) -> None:
    p.path(rect_path(min(x1, x2), y - _HALF_MM, abs(x2 - x1), 2 * _HALF_MM), 0.35, fill=SHADE)


def _strands(p: Picture, x1: float, x2: float, y: float) -> None:
    for offset in (-0.95, 0.0, 0.95):
        p.line(x1, y + offset, x2, y + offset, 0.25)


def _left(p: Picture, x: float, y: float, *, to: float = 11, bare: float = 5) -> None:
    """A tail that comes from the left: insulation up to ``to``, then bare strands."""
    _wire(p, x - 15, x - 15 + to, y)
    if bare:
        _strands(p, x - 15 + to, x - 15 + to + bare, y)


def _right(p: Picture, x: float, y: float, *, to: float = 11, bare: float = 5) -> None:
    _wire(p, x + 15 - to, x + 15, y)
    if bare:
        _strands(p, x + 15 - to - bare, x + 15 - to, y)


def _sleeve(p: Picture, x1: float, x2: float, y: float, *, half: float = 2.6, lined: bool = False) -> None:
    p.path(rect_path(x1, y - half, x2 - x1, 2 * half), 0.5, fill=PAPER)
    if lined:
        p.lines([(x1 + 1, y - half + 1.1), (x2 - 1, y - half + 1.1)], 0.18)
        p.lines([(x1 + 1, y + half - 1.1), (x2 - 1, y + half - 1.1)], 0.18)


def _shrunk(p: Picture, x1: float, x2: float, y: float) -> None:
    """A sleeve that has gripped: its ends lie down on the wires."""
    top = [(x1, y - 1.9), (x1 + 3, y - 1.9), (x1 + 5, y - 3), (x2 - 5, y - 3), (x2 - 3, y - 1.9), (x2, y - 1.9)]
    bottom = [(a, 2 * y - b) for a, b in reversed(top)]
    p.path(line_path([*top, *bottom], closed=True), 0.5, fill=PAPER)


def _barrel(p: Picture, x1: float, x2: float, y: float, *, dents: Sequence[float] = (), half: float = 2.6) -> None:
    """A connector's barrel with the places where the tool has pressed it."""
    top: list[tuple[float, float]] = [(x1, y - half)]
    for dent in dents:
        top += [
            (dent - 1.3, y - half),
            (dent - 0.7, y - half + 1.2),
            (dent + 0.7, y - half + 1.2),
            (dent + 1.3, y - half),
        ]
    top.append((x2, y - half))
    bottom = [(a, 2 * y - b) for a, b in reversed(top)]
    p.path(line_path([*top, *bottom], closed=True), 0.5, fill=PAPER)
    p.line((x1 + x2) / 2, y - half, (x1 + x2) / 2, y + half, 0.18)


def _cap(p: Picture, x1: float, x2: float, y: float, *, dent: bool = False, half: float = 3.6) -> None:
    """A closed-end connector: open at the left, round at the right."""
    end = x2 - half
    p.path(
        f"M{number(x1)} {number(y - half)}H{number(end)}A{half} {half} 0 0 1 {number(end)} {number(y + half)}H{number(x1)}Z",
        0.5,
        fill=PAPER,
    )
    if dent:
        for sign in (-1, 1):
            corner = [(x1 + 3, y + sign * half), (x1 + 4.2, y + sign * (half - 1.3)), (x1 + 5.4, y + sign * half)]
            p.path(line_path(corner), 0.5, fill=PAPER)


def _solder(p: Picture, x1: float, x2: float, y: float, *, half: float = 1.9) -> None:
    """Solder that has run in: the strands still show as ridges."""
    middle = (x1 + x2) / 2
    p.layer()
    p.path(
        f"M{number(x1)} {number(y)}Q{number(middle)} {number(y - 2 * half)} {number(x2)} {number(y)}"
        f"Q{number(middle)} {number(y + 2 * half)} {number(x1)} {number(y)}Z",
        0.35,
        fill="#8a8a8a",
    )
    p.layer()
    for offset in (-0.95, 0.0, 0.95) if half >= 1.9 else (0.0,):
        inset = (x2 - x1) * (0.28 if offset else 0.1)
        p.line(x1 + inset, y + offset, x2 - inset, y + offset, 0.25)


def _inside(p: Picture, x1: float, x2: float, y: float) -> None:
    """Copper that lies hidden in a barrel or a cap, as a broken line."""
    p.layer()
    p.line(x1, y, x2, y, 0.35, dash="1 0.7")


def _blob(p: Picture, x: float, y: float) -> None:
    """Solder that sits on top in a ball."""
    p.path(circle_path(x, y - 1.4, 2.2), 0.35, fill=INK)


def _twist(p: Picture, x1: float, x2: float, y: float) -> None:
    steps = 24
    for phase in (0.0, 3.14159):
        points = [(x1 + (x2 - x1) * n / steps, y + 1.0 * sin(phase + 9.42 * n / steps)) for n in range(steps + 1)]
        p.path(line_path(points), 0.5)


def _heat(p: Picture, x: float, y: float) -> None:
    """Heat from below: three wavy lines that rise."""
    for offset in (-3.0, 0.0, 3.0):
        a, b = number(x + offset), number(y)
        p.path(f"M{a} {b}q1 -1 0 -2q-1 -1 0 -2", 0.35)


def _iron(p: Picture, x: float, y: float) -> None:
    """The iron under the joint, solder fed from above."""
    p.path(line_path([(x, y), (x - 3.4, y + 6), (x - 1.4, y + 6)], closed=True), 0.35, fill=INK)
    p.arrow(x + 6, y - 7, x + 1.2, y - 3.0, 0.35)


def _glass(p: Picture, x: float, y: float) -> None:
    """Look closely here."""
    p.path(circle_path(x, y, 5.4), 0.35)
    p.line(x + 3.9, y + 3.9, x + 7.2, y + 7.2, 0.7)


def _tug(p: Picture, x: float, y: float) -> None:
    p.arrow(x - 9, y + 6.8, x - 14, y + 6.8, 0.35)
    p.arrow(x + 9, y + 6.8, x + 14, y + 6.8, 0.35)


# Steps that several ways of joining share.


def _strip_both(p: Picture, x: float, y: float) -> None:
    _left(p, x, y)
    _right(p, x, y)
    p.line(x - 4, y - 4.5, x - 4, y + 4.5, 0.25, dash="1 1")
    p.line(x + 4, y - 4.5, x + 4, y + 4.5, 0.25, dash="1 1")


def _strip_same_way(p: Picture, x: float, y: float) -> None:
    for offset in (-2.4, 2.4):
        _wire(p, x - 15, x + 1, y + offset)
        _strands(p, x + 1, x + 9, y + offset)
    p.line(x + 1, y - 6.5, x + 1, y + 6.5, 0.25, dash="1 1")


def _sleeve_first(p: Picture, x: float, y: float) -> None:
    _left(p, x, y)
    _right(p, x, y)
    _sleeve(p, x - 13.3, x - 6, y)
    p.arrow(x - 1.5, y - 5.2, x - 8, y - 5.2, 0.35)


def _lined_first(p: Picture, x: float, y: float) -> None:
    _left(p, x, y)
    _right(p, x, y)
    _sleeve(p, x - 13.3, x - 6, y, lined=True)
    p.arrow(x - 1.5, y - 5.2, x - 8, y - 5.2, 0.35)


def _covered(p: Picture, x: float, y: float) -> None:
    _wire(p, x - 15, x - 7, y)
    _wire(p, x + 7, x + 15, y)
    _shrunk(p, x - 10, x + 10, y)
    _heat(p, x, y + 8.6)


def _uncovered_join(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=10)
    _right(p, x, y, to=10)
    _solder(p, x - 5, x + 5, y)


_STRIP = Frame(words="Strip to the length the connector asks for. No strand cut.", draw=_strip_both)


def _crimp_in(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=9, bare=0)
    _right(p, x, y, to=9, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(x - 3.6, x + 3.6))
    for at in (x - 3.6, x + 3.6):
        p.arrow(at, y - 7.2, at, y - 2.9, 0.35)


def _crimp_seen(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=9, bare=0)
    _right(p, x, y, to=9, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(x - 3.6, x + 3.6))
    _glass(p, x - 3.6, y)
    p.arrow(x + 9, y - 5.4, x + 14, y - 5.4, 0.35)
    _inside(p, x - 6.2, x - 0.4, y)
    _inside(p, x + 0.4, x + 6.2, y)


def _crimp_good(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=8.6, bare=0)
    _right(p, x, y, to=8.6, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(x - 3.6, x + 3.6))
    _inside(p, x - 6.4, x - 0.4, y)
    _inside(p, x + 0.4, x + 6.4, y)


def _crimp_short(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=5, bare=7)
    _right(p, x, y, to=8.6, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(x - 3.6, x + 3.6))
    _inside(p, x - 7, x - 3, y)
    _inside(p, x + 0.4, x + 6.4, y)


def _crimp_on_insulation(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=8.6, bare=0)
    _right(p, x, y, to=8.6, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(x - 3.6, x + 3.6))
    p.path(rect_path(x - 7, y - 1.2, 5.6, 2.4), 0, fill=SHADE)  # insulation where copper should lie
    _inside(p, x + 0.4, x + 6.4, y)


def _crimp_flat(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=8.6, bare=0)
    _right(p, x, y, to=8.6, bare=0)
    _barrel(p, x - 7, x + 7, y, dents=(), half=1.9)
    p.path(line_path([(x - 5, y - 1.9), (x - 3.5, y - 0.6), (x - 2, y - 1.9)]), 0.5, fill=PAPER)
    _inside(p, x + 0.4, x + 6.4, y)


def _ends_level(p: Picture, x: float, y: float) -> None:
    _strip_same_way(p, x, y)
    p.line(x + 9, y - 6.5, x + 9, y + 6.5, 0.25, dash="1 1")


def _cap_on(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y)
    p.arrow(x + 15.5, y, x + 10, y, 0.35)


def _cap_pressed(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    p.arrow(x + 0.8, y - 8.4, x + 0.8, y - 3.2, 0.35)
    p.arrow(x + 0.8, y + 8.4, x + 0.8, y + 3.2, 0.35)


def _cap_seen(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    p.arrow(x - 8, y - 6, x - 14, y - 6, 0.35)
    p.arrow(x - 8, y + 6, x - 14, y + 6, 0.35)


def _cap_tied(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    p.path(rect_path(x - 10, y - 4.4, 2, 8.8), 0.5, fill=PAPER)
    p.path(rect_path(x - 9.8, y - 6.2, 1.6, 1.8), 0.35, fill=INK)


def _cap_good(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    for offset in (-1.1, 1.1):
        _inside(p, x - 3, x + 6.6, y + offset)


def _cap_short_one(p: Picture, x: float, y: float) -> None:
    _wire(p, x - 15, x - 3, y - 2.1)
    _wire(p, x - 15, x - 9, y + 2.1)
    _strands(p, x - 9, x - 3.4, y + 2.1)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    _inside(p, x - 3, x + 6.6, y - 1.1)
    _inside(p, x - 3, x - 1, y + 1.1)


def _cap_bare_out(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 8, y + offset)
        _strands(p, x - 8, x - 3, y + offset)
    _cap(p, x - 3.4, x + 9, y, dent=True)
    for offset in (-1.1, 1.1):
        _inside(p, x - 3, x + 4, y + offset)


def _lap(p: Picture, x: float, y: float) -> None:
    """Two bare ends side by side over their whole length, neither twisted nor pushed into the other."""
    _wire(p, x - 15, x - 6, y - 1.0)
    _wire(p, x + 6, x + 15, y + 1.0)
    _strands(p, x - 6, x + 5.4, y - 1.0)
    _strands(p, x - 5.4, x + 6, y + 1.0)


def _lap_soldered(p: Picture, x: float, y: float) -> None:
    _lap(p, x, y)
    _solder(p, x - 5.4, x + 5.4, y, half=2.6)
    _iron(p, x, y + 2.8)


def _lap_seen(p: Picture, x: float, y: float) -> None:
    _lap(p, x, y)
    _solder(p, x - 5.4, x + 5.4, y, half=2.6)
    _glass(p, x, y)


def _solder_good(p: Picture, x: float, y: float) -> None:
    _lap(p, x, y)
    _solder(p, x - 5.4, x + 5.4, y, half=2.6)


def _solder_ball(p: Picture, x: float, y: float) -> None:
    _lap(p, x, y)
    _blob(p, x, y)


def _solder_wick(p: Picture, x: float, y: float) -> None:
    _lap(p, x, y)
    _solder(p, x - 12, x + 12, y, half=2.0)


def _spike(p: Picture, x: float, y: float) -> None:
    _wire(p, x - 15, x - 7, y)
    _wire(p, x + 7, x + 15, y)
    _shrunk(p, x - 10, x + 10, y)
    p.path(line_path([(x - 0.9, y - 2.9), (x, y - 6), (x + 0.9, y - 2.9)], closed=True), 0.35, fill=INK)


def _twist_made(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 4, y + offset)
    _twist(p, x - 4, x + 9, y)


def _twist_soldered(p: Picture, x: float, y: float) -> None:
    _twist_made(p, x, y)
    _solder(p, x - 2, x + 9, y, half=1.3)
    _iron(p, x + 3, y + 2)


def _twist_seen(p: Picture, x: float, y: float) -> None:
    _twist_made(p, x, y)
    _solder(p, x - 2, x + 9, y, half=1.3)
    _glass(p, x + 3, y)


def _twist_sleeve(p: Picture, x: float, y: float) -> None:
    _strip_same_way(p, x, y)
    p.path(rect_path(x - 13, y - 5, 8, 10), 0.5, fill=PAPER)
    p.arrow(x + 2, y - 8, x - 6, y - 8, 0.35)


def _twist_covered(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 5, y + offset)
    p.path(rect_path(x - 8, y - 4.2, 20, 8.4), 0.5, fill=PAPER)
    _heat(p, x + 2, y + 9.2)


def _twist_good(p: Picture, x: float, y: float) -> None:
    _twist_made(p, x, y)
    _solder(p, x - 2, x + 9, y, half=1.3)


def _twist_loose(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 4, y + offset)
    p.path(f"M{number(x - 4)} {number(y - 2)}q4 6 8 3t5 1", 0.35)
    p.path(f"M{number(x - 4)} {number(y + 2)}q5 -7 9 -2t4 -4", 0.35)


def _twist_poked(p: Picture, x: float, y: float) -> None:
    for offset in (-2.1, 2.1):
        _wire(p, x - 15, x - 5, y + offset)
    p.path(rect_path(x - 8, y - 4.2, 15, 8.4), 0.5, fill=PAPER)
    p.line(x + 7, y, x + 12, y, 0.7)


def _plug_apart(p: Picture, x: float, y: float, gap: float = 5.0) -> None:
    _wire(p, x - 15, x - 9 - gap / 2 + 2.5, y)
    _wire(p, x + 9 + gap / 2 - 2.5, x + 15, y)
    p.path(rect_path(x - 9 - gap / 2 + 2.5, y - 3.4, 6.5, 6.8), 0.5, fill=PAPER)
    p.path(rect_path(x + 2.5 + gap / 2 - 2.5, y - 3.4, 6.5, 6.8), 0.5, fill=PAPER)


def _plug_look(p: Picture, x: float, y: float) -> None:
    _plug_apart(p, x, y, 7)
    p.line(x - 3.0, y - 1, x - 0.8, y - 1, 0.5)
    p.line(x - 3.0, y + 1, x - 0.8, y + 1, 0.5)
    _glass(p, x - 1, y)


def _plug_line_up(p: Picture, x: float, y: float) -> None:
    _plug_apart(p, x, y, 7)
    for sign in (-1, 1):
        p.path(rect_path(x + sign * 7.2 - 1.6, y - 4.8, 3.2, 1.4), 0.35, fill=INK)
    p.arrow(x - 2, y + 6.4, x + 3, y + 6.4, 0.35)


def _plug_home(p: Picture, x: float, y: float) -> None:
    _wire(p, x - 15, x - 6.5, y)
    _wire(p, x + 6.5, x + 15, y)
    p.path(rect_path(x - 6.5, y - 3.4, 6.5, 6.8), 0.5, fill=PAPER)
    p.path(rect_path(x, y - 3.4, 6.5, 6.8), 0.5, fill=PAPER)
    p.path(line_path([(x - 4, y - 3.4), (x - 4, y - 5), (x + 2, y - 5), (x + 2, y - 3.4)]), 0.5, fill=PAPER)


def _plug_tug(p: Picture, x: float, y: float) -> None:
    _plug_home(p, x, y)
    _tug(p, x, y)


def _plug_tied(p: Picture, x: float, y: float) -> None:
    _plug_home(p, x, y)
    for sign in (-1, 1):
        p.path(rect_path(x + sign * 11 - 1, y - 2.8, 2, 5.6), 0.5, fill=PAPER)


def _plug_half(p: Picture, x: float, y: float) -> None:
    _plug_apart(p, x, y, 2.4)
    p.line(x - 1.2, y - 1, x + 1.2, y - 1, 0.5)
    p.line(x - 1.2, y + 1, x + 1.2, y + 1, 0.5)


def _plug_pushed(p: Picture, x: float, y: float) -> None:
    _plug_home(p, x, y)
    p.arrow(x - 5, y + 1.2, x - 10.5, y + 5.5, 0.35)
    p.path(rect_path(x - 6, y + 0.4, 3.6, 1.6), 0.35, fill=INK)


def _ring(p: Picture, x: float, y: float, *, dents: int = 2, to: float = 9.8) -> None:
    _wire(p, x - 15, x - 15 + to, y)
    _strands(p, x - 15 + to, x - 2, y)
    p.path(circle_path(x + 7.6, y, 4.6), 0.5, fill=PAPER)
    p.path(circle_path(x + 7.6, y, 2.2), 0.35)
    p.lines([(x + 0.5, y - 1.6), (x + 3.8, y - 2.4)], 0.5)
    p.lines([(x + 0.5, y + 1.6), (x + 3.8, y + 2.4)], 0.5)
    if dents == 2:
        _barrel(p, x - 6, x + 0.6, y, dents=(x - 4.2, x - 1.2), half=2.3)
    elif dents == 1:
        _barrel(p, x - 6, x + 0.6, y, dents=(x - 1.2,), half=2.3)
    else:
        _barrel(p, x - 6, x + 0.6, y, half=2.3)


def _ring_strip(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=12, bare=7)
    p.line(x - 3, y - 4.5, x - 3, y + 4.5, 0.25, dash="1 1")


def _ring_crimp(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y)
    p.arrow(x - 4.2, y - 7.4, x - 4.2, y - 2.6, 0.35)
    p.arrow(x - 1.2, y - 7.4, x - 1.2, y - 2.6, 0.35)


def _ring_seen(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y)
    _glass(p, x - 2.7, y)


def _ring_flat(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y)
    p.line(x + 1, y + 6.4, x + 15, y + 6.4, 0.5)
    p.arrow(x + 7.6, y - 7.4, x + 7.6, y - 5.2, 0.35)


def _ring_stud(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y)
    p.layer()
    hexagon = [
        (x + 7.6 + dx, y + dy) for dx, dy in ((-3, 0), (-1.5, -2.6), (1.5, -2.6), (3, 0), (1.5, 2.6), (-1.5, 2.6))
    ]
    p.path(line_path(hexagon, closed=True), 0.5, fill=PAPER)
    p.path(circle_path(x + 7.6, y, 1.2), 0.35)


def _ring_good(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y, to=9.8)


def _ring_one(p: Picture, x: float, y: float) -> None:
    _ring(p, x, y, dents=1, to=4)


def _ring_paint(p: Picture, x: float, y: float) -> None:
    _ring_stud(p, x, y)
    p.line(x - 2, y + 5.6, x + 15, y + 5.6, 1.0)
    for at in range(8):
        p.line(x - 1 + at * 2, y + 5.6, x - 2 + at * 2, y + 7.4, 0.25)


def _lined_covered(p: Picture, x: float, y: float) -> None:
    _lined_good(p, x, y)
    _heat(p, x, y + 8.6)


def _lined_good(p: Picture, x: float, y: float) -> None:
    _lined_dry(p, x, y)
    for sign in (-1, 1):
        p.path(circle_path(x + sign * 10.4, y - 1.7, 0.7), 0, fill=INK)
        p.path(circle_path(x + sign * 10.4, y + 1.7, 0.7), 0, fill=INK)


def _lined_dry(p: Picture, x: float, y: float) -> None:
    _wire(p, x - 15, x - 7, y)
    _wire(p, x + 7, x + 15, y)
    _shrunk(p, x - 10, x + 10, y)


def _lined_burnt(p: Picture, x: float, y: float) -> None:
    _lined_dry(p, x, y)
    for at in (-3.0, -1.0, 1.5, 3.4):
        p.path(circle_path(x + at, y - 1.6 + (at % 2), 0.8), 0, fill=INK)


def _lined_seal(p: Picture, x: float, y: float) -> None:
    _lined_good(p, x, y)
    _glass(p, x - 10, y)


def _sleeve_left_off(p: Picture, x: float, y: float) -> None:
    _uncovered_join(p, x, y)
    p.path(rect_path(x - 4, y + 4.2, 10, 4.4), 0.5, fill=PAPER)


def _short_sleeve(p: Picture, x: float, y: float) -> None:
    _left(p, x, y, to=7, bare=8)
    _right(p, x, y, to=7, bare=8)
    _shrunk(p, x - 6, x + 6, y)


CARDS: dict[str, Card] = {
    "crimp": Card(
        title="Crimped connector",
        steps=(
            _STRIP,
            Frame(words="Slide the sleeve on first.", draw=_sleeve_first, sleeve=True),
            Frame(words="Push to the stop. Press each end in its own die.", draw=_crimp_in),
            Frame(words="Look for copper in the barrel. Tug lightly.", draw=_crimp_seen),
            Frame(words="Sleeve over the middle. Heat until it grips.", draw=_covered, sleeve=True),
        ),
        good=Frame(
            words="Insulation up to the barrel, copper to the stop, a full press at each end.", draw=_crimp_good
        ),
        bad=(
            Frame(words="Bare copper outside the barrel.", draw=_crimp_short),
            Frame(words="Pressed on the insulation.", draw=_crimp_on_insulation),
            Frame(words="Wrong die: pressed flat, or one end missed.", draw=_crimp_flat),
        ),
    ),
    "closed-end": Card(
        title="Closed-end connector",
        steps=(
            Frame(words="Strip all tails to the same length.", draw=_strip_same_way),
            Frame(words="Lay the ends level. Do not twist.", draw=_ends_level),
            Frame(words="Push the cap over them to the bottom.", draw=_cap_on),
            Frame(words="Press. Tug each tail by itself.", draw=_cap_pressed),
            Frame(words="Lay it back along the loom and tie it.", draw=_cap_tied),
        ),
        good=Frame(words="All tails to the bottom, no copper outside, one full press.", draw=_cap_good),
        bad=(
            Frame(words="One tail too short: it is not held.", draw=_cap_short_one),
            Frame(words="Bare copper outside the cap.", draw=_cap_bare_out),
        ),
    ),
    "solder-inline": Card(
        title="Soldered in line, with a sleeve",
        steps=(
            Frame(words="Strip both tails. No strand cut.", draw=_strip_both),
            Frame(words="Slide the sleeve on first, well back.", draw=_sleeve_first),
            Frame(
                words="Lay the bare ends side by side. Heat the wire, feed solder to the wire.", draw=_lap_soldered
            ),
            Frame(words="Look: strands show through, no point, no ball.", draw=_lap_seen),
            Frame(words="Sleeve over both insulations. Heat until it grips.", draw=_covered),
        ),
        good=Frame(words="Solder run in all round, strands still to be seen, insulation not burnt.", draw=_solder_good),
        bad=(
            Frame(words="A ball on top: the wire was cold.", draw=_solder_ball),
            Frame(words="Solder drawn up the wire: it will break there.", draw=_solder_wick),
            Frame(words="A point through the sleeve.", draw=_spike),
        ),
    ),
    "solder-twist": Card(
        title="Twisted, soldered, sleeved",
        steps=(
            Frame(words="Strip the tails side by side.", draw=_strip_same_way),
            Frame(words="Slide the sleeve on first, over all of them.", draw=_twist_sleeve),
            Frame(words="Twist tight together. Heat the wire, feed solder.", draw=_twist_soldered),
            Frame(words="Look: run in all along, no loose strand.", draw=_twist_seen),
            Frame(words="Sleeve past the end of the twist. Heat until it grips.", draw=_twist_covered),
        ),
        good=Frame(words="Tight even turns, solder run in to the end.", draw=_twist_good),
        bad=(
            Frame(words="Loose turns: held by the solder alone.", draw=_twist_loose),
            Frame(words="End of the twist outside the sleeve.", draw=_twist_poked),
        ),
    ),
    "plug-in": Card(
        title="Plugs together",
        steps=(
            Frame(words="Look into both halves: no pin bent or pushed back.", draw=_plug_look),
            Frame(words="Line up the latch. It goes one way only.", draw=_plug_line_up),
            Frame(words="Push until the latch clicks.", draw=_plug_home),
            Frame(words="Tug the halves, not the wires.", draw=_plug_tug),
            Frame(words="Tie it so that the wires take no pull.", draw=_plug_tied),
        ),
        good=Frame(words="Closed up, latch down over its catch.", draw=_plug_home),
        bad=(
            Frame(words="Half home: it works today.", draw=_plug_half),
            Frame(words="A contact pushed out of the back.", draw=_plug_pushed),
        ),
    ),
    "terminal": Card(
        title="Terminal",
        steps=(
            Frame(words="Strip to the length of the barrel.", draw=_ring_strip),
            Frame(words="Press the copper, then the insulation grip.", draw=_ring_crimp),
            Frame(words="Look for copper at both ends of the barrel. Tug.", draw=_ring_seen),
            Frame(words="Clean metal under the ring, lay it flat.", draw=_ring_flat),
            Frame(words="Tighten with the maker's torque.", draw=_ring_stud),
        ),
        good=Frame(words="Copper in one press, insulation in the other, ring clean and flat.", draw=_ring_good),
        bad=(
            Frame(words="No grip on the insulation, bare copper behind.", draw=_ring_one),
            Frame(words="On paint: bare the metal first.", draw=_ring_paint),
        ),
    ),
    "sleeve": Card(
        title="Connector with a lined sleeve",
        steps=(
            _STRIP,
            Frame(words="Slide the lined sleeve on first.", draw=_lined_first),
            Frame(words="Press both ends, as for a plain connector.", draw=_crimp_in),
            Frame(words="Heat from the middle out until glue shows at both ends.", draw=_lined_covered),
            Frame(words="Look for a ring of glue all round each wire.", draw=_lined_seal),
        ),
        good=Frame(words="Gripped on both insulations, a bead of glue at each end.", draw=_lined_good),
        bad=(
            Frame(words="No glue at the ends: water gets in.", draw=_lined_dry),
            Frame(words="Scorched: too long in one place.", draw=_lined_burnt),
        ),
    ),
}
"""Kind of joining method → its card."""

FORGOTTEN = Frame(words="Sleeve forgotten: it cannot go on now.", draw=_sleeve_left_off)
TOO_SHORT = Frame(words="Sleeve too short: bare copper at its ends.", draw=_short_sleeve)


def joint_card(kind: str, *, title: str = "", sleeve: bool = True, width_mm: float = 178, key: str = "") -> str:
    """The steps in a row, and under them a good joint and those to be refused.

    ``kind`` is that of a joining method; ``title`` is the method's own title where it is another than the card's.
    Without a ``sleeve`` the frames that put one on are left out.
    """
    card = CARDS[kind]
    if not sleeve:
        card = replace(card, steps=tuple(frame for frame in card.steps if not frame.sleeve))
    bad = card.bad
    if sleeve and kind in ("solder-inline", "crimp") and len(bad) < 4:
        bad = (*bad, FORGOTTEN if kind == "solder-inline" else TOO_SHORT)
    judged = (card.good, *bad)
    said = title or card.title
    steps = " ".join(f"{n}. {frame.words}" for n, frame in enumerate(card.steps, start=1))
    refused = " ".join(frame.words for frame in bad)
    gap = (width_mm - _ACROSS * FRAME_MM[0]) / (_ACROSS - 1)
    if gap < 1:
        raise ValueError(f"a joint card needs {_ACROSS * FRAME_MM[0] + 4:g} mm of width, not {width_mm:g} mm")
    lines = [max(len(wrap(frame.words, FRAME_MM[0], SMALL)) for frame in row) for row in (card.steps, judged)]
    heights = [7.0 + FRAME_MM[1] + count * SMALL * 1.25 + 1 for count in lines]
    picture = Picture(
        title=f"{said}: the joint step by step",
        desc=f"{steps} Right when: {card.good.words} Refuse it when: {refused}",
        width_mm=width_mm,
        height_mm=sum(heights) + _ROWS_APART_MM,
        key=key,
    )
    y = 0.0
    for n, (row, height) in enumerate(zip((card.steps, judged), heights, strict=True)):
        for at, frame in enumerate(row):
            x = at * (FRAME_MM[0] + gap)
            head = str(at + 1) if n == 0 else ("Right" if at == 0 else "Wrong")
            _frame(picture, x, y, frame, head, verdict=None if n == 0 else at == 0)
        y += height + _ROWS_APART_MM
    return picture.svg()


def joint_frame(frame: Frame, *, head: str = "", verdict: bool | None = None, key: str = "") -> str:
    """One frame by itself. ``verdict`` True marks it right, False wrong, None neither."""
    lines = wrap(frame.words, FRAME_MM[0], SMALL)
    picture = Picture(
        title=head or frame.words,
        desc=frame.words,
        width_mm=FRAME_MM[0],
        height_mm=8 + FRAME_MM[1] + len(lines) * SMALL * 1.25 + 1,
        key=key,
    )
    _frame(picture, 0, 0, frame, head, verdict=verdict)
    return picture.svg()


def _frame(picture: Picture, x: float, y: float, frame: Frame, head: str, *, verdict: bool | None) -> None:
    width, height = FRAME_MM
    picture.text(x + (5.6 if verdict is not None else 0), y + STRONG, head, STRONG, bold=True)
    if verdict is True:
        picture.lines([(x + 0.4, y + 2.6), (x + 1.8, y + 4.2), (x + 4.4, y + 0.8)], 0.7)
    elif verdict is False:
        picture.lines([(x + 0.5, y + 0.9), (x + 4, y + 4.3)], 0.7)
        picture.lines([(x + 0.5, y + 4.3), (x + 4, y + 0.9)], 0.7)
    picture.layer()
    frame.draw(picture, x + width / 2, y + 6 + height / 2)
    picture.layer()
    lines = wrap(frame.words, width, SMALL)
    picture.paragraph(x, y + 7 + height + SMALL * 0.75, lines, SMALL, leading=1.25)
