"""Every box of every sheet comes back, or is left on the paper on purpose: nothing that is written is lost by oversight."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from loomleaf.collect.fields import LEFT_ON_THE_PAPER, left_on_the_paper, own_name
from loomleaf.collect.pdf import FilledSheet
from loomleaf.collect.readings_file import collected_from, readings_text
from loomleaf.model.readings import Readings
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.types import Plan
from loomleaf.sheets.registry import sheet_html, sheet_kinds
from tests.collect.test_readings_file import typed

FIELD = re.compile(r'<input type="(?P<type>text|checkbox)"[^>]* name="(?P<name>[^"]+)"')


@dataclass(frozen=True, kw_only=True)
class Boxes:
    """One fillable sheet of one job: its fields by name, as text boxes and tick boxes."""

    plan: Plan
    kind: str
    texts: tuple[str, ...]
    ticks: tuple[str, ...]

    def filled(self, texts: dict[str, str], ticks: dict[str, bool]) -> FilledSheet:
        job = self.plan.job
        return FilledSheet(
            file="x.pdf",
            job=job.job,
            revision=job.revision,
            digest=self.plan.digest,
            kind=self.kind,
            registrations=tuple(r.plate for r in job.registrations),
            texts=texts,
            ticks=ticks,
        )

    def came_back(self, texts: dict[str, str], ticks: dict[str, bool]) -> list[Readings]:
        return [one.readings for one in collected_from(self.plan, self.filled(texts, ticks))]

    def bare(self, name: str) -> str:
        """A field's name without the plate of any vehicle of the job."""
        for registration in self.plan.job.registrations:
            own = own_name(name, registration.plate, [])
            if own is not None and own[1]:
                return own[0]
        return name


@pytest.fixture(scope="module")
def loaded(root: Path) -> Loaded:
    return load_shop(root / "content")


@pytest.fixture(scope="module")
def every(loaded: Loaded) -> tuple[Boxes, ...]:
    plans, _ = plan_jobs(loaded)
    return tuple(boxes for plan in plans.values() for boxes in _sheets(plan, loaded))


def _sheets(plan: Plan, loaded: Loaded) -> Iterator[Boxes]:
    for kind, chosen in sheet_kinds.items():
        if not chosen.fillable:
            continue
        html, problems = sheet_html(kind, plan, loaded.shop, loaded.library.reference)
        assert html is not None, problems
        found = [(m["type"], m["name"]) for m in FIELD.finditer(html)]
        yield Boxes(
            plan=plan,
            kind=kind,
            texts=tuple(name for kind_of, name in found if kind_of == "text"),
            ticks=tuple(name for kind_of, name in found if kind_of == "checkbox"),
        )


def test_the_demo_has_boxes_of_every_fillable_kind(every: tuple[Boxes, ...]) -> None:
    assert {b.kind for b in every} == {k for k, chosen in sheet_kinds.items() if chosen.fillable}
    assert len({b.plan.job.job for b in every}) >= 6
    assert all(len(set(b.texts + b.ticks)) == len(b.texts + b.ticks) for b in every)
    assert all(b.texts for b in every)


def test_every_text_box_comes_back_or_is_left_on_purpose(every: tuple[Boxes, ...]) -> None:
    lost = []
    for boxes in every:
        texts = {name: f"w{n}w" for n, name in enumerate(boxes.texts)}
        came = json.dumps([r.model_dump(mode="json") for r in boxes.came_back(texts, {})])
        for name, text in texts.items():
            if not left_on_the_paper(boxes.bare(name)) and text not in came:
                lost.append(f"{boxes.plan.job.job} {boxes.kind}: {name}")
    assert lost == []


def test_every_tick_box_comes_back_or_is_left_on_purpose(every: tuple[Boxes, ...]) -> None:
    """Each box ticked alone: something must be there that is not there without it."""
    lost = []
    for boxes in every:
        for name in boxes.ticks:
            if not left_on_the_paper(boxes.bare(name)) and boxes.came_back({}, {name: True}) == []:
                lost.append(f"{boxes.plan.job.job} {boxes.kind}: {name}")
    assert lost == []


def test_what_is_left_on_the_paper_is_on_a_sheet_and_never_comes_back(every: tuple[Boxes, ...]) -> None:
    unused = set(LEFT_ON_THE_PAPER)
    for boxes in every:
        left = [n for n in (*boxes.texts, *boxes.ticks) if left_on_the_paper(boxes.bare(n))]
        unused -= {p for p in unused for n in left if re.fullmatch(p, boxes.bare(n))}
        texts = {n: "secret" for n in boxes.texts if n in left}
        ticks = {n: True for n in boxes.ticks if n in left}
        assert boxes.came_back(texts, ticks) == [], boxes.kind
    assert unused == set(), "no sheet has such a field any more"


def test_a_new_box_that_nobody_thought_of_would_be_found(every: tuple[Boxes, ...]) -> None:
    boxes = every[0]
    assert boxes.came_back({"colour-of-the-sky__1": "blue"}, {"colour-of-the-sky__2": True}) == []
    assert not left_on_the_paper("colour-of-the-sky__1")


def test_whatever_came_back_is_written_and_read_back_the_same(every: tuple[Boxes, ...]) -> None:
    for boxes in every:
        texts = {name: f"w{n}w" for n, name in enumerate(boxes.texts) if not name.startswith("minutes")}
        for one in boxes.came_back(texts, {name: True for name in boxes.ticks}):
            assert typed(readings_text(one, boxes.plan.checks)) == one


def test_one_vans_answers_never_reach_another(every: tuple[Boxes, ...]) -> None:
    boxes = next(b for b in every if b.kind == "fitting" and len(b.plan.job.registrations) > 1)
    first, second = (r.plate for r in boxes.plan.job.registrations[:2])
    mine = {n: "mine" for n in boxes.texts if own_name(n, second, []) not in (None, (n, False))}
    came = boxes.came_back(mine, {})
    assert mine and [r.registration for r in came] == [second]
    assert came[0].answers["as-found"]["lamps"] == "mine" and came[0].parts[0].serial == "mine"
    assert first not in json.dumps([r.model_dump(mode="json") for r in came])
