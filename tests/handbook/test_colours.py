"""Contrast of every pair of colours that the handbook uses, light and dark.

WCAG 2.2, 1.4.3 (text 4.5:1) and 1.4.11 (signs and lines that mean something 3:1); the ratio is (L1 + 0.05) / (L2 + 0.05)
with relative luminance of linearised sRGB. #767676 on white is 4.54 in published examples.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TEXT_PAIRS = [
    ("text", "page"), ("quiet", "page"), ("accent", "page"), ("good", "page"), ("bad", "page"), ("text", "wash"),
    ("on-danger", "danger"), ("on-warning", "warning"), ("on-caution", "caution"), ("on-notice", "notice"),
]  # fmt: skip
SIGN_PAIRS = [("firm", "page"), ("accent", "page")]


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.fixture(scope="module")
def sets(root: Path) -> dict[str, dict[str, str]]:
    """Names to colours: the light set, and the two places where the dark set stands."""
    text = (root / "templates/css/book-colours.css").read_text()
    blocks = re.findall(r"(:root[^{]*)\{([^}]*)\}", text)
    named = {selector.strip(): dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", body)) for selector, body in blocks}
    light = named[":root"]
    return {
        "light": light,
        "dark by system": {**light, **named[':root:not([data-light="light"])']},
        "dark by choice": {**light, **named[':root[data-light="dark"]']},
    }


def test_the_formula_gives_the_published_examples() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#0000ff", "#ffffff") == pytest.approx(8.59, abs=0.005)


def test_both_dark_sets_are_one(sets: dict[str, dict[str, str]]) -> None:
    assert sets["dark by system"] == sets["dark by choice"]
    assert sets["light"] != sets["dark by choice"]


@pytest.mark.parametrize("name", ["light", "dark by system"])
def test_text_can_be_read(name: str, sets: dict[str, dict[str, str]]) -> None:
    for text, ground in TEXT_PAIRS:
        assert contrast(sets[name][text], sets[name][ground]) >= 4.5, f"{name}: {text} on {ground}"
    for sign, ground in SIGN_PAIRS:
        assert contrast(sets[name][sign], sets[name][ground]) >= 3, f"{name}: {sign} on {ground}"


def test_style_sheets_take_colours_only_from_the_set(root: Path) -> None:
    rules = re.sub(r"/\*.*?\*/", "", (root / "templates/css/book.css").read_text(), flags=re.DOTALL)
    screen = rules[: rules.index("@media print")]
    loose = re.findall(r"(?<![\w-])#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsl", screen)
    assert loose == []
