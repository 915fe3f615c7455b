"""Every PDF of the demo, each kind of every job, read back: cautions, page numbers, job and revision, fonts."""

from __future__ import annotations

import pytest

from loomleaf.sheets import sheet_kinds
from loomleaf.sheets.views import STANDING_CAUTIONS

from .conftest import JOBS, World, sheet

KINDS = tuple(sorted(sheet_kinds))


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("kind", KINDS)
def test_read_back(world: World, kind: str, job: str) -> None:
    made = sheet(kind, job)
    cautions = [world.reference.cautions[name] for name in STANDING_CAUTIONS]
    for caution in cautions:
        for part in (caution.word, caution.title, caution.hazard, caution.result, caution.limit):
            assert flat(part) in made.pages[0]
    for number, (page, text) in enumerate(zip(made.reader.pages, made.pages, strict=True), 1):
        assert made.plan.job.job in text
        assert f"evision {made.plan.job.revision}" in text
        if kind == "labels" and number > 1:  # die-cut pages: their cautions stand on the cover
            assert f"page {number} of {len(made.pages)}" in text
        else:
            assert f"Page {number} of {len(made.pages)}" in text
            assert all(flat(caution.short) in text for caution in cautions)
        fonts = page["/Resources"].get("/Font", {})
        assert fonts or not text
        for font in fonts.values():
            inner = font.get_object()
            inner = inner["/DescendantFonts"][0].get_object() if "/DescendantFonts" in inner else inner
            descriptor = inner["/FontDescriptor"].get_object()
            assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
