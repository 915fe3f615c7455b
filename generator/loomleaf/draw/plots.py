"""Line and bar plots in black: lines are told apart by dash and by a label at the line's end, never by colour.

A light grid, units on both axes, the source under the plot, and the data in words for those who do not see it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

from ..figure import number as shown
from .letters import text_width, wrap
from .svg import PAPER, SHADE, SMALL, WORD, Picture, line_path, rect_path

DASHES = ("", "4 1.5", "1.2 1.2", "6 1.5 1.2 1.5", "2.5 1.2", "8 2", "6 1.2 1.2 1.2 1.2 1.2")
"""Dash of each line in turn; the first is full."""

_GRID = "#b8b8b8"
_LABEL_GAP_MM = SMALL * 1.25


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line: what it is called and its points (x, y) in the axes' units, in order of x."""

    label: str
    points: tuple[tuple[float, float], ...]
    marks: bool = False  # a dot on every point, for measured or tabulated values


@dataclass(frozen=True, kw_only=True)
class Axis:
    """What an axis shows, its unit ("" for none), and its ends (None: chosen from the data)."""

    words: str
    unit: str = ""
    log: bool = False
    low: float | None = None
    high: float | None = None

    @property
    def title(self) -> str:
        return f"{self.words}, {self.unit}" if self.unit else self.words


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One bar: its label and value; ``note`` is said after the value."""

    label: str
    value: float
    note: str = ""


def nice_ticks(low: float, high: float, wanted: int = 6) -> list[float]:
    """Round numbers from at or below ``low`` to at or above ``high``, in steps of 1, 2, 2.5 or 5 times a power of ten.

    >>> nice_ticks(0, 9.3)
    [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    """
    span = high - low if high > low else (abs(high) or 1.0)
    rough = span / max(wanted - 1, 1)
    power = 10.0 ** floor(log10(rough))
    step = next(power * factor for factor in (1, 2, 2.5, 5, 10) if power * factor >= rough * 0.999)
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return [round(step * n, 10) for n in range(first, max(last, first + 1) + 1)]


def log_ticks(low: float, high: float) -> list[float]:
    """Powers of ten around the data, with 2 and 5 between them when there are few.

    >>> log_ticks(1, 100)
    [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
    """
    if low <= 0:
        raise ValueError(f"a logarithmic axis needs values above 0, not {low}")
    first, last = floor(log10(low) + 1e-9), ceil(log10(high) - 1e-9)
    last = max(last, first + 1)
    factors = (1, 2, 5) if last - first <= 2 else (1,)
    ticks = [factor * 10.0**n for n in range(first, last + 1) for factor in factors]
    inside = [tick for tick in ticks if tick <= 10.0**last * 1.0001]
    below = max((tick for tick in inside if tick <= low * 1.0001), default=inside[0])
    above = min((tick for tick in inside if tick >= high * 0.9999), default=inside[-1])
    return [tick for tick in inside if below <= tick <= above]


class _Scale:
    """From a value to a place on paper."""

    def __init__(self, axis: Axis, values: Sequence[float], start: float, end: float) -> None:
        low = axis.low if axis.low is not None else min(values)
        high = axis.high if axis.high is not None else max(values)
        if not axis.log and axis.low is None and 0 < low < high * 0.4:
            low = 0.0
        self.log = axis.log
        self.ticks = log_ticks(low, high) if axis.log else nice_ticks(low, high)
        self.low, self.high = self.ticks[0], self.ticks[-1]
        self.start, self.end = start, end

    def __call__(self, value: float) -> float:
        if self.log:
            part = (log10(value) - log10(self.low)) / (log10(self.high) - log10(self.low))
        else:
            part = (value - self.low) / (self.high - self.low)
        return self.start + part * (self.end - self.start)

    def holds(self, value: float) -> bool:
        slack = 1e-9 * max(abs(self.low), abs(self.high))
        return self.low - slack <= value <= self.high + slack


def line_plot(
    *,
    title: str,
    x: Axis,
    y: Axis,
    lines: Sequence[Line],
    source: str,
    width_mm: float = 150,
    height_mm: float = 90,
    key: str = "",
) -> str:
    """A line plot. ``source`` says where the data come from and is printed under the plot. Points outside the axes are
    left out; a logarithmic axis needs values above 0."""
    if not lines or any(len(line.points) < 2 for line in lines):
        raise ValueError("a line plot needs at least one line, and two points for each")
    if len(lines) > len(DASHES):
        raise ValueError(f"{len(lines)} lines cannot be told apart by dash; at most {len(DASHES)}")
    xs = [point[0] for line in lines for point in line.points]
    ys = [point[1] for line in lines for point in line.points]
    if not all(isfinite(value) for value in (*xs, *ys)):
        raise ValueError("a plot needs finite numbers")
    label_w = min(max(text_width(line.label, SMALL) for line in lines), width_mm * 0.3)
    labels = [wrap(line.label, label_w + 0.01, SMALL, lines=2) for line in lines]
    probe = _Scale(y, ys, 0, 1)
    tick_w = max(text_width(shown(tick), SMALL) for tick in probe.ticks)
    source_lines = wrap(f"Source: {source}", width_mm - 1, SMALL)
    left, right = tick_w + 2.4, width_mm - label_w - 3.2
    top = WORD * 1.9 + (SMALL * 1.7)
    bottom = height_mm - len(source_lines) * SMALL * 1.3 - SMALL * 3.6
    along, up = _Scale(x, xs, left, right), _Scale(y, ys, bottom, top)
    picture = Picture(
        title=title, desc=_plot_words(title, x, y, lines, source), width_mm=width_mm, height_mm=height_mm, key=key
    )
    picture.text(0, WORD, title, WORD, bold=True)
    picture.text(0, WORD * 1.9 + SMALL * 0.6, y.title, SMALL)
    _grid(picture, along, up)
    picture.text(right, bottom + SMALL * 2.9, x.title, SMALL, anchor="end")
    picture.layer()
    ends: list[tuple[float, float]] = []
    for line, dash in zip(lines, DASHES, strict=False):
        inside = [(along(a), up(b)) for a, b in line.points if along.holds(a) and up.holds(b)]
        if len(inside) >= 2:
            picture.path(line_path(inside), 0.5, dash=dash, round_cap=False)
        ends.append(inside[-1] if inside else (right, top))
    picture.layer()
    for line in lines:
        for a, b in line.points if line.marks else ():
            if along.holds(a) and up.holds(b):
                picture.circle(along(a), up(b), 0.8, 0.35, fill=PAPER)
    for (end_x, end_y), label, at in zip(ends, labels, _spread_labels(ends, labels, top, bottom), strict=True):
        if abs(at - end_y) > 0.8 or right - end_x > 1:
            picture.line(end_x + 0.6, end_y, right + 1.6, at, 0.18)
        first = at + SMALL * 0.375 - (len(label) - 1) * SMALL * 0.6
        picture.paragraph(right + 2.4, first, label, SMALL, leading=1.2)
    picture.paragraph(0, height_mm - (len(source_lines) - 1) * SMALL * 1.3 - 1, source_lines, SMALL)
    return picture.svg()


def _grid(picture: Picture, along: _Scale, up: _Scale) -> None:
    for tick in along.ticks:
        picture.path(line_path([(along(tick), up.start), (along(tick), up.end)]), 0.18, colour=_GRID)
    for tick in up.ticks:
        picture.path(line_path([(along.start, up(tick)), (along.end, up(tick))]), 0.18, colour=_GRID)
        picture.text(along.start - 1.4, up(tick) + SMALL * 0.375, shown(tick), SMALL, anchor="end")
    last = -100.0
    for tick in along.ticks:
        half = text_width(shown(tick), SMALL) / 2
        if along(tick) - half >= last + 1.2:
            picture.text(along(tick), up.start + SMALL * 1.35, shown(tick), SMALL, anchor="middle")
            last = along(tick) + half
    picture.lines([(along.start, up.end), (along.start, up.start), (along.end, up.start)], 0.35)


def _spread_labels(
    ends: Sequence[tuple[float, float]], labels: Sequence[Sequence[str]], top: float, bottom: float
) -> list[float]:
    """Heights of the labels, each as near its line's end as it goes without touching the next."""
    order = sorted(range(len(ends)), key=lambda n: (ends[n][1], n))
    heights = [len(label) * _LABEL_GAP_MM for label in labels]
    at = dict.fromkeys(order, 0.0)
    low = top - 2
    for n in order:
        at[n] = max(ends[n][1], low + heights[n] / 2)
        low = at[n] + heights[n] / 2
    high = bottom + 2
    for n in reversed(order):
        at[n] = min(at[n], high - heights[n] / 2)
        high = at[n] - heights[n] / 2
    return [at[n] for n in range(len(ends))]


def _plot_words(title: str, x: Axis, y: Axis, lines: Sequence[Line], source: str) -> str:
    says = [f"{title}. {y.title} against {x.title}."]
    for line in lines:
        points = line.points
        if len(points) > 12:
            step = (len(points) - 1) / 11
            points = tuple(points[round(n * step)] for n in range(12))
        says.append(f"{line.label}: " + "; ".join(f"{shown(a)} gives {shown(b)}" for a, b in points) + ".")
    return " ".join([*says, f"Source: {source}."])


def bar_plot(
    *,
    title: str,
    axis: Axis,
    bars: Sequence[Bar],
    source: str,
    limit: tuple[float, str] | None = None,
    width_mm: float = 150,
    key: str = "",
) -> str:
    """Lying bars with their values written beside them. ``limit`` draws a line across with its words."""
    if not bars:
        raise ValueError("a bar plot needs at least one bar")
    if axis.log:
        raise ValueError("bars begin at 0: a logarithmic axis has none")
    if min(bar.value for bar in bars) < 0:
        raise ValueError("bars show amounts: a value below 0 cannot be drawn")
    label_w = min(max(text_width(bar.label, SMALL) for bar in bars), width_mm * 0.35)
    labels = [wrap(bar.label, label_w + 0.01, SMALL, lines=2) for bar in bars]
    row = 2 * SMALL * 1.2 + 1 if any(len(label) > 1 for label in labels) else 6.0
    value_words = [f"{shown(bar.value)} {axis.unit}".strip() + (f", {bar.note}" if bar.note else "") for bar in bars]
    value_w = max(text_width(words, SMALL) for words in value_words) + 2
    left = label_w + 2
    right = width_mm - value_w - 1
    top = WORD * 1.9 + (SMALL * 1.5 if limit else 0)
    bottom = top + row * len(bars) + 1
    source_lines = wrap(f"Source: {source}", width_mm - 1, SMALL)
    height = bottom + SMALL * 3.4 + len(source_lines) * SMALL * 1.3 + 1
    values = [0.0, *(bar.value for bar in bars), *([limit[0]] if limit else [])]
    along = _Scale(Axis(words=axis.words, unit=axis.unit, low=axis.low or 0.0, high=axis.high), values, left, right)
    says = [f"{title}. {axis.title}."]
    says += [f"{bar.label}: {words}." for bar, words in zip(bars, value_words, strict=True)]
    says += [f"Limit {shown(limit[0])} {axis.unit}: {limit[1]}."] if limit else []
    picture = Picture(
        title=title, desc=" ".join([*says, f"Source: {source}."]), width_mm=width_mm, height_mm=height, key=key
    )
    picture.text(0, WORD, title, WORD, bold=True)
    for tick in along.ticks:
        picture.path(line_path([(along(tick), top), (along(tick), bottom)]), 0.18, colour=_GRID)
        picture.text(along(tick), bottom + SMALL * 1.2, shown(tick), SMALL, anchor="middle")
    picture.text(right, bottom + SMALL * 2.5, axis.title, SMALL, anchor="end")
    picture.layer()
    for n, (bar, label, words) in enumerate(zip(bars, labels, value_words, strict=True)):
        middle = top + row * (n + 0.5)
        end = along(bar.value)
        picture.path(rect_path(left, middle - 1.8, max(end - left, 0.01), 3.6), 0.35, fill=SHADE)
        first = middle + SMALL * 0.375 - (len(label) - 1) * SMALL * 0.6
        picture.paragraph(left - 1.4, first, label, SMALL, anchor="end", leading=1.2)
        over = limit is not None and along(limit[0]) > end and end + 1 + text_width(words, SMALL) > along(limit[0])
        x = max(end, along(limit[0]) if over and limit else end) + 1.2
        picture.rect(x - 0.4, middle - 2, text_width(words, SMALL) + 0.8, 4, 0, fill=PAPER)
        picture.text(x, middle + SMALL * 0.375, words, SMALL)
    picture.layer()
    picture.line(left, top, left, bottom, 0.35)
    if limit:
        at = along(limit[0])
        picture.line(at, top - 1, at, bottom, 0.7, dash="3 1.2")
        width = text_width(limit[1], SMALL)
        picture.text(min(max(at - width / 2, 0), width_mm - width), top - 2, limit[1], SMALL)
    picture.paragraph(0, height - (len(source_lines) - 1) * SMALL * 1.3 - 1, source_lines, SMALL)
    return picture.svg()


__all__ = ["DASHES", "Axis", "Bar", "Line", "bar_plot", "line_plot", "log_ticks", "nice_ticks"]
