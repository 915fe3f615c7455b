"""Pictures and boxes that stand in a page: caution boxes, drawings, plots, wire swatches."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from html import escape

from markupsafe import Markup

from ..draw.cards import CARDS, joint_card
from ..draw.diagrams import DIAGRAMS, diagram
from ..draw.faces import connector_picture
from ..draw.meter import FAULT_NAMES, SET_UPS, fault_picture, meter_picture
from ..draw.swatch import swatch as swatch_bar
from ..draw.swatch import swatch_inline
from ..model.reference import Caution, ConnectorType, JoiningMethod, WireFunction
from ..units import Colour, UnitError, parse_colour
from .book import Book
from .plots import PLOTS

BROAD_MM = 100  # a picture wider than this scrolls sideways on a phone instead of shrinking
FACE_MM = 150  # width that both views of a face are laid out in

TRIANGLE = (
    '<svg class="alert" viewBox="0 0 20 18" width="20" height="18" aria-hidden="true" focusable="false">'
    "<title>Alert</title>"
    '<path d="M10 1 19 17H1Z" fill="none" stroke="currentColor" stroke-width="1.8" stroke-linejoin="round"/>'
    '<path d="M10 6.5v5.2M10 13.4v1.8" stroke="currentColor" stroke-width="1.9"/></svg>'
)


def caution_box(caution: Caution, name: str, root: str, *, level: str = "div") -> str:
    """A caution in full: signal word in its panel, name, limit, hazard, result. No action to be done stands in it."""
    injury = caution.word != "NOTICE"
    title = escape(caution.title)
    return (
        f'<{level} class="hazard {caution.word.lower()}" role="note" aria-label="{caution.word}: {title}">'
        f'<p class="word">{TRIANGLE if injury else ""}<strong>{escape(caution.word)}</strong></p>'
        f'<div class="said"><p class="name"><a href="{root}cautions/{name}.html">{title}</a></p>'
        f'<p class="limit">{escape(caution.limit)}</p>'
        f"<p>{escape(caution.hazard)} {escape(caution.result)}</p></div></{level}>"
    )


def swatch(colour: Colour) -> Markup:
    """A small bar in the wire's colours; the word stands beside it."""
    return Markup(f'<span class="swatch">{_quiet(swatch_inline(colour, key="bar"))}</span>')


def _quiet(svg: str) -> str:
    """A picture that repeats the words beside it: left out for readers that speak the page."""
    bare = re.sub(r"<desc.*?</desc>", "", svg, flags=re.DOTALL)
    bare = re.sub(r' (?:role|id|aria-labelledby|aria-describedby)="[^"]*"', "", bare)
    return bare.replace("<svg ", '<svg aria-hidden="true" focusable="false" ', 1)


def face(
    name: str,
    entry: ConnectorType,
    functions: Mapping[str, WireFunction],
    others: Mapping[str, ConnectorType] | None = None,
) -> str:
    """A connector as it is met: both faces of a plug with what its ways carry, or the outline of another end.

    A plug that only holds the places of ``others`` shows those, each under its own name.
    """
    if entry.kind == "plug" and not entry.rows:
        held = [(mate, (others or {})[mate]) for mate in entry.mates if mate in (others or {})]
        return "".join(
            framed(connector_picture(one, width_mm=FACE_MM, key=f"face-{name}-{mate}"), f"In it: {one.title}.")
            for mate, one in held
            if one.kind == "plug" and one.rows
        )
    carried = {w.way: _short(functions, w.function) for w in entry.pinout if w.function}
    wanted = {way: words for way, words in carried.items() if words}
    return framed(connector_picture(entry, wanted, width_mm=FACE_MM, key=f"face-{name}"), "")


def _short(functions: Mapping[str, WireFunction], name: str) -> str:
    known = functions.get(name)
    return (known.short or known.title) if known is not None else ""


def card(name: str, entry: JoiningMethod) -> str:
    """The steps of a joining method in pictures, with a good joint and bad ones under them."""
    drawn = _joint_card(entry, f"card-{name}") if entry.kind in CARDS else ""
    return framed(drawn, "") if drawn else ""


def _faces(what: str, book: Book) -> str | None:
    entry = book.reference.connectors.get(what)
    return connector_picture(entry, width_mm=FACE_MM, key=f"drawn-{what}") if entry is not None else None


def _swatch(what: str, book: Book) -> str | None:
    try:
        return swatch_bar(parse_colour(what), key=f"bar-{what}")
    except UnitError:
        return None


def _meter(what: str, book: Book) -> str | None:
    name, _, shows = what.partition(" ")
    return meter_picture(name, shows=shows.strip()) if name in SET_UPS else None


def _fault(what: str, book: Book) -> str | None:
    return fault_picture(what) if what in FAULT_NAMES else None


def _card(what: str, book: Book) -> str | None:
    entry = book.reference.methods.get(what)
    if entry is None or entry.kind not in CARDS:
        return None
    return _joint_card(entry, f"drawn-{what}")


def _joint_card(entry: JoiningMethod, key: str) -> str:
    return joint_card(entry.kind, title=entry.title, sleeve=entry.sleeve != "none", key=key)


def _diagram(what: str, book: Book) -> str | None:
    return diagram(what) if what in DIAGRAMS else None


DRAWINGS: dict[str, Callable[[str, Book], str | None]] = {
    "face": _faces,
    "swatch": _swatch,
    "meter": _meter,
    "fault": _fault,
    "card": _card,
    "diagram": _diagram,
}
"""First word of a drawing's name to what draws it from the rest."""


def drawing(what: str, book: Book) -> str | None:
    """The drawing of that name, or None."""
    kind, _, rest = what.partition(" ")
    return DRAWINGS[kind](rest.strip(), book) if kind in DRAWINGS else None


def known(book: Book) -> list[str]:
    """Names of drawings, for "did you mean"."""
    names = [f"face {c}" for c in book.reference.connectors] + ["swatch white/black"]
    names += [f"meter {m}" for m in SET_UPS] + [f"fault {f}" for f in FAULT_NAMES]
    names += [f"diagram {d}" for d in DIAGRAMS]
    return names + [f"card {m}" for m in book.reference.methods]


def plot(what: str, book: Book) -> str | None:
    """The plot of that name, or None."""
    known = book.reference.sources

    def named(source: str) -> str:
        return short_title(known[source].title) if source in known else source

    return PLOTS[what](named) if what in PLOTS else None


def short_title(title: str) -> str:
    """What a source is called where there is little room: its title as far as the first stop.

    >>> short_title("ASTM B258, diameters of round wire by AWG")
    'ASTM B258'
    """
    return re.split(r"[,;:] | \(", title, maxsplit=1)[0]


def framed(picture: str, words: str) -> str:
    """A picture with what is said under it."""
    said = f"<figcaption>{escape(words)}</figcaption>" if words else ""
    shown = f'<div class="wide" tabindex="0" role="group" aria-label="Drawing">{picture}</div>'
    width = re.search(r'<svg[^>]*\bwidth="([\d.]+)mm"', picture)
    size = " broad" if width and float(width[1]) > BROAD_MM else ""
    return f'<figure class="drawing{size}">{shown}{said}</figure>'
