"""Text widths against the bundled font files."""

from __future__ import annotations

import pytest

from loomleaf.draw.letters import BOLD, CAP_HEIGHT, DESCENT, EM, MONO_ADVANCE, REGULAR, X_HEIGHT, fit, text_width, wrap

from .drawn import face


@pytest.mark.parametrize(("table", "bold"), [(REGULAR, False), (BOLD, True)])
def test_every_width_is_the_fonts_own(table: dict[int, str], bold: bool) -> None:
    font = face(bold, False)
    names, metrics = font.getBestCmap(), font["hmtx"]
    assert font["head"].unitsPerEm == EM
    for width, letters in table.items():
        for letter in letters:
            assert metrics[names[ord(letter)]][0] == width, letter


def test_heights_are_the_fonts_own() -> None:
    font = face(False, False)
    assert font["OS/2"].sCapHeight / EM == CAP_HEIGHT
    assert font["OS/2"].sxHeight / EM == X_HEIGHT
    assert -font["hhea"].descent / EM == DESCENT


def test_mono_digits_and_units_have_one_width() -> None:
    font = face(False, True)
    names, metrics = font.getBestCmap(), font["hmtx"]
    assert {metrics[names[ord(c)]][0] for c in "0123456789.,−ΩVmA OL"} == {MONO_ADVANCE}


@pytest.mark.parametrize("width", [8.0, 15.0, 30.0, 60.0])
def test_wrapped_lines_fit_and_lose_nothing(width: float) -> None:
    text = "Front left loudspeaker plus, loudspeaker-level input of the amplifier"
    lines = wrap(text, width, 3.2)
    assert all(text_width(line, 3.2) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_fitted_text_says_that_it_is_cut() -> None:
    assert fit("Front left loudspeaker", 100, 3.2) == "Front left loudspeaker"
    short = fit("Front left loudspeaker", 14, 3.2)
    assert short.endswith("…") and text_width(short, 3.2) <= 14
