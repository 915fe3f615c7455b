"""CSV that a spreadsheet opens without running anything."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.output import csv_bytes
from loomleaf.output.tables import cell_text

# The leading characters named by OWASP, "CSV Injection" (from memory).
DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("http://x.invalid")', "\n=1"]


def read_back(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize("text", DANGEROUS)
def test_text_that_starts_a_formula_is_held_as_text(text: str) -> None:
    assert read_back(csv_bytes(["note"], [[text]]))[1] == ["'" + text]


def test_numbers_stay_numbers() -> None:
    row = read_back(csv_bytes(["a", "b", "c", "d"], [[-3, -0.5, Decimal("-12.50"), 1e-7]]))[1]
    assert [float(cell) for cell in row] == [-3, -0.5, -12.5, 1e-7]


def test_the_other_kinds_of_cell() -> None:
    assert [cell_text(c) for c in (None, True, False, date(2026, 5, 12), "plain")] == [
        "",
        "yes",
        "no",
        "2026-05-12",
        "plain",
    ]


def test_a_header_is_guarded_as_well() -> None:
    assert read_back(csv_bytes(["=x"], []))[0] == ["'=x"]


def test_lines_end_as_rfc_4180_says_and_the_encoding_is_marked() -> None:
    data = csv_bytes(["Ω"], [["2 mm²"]])
    assert data.startswith(b"\xef\xbb\xbf")
    assert data.count(b"\r\n") == 2 and data.endswith(b"\r\n")


def test_a_short_row_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="1 cells under a header of 2"):
        csv_bytes(["a", "b"], [["x"]])


@given(
    st.lists(
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20), min_size=1, max_size=4
    )
)
def test_every_text_comes_back_and_never_starts_a_formula(row: list[str]) -> None:
    header = [f"c{n}" for n in range(len(row))]
    back = read_back(csv_bytes(header, [row]))[1]
    assert [
        cell.removeprefix("'") if cell[:1] == "'" and not text.startswith("'") else cell
        for cell, text in zip(back, row, strict=True)
    ] == row
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in back)
