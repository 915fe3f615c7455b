"""A printed bench sheet, and a pen."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import pytest

from loomleaf.check.library import Library
from loomleaf.model.shop import Shop
from loomleaf.plan.types import Check, Plan
from loomleaf.sheets.pdf import close
from loomleaf.sheets.registry import render_sheet
from loomleaf.sheets.views import field_name
from tests.plan.shops import PROOFS, planned


@dataclass(frozen=True, kw_only=True)
class Printed:
    """A plan, its shop, and its bench sheet as PDF."""

    plan: Plan
    library: Library
    pdf: bytes

    @property
    def checks(self) -> tuple[Check, ...]:
        return self.plan.checks


def printed(**words: object) -> Printed:
    plan, library = planned(**words)
    shop = library.shop.value if library.shop else Shop(name="")
    sheet, problems = render_sheet("bench", plan, shop, library.reference)
    assert sheet is not None, [p.line() for p in problems]
    return Printed(plan=plan, library=library, pdf=sheet.pdf)


@pytest.fixture(scope="session", autouse=True)
def fonts_let_go() -> Iterator[None]:
    """The layout engine's fonts are let go before the program ends."""
    yield
    close()


@pytest.fixture(scope="session")
def sheet() -> Printed:
    return printed(job=PROOFS)


@pytest.fixture(scope="session")
def fleet() -> Printed:
    return printed(plates="[AB1, CD 2]", shop_more="two_signatures: yes\n")


def fill(pdf: bytes, values: Mapping[str, str | bool]) -> bytes:
    """The sheet as somebody filled it in and saved it."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import NameObject, TextStringObject

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    left = dict(values)
    waiting = [(entry, "") for entry in writer._root_object["/AcroForm"]["/Fields"]]  # type: ignore[index]
    while waiting:
        entry, above = waiting.pop()
        item = entry.get_object()
        name = above + str(item.get("/T"))
        if name not in left:
            waiting += [(kid, f"{name}.") for kid in item.get("/Kids", ()) if "/T" in kid.get_object()]
            continue
        value = left.pop(name)
        if isinstance(value, bool):
            item[NameObject("/V")] = NameObject("/on" if value else "/Off")
            item[NameObject("/AS")] = NameObject("/on" if value else "/Off")
        else:
            item[NameObject("/V")] = TextStringObject(value)
    assert not left, f"the sheet has no field {sorted(left)[:3]}"
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def good(check: Check) -> str:
    """A reading inside a check's limits, as people write it."""
    if check.unit == "Ω" and check.high is None:
        return "OL"
    low = check.low if check.low is not None else 0.0
    value = (low + check.high) / 2 if check.high is not None else low + 1
    return f"{value:.2f} {check.unit}"


def all_good(printed: Printed, plate: str = "") -> dict[str, str | bool]:
    """Every field of the bench sheet's checks filled in with what is right."""
    from loomleaf.plan.check_order import BENCH_STAGES

    out: dict[str, str | bool] = {}
    for check in printed.checks:
        if check.stage not in BENCH_STAGES:
            continue
        parts = [check.key, plate] if plate else [check.key]
        if check.yes_no:
            out[field_name(*parts, "pass")] = True
        else:
            out[field_name(*parts, "actual")] = good(check)
    return out
