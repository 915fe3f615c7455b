"""The alphabetical index: every page by its title and its other names, every term, every place a chapter marks."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from .book import HEADINGS, Book, Link
from .dash import KIND as DASH_NOTE
from .pages import Middle


@dataclass(frozen=True, kw_only=True)
class IndexEntry:
    """One word and where it leads."""

    word: str
    links: tuple[Link, ...]

    @property
    def itself(self) -> bool:
        """Whether the word is the name of the one page that it leads to."""
        return len(self.links) == 1 and self.links[0].words == self.word


_ARTICLE = re.compile(r"(?:a|an|the) (?=.)")


def place_of(word: str) -> str:
    """What a word is sorted by: an article before it does not count.

    >>> place_of("The vehicle maker comes first")
    'vehicle maker comes first'
    """
    return _ARTICLE.sub("", word.lower(), count=1) if _ARTICLE.match(word.lower()) else word.lower()


@dataclass(frozen=True, kw_only=True)
class Letter:
    letter: str
    entries: tuple[IndexEntry, ...]


def make_index(book: Book, pages: Iterable[Middle]) -> tuple[Letter, ...]:
    """Entries by letter; digits and signs stand under "#"."""
    words: dict[str, list[Link]] = {}
    shown: dict[str, str] = {}

    def add(word: str, link: Link) -> None:
        key = place_of(word)
        shown.setdefault(key, word)
        links = words.setdefault(key, [])
        if all(link.href != other.href for other in links):
            links.append(link)

    for page in pages:
        kind = page.kind if page.kind in HEADINGS or page.kind == DASH_NOTE else ""
        note = {"function": "wire function", "method": "joining method", "problem": "problem code"}.get(kind, kind)
        if kind or page.kind == "chapter":
            add(page.title, Link(words=page.title, href=page.path, note=note or "chapter"))
        if kind:
            for word in page.words:
                add(word, Link(words=page.title, href=page.path, note=note))
        for word, anchor in page.entries:
            add(word, Link(words=page.title, href=f"{page.path}#{anchor}"))
    for term in book.terms:
        for word in (term.word, *term.also):
            add(word, Link(words="Glossary", href=term.href))
    letters: dict[str, list[IndexEntry]] = {}
    for key in sorted(words, key=lambda w: (not w[:1].isalpha(), w)):
        letter = key[0].upper() if key[:1].isalpha() else "#"
        letters.setdefault(letter, []).append(IndexEntry(word=shown[key], links=tuple(words[key])))
    return tuple(Letter(letter=letter, entries=tuple(entries)) for letter, entries in letters.items())
