"""Reads a picture back: its texts with their boxes, its strokes, and the rules every picture must meet."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from xml.etree import ElementTree as ET

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

ROOT = Path(__file__).resolve().parents[2]
FONTS = ROOT / "templates" / "fonts"
SVG = "{http://www.w3.org/2000/svg}"

# ISO 128-2 line series as restated in secondary text (thinnest two steps of the series and up); the standard itself not seen.
WIDTHS = {"0.18", "0.25", "0.35", "0.5", "0.7", "1"}
SMALLEST_MM = 9 * 25.4 / 72  # nothing under 9 pt (UKAAF and our own floor for tables and drawings)


@dataclass(frozen=True, kw_only=True)
class Word:
    text: str
    x1: float
    x2: float
    top: float
    bottom: float
    size: float
    bold: bool
    x: float
    y: float


@dataclass(frozen=True, kw_only=True)
class Stroke:
    d: str
    width: float
    fill: str
    dash: str


@lru_cache
def face(bold: bool, mono: bool) -> TTFont:
    return TTFont(FONTS / f"B612{'Mono' if mono else ''}-{'Bold' if bold else 'Regular'}.otf")


@cache
def advance_mm(text: str, size: float, bold: bool, mono: bool) -> float:
    """Width of a text by the bundled font file itself."""
    font = face(bold, mono)
    names, metrics = font.getBestCmap(), font["hmtx"]
    missing = [letter for letter in text if ord(letter) not in names]
    assert not missing, f"no glyph for {missing} in {text!r}"
    units: int = sum(metrics[names[ord(letter)]][0] for letter in text)
    return units / int(font["head"].unitsPerEm) * size


def root(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def words(svg: str) -> list[Word]:
    out: list[Word] = []
    _walk(root(svg), {}, out)
    return out


def _walk(node: ET.Element, given: dict[str, str], out: list[Word]) -> None:
    style = {
        **given,
        **{k: v for k, v in node.attrib.items() if k in ("font-size", "font-weight", "font-family", "text-anchor")},
    }
    if node.tag == f"{SVG}text":
        out.append(_word(node, style))
    for child in node:
        _walk(child, style, out)


def _word(node: ET.Element, style: dict[str, str]) -> Word:
    text, size = node.text or "", float(style["font-size"])
    bold, mono = style.get("font-weight") == "bold", style.get("font-family") == "B612 Mono"
    width = advance_mm(text, size, bold, mono)
    x, y = float(node.attrib["x"]), float(node.attrib["y"])
    left = {"start": x, "middle": x - width / 2, "end": x - width}[style.get("text-anchor", "start")]
    corners = [
        (left, y - 0.75 * size),
        (left + width, y - 0.75 * size),
        (left, y + 0.25 * size),
        (left + width, y + 0.25 * size),
    ]
    turned = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", node.attrib.get("transform", "rotate(0 0 0)"))
    assert turned, node.attrib
    angle, cx, cy = math.radians(float(turned[1])), float(turned[2]), float(turned[3])
    spun = [
        (
            cx + (a - cx) * math.cos(angle) - (b - cy) * math.sin(angle),
            cy + (a - cx) * math.sin(angle) + (b - cy) * math.cos(angle),
        )
        for a, b in corners
    ]
    return Word(
        text=text,
        x1=min(a for a, _ in spun),
        x2=max(a for a, _ in spun),
        top=min(b for _, b in spun),
        bottom=max(b for _, b in spun),
        size=size,
        bold=bold,
        x=x,
        y=y,
    )


def strokes(svg: str) -> list[Stroke]:
    return [
        Stroke(
            d=node.attrib["d"],
            width=float(node.attrib.get("stroke-width", "0")),
            fill=node.attrib.get("fill", ""),
            dash=node.attrib.get("stroke-dasharray", ""),
        )
        for node in root(svg).iter(f"{SVG}path")
    ]


_TOKEN = re.compile(r"([MLHVhvlqtaAQCZz])|(-?\d*\.?\d+)")


def points(d: str) -> Iterator[list[tuple[float, float]]]:
    """Subpaths as the points they go through (and the control points of curves, so that no curve passes for a straight line)."""
    tokens = _TOKEN.findall(d)
    at, x, y, command = 0, 0.0, 0.0, ""
    path: list[tuple[float, float]] = []

    def take(count: int) -> list[float]:
        nonlocal at
        values = [float(number) for _, number in tokens[at : at + count]]
        at += count
        return values

    while at < len(tokens):
        if tokens[at][0]:
            command = tokens[at][0]
            at += 1
        if command in "Zz":
            if path:
                path.append(path[0])
                x, y = path[0]
            continue
        if command == "M":
            if path:
                yield path
            x, y = take(2)
            path = [(x, y)]
            command = "L"
            continue
        match command:
            case "L":
                x, y = take(2)
            case "l" | "t":
                dx, dy = take(2)
                x, y = x + dx, y + dy
            case "H":
                (x,) = take(1)
            case "V":
                (y,) = take(1)
            case "h":
                x += take(1)[0]
            case "v":
                y += take(1)[0]
            case "q":
                cx, cy, dx, dy = take(4)
                path.append((x + cx, y + cy))
                x, y = x + dx, y + dy
            case "Q":
                cx, cy, x, y = take(4)
                path.append((cx, cy))
            case "C":
                ax, ay, bx, by, x, y = take(6)
                path.extend([(ax, ay + 0.01), (bx, by + 0.01)])
            case "A" | "a":
                radius, *_, ex, ey = take(7)
                end = (ex, ey) if command == "A" else (x + ex, y + ey)
                path.append(((x + end[0]) / 2 + 0.01, (y + end[1]) / 2 + (radius if abs(y - end[1]) < 0.001 else 0)))
                x, y = end
            case _:
                raise AssertionError(f"unknown path command {command!r}")
        path.append((x, y))
    if path:
        yield path


def boxes(d: str) -> list[tuple[float, float, float, float]]:
    """Rectangles of path data written as M x y h w v h: x, y, width, height."""
    found = re.findall(r"M(\S+) (\S+)h(-?[\d.]+)v(-?[\d.]+)h-?[\d.]+z", d)
    return [(float(x), float(y), float(w), float(h)) for x, y, w, h in found]


def straight(svg: str) -> Iterator[tuple[str, float, float, float, float]]:
    """Level and upright lines: direction, place across, from, to, width. Outlines of black areas are left out."""
    for stroke in strokes(svg):
        if stroke.width and stroke.fill != "#000":
            yield from straight_of(stroke)


def straight_of(stroke: Stroke) -> Iterator[tuple[str, float, float, float, float]]:
    for path in points(stroke.d):
        for (x1, y1), (x2, y2) in itertools.pairwise(path):
            if abs(y1 - y2) < 0.001 and abs(x1 - x2) > 0.001:
                yield "level", y1, min(x1, x2), max(x1, x2), stroke.width
            elif abs(x1 - x2) < 0.001 and abs(y1 - y2) > 0.001:
                yield "upright", x1, min(y1, y2), max(y1, y2), stroke.width


def _seen(svg: str) -> Iterator[tuple[str, float, float, float, float]]:
    """The parts of level and upright lines that no later filled shape covers (a shape counts as its box)."""
    every = strokes(svg)
    covers = [
        (n, min(x for x, _ in path), min(y for _, y in path), max(x for x, _ in path), max(y for _, y in path))
        for n, stroke in enumerate(every)
        if stroke.fill not in ("none", "")
        for path in points(stroke.d)
    ]
    for n, stroke in enumerate(every):
        if not stroke.width or stroke.fill == "#000":
            continue
        for way, across, start, end, width in straight_of(stroke):
            spans = [(start, end)]
            for later, x1, y1, x2, y2 in covers:
                low, high, from_, to = (y1, y2, x1, x2) if way == "level" else (x1, x2, y1, y2)
                if later > n and low + 0.05 < across < high - 0.05:
                    spans = [
                        part
                        for a, b in spans
                        for part in ((a, min(b, from_)), (max(a, to), b))
                        if part[1] - part[0] > 0.05
                    ]
            yield from ((way, across, a, b, width) for a, b in spans)


def too_close(svg: str, least: float = 0.7) -> list[str]:
    """Pairs of parallel lines with less paper between them than ``least``; lines that lie on each other are one line."""
    found = []
    every = sorted(set(_seen(svg)))
    for n, (way, across, start, end, width) in enumerate(every):
        for other_way, other, other_start, other_end, other_width in every[n + 1 :]:
            if other_way != way or other - across > least + 1.0:
                break
            together = min(end, other_end) - max(start, other_start)
            paper = other - across - (width + other_width) / 2
            if together > 0.05 and other - across > 0.26 and paper < least - 0.03:
                found.append(f"{way} at {across:g} and {other:g}: {paper:.2f} mm over {together:.1f} mm")
    return found


def assert_well_made(svg: str) -> None:
    """The rules every picture meets: said in words, sized in mm, few line widths, legible text inside the picture."""
    top = root(svg)
    assert top.tag == f"{SVG}svg" and top.attrib["role"] == "img"
    title, desc = top.find(f"{SVG}title"), top.find(f"{SVG}desc")
    assert title is not None and (title.text or "").strip()
    assert desc is not None and len((desc.text or "").strip()) > 10
    assert top.attrib["aria-labelledby"] == title.attrib["id"] and top.attrib["aria-describedby"] == desc.attrib["id"]
    ids = [node.attrib["id"] for node in top.iter() if "id" in node.attrib]
    assert len(ids) == len(set(ids))
    left, up, width, height = map(float, top.attrib["viewBox"].split())
    assert (left, up) == (0, 0)
    assert top.attrib["width"] == f"{top.attrib['viewBox'].split()[2]}mm"
    assert top.attrib["height"] == f"{top.attrib['viewBox'].split()[3]}mm"
    for node in top.iter():
        if "stroke-width" in node.attrib:
            assert node.attrib["stroke-width"] in WIDTHS, node.attrib["stroke-width"]
    for word in words(svg):
        assert word.size >= SMALLEST_MM, word
        assert word.x1 >= -0.01 and word.x2 <= width + 0.01, (
            f"{word.text!r} runs from {word.x1:.2f} to {word.x2:.2f} of {width}"
        )
        assert word.top >= -0.3 and word.bottom <= height + 0.3, (
            f"{word.text!r} at {word.top:.2f} to {word.bottom:.2f} of {height}"
        )
    for stroke in strokes(svg):
        for path in points(stroke.d):
            for x, y in path:
                assert -0.01 <= x <= width + 0.01 and -0.01 <= y <= height + 0.01, (
                    f"({x}, {y}) outside {width} by {height}"
                )


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Pairs of texts that lie over each other."""
    found = []
    every = words(svg)
    for n, a in enumerate(every):
        for b in every[n + 1 :]:
            wide = min(a.x2, b.x2) - max(a.x1, b.x1)
            # capitals and x-heights may not touch; a descender may reach into the space above the next line's capitals
            tall = min(a.bottom - 0.25 * a.size, b.bottom - 0.25 * b.size) - max(a.top, b.top)
            if wide > 0.2 and tall > 0.2:
                found.append((a.text, b.text))
    return found
