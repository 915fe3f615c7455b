"""Diagrams that teach: well made, with no word over another or out of the picture."""

from __future__ import annotations

import pytest

from loomleaf.draw.diagrams import DIAGRAMS, WIDTH_MM, diagram

from .drawn import assert_well_made, overlaps, root, too_close, words


@pytest.mark.parametrize("name", sorted(DIAGRAMS))
def test_a_diagram_is_well_made(name: str) -> None:
    svg = diagram(name)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []
    for word in words(svg):
        assert word.x1 >= -0.1 and word.x2 <= WIDTH_MM + 0.1, word.text
        assert word.top >= -0.1 and word.bottom <= DIAGRAMS[name].height + 0.1, word.text


@pytest.mark.parametrize("name", sorted(DIAGRAMS))
def test_a_diagram_is_told_in_words_too(name: str) -> None:
    told = root(diagram(name))
    assert told[0].text == DIAGRAMS[name].title
    assert len((told[1].text or "").split()) >= 8


def test_words_outside_or_on_top_of_each_other_would_be_found() -> None:
    crowded = diagram("feed").replace(">fuse<", ">fuse and the plug beside it<")
    assert crowded != diagram("feed")
    assert overlaps(crowded) != []
