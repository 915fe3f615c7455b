"""Marks in a chapter's text: ``{{function:supply-constant}}``. Found here with their place, given meaning elsewhere.

A mark is ``{{kind:what}}`` or ``{{kind:what|words to show}}`` on one line; a bar inside quotation marks is part of what
is asked for. Marks inside code are left as they are.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..problems import Collector, Location

OPEN, CLOSE = "\ue000", "\ue001"  # private characters that stand for a mark while Markdown is rendered


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One mark. ``what`` is the part after the colon, ``words`` the text after the bar ("" for none)."""

    kind: str
    what: str
    words: str
    location: Location


_MARK = re.compile(r"\{\{(?P<inside>[^{}\n]*)\}\}")
_INSIDE = re.compile(r"""\s*(?P<kind>[a-z]+)\s*:\s*(?P<what>(?:"[^"]*"|[^|"])*?)\s*(?:\|\s*(?P<words>.*?)\s*)?""")
_FENCE = re.compile(r"\s{0,3}(```|~~~)")
_CODE = re.compile(r"(`+)(?:(?!\1).)+?\1")


def take_marks(body: str, file: str, first_line: int, found: Collector) -> tuple[str, tuple[Mark, ...]]:
    """The body with every mark replaced by a stand-in, and the marks in the order of their stand-ins.

    >>> text, marks = take_marks("See {{term:tail}}.", "a.md", 1, Collector())
    >>> marks[0].kind, marks[0].what, marks[0].location.column
    ('term', 'tail', 5)
    """
    marks: list[Mark] = []
    out: list[str] = []
    fenced = ""
    for number, line in enumerate(body.split("\n"), first_line):
        fence = _FENCE.match(line)
        if fence and (not fenced or fence[1] == fenced):
            fenced = "" if fenced else fence[1]
            out.append(line)
        elif fenced:
            out.append(line)
        else:
            out.append(_line(line, Location(file=file, line=number, column=1), marks, found))
    return "\n".join(out), tuple(marks)


def _line(line: str, place: Location, marks: list[Mark], found: Collector) -> str:
    hidden = next((i for i, c in enumerate(line) if c in (OPEN, CLOSE)), None)
    if hidden is not None:
        found.error(
            "control-character",
            f"the file holds the hidden character U+{ord(line[hidden]):04X}",
            Location(file=place.file, line=place.line, column=hidden + 1),
            hint="delete it",
        )
        line = line.replace(OPEN, "").replace(CLOSE, "")
    code = [match.span() for match in _CODE.finditer(line)]

    def in_code(at: int) -> bool:
        return any(low <= at < high for low, high in code)

    def stand_in(match: re.Match[str]) -> str:
        if in_code(match.start()):
            return match[0]
        where = Location(file=place.file, line=place.line, column=match.start() + 1)
        inside = _INSIDE.fullmatch(match["inside"])
        if inside is None:
            _broken(where, found)
            return match[0]
        marks.append(Mark(kind=inside["kind"], what=inside["what"], words=inside["words"] or "", location=where))
        return f"{OPEN}{len(marks) - 1}{CLOSE}"

    done = _MARK.sub(stand_in, line)
    for match in re.finditer(r"\{\{", _MARK.sub(lambda m: " " * len(m[0]), line)):
        if not in_code(match.start()):
            _broken(Location(file=place.file, line=place.line, column=match.start() + 1), found)
    return done


def _broken(where: Location, found: Collector) -> None:
    found.error(
        "broken-mark",
        "this mark is not complete",
        where,
        hint="a mark stands on one line: {{kind:name}} or {{kind:name|words to show}}",
    )
