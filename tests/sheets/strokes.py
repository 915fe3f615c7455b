"""Straight strokes of a PDF page in millimetres, read from its drawing operations: what a ruler would find on paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any

MM = 25.4 / 72

Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """From (x1, y1) to (x2, y2), measured from the lower left corner of the page; ``width`` of the pen."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float

    @property
    def upright(self) -> bool:
        return abs(self.x1 - self.x2) < 0.01

    @property
    def level(self) -> bool:
        return abs(self.y1 - self.y2) < 0.01

    @property
    def length(self) -> float:
        return hypot(self.x1 - self.x2, self.y1 - self.y2)

    @property
    def left(self) -> float:
        return min(self.x1, self.x2)

    @property
    def bottom(self) -> float:
        return min(self.y1, self.y2)


def _times(a: Matrix, b: Matrix) -> Matrix:
    """``a`` applied before ``b`` (ISO 32000-1, 8.3.4)."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def strokes(operations: Sequence[tuple[Any, bytes]]) -> Iterator[Stroke]:
    """Every straight stroke that is drawn, rectangles as four."""
    now: Matrix = (1, 0, 0, 1, 0, 0)
    pen = 1.0
    kept: list[tuple[Matrix, float]] = []
    path: list[tuple[tuple[float, float], tuple[float, float]]] = []
    at = begin = (0.0, 0.0)
    for operands, operator in operations:
        if operator == b"q":
            kept.append((now, pen))
        elif operator == b"Q":
            now, pen = kept.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(x) for x in operands)
            now = _times((a, b, c, d, e, f), now)
        elif operator == b"w":
            pen = float(operands[0])
        elif operator == b"m":
            at = begin = _point(operands, now)
        elif operator == b"l":
            to = _point(operands, now)
            path.append((at, to))
            at = to
        elif operator == b"h":
            path.append((at, begin))
            at = begin
        elif operator == b"re":
            x, y, width, height = (float(v) for v in operands)
            corners = [_point(p, now) for p in ((x, y), (x + width, y), (x + width, y + height), (x, y + height))]
            path += [(corners[i], corners[(i + 1) % 4]) for i in range(4)]
        elif operator in (b"S", b"s", b"B", b"b", b"B*", b"b*"):
            scale = abs(now[0] * now[3] - now[1] * now[2]) ** 0.5
            for one, two in path:
                yield Stroke(x1=one[0] * MM, y1=one[1] * MM, x2=two[0] * MM, y2=two[1] * MM, width=pen * scale * MM)
            path = []
        elif operator in (b"n", b"f", b"F", b"f*"):
            path = []


def _point(operands: Sequence[Any], now: Matrix) -> tuple[float, float]:
    x, y = float(operands[0]), float(operands[1])
    return now[0] * x + now[2] * y + now[4], now[1] * x + now[3] * y + now[5]


def bars(found: Sequence[Stroke]) -> list[float]:
    """Lengths of the measuring bars: a level line of 0.7 mm between two upright end lines 9 mm tall, middle to middle."""
    ends = [s for s in found if s.upright and abs(s.length - 9) < 0.01]
    out = []
    for line in found:
        if not (line.level and abs(line.width - 0.7) < 0.01 and line.length > 50):
            continue
        touching = [e for e in ends if e.bottom < line.y1 < e.bottom + e.length]
        left = [e.x1 for e in touching if abs(e.x1 - line.left) < 0.01]
        right = [e.x1 for e in touching if abs(e.x1 - line.left - line.length) < 0.01]
        if left and right:
            out.append(right[0] - left[0])
    return out
