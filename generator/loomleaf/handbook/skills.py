"""Skills with their standards, from a chapter file, and each apprentice's record of what was shown.

In the file, a second-level heading names a theme, a third-level one a skill (``name: title``), and what follows it is
its standard. A line ``Wanted: did-supervised in year 1, did-alone in year 2`` says what is to be shown by when, counted
from the day an apprentice started. The published handbook holds the skills and a blank record; a record or a matrix with
names on it is paper of its own and never part of the site.
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


LEVEL_SIGNED = {
    "watched": "the fitter who was watched",
    "helped": "the fitter who led the work",
    "did-supervised": "the fitter who stood by",
    "did-alone": "the mentor, who looked over the finished work",
    "can-teach": "the mentor, who watched it being taught",
}
"""Who signs for each level. Nobody signs for themselves."""

ACROSS = 4  # apprentices beside each other in one table of the matrix
MATRIX = "crew-matrix.pdf"
NEXT = 6  # how many of the next things to show are listed at the top of a record


@dataclass(frozen=True, kw_only=True)
class Target:
    """A level that is to be shown by the end of a year of training (the first is 1)."""

    level: str
    year: int

    @property
    def words(self) -> str:
        return f"{LEVEL_WORDS[self.level]} by the end of year {self.year}"


@dataclass(frozen=True, kw_only=True)
class Skill:
    """One skill: its name in crew files, its title and its standard as HTML, and what is wanted by when."""

    name: str
    title: Markup
    standard: Markup
    wanted: tuple[Target, ...] = ()

    @property
    def plain_title(self) -> str:
        return words_of(self.title)

    @property
    def wanted_words(self) -> str:
        said = ", ".join(target.words for target in self.wanted)
        return said[:1].upper() + said[1:]

    def year_of(self, level: str) -> int | None:
        """The year by which a level is wanted, None when it is not asked for."""
        return next((t.year for t in self.wanted if t.level == level), None)


@dataclass(frozen=True, kw_only=True)
class Theme:
    title: str
    skills: tuple[Skill, ...]


_SKILL = re.compile(r"### (?P<name>[a-z0-9]+(?:-[a-z0-9]+)*): (?P<title>.+)")
_WANTED = re.compile(r"Wanted:\s*(?P<what>.*)")
_TARGET = re.compile(r"(?P<level>[a-z-]+) in year (?P<year>[1-9])")


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
        wanted: tuple[Target, ...] = ()
        below = lines[here + 1 : after]
        for offset, line in enumerate(below):
            asked = _WANTED.fullmatch(line.strip())
            if asked:
                wanted = _targets(
                    asked["what"], Location(file=chapter.file, line=number + 1 + offset, column=1), page.found
                )
                below[offset] = ""
        said = render("\n".join(below), chapter.file, number + 1, page).html
        themes[-1][1].append(Skill(name=named["name"], title=Markup(title), standard=Markup(said), wanted=wanted))
    return tuple(Theme(title=title, skills=tuple(skills)) for title, skills in themes)


def _targets(text: str, place: Location, found: Collector) -> tuple[Target, ...]:
    """What a line "Wanted" asks for, each later year a higher level than the one before."""
    targets = []
    for part in text.split(","):
        read = _TARGET.fullmatch(part.strip())
        if read is None or read["level"] not in LEVELS:
            found.error(
                "bad-skill",
                f"'{part.strip()}' does not say which level is wanted in which year",
                place,
                hint=f"for example did-alone in year 2; the levels are {', '.join(LEVELS)}",
            )
            return ()
        targets.append(Target(level=read["level"], year=int(read["year"])))
    rising = all(
        a.year < b.year and LEVELS.index(a.level) < LEVELS.index(b.level) for a, b in itertools.pairwise(targets)
    )
    if not rising:
        found.error(
            "bad-skill", "a later year wants no higher level than the one before", place, hint="put them in order"
        )
    return tuple(targets) if rising else ()


# What one apprentice has shown, what is overdue and what comes next


@dataclass(frozen=True, kw_only=True)
class Due:
    """Something an apprentice is still to show. ``again``: it was shown, and is to be shown once more."""

    skill: Skill
    level: str
    by: date
    again: bool
    late: bool

    @property
    def words(self) -> str:
        what = "show it again" if self.again else LEVEL_WORDS[self.level]
        return f"{what}, by {long_date(self.by)}"


@dataclass(frozen=True, kw_only=True)
class RecordRow:
    """A skill in one apprentice's record: the best that was shown, every showing as a line, and what is still due."""

    skill: Skill
    level: str
    shown: tuple[str, ...]
    due: tuple[Due, ...]


def years_after(day: date, years: int) -> date:
    """The same day some years later; the last of February for the day that most years do not have.

    >>> years_after(date(2024, 2, 29), 1).isoformat()
    '2025-02-28'
    """
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def latest(crew: Sequence[Apprentice]) -> date:
    """The last day that any record of the crew speaks of. No clock is asked, so the same files make the same paper."""
    return max((day for person in crew for day in (person.started, *(s.on for s in person.shown))), default=date.min)


def dues(apprentice: Apprentice, skill: Skill, as_of: date) -> tuple[Due, ...]:
    """What is still to be shown of one skill: the highest level that is late, the next one, and showing it again."""
    mine = [s for s in apprentice.shown if s.skill == skill.name]
    reached = max((LEVELS.index(s.level) for s in mine), default=-1)
    missing = [
        Due(skill=skill, level=t.level, by=by, again=False, late=by < as_of)
        for t in skill.wanted
        if LEVELS.index(t.level) > reached
        for by in [years_after(apprentice.started, t.year)]
    ]
    late, coming = [d for d in missing if d.late][-1:], [d for d in missing if not d.late][:1]
    again = [s.redo_by for s in mine if s.redo_by and not any(o.on > s.on for o in mine)]
    if again:
        by = max(again)
        late.append(Due(skill=skill, level="", by=by, again=True, late=by < as_of))
    return tuple(sorted((*late, *coming), key=lambda d: (d.by, d.again)))


def best_level(shown: Sequence[Shown]) -> str:
    """The highest level that was shown, in words; "" when nothing was.

    >>> best_level([])
    ''
    """
    return LEVEL_WORDS[max((s.level for s in shown), key=LEVELS.index)] if shown else ""


def record_rows(
    apprentice: Apprentice, themes: Sequence[Theme], as_of: date
) -> tuple[tuple[str, tuple[RecordRow, ...]], ...]:
    """Every skill by theme, with what this apprentice has shown of it, in order of date."""

    def row(skill: Skill) -> RecordRow:
        mine = sorted((s for s in apprentice.shown if s.skill == skill.name), key=lambda s: s.on)
        return RecordRow(
            skill=skill,
            level=best_level(mine),
            shown=tuple(_line(s) for s in mine),
            due=dues(apprentice, skill, as_of),
        )

    return tuple((theme.title, tuple(row(s) for s in theme.skills)) for theme in themes)


def _line(shown: Shown) -> str:
    job = f", job {shown.job}" if shown.job else ""
    result = f": {shown.result}" if shown.result else ""
    return f"{long_date(shown.on)}, {LEVEL_WORDS[shown.level]}{job}, signed by {shown.signed_by}{result}"


def check_crew(crew: Sequence[Entry[Apprentice]], themes: Sequence[Theme], found: Collector) -> None:
    """Tell where a crew file names a skill that the handbook does not have, or an apprentice signs for themselves."""
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
            if shown.signed_by.casefold() == entry.value.name.casefold():
                found.error(
                    "own-signature",
                    f"{entry.value.name} cannot sign for what {entry.value.name} has shown",
                    entry.place("shown", number, "signed_by"),
                    hint=f"the name of {LEVEL_SIGNED[shown.level].partition(',')[0]}",
                )


def build_records(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    crew: Sequence[Apprentice],
    *,
    paper: str | None = None,
) -> tuple[dict[str, bytes], tuple[Problem, ...]]:
    """One PDF an apprentice and one matrix of them all, by file name."""
    from ..sheets.pdf import render as render_pdf

    read, _ = read_chapters(chapters)  # what is wrong with them is told with the site
    book = Book(reference=reference, shop=shop, chapters=read, terms=())
    chapter = next((c for c in read if c.front.kind == "skills"), None)
    if chapter is None or not crew:
        return {}, ()
    themes = read_skills(chapter, Page(book=book, root="", found=Collector()))
    as_of = latest(crew)
    size = (paper or shop.paper).lower()
    documents = [(f"{a.apprentice}.pdf", record_html(book, a, themes, as_of)) for a in crew]
    documents.append((MATRIX, matrix_html(book, crew, themes, as_of)))
    files: dict[str, bytes] = {}
    problems: list[Problem] = []
    for name, html in documents:
        data, told = render_pdf(html, styles=("edition.css", f"edition-{size}.css"), job="", issued=as_of, spaced=False)
        problems.extend(told)
        files[name] = data
    return files, in_order(problems)


def record_html(book: Book, apprentice: Apprentice, themes: Sequence[Theme], as_of: date) -> str:
    """One apprentice's record as a document."""
    from .site import standing_cautions

    rows = record_rows(apprentice, themes, as_of)
    due = sorted((d for _, some in rows for row in some for d in row.due), key=lambda d: (d.by, d.skill.name))
    return lay_out(
        "competence.html",
        shop=book.shop,
        person=apprentice,
        started=long_date(apprentice.started),
        as_of=long_date(as_of),
        overdue=[d for d in due if d.late],
        coming=[d for d in due if not d.late][:NEXT],
        themes=rows,
        cautions=standing_cautions(book),
    )


def matrix_html(book: Book, crew: Sequence[Apprentice], themes: Sequence[Theme], as_of: date) -> str:
    """Every skill against every apprentice, with what is overdue and what comes next, as a document."""
    from .site import standing_cautions

    people = sorted(crew, key=lambda a: (a.started, a.name))
    tables = []
    for start in range(0, len(people), ACROSS):
        some = people[start : start + ACROSS]
        columns = [dict(record_rows(person, themes, as_of)) for person in some]
        rows = [
            (theme.title, [(skill, [c[theme.title][n] for c in columns]) for n, skill in enumerate(theme.skills)])
            for theme in themes
        ]
        tables.append((some, rows))
    late = [(p, d) for p in people for t in themes for s in t.skills for d in dues(p, s, as_of) if d.late]
    return lay_out(
        "matrix.html",
        shop=book.shop,
        as_of=long_date(as_of),
        tables=tables,
        overdue=[(p.name, d) for p, d in sorted(late, key=lambda one: (one[1].by, one[0].name, one[1].skill.name))],
        cautions=standing_cautions(book),
    )
