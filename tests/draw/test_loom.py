"""The loom picture: every circuit once, joints at their places on the ruler, stripes, spares, refusals, few crossings."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from loomleaf.draw.loom import A4_LANDSCAPE_MM, A4_PORTRAIT_MM, LoomPage, loom_pages, loom_svgs
from loomleaf.draw.loom_lanes import lanes_of
from loomleaf.draw.swatch import BAND_MM, fill_of
from loomleaf.plan.types import Plan

from .drawn import assert_well_made, boxes, overlaps, root, straight, strokes, too_close, words
from .plans import method, plan_of

SIZES = [6, 13, 24, 40, 60]
PAPERS = [A4_PORTRAIT_MM, A4_LANDSCAPE_MM, (178.0, 225.0)]


def drawn(count: int, paper: tuple[float, float] = A4_PORTRAIT_MM, **more: object) -> tuple[Plan, list[LoomPage]]:
    plan, connectors = plan_of(count, **more)  # type: ignore[arg-type]
    return plan, loom_pages(plan, connectors, width_mm=paper[0], height_mm=paper[1])


@pytest.mark.parametrize("count", SIZES)
@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_is_well_made_and_fits_its_paper(count: int, paper: tuple[float, float]) -> None:
    for page in drawn(count, paper)[1]:
        assert_well_made(page.svg)
        assert page.width_mm == paper[0] and page.height_mm <= paper[1]
        assert overlaps(page.svg) == []
        assert len(list(root(page.svg).iter())) <= max(260, 20 * len(page.circuits))  # few elements


@pytest.mark.parametrize("count", SIZES)
def test_every_circuit_and_spare_is_drawn_once(count: int) -> None:
    plan, pages = drawn(count)
    wanted = {circuit.id for circuit in plan.circuits} | {spare.id for spare in plan.spares}
    said = Counter(word.text for page in pages for word in words(page.svg) if word.bold and word.text in wanted)
    assert said == Counter(wanted)
    assert sorted(name for page in pages for name in page.circuits) == sorted(wanted)


def test_every_tail_has_its_way_its_colour_words_and_a_band() -> None:
    plan, pages = drawn(12)
    said = Counter(word.text for page in pages for word in words(page.svg))
    tails = [tail for circuit in plan.circuits for tail in circuit.tails] + [spare.tail for spare in plan.spares]
    for tail in tails:
        assert said[tail.tail.at] >= 1, tail.name
    colours = Counter(tail.colour_text for tail in tails)
    assert all(said[text] == times for text, times in colours.items())
    bands = [
        box
        for page in pages
        for stroke in strokes(page.svg)
        if stroke.width == 0.25
        for box in boxes(stroke.d)
        if box[3] == BAND_MM
    ]
    assert len(bands) == len(tails)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_joint_stands_at_its_place_along_the_ruler(paper: tuple[float, float]) -> None:
    plan, pages = drawn(6, paper)
    place = {joint.circuit: joint.position_mm for joint in plan.joints}
    page = pages[0]
    every = words(page.svg)
    marks = {float(word.text): word.x - 0.7 for word in every if word.bold and word.text in ("60", "85", "110", "135")}
    scale = (marks[135] - marks[60]) / 75
    assert all(x == pytest.approx(marks[60] + (at - 60) * scale, abs=0.05) for at, x in marks.items())
    zero = next(word for word in every if word.text == "0")
    assert marks[60] - 60 * scale == pytest.approx(zero.x, abs=0.1)  # the ruler begins at the plug's face
    # a soldered joint's bead is a filled lozenge 5.2 mm wide around its place
    beads = re.findall(
        r"M([\d.]+) ([\d.]+)L", " ".join(s.d for s in strokes(page.svg) if s.fill == "#000" and not s.width)
    )
    for lane in (lane for lane in lanes_of(plan) if lane.joints and lane.joints[0].method.kind == "solder-inline"):
        at = marks[60] + ((place[lane.id] or 0) - 60) * scale
        if lane.id in page.circuits:
            assert any(abs(float(x) + 2.6 - at) < 0.05 for x, _ in beads), lane.id


def test_without_places_the_ruler_says_so_and_has_no_numbers() -> None:
    for page in drawn(8, places=False, extras=False)[1]:
        said = [word.text for word in words(page.svg)]
        assert "places not worked out yet" in said and "mm" not in said
        assert_well_made(page.svg)


@pytest.mark.parametrize("count", SIZES)
def test_no_more_crossings_than_the_plans_own_order(count: int) -> None:
    pages = drawn(count)[1]
    assert all(page.crossings <= page.naive_crossings for page in pages)
    assert sum(page.crossings for page in pages) < sum(page.naive_crossings for page in pages)


@pytest.mark.parametrize("count", [6, 13, 24])
def test_lines_that_run_side_by_side_keep_their_distance(count: int) -> None:
    for page in drawn(count)[1]:
        assert too_close(page.svg) == []


def test_lanes_do_not_lie_over_each_other() -> None:
    for page in drawn(24)[1]:
        bands = sorted(
            box for stroke in strokes(page.svg) if stroke.width == 0.25 for box in boxes(stroke.d) if box[3] == BAND_MM
        )
        for _, y, _, _ in bands:
            near = [other for _, other, _, _ in bands if 0 < abs(other - y) < BAND_MM + 0.7]
            assert near == []


def test_a_way_that_is_never_touched_is_crossed_out_wherever_its_plug_is_drawn() -> None:
    """On the page of its lane and on every other one, never shaded as used. Common practice, no source."""
    plan, pages = drawn(24)
    never = next(circuit for circuit in plan.circuits if circuit.outcome == "refused").tails[0]
    assert never.function.never
    with_plug = [page for page in pages if any(w.text == "Plug A" for w in words(page.svg))]
    assert len(with_plug) > 1
    for page in with_plug:
        places = [
            box
            for stroke in strokes(page.svg)
            if stroke.width == 0.5 and stroke.fill == "#fff"
            for part in re.findall(r"M\S+ \S+h\S+?z(?:M[^hMz]+L[^hMz]+){4}", stroke.d)
            for box in boxes(part)
        ]
        way = [w for w in words(page.svg) if w.text == never.way and w.bold and w.x < page.width_mm / 4]
        assert len(places) == 1 and len(way) == 1
        (x, y, width, height), word = places[0], way[0]
        assert x < word.x1 and word.x2 < x + width and y < word.top and word.bottom < y + height
        shaded = {b for s in strokes(page.svg) if s.fill not in ("none", "#fff", "#000") for b in boxes(s.d)}
        assert places[0] not in shaded
        said = " ".join(word.text for word in words(page.svg))
        assert f"Crossed out: never touched ({never.tail.at}, airbag)." in said


def test_joints_that_have_no_place_on_the_ruler_stand_off_its_end_and_say_where_they_are() -> None:
    """A ring at a stud, and a joint measured from another part's plug. Common practice, no source."""
    plan, connectors = plan_of(12, extras=False)
    ring, elsewhere = plan.joints[0], plan.joints[1]
    joints = (
        replace(ring, position_mm=None, station=0, method=method("terminal")),
        replace(elsewhere, position_mm=1416.0, position_from="wheatear"),
        *(replace(joint, position_from="heron-dash") for joint in plan.joints[2:]),
    )
    (page,) = loom_pages(replace(plan, joints=joints), connectors)
    assert_well_made(page.svg)
    assert overlaps(page.svg) == [] and too_close(page.svg) == []
    every = words(page.svg)
    said = [word.text for word in every]
    assert "Joint at its stud, not along the loom." in said
    assert "Joint at 1416 mm from plug M of wheatear." in said
    assert "1416" not in said  # no mark of it on the ruler
    ends = [word.x1 for word in every if word.text == "off the"]
    assert len(ends) == 1
    marks = [word.x for word in every if word.bold and word.text in ("60", "85", "110", "135")]
    found = [re.findall(r"M([\d.]+) ([\d.]+)a2\.5 ", stroke.d) for stroke in strokes(page.svg)]
    drawn_ring, in_legend = sorted(((float(y), float(x)) for ring in found for x, y in ring))
    assert len(marks) == 4 and max(marks) + 4 < ends[0] and drawn_ring[1] > max(marks) + 4
    assert in_legend[0] > max(word.y for word in every if word.text.startswith("Joint at"))
    lanes = {lane.id: lane for lane in lanes_of(replace(plan, joints=joints))}
    assert lanes["W1"].places == lanes["W2"].places == () and lanes["W3"].places == (110.0,)


def test_a_page_whose_joints_all_stand_off_the_ruler_has_no_ruler() -> None:
    plan, connectors = plan_of(2, extras=False)
    joints = tuple(replace(joint, position_mm=300.0, position_from="wheatear") for joint in plan.joints)
    (page,) = loom_pages(replace(plan, joints=joints), connectors)
    said = [word.text for word in words(page.svg)]
    assert "Each joint says where it is" in said and said.count("Joint at 300 mm from plug M of wheatear.") == 2
    assert "mm" not in said and "places not worked out yet" not in said


def test_stripes_are_drawn_as_stripes_over_every_base() -> None:
    plan, pages = drawn(24)
    striped = [
        tail.tail.colour
        for circuit in plan.circuits
        for tail in circuit.tails
        if tail.tail.colour is not None and tail.tail.colour.stripe
    ]
    seen: Counter[tuple[str, str]] = Counter()
    for page in pages:
        filled = [(stroke, box) for stroke in strokes(page.svg) if stroke.fill != "none" for box in boxes(stroke.d)]
        for stroke, (x, y, _width, height) in filled:
            if stroke.width != 0.25 or height != BAND_MM:
                continue
            at = (x + 0.5, y + height / 2)  # every pattern begins with a drawn part
            over = [s.fill for s, (a, b, w, h) in filled if a <= at[0] <= a + w and b <= at[1] <= b + h]
            if over[-1] != stroke.fill:
                seen[stroke.fill, over[-1]] += 1
    assert seen == Counter((fill_of(colour.base), fill_of(colour.stripe)) for colour in striped)


def test_a_spare_ends_in_a_cap_and_says_why() -> None:
    plan, pages = drawn(6)
    said = " ".join(word.text for page in pages for word in words(page.svg))
    assert "Spare: folded back at full length, capped by itself" in said
    for spare in plan.spares:
        assert all(word in said for word in spare.why.split())
    assert "live, so cap it first;" in said


def test_a_refused_circuit_is_crossed_out_with_its_reason_and_has_no_joint() -> None:
    plan, pages = drawn(6)
    page = next(page for page in pages if "X1" in page.circuits)
    said = " ".join(word.text for word in words(page.svg))
    assert "Never joined: An airbag circuit is never joined & never probed." in said
    crosses = [
        stroke
        for stroke in strokes(page.svg)
        if stroke.width == 0.7 and stroke.d.count("L") >= 2 and "h" not in stroke.d
    ]
    assert crosses
    assert not any(lane.joints for lane in lanes_of(plan) if lane.kind == "refused")


def test_the_picture_is_told_in_words() -> None:
    plan, pages = drawn(6)
    told = " ".join(root(page.svg)[1].text or "" for page in pages)
    for circuit in plan.circuits:
        assert f"{circuit.id}, {circuit.title}" in told
    for joint in plan.joints:
        assert f"at {joint.position_mm:g} mm" in told
    assert "antenna: Dash adapter, Corvane Heron mates with antenna: Wheatear radio" in told


def test_only_what_is_used_stands_in_the_legend() -> None:
    _, pages = drawn(6, extras=False)
    said = {word.text for page in pages for word in words(page.svg)}
    assert "Never joined" not in said and not any(text.startswith("Spare:") for text in said)
    assert "Joint of kind crimp" in said


def test_every_page_says_how_to_read_it() -> None:
    for page in drawn(40)[1]:
        said = " ".join(word.text for word in words(page.svg))
        assert "seen from the wire side" in said and "base first, then stripe" in said
        assert "Wires that only cross do not meet" in said
        assert "Filled corner: way 1" in said


def test_a_plug_whose_face_is_not_on_record_says_so() -> None:
    plan, _ = plan_of(6)
    pages = loom_pages(plan, {})
    assert "in number order, not as on the face" in " ".join(word.text for word in words(pages[0].svg))
    for page in pages:
        assert_well_made(page.svg)


def test_long_names_and_strange_characters_stay_inside() -> None:
    plan, connectors = plan_of(6)
    long = plan.leads[1].model_copy(
        update={"title": "A radio <with> & a very very long title, second edition, without end " * 3}
    )
    circuits = tuple(
        circuit.__class__(
            **{**circuit.__dict__, "title": "An uncommonly long circuit title that does not end soon & goes on " * 2}
        )
        for circuit in plan.circuits
    )
    changed = plan.__class__(**{**plan.__dict__, "leads": (plan.leads[0], long, plan.leads[2]), "circuits": circuits})
    for page in loom_pages(changed, connectors):
        assert_well_made(page.svg)
        assert overlaps(page.svg) == []


def test_pages_are_filled_evenly_enough() -> None:
    pages = drawn(60)[1]
    assert all(page.height_mm >= A4_PORTRAIT_MM[1] / 5 for page in pages)
    assert len(pages) <= 60 * 2 // 10


def test_the_same_plan_gives_the_same_bytes_and_its_pages_share_no_ids() -> None:
    plan, connectors = plan_of(24)
    svgs = loom_svgs(plan, connectors)
    assert svgs == loom_svgs(plan, connectors)
    ids = [node.attrib["id"] for svg in svgs for node in root(svg).iter() if "id" in node.attrib]
    assert len(ids) == len(set(ids)) == 2 * len(svgs)


def test_an_empty_plan_has_no_picture() -> None:
    plan, connectors = plan_of(6, extras=False)
    empty = plan.__class__(**{**plan.__dict__, "circuits": (), "spares": (), "joints": ()})
    assert loom_pages(empty, connectors) == []


def test_stations_are_in_order_along_the_ruler() -> None:
    every = words(drawn(24)[1][0].svg)
    marks = sorted(
        (word.x, float(word.text)) for word in every if word.bold and word.text in ("60", "85", "110", "135")
    )
    assert all(a[1] < b[1] for a, b in pairwise(marks))


@pytest.mark.parametrize("count", SIZES)
def test_every_place_along_the_loom_has_its_mark(count: int) -> None:
    plan, connectors = plan_of(count)
    crowded = tuple(
        joint.__class__(**{**joint.__dict__, "position_mm": 60.0 + (n * 37 % 23) * 4.5})
        for n, joint in enumerate(plan.joints)
    )
    for page in loom_pages(plan.__class__(**{**plan.__dict__, "joints": crowded}), connectors):
        assert overlaps(page.svg) == []
        assert_well_made(page.svg)
        marks = [
            word for word in words(page.svg) if re.fullmatch(r"[\d.]+", word.text) and word.bold and word.size < 3.5
        ]
        leaders = [(x, a, b) for way, x, a, b, width in straight(page.svg) if way == "upright" and width == 0.18]
        for mark in marks:
            through = [x for x, a, b in leaders if mark.x1 < x < mark.x2 and a < mark.y - 0.2 and b > mark.top + 0.2]
            assert through == [], mark.text
        said = {word.text for word in marks}
        for joint in crowded:
            if joint.circuit in page.circuits:
                assert f"{joint.position_mm:g}" in said


@pytest.mark.parametrize("count", SIZES)
def test_as_many_lines_cross_in_the_picture_as_are_counted(count: int) -> None:
    for page in drawn(count, shuffle=11)[1]:
        fans: dict[str, list[tuple[float, float]]] = {"left": [], "right": []}
        for stroke in strokes(page.svg):
            for x1, y1, x2, y2 in re.findall(r"M(\S+) (\S+)C\S+ \S+ \S+ \S+ (\S+) ([\d.]+)", stroke.d):
                fans["left" if float(x1) < float(x2) else "right"].append((float(y1), float(y2)))
        crossings = sum(
            (a[0] - b[0]) * (a[1] - b[1]) < 0 for fan in fans.values() for n, a in enumerate(fan) for b in fan[n + 1 :]
        )
        assert crossings == page.crossings


def test_a_place_far_out_breaks_the_ruler_and_leaves_the_others_room() -> None:
    plan, connectors = plan_of(8)
    last = 2  # on the first page, beside joints near the plug
    far = tuple(
        joint.__class__(**{**joint.__dict__, "position_mm": 1500.0}) if n == last else joint
        for n, joint in enumerate(plan.joints)
    )
    pages = loom_pages(plan.__class__(**{**plan.__dict__, "joints": far}), connectors)
    page = next(page for page in pages if plan.joints[last].circuit in page.circuits)
    assert_well_made(page.svg)
    assert overlaps(page.svg) == []
    marks = {word.text: word.x for word in words(page.svg) if word.bold}
    near = sorted(float(text) for text in marks if text in ("60", "85", "110", "135"))
    assert marks["1500"] > marks[f"{near[-1]:g}"] + 8
    for a, b in pairwise(near):
        assert marks[f"{b:g}"] - marks[f"{a:g}"] > (b - a) / 10  # the near places are still told apart
    assert "1000" not in {word.text for word in words(page.svg)}  # no scale is drawn beyond the break
