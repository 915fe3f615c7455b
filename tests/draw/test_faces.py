"""Plug faces: two views that are mirror images, every way once, said in words."""

from __future__ import annotations

import re

import pytest

from loomleaf.draw.faces import VIEW_WORDS, connector_picture, end_picture, plug_face, plug_faces
from loomleaf.model.reference import ConnectorType

from .drawn import Word, assert_well_made, boxes, overlaps, root, strokes, too_close, words
from .plans import connector

SIZES = [(4, 1), (8, 2), (16, 2), (20, 2), (28, 2), (12, 3), (7, 2), (40, 2)]


def ways(svg: str, count: int) -> dict[str, Word]:
    names = {str(n) for n in range(1, count + 1)}
    found = [word for word in words(svg) if word.text in names and word.bold]
    assert len(found) == len({word.text for word in found}) == count
    return {word.text: word for word in found}


@pytest.mark.parametrize(("count", "rows"), SIZES)
def test_the_wire_side_is_the_mating_side_in_a_mirror(count: int, rows: int) -> None:
    plug = connector("t", count, rows)
    mating, wire = ways(plug_face(plug, "mating"), count), ways(plug_face(plug, "wire"), count)
    middle = {name: (mating[name].x + wire[name].x) / 2 for name in mating}
    assert max(middle.values()) - min(middle.values()) < 0.02  # one axis for all ways: left and right change over
    for name in mating:
        assert mating[name].y == pytest.approx(wire[name].y, abs=0.02)  # up stays up
    if rows == 1 and count > 1:
        assert mating["1"].x < mating[str(count)].x and wire["1"].x > wire[str(count)].x


@pytest.mark.parametrize(
    ("count", "rows", "width"), [(*size, 178) for size in SIZES] + [(*size, 120) for size in SIZES if size[0] <= 24]
)
def test_faces_are_well_made(count: int, rows: int, width: int) -> None:
    wanted = {"1": "Constant supply", "3": "Front left −", str(count): ""}
    svg = plug_faces(connector("t", count, rows), wanted, name="A", width_mm=width)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []
    said = " ".join(word.text for word in words(svg))
    for head, _ in VIEW_WORDS.values():
        assert head in said
    assert said.count("latch") >= 2 and "Filled corner: way 1." in said


def test_wanted_ways_are_shaded_and_thick_and_carry_their_function_where_there_is_room() -> None:
    svg = plug_face(connector("t", 8), "mating", {"2": "Ground", "7": "Switched supply"})
    thick = [stroke for stroke in strokes(svg) if stroke.width == 0.7 and stroke.fill not in ("none", "#fff")]
    assert len(thick) == 1 and thick[0].d.count("M") == 2
    said = [word.text for word in words(svg)]
    assert "Ground" in said and "Switched" in said and "supply" in said


def crossed(svg: str) -> list[tuple[float, float, float, float]]:
    """Boxes of places that are crossed out: the box and its four arms are one white path with a line of 0.5 mm."""
    return [
        box
        for stroke in strokes(svg)
        if stroke.width == 0.5 and stroke.fill == "#fff"
        for part in re.findall(r"M\S+ \S+h\S+?z(?:M[^hMz]+L[^hMz]+){4}", stroke.d)
        for box in boxes(part)
    ]


@pytest.mark.parametrize("wanted", [{"2": "Ground"}, {"2": "Ground", "5": "Airbag circuit"}])
def test_a_way_that_is_never_touched_is_crossed_out_on_both_views_and_said_in_words(wanted: dict[str, str]) -> None:
    """Whether or not somebody calls it used. Common practice, no source: an airbag circuit is left alone."""
    svg = plug_faces(connector("t", 8), wanted, never={"5": "Airbag circuit"})
    assert_well_made(svg)
    assert overlaps(svg) == [] and too_close(svg) == []
    places = crossed(svg)
    at = [word for word in words(svg) if word.text == "5" and word.bold]
    assert len(places) == len(at) == 2
    for (x, y, width, height), word in zip(places, at, strict=True):
        assert x < word.x1 and word.x2 < x + width and y < word.top and word.bottom < y + height
    shaded = [box for stroke in strokes(svg) if stroke.fill not in ("none", "#fff", "#000") for box in boxes(stroke.d)]
    assert len(shaded) == 2  # way 2, once a view
    said = " ".join(word.text for word in words(svg))
    assert "Crossed out: never touched (way 5, airbag circuit)." in said
    assert "Never touched: way 5, airbag circuit." in (root(svg)[1].text or "")
    assert "Crossed out" not in " ".join(word.text for word in words(plug_faces(connector("t", 8), {"2": "Ground"})))


def test_functions_that_have_no_room_are_listed_with_their_ways() -> None:
    svg = plug_faces(connector("t", 28), {"5": "Rear right loudspeaker minus"}, width_mm=178)
    assert "Rear right loudspeaker minus" in [word.text for word in words(svg)]
    assert [word.text for word in words(svg)].count("5") == 3  # two views and the list


def test_a_way_that_is_not_on_the_face_is_told() -> None:
    svg = plug_faces(connector("t", 8), {"99": "Mute"})
    assert any("Not on this face: 99" in word.text for word in words(svg))


def test_a_plug_without_rows_is_a_list_and_says_so() -> None:
    plug = ConnectorType(title="A plug", kind="plug", does="x", source="demo", standing="invented", ways=8)
    svg = plug_faces(plug, {"1": "Data high", "5": "Data low"}, name="D")
    assert_well_made(svg)
    assert any("not on record" in word.text for word in words(svg))
    warned = plug_faces(plug, {"1": "Data high"}, never={"5": "Airbag circuit"}, name="D")
    assert any("Never touched: way 5, airbag circuit." in word.text for word in words(warned))
    assert not strokes(svg)


def test_a_plug_without_a_latch_does_not_show_one() -> None:
    svg = plug_faces(connector("t", 8, latch=""))
    assert not any(word.text == "latch" for word in words(svg))
    assert [word.text for word in words(svg)].count("top") == 2


@pytest.mark.parametrize("kind", ["coax", "line", "usb", "video", "microphone", "fuse-holder", "terminal"])
def test_every_other_end_has_an_outline_of_its_own(kind: str) -> None:
    end = ConnectorType(
        title=f"End of kind {kind}, with a long title", kind=kind, does="x", source="demo", standing="invented"
    )
    svg = end_picture(end)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []
    assert connector_picture(end) == svg
    assert root(svg)[0].text == end.title


def test_the_outlines_differ() -> None:
    ends = [
        end_picture(ConnectorType(title="End", kind=kind, does="x", source="demo", standing="invented"), key="k")
        for kind in ("coax", "line", "usb", "video", "microphone", "fuse-holder", "terminal")
    ]
    assert len({tuple(stroke.d for stroke in strokes(svg)) for svg in ends}) == len(ends)
