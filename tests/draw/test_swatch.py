"""Wire swatches and bands: sizes, stripes that survive grey and one-bit prints, the word in the picture."""

from __future__ import annotations

import pytest

from loomleaf.draw.svg import INK, PAPER, Picture
from loomleaf.draw.swatch import (
    BAND_MM,
    FILLS,
    STRIPE_PATTERNS,
    SWATCH_MM,
    Band,
    draw_bands,
    fill_of,
    luminance,
    swatch,
    swatch_inline,
)
from loomleaf.units import COLOURS, Colour, parse_colour

from .drawn import assert_well_made, boxes, root, strokes

PAIRS = [Colour(base=base, stripe=stripe) for base in COLOURS for stripe in COLOURS if base != stripe]


def test_every_colour_word_has_a_fill_and_a_stripe_pattern() -> None:
    assert set(FILLS) == set(COLOURS) == set(STRIPE_PATTERNS)
    assert len(set(FILLS.values())) == len(COLOURS)


def test_broken_stripes_differ_from_one_another() -> None:
    broken = [pattern for word, pattern in STRIPE_PATTERNS.items() if word not in ("black", "white")]
    assert len(set(broken)) == len(broken)
    assert all(length >= 0.7 for pattern in broken for length in pattern)
    assert all(sum(pattern) <= SWATCH_MM[0] for pattern in broken)  # a whole turn of the pattern shows on a swatch


@pytest.mark.parametrize("words", ["yellow", "white/black", "light green/dark blue", "clear/silver"])
def test_a_swatch_is_14_by_5_mm_and_says_its_colours(words: str) -> None:
    colour = parse_colour(words)
    svg = swatch(colour)
    assert_well_made(svg)
    assert root(svg).attrib["width"] == "14mm" and root(svg).attrib["height"] == "5mm"
    assert root(svg)[0].text == colour.text
    outlined = [stroke for stroke in strokes(svg) if stroke.width]
    assert [stroke.width for stroke in outlined] == [0.25]
    x, y, width, height = boxes(outlined[0].d)[0]
    assert (x - 0.125, y - 0.125, width + 0.25, height + 0.25) == pytest.approx((0, 0, 14, 5), abs=0.011)


def test_no_colour_is_an_empty_bar_with_a_broken_outline() -> None:
    svg = swatch(None)
    assert_well_made(svg)
    assert [stroke.dash for stroke in strokes(svg)] == ["1.5 1"]
    assert "no colour stated" in svg


def test_a_stripe_lies_in_the_middle_wide_enough_in_a_casing_that_shows() -> None:
    for colour in PAIRS:
        picture = Picture(title="t", desc="a band", width_mm=60, height_mm=10)
        draw_bands(picture, [Band(x1=2, x2=58, y=5, colour=colour)])
        band, casing, stripe = strokes(picture.svg())
        _, top, _, height = boxes(band.d)[0]
        assert height == BAND_MM >= 2.0, colour  # base band at least 2.0 mm
        assert boxes(stripe.d), colour
        for _, y, _, tall in boxes(stripe.d):
            assert tall >= 0.7 and y + tall / 2 == pytest.approx(5, abs=0.011), colour
        _, casing_top, _, casing_height = boxes(casing.d)[0]
        assert casing_top - top - 0.125 >= 0.7, colour  # base between the casing and the outline
        assert casing_top + casing_height / 2 == pytest.approx(5, abs=0.011), colour
        # WCAG 2.2, 1.4.11: 3:1 for graphics that carry meaning (the formula from memory)
        light, dark = sorted(
            (luminance(fill_of(colour.base)), luminance({INK: "#000000", PAPER: "#ffffff"}[casing.fill])), reverse=True
        )
        assert (light + 0.05) / (dark + 0.05) >= 3, colour


def test_the_small_bar_has_the_same_stripe() -> None:
    svg = swatch_inline(parse_colour("blue/red"))
    assert_well_made(svg)
    assert {fill_of("blue"), fill_of("red")} <= {stroke.fill for stroke in strokes(svg)}


def test_luminance_of_grey_50_is_the_published_value() -> None:
    # WCAG 2.2 definition of relative luminance: sRGB 128 gives 0.2159 (computed by hand from the formula)
    assert luminance("#808080") == pytest.approx(((128 / 255 + 0.055) / 1.055) ** 2.4, abs=1e-6)


def test_no_wire_lies_over_the_stripe_of_another_drawn_before_it() -> None:
    picture = Picture(title="t", desc="bands", width_mm=60, height_mm=200)
    colours = [
        parse_colour(words)
        for words in ("brown/white", "blue/white", "brown/black", "white/black", "blue/red", "yellow/black")
    ]
    draw_bands(picture, [Band(x1=2, x2=58, y=5 + 10 * n, colour=colour) for n, colour in enumerate(colours)])
    drawn = strokes(picture.svg())
    for n, colour in enumerate(colours):
        over = [s.fill for s in drawn for x, y, w, h in boxes(s.d) if x <= 30 <= x + w and y <= 5 + 10 * n <= y + h]
        assert over[0] == fill_of(colour.base) and over[-1] in (fill_of(colour.stripe), INK, PAPER) and len(over) >= 2
