"""A meter whose calibration is overdue on the day of the sheet is not one to use: bench and fitting sheet say so."""

from __future__ import annotations

import re

import pytest

from loomleaf.sheets import sheet_html

from .conftest import PLAIN_JOB, World


@pytest.mark.parametrize("kind", ["bench", "fitting"])
def test_an_overdue_meter_is_said_to_be_overdue(world: World, kind: str) -> None:
    plan = world.plans[PLAIN_JOB]
    day = plan.job.issued
    before = day.replace(year=day.year - 1).isoformat()
    for due, overdue in ((before, True), (day.isoformat(), False)):
        shop = world.shop.model_copy(update={"instruments": ({"name": "Meter 9", "does": "volts", "due": due},)})
        html, _ = sheet_html(kind, plan, shop, world.reference)
        assert html is not None
        text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))
        assert "Meter 9" in text
        assert (f"calibration overdue since {before}: use another" in text) == overdue
