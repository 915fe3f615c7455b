"""Small drawn symbols: how a joint is made, how a spare ends, what must not be joined. One family, said in a legend."""

from __future__ import annotations

from .letters import CAP_HEIGHT, text_width
from .svg import INK, PAPER, SMALL, Picture, line_path, rect_path

JOINT_MM = (8.0, 5.0)  # width and height of a joint's symbol

JOINT_WORDS: dict[str, str] = {
    "crimp": "Crimped connector",
    "closed-end": "Closed-end connector",
    "solder-inline": "Soldered in line, sleeved",
    "solder-twist": "Twisted, soldered, sleeved",
    "plug-in": "Plugs together",
    "terminal": "Terminal",
    "sleeve": "Connector with a lined sleeve",
    "": "Joint not chosen yet",
}
"""Kind of joining method → what its symbol stands for."""


def joint_symbol(picture: Picture, kind: str, x: float, y: float) -> None:
    """The symbol of a joining method's kind with its middle at (x, y); an unknown or missing kind is a dashed box."""
    width, height = JOINT_MM
    left, right, top, bottom = x - width / 2, x + width / 2, y - height / 2, y + height / 2
    if kind == "crimp":
        waist = height / 2 - 1.1
        shape = [
            (left, top), (left + 1.6, top), (left + 2.4, y - waist), (left + 3.2, top), (right - 3.2, top),
            (right - 2.4, y - waist), (right - 1.6, top), (right, top), (right, bottom), (left, bottom),
        ]  # fmt: skip
        picture.lines(shape, 0.35, closed=True, fill=PAPER)
    elif kind == "closed-end":
        straight = right - 2.5
        cap = f"M{left:.2f} {top:.2f}H{straight:.2f}A2.5 2.5 0 0 1 {straight:.2f} {bottom:.2f}H{left:.2f}Z"
        picture.path(cap, 0.35, fill=PAPER)
        picture.line(left + 1.6, top, left + 1.6, bottom, 0.35)
    elif kind in ("solder-inline", "solder-twist"):
        picture.rect(left, top, width, height, 0.35, fill=PAPER)
        if kind == "solder-inline":
            bead = [(x - 2.6, y), (x, y - 1.6), (x + 2.6, y), (x, y + 1.6)]
            picture.path(line_path(bead, closed=True), 0, fill=INK)
        else:
            zigzag = [(left + 1, y + 1.3), (x - 1.5, y - 1.3), (x, y + 1.3), (x + 1.5, y - 1.3), (right - 1, y + 1.3)]
            picture.lines(zigzag, 0.7)
    elif kind == "plug-in":
        half = [(left, top), (x + 0.2, top), (x + 1.6, y), (x + 0.2, bottom), (left, bottom)]
        picture.lines(half, 0.35, closed=True, fill=PAPER)
        other = [(x + 1.4, top), (right, top), (right, bottom), (x + 1.4, bottom), (x + 2.8, y)]
        picture.lines(other, 0.35, closed=True, fill=PAPER)
    elif kind == "terminal":
        picture.line(left, y, right, y, 0.7)
        picture.circle(x, y, height / 2, 0.35, fill=PAPER)
        picture.circle(x, y, height / 4, 0.35)
    elif kind == "sleeve":
        picture.rect(left, top, width, height, 0.35, fill=PAPER)
        picture.rect(left + 1.6, top + 1.3, width - 3.2, height - 2.6, 0.35)
    else:
        picture.rect(left, top, width, height, 0.35, fill=PAPER, dash="1.2 0.8")


def cap_symbol(picture: Picture, x: float, y: float, *, right: bool = True) -> None:
    """A spare's end: the wire is folded back on itself and closed with a cap. The wire comes to ``x``."""
    sign = 1 if right else -1
    sweep = 1 if right else 0
    picture.path(
        f"M{x:.2f} {y - 2.4:.2f}h{sign * 3.4:.2f}A2.4 2.4 0 0 {sweep} {x + sign * 3.4:.2f} {y + 2.4:.2f}h{-sign * 3.4:.2f}Z",
        0.5,
        fill=PAPER,
    )
    picture.line(x + sign * 1.5, y - 2.4, x + sign * 1.5, y + 2.4, 0.35)


def never_symbol(picture: Picture, x: float, y: float) -> None:
    """Two wires that stop short of each other, crossed out."""
    picture.lines([(x - 2.6, y - 2.6), (x + 2.6, y + 2.6)], 0.7)
    picture.lines([(x - 2.6, y + 2.6), (x + 2.6, y - 2.6)], 0.7)


def crossed_place(picture: Picture, x: float, y: float, width: float, height: float, way: str) -> None:
    """A way of a plug's face that is never touched: crossed out from corner to corner, its number over the cross."""
    mid_x, mid_y = x + width / 2, y + height / 2
    half_w, half_h = text_width(way, SMALL, bold=True) / 2 + 0.4, SMALL * CAP_HEIGHT / 2 + 0.4
    inner = min(2 * half_w / width, 2 * half_h / height, 0.7)  # how much of the cross its number takes, from the middle
    arms = [
        [(mid_x + sx * width / 2, mid_y + sy * height / 2), (mid_x + sx * inner * width / 2, mid_y + sy * inner * height / 2)]
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]
    picture.path(rect_path(x, y, width, height) + "".join(line_path(arm) for arm in arms), 0.5, fill=PAPER)
    picture.centred(mid_x, mid_y, way, SMALL, bold=True)


def open_symbol(picture: Picture, x: float, y: float) -> None:
    """A place where a driver is wanting or still to be chosen."""
    picture.circle(x, y, 2.6, 0.5, fill=PAPER)
    picture.centred(x, y, "?", 4.25, bold=True)


def mate_symbol(picture: Picture, x: float, y: float) -> None:
    """Two ready ends that go into each other as they are."""
    picture.rect(x - 5, y - 2.2, 5, 4.4, 0.5, fill=PAPER)
    picture.rect(x + 1, y - 1.4, 5, 2.8, 0.5, fill=INK)
    picture.line(x - 3, y, x + 1, y, 0.7)
