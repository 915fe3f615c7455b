"""Dash notes as a section of the handbook: what this shop proved on each kind of vehicle. Never whose vehicle it was."""

from __future__ import annotations

from collections.abc import Iterable

from ..plan.dashnotes import DashNotes, Noted, ProvedWay
from ..plan.minutes import plain
from .blocks import Block, Bullets, Entry, Facts, Item, Table
from .book import Book, Link
from .entries import CONDITIONS
from .pages import Middle
from .templates import lay_out

FOLDER = "dash-notes"
HEADING = "Dash notes"
KIND = "dash note"
ABOUT = "What this shop has proved on kinds of vehicle it knows. It tells where to look. Prove each way again."
AGAIN = (
    "Found on an earlier vehicle of this kind. It tells where to look, and proves nothing on the next one: prove again."
)


def dash_pages(book: Book, contents: Link) -> tuple[Middle, ...]:
    """The section's list, then a page for each kind of vehicle; none where the shop has verified nothing yet."""
    notes = sorted(book.notes.values(), key=lambda n: (n.title, n.vehicle))
    if not notes:
        return ()
    here = Link(words=HEADING, href=f"{FOLDER}.html")
    told = tuple(_page(book, note, (contents, here)) for note in notes)
    lines = tuple((page.here, f"Verified on job {_and(note.jobs)}.") for page, note in zip(told, notes, strict=True))
    html = lay_out("pages/list.html", title=HEADING, about=ABOUT, groups=(("", lines),), root="")
    return (
        Middle(path=here.href, title=HEADING, html=html, about=ABOUT, kind="list", trail=(contents,)),
        *told,
    )


def _page(book: Book, note: DashNotes, trail: tuple[Link, ...]) -> Middle:
    entry = Entry(kind=KIND, name=note.vehicle, title=note.title, lead=AGAIN, blocks=_blocks(book, note))
    html = lay_out("pages/entry.html", entry=entry, chapters=(), source=None, root="../")
    return Middle(
        path=f"{FOLDER}/{note.vehicle}.html",
        title=note.title,
        html=html,
        about=f"Dash notes: verified on job {_and(note.jobs)}, prove again.",
        kind=KIND,
        trail=trail,
        words=tuple(n.text for n in note.leads),
        headings=tuple((block.heading, "") for block in entry.blocks),
    )


def _blocks(book: Book, note: DashNotes) -> tuple[Block, ...]:
    found: list[Block] = [
        Facts(
            heading="Parts used",
            rows=tuple(
                (note.titles.get(n.text, n.text), Item(text=f"{n.text}, job {_and(n.jobs)}")) for n in note.leads
            ),
        )
    ]
    for heading, noted in (
        ("Colours that lied", note.lied),
        ("Ways that were changed over", note.swapped),
        ("What fitters found", note.found),
        ("Wheel buttons", note.buttons),
    ):
        if noted:
            found.append(Bullets(heading=heading, items=tuple(Item(text=_proved(n)) for n in noted)))
    for lead, ways in _by_lead(note.ways):
        found.append(
            Table(
                heading=f"Ways that were proved on {lead}",
                columns=("Way", "Carries", "Colour", "When", "Read before", "Job"),
                rows=tuple(
                    (
                        Item(text=way.tail.tail.at),
                        _function(book, way.tail.function_id, way.tail.title),
                        Item(text=way.tail.colour_text),
                        Item(text=CONDITIONS.get(way.condition, way.condition)),
                        Item(text="; ".join(reading.replace(" ", "\u00a0") for reading in way.readings)),
                        Item(text=_and(way.jobs)),
                    )
                    for way in ways
                ),
                after="Readings of earlier vehicles. Yours belong in your own job.",
            )
        )
    if note.times:
        found.append(
            Table(
                heading="Minutes taken",
                columns=("Job", "Taken", "Vehicles timed", "Estimated for all"),
                rows=tuple(
                    (
                        Item(text=t.job),
                        Item(text=f"{plain(t.minutes)} min"),
                        Item(text=f"{t.vehicles} of {t.of_vehicles}"),
                        Item(text=f"{t.estimated:.0f} min" if t.estimated else "—"),
                    )
                    for t in note.times
                ),
            )
        )
    return tuple(found)


def _by_lead(ways: Iterable[ProvedWay]) -> tuple[tuple[str, tuple[ProvedWay, ...]], ...]:
    """Ways under the lead that they are on."""
    leads: dict[str, list[ProvedWay]] = {}
    for way in ways:
        leads.setdefault(way.tail.lead.lead, []).append(way)
    return tuple((lead, tuple(some)) for lead, some in leads.items())


def _function(book: Book, name: str, title: str) -> Item:
    known = name in book.section("function")
    return Item(links=(book.link("function", name, words=title),)) if known else Item(text=title)


def _proved(noted: Noted) -> str:
    return f"{noted.text.rstrip('.')} (proved on job {_and(noted.jobs)}, prove again)."


def _and(words: Iterable[str]) -> str:
    """Words in a row.

    >>> _and(["2031", "2047"])
    '2031, 2047'
    """
    return ", ".join(words)
