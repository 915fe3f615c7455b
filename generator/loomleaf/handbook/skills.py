"""Skills with their standards, from a chapter file, and each apprentice's record of what was shown.

In the file, a second-level heading names a theme, a third-level one a skill (``name: title``), and what follows it is
its standard. The published handbook holds the skills and a blank record; a record with a name on it is paper of its own
and never part of the site.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from ..check.library import Entry
from ..model.crew import Apprentice, Shown
from ..model.job import long_date
from ..model.reference import Reference
from ..model.shop import Shop
from ..problems import Collector, Location, Problem, in_order, nearest
from ..source.tree import Chapter as ChapterFile
from .book import Book
from .chapters import render
from .front import Chapter, read_chapters
from .marks_html import Page
from .prose import words_of
from .templates import lay_out

LEVELS = ("watched", "helped", "did-supervised", "did-alone", "can-teach")
LEVEL_WORDS = {
    "watched": "watched",
    "helped": "helped",
    "did-supervised": "did it, supervised",
    "did-alone": "did it alone",
    "can-teach": "can teach it",
}


@dataclass(frozen=True, kw_only=True)
class Skill:
    """One skill: its name in crew files, its title and its standard as HTML."""

    name: str
    title: Markup
    standard: Markup

    @property
    def plain_title(self) -> str:
        return words_of(self.title)


@dataclass(frozen=True, kw_only=True)
class Theme:
    title: str
    skills: tuple[Skill, ...]


_SKILL = re.compile(r"### (?P<name>[a-z0-9]+(?:-[a-z0-9]+)*): (?P<title>.+)")


def read_skills(chapter: Chapter, page: Page) -> tuple[Theme, ...]:
    """The themes of a skills file; what is wrong is collected with its place."""
    themes: list[tuple[str, list[Skill]]] = []
    seen: set[str] = set()
    lines = chapter.body.split("\n")
    heads = [n for n, line in enumerate(lines) if line.startswith("#")] + [len(lines)]
    for here, after in itertools.pairwise(heads):
        number = chapter.first_line + here
        if lines[here].startswith("## "):
            themes.append((lines[here][3:].strip(), []))
            continue
        named = _SKILL.fullmatch(lines[here].strip())
        standard = "\n".join(lines[here + 1 : after]).strip()
        if named is None or not themes or not standard or named["name"] in seen:
            page.found.error(
                "bad-skill",
                "this is not a skill with a name of its own and a standard below it",
                Location(file=chapter.file, line=number, column=1),
                hint="### prove-a-ground: Prove a ground",
            )
            continue
        seen.add(named["name"])
        title = render(named["title"], chapter.file, number, page).html.removeprefix("<p>").removesuffix("</p>")
        text = "\n".join(lines[here + 1 : after])
        said = render(text, chapter.file, number + 1, page).html
        themes[-1][1].append(Skill(name=named["name"], title=Markup(title), standard=Markup(said)))
    return tuple(Theme(title=title, skills=tuple(skills)) for title, skills in themes)


@dataclass(frozen=True, kw_only=True)
class RecordRow:
    """A skill in one apprentice's record: the best that was shown, and every showing as a line."""

    skill: Skill
    level: str
    shown: tuple[str, ...]
    redo: str


def best_level(shown: Sequence[Shown]) -> str:
    """The highest level that was shown, in words; "" when nothing was.

    >>> best_level([])
    ''
    """
    return LEVEL_WORDS[max((s.level for s in shown), key=LEVELS.index)] if shown else ""


def record_rows(apprentice: Apprentice, themes: Sequence[Theme]) -> tuple[tuple[str, tuple[RecordRow, ...]], ...]:
    """Every skill by theme, with what this apprentice has shown of it, in order of date."""

    def row(skill: Skill) -> RecordRow:
        mine = sorted((s for s in apprentice.shown if s.skill == skill.name), key=lambda s: s.on)
        lines = tuple(_line(s) for s in mine)
        due = [s.redo_by for s in mine if s.redo_by and not any(o.on > s.on for o in mine)]
        return RecordRow(skill=skill, level=best_level(mine), shown=lines, redo=long_date(max(due)) if due else "")

    return tuple((theme.title, tuple(row(s) for s in theme.skills)) for theme in themes)


def _line(shown: Shown) -> str:
    job = f", job {shown.job}" if shown.job else ""
    result = f": {shown.result}" if shown.result else ""
    return f"{long_date(shown.on)}, {LEVEL_WORDS[shown.level]}{job}, signed by {shown.signed_by}{result}"


def check_crew(crew: Sequence[Entry[Apprentice]], themes: Sequence[Theme], found: Collector) -> None:
    """Tell where a crew file names a skill that the handbook does not have."""
    known = {skill.name for theme in themes for skill in theme.skills}
    for entry in crew:
        for number, shown in enumerate(entry.value.shown):
            if shown.skill not in known:
                found.error(
                    "unknown-skill",
                    f"'{shown.skill}' is not a skill of the handbook",
                    entry.place("shown", number, "skill"),
                    hint=nearest(shown.skill, known),
                )


def build_records(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    crew: Sequence[Apprentice],
    *,
    paper: str | None = None,
) -> tuple[dict[str, bytes], tuple[Problem, ...]]:
    """One PDF an apprentice, by file name."""
    from ..sheets.pdf import render as render_pdf

    read, _ = read_chapters(chapters)  # what is wrong with them is told with the site
    book = Book(reference=reference, shop=shop, chapters=read, terms=())
    chapter = next((c for c in read if c.front.kind == "skills"), None)
    if chapter is None or not crew:
        return {}, ()
    themes = read_skills(chapter, Page(book=book, root="", found=Collector()))
    files: dict[str, bytes] = {}
    problems: list[Problem] = []
    for apprentice in crew:
        html = record_html(book, apprentice, themes)
        size = (paper or shop.paper).lower()
        day = max((s.on for s in apprentice.shown), default=apprentice.started)
        data, told = render_pdf(html, styles=("edition.css", f"edition-{size}.css"), job="", issued=day, spaced=False)
        problems.extend(told)
        files[f"{apprentice.apprentice}.pdf"] = data
    return files, in_order(problems)


def record_html(book: Book, apprentice: Apprentice, themes: Sequence[Theme]) -> str:
    """One apprentice's record as a document."""
    from .site import standing_cautions

    last: date = max((s.on for s in apprentice.shown), default=apprentice.started)
    return lay_out(
        "competence.html",
        shop=book.shop,
        person=apprentice,
        started=long_date(apprentice.started),
        as_of=long_date(last),
        themes=record_rows(apprentice, themes),
        cautions=standing_cautions(book),
    )
