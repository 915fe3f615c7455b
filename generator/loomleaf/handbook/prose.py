"""Markdown to clean HTML. Whatever a chapter's text brings, only a short list of plain elements comes out."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass

import nh3
from markdown import Markdown

from ..problems import Collector, Location

TAGS = {
    "p", "h2", "h3", "h4", "ul", "ol", "li", "dl", "dt", "dd", "em", "strong", "code", "pre", "blockquote", "hr", "br",
    "table", "thead", "tbody", "tr", "th", "td", "a", "sup", "sub", "kbd", "abbr",
}  # fmt: skip
ATTRIBUTES = {"a": {"href"}, "ol": {"start"}, "abbr": {"title"}}
_RAW = re.compile(r"</?[A-Za-z][^>\n]*>?|<!--")
_AWAY = re.compile(r"\[[^\]]*\]\(\s*<?((?:[A-Za-z][A-Za-z0-9+.-]*:|//)[^)\s]*)")
_CODE = re.compile(r"(`+)(?:(?!\1).)+?\1")


@dataclass(frozen=True, kw_only=True)
class Heading:
    """A heading of a chapter: its level (2 to 4), its words without markup, and its anchor."""

    level: int
    words: str
    anchor: str


def slug(words: str) -> str:
    """Words as an anchor or a file name: small letters, digits and hyphens.

    >>> slug("What it may, and must never, join")
    'what-it-may-and-must-never-join'
    """
    plain = words.lower().replace("ω", "ohm").replace("²", "2").replace("’", "").replace("'", "")
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "part"


def to_html(text: str) -> str:
    """Markdown to HTML with everything taken out that is not on the list: no scripts, styles, images, frames, handlers.

    >>> to_html("Hot <script>alert(1)</script>**iron**")
    '<p>Hot <strong>iron</strong></p>'
    """
    made = Markdown(extensions=["tables", "def_list", "sane_lists"], output_format="html").convert(_bounded(text))
    cleaned = nh3.clean(
        made,
        tags=TAGS,
        attributes=ATTRIBUTES,
        url_schemes=set(),
        link_rel=None,
        strip_comments=True,
    )
    return cleaned


MOST_BRACKETS = 500  # opening square brackets in one block of text


def _bounded(text: str) -> str:
    """Brackets written out where one block has so many that looking for links among them would take minutes.

    The library looks from each opening bracket for its end, so that the time grows with the square of their number.
    """
    if text.count("[") <= MOST_BRACKETS:
        return text
    blocks = text.split("\n\n")
    return "\n\n".join(b.replace("[", "&#91;") if b.count("[") > MOST_BRACKETS else b for b in blocks)


def check_raw(body: str, file: str, first_line: int, found: Collector) -> None:
    """Tell where a chapter's text holds raw HTML (it is taken out, so whoever wrote it should know) or leads out of the site."""
    fenced = False
    for number, line in enumerate(body.split("\n"), first_line):
        if line.lstrip().startswith(("```", "~~~")):
            fenced = not fenced
            continue
        if fenced:
            continue
        bare = _CODE.sub(lambda m: " " * len(m[0]), line)
        for match in _AWAY.finditer(bare):
            found.error(
                "outside-link",
                f"the handbook works without a network, but this leads out of it: {match[1][:60]}",
                Location(file=file, line=number, column=match.start() + 1),
                hint="name the source in words instead",
            )
        for match in _RAW.finditer(bare):
            found.warning(
                "raw-html",
                f"raw HTML is taken out of chapters: {match[0][:40]}",
                Location(file=file, line=number, column=match.start() + 1),
                hint="write Markdown, or a mark",
            )


_HEADING = re.compile(r"<h([2-4])>(.*?)</h\1>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")


def words_of(fragment: str) -> str:
    """An HTML fragment's words, on one line."""
    return " ".join(html.unescape(_TAG.sub(" ", fragment)).split())


def with_anchors(fragment: str, taken: set[str]) -> tuple[str, tuple[Heading, ...]]:
    """Give every heading an anchor that is not taken yet."""
    headings: list[Heading] = []

    def anchored(match: re.Match[str]) -> str:
        words = words_of(match[2])
        anchor = base = slug(words)
        number = 2
        while anchor in taken:
            anchor, number = f"{base}-{number}", number + 1
        taken.add(anchor)
        headings.append(Heading(level=int(match[1]), words=words, anchor=anchor))
        return f'<h{match[1]} id="{anchor}">{match[2]}</h{match[1]}>'

    return _HEADING.sub(anchored, fragment), tuple(headings)


_TABLE = re.compile(r"<table>(.*?)</table>", re.DOTALL)
_HEADER = re.compile(r"<th>(.*?)</th>", re.DOTALL)


def with_scopes(fragment: str) -> str:
    """Tables scroll by themselves when they are wide, named after their columns; header cells say that they head columns.

    >>> with_scopes("<table><th></th><th>Die</th></table>")
    '<div class="wide" tabindex="0" role="group" aria-label="Table: Die"><table><td></td><th scope="col">Die</th></table></div>'
    """

    def header(match: re.Match[str]) -> str:
        return f'<th scope="col">{match[1]}</th>' if words_of(match[1]) else "<td></td>"

    def framed(match: re.Match[str]) -> str:
        names = ", ".join(filter(None, (words_of(name) for name in _HEADER.findall(match[1]) if name.isprintable())))
        name = html.escape(f"Table: {names}" if names else "Table")
        inside = _HEADER.sub(header, match[1])
        return f'<div class="wide" tabindex="0" role="group" aria-label="{name}"><table>{inside}</table></div>'

    return _TABLE.sub(framed, fragment)
