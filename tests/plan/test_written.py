"""Figures as people write them on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.plan.written import Written, read_written

OPEN = Written(value=None, unit="Ω")


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12.4 V", 12.4, "V"),
        ("12,4", 12.4, ""),
        ("12.4V", 12.4, "V"),
        (" 12.4  volts ", 12.4, "V"),
        ("12.4 V DC", 12.4, "V"),
        ("12.4 vdc", 12.4, "V"),
        ("12.", 12.0, ""),
        (".3 ohm", 0.3, "Ω"),
        (",3", 0.3, ""),
        ("0.3 Ω", 0.3, "Ω"),  # U+03A9
        ("0.3 Ω", 0.3, "Ω"),  # U+2126, the ohm sign
        ("230 mV", 0.23, "V"),
        ("−0.02 V", -0.02, "V"),
        ("-0.02", -0.02, ""),
        ("18 mA", 0.018, "A"),
        ("4.7 k", 4700.0, "Ω"),
        ("4.7 kΩ", 4700.0, "Ω"),
        ("1.2 M", 1.2e6, "Ω"),
        ("1.2 MΩ", 1.2e6, "Ω"),
        ("5 Mohm", 5e6, "Ω"),
        ("5 mohm", 0.005, "Ω"),
        ("12·4", 12.4, ""),  # a raised point
        ("12·4 V", 12.4, "V"),
        ("12.4 V.", 12.4, "V"),  # a full stop behind it
        ("1k2", 1200.0, "Ω"),  # IEC 60062, a letter in the point's place (from memory)
        ("4R7", 4.7, "Ω"),
        ("1M5 Ω", 1.5e6, "Ω"),
        ("１２．４ Ｖ", 12.4, "V"),  # full-width
        ("١٢٫٤", 12.4, ""),  # Arabic figures and their decimal sign
        ("2.0 V AC", None, "?"),
        ("2.0 Vac", 2.0, "Vac"),
    ],
)
def test_what_people_write(text: str, value: float | None, unit: str) -> None:
    written = read_written(text)
    if unit == "?":
        assert written is None or written.unit == "Vac"
        return
    assert written is not None
    assert written.value == pytest.approx(value)
    assert written.unit == unit


@pytest.mark.parametrize("text", ["OL", "ol", "0L", "O.L", "0.L", "open", "∞", "OL Ω", "OL M", "OVL", "O L"])
def test_open_is_written_many_ways(text: str) -> None:
    assert read_written(text) == OPEN


@pytest.mark.parametrize(
    "text",
    ["", "abc", "12.4.1", "12 4", "V", "12 bananas", "twelve", ".", "1e5", "+-3", "12V5", "?", "12²", "①", "12½", "1k2k", "~12"],
)
def test_what_cannot_be_told_is_not_guessed(text: str) -> None:
    assert read_written(text) is None


@given(st.text(max_size=40))
def test_no_text_breaks_it(text: str) -> None:
    written = read_written(text)
    assert written is None or written.unit in ("", "V", "Vac", "A", "Ω")


@given(st.integers(-2000, 2000).map(lambda n: n / 100), st.sampled_from(["{} V", "{}V", "{}", "{} volts"]))
def test_a_figure_comes_back_as_it_was_written(value: float, form: str) -> None:
    for text in (form.format(f"{value:.2f}"), form.format(f"{value:.2f}".replace(".", ","))):
        written = read_written(text)
        assert written is not None and written.value == pytest.approx(value)
