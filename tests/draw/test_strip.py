"""The cutting strip at full size: the bar is 100.0 mm, every place is where it says, pages join."""

from __future__ import annotations

import re

import pytest

from loomleaf.draw.strip import MEASURE_WORDS, Sleeve, TailStrip, cutting_strips, scale_bar, usable_mm

from .drawn import assert_well_made, boxes, overlaps, root, straight, strokes, too_close, words

TAILS = [
    TailStrip(
        id=f"S{n}",
        label="A.4 Constant supply, yellow",
        length_mm=length,
        strip_mm=8,
        joints_mm=(joint,),
        sleeve=Sleeve(centre_mm=joint, cut_mm=32.5, title="sleeve 4.8/2.4"),
        label_mm=35,
    )
    for n, (length, joint) in enumerate(
        [(200, 60), (140, 136), (350, 262), (120, 110), (80, 60), (60, 56), (521, 500)], 1
    )
]


def bar_length(svg: str) -> float:
    thick = [(start, end) for way, _, start, end, width in straight(svg) if way == "level" and width == 0.7]
    start, end = thick[0]
    posts = {across for way, across, _, _, width in straight(svg) if way == "upright" and width == 0.25}
    assert start in posts and end in posts  # the end lines stand at the bar's own ends
    return end - start


@pytest.mark.parametrize("paper", [(262, 165), (178, 240), (184, 220)])
def test_the_bar_is_100_mm_on_every_page(paper: tuple[float, float]) -> None:
    pages = cutting_strips(TAILS, width_mm=paper[0], height_mm=paper[1])
    for svg in [*pages, scale_bar()]:
        assert_well_made(svg)
        assert overlaps(svg) == []
        assert bar_length(svg) == pytest.approx(100.0, abs=0.005)
        assert any(MEASURE_WORDS in word.text for word in words(svg))
        # one unit is one millimetre: the size in mm is the viewBox
        assert root(svg).attrib["viewBox"].split()[2] + "mm" == root(svg).attrib["width"]
    assert all(float(root(svg).attrib["viewBox"].split()[3]) <= paper[1] for svg in pages)


def test_cut_strip_joint_sleeve_and_label_are_where_they_say() -> None:
    tail = TAILS[1]
    svg = cutting_strips([tail], width_mm=262)[0]
    zero = next(word.x for word in words(svg) if word.text.startswith("0: lay"))
    uprights = [(across - zero, width) for way, across, _, _, width in straight(svg) if way == "upright"]
    assert any(at == pytest.approx(140, abs=0.01) and width == 0.7 for at, width in uprights)  # cut
    assert any(at == pytest.approx(132, abs=0.01) and width == 0.35 for at, width in uprights)  # 8 mm bared
    sleeves = [box for stroke in strokes(svg) if stroke.dash for box in boxes(stroke.d)]
    assert [x - zero for x, _, _, _ in sleeves] == [pytest.approx(136 - 16.25, abs=0.01)]
    assert [w for _, _, w, _ in sleeves] == [pytest.approx(32.5, abs=0.01)]
    triangles = [float(x) for s in strokes(svg) if s.fill == "#000" for x in re.findall(r"M([\d.]+) ", s.d)]
    assert pytest.approx(136, abs=0.01) in [x - zero for x in triangles]
    labels = [x + w / 2 - zero for s in strokes(svg) if s.fill == "#d9d9d9" for x, _, w, _ in boxes(s.d)]
    assert labels == [pytest.approx(35, abs=0.01)]
    said = [word.text for word in words(svg)]
    assert {"cut 140", "joint 136, sleeve 4.8/2.4, cut 32.5", "label 35"} <= set(said)


def test_a_long_tail_goes_on_over_pages_that_join() -> None:
    run = usable_mm(262)
    pages = cutting_strips([TAILS[6]], width_mm=262)
    assert len(pages) == 3  # 521 mm on 240 mm a page
    said = [[word.text for word in words(svg)] for svg in pages]
    assert "Join A at 240 mm" in said[0] and "Join A at 240 mm" in said[1]
    assert "Join B at 480 mm" in said[1] and "Join B at 480 mm" in said[2]
    assert "cut 521" in said[2] and not any("cut 521" in page for page in said[:2])
    zero = 7.0
    cut = [across for way, across, _, _, width in straight(pages[2]) if way == "upright" and width == 0.7]
    assert cut == [pytest.approx(zero + 521 - 2 * run, abs=0.01)]
    length = 0.0
    for svg in pages:
        wire = [(a, b) for way, _, a, b, width in straight(svg) if way == "level" and width == 0.35 and b - a > 20]
        length += max(b - a for a, b in wire)
    assert length == pytest.approx(521 - 8, abs=0.05)  # the insulation, over all pages


def test_a_row_keeps_its_height_over_the_pages_so_that_they_line_up() -> None:
    pages = cutting_strips(TAILS[2:4], width_mm=262)
    heights = [[word.y for word in words(svg) if word.text == "S3"] for svg in pages]
    assert heights[0] == heights[1]


def test_every_tail_is_on_the_strip_and_told_in_words() -> None:
    pages = cutting_strips(TAILS, width_mm=178, height_mm=240)
    said = {word.text for svg in pages for word in words(svg)}
    assert {tail.id for tail in TAILS} <= said
    told = " ".join(root(svg)[1].text or "" for svg in pages)
    assert all(f"{tail.id} {tail.label}: cut {tail.length_mm:g} mm, bare 8 mm" in told for tail in TAILS)


def test_marks_that_fall_close_together_do_not_lie_over_each_other() -> None:
    close = TailStrip(
        id="Z",
        label="tight",
        length_mm=100,
        strip_mm=6,
        joints_mm=(97, 80),
        sleeve=Sleeve(centre_mm=97, cut_mm=20),
        label_mm=90,
    )
    assert overlaps(cutting_strips([close], width_mm=178)[0]) == []


def test_same_bytes_and_ids_of_their_own() -> None:
    pages = cutting_strips(TAILS)
    assert pages == cutting_strips(TAILS)
    assert len({root(svg).attrib["aria-labelledby"] for svg in pages}) == len(pages)


def test_the_bar_alone_keeps_distances() -> None:
    assert too_close(scale_bar()) == []


def test_pages_are_filled_evenly_with_as_many_tails_as_fit() -> None:
    """11 tails with two lines of words each, five to a page of 165 mm: no page holds a single one."""
    tails = [
        TailStrip(id=str(n), label="A", length_mm=120, strip_mm=6, joints_mm=(120,), label_mm=30) for n in range(11)
    ]
    counts = [page.count("cut 120 mm, bare") for page in cutting_strips(tails, height_mm=165)]
    assert sum(counts) == 2 * 11  # once drawn, once told
    assert max(counts) - min(counts) <= 2
    assert len(counts) == 2
