"""The cutting sheet: lengths that follow from the joints, and drawings that a ruler agrees with."""

from __future__ import annotations

import re
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import pytest
from weasyprint.formatting_structure import boxes as kinds

from loomleaf.draw.cards import CARDS
from loomleaf.draw.strip import usable_mm
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.sheets.cutting import (
    PAGE_MM,
    Cut,
    cuts_of,
    cutting_view,
    past_middle_mm,
    strips_of,
    tail_strip,
)
from loomleaf.sheets.views import frame

from .conftest import FLEET_JOB, FULL_JOB, HELD_JOB, JOBS, PLAIN_JOB, World, boxes, sheet
from .strokes import Stroke, bars, strokes
from .test_layout import MM, text_boxes
from .test_layout import laid_out as pages_of

CASES = tuple(product((PLAIN_JOB, FULL_JOB, FLEET_JOB, HELD_JOB), ("A4", "Letter")))
CASE = pytest.mark.parametrize(("job", "paper"), CASES)
PAPER_MM = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9)}


def turned(made: Any) -> list[int]:
    """Indices of the pages on their side."""
    return [i for i, page in enumerate(made.reader.pages) if page.mediabox.width > page.mediabox.height]


def cuts_by_name(world: World, job: str) -> dict[tuple[str, str], Cut]:
    return {(c.circuit, c.tail.name): c for c in cuts_of(world.plans[job], world.shop)}


# --- lengths -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_every_tail_of_every_joint_and_every_spare_once(world: World, job: str) -> None:
    plan = world.plans[job]
    joined = [(c.id, t.name) for c in plan.circuits if c.made for t in c.tails]
    spare = [(s.id, s.tail.name) for s in plan.spares]
    found = [(c.circuit, c.tail.name) for c in cuts_of(plan, world.shop)]
    assert sorted(found) == sorted([*joined, *spare])


@pytest.mark.parametrize("job", JOBS)
def test_two_cut_tails_of_a_joint_make_the_loom_and_the_lap(world: World, job: str) -> None:
    """Plug to plug = the two cut lengths less the lap of the bare ends (computed: a lap of the strip length, or none
    in a barrel with a stop). The length is the loom's own."""
    plan = world.plans[job]
    lengths = {row["from"]: float(row["length_mm"].value) for row in plan.engineering["loom"]["looms"]}
    pairs = 0
    for joint in plan.joints:
        cuts = [c for c in cuts_of(plan, world.shop) if c.circuit == joint.circuit and c.length_mm is not None]
        near = [c for c in cuts if c.tail.lead.lead == joint.position_from]
        far = [c for c in cuts if c.tail.lead.lead != joint.position_from]
        strip = float(joint.strip_mm.value) if joint.strip_mm and isinstance(joint.strip_mm.value, (int, float)) else 0
        lap = 0.0 if joint.method.kind in ("crimp", "sleeve") else strip
        for one, two in product(near, far):
            pairs += 1
            assert one.length_mm is not None and two.length_mm is not None
            assert one.length_mm + two.length_mm - lap == pytest.approx(lengths[joint.position_from])
    assert pairs > 3


def test_the_middle_of_a_joint_is_where_the_plan_puts_it(world: World) -> None:
    plan = world.plans[FULL_JOB]
    cuts = cuts_by_name(world, FULL_JOB)
    for joint in plan.joints:
        for name in joint.tails:
            cut = cuts[joint.circuit, name]
            if name.startswith(f"{joint.position_from}/") and joint.position_mm is not None:
                assert cut.joint_mm == joint.position_mm
                assert cut.length_mm == joint.position_mm + past_middle_mm(joint.method.kind, cut.strip_mm or 0)


def test_what_goes_to_a_stud_or_comes_from_a_module_stays_whole(world: World) -> None:
    plan = world.plans[FULL_JOB]
    for cut in cuts_of(plan, world.shop):
        if cut.tail.lead.side in ("module", "accessory"):
            assert cut.length_mm is None
    text = " ".join(sheet("cutting", FULL_JOB).pages)
    assert "full, 5000 mm" in text and "at its end" in text


@pytest.mark.parametrize("job", JOBS)
def test_a_label_never_lies_on_bare_copper(world: World, job: str) -> None:
    for cut in cuts_of(world.plans[job], world.shop):
        if cut.length_mm is not None:
            assert 0 < cut.label_mm < cut.length_mm - (cut.strip_mm or 0)


def test_a_tail_that_is_too_short_is_told(world: World) -> None:
    from dataclasses import replace

    from loomleaf.sheets import sheet_html

    plan = world.plans[PLAIN_JOB]
    joint = next(j for j in plan.joints if j.position_mm is not None)
    far = replace(joint, position_mm=5000.0)
    html, problems = sheet_html(
        "cutting",
        replace(plan, joints=tuple(far if j is joint else j for j in plan.joints)),
        world.shop,
        world.reference,
    )
    assert html is not None and problems == ()
    assert "Too short as it comes" in html and f"{joint.circuit} " in html.split("Too short as it comes")[1][:60]


@pytest.mark.parametrize("job", JOBS)
def test_tails_share_a_strip_only_when_all_is_alike(world: World, job: str) -> None:
    cuts = cuts_of(world.plans[job], world.shop)
    strips = strips_of(cuts, 250)
    on = [cut for strip in strips for cut in strip.cuts]
    assert sorted(id(c) for c in on) == sorted(id(c) for c in cuts if c.length_mm is not None and c.length_mm <= 500)
    for strip in strips:
        assert (
            len({(c.length_mm, c.strip_mm, c.joint_mm, c.label_mm, c.sleeve, c.tail.lead.lead) for c in strip.cuts})
            == 1
        )
        drawn = tail_strip(strip)
        for cut in strip.cuts:
            assert f"{cut.circuit} {cut.tail.tail.at}" in drawn.label
    assert [s.name for s in strips] == [str(n) for n in range(1, len(strips) + 1)]


# --- what a ruler finds ------------------------------------------------------------------------------------------


@CASE
def test_the_bar_is_100_mm_on_the_first_page_and_on_every_page_of_strips(job: str, paper: str) -> None:
    made = sheet("cutting", job, paper)
    sides = turned(made)
    assert sides
    for index in [0, *sides]:
        assert bars(list(strokes(made.operations[index]))) == [pytest.approx(100.0, abs=0.005)], index
    assert "Measure this first" in made.pages[0]
    for index in sides:
        assert "Measure this first" in made.pages[index] and "at 100 %" in made.pages[index]


@CASE
def test_each_tail_is_drawn_at_its_own_length(world: World, job: str, paper: str) -> None:
    """From the zero line to the heavy mark of the cut, on the finished PDF."""
    made = sheet("cutting", job, paper)
    strips = strips_of(cuts_of(world.plans[job], world.shop), usable_mm(PAGE_MM[paper][0]))
    drawn: list[float] = []
    for index in turned(made):
        found = list(strokes(made.operations[index]))
        zero = zero_line(found)
        marks = [s for s in found if s.upright and abs(s.width - 0.7) < 0.01 and abs(s.length - 8.4) < 0.02]
        drawn += [mark.x1 - zero.x1 for mark in sorted(marks, key=lambda s: -s.bottom)]
    assert drawn == [pytest.approx(strip.cuts[0].length_mm or 0, abs=0.01) for strip in strips]


def zero_line(found: list[Stroke]) -> Stroke:
    lines = [s for s in found if s.upright and abs(s.width - 0.5) < 0.01 and s.length > 30]
    assert len(lines) == 1
    return lines[0]


@CASE
def test_strips_lie_between_head_and_foot(job: str, paper: str) -> None:
    count = 0
    for page in pages_of("cutting", job, paper).pages:
        if page.width < page.height:
            continue
        count += 1
        assert (page.width / MM, page.height / MM) == (
            pytest.approx(PAPER_MM[paper][0], abs=0.1),
            pytest.approx(PAPER_MM[paper][1], abs=0.1),
        )
        pictures = list(boxes(page, lambda b: isinstance(b, kinds.ReplacedBox)))
        assert len(pictures) == 1
        picture = pictures[0]
        foot = min(b.position_y for b in boxes(page, lambda b: named(b, "running-foot")))
        heads = list(boxes(page, lambda b: named(b, "head") or named(b, "band")))
        assert picture.position_y >= max(b.position_y + b.height for b in heads)
        assert picture.position_y + picture.height <= foot + 0.1
        assert picture.position_x / MM >= 19.9
        assert (picture.position_x + picture.width) / MM <= page.width / MM - 11.9
    assert count == len(turned(sheet("cutting", job, paper)))


def named(box: Any, name: str) -> bool:
    element = getattr(box, "element", None)
    return element is not None and name in element.get("class", "").split()


@CASE
def test_the_table_says_what_the_drawing_shows(world: World, job: str, paper: str) -> None:
    made = sheet("cutting", job, paper)
    upright = " ".join(text for i, text in enumerate(made.pages) if i not in turned(made))
    strips = strips_of(cuts_of(world.plans[job], world.shop), usable_mm(PAGE_MM[paper][0]))
    for strip in strips:
        for cut in strip.cuts:
            row = f"{cut.circuit} {cut.tail.tail.at} {cut.tail.colour_text} {cut.length_mm:g} mm"
            assert row in upright, row


@CASE
def test_a_card_for_each_way_of_joining_used_and_no_other(world: World, job: str, paper: str) -> None:
    made = sheet("cutting", job, paper)
    plan = world.plans[job]
    titles = {j.method.title for j in plan.joints if j.method.kind in CARDS}
    assert titles
    for title in titles:
        assert f'"card-title">{title}: ' in made.html
    assert made.html.count('class="card-title"') == len(titles)
    assert {j.method.kind for j in plan.joints} <= set(CARDS)


@CASE
def test_cards_stand_two_to_a_page(job: str, paper: str) -> None:
    """A page with one card is the last one with cards: there is room for two of any kind under one another."""
    counts = [
        sum(1 for _ in boxes(page, lambda b: named(b, "card"))) for page in pages_of("cutting", job, paper).pages
    ]
    held = [count for count in counts if count]
    assert held and all(count == 2 for count in held[:-1])


@CASE
def test_table_and_drawings_call_one_thing_by_one_word(job: str, paper: str) -> None:
    made = sheet("cutting", job, paper)
    assert "Bare</th>" in made.html and "Drawing</th>" in made.html and "Strip</th>" not in made.html
    drawn = " ".join(made.pages[n] for n in turned(made))
    assert re.search(r"cut \d+ mm, bare \d+ mm", drawn) and "Drawings, page 1 of " in drawn
    assert not re.search(r"strip \d|Strip page", drawn)


@CASE
def test_what_stands_in_a_cell_keeps_clear_of_the_next(job: str, paper: str) -> None:
    rows = 0
    for page in pages_of("cutting", job, paper).pages:
        for row in boxes(page, lambda b: isinstance(b, kinds.TableRowBox) and named(b, "grid-row")):
            cells = [cell for cell in row.children if named(cell, "grid-cell")]
            ends = [
                max([b.position_x + b.width for b in inner(cell) if isinstance(b, kinds.TextBox)], default=0.0)
                for cell in cells
            ]
            rows += 1
            for (end, _), (_, following) in pairwise(zip(ends, cells, strict=True)):
                assert following.position_x - end >= 1.9 * MM  # a space and a half of this type
    assert rows > 10


def test_a_held_job_has_its_band_on_pages_of_both_kinds() -> None:
    made = sheet("cutting", HELD_JOB, "Letter")
    assert all("HELD" in text for text in made.pages)
    assert "reasons, on the bench sheet" in made.pages[turned(made)[0]]


@CASE
def test_cell_text_stays_in_its_cell_and_is_10_pt(job: str, paper: str) -> None:
    cells = 0
    for page in pages_of("cutting", job, paper).pages:
        for cell in boxes(page, lambda b: isinstance(b, kinds.TableCellBox) and (named(b, "grid-cell"))):
            cells += 1
            right = cell.position_x + cell.border_width()
            for box in inner(cell):
                if isinstance(box, kinds.TextBox) and box.text.strip():
                    assert box.position_x + box.width <= right + 0.5, box.text
                    assert box.style["font_size"] >= 10 * 96 / 72 - 0.01
        assert list(text_boxes(page))
    assert cells > 30


def inner(box: Any) -> list[Any]:
    found = [box]
    for child in getattr(box, "children", ()):
        found += inner(getattr(child, "_box", child))
    return found


def test_a_joint_of_unknown_bare_length_is_joined_and_not_capped(demo_copy: Path) -> None:
    """A connector put on the shelf without the length its card gives: its tails were taken for spares."""
    stock = demo_copy / "stock.yaml"
    text = stock.read_text("utf-8")
    (line,) = [one for one in text.splitlines() if "closed-end-medium:" in one]
    stock.write_text(text.replace(line, line.replace(" strip_mm: 10,", "")), "utf-8")
    loaded = load_shop(demo_copy)
    plan = plan_jobs(loaded)[0][FULL_JOB]
    (joint,) = [j for j in plan.joints if j.item_id == "closed-end-medium"]
    assert joint.strip_mm is not None and joint.strip_mm.value is None
    shop, reference = loaded.shop, loaded.library.reference
    head, _ = frame(plan, shop, reference, kind="cutting", title="Cutting sheet", paper="A4", fillable=False)
    assert head is not None
    rows = [r for lead in cutting_view(plan, shop, reference, head).leads for r in lead.rows]
    own = [r for r in rows if r.circuit == joint.circuit]
    assert len(own) > 2
    assert {(r.bare, "cap" in r.joint or "cap" in r.sleeve) for r in own} == {("its card", False)}
