"""What is on the paper and where: type sizes, margins, boxes to write in, nothing off the page, no page all but empty.

Read from the layout engine's own boxes, since text off the page vanishes from extracted text without a word.
Sizes and distances are those of the rules for sheets: 12 pt steps, 10 pt cells, 8 pt foot, boxes of 20 by 8 mm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest
from weasyprint.formatting_structure import boxes as kinds

from loomleaf.sheets import pdf
from loomleaf.sheets.pdf import best_layout, layout, thin_pages
from loomleaf.sheets.registry import sheet_html, sheet_kinds, styles_of

from .conftest import CAMERA_JOB, FLEET_JOB, FULL_JOB, HELD_JOB, PLAIN_JOB, boxes, planned, sheet

MM = 96 / 25.4
PT = 96 / 72
CASES = (
    ("bench", PLAIN_JOB, "A4"),
    ("bench", HELD_JOB, "Letter"),
    ("bench", FLEET_JOB, "A4"),
    ("summary", FULL_JOB, "A4"),
    ("summary", HELD_JOB, "Letter"),
    ("fitting", FULL_JOB, "A4"),
    ("fitting", CAMERA_JOB, "Letter"),
    ("fitting", FLEET_JOB, "Letter"),
    ("record", FULL_JOB, "A4"),
)
HEADINGS = (
    "section-title",
    "warm-title",
    "third-title",
    "grid-group",
    "grid-head",
    "check-set",
    "check-group",
    "condition",
)
WHOLE = {"grid-row", "grid-body", "condition-row", "covered", "step", "act-item", "hold", "hazards", "standing"}
PAPER_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


@cache
def laid_out(kind: str, job: str, paper: str) -> Any:
    html = sheet(kind, job, paper).html
    return best_layout(html, styles=styles_of(kind, paper), forms=sheet_kinds[kind].fillable)


BENCH = pytest.mark.parametrize("case", CASES[:3], ids=["-".join(c) for c in CASES[:3]])


@pytest.fixture(params=CASES, ids=["-".join(c) for c in CASES])
def case(request: pytest.FixtureRequest) -> tuple[str, str, str]:
    found: tuple[str, str, str] = request.param
    return found


def text_boxes(page: Any) -> Iterator[Any]:
    return boxes(page, lambda box: isinstance(box, kinds.TextBox) and box.text.strip() != "")


def in_foot(page: Any) -> set[int]:
    """Ids of the boxes inside the foot."""
    return _inside(page, "running-foot")


def _inside(page: Any, name: str) -> set[int]:
    found: set[int] = set()
    for top in boxes(page, lambda box: _classes(box) >= {name}):
        found |= {id(box) for box in _descendants(top)}
    return found


def _descendants(box: Any) -> Iterator[Any]:
    box = getattr(box, "_box", box)
    yield box
    for child in getattr(box, "children", ()):
        yield from _descendants(child)


def _classes(box: Any) -> set[str]:
    element = getattr(box, "element", None)
    return set(element.get("class", "").split()) if element is not None else set()


def test_the_paper_is_the_one_asked_for(case: tuple[str, str, str]) -> None:
    width, height = PAPER_MM[case[2]]
    for page in laid_out(*case).pages:
        assert page.width / MM == pytest.approx(width, abs=0.1)
        assert page.height / MM == pytest.approx(height, abs=0.1)


def test_no_text_leaves_the_margins(case: tuple[str, str, str]) -> None:
    """20 mm at the left for the punch, 12 mm elsewhere."""
    for page in laid_out(*case).pages:
        for box in text_boxes(page):
            assert box.position_x / MM >= 19.9, box.text
            assert (box.position_x + box.width) / MM <= page.width / MM - 11.9, box.text
            assert box.position_y / MM >= 11.5, box.text
            assert (box.position_y + box.height) / MM <= page.height / MM - 11.5, box.text


def test_the_text_never_runs_into_the_foot_or_the_head(case: tuple[str, str, str]) -> None:
    for index, page in enumerate(laid_out(*case).pages):
        foot, head = in_foot(page), _inside(page, "running-head")
        foot_top = min(b.position_y for b in boxes(page, lambda b: _classes(b) >= {"running-foot"}))
        body = [b for b in text_boxes(page) if id(b) not in foot and id(b) not in head]
        assert body, f"page {index + 1} has no text of its own"
        assert max(b.position_y + b.height for b in body) <= foot_top
        if head:
            head_bottom = max(b.position_y + b.height for b in text_boxes(page) if id(b) in head)
            assert min(b.position_y for b in body) >= head_bottom


def test_cell_text_stays_inside_its_cell(case: tuple[str, str, str]) -> None:
    for page in laid_out(*case).pages:
        for cell in boxes(page, lambda box: isinstance(box, kinds.TableCellBox)):
            right = cell.position_x + cell.border_width()
            for box in _descendants(cell):
                if isinstance(box, kinds.TextBox) and box.text.strip():
                    assert box.position_x + box.width <= right + 0.5, (box.text, cell.element.get("class"))


@pytest.mark.parametrize(
    ("kind", "job", "paper"),
    [("bench", FLEET_JOB, "Letter"), ("record", FLEET_JOB, "A4"), ("record", FULL_JOB, "A4"), ("record", CAMERA_JOB, "Letter")],
)
def test_no_ways_name_is_broken_over_two_lines(kind: str, job: str, paper: str) -> None:
    """UAX 14 allows a break between a full stop and a figure that follow a letter: A. and 10 are no way of any plug."""
    broken = []
    for page in laid_out(kind, job, paper).pages:
        for block in boxes(page, lambda box: isinstance(box, kinds.BlockContainerBox)):
            texts = [_said(line) for line in block.children if isinstance(line, kinds.LineBox)]
            broken += [p for p in pairwise(texts) if re.search(r"(^|[ /])[A-Z]\.$", p[0]) and p[1][:1].isdigit()]
    assert broken == []


def _said(line: Any) -> str:
    return "".join(box.text for box in boxes(SimpleNamespace(_page_box=line), _is_text)).strip()


def _is_text(box: Any) -> bool:
    return isinstance(box, kinds.TextBox)


def test_type_is_large_enough(case: tuple[str, str, str]) -> None:
    kind = case[0]
    floor = 12.0 if kind == "summary" else 10.0
    for page in laid_out(*case).pages:
        foot = in_foot(page)
        small = {id(b) for name in ("cautions", "head", "band", "sign") for b in _named(page, name)}
        for box in text_boxes(page):
            size = box.style["font_size"] / PT
            if id(box) in foot:
                assert size >= 8.0 - 0.01, box.text
            elif id(box) in small:
                assert size >= 9.5 - 0.01, box.text
            else:
                assert size >= floor - 0.01, box.text


def _named(page: Any, name: str) -> Iterator[Any]:
    for top in boxes(page, lambda box: name in _classes(box)):
        yield from _descendants(top)


@BENCH
def test_steps_circuit_numbers_ways_and_limits_are_12_pt(case: tuple[str, str, str]) -> None:
    seen = set()
    for page in laid_out(*case).pages:
        for name, weight in (("step-text", 400), ("id", 700), ("way-number", 700), ("check-limits", 700)):
            for box in _named(page, name):
                if isinstance(box, kinds.TextBox) and box.text.strip():
                    seen.add(name)
                    assert box.style["font_size"] / PT >= 12 - 0.01
                    assert box.style["font_weight"] >= weight
    assert seen == {"step-text", "id", "way-number", "check-limits"}


@BENCH
def test_the_way_is_the_largest_in_its_row(case: tuple[str, str, str]) -> None:
    rows = 0
    for page in laid_out(*case).pages:
        for row in boxes(page, lambda box: isinstance(box, kinds.TableRowBox)):
            texts = [b for b in _descendants(row) if isinstance(b, kinds.TextBox) and b.text.strip()]
            ways = [b for b in texts if "way-number" in _classes(b)]
            if ways:
                rows += 1
                assert max(b.style["font_size"] for b in texts) == max(b.style["font_size"] for b in ways)
    assert rows


def test_lines_are_apart_by_a_quarter_of_the_type_size(case: tuple[str, str, str]) -> None:
    """Extra leading of 25 to 33 % (NASA CR-177605, seen in secondary text). Single-line labels may be tighter."""
    for page in laid_out(*case).pages:
        for box in boxes(page, lambda b: _classes(b) & {"standing-line", "step-text", "item", "text"}):
            height = box.style["line_height"]
            assert isinstance(height, (int, float)) or height[1] != "normal"
            ratio = height if isinstance(height, (int, float)) else height[0] / box.style["font_size"]
            assert float(ratio) >= 1.25 - 1e-6, box.element.get("class")


def test_faces_are_two_families_upright(case: tuple[str, str, str]) -> None:
    families = set()
    for page in laid_out(*case).pages:
        for box in text_boxes(page):
            families.add(box.style["font_family"][0])
            assert box.style["font_style"] == "normal"
    assert families <= {"B612", "B612 Mono"}


def test_boxes_to_write_in_are_large_enough(case: tuple[str, str, str]) -> None:
    counted = {"tick": 0, "check-fill": 0, "line": 0}
    for page in laid_out(*case).pages:
        for box in boxes(page, lambda b: b.element_tag == "input"):
            names = _classes(box)
            width, height = box.border_width() / MM, box.border_height() / MM
            if "tick" in names:
                counted["tick"] += 1
                assert width >= 5 - 0.01 and height >= 5 - 0.01
                if "tick-small" not in names:
                    assert width == pytest.approx(5.5, abs=0.02)
            elif "check-fill" in names:
                counted["check-fill"] += 1
                assert width >= 20 and height >= 8 - 0.01
            elif "line" in names:
                counted["line"] += 1
                assert height >= 7 - 0.01
    fields = case[0] != "record"  # the record is for the archive: nothing to fill in
    assert bool(counted["tick"]) is fields and bool(counted["line"]) is fields
    assert bool(counted["check-fill"]) is (case[0] in ("bench", "fitting"))


def test_rows_are_tall_enough_for_a_pen_and_a_glove(case: tuple[str, str, str]) -> None:
    for page in laid_out(*case).pages:
        for row in boxes(page, lambda box: isinstance(box, kinds.TableRowBox) and "grid-row" in _classes(box)):
            assert row.height / MM >= 7.5 - 0.01, [b.text for b in _descendants(row) if isinstance(b, kinds.TextBox)]


def test_rows_and_steps_are_never_split(case: tuple[str, str, str]) -> None:
    """An element that may not break shows up on one page only. What a table's head repeats is whole each time."""
    places: dict[int, set[int]] = {}
    for number, page in enumerate(laid_out(*case).pages):
        heads = {id(b) for top in boxes(page, lambda b: getattr(b, "is_header", False)) for b in _descendants(top)}
        for box in boxes(page, lambda b: _classes(b) & WHOLE):
            if id(box) in heads:
                continue
            places.setdefault(id(box.element), set()).add(number)
    assert all(len(numbers) == 1 for numbers in places.values())


@cache
def _fitting_tables() -> tuple[str, dict[str, str]]:
    """The fitting sheet's frame with a place for what is tried in it, and its tables of checks by their titles."""
    root = ElementTree.fromstring(sheet("fitting", FULL_JOB, "A4").html.split("\n", 1)[1])
    body = root.find("body")
    assert body is not None
    parts = list(body)
    at = next(i for i, part in enumerate(parts) if part.tag == "header")
    tables = [t for part in parts[at + 1 :] for t in part.iter("table") if "checks" in t.get("class", "").split()]
    named = {"".join(t.itertext()).split(".", 1)[0].strip(): t for t in tables}
    for part in parts[at + 1 :]:
        body.remove(part)
    place = ElementTree.SubElement(body, "p")
    place.text = "PLACE"
    frame = ElementTree.tostring(root, encoding="unicode")
    return frame, {title: ElementTree.tostring(t, encoding="unicode") for title, t in named.items()}


@pytest.mark.parametrize("down_mm", range(186, 216, 2))
def test_wherever_a_table_falls_no_row_is_cut_and_no_head_stays_behind(down_mm: int) -> None:
    """A table of one row under a condition of two lines, further and further down the page, until it goes to the next."""
    frame, tables = _fitting_tables()
    table = next(text for title, text in tables.items() if title.startswith("Before the trim goes back, block 1"))
    assert table.count('class="condition-row"') == 1
    html = frame.replace("<p>PLACE</p>", f'<div style="height:{down_mm}mm">x</div>{table}<p class="para">end</p>')
    pages = layout(html, styles=styles_of("fitting", "A4"), forms=True).pages
    seen = []
    for page in pages:
        names = [n for b in boxes(page, lambda b: isinstance(b, kinds.TableRowBox)) for n in _classes(b)]
        seen.append((names.count("condition-row"), names.count("grid-row"), len(list(_named(page, "check-set")))))
    assert len([s for s in seen if any(s)]) == 1, seen  # all of it on one page


@pytest.mark.parametrize(("vans", "lines"), [(2, 1), (3, 1), (4, 2), (6, 2)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_boxes_of_each_lead_of_a_fleet_stand_in_its_own_column(vans: int, lines: int, paper: str) -> None:
    world = planned()
    plan = world.plans[FLEET_JOB]
    job = plan.job.model_copy(update={"registrations": plan.job.registrations[:vans]})
    html, problems = sheet_html(
        "bench", replace(plan, job=job, states=plan.states[:vans]), world.shop, world.reference, paper=paper
    )
    assert html is not None, problems
    root = ElementTree.fromstring(html.split("\n", 1)[1])
    body = root.find("body")
    assert body is not None
    tables = [t for t in body.iter("table") if "checks-leads" in t.get("class", "").split()]
    table = next(t for t in tables if "Meter:" in "".join(t.itertext()))  # a look has no box for a reading
    for part in list(body):
        body.remove(part)
    body.append(table)
    seen = 0
    for page in layout(
        ElementTree.tostring(root, encoding="unicode"), styles=styles_of("bench", paper), forms=True
    ).pages:
        for cell in boxes(page, lambda b: "lead-cell" in _classes(b)):
            fields = [b for b in _descendants(cell) if b.element_tag == "input"]
            assert len(fields) == 4
            left, right = cell.position_x, cell.position_x + cell.border_width()
            assert all(left <= b.position_x and b.position_x + b.border_width() <= right + 0.1 for b in fields)
            middles = [b.position_y + b.border_height() / 2 for b in fields]
            assert (max(middles) - min(middles) > 3 * MM) is (lines == 2)
            assert fields[0].border_width() / MM >= 20 and fields[0].border_height() / MM >= 8 - 0.01
            seen += 1
    assert seen and seen % vans == 0


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("job", [PLAIN_JOB, FULL_JOB, CAMERA_JOB, FLEET_JOB])
def test_signatures_stand_on_the_page_of_what_they_sign(job: str, paper: str) -> None:
    """Of a fleet, three vans: the last page of each was once four lines to sign on."""
    world = planned()
    plan = world.plans[job]
    short = plan.job.model_copy(update={"registrations": plan.job.registrations[:3]})
    html, problems = sheet_html(
        "fitting", replace(plan, job=short, states=plan.states[:3]), world.shop, world.reference, paper=paper
    )
    assert html is not None, problems
    signed = 0
    for page in layout(html, styles=styles_of("fitting", paper), forms=True).pages:
        if any(boxes(page, lambda b: "complete" in _classes(b))):
            signed += 1
            assert any(boxes(page, lambda b: "check-set" in _classes(b)))
    assert signed == len(short.registrations)


def test_tables_begin_each_page_with_their_headers(case: tuple[str, str, str]) -> None:
    tables = 0
    for page in laid_out(*case).pages:
        for table in boxes(page, lambda b: isinstance(b, kinds.TableBox) and "grid" in _classes(b)):
            tables += 1
            assert table.children[0].is_header
    assert bool(tables) is (case[0] != "summary")


def test_no_heading_is_left_alone_at_the_foot(case: tuple[str, str, str]) -> None:
    for page in laid_out(*case).pages:
        foot = in_foot(page)
        last = max((b for b in text_boxes(page) if id(b) not in foot), key=lambda b: b.position_y)
        headings = {id(b) for name in HEADINGS for b in _named(page, name)}
        assert id(last) not in headings, last.text


def test_pages_are_filled_or_the_last(case: tuple[str, str, str]) -> None:
    pages = laid_out(*case).pages
    for page in pages[:-1]:
        foot, head = in_foot(page), _inside(page, "running-head")
        body = [b for b in text_boxes(page) if id(b) not in foot and id(b) not in head]
        assert body
        body += boxes(page, lambda b: isinstance(b, kinds.ReplacedBox))
        used = max(b.position_y + b.height for b in body) - min(b.position_y for b in body)
        assert used >= page.height / 5


def test_a_thin_page_is_seen_and_spacing_does_away_with_it() -> None:
    """A row that spills over a page is taken back by the closer spacing; many are left, and never more than before."""
    row = '<tr class="grid-row"><td class="grid-cell">one<br/>two</td></tr>'
    styles = ("sheet.css", "sheet-a4.css")
    found = []
    for count in range(17, 23):
        html = (
            '<html lang="en"><head><title>t</title></head><body class="sheet"><h1>t</h1>'
            f'<table class="grid"><tbody>{row * count}</tbody></table>'
            '<div style="break-before: page; height: 90mm">next</div></body></html>'
        )
        found.append((thin_pages(layout(html, styles=styles)), thin_pages(best_layout(html, styles=styles))))
    assert (1, 0) in found
    assert all(after <= before for before, after in found)


@pytest.mark.parametrize(
    ("as_designed", "close", "loose", "taken"),
    [
        # pages, thin pages of each spacing
        ((10, 0), None, None, 0),
        ((12, 1), (11, 0), None, 1),
        ((12, 1), (12, 1), (12, 0), 2),
        ((12, 1), (12, 1), (13, 0), 2),
        ((12, 1), (12, 1), (15, 0), 0),  # half-empty pages by the handful instead of one that is all but empty
        ((12, 2), (12, 1), (15, 0), 1),
    ],
)
def test_a_sheet_does_not_grow_long_to_spare_a_thin_page(
    monkeypatch: pytest.MonkeyPatch,
    as_designed: tuple[int, int],
    close: tuple[int, int] | None,
    loose: tuple[int, int] | None,
    taken: int,
) -> None:
    made = iter(
        (spacing, SimpleNamespace(pages=[None] * found[0], thin=found[1]))
        for spacing, found in zip(pdf.SPACINGS, (as_designed, close, loose), strict=True)
        if found is not None
    )

    def laid(html: str, *, styles: tuple[str, ...], forms: bool) -> Any:
        spacing, document = next(made)
        assert styles == (("sheet.css", spacing) if spacing else ("sheet.css",))
        document.spacing = spacing
        return document

    monkeypatch.setattr(pdf, "layout", laid)
    monkeypatch.setattr(pdf, "thin_pages", lambda document: document.thin)
    assert best_layout("", styles=("sheet.css",)).spacing == pdf.SPACINGS[taken]
    assert list(made) == []


def test_the_foot_takes_three_lines_of_cautions(case: tuple[str, str, str]) -> None:
    for page in laid_out(*case).pages:
        lines = {round(b.position_y) for b in _named(page, "foot-caution") if isinstance(b, kinds.TextBox)}
        assert len(lines) <= 3


@BENCH
def test_a_swatch_is_14_by_5_mm(case: tuple[str, str, str]) -> None:
    sizes = {
        (round(box.width / MM, 1), round(box.height / MM, 1))
        for page in laid_out(*case).pages
        for box in boxes(page, lambda b: b.element_tag == "{http://www.w3.org/2000/svg}svg")
    }
    assert sizes == {(14.0, 5.0)}


def test_the_summary_has_at_most_two_pages() -> None:
    for job, paper in ((FULL_JOB, "A4"), (FULL_JOB, "Letter"), (HELD_JOB, "Letter"), (FLEET_JOB, "A4")):
        assert len(sheet("summary", job, paper).reader.pages) <= 2


@pytest.mark.parametrize(("kind", "paper"), [("cutting", "A4"), ("record", "A4"), ("summary", "Letter")])
def test_the_band_of_a_held_job_is_one_line_and_covers_nothing(kind: str, paper: str) -> None:
    bands = 0
    for page in laid_out(kind, HELD_JOB, paper).pages:
        for cell in boxes(page, lambda b: isinstance(b, kinds.TableCellBox) and "band-text" in _classes(b)):
            bands += 1
            words = [b for b in _descendants(cell) if isinstance(b, kinds.TextBox)]
            lines = [b for b in _descendants(cell) if isinstance(b, kinds.LineBox)]
            assert len(lines) == 1
            assert min(b.position_x for b in words) >= cell.position_x
            assert max(b.position_x + b.width for b in words) <= cell.position_x + cell.border_width() + 0.01
    assert bands
