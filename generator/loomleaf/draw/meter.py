"""Where the probes go, and what goes wrong. No reading is printed unless it is given: the sheet says what to expect.

The red lead is a full line and the black lead a broken one, so that they can be told apart on any print.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from .cards import FORGOTTEN, joint_frame
from .letters import wrap
from .svg import INK, PAPER, SHADE, SMALL, STRONG, WORD, Picture, circle_path, line_path, number, rect_path

SET_UP_MM = (86.0, 52.0)  # the drawing; the words stand under it
_METER = (3.0, 6.0, 20.0, 34.0)  # x, y, width, height
_RED = (9.0, 36.0)
_BLACK = (17.0, 36.0)


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """A meter set-up: what it is called, dial, jack of the red lead, what to mind, and how the rest is drawn."""

    title: str
    dial: str
    jack: str
    words: str
    draw: Callable[[Picture], None]


def _meter(p: Picture, dial: str, jack: str, shows: str) -> None:
    x, y, width, height = _METER
    p.path(rect_path(x, y, width, height), 0.7, fill=PAPER)
    p.path(rect_path(x + 2, y + 2, width - 4, 8), 0.35, fill=SHADE if not shows else PAPER)
    p.centred(x + width / 2, y + 6, shows, SMALL, bold=True)
    p.centred(x + width / 2, y + 13, dial, SMALL, bold=True)
    p.path(circle_path(x + width / 2, y + 20, 4), 0.35)
    p.line(x + width / 2, y + 20, x + width / 2, y + 16, 0.7)
    for at, jack_x in ((jack, _RED[0]), ("COM", _BLACK[0])):
        p.path(circle_path(jack_x, _RED[1], 1.4), 0.5, fill=PAPER)
        p.text(
            x + 1 if jack_x == _RED[0] else x + width - 1,
            y + 27.4,
            at,
            SMALL,
            anchor="start" if jack_x == _RED[0] else "end",
        )
    p.layer()


def _lead(p: Picture, red: bool, x: float, y: float) -> None:
    """A meter lead from its jack to a probe whose tip is at (x, y)."""
    start_x, start_y = _RED if red else _BLACK
    drop = 47.0 if red else 44.0
    dash = "" if red else "2 1.2"
    hand_x, hand_y = x - 3.2, y + 6.5
    bend = f"Q{number(start_x)} {number(drop)} {number(start_x + 4)} {number(drop)}"
    p.path(
        f"M{number(start_x)} {number(start_y)}V{number(drop - 3)}{bend}"
        f"H{number(hand_x - 9)}Q{number(hand_x - 2)} {number(drop)} {number(hand_x)} {number(hand_y)}",
        0.5,
        dash=dash,
    )
    p.layer()
    body = [(hand_x - 0.9, hand_y - 0.5), (hand_x + 0.9, hand_y + 0.5), (x - 0.6, y + 2.6), (x - 1.6, y + 2.1)]
    p.path(line_path(body, closed=True), 0.35, fill=INK if red else PAPER)
    p.line(x - 1.1, y + 2.3, x, y, 0.5)


def _ground(p: Picture, x: float, y: float) -> None:
    """Three bars, each shorter than the one above: ground."""
    p.line(x, y, x, y + 3, 0.5)
    for n, half in enumerate((3.4, 2.2, 1.0)):
        p.line(x - half, y + 3 + n * 1.3, x + half, y + 3 + n * 1.3, 0.5)


def _lamp(p: Picture, x: float, y: float) -> None:
    p.path(circle_path(x, y, 3.6), 0.5, fill=PAPER)
    p.lines([(x - 2.5, y - 2.5), (x + 2.5, y + 2.5)], 0.35)
    p.lines([(x - 2.5, y + 2.5), (x + 2.5, y - 2.5)], 0.35)


def _speaker(p: Picture, x: float, y: float) -> None:
    p.path(rect_path(x, y - 2.6, 3.4, 5.2), 0.5, fill=PAPER)
    p.path(
        line_path([(x + 3.4, y - 2.6), (x + 8, y - 6.4), (x + 8, y + 6.4), (x + 3.4, y + 2.6)], closed=True),
        0.5,
        fill=PAPER,
    )


def _plug(p: Picture, x: float, y: float, ways: int = 4, marked: tuple[int, ...] = ()) -> None:
    """Part of a plug's face: ways in a row, the ones that are probed shaded."""
    p.path(rect_path(x - 1.3, y - 1.3, ways * 7 + 1.4, 8.4), 0.7)
    for way in range(ways):
        probed = way in marked
        p.path(rect_path(x + way * 7, y, 5.8, 5.8), 0.5 if probed else 0.25, fill=SHADE if probed else PAPER)


def _load_volts(p: Picture) -> None:
    p.text(48.5, 9.5, "vehicle plug", SMALL, anchor="end")
    _plug(p, 40, 12, marked=(1,))
    p.lines([(50, 12), (50, 5), (72, 5), (72, 16.4)], 0.5)
    p.dot(50, 15)
    p.layer()
    p.lines([(72, 23.6), (72, 33)], 0.5)
    _lamp(p, 72, 20)
    p.text(77, 21.2, "lamp", SMALL)
    _ground(p, 72, 33)
    _lead(p, True, 50, 16.5)
    _lead(p, False, 72, 30)
    p.dot(72, 30)


def _speaker_ohms(p: Picture) -> None:
    p.text(40.5, 9.5, "plug off", SMALL, anchor="end")
    _plug(p, 32, 12, marked=(1, 2))
    p.lines([(42, 12), (42, 4), (70, 4), (70, 13), (74, 13)], 0.5)
    p.lines([(49, 12), (49, 7), (66, 7), (66, 17), (74, 17)], 0.5)
    p.layer()
    _speaker(p, 74, 15)
    p.text(61, 25.5, "loudspeaker", SMALL)
    _lead(p, True, 42, 16.5)
    _lead(p, False, 49, 16.5)


def _ground_drop(p: Picture) -> None:
    p.rect(62, 4, 17, 10, 0.5)
    p.centred(70.5, 9, "load 5 A", SMALL)
    p.lines([(62, 9), (42, 9), (42, 26)], 0.7)
    p.text(44, 19, "ground wire", SMALL)
    p.arrow(52, 6.8, 47, 6.8, 0.35)
    p.text(52.8, 7.9, "5 A", SMALL)
    p.line(34, 31, 80, 31, 1.0)
    for at in range(11):
        p.line(36 + at * 4, 31, 34.5 + at * 4, 33.4, 0.25)
    p.path(circle_path(42, 28.4, 2.4), 0.5, fill=PAPER)
    p.lines([(42, 26), (42, 31)], 0.7)
    p.text(58, 29.4, "bare body metal", SMALL)
    _lead(p, True, 42, 12)
    p.dot(42, 12)
    _lead(p, False, 52, 31)


def _joint_continuity(p: Picture) -> None:
    for x1, x2 in ((36, 53), (63, 80)):
        p.path(rect_path(x1, 14.5, x2 - x1, 3), 0.25, fill=SHADE)
    p.path(rect_path(53, 12.5, 10, 7), 0.5, fill=PAPER)
    p.centred(58, 9.4, "joint", SMALL)
    p.line(80, 16, 83, 16, 1.0)
    p.line(33, 16, 36, 16, 1.0)
    p.text(34, 11.5, "way", SMALL)
    p.text(82, 11.5, "way", SMALL, anchor="end")
    _lead(p, True, 34.5, 17)
    _lead(p, False, 81.5, 17)


def _neighbours(p: Picture) -> None:
    p.text(37, 9.5, "made-up lead, on nothing", SMALL)
    _plug(p, 42, 13, marked=(1, 2))
    _lead(p, True, 52, 18)
    _lead(p, False, 59, 18)
    p.text(64, 26, "then the next", SMALL)
    p.text(64, 30, "pair, and on", SMALL)


def _drain(p: Picture) -> None:
    p.rect(54, 8, 26, 14, 0.7)
    p.centred(60, 15, "−", STRONG, bold=True)
    p.centred(74, 15, "+", STRONG, bold=True)
    p.text(67, 27, "battery", SMALL, anchor="middle")
    p.rect(58, 5, 4, 3, 0.5, fill=PAPER)
    p.rect(72, 5, 4, 3, 0.5, fill=PAPER)
    p.paragraph(31, 5.5, ["minus lead", "to the body,", "off its post"], SMALL)
    p.lines([(31, 20), (43, 20)], 1.0)
    p.path(circle_path(45, 20, 2), 0.5, fill=PAPER)
    _lead(p, True, 45, 22)
    _lead(p, False, 58.4, 6.4)


def _buttons(p: Picture) -> None:
    p.text(40.5, 9.5, "plug off", SMALL, anchor="end")
    _plug(p, 32, 12, marked=(1, 2))
    p.lines([(42, 12), (42, 4), (66, 4)], 0.5)
    p.lines([(49, 12), (49, 7.5), (66, 7.5)], 0.5)
    p.rect(66, 2, 19, 8, 0.5)
    p.centred(75.5, 6, "wheel", SMALL)
    p.text(62.5, 17, "red: button", SMALL)
    p.text(62.5, 21.2, "black: wheel", SMALL)
    p.text(62.5, 25.4, "ground", SMALL)
    _lead(p, True, 42, 16.5)
    _lead(p, False, 49, 16.5)


def _gain(p: Picture) -> None:
    p.rect(36, 6, 34, 15, 0.7)
    p.centred(53, 11.6, "amplifier", SMALL)
    for at, sign in ((44, "+"), (60, "−")):
        p.path(circle_path(at, 21, 1.6), 0.5, fill=PAPER)
        p.text(at + 2.6, 19.6, sign, SMALL, bold=True)
    p.text(85, 32, "loudspeakers off", SMALL, anchor="end")
    _lead(p, True, 44, 22)
    _lead(p, False, 60, 22)


def _joint_drop(p: Picture) -> None:
    p.line(33, 16, 83, 16, 0.7)
    p.path(rect_path(53, 12.5, 10, 7), 0.5, fill=PAPER)
    p.centred(58, 9.4, "joint", SMALL)
    p.arrow(34, 11, 44, 11, 0.35)
    p.text(34, 9, "current", SMALL)
    _lead(p, True, 48, 16.5)
    _lead(p, False, 68, 16.5)


SET_UPS: dict[str, SetUp] = {
    "volts-under-load": SetUp(
        title="Volts with a lamp as load",
        dial="V dc",
        jack="V",
        words="Red on the way, black on ground. The lamp stays on while you read: without a load a bad feed reads good.",
        draw=_load_volts,
    ),
    "ohms-speaker": SetUp(
        title="Ohms of a loudspeaker pair",
        dial="Ω",
        jack="Ω",
        words="Plug off, nothing powered. Touch the probes together first and take that off the reading.",
        draw=_speaker_ohms,
    ),
    "drop-ground": SetUp(
        title="Drop along a ground at 5 A",
        dial="V dc",
        jack="V",
        words="Current on. Red at the load's end of the ground wire, black on bare metal beside its fixing.",
        draw=_ground_drop,
    ),
    "drop-joint": SetUp(
        title="Drop across a joint",
        dial="mV dc",
        jack="V",
        words="Current on. Red before the joint, black after it. A good joint shows a few millivolts, a bad one far more.",
        draw=_joint_drop,
    ),
    "buttons": SetUp(
        title="Ohms of the wheel buttons",
        dial="Ω",
        jack="Ω",
        words="Radio plug off, vehicle asleep, nothing powered. At the radio plug only, one button at a time.",
        draw=_buttons,
    ),
    "gain": SetUp(
        title="Volts at an amplifier's output",
        dial="V ac",
        jack="V",
        words="Loudspeakers off, a steady tone of 1 kHz playing. Turn the gain up until the wanted voltage shows.",
        draw=_gain,
    ),
    "continuity": SetUp(
        title="Continuity of a joint",
        dial="Ω",
        jack="Ω",
        words="Lead on the bench, both plugs free. From way to way, through the joint; take off what the leads read alone.",
        draw=_joint_continuity,
    ),
    "isolation": SetUp(
        title="Isolation between neighbours",
        dial="Ω",
        jack="Ω",
        words="Lead on the bench, both plugs free. Each way against the way beside it: no path wanted.",
        draw=_neighbours,
    ),
    "drain": SetUp(
        title="Standby drain, meter in series",
        dial="A dc",
        jack="10 A",
        words="Start on the 10 A jack. Let the vehicle fall asleep before you read. No door, no key, no starter meanwhile.",
        draw=_drain,
    ),
}
"""Name → set-up."""


def meter_picture(name: str, *, shows: str = "", note: str = "", key: str = "") -> str:
    """A meter set-up by its name. ``shows`` is what stands in the meter's window, ``note`` is said last."""
    set_up = SET_UPS[name]
    width, height = SET_UP_MM
    lines = wrap(set_up.words, width - 2, SMALL) + (wrap(note, width - 2, SMALL) if note else [])
    said = f"Meter set to {set_up.dial}, red lead in {set_up.jack}, black lead in COM. {set_up.words} {note}".strip()
    picture = Picture(
        title=set_up.title,
        desc=said + (f" The meter shows {shows}." if shows else ""),
        width_mm=width,
        height_mm=height + len(lines) * SMALL * 1.3 + 6,
        key=key or f"meter-{name}-{shows}",
    )
    _meter(picture, set_up.dial, set_up.jack, shows)
    set_up.draw(picture)
    picture.layer()
    picture.text(1, height + 3.4, set_up.title, WORD, bold=True)
    picture.paragraph(1, height + 8.2, lines, SMALL)
    return picture.svg()


# What goes wrong


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A typical fault: its name and what it looks like, drawn in a box of ``SET_UP_MM``."""

    title: str
    words: str
    draw: Callable[[Picture, tuple[str, str]], None]
    height: float = 46.0


def _unloaded(p: Picture, shows: tuple[str, str]) -> None:
    for at, (head, reading, lamp) in enumerate((("no load", shows[0], False), ("lamp on", shows[1], True))):
        x = 2 + at * 43
        p.text(x, 4, head, SMALL, bold=True)
        p.path(rect_path(x, 7, 6, 6), 0.5, fill=SHADE)
        p.path(f"M{number(x + 3)} 13v3l-2 1.5l4 2l-4 2l4 2l-2 1.5v3", 0.5)
        p.text(x + 6.5, 19.4, "bad", SMALL)
        p.text(x + 6.5, 23.4, "joint", SMALL)
        p.line(x + 3, 28, x + 27, 28, 0.5)
        p.line(x + 27, 28, x + 27, 17, 0.5)
        p.line(x + 35, 17, x + 35, 33, 0.5)
        p.path(rect_path(x + 20.5, 8, 19.5, 9), 0.5, fill=PAPER)
        p.centred(x + 30.25, 12.5, reading, SMALL, bold=True)
        _ground(p, x + 35, 33)
        if lamp:
            p.dot(x + 15, 28)
            p.line(x + 15, 28, x + 15, 36, 0.5)
            _ground(p, x + 15, 38)
            p.layer()
            _lamp(p, x + 15, 34.5)
    p.layer()


def _minus_to_ground(p: Picture, shows: tuple[str, str]) -> None:
    p.rect(4, 6, 22, 26, 0.5)
    p.text(15, 15, "bridged", SMALL, anchor="middle")
    p.text(15, 19.2, "output", SMALL, anchor="middle")
    p.lines([(26, 12), (58, 12), (58, 17), (62, 17)], 0.5)
    p.lines([(26, 26), (58, 26), (58, 21), (62, 21)], 0.5)
    p.text(28, 10.8, "+", STRONG, bold=True)
    p.text(28, 30.4, "−", STRONG, bold=True)
    _speaker(p, 62, 19)
    p.dot(46, 26)
    p.line(46, 26, 46, 31, 0.5)
    _ground(p, 46, 31)
    p.layer()
    p.lines([(41.5, 27.5), (50.5, 36.5)], 1.0)
    p.lines([(50.5, 27.5), (41.5, 36.5)], 1.0)
    p.text(55, 36, "never", SMALL, bold=True)


def _tinned(p: Picture, shows: tuple[str, str]) -> None:
    for at, (head, tinned) in enumerate((("plain strands", False), ("tinned first", True))):
        x = 2 + at * 43
        p.text(x, 4, head, SMALL, bold=True)
        p.circle(x + 18, 22, 13, 0.7)
        if tinned:
            p.path(circle_path(x + 18, 22, 8.5), 0.35, fill="#8a8a8a")
            p.path(f"M{number(x + 7)} 16a13 13 0 0 1 22 0", 0.25, dash="1 0.8")
            p.text(x + 18, 39.4, "one stiff lump", SMALL, anchor="middle")
        else:
            for dx, dy in ((0, 0), (-7, 0), (7, 0), (-3.5, -6), (3.5, -6), (-3.5, 6), (3.5, 6)):
                p.circle(x + 18 + dx, 22 + dy, 3.4, 0.35, fill=SHADE)
            p.text(x + 18, 39.4, "every strand pressed", SMALL, anchor="middle")


def _mirrored(p: Picture, shows: tuple[str, str]) -> None:
    for at, (head, ways) in enumerate((("mating side", "1234"), ("wire side", "4321"))):
        x = 3 + at * 44
        p.text(x - 1, 4, head, SMALL, bold=True)
        p.rect(x + 9, 6.7, 10, 3, 0.5)
        p.rect(x - 1.3, 9.7, 29.4, 8.4, 0.7)
        for n, way in enumerate(ways):
            wanted = way == "1"
            p.path(rect_path(x + n * 7, 11, 5.8, 5.8), 0.5 if wanted else 0.25, fill=SHADE if wanted else PAPER)
            p.centred(x + n * 7 + 2.9, 13.9, way, STRONG, bold=True)
        p.arrow(x + 3, 28, x + 3, 19, 0.5)
        p.text(x - 1, 32, "way 1: right" if at == 0 else "way 4: wrong wire", SMALL)


FAULTS: dict[str, Fault] = {
    "unloaded-reading": Fault(
        title="Good without a load, bad with one",
        words="A meter takes next to no current, so a bad joint still shows the full voltage. Load it, and the reading falls.",
        draw=_unloaded,
    ),
    "speaker-minus-on-ground": Fault(
        title="Loudspeaker minus on ground",
        words="Both wires of a bridged output are driven. Ground on either one shorts the output.",
        draw=_minus_to_ground,
        height=42,
    ),
    "tinned-strand": Fault(
        title="Tinned strand in a crimp",
        words="Solder creeps under the press: the joint comes loose and warm in time. Crimp plain strands only.",
        draw=_tinned,
        height=45,
    ),
    "mirrored-face": Fault(
        title="Face read from the wrong side",
        words="Seen from behind, left and right change over. Say which side you look at before you count.",
        draw=_mirrored,
        height=38,
    ),
}
"""Name → typical fault. The forgotten sleeve is a frame of the joint cards: see ``fault_picture``."""

FAULT_NAMES = (*FAULTS, "sleeve-forgotten")


def fault_picture(name: str, *, shows: tuple[str, str] = ("looks good", "falls"), key: str = "") -> str:
    """A typical fault by its name. ``shows`` are the two readings of ``unloaded-reading``, good first."""
    if name == "sleeve-forgotten":
        return joint_frame(FORGOTTEN, head="Wrong", verdict=False, key=key or "fault-sleeve-forgotten")
    fault = FAULTS[name]
    width = SET_UP_MM[0]
    lines = wrap(fault.words, width - 2, SMALL)
    picture = Picture(
        title=fault.title,
        desc=fault.words,
        width_mm=width,
        height_mm=fault.height + 8.2 + len(lines) * SMALL * 1.3,
        key=key or f"fault-{name}",
    )
    fault.draw(picture, shows)
    picture.layer()
    picture.text(1, fault.height + 3.4, fault.title, WORD, bold=True)
    picture.paragraph(1, fault.height + 8.2, lines, SMALL)
    return picture.svg()
