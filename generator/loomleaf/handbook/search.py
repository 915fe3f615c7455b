"""The search index, made at publishing in the shape that the bundled MiniSearch 7 reads, so that the browser builds nothing."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .book import HEADINGS, Book
from .dash import KIND as DASH_NOTE
from .pages import Middle
from .prose import words_of

FIELDS = ("title", "also", "headings", "text")
STORED = ("title", "href", "kind", "about", "also")
_KINDS = {
    **{kind: heading.rstrip("s").lower() for kind, heading in HEADINGS.items()},
    "chapter": "chapter",
    "practice": "questions",
    DASH_NOTE: "dash notes",
}


_PICTURE = re.compile(r"<svg.*?</svg>", re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class Found:
    """One thing that search can find: its text by field, and what the list of results shows of it."""

    title: str
    href: str
    kind: str
    about: str
    also: str
    headings: str
    text: str


def split_words(text: str) -> list[str]:
    """Text into words as the library splits it: at separators and punctuation.

    >>> split_words("12 V, term. 15")
    ['12', 'V', 'term', '15']
    """
    spaced = "".join(" " if c in "\n\r" or unicodedata.category(c)[0] in "ZP" else c for c in text)
    return [word for word in spaced.split(" ") if word]


def findable(pages: Iterable[Middle], book: Book) -> tuple[Found, ...]:
    """Every page that a search may lead to, and every term of the glossary."""
    out = [
        Found(
            title=page.title,
            href=page.path,
            kind=_KINDS.get(page.kind, ""),
            about=_short(page.about),
            also=" ; ".join(page.words),
            headings=" ; ".join(words for words, _ in page.headings),
            text=words_of(_PICTURE.sub(" ", page.html)),
        )
        for page in pages
        if page.kind in _KINDS or page.path in ("sources.html", "glossary.html")
    ]
    out += [
        Found(
            title=t.word,
            href=t.href,
            kind="term",
            about=_short(_plain(t.meaning)),
            also=" ; ".join(t.also),
            headings="",
            text=t.meaning,
        )
        for t in book.terms
    ]
    return tuple(out)


def _plain(markdown: str) -> str:
    bare = re.sub(r"\{\{[a-z]+:\s*([^}|]*)(?:\|([^}]*))?\}\}", lambda m: m[2] or m[1].replace("-", " "), markdown)
    return bare.replace("**", "").replace("*", "").replace("`", "")


def _short(text: str, most: int = 160) -> str:
    if len(text) <= most:
        return text
    return text[:most].rpartition(" ")[0] + " …"


def serialised(found: Sequence[Found]) -> dict[str, object]:
    """The index as MiniSearch's own ``toJSON`` writes it (serialisation version 2)."""
    index: dict[str, dict[str, dict[str, int]]] = {}
    lengths: dict[str, list[int]] = {}
    for number, entry in enumerate(found):
        lengths[str(number)] = []
        for position, field in enumerate(FIELDS):
            words = split_words(getattr(entry, field))
            lengths[str(number)].append(len(set(words)))
            for word in words:
                counts = index.setdefault(word.lower(), {}).setdefault(str(position), {})
                counts[str(number)] = counts.get(str(number), 0) + 1
    many = max(len(found), 1)
    return {
        "documentCount": len(found),
        "nextId": len(found),
        "documentIds": {str(n): n for n in range(len(found))},
        "fieldIds": {field: position for position, field in enumerate(FIELDS)},
        "fieldLength": lengths,
        "averageFieldLength": [round(sum(row[p] for row in lengths.values()) / many, 4) for p in range(len(FIELDS))],
        "storedFields": {str(n): {key: getattr(entry, key) for key in STORED} for n, entry in enumerate(found)},
        "dirtCount": 0,
        "index": [[word, index[word]] for word in sorted(index)],
        "serializationVersion": 2,
    }


def index_script(pages: Iterable[Middle], book: Book) -> str:
    """A script file that holds the index; a browser loads it from a folder, where it would refuse to fetch data."""
    made = {
        "index": serialised(findable(pages, book)),
        "options": {"idField": "id", "fields": list(FIELDS), "storeFields": list(STORED)},
    }
    text = json.dumps(made, ensure_ascii=False, sort_keys=True, separators=(",", ":")).replace("</", "<\\/")
    return f"window.handbookIndex={text};\n"
