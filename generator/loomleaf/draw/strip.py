"""The full-size cutting strip: tails are laid on it and cut, stripped and marked where it says.

One unit is one millimetre, so the sheet is right only when it was printed at full size: every page carries a bar of
100.0 mm to be measured first. A tail longer than the page goes on over the next page; the pages are joined at the
lettered marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from .letters import fit, text_width, wrap
from .svg import INK, PAPER, SHADE, SMALL, STRONG, WORD, Picture, line_path, number, rect_path

BAR_MM = 100.0
MEASURE_WORDS = "Measure this first"
_EDGE_MM = 7.0  # left and right of the run, for the join marks
_HEAD_MM = 21.0
_ROW_MM = 19.3  # a tail with one line of words under it
_WIRE_MM = 3.6
_TIER_MM = 3.9
_TIERS = 4


@dataclass(frozen=True, kw_only=True)
class Sleeve:
    """A sleeve on a tail: its middle along the tail and the length to cut it."""

    centre_mm: float
    cut_mm: float
    title: str = "sleeve"


@dataclass(frozen=True, kw_only=True)
class TailStrip:
    """One tail to be laid on the strip. Lengths run from the zero line, where the plug's face lies.

    ``strip_mm`` is bared at the far end; None leaves it out. ``joints_mm`` and ``label_mm`` are places along the tail.
    """

    id: str
    label: str
    length_mm: float
    strip_mm: float | None = None
    joints_mm: tuple[float, ...] = ()
    sleeve: Sleeve | None = None
    label_mm: float | None = None


def usable_mm(width_mm: float) -> float:
    """Length of tail that one page of this width holds, a whole number of centimetres.

    >>> usable_mm(178)
    160.0
    """
    return (width_mm - 2 * _EDGE_MM) // 10 * 10


def cutting_strips(
    tails: Sequence[TailStrip], *, width_mm: float = 262, height_mm: float = 165, key: str = "cutting"
) -> list[str]:
    """Full-size pages for the tails, as many tails to a page as fit, spread evenly; each set of tails over as many pages as
    its longest."""
    run = usable_mm(width_mm)
    row_mm = _ROW_MM + _TIER_MM * max((_tiers(tail, run) - 1 for tail in tails), default=0)
    rows = max(1, int((height_mm - _HEAD_MM) // row_mm))
    pages: list[tuple[Sequence[TailStrip], int, int]] = []
    for some in _evenly(tails, rows):
        lengths = max(1, ceil(max(tail.length_mm for tail in some) / run))
        pages.extend((some, part, lengths) for part in range(lengths))
    return [
        _page(some, part, lengths, n, len(pages), run, width_mm, row_mm, f"{key}-{n}")
        for n, (some, part, lengths) in enumerate(pages, start=1)
    ]


def _evenly(tails: Sequence[TailStrip], most: int) -> list[Sequence[TailStrip]]:
    """The tails in as few sets of at most ``most`` as hold them, none more than one longer than another."""
    count = ceil(len(tails) / most)
    ends = [len(tails) * n // count for n in range(count + 1)] if count else [0]
    return [tails[a:b] for a, b in pairwise(ends)]


def _tiers(tail: TailStrip, run: float) -> int:
    """Lines of words under a tail, on the page where it has most."""
    picture = Picture(title="", desc="", width_mm=1, height_mm=1, key="measured")
    parts = max(1, ceil(tail.length_mm / run))
    return max(_draw_tail(picture, tail, 0.0, part * run, (part + 1) * run, run) for part in range(parts))


def scale_bar(*, key: str = "scale-bar") -> str:
    """The bar of 100.0 mm by itself, for any sheet that is printed at full size."""
    picture = Picture(
        title="Scale bar, 100.0 mm",
        desc="A bar of 100.0 mm between its outer edges. Measure it before anything is cut.",
        width_mm=178,
        height_mm=14,
        key=key,
    )
    _draw_bar(picture, 1, 1, 176)
    return picture.svg()


def _draw_bar(picture: Picture, x: float, y: float, room: float) -> None:
    """A bar whose two end lines stand 100.0 mm apart, middle to middle, with a tick each centimetre."""
    picture.line(x, y, x, y + 9, 0.25)
    picture.line(x + BAR_MM, y, x + BAR_MM, y + 9, 0.25)
    picture.line(x, y + 4.5, x + BAR_MM, y + 4.5, 0.7)
    for tick in range(1, 10):
        picture.line(x + tick * 10, y + 4.5, x + tick * 10, y + (7.5 if tick == 5 else 6.2), 0.25)
    picture.text(x + 2, y + 3.4, f"{MEASURE_WORDS}: 100.0 mm from end line to end line", SMALL, bold=True)
    words = wrap("Not 100.0 mm? Print again at 100 %, not fitted to the page.", room - BAR_MM - 4, SMALL)
    picture.paragraph(x + BAR_MM + 4, y + 3.4, words, SMALL, leading=1.25)


def _page(
    tails: Sequence[TailStrip],
    part: int,
    parts: int,
    n: int,
    of: int,
    run: float,
    width_mm: float,
    row_mm: float,
    key: str,
) -> str:
    start, end = part * run, (part + 1) * run
    height = _HEAD_MM + len(tails) * row_mm
    picture = Picture(
        title=f"Cutting drawings, full size, page {n} of {of}",
        desc=f"Covers {number(start)} to {number(end)} mm of each tail. "
        + " ".join(_tail_words(tail) for tail in tails),
        width_mm=width_mm,
        height_mm=height,
        key=key,
    )
    _draw_bar(picture, _EDGE_MM, 0.5, width_mm - 2 * _EDGE_MM)
    picture.text(width_mm - 0.5, 3.9 + 9.5, f"Drawings, page {n} of {of}", SMALL, bold=True, anchor="end")
    x0, x1 = _EDGE_MM, _EDGE_MM + run
    top, bottom = _HEAD_MM - 6, height - 1
    if part == 0:
        picture.line(x0, top + 4.5, x0, bottom, 0.5)
        picture.text(x0, top + 3.4, "0: lay the plug's face on this line", SMALL, bold=True)
    else:
        _join_mark(picture, x0, top, bottom, _letter(part - 1), start, left=True)
    if part < parts - 1:
        _join_mark(picture, x1, top, bottom, _letter(part), end, left=False)
    picture.layer()
    for row, tail in enumerate(tails):
        _draw_tail(picture, tail, _HEAD_MM + row * row_mm, start, end, run)
    return picture.svg()


def _letter(at: int) -> str:
    """A, B … Z, AA, AB: the name of a join.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    name = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        name = chr(65 + rest) + name
    return name


def _join_mark(picture: Picture, x: float, top: float, bottom: float, letter: str, at_mm: float, *, left: bool) -> None:
    """A line over the height of the page with half an arrow on it: the halves of two pages make a whole one."""
    picture.path(line_path([(x, top + 4.5), (x, bottom)]), 0.25, dash="3 1.5")
    sign = -1 if left else 1
    for y in (top + 12, bottom - 12):
        half = [(x, y - 3), (x + sign * 4, y), (x, y + 3)]
        picture.path(line_path(half, closed=True), 0.35, fill=PAPER)
    words = f"Join {letter} at {number(at_mm)} mm"
    picture.text(x + (1 if left else -1), top + 3.4, words, SMALL, bold=True, anchor="start" if left else "end")


def _draw_tail(picture: Picture, tail: TailStrip, top: float, start: float, end: float, run: float) -> int:
    """The part of a tail from ``start`` to ``end``; how many lines of words stand under it."""

    def on_page(at_mm: float) -> float:
        return _EDGE_MM + min(max(at_mm, start), end) - start

    def here(at_mm: float) -> bool:
        return start <= at_mm <= end

    middle = top + 9.5
    if tail.length_mm <= start:
        return 1
    sizes = f"cut {number(tail.length_mm)} mm" + (f", bare {number(tail.strip_mm)} mm" if tail.strip_mm else "")
    more = "" if tail.length_mm <= end else ", goes on over the join"
    sizes_w = text_width(sizes + more, SMALL) + 3
    id_w = text_width(tail.id, STRONG, bold=True) + 2
    left = _EDGE_MM + 1.5
    picture.text(left, top + 4.6, tail.id, STRONG, bold=True)
    label = fit(tail.label, run - id_w - sizes_w - 4, WORD)
    picture.text(left + id_w, top + 4.6, label, WORD)
    picture.text(left + id_w + text_width(label, WORD) + 3, top + 4.6, sizes + more, SMALL)

    bare_from = tail.length_mm - (tail.strip_mm or 0)
    x1, x2 = on_page(start), on_page(min(bare_from, tail.length_mm))
    if x2 > x1:
        for edge in (-_WIRE_MM / 2, _WIRE_MM / 2):  # open at a join, so that it is not taken for an end
            picture.line(x1, middle + edge, x2, middle + edge, 0.35)
    if tail.strip_mm and tail.length_mm > start and bare_from < end:
        b1, b2 = on_page(bare_from), on_page(tail.length_mm)
        for offset in (-1.1, 0.0, 1.1):
            picture.line(b1, middle + offset, b2, middle + offset, 0.25)
        if here(bare_from):
            picture.line(b1, middle - 3, b1, middle + 3, 0.35)
    marks: list[tuple[float, str]] = []
    for joint in tail.joints_mm:
        if here(joint):
            x = on_page(joint)
            picture.path(
                line_path([(x, middle - 1.8), (x - 1.3, middle - 4.2), (x + 1.3, middle - 4.2)], closed=True),
                0,
                fill=INK,
            )
            marks.append((x, f"joint {number(joint)}"))
    if tail.sleeve is not None:
        s1, s2 = tail.sleeve.centre_mm - tail.sleeve.cut_mm / 2, tail.sleeve.centre_mm + tail.sleeve.cut_mm / 2
        if s2 > start and s1 < end:
            picture.path(rect_path(on_page(s1), middle - 3.2, on_page(s2) - on_page(s1), 6.4), 0.35, dash="1.5 1")
        if here(tail.sleeve.centre_mm):
            marks.append((on_page(tail.sleeve.centre_mm), f"{tail.sleeve.title}, cut {number(tail.sleeve.cut_mm)}"))
    if tail.label_mm is not None and here(tail.label_mm):
        x = on_page(tail.label_mm)
        picture.path(rect_path(x - 2, middle - _WIRE_MM / 2, 4, _WIRE_MM), 0.35, fill=SHADE)
        marks.append((x, f"label {number(tail.label_mm)}"))
    if here(tail.length_mm):
        x = on_page(tail.length_mm)
        picture.line(x, middle - 4.2, x, middle + 4.2, 0.7)
        marks.append((x, f"cut {number(tail.length_mm)}"))
    return _draw_marks(picture, marks, middle, _EDGE_MM + run)


def _draw_marks(picture: Picture, marks: Sequence[tuple[float, str]], middle: float, right: float) -> int:
    """Words under the wire, each at the first height where it touches no other and no line runs through any of them.

    Marks that fall on one place share a line to it. The number of heights used is given back, at least 1.
    """
    placed: list[tuple[float, float, float, int]] = []  # line, left and right end of the words, height
    for x, words in reversed(_shared(marks)):
        width = text_width(words, SMALL)
        left = min(x + 0.8, right - width)
        free = (n for n in range(_TIERS) if not _in_the_way(placed, x, left, left + width, n))
        tier = next(free, _TIERS - 1)
        placed.append((x, left, left + width, tier))
        y = middle + 6.8 + tier * _TIER_MM
        picture.line(x, middle + 2.4, x, y, 0.18)
        picture.text(left, y, words, SMALL)
    return 1 + max((tier for *_, tier in placed), default=0)


def _shared(marks: Sequence[tuple[float, str]]) -> list[tuple[float, str]]:
    out: list[tuple[float, str]] = []
    for x, words in sorted(marks, key=lambda mark: mark[0]):
        if out and x - out[-1][0] < 0.5:
            out[-1] = (out[-1][0], f"{out[-1][1]}, {words}")
        else:
            out.append((x, words))
    return out


def _in_the_way(
    placed: Sequence[tuple[float, float, float, int]], x: float, left: float, right: float, tier: int
) -> bool:
    """Whether words at this height would touch others, or a line would run through words on its way down."""
    for other_x, other_left, other_right, other_tier in placed:
        if other_tier == tier and left < other_right + 1.5 and right > other_left - 1.5:
            return True
        if other_tier > tier and left - 0.5 <= other_x <= right + 0.5:
            return True
        if other_tier < tier and other_left - 0.5 <= x <= other_right + 0.5:
            return True
    return False


def _tail_words(tail: TailStrip) -> str:
    parts = [f"{tail.id} {tail.label}: cut {number(tail.length_mm)} mm"]
    if tail.strip_mm:
        parts.append(f"bare {number(tail.strip_mm)} mm")
    parts += [f"joint at {number(joint)} mm" for joint in tail.joints_mm]
    if tail.sleeve:
        parts.append(
            f"{tail.sleeve.title} cut {number(tail.sleeve.cut_mm)} mm, middle at {number(tail.sleeve.centre_mm)} mm"
        )
    if tail.label_mm is not None:
        parts.append(f"label at {number(tail.label_mm)} mm")
    return ", ".join(parts) + "."
