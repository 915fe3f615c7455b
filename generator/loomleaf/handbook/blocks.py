"""The parts a reference page is laid out from. Templates show them and decide nothing."""

from __future__ import annotations

from dataclasses import dataclass, field

from markupsafe import Markup

from .book import Link


@dataclass(frozen=True, kw_only=True)
class Item:
    """One line of text, with links after it. ``html`` is made by the program, never by content."""

    text: str = ""
    links: tuple[Link, ...] = ()
    html: Markup = field(default_factory=Markup)


@dataclass(frozen=True, kw_only=True)
class Facts:
    """Name and value pairs: the few things that are looked up most."""

    heading: str
    rows: tuple[tuple[str, Item], ...]
    kind: str = "facts"


@dataclass(frozen=True, kw_only=True)
class Bullets:
    """A list of lines. ``mood`` is plain, good or bad: said in words, never by colour alone."""

    heading: str
    items: tuple[Item, ...]
    mood: str = "plain"
    before: str = ""
    kind: str = "bullets"


@dataclass(frozen=True, kw_only=True)
class Step:
    """One action. ``box`` is the caution that stands just before it ("" for none)."""

    text: str
    box: Markup = field(default_factory=Markup)
    picture: str = ""


@dataclass(frozen=True, kw_only=True)
class Steps:
    heading: str
    steps: tuple[Step, ...]
    kind: str = "steps"


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows of cells under column names; the first cell of a row heads it."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Item, ...], ...]
    after: str = ""
    mood: str = ""  # a class of its own, for print
    kind: str = "table"


@dataclass(frozen=True, kw_only=True)
class Prose:
    """Plain sentences under a heading."""

    heading: str
    text: str
    kind: str = "prose"


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing made by the program, and what is said under it."""

    heading: str
    html: Markup
    kind: str = "picture"


Block = Facts | Bullets | Steps | Table | Prose | Picture


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One reference page."""

    kind: str
    name: str
    title: str
    lead: str
    blocks: tuple[Block, ...]
    links: tuple[tuple[str, tuple[Link, ...]], ...] = ()  # heading and links, at the end of the page
    source: str = ""
    standing: str = ""
    words: tuple[str, ...] = ()  # other names that search and the index find it by
