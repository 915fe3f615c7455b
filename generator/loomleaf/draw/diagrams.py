"""Diagrams that teach: how the parts of a swap hang together, what a joint in the wrong place does, where to measure.

Each is drawn in black on a sheet 120 mm wide, with the words that a reader needs inside it and a description for those
who do not see it. No value is printed here that the handbook would have to prove.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp

from .svg import PAPER, SHADE, SMALL, STRONG, Picture, circle_path, line_path, rect_path

WIDTH_MM = 120.0


@dataclass(frozen=True, kw_only=True)
class Diagram:
    """A diagram: its title, what it shows in words, its height, and how it is drawn."""

    title: str
    words: str
    height: float
    draw: Callable[[Picture], None]


# Parts that several diagrams share


def _box(p: Picture, x: float, y: float, width: float, height: float, *words: str, bold: bool = False) -> None:
    p.path(rect_path(x, y, width, height), 0.5, fill=PAPER)
    top = y + height / 2 - (len(words) - 1) * SMALL * 0.65
    for n, line in enumerate(words):
        p.centred(x + width / 2, top + n * SMALL * 1.3, line, SMALL, bold=bold)


def _ground(p: Picture, x: float, y: float) -> None:
    p.line(x, y, x, y + 3, 0.5)
    for n, half in enumerate((3.4, 2.2, 1.0)):
        p.line(x - half, y + 3 + n * 1.3, x + half, y + 3 + n * 1.3, 0.5)


def _speaker(p: Picture, x: float, y: float) -> None:
    p.path(rect_path(x, y - 2.6, 3.4, 5.2), 0.5, fill=PAPER)
    cone = [(x + 3.4, y - 2.6), (x + 8, y - 6.4), (x + 8, y + 6.4), (x + 3.4, y + 2.6)]
    p.path(line_path(cone, closed=True), 0.5, fill=PAPER)


def _resistor(p: Picture, x: float, y: float, *words: str, standing: bool = True) -> None:
    """A resistor centred on (x, y), with its words at the right of a standing one or above a lying one."""
    width, height = (4.0, 10.0) if standing else (10.0, 4.0)
    p.path(rect_path(x - width / 2, y - height / 2, width, height), 0.5, fill=PAPER)
    for n, line in enumerate(words):
        if standing:
            p.text(x + 3.4, y + 1.2 + n * 4, line, SMALL)
        else:
            p.text(x, y - 3.6 + n * 4, line, SMALL, anchor="middle")


def _cross(p: Picture, x: float, y: float, half: float = 4.0) -> None:
    p.layer()
    p.line(x - half, y - half, x + half, y + half, 1.0)
    p.line(x + half, y - half, x - half, y + half, 1.0)


def _joint(p: Picture, x: float, y: float) -> None:
    p.path(rect_path(x - 3.2, y - 1.6, 6.4, 3.2), 0.5, fill=SHADE)


def _bundle(p: Picture, x1: float, x2: float, y: float, wires: int, gap: float = 3.0) -> list[float]:
    """Wires side by side; gives the height of each."""
    heights = [y + n * gap for n in range(wires)]
    for at in heights:
        p.line(x1, at, x2, at, 0.5)
    return heights


# How a swap hangs together


def _swap(p: Picture) -> None:
    p.text(1, 4, "what the vehicle leaves", SMALL)
    p.text(59, 4, "what you make", SMALL, anchor="middle")
    p.text(119, 4, "what you fit", SMALL, anchor="end")
    _bundle(p, 17, 101, 14, 4, 4)
    p.layer()
    _box(p, 1, 9, 16, 22, "plug in", "the dash")
    _box(p, 23, 9, 16, 22, "adapter")
    for n, x in enumerate((52, 60, 68, 60)):
        _joint(p, x, 14 + n * 4)
    _box(p, 81, 9, 14, 22, "radio", "plug")
    _box(p, 101, 9, 18, 22, "radio")
    p.arrow(60, 38, 60, 29.5, 0.35)
    p.text(60, 42, "joints: every wire of one lead meets the right wire of the other", SMALL, anchor="middle")


def _adapters(p: Picture) -> None:
    rows: Sequence[tuple[str, tuple[str, ...], bool, bool]] = (
        ("plain", ("wire", "only"), False, False),
        ("active", ("changes", "signals"), True, False),
        ("data", ("reads", "messages"), True, True),
    )
    for n, (name, words, fed, data) in enumerate(rows):
        y = 3 + n * 27
        p.text(1, y + 10, name, STRONG, bold=True)
        if name == "plain":
            for at in (y + 4, y + 8, y + 12):
                p.line(38, at, 103, at, 0.5)
            p.text(70, y + 18, "each way to one tail, nothing between", SMALL, anchor="middle")
        else:
            p.line(38, y + 5, 103, y + 5, 0.5)
            if data:
                for at in range(6):
                    p.path(f"M{38 + at * 3.5} {y + 11}q1.75 -3 3.5 0M{38 + at * 3.5} {y + 11}q1.75 3 3.5 0", 0.35)
            else:
                p.line(38, y + 11, 59, y + 11, 0.5)
            p.line(83, y + 11, 103, y + 11, 0.5)
            p.layer()
            _box(p, 59, y + 1, 24, 14, *words)
        p.layer()
        _box(p, 20, y + 1, 18, 14, "vehicle")
        _box(p, 103, y + 1, 16, 14, "radio")
        if fed:
            p.line(66, y + 15, 66, y + 19, 0.5)
            p.line(76, y + 15, 76, y + 18, 0.5)
            p.text(66, y + 23, "supply", SMALL, anchor="end")
            _ground(p, 76, y + 17)
        if data:
            p.text(20, y + 22, "twisted pair", SMALL)
            p.text(119, y + 22, "key on, reverse …", SMALL, anchor="end")


def _feed(p: Picture) -> None:
    """The chain of a feed with numbered places to measure, the middle one first."""
    parts = (("battery",), ("fuse",), ("dash", "plug"), ("joint",), ("radio", "plug"), ("radio",))
    step = 20.0
    p.line(10, 12, 110, 12, 0.7)
    p.layer()
    for n, words in enumerate(parts):
        _box(p, 1 + n * step, 6, 15, 12, *words)
    p.lines([(108.5, 18), (108.5, 24)], 0.7)
    _ground(p, 108.5, 23)
    p.lines([(8.5, 18), (8.5, 24)], 0.7)
    _ground(p, 8.5, 23)
    for x, place, said in ((58.5, "1", "measure here first"), (38.5, "2", ""), (78.5, "2", ""), (98.5, "3", "")):
        p.arrow(x, 27, x, 13.2, 0.35)
        p.path(circle_path(x, 30, 2.8), 0.35, fill=PAPER)
        p.centred(x, 30, place, SMALL, bold=True)
        p.text(x, 37.4, said, SMALL, anchor="middle")
    p.text(58.5, 42, "volts there: go right. No volts: go left.", SMALL, anchor="middle")


def _states(p: Picture) -> None:
    """When four supplies are live, from asleep to the night after, as bands."""
    stages = ("asleep", "accessory", "key on", "cranking", "key out", "asleep")
    left, step = 33.0, 14.4
    for n, stage in enumerate(stages):
        p.text(left + (n + 0.5) * step, 4, stage, SMALL, anchor="middle")
        p.line(left + n * step, 6, left + n * step, 48, 0.18, dash="1 1")
    rows: Sequence[tuple[str, tuple[float, ...]]] = (
        ("constant", (1, 1, 1, 0.7, 1, 1)),
        ("switched", (0, 1, 1, 0.3, 0, 0)),
        ("retained", (0, 1, 1, 0.3, 1, 0)),
        ("lights on", (0, 0, 1, 0.3, 0, 0)),
    )
    for row, (name, levels) in enumerate(rows):
        base = 15.5 + row * 10.5
        p.text(1, base, name, SMALL, bold=True)
        p.line(left, base, left + 6 * step, base, 0.18)
        points = []
        for n, level in enumerate(levels):
            points += [(left + n * step, base - 6.5 * level), (left + (n + 1) * step, base - 6.5 * level)]
        p.lines(points, 0.7)


def _sleeve(p: Picture) -> None:
    p.text(1, 4, "cold: it must pass", SMALL, bold=True)
    p.text(63, 4, "hot: it must grip", SMALL, bold=True)
    for x in (1.0, 63.0):
        p.path(rect_path(x, 20, 54, 4), 0.35, fill=SHADE)
        p.path(rect_path(x + 18, 18, 18, 8), 0.5, fill=SHADE)
    p.layer()
    p.path(rect_path(5, 14, 11, 16), 0.7, fill=PAPER)
    p.arrow(17, 34, 30, 34, 0.35)
    p.text(1, 40, "passes over the widest", SMALL)
    top = [(73.0, 19.0), (78.0, 19.0), (80.0, 17.0), (98.0, 17.0), (100.0, 19.0), (105.0, 19.0)]
    p.path(
        line_path([*top, *((x, 44 - y) for x, y in reversed(top))], closed=True),
        0.7,
        fill=PAPER,
    )
    p.text(63, 40, "holds the thinnest at both ends", SMALL)
    p.arrow(75, 12, 75, 18, 0.35)
    p.arrow(103, 12, 103, 18, 0.35)
    p.text(89, 10.5, "overlap on insulation", SMALL, anchor="middle")


def _stagger(p: Picture) -> None:
    for at, (head, places) in enumerate((("all in one place", (30, 30, 30, 30)), ("staggered", (12, 24, 36, 48)))):
        x = 1 + at * 62
        p.text(x, 4, head, SMALL, bold=True)
        heights = _bundle(p, x, x + 56, 10, 4, 5)
        p.layer()
        for place, y in zip(places, heights, strict=True):
            _joint(p, x + place, y)
        if at == 0:
            p.lines([(x + 25.4, 7.4), (x + 25.4, 27.6)], 0.25, dash="1 1")
            p.lines([(x + 34.6, 7.4), (x + 34.6, 27.6)], 0.25, dash="1 1")
        p.text(x, 33, ("a lump, and a supply beside a ground", "slim, each joint by itself")[at], SMALL)


def _camera(p: Picture) -> None:
    rows = ("1  power, of the right volts", "2  picture, of the right kind", "3  signal to show it")
    for n, words in enumerate(rows):
        y = 9 + n * 10
        p.line(24, y, 96, y, 0.7)
        p.text(60, y - 1.6, words, SMALL, anchor="middle")
        if n == 0:
            p.arrow(30, y, 25, y, 0.5)
        elif n == 1:
            p.arrow(89, y, 95, y, 0.5)
    p.arrow(89, 29, 95, 29, 0.5)
    p.layer()
    _box(p, 1, 3, 23, 22, "camera")
    _box(p, 96, 3, 23, 32, "radio")
    _box(p, 1, 28, 23, 8, "reverse")
    p.lines([(12.5, 25), (12.5, 26)], 0.5)


def _grounds(p: Picture) -> None:
    _box(p, 1, 4, 26, 14, "radio", "in the dash")
    _box(p, 93, 4, 26, 14, "amplifier", "in the boot")
    p.line(27, 9, 93, 9, 0.5)
    p.line(27, 12.5, 93, 12.5, 0.5, dash="2 1")
    p.text(60, 7, "line cable", SMALL, anchor="middle")
    p.text(60, 17, "its screen joins both grounds", SMALL, anchor="middle")
    for x in (14, 106):
        p.line(x, 18, x, 30, 0.7)
    p.line(4, 30, 116, 30, 1.0)
    for n in range(28):
        p.line(6 + n * 4, 30, 4.5 + n * 4, 32.4, 0.25)
    p.arrow(90, 26, 30, 26, 0.35)
    p.text(60, 24.4, "the alternator’s current in the body", SMALL, anchor="middle")
    p.text(60, 38.5, "a small voltage from here to there, heard as whine", SMALL, anchor="middle")


def _ladder(p: Picture) -> None:
    p.rect(1, 3, 36, 40, 0.5, dash="2 1")
    p.text(3, 8, "radio", SMALL, bold=True)
    p.text(3, 14, "supply", SMALL)
    p.lines([(14.5, 13), (22, 13), (22, 28), (58, 28)], 0.5)
    p.layer()
    _resistor(p, 22, 20)
    p.text(4, 21.2, "pull-up", SMALL)
    p.dot(22, 28)
    p.lines([(22, 28), (22, 33)], 0.5)
    p.text(5, 37.6, "reads volts here", SMALL)
    p.text(38.5, 26, "button wire", SMALL)
    p.lines([(58, 28), (58, 10), (110, 10)], 0.5)
    p.lines([(62, 40), (110, 40)], 0.5)
    p.text(38.5, 41.2, "wheel ground", SMALL)
    for x, name in ((66, "up"), (88, "down"), (110, "mute")):
        p.line(x, 10, x, 40, 0.5)
        p.layer()
        _resistor(p, x, 19)
        p.path(rect_path(x - 2, 27.4, 4, 6.2), 0, fill=PAPER)
        p.line(x, 33.6, x - 3.2, 27.6, 0.5)
        p.text(x - 4.2, 32, name, SMALL, anchor="end")
    p.text(88, 6, "one resistor a button", SMALL, anchor="middle")


def _loads(p: Picture) -> None:
    p.text(1, 4, "in series: ohms add", SMALL, bold=True)
    p.lines([(2, 9), (22, 9), (22, 37), (2, 37)], 0.5)
    p.layer()
    for y in (16.5, 29.5):
        _speaker(p, 20.3, y)
    p.text(44, 20, "less current,", SMALL)
    p.text(44, 24.2, "less sound", SMALL)
    p.text(70, 4, "in parallel: ohms drop", SMALL, bold=True)
    p.lines([(71, 12), (98, 12)], 0.5)
    p.lines([(71, 34), (98, 34)], 0.5)
    for x in (82, 98):
        p.line(x, 12, x, 34, 0.5)
    p.layer()
    for x in (82, 98):
        _speaker(p, x - 1.7, 23)
    p.text(107, 22, "more", SMALL)
    p.text(107, 26.2, "current", SMALL)


# What goes wrong


def _constant_for_switched(p: Picture) -> None:
    _box(p, 1, 4, 24, 26, "vehicle", "plug")
    _box(p, 95, 4, 24, 26, "radio")
    p.line(25, 9, 95, 9, 0.7)
    p.line(60, 9, 60, 25, 0.7)
    p.line(60, 25, 95, 25, 0.7)
    p.dot(60, 9)
    p.text(27, 7.6, "constant", SMALL)
    p.text(93, 7.6, "constant", SMALL, anchor="end")
    p.text(93, 23.6, "switched", SMALL, anchor="end")
    p.text(27, 26, "no switched wire", SMALL)
    _cross(p, 60, 17)
    p.text(60, 36, "it never sleeps: the battery is flat in days", SMALL, anchor="middle")


def _ignition(p: Picture) -> None:
    p.line(1, 12, 119, 12, 1.0)
    p.text(1, 9.6, "ignition wire under the column", SMALL)
    p.layer()
    _box(p, 86, 6, 33, 12, "engine, airbags:", "who knows")
    p.line(44, 12, 44, 26, 0.7)
    p.dot(44, 12)
    _box(p, 30, 26, 28, 9, "new radio")
    _cross(p, 44, 19)
    p.text(62, 28, "your short now stops", SMALL)
    p.text(62, 32.2, "whatever hangs on it", SMALL)


def _parking_brake(p: Picture) -> None:
    for at, (head, right) in enumerate((("right: to the switch", True), ("wrong: to ground", False))):
        x = 1 + at * 62
        p.text(x, 4, head, SMALL, bold=True)
        p.line(x + 18, 16, x + 44, 16, 0.7)
        p.layer()
        _box(p, x, 9, 18, 14, "radio")
        if right:
            p.line(x + 44, 16, x + 44, 17, 0.7)
            p.line(x + 44, 23.6, x + 40.5, 17.6, 0.7)
            p.text(x + 46, 22, "brake", SMALL)
            _ground(p, x + 44, 23.6)
        else:
            _ground(p, x + 44, 16)
            _cross(p, x + 32, 16)
        p.text(x, 35, ("films play only with the brake on", "films play while the driver drives")[at], SMALL)


def _dimmer(p: Picture) -> None:
    p.line(10, 12, 100, 12, 0.7)
    p.text(1, 9.6, "lights on", SMALL)
    p.layer()
    p.path(circle_path(45, 12, 4), 0.5, fill=PAPER)
    p.lines([(42.2, 9.2), (47.8, 14.8)], 0.35)
    p.lines([(42.2, 14.8), (47.8, 9.2)], 0.35)
    p.text(45, 6, "dash lamps", SMALL, anchor="middle")
    _box(p, 76, 7, 18, 10, "dimmer")
    p.line(100, 12, 106, 12, 0.7)
    _ground(p, 106, 12)
    p.dot(62, 12)
    p.line(62, 12, 62, 22, 0.7)
    p.text(62, 8.4, "return", SMALL, anchor="middle")
    _ground(p, 62, 22)
    _cross(p, 62, 20)
    p.text(70, 26, "grounded here, the dimmer is", SMALL)
    p.text(70, 30.2, "bridged: the lamps go full on", SMALL)
    p.text(1, 26, "it reads like a ground", SMALL)
    p.text(1, 30.2, "on the meter: turn the", SMALL)
    p.text(1, 34.4, "dimmer and watch", SMALL)


def _turn_on(p: Picture) -> None:
    stages = ("tuner", "phone", "player")
    left, step = 52.0, 22.0
    for n, stage in enumerate(stages):
        p.text(left + (n + 0.5) * step, 4, stage, SMALL, anchor="middle")
        p.line(left + n * step, 6, left + n * step, 30, 0.18, dash="1 1")
    for row, (name, colour, levels) in enumerate(
        (("aerial turn-on", "blue", (1, 0, 0)), ("amplifier turn-on", "blue, white stripe", (1, 1, 1)))
    ):
        base = 15 + row * 13
        p.text(1, base - 4, name, SMALL, bold=True)
        p.text(1, base, colour, SMALL)
        p.line(left, base, left + 3 * step, base, 0.18)
        points = []
        for n, level in enumerate(levels):
            points += [(left + n * step, base - 6.5 * level), (left + (n + 1) * step, base - 6.5 * level)]
        p.lines(points, 0.7)
    p.text(1, 36, "An amplifier on the first one goes dead as soon as the tuner is left.", SMALL)


def _polarity(p: Picture) -> None:
    for at, (head, crossed) in enumerate((("both the right way", False), ("one changed over", True))):
        x = 1 + at * 62
        p.text(x, 4, head, SMALL, bold=True)
        for n in range(2):
            y = 14 + n * 18
            wrong = crossed and n == 1
            p.text(x, y - 2.4, "+", STRONG, bold=True)
            p.text(x, y + 5.2, "−", STRONG, bold=True)
            if wrong:
                p.lines([(x + 4, y - 4), (x + 12, y - 4), (x + 18, y + 3.4), (x + 24, y + 3.4)], 0.5)
                p.lines([(x + 4, y + 3.4), (x + 12, y + 3.4), (x + 18, y - 4), (x + 24, y - 4)], 0.5)
            else:
                p.lines([(x + 4, y - 4), (x + 24, y - 4)], 0.5)
                p.lines([(x + 4, y + 3.4), (x + 24, y + 3.4)], 0.5)
            p.layer()
            p.path(rect_path(x + 24, y - 5.2, 4, 10), 0.5, fill=PAPER)
            cone = [(x + 28, y - 2.6), (x + 33, y - 6.4), (x + 33, y + 6.4), (x + 28, y + 2.6)]
            p.path(line_path(cone, closed=True), 0.5, fill=PAPER)
            if wrong:
                p.arrow(x + 45, y, x + 36, y, 0.7)
                p.text(x + 47, y + 1.2, "in", SMALL)
            else:
                p.arrow(x + 36, y, x + 45, y, 0.7)
                p.text(x + 47, y + 1.2, "out", SMALL)
        p.text(x, 45, ("the cones push together", "they cancel: no bass")[at], SMALL)


def _tweeter(p: Picture) -> None:
    p.path(rect_path(1, 6, 22, 26), 0.7, fill=PAPER)
    p.path(rect_path(3, 8, 18, 8), 0.35, fill=PAPER)
    p.centred(12, 12, "OL", SMALL, bold=True)
    p.centred(12, 21, "Ω", SMALL, bold=True)
    p.lines([(23, 12), (58, 12)], 0.5)
    p.lines([(62, 12), (92, 12), (92, 17)], 0.5)
    p.lines([(23, 27), (92, 27), (92, 24)], 0.5)
    p.line(58, 7, 58, 17, 0.7)
    p.line(62, 7, 62, 17, 0.7)
    p.text(60, 5, "capacitor", SMALL, anchor="middle")
    p.layer()
    _speaker(p, 90, 20.4)
    p.text(102, 21.6, "tweeter", SMALL)
    p.arrow(30, 19.5, 54, 19.5, 0.35)
    p.text(42, 24, "direct current", SMALL, anchor="middle")
    p.text(60, 35, "stops here: the meter reads open, and the tweeter is whole", SMALL, anchor="middle")


def _bigger_fuse(p: Picture) -> None:
    for at, (head, fuse, melts) in enumerate((("right rating", "fuse", False), ("bigger fuse", "bigger fuse", True))):
        x = 1 + at * 62
        p.text(x, 4, head, SMALL, bold=True)
        p.line(x, 14, x + 56, 14, 0.7)
        p.line(x + 50, 14, x + 50, 20, 0.7)
        p.layer()
        _box(p, x + 4, 9, 20 if melts else 14, 10, fuse)
        _ground(p, x + 50, 19)
        p.text(x + 47, 23, "short", SMALL, anchor="end")
        if melts:
            for offset in (30.0, 36.0, 42.0):
                p.path(f"M{x + offset} 12q1 -1 0 -2q-1 -1 0 -2", 0.35)
        p.text(x, 33, ("the fuse opens, the wire lives", "the wire is the fuse now")[at], SMALL)


def _two_ways(p: Picture) -> None:
    p.rect(8, 9, 44, 16, 0.7)
    for n, word in enumerate(("12 V", "out +", "out −")):
        p.path(rect_path(12 + n * 13, 12, 10, 10), 0.5, fill=SHADE if n == 0 else PAPER)
        p.text(17 + n * 13, 7, word, SMALL, anchor="middle")
    p.layer()
    p.path("M19 17q3 -4 5 0q2 4 5 0", 0.7)
    p.arrow(62, 17, 30, 17, 0.35)
    p.text(63.5, 15.6, "one strand across two ways:", SMALL)
    p.text(63.5, 19.8, "found in a second with the meter,", SMALL)
    p.text(63.5, 24, "or never, once it is plugged in", SMALL)


def _trapped(p: Picture) -> None:
    for top, dip in ((16.0, 7.6), (20.0, 6.6)):
        bend = [(x, top + dip * exp(-(((x - 53) / 22) ** 2))) for x in range(1, 120, 3)]
        p.lines(bend, 1.0)
    p.path(rect_path(40, 28.6, 26, 6), 0.5, fill=SHADE)
    p.path(rect_path(40, 6, 26, 16.4), 0.5, fill=SHADE)
    p.centred(53, 12, "trim", SMALL)
    p.centred(53, 31.6, "bracket", SMALL)
    p.arrow(72, 30, 60, 26, 0.35)
    p.text(73, 32, "pinched by the last screw", SMALL)
    p.text(1, 11, "loom", SMALL)


def _airbag_key(p: Picture) -> None:
    _box(p, 1, 6, 30, 14, "airbag unit")
    p.line(31, 13, 50, 13, 0.7)
    p.line(66, 13, 84, 13, 0.7)
    p.path(rect_path(50, 9.6, 6, 6.8), 0.5, fill=PAPER)
    p.path(rect_path(60, 9.6, 6, 6.8), 0.5, fill=PAPER)
    p.text(58, 7, "plug off", SMALL, anchor="middle")
    _box(p, 84, 6, 35, 14, "airbag")
    p.text(1, 27, "key on", SMALL, bold=True)
    p.arrow(16, 26, 28, 26, 0.5)
    p.text(30, 27, "it looks for its airbag, finds none,", SMALL)
    p.text(30, 31.2, "stores the fault and lights the lamp", SMALL)


DIAGRAMS: dict[str, Diagram] = {
    "swap": Diagram(
        title="How a swap hangs together",
        words="The plug left in the dash, its adapter, the joints, the radio's own lead and the radio, in a row.",
        height=45,
        draw=_swap,
    ),
    "adapters": Diagram(
        title="Three kinds of adapter",
        words="A plain adapter is wire only. An active one changes signals and has a supply and a ground of its own. "
        "A data one also reads the vehicle's twisted pair and makes wires such as key on and reverse.",
        height=84,
        draw=_adapters,
    ),
    "feed": Diagram(
        title="A feed, and where to halve it",
        words="Battery, fuse, dash plug, joint, radio plug, radio and ground in a row. Measure in the middle first, then "
        "in the middle of the half that is bad.",
        height=44,
        draw=_feed,
    ),
    "states": Diagram(
        title="When a supply is live",
        words="Constant is always live and dips in cranking. Switched is live from accessory to key out. Retained stays "
        "live for a while after key out. The lights' wire follows the lights.",
        height=50,
        draw=_states,
    ),
    "sleeve": Diagram(
        title="A sleeve passes cold and grips hot",
        words="Before heating, the sleeve passes over the widest part of the joint. After it, it holds the insulation at "
        "both ends.",
        height=42,
        draw=_sleeve,
    ),
    "stagger": Diagram(
        title="Joints staggered along the loom",
        words="Four joints side by side make a lump. Four joints one after the other leave the loom slim.",
        height=35,
        draw=_stagger,
    ),
    "camera": Diagram(
        title="Three things every camera needs",
        words="Power from the radio or the vehicle to the camera, the picture from the camera to the radio, and the "
        "signal from reverse to the radio.",
        height=38,
        draw=_camera,
    ),
    "grounds": Diagram(
        title="Two grounds and a screen between them",
        words="Radio and amplifier are grounded at two places of the body. The alternator's current makes a small voltage "
        "between the two, and the line cable's screen joins them.",
        height=40,
        draw=_grounds,
    ),
    "ladder": Diagram(
        title="A resistor ladder",
        words="The radio feeds the button wire through its pull-up and reads the volts. Each button joins another "
        "resistor to the wheel's ground.",
        height=45,
        draw=_ladder,
    ),
    "loads": Diagram(
        title="Loudspeakers in series and in parallel",
        words="In series the current passes one after the other. In parallel each has the full voltage and the currents add.",
        height=40,
        draw=_loads,
    ),
    "constant-for-switched": Diagram(
        title="Constant for switched",
        words="The constant supply feeds the radio's switched input as well, so the radio never sleeps.",
        height=38,
        draw=_constant_for_switched,
    ),
    "ignition": Diagram(
        title="Borrowed ignition",
        words="A radio hangs on a thick ignition wire whose other loads nobody knows.",
        height=37,
        draw=_ignition,
    ),
    "parking-brake": Diagram(
        title="The parking-brake wire",
        words="Right: the radio's wire goes to the switch of the brake. Wrong: it goes to ground.",
        height=37,
        draw=_parking_brake,
    ),
    "dimmer-return": Diagram(
        title="The dimmer return is not ground",
        words="The dash lamps lie between the lights' supply and the dimmer. Ground on the return bridges the dimmer.",
        height=37,
        draw=_dimmer,
    ),
    "turn-on": Diagram(
        title="Two turn-on wires",
        words="The aerial's turn-on is live with the tuner only. The amplifier's is live with every source.",
        height=38,
        draw=_turn_on,
    ),
    "polarity": Diagram(
        title="Polarity of a pair",
        words="With both pairs the right way the cones move together. With one changed over, one moves out while the other "
        "moves in.",
        height=47,
        draw=_polarity,
    ),
    "tweeter": Diagram(
        title="A tweeter behind its capacitor",
        words="The meter's direct current does not pass the capacitor, so it reads open.",
        height=37,
        draw=_tweeter,
    ),
    "bigger-fuse": Diagram(
        title="A bigger fuse",
        words="With the right rating the fuse opens. With a bigger one the wire is heated.",
        height=35,
        draw=_bigger_fuse,
    ),
    "two-ways": Diagram(
        title="One strand across two ways",
        words="A strand joins the supply's way to an output's way.",
        height=27,
        draw=_two_ways,
    ),
    "trapped-loom": Diagram(
        title="A trapped loom",
        words="The loom lies between trim and bracket and is pinched when the last screw goes in.",
        height=36,
        draw=_trapped,
    ),
    "airbag-key": Diagram(
        title="Key on with an airbag unplugged",
        words="The airbag unit looks for its airbag, finds none, stores a fault and lights its lamp.",
        height=33,
        draw=_airbag_key,
    ),
}


def diagram(name: str, *, key: str = "") -> str:
    """A diagram by its name."""
    known = DIAGRAMS[name]
    picture = Picture(
        title=known.title,
        desc=known.words,
        width_mm=WIDTH_MM,
        height_mm=known.height,
        key=key or f"diagram-{name}",
    )
    known.draw(picture)
    return picture.svg()
