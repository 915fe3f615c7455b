"""Chapter files into chapters: front matter typed and located, body kept as text with the line it begins on.

A chapter file is ``NN-name.md``: a block of YAML between two lines of three hyphens, then Markdown.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from ..check.convert import convert
from ..model.base import Content, Id, Several, Text
from ..problems import Collector, Location, Problem
from ..source.nodes import read_document
from ..source.tree import Chapter as ChapterFile

Kind = Literal["chapter", "glossary", "faults", "practice", "skills"]


class Front(Content):
    """The front matter of one chapter. ``part`` is the heading under which the contents page lists it."""

    title: Text
    kind: Kind = "chapter"
    part: Text = ""
    summary: Text = ""
    after: Annotated[tuple[Text, ...], Several] = ()  # what the reader can do after it
    sources: Annotated[tuple[Id, ...], Several] = ()
    words: Annotated[tuple[Text, ...], Several] = ()  # further words that search finds it by


@dataclass(frozen=True, kw_only=True)
class Chapter:
    """One chapter. ``first_line`` is the line of its file on which the body begins."""

    file: str
    slug: str
    front: Front
    body: str
    first_line: int

    @property
    def href(self) -> str:
        """Its page, from the root of the site."""
        return {"glossary": "glossary.html", "faults": "faults.html"}.get(self.front.kind, f"chapters/{self.slug}.html")


_NAME = re.compile(r"(?:\d+-)?(?P<slug>[a-z0-9]+(?:-[a-z0-9]+)*)\.md")


def overlay(files: Sequence[ChapterFile]) -> tuple[ChapterFile, ...]:
    """The files in reading order (by name); a later one of the same name stands in for an earlier one."""
    by_name: dict[str, ChapterFile] = {}
    for file in files:
        by_name[file.file.rpartition("/")[2]] = file
    return tuple(by_name[name] for name in sorted(by_name))


def read_chapters(files: Sequence[ChapterFile]) -> tuple[tuple[Chapter, ...], tuple[Problem, ...]]:
    """Every chapter that can be read, in reading order, and what is wrong with the others."""
    found = Collector()
    chapters: list[Chapter] = []
    seen: dict[str, str] = {}
    for file in overlay(files):
        chapter = _read(file, found)
        if chapter is None:
            continue
        if chapter.href in seen:
            found.error(
                "chapter-twice",
                f"this chapter makes the same page as {seen[chapter.href]}",
                Location(file=file.file),
                hint="give the file another name",
            )
            continue
        seen[chapter.href] = file.file
        chapters.append(chapter)
    return tuple(chapters), tuple(found.problems)


def _read(file: ChapterFile, found: Collector) -> Chapter | None:
    named = _NAME.fullmatch(file.file.rpartition("/")[2])
    if named is None:
        found.error(
            "chapter-name",
            "the file name of a chapter is a number, a hyphen, and words in small letters",
            Location(file=file.file),
            hint="for example 04-wire-functions.md",
        )
        return None
    lines = file.text.splitlines()
    end = next((n for n, line in enumerate(lines[1:], 1) if line.rstrip() == "---"), None)
    if not lines or lines[0].rstrip() != "---" or end is None:
        found.error(
            "chapter-front",
            "a chapter begins with its front matter between two lines of three hyphens",
            Location(file=file.file, line=1, column=1),
            hint="the least is: ---, title: the chapter's title, ---",
        )
        return None
    front_text = "\n" + "\n".join(lines[1:end]) + "\n"
    document, problems = read_document(file.file, front_text.encode())
    found.problems.extend(problems)
    if document.root is None:
        return None
    front = convert(document, Front, found)
    if front is None:
        return None
    body = "\n".join(lines[end + 1 :])
    return Chapter(file=file.file, slug=named["slug"], front=front, body=body, first_line=end + 2)
