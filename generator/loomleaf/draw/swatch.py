"""A wire's colour as a bar. The word always stands beside it: the bar helps the eye, the word decides.

The stripe lies along the middle in a casing of black (on a light base) or white (on a dark one) and is broken by a
pattern of its own for each stripe colour, so that it still shows on a grey or a one-bit print.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..units import Colour
from .svg import INK, PAPER, Picture, rect_path

FILLS: dict[str, str] = {
    "black": "#1a1a1a",
    "brown": "#7a4a21",
    "red": "#d22222",
    "orange": "#f08a1d",
    "yellow": "#ffd91a",
    "green": "#2f9e44",
    "blue": "#2b5fc4",
    "violet": "#7d4ca8",
    "grey": "#9a9a9a",
    "white": "#ffffff",
    "pink": "#f2a1bd",
    "turquoise": "#3fc1bd",
    "silver": "#c4c9ce",
    "gold": "#c9a227",
    "clear": "#f4f4f4",
    "tan": "#d9b48a",
}
"""Colour word → fill. Chosen to look like the word on a screen and on office paper; contrast does not matter, because
the word stands beside every bar."""

STRIPE_PATTERNS: dict[str, tuple[float, ...]] = {
    "black": (),
    "white": (),
    "brown": (4, 1),
    "red": (2, 1),
    "orange": (1, 1),
    "yellow": (6, 1),
    "green": (3, 1, 1, 1),
    "blue": (5, 1, 1, 1),
    "violet": (1, 2),
    "grey": (2, 2),
    "pink": (3, 2, 1, 2),
    "turquoise": (4, 2),
    "silver": (6, 2),
    "gold": (3, 3),
    "clear": (1, 3),
    "tan": (4, 1, 1, 1, 1, 1),
}
"""Stripe colour → lengths drawn and left, mm; empty for a stripe that is not broken."""

SWATCH_MM = (14.0, 5.0)
INLINE_MM = (8.0, 3.3)
BAND_MM = 3.0  # height of a wire in the loom picture: at least 2.0
STRIPE_MM = 0.8  # stripe of a band: at least 0.7
SWATCH_STRIPE_MM = 1.4  # stripe of a swatch: at least 0.9
OUTLINE_MM = 0.25
_CASING_MM = 0.25  # each side of the stripe


def fill_of(word: str) -> str:
    """Fill of a colour word; "light" mixes it with white, "dark" with black.

    >>> fill_of("red"), fill_of("light green")
    ('#d22222', '#97cea1')
    """
    shade, _, rest = word.partition(" ")
    if shade in ("light", "dark") and rest in FILLS:
        toward = 255 if shade == "light" else 0
        mixed = [(channel + toward) // 2 for channel in _channels(FILLS[rest])]
        return "#" + "".join(f"{channel:02x}" for channel in mixed)
    return FILLS.get(word, PAPER)


def _channels(fill: str) -> tuple[int, int, int]:
    return int(fill[1:3], 16), int(fill[3:5], 16), int(fill[5:7], 16)


def luminance(fill: str) -> float:
    """Relative luminance of an sRGB colour, 0 (black) to 1 (white): WCAG 2 definition, from memory.

    >>> luminance("#ffffff"), luminance("#000000")
    (1.0, 0.0)
    """
    linear = [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in _channels(fill)]
    return round(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2], 6)


@dataclass(frozen=True, kw_only=True)
class Band:
    """A wire from ``x1`` to ``x2`` with its middle at ``y``."""

    x1: float
    x2: float
    y: float
    colour: Colour | None


def draw_bands(picture: Picture, bands: Sequence[Band], *, height: float = BAND_MM, stripe: float = STRIPE_MM) -> None:
    """Wires in their colours: all bases, above them all casings, above those all stripes, few elements each.

    A wire of no stated colour is an empty bar with a broken outline.
    """
    for band in bands:
        fill, dash = (fill_of(band.colour.base), "") if band.colour else (PAPER, "1.5 1")
        left = min(band.x1, band.x2)
        picture.path(
            rect_path(left, band.y - height / 2, abs(band.x2 - band.x1), height), OUTLINE_MM, fill=fill, dash=dash
        )
    striped = [(band, band.colour) for band in bands if band.colour and band.colour.stripe]
    picture.layer()
    for band, colour in striped:
        casing = INK if luminance(fill_of(colour.base)) > 0.3 else PAPER
        left, width = _between_outlines(band)
        half = stripe / 2 + _CASING_MM
        picture.path(rect_path(left, band.y - half, width, 2 * half), 0, fill=casing)
    picture.layer()
    for band, colour in striped:
        left, width = _between_outlines(band)
        pattern = STRIPE_PATTERNS.get(colour.stripe.rpartition(" ")[2], ())
        pieces = "".join(
            rect_path(left + at, band.y - stripe / 2, length, stripe) for at, length in _pieces(width, pattern)
        )
        picture.path(pieces, 0, fill=fill_of(colour.stripe))
    picture.layer()


def _between_outlines(band: Band) -> tuple[float, float]:
    """Left end and length of the stripe: the outline stays whole at both ends."""
    return min(band.x1, band.x2) + OUTLINE_MM / 2, abs(band.x2 - band.x1) - OUTLINE_MM


def _pieces(width: float, pattern: tuple[float, ...]) -> list[tuple[float, float]]:
    """Where the drawn parts of a broken stripe begin, and how long each is."""
    if not pattern:
        return [(0.0, width)]
    out: list[tuple[float, float]] = []
    at, turn = 0.0, 0
    while at < width:
        length = pattern[turn % len(pattern)]
        if turn % 2 == 0:
            out.append((at, min(length, width - at)))
        at += length
        turn += 1
    return out


def swatch(colour: Colour | None, *, key: str = "") -> str:
    """The bar of 14 by 5 mm that stands beside a wire's colour word."""
    return _bar(colour, SWATCH_MM, SWATCH_STRIPE_MM, key)


def swatch_inline(colour: Colour | None, *, key: str = "") -> str:
    """A bar of 8 by 3 mm for a line of text."""
    return _bar(colour, INLINE_MM, STRIPE_MM, key)


def _bar(colour: Colour | None, size_mm: tuple[float, float], stripe: float, key: str) -> str:
    words = colour.text if colour else "no colour stated"
    picture = Picture(
        title=words,
        desc=f"Bar in the colours of the wire: {words}.",
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        key=key or f"swatch-{size_mm[0]:g}-{words}",
    )
    edge = OUTLINE_MM / 2
    band = Band(x1=edge, x2=size_mm[0] - edge, y=size_mm[1] / 2, colour=colour)
    draw_bands(picture, [band], height=size_mm[1] - 2 * edge, stripe=stripe)
    return picture.svg()
