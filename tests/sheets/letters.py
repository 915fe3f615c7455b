"""The letters of a PDF's page as they are drawn: how large, and how tall a small letter of the embedded face is."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import Any

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]


@dataclass(frozen=True, kw_only=True)
class Letter:
    """A letter that is no space. ``pt`` is the size of its type, ``x_mm`` the x-height of its face at that size."""

    text: str
    pt: float
    x_mm: float


def letters(page: Any) -> list[Letter]:
    """The letters of a page in the order in which they are drawn."""
    fonts = [font.get_object() for font in page["/Resources"].get("/Font", {}).values()]
    x_height = {font["/BaseFont"]: _x_height(font) for font in fonts}
    found: list[Letter] = []

    def take(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if font is not None:
            pt = round(float(size) * abs(cm[3] * tm[3]), 2)
            x_mm = pt / 72 * 25.4 * x_height[font["/BaseFont"]]
            found.extend(Letter(text=c, pt=pt, x_mm=x_mm) for c in text if not c.isspace())

    page.extract_text(visitor_text=take)
    return found


def of_words(found: list[Letter], words: str) -> list[list[Letter]]:
    """The letters of each place where some words stand, whatever the lines that they are broken over."""
    run, wanted = "".join(letter.text for letter in found), "".join(words.split())
    return [found[m.start() : m.end()] for m in re.finditer(re.escape(wanted), run)]


def _x_height(font: Any) -> float:
    """The x-height of an embedded face as a part of its em, from its own OS/2 table."""
    inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
    descriptor = inner["/FontDescriptor"]
    key = next(k for k in ("/FontFile3", "/FontFile2") if k in descriptor)
    with TTFont(io.BytesIO(descriptor[key].get_object().get_data())) as face:
        return float(face["OS/2"].sxHeight) / float(face["head"].unitsPerEm)
