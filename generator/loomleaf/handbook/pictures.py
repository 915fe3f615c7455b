"""Pictures and boxes that stand in a page: caution boxes, drawings, plots, wire swatches."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from html import escape

from markupsafe import Markup

from ..draw.faces import connector_picture
from ..draw.swatch import swatch as swatch_bar
from ..draw.swatch import swatch_inline
from ..model.reference import Caution, ConnectorType, JoiningMethod, WireFunction
from ..units import Colour, UnitError, parse_colour
from .book import Book

FACE_MM = 150  # width that both views of a face are laid out in

TRIANGLE = (
    '<svg class="alert" viewBox="0 0 20 18" width="20" height="18" aria-hidden="true" focusable="false">'
    '<path d="M10 1 19 17H1Z" fill="none" stroke="currentColor" stroke-width="1.8" stroke-linejoin="round"/>'
    '<path d="M10 6.5v5.2M10 13.4v1.8" stroke="currentColor" stroke-width="1.9"/></svg>'
)


def caution_box(caution: Caution, name: str, root: str, *, level: str = "div") -> str:
    """A caution in full: signal word in its panel, hazard, what it does, the limit. No action to be done stands in it."""
    injury = caution.word != "NOTICE"
    title = escape(caution.title)
    return (
        f'<{level} class="hazard {caution.word.lower()}" role="note" aria-label="{caution.word}: {title}">'
        f'<p class="word">{TRIANGLE if injury else ""}<strong>{escape(caution.word)}</strong></p>'
        f'<div class="said"><p class="name"><a href="{root}cautions/{name}.html">{title}</a></p>'
        f"<p>{escape(caution.hazard)} {escape(caution.result)} {escape(caution.limit)}</p></div></{level}>"
    )


def swatch(colour: Colour) -> Markup:
    """A small bar in the wire's colours; the word stands beside it."""
    return Markup(f'<span class="swatch">{_quiet(swatch_inline(colour, key="bar"))}</span>')


def _quiet(svg: str) -> str:
    """A picture that repeats the words beside it: left out for readers that speak the page."""
    bare = re.sub(r"<title.*?</title>|<desc.*?</desc>", "", svg, flags=re.DOTALL)
    bare = re.sub(r' (?:role|aria-labelledby|aria-describedby)="[^"]*"', "", bare)
    return bare.replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1)


def face(name: str, entry: ConnectorType, functions: Mapping[str, WireFunction]) -> str:
    """A connector as it is met: both faces of a plug with what its ways carry, or the outline of another end."""
    if entry.kind == "plug" and not entry.rows:
        return ""
    carried = {w.way: _short(functions, w.function) for w in entry.pinout if w.function}
    wanted = {way: words for way, words in carried.items() if words}
    return framed(connector_picture(entry, wanted, width_mm=FACE_MM, key=f"face-{name}"), "")


def _short(functions: Mapping[str, WireFunction], name: str) -> str:
    known = functions.get(name)
    return (known.short or known.title) if known is not None else ""


def card(name: str, entry: JoiningMethod) -> str:
    """The steps of a joining method as a strip of pictures, or "" when there is none."""
    return ""


def _faces(what: str, book: Book) -> str | None:
    entry = book.reference.connectors.get(what)
    return connector_picture(entry, width_mm=FACE_MM, key=f"drawn-{what}") if entry is not None else None


def _swatch(what: str, book: Book) -> str | None:
    try:
        return swatch_bar(parse_colour(what), key=f"bar-{what}")
    except UnitError:
        return None


DRAWINGS: dict[str, Callable[[str, Book], str | None]] = {"face": _faces, "swatch": _swatch}
"""First word of a drawing's name to what draws it from the rest."""

PLOTS: dict[str, Callable[[], str]] = {}


def drawing(what: str, book: Book) -> str | None:
    """The drawing of that name, or None."""
    kind, _, rest = what.partition(" ")
    return DRAWINGS[kind](rest.strip(), book) if kind in DRAWINGS else None


def known(book: Book) -> list[str]:
    """Names of drawings, for "did you mean"."""
    return [f"face {c}" for c in book.reference.connectors] + ["swatch white/black"]


def plot(what: str) -> str | None:
    """The plot of that name, or None."""
    return PLOTS[what]() if what in PLOTS else None


def framed(picture: str, words: str) -> str:
    """A picture with what is said under it."""
    said = f"<figcaption>{escape(words)}</figcaption>" if words else ""
    shown = f'<div class="wide" tabindex="0" role="group" aria-label="Drawing">{picture}</div>'
    return f'<figure class="drawing">{shown}{said}</figure>'
