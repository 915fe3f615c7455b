"""The wire swatch beside every colour word, as markup for a sheet."""

from __future__ import annotations

from markupsafe import Markup

from ..draw.swatch import swatch as draw_swatch
from ..units import Colour


def swatch(colour: Colour | None, key: str) -> Markup:
    """A bar 14 by 5 mm. ``key`` makes its ids the only ones on the sheet."""
    return Markup(draw_swatch(colour, key=f"swatch-{key}"))
