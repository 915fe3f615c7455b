"""The builder: sizes, ids, escaping, few elements, same bytes."""

from __future__ import annotations

import pytest

from loomleaf.draw.svg import LINE_WIDTHS, Picture, number

from .drawn import assert_well_made, root, strokes, words


def picture(key: str = "", **more: str) -> Picture:
    return Picture(
        title=more.get("title", "A picture"), desc="What the picture shows.", width_mm=50, height_mm=20, key=key
    )


def test_only_the_line_widths_of_the_series() -> None:
    with pytest.raises(ValueError, match="line widths"):
        picture().line(0, 0, 1, 1, 0.3)
    for width in LINE_WIDTHS:
        picture().line(0, 0, 1, 1, width)


def test_lines_of_one_style_become_one_element() -> None:
    drawn = picture()
    for y in range(10):
        drawn.line(0, y, 10, y, 0.35)
    assert len(strokes(drawn.svg())) == 1


def test_a_layer_lies_above_the_one_before() -> None:
    drawn = picture()
    drawn.line(0, 1, 10, 1, 0.35)
    drawn.layer()
    drawn.rect(0, 0, 5, 5, 0, fill="#fff")
    drawn.line(0, 2, 10, 2, 0.35)
    assert [stroke.width for stroke in strokes(drawn.svg())] == [0.35, 0, 0.35]


def test_text_is_escaped_and_control_characters_are_dropped() -> None:
    drawn = picture(title='A "<b>" & <script>')
    drawn.text(1, 5, "<text> & \x00\x0b\"'", 3.2)
    svg = drawn.svg()
    assert root(svg).find("{http://www.w3.org/2000/svg}title").text == 'A "<b>" & <script>'  # type: ignore[union-attr]
    assert words(svg)[0].text == "<text> & \"'"
    assert "<script>" not in svg
    assert_well_made(svg)


def test_ids_differ_by_key_and_by_content_so_that_pictures_can_share_a_page() -> None:
    a, b, other = picture("one").svg(), picture("two").svg(), picture(title="Another").svg()
    ids = [node.attrib["id"] for svg in (a, b, other) for node in root(svg).iter() if "id" in node.attrib]
    assert len(set(ids)) == 6


def test_a_key_cannot_break_out_of_its_attribute() -> None:
    svg = picture('x" onload="alert(1)').svg()
    assert "onload=" not in svg
    assert root(svg).attrib.keys() >= {"role", "viewBox"}


def test_the_same_drawing_gives_the_same_bytes() -> None:
    assert picture().svg() == picture().svg()


def test_coordinates_keep_a_hundredth_of_a_millimetre() -> None:
    assert [number(v) for v in (100.0, 0.126, 1234.5678, -0.004, -2.5)] == ["100", "0.13", "1234.57", "0", "-2.5"]
