"""The whole handbook: reference, chapters and plans in; every file of the site out. Nothing is written here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from ..check.library import Entry as Located
from ..model.crew import Apprentice
from ..model.reference import Caution, Reference
from ..model.shop import Shop
from ..plan.dashnotes import DashNotes
from ..plan.types import Plan
from ..problems import Collector, Problem, in_order
from ..source.tree import Chapter as ChapterFile
from . import search, ways_back
from .assets import asset_files
from .atoz import make_index
from .blocks import Entry
from .book import FOLDERS, HEADINGS, Book, Link
from .chapters import render, render_chapter
from .dash import HEADING as DASH_NOTES
from .dash import KIND as DASH_NOTE
from .dash import dash_pages
from .entries import all_entries
from .front import Chapter, read_chapters
from .glossary import link_first_use, read_terms
from .links import check_links
from .marks_html import Page
from .pages import Middle
from .pictures import caution_box
from .practice import QuestionSet, asked_of, counted, puzzle_set, read_sets, with_questions
from .prose import words_of
from .skills import LEVEL_SIGNED, LEVEL_WORDS, LEVELS, check_crew, read_skills
from .templates import lay_out

CONTENTS = Link(words="Contents", href="contents.html")
EDITION = "handbook.pdf"
STANDING_CAUTIONS = ("battery-disconnection", "airbag-circuits", "vehicle-maker-first")


def build_site(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    plans: Sequence[Plan] = (),
    *,
    edition: bytes = b"",
    crew: Sequence[Located[Apprentice]] = (),
    notes: Mapping[str, DashNotes] | None = None,
) -> tuple[dict[str, bytes | str], tuple[Problem, ...]]:
    """Path in the site to content, and everything that is wrong.

    ``chapters`` are the shipped files, then the shop's own: a later one of the same name stands in for an earlier one.
    ``edition`` is the print edition, which the contents page then links to; empty for none. ``crew`` is only checked
    against the skills: no name of a person is published. ``notes`` are the dash notes by vehicle.
    """
    book, pages, problems = build_pages(reference, shop, chapters, plans, printed=bool(edition), crew=crew, notes=notes)
    files: dict[str, bytes | str] = dict(asset_files())
    if edition:
        files[EDITION] = edition
    for page in pages:
        files[page.path] = framed(page, book)
    files["assets/search-index.js"] = search.index_script(pages, book)
    return files, in_order((*problems, *check_links(files)))


def build_pages(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    plans: Sequence[Plan] = (),
    *,
    printed: bool = False,
    crew: Sequence[Located[Apprentice]] = (),
    notes: Mapping[str, DashNotes] | None = None,
) -> tuple[Book, tuple[Middle, ...], tuple[Problem, ...]]:
    """Every page without its frame, in reading order; the print edition is made from the same."""
    found = Collector()
    read, problems = read_chapters(chapters)
    found.problems.extend(problems)
    glossary = next((c for c in read if c.front.kind == "glossary"), None)
    terms = read_terms(glossary.body, glossary.first_line) if glossary else ()
    book = Book(reference=reference, shop=shop, chapters=read, terms=terms, plans=tuple(plans), notes=dict(notes or {}))
    _standing_cautions(book, found)
    practice, asked = _practice_pages(book, [c for c in read if c.front.kind == "practice"], found)
    told = [_chapter_page(book, c, found, asked) for c in read if c.front.kind in ("chapter", "faults")]
    skills = _skills_pages(book, crew, found)
    chapter_pages = _onward((*(t.page for t in told), *practice[:1], *skills[:1]))
    entries = all_entries(book)
    entry_pages = tuple(_entry_page(book, e, _mentioned(told, e)) for e in entries)
    lists = tuple(_list_page(book, kind, entries) for kind in FOLDERS if book.section(kind))
    if reference.refusals:
        lists += (_refusals_page(book),)
    dash = dash_pages(book, CONTENTS)
    lists += dash[:1]
    last = [_sources_page(book, told, entries)]
    if glossary:
        last.insert(0, _glossary_page(book, glossary, found))
    listed = ways_back.with_ways_back(
        (*chapter_pages, *practice[1:], *skills[1:], *lists, *entry_pages, *dash[1:], *last)
    )
    atoz = Middle(
        path="a-to-z.html",
        title="Index",
        about="Every wire, part, method and word of the handbook, in alphabetical order.",
        html=lay_out("pages/atoz.html", letters=make_index(book, listed), root=""),
        trail=(CONTENTS,),
    )
    finding = Middle(path="search.html", title="Search", html=lay_out("pages/search.html", root=""), trail=(CONTENTS,))
    home = _home_page(book, chapter_pages, lists)
    contents = _contents_page(book, chapter_pages, lists, entries, printed=printed)
    pages = tuple(_with_terms(p, book) for p in (home, contents, *listed, atoz, finding))
    return book, pages, in_order(found.problems)


@dataclass(frozen=True, kw_only=True)
class _Told:
    """A chapter's page, and what its text links to."""

    page: Middle
    chapter: Chapter
    mentions: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]


def _standing_cautions(book: Book, found: Collector) -> None:
    for name in STANDING_CAUTIONS:
        if name not in book.reference.cautions:
            found.error("no-caution", f"the reference lacks the caution '{name}', which every page carries")


def standing_cautions(book: Book) -> tuple[tuple[str, Caution], ...]:
    """The cautions that every page carries, in their fixed order, then any others so marked."""
    known = book.reference.cautions
    names = [n for n in STANDING_CAUTIONS if n in known]
    names += sorted(n for n, c in known.items() if c.standing_caution and n not in names)
    return tuple((n, known[n]) for n in names)


def framed(page: Middle, book: Book) -> str:
    """A page in its frame: head, strip, cautions, foot."""
    cautions = standing_cautions(book)
    return lay_out(
        "page_base.html",
        page=page,
        root=page.root,
        main=Markup(page.html),
        shop=book.shop,
        cautions=cautions,
        caution_boxes=[Markup(caution_box(c, n, page.root)) for n, c in cautions],
        parts=_strip(book),
    )


def _strip(book: Book) -> tuple[Link, ...]:
    links = [CONTENTS]
    if any(c.front.kind == "faults" for c in book.chapters):
        links.append(Link(words="Faults", href="faults.html"))
    if book.terms:
        links.append(Link(words="Glossary", href="glossary.html"))
    links.append(Link(words="Index", href="a-to-z.html"))
    links.append(Link(words="Search", href="search.html"))
    return tuple(links)


def _with_terms(page: Middle, book: Book) -> Middle:
    if page.kind not in (*FOLDERS, DASH_NOTE, "list", "practice"):
        return page
    return replace(page, html=link_first_use(page.html, book.terms, page.root))


def _chapter_page(
    book: Book, chapter: Chapter, found: Collector, asked: Mapping[tuple[str, str], tuple[int, ...]]
) -> _Told:
    root = "../" * chapter.href.count("/")
    page = Page(book=book, root=root, found=found)
    taken = {"main", "cautions", "sources", "after", ways_back.ANCHOR}
    rendered = render_chapter(chapter, page, taken)
    more = _job_faults(book, page) if chapter.front.kind == "faults" else ""
    practice = next((root + c.href for c in book.chapters if c.front.kind == "practice"), "")
    body = with_questions(rendered.html, chapter.slug, asked, practice)
    cited = tuple(dict.fromkeys((*chapter.front.sources, *page.sources)))
    sources = tuple(
        Link(words=book.reference.sources[s].title, href=f"sources.html#source-{s}")
        for s in cited
        if s in book.reference.sources
    )
    tops = tuple((h.words, h.anchor) for h in rendered.headings if h.level == 2)
    made = lay_out(
        "pages/chapter.html",
        chapter=chapter.front,
        body=Markup(link_first_use(body + more, book.terms, root)),
        tops=tops,
        sources=sources,
        root=root,
    )
    middle = Middle(
        path=chapter.href,
        title=chapter.front.title,
        html=made,
        about=chapter.front.summary,
        kind="chapter",
        trail=(CONTENTS,),
        words=chapter.front.words,
        entries=tuple(page.entries),
        headings=tops,
    )
    return _Told(page=middle, chapter=chapter, mentions=tuple(dict.fromkeys(page.mentions)), sources=cited)


def _job_faults(book: Book, page: Page) -> str:
    """The symptoms that a job's own fault page is made from, with links to the functions they look at."""
    rows = []
    for fault in sorted(book.reference.faults.values(), key=lambda f: f.order):
        look = [(step.do, book.links("function", step.at)) for step in fault.look]
        page.mentions.extend(("function", name) for step in fault.look for name in step.at)
        rows.append((fault.symptom, look))
    return lay_out("pages/job_faults.html", rows=rows, root=page.root) if rows else ""


def _practice_pages(
    book: Book, files: Sequence[Chapter], found: Collector
) -> tuple[tuple[Middle, ...], dict[tuple[str, str], tuple[int, ...]]]:
    """The questions with their answers folded away, the worksheets, the answer sheets; and which sections are asked of."""
    sets: list[QuestionSet] = []
    page = Page(book=book, root="", found=found)
    for chapter in files:
        page = Page(book=book, root="../", found=found)
        sets += read_sets(chapter, page, 1 + sum(len(s.questions) for s in sets))
    if not sets:
        return (), {}
    puzzles = puzzle_set(book.plans, 1 + sum(len(s.questions) for s in sets), book.reference.connectors)
    if puzzles.questions:
        sets.append(puzzles)
    front = files[0].front
    trail = (CONTENTS, Link(words=front.title, href=files[0].href))
    tops = tuple((s.title, s.anchor) for s in sets)
    asked = lay_out(
        "pages/practice.html", title=front.title, about=front.summary, sets=sets, kinds=counted(sets), root="../"
    )
    about = "Questions with room to write. Print a set, fill it in, then compare with the answer sheet."
    blank = lay_out("pages/worksheets.html", title="Worksheets", about=about, sets=sets, answers=False, root="../")
    said = "Answers by number, to lay beside a worksheet that is filled in."
    answers = lay_out("pages/worksheets.html", title="Answer sheets", about=said, sets=sets, answers=True, root="../")
    pages = (
        Middle(
            path=files[0].href,
            title=front.title,
            html=asked,
            about=front.summary,
            kind="practice",
            trail=(CONTENTS,),
            words=front.words,
            headings=tops,
        ),
        Middle(path="practice/worksheets.html", title="Worksheets", html=blank, about=about, kind="sheet", trail=trail),
        Middle(
            path="practice/answers.html", title="Answer sheets", html=answers, about=said, kind="sheet", trail=trail
        ),
    )
    return pages, asked_of(sets)


def _skills_pages(book: Book, crew: Sequence[Located[Apprentice]], found: Collector) -> tuple[Middle, ...]:
    """The skills with their standards, and a blank record. Nobody's name stands here."""
    chapter = next((c for c in book.chapters if c.front.kind == "skills"), None)
    if chapter is None:
        return ()
    themes = read_skills(chapter, Page(book=book, root="../", found=found))
    check_crew(crew, themes, found)
    front = chapter.front
    signed = [(LEVEL_WORDS[level], LEVEL_SIGNED[level]) for level in LEVELS]
    about = "A competence record to print and fill in by hand."
    html = lay_out(
        "pages/skills.html", title=front.title, about=front.summary, themes=themes, levels=signed, root="../"
    )
    blank = lay_out("pages/record.html", themes=themes, levels=tuple(LEVEL_WORDS.items()), root="../")
    trail = (CONTENTS, Link(words=front.title, href=chapter.href))
    return (
        Middle(
            path=chapter.href,
            title=front.title,
            html=html,
            about=front.summary,
            kind="practice",
            trail=(CONTENTS,),
            words=front.words,
            headings=tuple((theme.title, "") for theme in themes),
        ),
        Middle(
            path="practice/record.html",
            title="Blank competence record",
            html=blank,
            about=about,
            kind="sheet",
            trail=trail,
        ),
    )


def _onward(pages: tuple[Middle, ...]) -> tuple[Middle, ...]:
    """Chapters in reading order, each knowing the one before and the one after."""
    out = []
    for number, page in enumerate(pages):
        before = pages[number - 1].here if number else None
        after = pages[number + 1].here if number + 1 < len(pages) else None
        out.append(replace(page, before=before, after=after))
    return tuple(out)


def _mentioned(told: Sequence[_Told], entry: Entry) -> tuple[Link, ...]:
    return tuple(t.page.here for t in told if (entry.kind, entry.name) in t.mentions)


def _entry_page(book: Book, entry: Entry, chapters: tuple[Link, ...]) -> Middle:
    source = book.reference.sources.get(entry.source)
    html = lay_out(
        "pages/entry.html",
        entry=entry,
        chapters=chapters,
        source=Link(words=source.title, href=f"sources.html#source-{entry.source}") if source else None,
        root="../",
    )
    return Middle(
        path=f"{FOLDERS[entry.kind]}/{entry.name}.html",
        title=entry.title,
        html=html,
        about=entry.lead or entry.title,
        kind=entry.kind,
        trail=(CONTENTS, Link(words=HEADINGS[entry.kind], href=f"{FOLDERS[entry.kind]}.html")),
        words=entry.words,
        headings=tuple((b.heading, "") for b in entry.blocks),
    )


GROUP_HEADINGS = {
    "supply": "Supply",
    "ground": "Ground",
    "control": "Control",
    "speaker": "Loudspeakers",
    "line": "Line level",
    "video": "Video",
    "data": "Data",
    "safety": "Never joined",
}
ABOUT_LISTS = {
    "function": "What each conductor is for, how it is proved, and what it must never meet.",
    "connector": "Plugs and ready-made ends, seen from the side that mates.",
    "method": "Ways to join wires: when each is right, how it is done, how it fails.",
    "feature": "What a vehicle can do today, and what a radio swap does to it.",
    "caution": "Hazards of the work: three stand over every job, the others come just before the step they belong to.",
    "problem": "What the program can find wrong in a shop's files, why it matters, and how to put it right.",
}


def _groups(book: Book, kind: str, entries: Sequence[Entry]) -> tuple[tuple[str, tuple[tuple[Link, str], ...]], ...]:
    """Entries of one kind under their headings; each with one sentence about it."""
    mine = [e for e in entries if e.kind == kind]

    def line(entry: Entry) -> tuple[Link, str]:
        return book.link(kind, entry.name), entry.lead

    if kind == "function":
        functions = book.reference.functions
        return tuple(
            (heading, tuple(line(e) for e in mine if functions[e.name].group == group))
            for group, heading in GROUP_HEADINGS.items()
            if any(functions[e.name].group == group for e in mine)
        )
    if kind == "caution":
        cautions = book.reference.cautions
        standing = [e for e in mine if cautions[e.name].standing_caution]
        others = [e for e in mine if e not in standing]
        return tuple(
            (heading, tuple((book.link(kind, e.name), cautions[e.name].hazard) for e in some))
            for heading, some in (("Over every job", standing), ("At their step", others))
        )
    return (("", tuple(line(e) for e in mine)),)


def _list_page(book: Book, kind: str, entries: Sequence[Entry]) -> Middle:
    html = lay_out(
        "pages/list.html", title=HEADINGS[kind], about=ABOUT_LISTS[kind], groups=_groups(book, kind, entries), root=""
    )
    return Middle(
        path=f"{FOLDERS[kind]}.html",
        title=HEADINGS[kind],
        html=html,
        about=ABOUT_LISTS[kind],
        kind="list",
        trail=(CONTENTS,),
    )


def _parts(book: Book, pages: Sequence[Middle]) -> tuple[tuple[str, tuple[Middle, ...]], ...]:
    """Chapter pages by the part that their front matter names, in reading order."""
    named = {c.href: c.front.part for c in book.chapters}
    parts: dict[str, list[Middle]] = {}
    for page in pages:
        parts.setdefault(named.get(page.path, ""), []).append(page)
    return tuple((part, tuple(inside)) for part, inside in parts.items())


def _refusals_page(book: Book) -> Middle:
    """Every join that is refused, whichever of the two drives, with its reason."""
    about = "Wires that never meet, whichever of the two drives, and why."
    rows = sorted(((r.title, r.reason) for r in book.reference.refusals.values()), key=lambda row: row[0].lower())
    html = lay_out("pages/refusals.html", title="Joins that are refused", about=about, rows=rows, root="")
    return Middle(
        path="refused-joins.html",
        title="Joins that are refused",
        html=html,
        about=about,
        kind="list",
        trail=(CONTENTS,),
    )


def _contents_page(
    book: Book, chapters: Sequence[Middle], lists: Sequence[Middle], entries: Sequence[Entry], *, printed: bool
) -> Middle:
    counts = {HEADINGS[k]: sum(1 for e in entries if e.kind == k) for k in FOLDERS}
    counts["Joins that are refused"] = len(book.reference.refusals)
    counts[DASH_NOTES] = len(book.notes)
    html = lay_out(
        "pages/contents.html",
        parts=_parts(book, chapters),
        lists=tuple((page, counts[page.title]) for page in lists),
        glossary=bool(book.terms),
        edition=EDITION if printed else "",
        root="",
    )
    return Middle(
        path="contents.html", title="Contents", html=html, about="Everything in the handbook, in reading order."
    )


def _home_page(book: Book, chapters: Sequence[Middle], lists: Sequence[Middle]) -> Middle:
    html = lay_out(
        "pages/home.html",
        shop=book.shop,
        first=chapters[0].here if chapters else None,
        parts=_parts(book, chapters),
        lists=tuple(lists),
        boxes=[Markup(caution_box(c, n, "")) for n, c in standing_cautions(book)],
        root="",
    )
    return Middle(
        path="index.html",
        title="The fitter’s handbook",
        html=html,
        about="How to make and fit a radio lead that can be trusted.",
        kind="home",
    )


def _glossary_page(book: Book, glossary: Chapter, found: Collector) -> Middle:
    page = Page(book=book, root="", found=found)
    terms = []
    for term in book.terms:
        made = render(term.meaning, glossary.file, term.line, page).html
        inner = made.removeprefix("<p>").removesuffix("</p>")
        terms.append((term, Markup(link_first_use(inner, book.terms, "", without=term.anchor))))
    html = lay_out(
        "pages/glossary.html", title=glossary.front.title, about=glossary.front.summary, terms=terms, root=""
    )
    return Middle(
        path="glossary.html", title=glossary.front.title, html=html, about=glossary.front.summary, trail=(CONTENTS,)
    )


SEEN = {
    "text": "read in its own words",
    "secondary": "read in somebody’s restatement",
    "memory": "from memory, not read for this handbook",
    "none": "no text: a habit of the trade",
}


def _sources_page(book: Book, told: Sequence[_Told], entries: Sequence[Entry]) -> Middle:
    rows = []
    for name, source in sorted(book.reference.sources.items(), key=lambda s: s[1].title.lower()):
        used = [t.page.here for t in told if name in t.sources]
        used += [book.link(e.kind, e.name) for e in entries if e.source == name][:6]
        details = ". ".join(w.rstrip(".") for w in (source.publisher, source.edition, source.part, source.note) if w)
        rows.append((name, source.title, details, SEEN.get(source.seen, source.seen), tuple(used)))
    html = lay_out("pages/sources.html", rows=rows, root="")
    return Middle(
        path="sources.html",
        title="Sources",
        html=html,
        about="Where each value and rule comes from, and how well it is known.",
        trail=(CONTENTS,),
    )


def plain_words(page: Middle) -> str:
    """A page's text without markup, for search."""
    return words_of(page.html)
