"""Sheets of the demo shop, rendered once for all tests here, and tools to look into their pages and their structure."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from loomleaf.model.reference import Reference
from loomleaf.model.shop import Shop
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.types import Plan
from loomleaf.problems import Problem
from loomleaf.sheets import RenderedSheet, render_sheet
from tests.conftest import ROOT
from tests.shared import shared

HELD_JOB = "2049"
PLAIN_JOB = "2038"
FLEET_JOB = "2047"
FULL_JOB = "2041"
CAMERA_JOB = "2044"
JOBS = ("2031", "2038", "2041", "2044", "2047", "2049", "2052")


@dataclass(frozen=True, kw_only=True)
class World:
    """The demo shop, planned."""

    shop: Shop
    reference: Reference
    plans: dict[str, Plan]


@cache
def planned() -> World:
    loaded = load_shop(ROOT / "content")
    plans, _ = plan_jobs(loaded)
    return World(shop=loaded.shop, reference=loaded.library.reference, plans=plans)


@cache
def rendered(kind: str, job: str, paper: str) -> tuple[RenderedSheet | None, tuple[Problem, ...]]:
    def make() -> tuple[RenderedSheet | None, tuple[Problem, ...]]:
        world = planned()
        return render_sheet(kind, world.plans[job], world.shop, world.reference, paper=paper)

    return shared(f"sheet-{kind}-{job}-{paper}", make)


@dataclass(kw_only=True)
class Sheet:
    """A rendered sheet, read back."""

    kind: str
    plan: Plan
    html: str
    pdf: bytes
    reader: Any  # a PdfReader: its objects are looked into without types

    @cached_property
    def pages(self) -> list[str]:
        """Each page's text with every run of white space as one space."""
        return [" ".join(page.extract_text().split()) for page in self.reader.pages]

    @cached_property
    def operations(self) -> list[list[tuple[Any, bytes]]]:
        """The drawing operations of each page."""
        streams = (page["/Contents"].get_object() for page in self.reader.pages)
        return [ContentStream(stream, self.reader).operations for stream in streams]


@cache
def sheet(kind: str, job: str, paper: str = "A4") -> Sheet:
    made, problems = rendered(kind, job, paper)
    assert made is not None, [p.line() for p in problems]
    assert problems == ()
    return Sheet(
        kind=kind, plan=planned().plans[job], html=made.html, pdf=made.pdf, reader=PdfReader(io.BytesIO(made.pdf))
    )


SAMPLES = (
    ("fitting", FULL_JOB, "A4"),
    ("record", FULL_JOB, "Letter"),
    ("bench", PLAIN_JOB, "A4"),
    ("bench", HELD_JOB, "Letter"),
    ("bench", FLEET_JOB, "A4"),
    ("summary", FULL_JOB, "A4"),
    ("summary", HELD_JOB, "Letter"),
)


@pytest.fixture(scope="session")
def world() -> World:
    return planned()


@pytest.fixture(params=SAMPLES, ids=["-".join(s) for s in SAMPLES])
def sample(request: pytest.FixtureRequest) -> Sheet:
    """Each sample sheet in turn."""
    return sheet(*request.param)


def structure(reader: Any) -> Iterator[tuple[int, Any]]:
    """Every structure element of a PDF in reading order with its depth."""

    def walk(item: Any, depth: int) -> Iterator[tuple[int, Any]]:
        item = item.get_object()
        if not hasattr(item, "get") or "/S" not in item:
            return
        yield depth, item
        kids = item.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            if not isinstance(kid, int):
                yield from walk(kid, depth + 1)

    root = reader.trailer["/Root"]["/StructTreeRoot"]
    for kid in root["/K"]:
        yield from walk(kid, 0)


def boxes(page: Any, keep: Callable[[Any], object]) -> Iterator[Any]:
    """Every laid-out box of a page for which ``keep`` holds, margin boxes included."""

    def walk(box: Any) -> Iterator[Any]:
        box = getattr(box, "_box", box)
        if keep(box):
            yield box
        for child in getattr(box, "children", ()):
            yield from walk(child)

    yield from walk(page._page_box)
