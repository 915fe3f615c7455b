"""The glossary: terms out of its chapter file, and a link to a term where a page uses it first.

The file is a Markdown list of definitions. A term's line may name other words for it: ``term (also: word, word)``. A
word with a tilde before it (``~open``) is found and indexed, and linked only where a mark asks for it: it has everyday
meanings too. Words in capitals are linked only in capitals.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from .prose import slug

_ALSO = re.compile(r"(?P<word>.*?)\s*(?:\(also:\s*(?P<also>[^)]*)\))?\s*")


@dataclass(frozen=True, kw_only=True)
class Term:
    """One term. ``meaning`` is Markdown; ``line`` is where its meaning begins in the chapter file."""

    word: str
    also: tuple[str, ...]
    meaning: str
    line: int
    by_mark_only: frozenset[str] = frozenset()

    @property
    def linked(self) -> tuple[str, ...]:
        """The words that are linked by themselves."""
        return tuple(w for w in (self.word, *self.also) if w not in self.by_mark_only)

    @property
    def anchor(self) -> str:
        return f"term-{slug(self.word)}"

    @property
    def href(self) -> str:
        return f"glossary.html#{self.anchor}"


def read_terms(body: str, first_line: int) -> tuple[Term, ...]:
    """Terms in alphabetical order.

    >>> read_terms("spare (also: dead end)\\n:   a tail that meets nothing", 1)[0].also
    ('dead end',)
    """
    terms: list[Term] = []
    lines = body.split("\n")
    for number, line in enumerate(lines):
        if not line.startswith(": ") and not line.startswith(":\t"):
            continue
        heading = _ALSO.fullmatch(lines[number - 1].strip()) if number else None
        if heading is None or not heading["word"]:
            continue
        meaning = [line[1:].strip()]
        for more in lines[number + 1 :]:
            if not more.startswith("    "):
                break
            meaning.append(more.strip())
        words = [heading["word"], *(w.strip() for w in (heading["also"] or "").split(",") if w.strip())]
        bare = [w.removeprefix("~") for w in words]
        terms.append(
            Term(
                word=bare[0],
                also=tuple(bare[1:]),
                meaning=" ".join(meaning),
                line=first_line + number,
                by_mark_only=frozenset(w.removeprefix("~") for w in words if w.startswith("~")),
            )
        )
    return tuple(sorted(terms, key=lambda t: t.word.lower()))


_TOKEN = re.compile(r"(<[^>]*>)")
_NAME = re.compile(r"</?([a-zA-Z0-9]+)")
_SHUT = {
    "a",
    "h1",
    "h2",
    "h3",
    "h4",
    "code",
    "pre",
    "svg",
    "dt",
    "figure",
    "th",
    "summary",
    "button",
    "kbd",
    "header",
    "nav",
}
_VOID = {"br", "hr", "img", "input", "meta", "link", "wbr"}


def link_first_use(fragment: str, terms: Sequence[Term], root: str, *, without: str = "") -> str:
    """Link each term where the fragment uses it first, outside headings, links, code and pictures.

    ``without`` is the anchor of a term that is not linked (its own entry).

    >>> term = Term(word="tail", also=(), meaning="", line=1)
    >>> link_first_use("<p>A tail and a tail.</p>", [term], "../")
    '<p>A <a class="term" href="../glossary.html#term-tail">tail</a> and a tail.</p>'
    """
    words = {w if w.isupper() else w.lower(): t for t in terms if t.anchor != without for w in t.linked}
    if not words:
        return fragment
    longest_first = sorted(words, key=lambda w: (-len(w), w))
    either = "|".join(re.escape(w) if w.isupper() else f"(?i:{re.escape(w)})" for w in longest_first)
    pattern = re.compile(rf"(?<![\w-])({either})(s?)(?![\w-])")
    done: set[str] = set()

    def linked(match: re.Match[str]) -> str:
        term = words.get(match[1]) or words[match[1].lower()]
        if term.anchor in done:
            return match[0]
        done.add(term.anchor)
        return f'<a class="term" href="{root}{term.href}">{match[0]}</a>'

    out: list[str] = []
    shut: list[str] = []
    for part in _TOKEN.split(fragment):
        if part.startswith("<"):
            named = _NAME.match(part)
            name = named[1].lower() if named else ""
            if name in _SHUT and name not in _VOID and not part.endswith("/>"):
                if part.startswith("</"):
                    if name in shut:
                        shut.remove(name)
                else:
                    shut.append(name)
            out.append(part)
        elif shut:
            out.append(part)
        else:
            out.append(pattern.sub(linked, part))
    return "".join(out)
