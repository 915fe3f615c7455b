"""Tables as CSV files that a spreadsheet opens without running anything in them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

Cell = str | int | float | Decimal | bool | date | None

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def cell_text(cell: Cell) -> str:
    """One cell as text. Text that a spreadsheet could take for a formula gets a leading apostrophe.

    The leading characters are those of OWASP's page on CSV injection (from memory), a line feed added. Numbers are left
    as they are: a number cannot be a formula, and −3 must stay a number.

    >>> cell_text("=1+1"), cell_text(-3), cell_text(None), cell_text(True)
    ("'=1+1", '-3', '', 'yes')
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    if isinstance(cell, (int, float)):
        return repr(cell)
    return "'" + cell if cell.startswith(_STARTS_A_FORMULA) else cell


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A whole CSV file by RFC 4180, in UTF-8 with a byte-order mark, so that Ω and ² open as written.

    Raises ValueError for a row of another length than the header: that is a fault of the program.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([cell_text(cell) for cell in header])
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"a row of {len(row)} cells under a header of {len(header)}")
        writer.writerow([cell_text(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")
