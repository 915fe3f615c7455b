"""Labels: the right words on the right label, folded round the real wire, nothing over a die cut (rule 39)."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from loomleaf.calc.conductor import outside
from loomleaf.draw.letters import text_width
from loomleaf.model.shop import LabelSheet
from loomleaf.places import templates_folder
from loomleaf.sheets import render_sheet
from loomleaf.sheets.labels import (
    INSET_MM,
    LEADING,
    LEAST_FACE_MM,
    LEAST_SIZE_MM,
    PAPER_MM,
    Label,
    LabelView,
    face_lines,
    geometry,
    labels_of,
    laid_out,
    place,
    sheet_problems,
)
from loomleaf.sheets.views import STANDING_CAUTIONS

from .conftest import FLEET_JOB, FULL_JOB, HELD_JOB, JOBS, PLAIN_JOB, World, boxes, sheet
from .strokes import bars, strokes
from .test_layout import MM, text_boxes
from .test_layout import laid_out as pages_of

PAPERS = ("A4", "Letter")
CASES = tuple(product((PLAIN_JOB, FULL_JOB, FLEET_JOB, HELD_JOB), PAPERS))
CASE = pytest.mark.parametrize(("job", "paper"), CASES)


def is_labels(page: Any) -> bool:
    return bool(list(boxes(page, lambda b: _has(b, "label-page")))) and not list(
        boxes(page, lambda b: _has(b, "label-grid"))
    )


def _has(box: Any, name: str) -> bool:
    element = getattr(box, "element", None)
    return element is not None and name in element.get("class", "").split()


def inner(box: Any) -> list[Any]:
    found = [box]
    for child in getattr(box, "children", ()):
        found += inner(getattr(child, "_box", child))
    return found


# --- what they say -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_a_label_for_every_tail_every_joint_every_spare_and_the_lead(world: World, job: str) -> None:
    plan = world.plans[job]
    labels = labels_of(plan)
    made = [c for c in plan.circuits if c.made]
    assert [(x.name, x.code) for x in labels if x.kind == "tail"] == [(c.id, t.tail.at) for c in made for t in c.tails]
    assert sorted(x.name for x in labels if x.kind == "joint") == sorted(j.id for j in plan.joints)
    assert [(x.name, x.code) for x in labels if x.kind == "spare"] == [(s.id, s.tail.tail.at) for s in plan.spares]
    assert [x.name for x in labels if x.kind == "lead"] == [f"Lead {job}"]
    for label in labels:
        if label.kind in ("tail", "joint"):
            circuit = plan.circuit(label.name)
            assert circuit is not None and label.titles[0] == circuit.title


def test_the_code_finds_one_row_of_the_bench_sheet(world: World) -> None:
    for plan in world.plans.values():
        names = [(x.name, x.code) for x in labels_of(plan) if x.kind in ("tail", "spare")]
        by_circuit = {(c.id, t.name) for c in plan.circuits if c.made for t in c.tails}
        assert len(names) == len(by_circuit) + len(plan.spares)
        bench = " ".join(sheet("bench", PLAIN_JOB).pages)
        if plan.job.job == PLAIN_JOB:
            assert all(name in bench for name, _ in names)


@CASE
def test_number_and_function_stand_on_both_faces(world: World, job: str, paper: str) -> None:
    plan = world.plans[job]
    geo = geometry(world.shop, paper)
    for label in labels_of(plan):
        view = laid_out(label, geo, held=plan.held, widest_mm=2.0)
        words = [[line.text for line in face.lines] for face in view.faces]
        assert all(one == words[0] for one in words)
        assert len(words) == (2 if view.fold_left_mm is not None else 1)
        text = " ".join(words[0])
        assert label.name in text and label.code in text
        if label.kind != "lead":
            said = text.replace(label.name, "", 1)
            assert any(word.rstrip("…") in said for title in label.titles for word in title.split() if len(word) > 2)
        assert ("HELD" in words[0]) is plan.held


def test_no_customer_data_anywhere_in_the_file(world: World) -> None:
    for job in (FULL_JOB, FLEET_JOB):
        made = sheet("labels", job)
        data = made.reader.attachments[f"{job}-labels.json"][0].decode()
        everything = " ".join([*made.pages, data, *(str(v) for v in made.reader.metadata.values()), made.html])
        customer = made.plan.job.customer
        for word in (customer.name, customer.contact, *(r.plate for r in made.plan.job.registrations)):
            assert word and word not in everything
        assert json.loads(data)["vehicles"] == len(made.plan.job.registrations)


def test_a_fleet_gets_a_set_for_each_vehicle_by_number(world: World) -> None:
    plan = world.plans[FLEET_JOB]
    text = " ".join(sheet("labels", FLEET_JOB).pages)
    one = len(labels_of(plan))
    for n in range(1, 7):
        assert text.count(f"vehicle {n} of 6") == 1
    assert f"{one} labels for each vehicle" in text
    placed = sum(
        len(list(boxes(page, lambda b: _has(b, "label")))) for page in pages_of("labels", FLEET_JOB, "A4").pages
    )
    assert placed == 6 * one


# --- where the words lie -----------------------------------------------------------------------------------------


@CASE
def test_two_faces_and_the_way_round_the_wire_make_up_the_label(world: World, job: str, paper: str) -> None:
    """2 × face + π × D (computed): D is the outside diameter of the size's row in the table."""
    geo = geometry(world.shop, paper)
    plan = world.plans[job]
    sizes = {(c.id, t.tail.at): t.tail.size for c in plan.circuits for t in c.tails}
    flags = 0
    for label in labels_of(plan):
        view = laid_out(label, geo, held=False, widest_mm=2.0)
        if label.kind == "tail":
            size = sizes[label.name, label.code]
            assert size is not None and label.wire_mm == outside(size).value
        if view.fold_left_mm is not None and view.fold_width_mm is not None:
            flags += 1
            assert label.wire_mm is not None
            assert view.fold_width_mm == pytest.approx(math.pi * label.wire_mm)
            assert 2 * view.fold_left_mm + view.fold_width_mm == pytest.approx(geo.width_mm)
            left, right = view.faces
            assert left.left_mm >= INSET_MM and right.left_mm + right.width_mm <= geo.width_mm - INSET_MM + 1e-6
            assert left.left_mm + left.width_mm <= view.fold_left_mm
            assert right.left_mm >= view.fold_left_mm + view.fold_width_mm
    assert flags > 10


def test_a_cable_too_thick_for_a_flag_gets_a_label_along_it(world: World) -> None:
    label = Label(kind="tail", name="S1", code="battery", titles=("Constant supply",), wire_mm=5.9)
    small = laid_out(label, LabelSheet(), held=False, widest_mm=2.0)
    assert (38.1 - math.pi * 5.9) / 2 - INSET_MM < LEAST_FACE_MM
    assert small.fold_left_mm is None and len(small.faces) == 1
    wide = laid_out(label, geometry(world.shop, "Letter"), held=False, widest_mm=2.0)
    assert wide.fold_left_mm is not None and len(wide.faces) == 2
    assert "lies along the cable: S1 battery" in " ".join(sheet("labels", FULL_JOB).pages)


def test_a_wire_of_unknown_thickness_leaves_the_most_room_and_is_told(world: World) -> None:
    plan = world.plans[PLAIN_JOB]
    circuit = plan.circuits[0]
    tail = circuit.drivers[0]
    bare = replace(tail, tail=tail.tail.model_copy(update={"size": None}))
    changed = replace(plan, circuits=(replace(circuit, drivers=(bare, *circuit.drivers[1:])), *plan.circuits[1:]))
    label = next(x for x in labels_of(changed) if x.kind == "tail")
    assert label.wire_mm is None
    assert laid_out(label, LabelSheet(), held=False, widest_mm=3.0).fold_width_mm == pytest.approx(3 * math.pi)
    made, problems = render_sheet("labels", changed, world.shop, world.reference)
    assert made is not None and problems == ()
    text = re.sub(r"<[^>]*>", "", made.html)
    assert f"No diameter is known for {circuit.id} {tail.tail.at}" in text


@CASE
def test_every_word_lies_inside_its_die_cut_by_1_5_mm_and_off_the_fold(world: World, job: str, paper: str) -> None:
    """Measured on the layout engine's own boxes, so that it is the ink that counts and not the plan of it."""
    geo = geometry(world.shop, paper)
    words = 0
    for page in pages_of("labels", job, paper).pages:
        if not is_labels(page):
            continue
        for label in boxes(page, lambda b: _has(b, "label")):
            x, y = label.position_x / MM, label.position_y / MM
            row, column = (y - geo.top_mm) / geo.pitch_y_mm, (x - geo.left_mm) / geo.pitch_x_mm
            assert row == pytest.approx(round(row), abs=0.002) and column == pytest.approx(round(column), abs=0.002)
            folds = [b for b in inner(label) if _has(b, "fold")]
            for box in inner(label):
                text = getattr(box, "text", "").strip()
                if not text:
                    continue
                words += 1
                left, right = box.position_x / MM, (box.position_x + box.width) / MM
                assert left >= x + INSET_MM - 0.02 and right <= x + geo.width_mm - INSET_MM + 0.02, text
                size = box.style["font_size"] / MM
                middle = (box.position_y + box.height / 2) / MM
                assert middle - size / 2 >= y + INSET_MM - 0.3, text
                assert middle + size / 2 <= y + geo.height_mm - INSET_MM + 0.3, text
                for fold in folds:
                    begins, ends = fold.position_x / MM, (fold.position_x + fold.border_width()) / MM
                    assert right <= begins + 0.02 or left >= ends - 0.02, text
    assert words > 50


def test_capitals_are_at_least_2_mm_tall() -> None:
    """Cap height from the bundled faces' own OS/2 tables."""
    for name in ("B612-Regular.otf", "B612-Bold.otf"):
        with TTFont(templates_folder() / "fonts" / name) as font:
            assert LEAST_SIZE_MM * font["OS/2"].sCapHeight / font["head"].unitsPerEm >= 2.0
    for job in (FULL_JOB, HELD_JOB):
        for page in pages_of("labels", job, "A4").pages:
            for label in boxes(page, lambda b: _has(b, "label")):
                for box in inner(label):
                    if getattr(box, "text", "").strip():
                        assert box.style["font_size"] / MM >= LEAST_SIZE_MM - 0.001


WORDS = st.text(alphabet="abcdefghiklmnoprstuvwMW ", min_size=1, max_size=90).filter(lambda t: bool(t.strip()))


@settings(max_examples=300, deadline=None)
@given(
    title=WORDS,
    short=st.one_of(st.just(""), WORDS),
    code=st.text(alphabet="AM.0123456789-battery", min_size=1, max_size=40),
    width=st.floats(11, 60),
    height=st.floats(13, 30),
    held=st.booleans(),
)
def test_words_too_long_are_set_smaller_or_cut_and_never_run_over(
    title: str, short: str, code: str, width: float, height: float, held: bool
) -> None:
    titles = tuple(dict.fromkeys(t for t in (title, short) if t))
    label = Label(kind="tail", name="L12", code=code, titles=titles, extra=("at 102 mm\n102 mm",))
    lines = face_lines(label, width, height, held=held)
    for text, size, bold in lines:
        assert text_width(text, size, bold=bold) <= width + 1e-6
        assert size >= LEAST_SIZE_MM
    assert sum(size * LEADING for _, size, _ in lines) <= height + 1e-6
    assert lines[0][0].startswith("L12")
    if held:
        assert lines[-1][0] == "HELD"
    shown = " ".join(text for text, _, _ in lines)
    whole = any(" ".join(t.split()) in " ".join(shown.split()) for t in titles)
    assert whole or "…" in shown, "what is left out is seen to be left out"


def test_a_long_name_is_cut_where_everybody_sees_it() -> None:
    label = Label(kind="tail", name="C9", code="A.1", titles=("Extraordinarilylongfunctionname without a short one",))
    lines = face_lines(label, 14.0, 18.2, held=False)
    assert any(text.endswith("…") for text, _, _ in lines)


# --- sheets ------------------------------------------------------------------------------------------------------


def view(n: int) -> LabelView:
    return LabelView(left_mm=0, top_mm=n, width_mm=1, height_mm=1, faces=())


@pytest.mark.parametrize(
    ("start", "count", "on_sheets", "first_at"),
    [
        (1, 65, [65], (4.75, 10.7)),
        (1, 66, [65, 1], (4.75, 10.7)),
        (7, 65, [59, 6], (4.75 + 40.6, 10.7 + 21.2)),
        (65, 2, [1, 1], (4.75 + 4 * 40.6, 10.7 + 12 * 21.2)),
    ],
)
def test_labels_fill_the_sheets_from_the_start_position(
    start: int, count: int, on_sheets: list[int], first_at: tuple[float, float]
) -> None:
    pages = place([view(n) for n in range(count)], LabelSheet(start=start))
    assert [len(page) for page in pages] == on_sheets
    assert (pages[0][0].left_mm, pages[0][0].top_mm) == pytest.approx(first_at)
    if len(pages) > 1:
        assert (pages[1][0].left_mm, pages[1][0].top_mm) == pytest.approx((4.75, 10.7))


@pytest.mark.parametrize(
    ("change", "paper", "said"),
    [
        ({}, "A4", ""),
        ({}, "Letter", ""),
        ({"start": 65}, "A4", ""),
        ({"start": 66}, "A4", "start is 66"),
        ({"start": 0}, "A4", "start is 0"),
        ({"columns": 6}, "A4", "reach"),
        ({"top_mm": 25.0}, "A4", "reach"),
        ({"pitch_x_mm": 30.0}, "A4", "over one another"),
        ({"rows": 0}, "A4", "no labels"),
        ({"height_mm": 8.0}, "A4", "at least"),
        ({"width_mm": 20.0}, "A4", "at least"),
    ],
)
def test_a_label_sheet_that_cannot_be_printed_is_refused(
    world: World, change: dict[str, float], paper: str, said: str
) -> None:
    name = "labels_letter" if paper == "Letter" else "labels"
    shop = world.shop.model_copy(update={name: geometry(world.shop, paper).model_copy(update=change)})
    problems = sheet_problems(world.plans[PLAIN_JOB], shop, paper)
    if not said:
        assert problems == ()
        return
    assert {p.code for p in problems} == {"label-sheet"}
    assert any(said in p.message for p in problems)
    assert all(name in p.hint for p in problems)
    made, found = render_sheet("labels", world.plans[PLAIN_JOB], shop, world.reference, paper=paper)
    assert made is None and found == problems


@CASE
def test_the_cover_is_one_page_with_the_cautions_and_the_steps(world: World, job: str, paper: str) -> None:
    pages = sheet("labels", job, paper).pages
    for name in STANDING_CAUTIONS:
        caution = world.reference.cautions[name]
        assert " ".join(caution.hazard.split()) in pages[0] and " ".join(caution.short.split()) in pages[0]
    assert "Lay a label without dashed lines along its cable." in pages[0]
    assert "To print on:" in pages[0]
    assert "Measure this first" in pages[1] and "How to print" not in pages[1]
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text.lower()
        assert job in text and f"revision {world.plans[job].job.revision}".lower() in text.lower()


@pytest.mark.parametrize("paper", PAPERS)
def test_the_bar_is_100_mm_on_the_cover_and_on_the_test_page(paper: str) -> None:
    made = sheet("labels", FULL_JOB, paper)
    for operations in made.operations[:2]:
        assert bars(list(strokes(operations))) == [pytest.approx(100.0, abs=0.005)]
    assert all(bars(list(strokes(operations))) == [] for operations in made.operations[2:])


@pytest.mark.parametrize("paper", PAPERS)
def test_the_test_page_has_a_frame_round_every_label(world: World, paper: str) -> None:
    """Frames as a ruler finds them, from the paper's left and top edge."""
    geo = geometry(world.shop, paper)
    height = PAPER_MM[paper][1]
    found = {
        (round(s.left, 1), round(height - s.y1, 1), round(s.length, 1))
        for s in strokes(sheet("labels", FULL_JOB, paper).operations[1])
        if s.level
    }
    for row, column in product(range(geo.rows), range(geo.columns)):
        left, top = geo.left_mm + column * geo.pitch_x_mm, geo.top_mm + row * geo.pitch_y_mm
        assert any(
            abs(x - left) < 0.11 and abs(y - top) < 0.11 and abs(w - geo.width_mm) < 0.11 for x, y, w in found
        ), (row, column)


def test_a_held_job_says_so_on_every_page_and_every_label() -> None:
    made = sheet("labels", HELD_JOB, "Letter")
    assert made.plan.held
    assert all("HELD" in text for text in made.pages)
    assert "reasons, on the bench sheet" in made.pages[0]
    for page in pages_of("labels", HELD_JOB, "Letter").pages:
        for label in boxes(page, lambda b: _has(b, "label")):
            assert "HELD" in [getattr(b, "text", "") for b in inner(label)]


def test_label_sheets_carry_no_head_and_no_foot() -> None:
    """They are die-cut to the edge: what is said on every page stands on the cover."""
    for page in pages_of("labels", FULL_JOB, "A4").pages:
        if is_labels(page):
            assert not list(boxes(page, lambda b: _has(b, "running-foot") or _has(b, "running-head")))
            edge = [b for b in text_boxes(page) if b.position_y / MM < 9]
            assert edge and all(b.position_y / MM >= 4 for b in edge)


@pytest.mark.parametrize("name", ["L7", "L12"])
def test_ways_that_begin_alike_stay_apart_on_their_labels(name: str) -> None:
    """The wire names of a made amplifier: cut, they keep their last word."""
    codes = ("out-plus", "out-minus", "remote-out", "remote-in", "speaker-front-left", "speaker-front-right")
    sheet_a4 = LabelSheet()
    shown = {}
    for code in codes:
        label = Label(kind="tail", name=name, code=code, titles=("Loudspeaker, front left +",), wire_mm=2.4)
        lines = laid_out(label, sheet_a4, held=False, widest_mm=3.0).faces[0].lines
        shown[code] = " ".join(line.text for line in lines if line.bold)
    assert len(set(shown.values())) == len(codes), shown
    assert all(text.endswith(code.split("-")[-1]) for code, text in shown.items()), shown
