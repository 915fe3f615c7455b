"""What the handbook is made from, and where each thing has its page. Everything that links asks here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..model.reference import Reference
from ..model.shop import Shop
from ..plan.dashnotes import DashNotes
from ..plan.types import Plan
from .front import Chapter
from .glossary import Term

FOLDERS = {
    "function": "functions",
    "connector": "connectors",
    "method": "methods",
    "feature": "features",
    "caution": "cautions",
    "problem": "problems",
}
"""Kind of entry to the section of the reference that holds it, which is also the folder of its pages."""

HEADINGS = {
    "function": "Wire functions",
    "connector": "Connectors",
    "method": "Joining methods",
    "feature": "Vehicle features",
    "caution": "Cautions",
    "problem": "Problem codes",
}


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link inside the site: words, and an address from the site's root. ``note`` is said after it."""

    words: str
    href: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Book:
    """All that the pages are made from."""

    reference: Reference
    shop: Shop
    chapters: tuple[Chapter, ...]
    terms: tuple[Term, ...]
    plans: tuple[Plan, ...] = ()
    notes: Mapping[str, DashNotes] = field(default_factory=dict)  # by vehicle

    def section(self, kind: str) -> Mapping[str, Any]:
        """The entries of one kind, by id."""
        found: Mapping[str, Any] = getattr(self.reference, FOLDERS[kind])
        return found

    def title(self, kind: str, name: str) -> str:
        """An entry's title, or its id when the reference does not have it."""
        entry = self.section(kind).get(name)
        return str(entry.title) if entry is not None else name

    def link(self, kind: str, name: str, *, words: str = "", note: str = "") -> Link:
        """A link to an entry's page. The entry must exist."""
        return Link(words=words or self.title(kind, name), href=f"{FOLDERS[kind]}/{name}.html", note=note)

    def links(self, kind: str, names: tuple[str, ...]) -> tuple[Link, ...]:
        """Links to those of the entries that exist, in the order given."""
        return tuple(self.link(kind, name) for name in names if name in self.section(kind))

    def chapter(self, name: str) -> Chapter | None:
        return next((c for c in self.chapters if c.slug == name), None)

    def term(self, name: str) -> Term | None:
        wanted = name.lower()
        return next((t for t in self.terms if wanted in (t.word.lower(), *(a.lower() for a in t.also))), None)
