"""What each kind of mark becomes on the page. One small function a kind, in one explicit list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape

from ..figure import Figure, Standing
from ..problems import Collector, nearest
from . import figures, pictures
from .book import FOLDERS, Book
from .marks import Mark
from .plots import PLOTS
from .prose import slug


@dataclass(frozen=True, kw_only=True)
class Piece:
    """HTML for one mark. A ``block`` stands on its own; put inside a paragraph it falls back to ``inline``."""

    inline: str
    block: str = ""


@dataclass(frozen=True, kw_only=True)
class Page:
    """What rendering a page needs: the book, the way back to the site's root, and where things are gathered."""

    book: Book
    root: str
    found: Collector
    mentions: list[tuple[str, str]] = field(default_factory=list)  # (kind, id) of every entry the text links to
    entries: list[tuple[str, str]] = field(default_factory=list)  # (word, anchor) for the alphabetical index
    sources: list[str] = field(default_factory=list)  # ids cited, in order


def render_mark(mark: Mark, page: Page) -> Piece:
    """HTML for a mark; for a mark that means nothing, its words and a problem."""
    maker = MAKERS.get(mark.kind)
    if maker is None:
        page.found.error(
            "unknown-mark",
            f"'{mark.kind}' is not a kind of mark",
            mark.location,
            hint=nearest(mark.kind, MAKERS),
        )
        return Piece(inline=escape(mark.words or mark.what))
    return maker(mark, page)


def _unknown(mark: Mark, page: Page, known: list[str]) -> Piece:
    page.found.error(
        "unknown-mark",
        f"there is no {mark.kind} '{mark.what}'",
        mark.location,
        hint=nearest(mark.what, known),
    )
    return Piece(inline=escape(mark.words or mark.what))


def _entry(mark: Mark, page: Page) -> Piece:
    if mark.what not in page.book.section(mark.kind):
        return _unknown(mark, page, list(page.book.section(mark.kind)))
    page.mentions.append((mark.kind, mark.what))
    link = page.book.link(mark.kind, mark.what, words=mark.words)
    words = link.words if mark.words or mark.kind == "problem" else link.words[:1].lower() + link.words[1:]
    if not mark.words and link.words[:2].isupper():
        words = link.words
    return Piece(inline=f'<a href="{page.root}{link.href}">{escape(words)}</a>')


def _caution(mark: Mark, page: Page) -> Piece:
    known = page.book.reference.cautions
    if mark.what not in known:
        return _unknown(mark, page, list(known))
    return Piece(inline=_entry(mark, page).inline, block=pictures.caution_box(known[mark.what], mark.what, page.root))


def _chapter(mark: Mark, page: Page) -> Piece:
    name, _, anchor = mark.what.partition("#")
    chapter = page.book.chapter(name)
    if chapter is None:
        return _unknown(mark, page, [c.slug for c in page.book.chapters])
    href = page.root + chapter.href + (f"#{anchor}" if anchor else "")
    return Piece(inline=f'<a href="{escape(href)}">{escape(mark.words or chapter.front.title)}</a>')


def _term(mark: Mark, page: Page) -> Piece:
    term = page.book.term(mark.what)
    if term is None:
        return _unknown(mark, page, [w for t in page.book.terms for w in (t.word, *t.also)])
    return Piece(inline=f'<a class="term" href="{page.root}{term.href}">{escape(mark.words or mark.what)}</a>')


def _source(mark: Mark, page: Page) -> Piece:
    """``{{source:id}}`` or ``{{source:id memory}}``: where the sentence before it comes from, and how well it is known."""
    name, _, standing = mark.what.partition(" ")
    known = page.book.reference.sources
    if name not in known:
        return _unknown(mark, page, list(known))
    said = ""
    if standing:
        if standing not in [s.value for s in Standing]:
            page.found.error(
                "unknown-mark",
                f"'{standing}' is not a standing",
                mark.location,
                hint=nearest(standing, [s.value for s in Standing]),
            )
        else:
            said = f", {Standing(standing).words}" if standing != "published" else ""
    page.sources.append(name)
    words = mark.words or known[name].title
    return Piece(
        inline=f' <span class="note cite">Source: <a href="{page.root}sources.html#source-{name}">{escape(words)}</a>'
        f"{escape(said)}.</span>"
    )


def _note(mark: Mark, page: Page) -> Piece:
    words = mark.what + (f" | {mark.words}" if mark.words else "")
    return Piece(inline=f' <span class="note">{escape(words)}</span>')


def _index(mark: Mark, page: Page) -> Piece:
    anchor = f"at-{slug(mark.what)}-{len(page.entries)}"
    page.entries.append((mark.what, anchor))
    return Piece(inline=f'<span class="at" id="{anchor}"></span>')


def figure_html(figure: Figure, words: str, page: Page) -> str:
    """A computed value, with its working and sources as a note beside the text."""
    known = page.book.reference.sources
    sources = ", ".join(
        f'<a href="{page.root}sources.html#source-{s}">{escape(pictures.short_title(known[s].title))}</a>'
        for s in figure.sources
        if s in known
    )
    tail = f" {figure.known.words.capitalize()}: {sources}." if sources else ""
    page.sources.extend(s for s in figure.sources if s in known)
    return (
        f'<span class="figure">{escape(words or figure.text)}</span>'
        f'<span class="note working">{escape(figure.working)}.{tail}</span>'
    )


def _figure(mark: Mark, page: Page) -> Piece:
    asked, quiet = mark.what.removesuffix(" quiet"), mark.what.endswith(" quiet")
    figure = figures.work_out(asked, mark.location, page.found)
    if figure is None:
        return Piece(inline=escape(mark.words or "no value"))
    if quiet:
        page.sources.extend(s for s in figure.sources if s in page.book.reference.sources)
        return Piece(inline=f'<span class="figure">{escape(mark.words or figure.text)}</span>')
    return Piece(inline=figure_html(figure, mark.words, page))


def _drawing(mark: Mark, page: Page) -> Piece:
    picture = pictures.drawing(mark.what, page.book)
    if picture is None:
        return _unknown(mark, page, pictures.known(page.book))
    return Piece(inline=escape(mark.words), block=pictures.framed(picture, mark.words))


def _plot(mark: Mark, page: Page) -> Piece:
    picture = pictures.plot(mark.what, page.book)
    if picture is None:
        return _unknown(mark, page, list(PLOTS))
    return Piece(inline=escape(mark.words), block=pictures.framed(picture, mark.words))


MAKERS: dict[str, Callable[[Mark, Page], Piece]] = {
    **{kind: _entry for kind in FOLDERS},
    "caution": _caution,
    "chapter": _chapter,
    "term": _term,
    "source": _source,
    "note": _note,
    "index": _index,
    "figure": _figure,
    "drawing": _drawing,
    "plot": _plot,
}
