"""Structural rules of PDF/UA-1 (ISO 14289-1, seen in secondary text: the veraPDF rule list), held on the finished file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

from loomleaf.plan.check_order import BENCH_STAGES

from .conftest import FLEET_JOB, PLAIN_JOB, Sheet, sheet, structure


def test_tagged_with_language_and_shown_title(sample: Sheet) -> None:
    root = sample.reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  (a PDF boolean object)
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712


def test_metadata_claims_pdf_ua_1(sample: Sheet) -> None:
    xmp = sample.reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert "pdfuaid" in xmp
    assert ">1<" in xmp.split("pdfuaid:part", 1)[1][:20] or '="1"' in xmp.split("pdfuaid:part", 1)[1][:20]


def test_one_title_and_no_skipped_heading(sample: Sheet) -> None:
    levels = [int(item["/S"][2:]) for _, item in structure(sample.reader) if item["/S"] in ("/H1", "/H2", "/H3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    for before, after in pairwise(levels):
        assert after <= before + 1


def test_header_cells_have_a_scope(sample: Sheet) -> None:
    scopes = [item["/A"]["/Scope"] for _, item in structure(sample.reader) if item["/S"] == "/TH"]
    assert set(scopes) <= {"/Column", "/Row"}
    if sample.kind == "bench":
        assert {"/Column", "/Row"} <= set(scopes)


def test_figures_say_what_they_show(sample: Sheet) -> None:
    alts = [str(item.get("/Alt", "")) for _, item in structure(sample.reader) if item["/S"] == "/Figure"]
    assert all(alts)
    if sample.kind == "bench":
        assert "yellow" in alts


def test_all_content_is_tagged_or_an_artifact(sample: Sheet) -> None:
    """Marked content outside the tree (head and foot of the pages) is an artifact; all text stands inside one or the other."""
    in_tree = _numbers_in_tree(sample)
    artifacts = 0
    for index, operations in enumerate(sample.operations):
        open_marks: list[str] = []
        for operands, operator in operations:
            if operator in (b"BDC", b"BMC"):
                if operands[0] == "/Artifact":
                    open_marks.append("artifact")
                    artifacts += 1
                else:
                    assert operator == b"BDC"
                    assert (index, operands[1]["/MCID"]) in in_tree
                    open_marks.append("tagged")
            elif operator == b"EMC":
                open_marks.pop()
            elif operator in (b"Tj", b"TJ"):
                assert open_marks
        assert not open_marks
    assert artifacts > len(sample.reader.pages)


def _numbers_in_tree(made: Sheet) -> set[tuple[int, int]]:
    pages = {page.indirect_reference.idnum: i for i, page in enumerate(made.reader.pages)}
    found = set()
    for _, item in structure(made.reader):
        page = item.raw_get("/Pg").idnum if "/Pg" in item else None
        kids = item.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            if isinstance(kid, int):
                assert page is not None
                found.add((pages[page], int(kid)))
    return found


def test_head_and_foot_are_page_artifacts(sample: Sheet) -> None:
    """The foot's words are never in the structure tree: a reader does not hear them on each page."""
    for operations in sample.operations:
        marks = [
            operands[1].get("/Type")
            for operands, operator in operations
            if operator == b"BDC" and operands[0] == "/Artifact"
        ]
        assert "/Pagination" in marks


def test_every_font_is_embedded_and_ours(sample: Sheet) -> None:
    names = set()
    for page in sample.reader.pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            descendants = font.get("/DescendantFonts")
            descriptor = (descendants[0].get_object() if descendants else font)["/FontDescriptor"]
            assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            names.add(str(font["/BaseFont"]).rpartition("+")[2].lstrip("/"))
    assert names
    assert all(name.startswith("B612") for name in names), names


@pytest.mark.parametrize("job", [PLAIN_JOB, FLEET_JOB])
def test_fields_have_their_own_names_and_words(job: str) -> None:
    made = sheet("bench", job)
    names, words = [], []
    for page in made.reader.pages:
        for annotation in page.get("/Annots", []):
            field = annotation.get_object()
            names.append(str(field["/T"]))
            words.append(str(field["/TU"]))
    assert len(names) == len(set(names))
    assert all(words)
    assert all(set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_") for name in names)
    for check in made.plan.checks:
        if check.stage == "on-the-bench" and not check.yes_no:
            assert (f"{check.key}__actual" in names) is (job == PLAIN_JOB)
    if job == FLEET_JOB:
        for first in [next(c for c in made.plan.checks if c.stage == stage and not c.yes_no) for stage in BENCH_STAGES]:
            for registration in made.plan.job.registrations:
                assert f"{first.key}__{registration.plate.replace(' ', '-')}__actual" in names


def test_the_attached_data_is_what_the_sheet_shows(sample: Sheet) -> None:
    names = list(sample.reader.attachments)
    assert names == [f"{sample.plan.job.job}-{sample.kind}.json"]
    data = json.loads(sample.reader.attachments[names[0]][0])
    assert data["job"] == sample.plan.job.job
    assert data["digest"] == sample.plan.digest
    text = json.dumps(data, ensure_ascii=False)
    customer = sample.plan.job.customer
    assert not customer.contact or customer.contact not in text
    if sample.kind == "bench":
        assert customer.name not in text
        assert [c["id"] for c in data["circuits"]] == [c.id for c in sample.plan.circuits]
        assert [c["number"] for c in data["checks"]] == [c.number for c in sample.plan.checks if c.stage in BENCH_STAGES]


def test_tables_are_built_of_rows_and_cells_alone(sample: Sheet) -> None:
    """ISO 32000-1, 14.8.4.3.4 (seen in secondary text: the validator's rules 7.2-3, 7.2-4, 7.2-10)."""
    inside = {
        "/Table": {"/THead", "/TBody", "/TFoot", "/TR", "/Caption"},
        "/THead": {"/TR"},
        "/TBody": {"/TR"},
        "/TR": {"/TH", "/TD"},
    }
    for _, item in structure(sample.reader):
        allowed = inside.get(item["/S"])
        if allowed is not None:
            assert {kid.get_object()["/S"] for kid in item["/K"]} <= allowed


def test_the_rows_of_a_table_have_the_same_number_of_columns(sample: Sheet) -> None:
    """Rule 7.2-43 of the validator: spans counted, every row of a table is as wide as its first."""
    for _, item in structure(sample.reader):
        if item["/S"] == "/Table":
            widths = _row_widths(item)
            assert len(set(widths)) == 1, widths


def _row_widths(table: Any) -> list[int]:
    rows = [row.get_object() for row in _rows(table)]
    reaching: dict[int, int] = {}  # column → rows that a cell above still covers
    widths = []
    for row in rows:
        column = 0
        cells = [cell.get_object().get("/A", {}) for cell in row["/K"]]
        covered = {c for c, left in reaching.items() if left > 0}
        reaching = {c: left - 1 for c, left in reaching.items() if left > 1}
        for attributes in cells:
            while column in covered:
                column += 1
            for _ in range(int(attributes.get("/ColSpan", 1))):
                if int(attributes.get("/RowSpan", 1)) > 1:
                    reaching[column] = int(attributes["/RowSpan"]) - 1
                column += 1
        while column in covered:
            column += 1
        widths.append(column)
    return widths


def _rows(item: Any) -> Iterator[Any]:
    for kid in item["/K"]:
        kid = kid.get_object()
        if kid["/S"] == "/TR":
            yield kid
        elif kid["/S"] in ("/THead", "/TBody", "/TFoot"):
            yield from _rows(kid)
