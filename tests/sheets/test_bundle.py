"""All sheets as one PDF: nothing lost on the way, and still readable to those who do not see it."""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from loomleaf.cli import main
from loomleaf.sheets import sheet_kinds
from loomleaf.sheets.bundle import WORKING_ORDER, Part, bundle, in_working_order, job_bundle
from tests.conftest import ROOT

from .conftest import FLEET_JOB, FULL_JOB, Sheet, planned, rendered, sheet, structure
from .test_pdf_structure import (
    test_all_content_is_tagged_or_an_artifact as all_content_is_tagged_or_an_artifact,
)
from .test_pdf_structure import test_every_font_is_embedded_and_ours as every_font_is_embedded_and_ours
from .test_pdf_structure import test_figures_say_what_they_show as figures_say_what_they_show
from .test_pdf_structure import test_metadata_claims_pdf_ua_1 as metadata_claims_pdf_ua_1
from .test_pdf_structure import test_tagged_with_language_and_shown_title as tagged_with_language_and_shown_title

KINDS = ("summary", "estimate", "bench", "cutting", "labels")


@cache
def parts(job: str) -> tuple[Part, ...]:
    return tuple(Part(kind=k, title=sheet_kinds[k].title, pdf=sheet(k, job).pdf) for k in KINDS)


@cache
def bundled(job: str) -> Sheet:
    world = planned()
    data = job_bundle(reversed(parts(job)), world.plans[job], world.shop)
    return Sheet(kind="all", plan=world.plans[job], html="", pdf=data, reader=PdfReader(io.BytesIO(data)))


@pytest.fixture(params=[FULL_JOB, FLEET_JOB])
def made(request: pytest.FixtureRequest) -> Sheet:
    return bundled(request.param)


def test_the_order_is_that_of_the_work() -> None:
    assert set(sheet_kinds) <= set(WORKING_ORDER), "a new kind of sheet has its place in the order"
    mixed = [Part(kind=k, title=k, pdf=b"") for k in ("record", "bench", "unheard-of", "labels", "summary")]
    assert [p.kind for p in in_working_order(mixed)] == ["summary", "bench", "labels", "record", "unheard-of"]


def test_every_page_of_every_sheet_in_order(made: Sheet) -> None:
    single = [text for kind in KINDS for text in sheet(kind, made.plan.job.job).pages]
    assert made.pages == single
    sizes = [p.mediabox for kind in KINDS for p in sheet(kind, made.plan.job.job).reader.pages]
    assert [p.mediabox for p in made.reader.pages] == sizes


def test_the_structure_is_that_of_the_sheets_one_part_each(made: Sheet) -> None:
    tops = [item for depth, item in structure(made.reader) if depth == 1]
    assert [str(item["/S"]) for item in tops] == ["/Part"] * len(KINDS)
    assert [str(item["/T"]) for item in tops] == [sheet_kinds[k].title for k in KINDS]
    alone: list[str] = []
    for kind in KINDS:
        alone += [str(i["/S"]) for d, i in structure(sheet(kind, made.plan.job.job).reader) if d > 0]
    together = [str(i["/S"]) for d, i in structure(made.reader) if d > 1]
    assert together == alone


def test_content_is_tagged_described_and_in_embedded_type(made: Sheet) -> None:
    """The same checks that each sheet stands by itself."""
    all_content_is_tagged_or_an_artifact(made)
    every_font_is_embedded_and_ours(made)
    figures_say_what_they_show(made)
    metadata_claims_pdf_ua_1(made)
    tagged_with_language_and_shown_title(made)


def test_head_and_foot_are_artifacts_on_every_page_but_label_sheets(made: Sheet) -> None:
    """Label sheets are die-cut to the edge: they have neither."""
    for label, operations in zip(made.reader.page_labels, made.operations, strict=True):
        artifacts = [
            operands[1] for operands, operator in operations if operator == b"BDC" and operands[0] == "/Artifact"
        ]
        running = any(properties.get("/Type") == "/Pagination" for properties in artifacts)
        assert running is (not label.startswith("labels") or label == "labels 1")


def test_each_mark_on_a_page_finds_its_element_by_the_parent_tree(made: Sheet) -> None:
    """ISO 32000-1, 14.7.4.4: StructParents of a page is a key of the parent tree; entry n is the parent of mark n."""
    numbers = made.reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    keys = [int(k) for k in numbers[::2]]
    assert keys == sorted(set(keys))
    entries = dict(zip(keys, numbers[1::2], strict=True))
    used = []
    for page in made.reader.pages:
        used.append(int(page["/StructParents"]))
        parents = entries[used[-1]].get_object()
        for mark, parent in enumerate(parents):
            element = parent.get_object()
            if element is None or not hasattr(element, "get"):
                continue
            kids = element["/K"] if isinstance(element["/K"], list) else [element["/K"]]
            assert mark in [k for k in kids if isinstance(k, int)]
            assert element.raw_get("/Pg").idnum == page.indirect_reference.idnum
        for annotation in page.get("/Annots", []):
            field = annotation.get_object()
            used.append(int(field["/StructParent"]))
            element = entries[used[-1]].get_object()
            assert any(o["/Obj"].indirect_reference.idnum == annotation.idnum for o in object_references(element))
    assert len(used) == len(set(used))


def object_references(element: Any) -> Iterator[Any]:
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object()
        if hasattr(kid, "get") and kid.get("/Type") == "/OBJR":
            yield kid


def test_fields_keep_their_names_below_their_sheet(made: Sheet) -> None:
    fields = made.reader.get_fields()
    assert fields is not None
    wanted = {f"{kind}.{name}" for kind in KINDS for name in sheet(kind, made.plan.job.job).reader.get_fields() or {}}
    assert {name for name in fields if "." in name} == wanted
    shared = made.reader.trailer["/Root"]["/AcroForm"]["/DR"]["/Font"]
    for page in made.reader.pages:
        for annotation in page.get("/Annots", []):
            look = str(annotation.get_object().get("/DA", ""))
            if " Tf" in look:
                assert "/" + look.split(" Tf")[0].split("/")[-1].split()[0] in shared


def test_a_value_written_in_one_sheet_stays_out_of_the_others() -> None:
    """Summary and estimate may have fields of one name; filled in, the two stay two."""
    from pypdf import PdfWriter

    data = bundled(FULL_JOB).pdf
    writer = PdfWriter(io.BytesIO(data))
    fields = PdfReader(io.BytesIO(data)).get_fields() or {}
    name = next(n for n in fields if n.startswith("bench.") and n.endswith("__actual"))
    writer.update_page_form_field_values(list(writer.pages), {name: "12.4"}, auto_regenerate=False)
    out = io.BytesIO()
    writer.write(out)
    found = PdfReader(out).get_fields() or {}
    assert {n for n, f in found.items() if f.get("/V") == "12.4"} == {name}


def test_attachments_are_the_sheets_own(made: Sheet) -> None:
    job = made.plan.job.job
    assert sorted(made.reader.attachments) == sorted(f"{job}-{kind}.json" for kind in KINDS)
    for kind in KINDS:
        name = f"{job}-{kind}.json"
        assert made.reader.attachments[name] == sheet(kind, job).reader.attachments[name]
        assert json.loads(made.reader.attachments[name][0])["job"] == job


def test_headings_open_below_their_sheet(made: Sheet) -> None:
    outline = made.reader.outline
    tops = [item for item in outline if not isinstance(item, list)]
    assert [item.title for item in tops] == [sheet_kinds[k].title for k in KINDS]
    first, starts = 0, []
    for kind in KINDS:
        starts.append(first)
        first += len(sheet(kind, made.plan.job.job).reader.pages)
    assert [made.reader.get_destination_page_number(item) for item in tops] == starts
    nested = [item for item in outline if isinstance(item, list)]
    assert len(nested) == len(KINDS)
    assert not any(
        item.title in {t.title for t in tops} for group in nested for item in group if not isinstance(item, list)
    )


def test_pages_are_named_after_their_sheet(made: Sheet) -> None:
    labels = made.reader.page_labels
    wanted = [f"{kind} {n}" for kind in KINDS for n in range(1, len(sheet(kind, made.plan.job.job).reader.pages) + 1)]
    assert labels == wanted


def test_metadata_say_job_revision_and_tool(made: Sheet) -> None:
    meta, job = made.reader.metadata, made.plan.job
    assert meta.title == f"Job {job.job}: all sheets"
    assert f"revision {job.revision}" in meta["/Keywords"] and made.plan.digest in meta["/Keywords"]
    assert meta.creation_date.date() == job.issued
    xmp = made.reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert f"Job {job.job}: all sheets" in xmp and f"{job.issued.isoformat()}T00:00:00Z" in xmp


def test_nothing_to_bundle() -> None:
    with pytest.raises(ValueError, match="at least one"):
        bundle([], job="1", author="", language="en", keywords="", issued=planned().plans[FULL_JOB].job.issued)


SCRIPT = """
import hashlib, sys
from datetime import date
from pathlib import Path
from loomleaf.sheets.bundle import Part, bundle
parts = [Part(kind=p.stem, title=p.stem, pdf=p.read_bytes()) for p in map(Path, sys.argv[1:])]
data = bundle(parts, job="2041", author="a", language="en", keywords="k", issued=date(2026, 5, 12))
print(hashlib.sha256(data).hexdigest())
"""


def test_the_same_bytes_in_other_processes_with_other_hash_seeds(tmp_path: Path) -> None:
    names = []
    for kind in ("summary", "estimate"):
        made, _ = rendered(kind, FULL_JOB, "A4")
        assert made is not None
        (tmp_path / f"{kind}.pdf").write_bytes(made.pdf)
        names.append(str(tmp_path / f"{kind}.pdf"))
    found = set()
    for seed, zone in (("1", "UTC"), ("2", "Pacific/Auckland")):
        env = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT / "generator")}
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT, *names], env=env, capture_output=True, text=True, check=True
        )
        found.add(run.stdout.strip())
    assert len(found) == 1 and len(found.pop()) == hashlib.sha256().digest_size * 2


@pytest.mark.filterwarnings("ignore:.*sRGB2014:pytest.PytestUnraisableExceptionWarning")  # the engine leaves it open
def test_print_all_writes_the_bundle_beside_the_single_sheets(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["print", "all", "2038", "--shop", str(ROOT / "content"), "--out", str(out)]) == 0
    files = {p.name for p in (out / "job-2038").iterdir()}
    assert {f"2038-{kind}.pdf" for kind in sheet_kinds} | {"2038-all.pdf"} <= files
    pages = sum(len(PdfReader(out / "job-2038" / f"2038-{kind}.pdf").pages) for kind in sheet_kinds)
    assert len(PdfReader(out / "job-2038" / "2038-all.pdf").pages) == pages


def test_a_single_sheet_brings_no_bundle(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["print", "estimate", "2038", "--shop", str(ROOT / "content"), "--out", str(out)]) == 0
    assert not list(out.rglob("*-all.pdf"))
