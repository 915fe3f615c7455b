"""Readers and planner meet anything with problems, never with an exception. ``tests/fuzz/run.py`` does many more by hand."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from loomleaf.handbook.prose import to_html
from loomleaf.problems import Problem
from loomleaf.source.nodes import plain, read_document
from loomleaf.units import UnitError, parse_colour, parse_length_mm, parse_reading, parse_size

from .mutations import FILES, SMALL, Shop, mutated, worked_out

FOUND: tuple[int, ...] = (102571,)
"""Seeds of mutations that once raised."""


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop()


def test_the_demo_itself_is_worked_out(shop: Shop) -> None:
    """Without this the mutations could all be stopped at the door, and nobody would know."""
    loaded = shop.with_file("shop.yaml", FILES["shop.yaml"].encode())
    assert [p.line() for p in loaded.problems if p.severity == "error"] == []
    assert len(loaded.library.jobs) >= 6


@pytest.mark.parametrize("seed", range(100))
def test_a_mutation_is_met_with_problems(shop: Shop, seed: int) -> None:
    name, text = mutated(seed)
    worked_out(shop, name, text.encode(), most=1)


@pytest.mark.parametrize("seed", FOUND)
def test_what_once_raised(shop: Shop, seed: int) -> None:
    name, text = mutated(seed)
    worked_out(shop, name, text.encode())


def test_mutations_reach_the_planner(shop: Shop) -> None:
    """Enough of them leave the shop whole enough to be planned."""
    clean = 0
    for seed in range(40):
        name, text = mutated(seed)
        loaded = shop.with_file(name, text.encode())
        clean += not any(p.severity == "error" for p in loaded.problems)
    assert 4 <= clean <= 36


@settings(max_examples=30)
@given(name=st.sampled_from(SMALL), data=st.binary(max_size=400))
@example(name="shop.yaml", data=b"")
@example(name="shop.yaml", data=b"\xef\xbb\xbfname: x")
def test_any_bytes_in_place_of_a_file(shop: Shop, name: str, data: bytes) -> None:
    worked_out(shop, name, data, most=0)


YAMLISH = st.text(alphabet=st.sampled_from(" \n:-[]{},&*!|>#'\"?%@`ab01~\t"), max_size=200)


@settings(max_examples=400)
@given(text=YAMLISH | st.text(max_size=200))
def test_any_text_is_a_document_or_problems(text: str) -> None:
    document, problems = read_document("f.yaml", text.encode("utf-8", "surrogatepass"))
    assert all(isinstance(problem, Problem) for problem in problems)
    if document.root is not None and not problems:
        plain(document.root)


@settings(max_examples=300)
@given(text=st.text(max_size=30) | st.from_regex(r"\A[-+0-9./ ]{0,8} ?(mm2|AWG|mm|m|V|ohm|A|kcmil|OL)?\Z"))
@pytest.mark.parametrize("parse", [parse_size, parse_length_mm, parse_reading, parse_colour])
def test_a_unit_is_parsed_or_refused(parse: object, text: str) -> None:
    try:
        parse(text)  # type: ignore[operator]
    except UnitError as refused:
        assert str(refused)


@settings(max_examples=150)
@given(text=st.text(alphabet=st.sampled_from("*_`[]()<>#|-+.!{}:;&\"'\\ \nab1"), max_size=200))
def test_any_markdown_becomes_harmless(text: str) -> None:
    made = to_html(text)
    assert "<script" not in made and "<img" not in made
