"""A small builder for pictures in millimetres: one unit is 1 mm, black first, real text, few elements.

Strokes of one style that are drawn one after the other inside a layer become one path, so a picture of many lines
stays small. Every picture says what it shows in a title and a description.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape
from zlib import crc32

from .letters import CAP_HEIGHT, text_width

LINE_WIDTHS = (0.18, 0.25, 0.35, 0.5, 0.7, 1.0)
"""The only line widths, mm (the ISO 128 series, seen in secondary text)."""

INK = "#000"
PAPER = "#fff"
SHADE = "#d9d9d9"

SMALL = 3.2  # 9 pt
WORD = 3.55  # 10 pt
STRONG = 4.25  # 12 pt: ways, circuit numbers, limits

Point = tuple[float, float]

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """A coordinate with at most two decimals and no idle zeros.

    >>> number(12.0), number(0.126), number(-0.001)
    ('12', '0.13', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def safe_key(text: str) -> str:
    """``text`` as the beginning of an id: letters, digits and hyphens, a letter first.

    >>> safe_key("A.4 / loom")
    'p-A-4-loom'
    """
    return "p-" + re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-")


def line_path(points: Sequence[Point], *, closed: bool = False) -> str:
    """Path data through the points."""
    head, *rest = points
    out = f"M{number(head[0])} {number(head[1])}" + "".join(f"L{number(x)} {number(y)}" for x, y in rest)
    return out + "Z" if closed else out


def rect_path(x: float, y: float, width: float, height: float) -> str:
    return f"M{number(x)} {number(y)}h{number(width)}v{number(height)}h{number(-width)}z"


def circle_path(x: float, y: float, radius: float) -> str:
    r, d = number(radius), number(2 * radius)
    return f"M{number(x - radius)} {number(y)}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 {number(-2 * radius)} 0z"


class _Layer:
    """Paths by style in the order in which each style was first used, and texts, which lie on top of them."""

    def __init__(self) -> None:
        self.paths: dict[str, list[str]] = {}
        self.texts: dict[str, list[str]] = {}

    def lines(self) -> Iterable[str]:
        for style, parts in self.paths.items():
            yield f'<path {style} d="{"".join(parts)}"/>'
        for style, words in self.texts.items():
            if len(words) == 1:
                yield words[0].replace("<text", f"<text{style}", 1)
            else:
                yield f"<g{style}>{''.join(words)}</g>" if style else "".join(words)


class Picture:
    """A picture being drawn. ``key`` begins its ids; empty, it is worked out from what is drawn."""

    def __init__(self, *, title: str, desc: str, width_mm: float, height_mm: float, key: str = "") -> None:
        self.title = title
        self.desc = desc
        self.width_mm = width_mm
        self.height_mm = height_mm
        self.key = key
        self._layers = [_Layer()]

    def layer(self) -> None:
        """What is drawn from here on lies above what was drawn before."""
        self._layers.append(_Layer())

    def path(
        self,
        d: str,
        width: float = 0.35,
        *,
        dash: str = "",
        fill: str = "none",
        colour: str = INK,
        round_cap: bool = False,
    ) -> None:
        """Stroke (and fill) path data. ``width`` 0 fills only."""
        if width == 0:
            style = f'fill="{fill}"'
        else:
            if width not in LINE_WIDTHS:
                raise ValueError(f"{width} mm is not one of the line widths {LINE_WIDTHS}")
            style = f'fill="{fill}" stroke="{colour}" stroke-width="{number(width)}"'
            style += f' stroke-dasharray="{dash}"' if dash else ""
            style += ' stroke-linecap="round" stroke-linejoin="round"' if round_cap else ""
        self._layers[-1].paths.setdefault(style, []).append(d)

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.35, *, dash: str = "") -> None:
        self.path(line_path([(x1, y1), (x2, y2)]), width, dash=dash)

    def lines(
        self, points: Sequence[Point], width: float = 0.35, *, dash: str = "", closed: bool = False, fill: str = "none"
    ) -> None:
        self.path(line_path(points, closed=closed), width, dash=dash, fill=fill)

    def rect(
        self,
        x: float,
        y: float,
        width_mm: float,
        height_mm: float,
        width: float = 0.35,
        *,
        fill: str = "none",
        dash: str = "",
    ) -> None:
        self.path(rect_path(x, y, width_mm, height_mm), width, fill=fill, dash=dash)

    def circle(self, x: float, y: float, radius: float, width: float = 0.35, *, fill: str = "none") -> None:
        self.path(circle_path(x, y, radius), width, fill=fill)

    def dot(self, x: float, y: float, radius: float = 0.9) -> None:
        """A joint's dot: lines that meet here are joined."""
        self.path(circle_path(x, y, radius), 0, fill=INK)

    def arrow(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.35, *, head: float = 2.0) -> None:
        """A line with a filled head at its second end."""
        length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 1e-9)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        back_x, back_y = x2 - ux * head, y2 - uy * head
        half = head * 0.32
        self.line(x1, y1, back_x, back_y, width)
        corners = [(x2, y2), (back_x - uy * half, back_y + ux * half), (back_x + uy * half, back_y - ux * half)]
        self.path(line_path(corners, closed=True), 0, fill=INK)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = SMALL,
        *,
        anchor: str = "start",
        bold: bool = False,
        mono: bool = False,
        turn: float = 0,
    ) -> None:
        """One line of text with its baseline at ``y``; ``anchor`` is start, middle or end. Empty text draws nothing."""
        if not words:
            return
        style = f' font-size="{number(size)}"'
        style += ' font-weight="bold"' if bold else ""
        style += ' font-family="B612 Mono"' if mono else ""
        style += f' text-anchor="{anchor}"' if anchor != "start" else ""
        turned = f' transform="rotate({number(turn)} {number(x)} {number(y)})"' if turn else ""
        self._layers[-1].texts.setdefault(style, []).append(
            f'<text x="{number(x)}" y="{number(y)}"{turned}>{_escaped(words)}</text>'
        )

    def centred(
        self, x: float, y: float, words: str, size: float = SMALL, *, bold: bool = False, mono: bool = False
    ) -> None:
        """Text whose capitals are centred on (x, y)."""
        self.text(x, y + size * CAP_HEIGHT / 2, words, size, anchor="middle", bold=bold, mono=mono)

    def paragraph(
        self,
        x: float,
        y: float,
        lines: Sequence[str],
        size: float = SMALL,
        *,
        anchor: str = "start",
        bold: bool = False,
        leading: float = 1.3,
    ) -> float:
        """Several lines from baseline ``y`` downwards; gives the baseline after the last one."""
        for line in lines:
            self.text(x, y, line, size, anchor=anchor, bold=bold)
            y += size * leading
        return y

    def tag(self, x: float, y: float, words: str, size: float = SMALL, *, bold: bool = False) -> None:
        """Text centred on (x, y) over a patch of paper: a label on a line. Draw it in a later layer than the line."""
        width = text_width(words, size, bold=bold) + 1.2
        self.rect(x - width / 2, y - size * 0.6, width, size * 1.2, 0, fill=PAPER)
        self.centred(x, y, words, size, bold=bold)

    def svg(self) -> str:
        """The finished picture."""
        body = "\n".join(line for layer in self._layers for line in layer.lines())
        whole = "\n".join([self.title, self.desc, number(self.width_mm), number(self.height_mm), body])
        key = safe_key(self.key) if self.key else f"p{crc32(whole.encode()):08x}"
        width, height = number(self.width_mm), number(self.height_mm)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
            f' viewBox="0 0 {width} {height}" role="img"'
            f' aria-labelledby="{key}-title" aria-describedby="{key}-desc" font-family="B612" fill="{INK}">\n'
            f'<title id="{key}-title">{_escaped(self.title)}</title>\n'
            f'<desc id="{key}-desc">{_escaped(self.desc)}</desc>\n'
            f"{body}\n</svg>\n"
        )


def _escaped(text: str) -> str:
    return escape(_NOT_XML.sub("", text))
