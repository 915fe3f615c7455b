"""A chapter's Markdown to the HTML of its page: marks given meaning, headings anchored, raw HTML taken out."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..problems import Location
from .front import Chapter
from .marks import CLOSE, OPEN, take_marks
from .marks_html import Page, render_mark
from .prose import Heading, check_raw, to_html, with_anchors, with_scopes

_ALONE = re.compile(f"<p>{OPEN}(\\d+){CLOSE}</p>")
_INSIDE = re.compile(f"{OPEN}(\\d+){CLOSE}")
_FIRST = re.compile(r'(<(?:li|p|blockquote)>\s*<a href="[^"]*">)([a-z])')
"""A link that begins a line of its own: its first letter is the first of a sentence."""
_TABLE = re.compile(r'<div class="wide"[^>]*><table>.*?</table></div>', re.DOTALL)
_NOTE = re.compile(r' ?<span class="note[^"]*">.*?</span>', re.DOTALL)


def _notes_after(match: re.Match[str]) -> str:
    """Notes out of a table's cells, each once, to stand after the table: a cell has no room for them."""
    notes = dict.fromkeys(note.strip() for note in _NOTE.findall(match[0]))
    table = _NOTE.sub("", match[0])
    return table + (f'<div class="notes">{"".join(notes)}</div>' if notes else "")


_BLOCK = re.compile(r"<(p|li|dd)>((?:(?!</?(?:p|li|dd|ul|ol|dl|div|table)\b).)*)</\1>", re.DOTALL)


def _notes_last(match: re.Match[str]) -> str:
    """Notes to the end of their paragraph, each once: on a narrow page they stand under it and break no sentence."""
    notes = dict.fromkeys(note.strip() for note in _NOTE.findall(match[2]))
    if not notes:
        return match[0]
    return f"<{match[1]}>{_NOTE.sub('', match[2])} {''.join(notes)}</{match[1]}>"


@dataclass(frozen=True, kw_only=True)
class Rendered:
    """HTML of a piece of Markdown, and its headings in order."""

    html: str
    headings: tuple[Heading, ...]


def render(text: str, file: str, first_line: int, page: Page, taken: set[str] | None = None) -> Rendered:
    """Markdown with marks to HTML. ``taken`` are anchors that the page uses already."""
    check_raw(text, file, first_line, page.found)
    stand_ins, marks = take_marks(text, file, first_line, page.found)
    pieces = [render_mark(mark, page) for mark in marks]
    body, headings = with_anchors(with_scopes(to_html(stand_ins)), taken if taken is not None else set())
    body = _ALONE.sub(lambda m: pieces[int(m[1])].block or f"<p>{pieces[int(m[1])].inline}</p>", body)
    body = _INSIDE.sub(lambda m: pieces[int(m[1])].inline, body)
    body = _FIRST.sub(lambda m: m[1] + m[2].upper(), body)
    body = _BLOCK.sub(_notes_last, _TABLE.sub(_notes_after, body))
    return Rendered(html=body, headings=tuple(_bare(h, pieces) for h in headings))


def _bare(heading: Heading, pieces: list) -> Heading:  # type: ignore[type-arg]
    words = _INSIDE.sub(lambda m: re.sub(r"<[^>]*>", "", pieces[int(m[1])].inline), heading.words)
    return Heading(level=heading.level, words=words, anchor=heading.anchor)


def render_chapter(chapter: Chapter, page: Page, taken: set[str]) -> Rendered:
    """A whole chapter. Its headings begin at the second level (the title is the first) and skip none."""
    rendered = render(chapter.body, chapter.file, chapter.first_line, page, taken)
    before = 1
    for heading in rendered.headings:
        if heading.level > before + 1:
            page.found.error(
                "heading-order",
                f"the heading '{heading.words}' skips a level",
                _heading_place(chapter, heading),
                hint=f"begin it with {'#' * (before + 1)}",
            )
        before = heading.level
    if re.search(r"^# ", chapter.body, re.MULTILINE) and "<h1" not in rendered.html:
        line = next(n for n, text in enumerate(chapter.body.split("\n"), chapter.first_line) if text.startswith("# "))
        page.found.error(
            "heading-order",
            "the chapter's title stands in its front matter; headings in the text begin with ##",
            Location(file=chapter.file, line=line, column=1),
        )
    for source in chapter.front.sources:
        if source not in page.book.reference.sources:
            page.found.error(
                "unknown-source",
                f"the bibliography has no source '{source}'",
                Location(file=chapter.file, line=2, column=1),
            )
    return rendered


def _heading_place(chapter: Chapter, heading: Heading) -> Location:
    for number, line in enumerate(chapter.body.split("\n"), chapter.first_line):
        if line.lstrip("#").strip() == heading.words and line.startswith("#"):
            return Location(file=chapter.file, line=number, column=1)
    return Location(file=chapter.file)
