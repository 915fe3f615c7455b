"""The print edition: the same pages as one document with contents, page numbers, running heads, cautions and an index."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from urllib.parse import urldefrag

from markupsafe import Markup

from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.dashnotes import DashNotes
from ..plan.types import Plan
from ..problems import Problem, in_order
from ..source.tree import Chapter as ChapterFile
from .atoz import make_index
from .book import FOLDERS, HEADINGS, Book
from .dash import FOLDER as DASH_FOLDER
from .dash import HEADING as DASH_NOTES
from .dash import KIND as DASH_NOTE
from .pages import Middle
from .pictures import caution_box
from .prose import slug
from .templates import lay_out

PRINTED = tuple(kind for kind in FOLDERS if kind != "problem")
"""Kinds of entry that are printed. What the program's messages mean is looked up on the screen, where they are shown."""

WORKSHEETS = "practice/worksheets.html"
PRACTICE = ("chapters/skills.html", "practice/record.html", WORKSHEETS, "practice/answers.html")

_NO_DAY = date(2000, 1, 1)  # dates only what a file carries inside; the edition carries nothing
_TAG = re.compile(r"(<[^>]*>)")
_VOID = re.compile(r"<(br|hr|wbr|img|input)\b([^>]*?)/?>")
_ATTRIBUTE = re.compile(r'\s(id|href|aria-labelledby|aria-describedby)="([^"]*)"')


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One page of the site as a part of the book: its title, its anchor, and its markup with links turned inward."""

    title: str
    anchor: str
    html: Markup
    chapter: bool = False


@dataclass(frozen=True, kw_only=True)
class Part:
    """Pieces under one heading of the contents."""

    title: str
    pieces: tuple[Piece, ...]


def build_edition(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    plans: Sequence[Plan] = (),
    *,
    paper: str | None = None,
    notes: Mapping[str, DashNotes] | None = None,
) -> tuple[bytes, tuple[Problem, ...]]:
    """The PDF, and everything that is wrong. The bytes are the same for the same content, on any day."""
    from ..sheets.pdf import render

    html, problems = edition_html(reference, shop, chapters, plans, notes=notes)
    size = (paper or shop.paper).lower()
    data, more = render(html, styles=("edition.css", f"edition-{size}.css"), job="", issued=_NO_DAY, spaced=False)
    return data, in_order((*problems, *more))


def edition_html(
    reference: Reference,
    shop: Shop,
    chapters: Sequence[ChapterFile],
    plans: Sequence[Plan] = (),
    *,
    notes: Mapping[str, DashNotes] | None = None,
) -> tuple[str, tuple[Problem, ...]]:
    """The whole book as one well-formed document."""
    from .site import build_pages, standing_cautions

    book, pages, problems = build_pages(reference, shop, chapters, plans, notes=notes)
    parts = _parts(book, pages)
    known = _anchors(book, pages)
    cautions = standing_cautions(book)
    document = lay_out(
        "edition.html",
        shop=shop,
        parts=parts,
        letters=make_index(book, [p for p in pages if p.kind in ("chapter", *PRINTED, DASH_NOTE)]),
        anchor_of=lambda href: "#" + _turned(href, "", known),
        cautions=cautions,
        boxes=[Markup(_inward(caution_box(c, n, ""), "index.html", known)) for n, c in cautions],
    )
    return spaces_inside(document), problems


def _anchor(path: str) -> str:
    return "p-" + slug(path.removesuffix(".html"))


def _anchors(book: Book, pages: Sequence[Middle]) -> dict[str, str]:
    """Page to its anchor in the one document. On paper the questions are those of the worksheets."""
    known = {page.path: _anchor(page.path) for page in pages}
    for chapter in book.chapters:
        if chapter.front.kind == "practice" and WORKSHEETS in known:
            known[chapter.href] = known[WORKSHEETS]
    return known


def _parts(book: Book, pages: Sequence[Middle]) -> tuple[Part, ...]:
    """Chapters by their part, then each kind of entry, practice on paper, glossary and sources."""
    known = _anchors(book, pages)
    by_path = {page.path: page for page in pages}
    parts: dict[str, list[Piece]] = {}
    for chapter in book.chapters:
        page = by_path.get(chapter.href)
        if page is not None and page.kind == "chapter":
            parts.setdefault(chapter.front.part or "Chapters", []).append(_piece(page, known, chapter=True))
    for kind in PRINTED:
        pieces = [_piece(page, known) for page in pages if page.kind == kind]
        if pieces:
            parts[HEADINGS[kind]] = pieces
    if "refused-joins.html" in by_path:
        parts.setdefault(HEADINGS["function"], []).append(_piece(by_path["refused-joins.html"], known, chapter=True))
    if f"{DASH_FOLDER}.html" in by_path:
        parts[DASH_NOTES] = [_piece(by_path[f"{DASH_FOLDER}.html"], known, chapter=True)]
        parts[DASH_NOTES] += [_piece(page, known) for page in pages if page.kind == DASH_NOTE]
    last = [by_path[p] for p in PRACTICE if p in by_path]
    if last:
        parts["Practice"] = [_piece(page, known, chapter=True) for page in last]
    end = [by_path[p] for p in ("glossary.html", "sources.html") if p in by_path]
    parts["Words and sources"] = [_piece(page, known, chapter=True) for page in end]
    return tuple(Part(title=title, pieces=tuple(pieces)) for title, pieces in parts.items())


def _piece(page: Middle, known: Mapping[str, str], *, chapter: bool = False) -> Piece:
    return Piece(
        title=page.title, anchor=known[page.path], html=Markup(_inward(page.html, page.path, known)), chapter=chapter
    )


_SPACED = re.compile(r" ((?:<(?:a [^>]*|strong|em|span class=\"figure\")>)+)(?=\S)")


def spaces_inside(html: str) -> str:
    """The space before a link or a strong word moved into it.

    The layout engine ends a line after the first word of a text whose last word leaves no room for the space before the
    next element (seen with version 70); with the space inside the element it breaks where it should.

    >>> spaces_inside('Stop and read <a href="#x"><strong>on</strong></a>.')
    'Stop and read<a href="#x"><strong> on</strong></a>.'
    """
    return _SPACED.sub(r"\1 ", html)


def _inward(fragment: str, path: str, known: Mapping[str, str]) -> str:
    """A page's markup for one document: anchors made its own, links turned to anchors, elements closed."""
    out = []
    in_picture = 0
    for part in _TAG.split(fragment.replace("&nbsp;", "\u00a0")):
        if not part.startswith("<"):
            out.append(part)
            continue
        if part.startswith("<svg"):
            in_picture += 1
        drop_ids = bool(in_picture)
        if part.startswith("</svg"):
            in_picture -= 1
        part = _ATTRIBUTE.sub(partial(_attribute, path=path, known=known, drop_ids=drop_ids), part)
        out.append(_VOID.sub(r"<\1\2/>", part))
    return "".join(out)


def _attribute(match: re.Match[str], path: str, known: Mapping[str, str], drop_ids: bool) -> str:
    name, value = match[1], match[2]
    if name == "href":
        return f' href="#{_turned(value, path, known)}"'
    if drop_ids or name != "id":
        return ""
    return f' id="{known[path]}--{value}"'


def _turned(href: str, path: str, known: Mapping[str, str]) -> str:
    target, anchor = urldefrag(href)
    goal = posixpath.normpath(posixpath.join(posixpath.dirname(path), target)) if target else path
    page = known.get(goal, known["index.html"])
    return f"{page}--{anchor}" if anchor else page
