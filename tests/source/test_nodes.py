"""YAML text to located nodes: text stays text, and everything that is wrong has its place."""

from __future__ import annotations

import pytest

from loomleaf.problems import Location
from loomleaf.source.nodes import MAX_BYTES, MAX_DEPTH, plain, read_document


def problem(data: bytes) -> tuple[str, int, int]:
    _, problems = read_document("f.yaml", data)
    assert len(problems) == 1, problems
    where = problems[0].location
    return problems[0].code, where.line, where.column


def test_nothing_is_coerced() -> None:
    """YAML 1.1 readers turn these into False, 750, 8 and a date; here they stay as written."""
    document, problems = read_document(
        "f.yaml", b"colour: no\ntime: 12:30\ncode: 010\nday: 2026-05-12\nempty:\nquoted: ''\n"
    )
    assert problems == ()
    assert document.root is not None
    assert plain(document.root) == {
        "colour": "no",
        "time": "12:30",
        "code": "010",
        "day": "2026-05-12",
        "empty": None,
        "quoted": "",
    }


def test_every_key_and_value_knows_its_place() -> None:
    document, _ = read_document("f.yaml", b"a: 1\nb:\n  - x\n  - {c: deep}\n")
    assert document.place("a", key=True) == Location(file="f.yaml", line=1, column=1)
    assert document.place("a") == Location(file="f.yaml", line=1, column=4)
    assert document.place("b", 1, "c") == Location(file="f.yaml", line=4, column=9)
    assert document.place("b", 7) == Location(file="f.yaml", line=3, column=3)
    assert document.source_line(4) == "  - {c: deep}"


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"a: 1\nb: 2\na: 3\n", ("duplicate-key", 3, 1)),
        (b"a:\n\tb: 1\n", ("tab-indent", 2, 1)),
        (b"a: \xff\n", ("bad-encoding", 1, 4)),
        (b"", ("empty-file", 0, 0)),
        (b"# only a comment\n", ("empty-file", 0, 0)),
        (b"a: 1\n---\nb: 2\n", ("several-documents", 2, 1)),
        (b"a: *b\n", ("unknown-alias", 1, 4)),
        (b"? [x]\n: 1\n", ("bad-key", 1, 5)),
        (b"a: b: c\n", ("bad-yaml", 1, 5)),
        (b"a: [1, 2\n", ("bad-yaml", 1, 4)),
        (b"a: x\x00y\n", ("control-character", 1, 5)),
        ("a: x\u202ey\n".encode(), ("control-character", 1, 5)),
    ],
)
def test_bad_text_is_one_problem_at_its_place(data: bytes, expected: tuple[str, int, int]) -> None:
    assert problem(data) == expected


@pytest.mark.parametrize(
    ("text", "line", "column", "said", "hint"),
    [
        ('a: 1\nb: "x\nc: 3\n', 2, 4, "the quote that opens here is never closed", "closing quote"),
        ("a: [x, y\nb: 2\n", 1, 4, "what opens here is not closed before line 2", "put ] after its last entry"),
        ("a: [x, y # c ]\nb: 2\n", 1, 4, "what opens here is not closed before line 2", "begins a comment"),
        ("l:\n  - {a: 1, b: 2\n  - {a: 3}\n", 2, 5, "what opens here is not closed before line 3", "put } after"),
        ("l:\n  - {a: 1 b: 2}\n", 2, 12, "a comma or } is missing before this", "a comma between entries"),
        ("a: 1\nhigh none\nb: 2\n", 2, 1, "there is no colon with a space behind it in this line", "key: value"),
        ("a: 1\nhigh:none\nb: 2\n", 2, 1, "there is no colon with a space behind it in this line", "key: value"),
        ('a: "x" y\nb: 1\n', 1, 8, "this is left over behind a value", "whole value in quotes"),
        ("a: [1]]\n", 1, 7, "this is left over behind a value", "take it away"),
        ("a:\n   b: 1\n  c: 2\n", 3, 3, "did not find expected key", "compare the indentation"),
    ],
)
def test_a_slip_is_told_where_it_was_made(text: str, line: int, column: int, said: str, hint: str) -> None:
    """The parser notices a lost quote or bracket lines later; nobody finds it there."""
    _, (one,) = read_document("f.yaml", text.encode())
    assert (one.code, one.location.line, one.location.column) == ("bad-yaml", line, column)
    assert one.message == f"this is not well-formed YAML: {said}" and hint in one.hint


def test_a_huge_file_is_not_parsed() -> None:
    assert problem(b"a: " + b"x" * MAX_BYTES)[0] == "file-too-large"


def test_deep_nesting_stops_without_overflow() -> None:
    assert problem(b"a: " + b"[" * 100_000)[0] == "too-deep"
    assert problem(b"[" * (MAX_DEPTH + 1) + b"]" * (MAX_DEPTH + 1))[0] == "too-deep"
    _, problems = read_document("f.yaml", b"[" * MAX_DEPTH + b"]" * MAX_DEPTH)
    assert problems == ()


def test_aliases_that_explode_are_counted_not_built() -> None:
    lines = [b"a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    for i in range(1, 9):
        lines.append(b"a%d: &a%d [%s]" % (i, i, b", ".join([b"*a%d" % (i - 1)] * 10)))
    assert problem(b"\n".join(lines))[0] == "too-many-values"


def test_an_honest_alias_is_allowed() -> None:
    document, problems = read_document("f.yaml", b"a: &x {k: v}\nb: *x\n")
    assert problems == () and document.root is not None
    assert plain(document.root) == {"a": {"k": "v"}, "b": {"k": "v"}}
