"""Pictures and boxes that stand in a page: caution boxes, drawings, plots, wire swatches."""

from __future__ import annotations

from html import escape

from markupsafe import Markup

from ..model.reference import Caution, ConnectorType, JoiningMethod
from ..units import Colour
from .book import Book

PLOTS: dict[str, str] = {}

TRIANGLE = (
    '<svg class="alert" viewBox="0 0 20 18" width="20" height="18" aria-hidden="true" focusable="false">'
    '<path d="M10 1 19 17H1Z" fill="none" stroke="currentColor" stroke-width="1.8" stroke-linejoin="round"/>'
    '<path d="M10 6.5v5.2M10 13.4v1.8" stroke="currentColor" stroke-width="1.9"/></svg>'
)


def caution_box(caution: Caution, name: str, root: str, *, level: str = "div") -> str:
    """A caution in full: signal word in its panel, hazard, what it does, the limit. No action to be done stands in it."""
    injury = caution.word != "NOTICE"
    return (
        f'<{level} class="hazard {caution.word.lower()}" role="note" aria-label="{escape(caution.word)}: {escape(caution.title)}">'
        f'<p class="word">{TRIANGLE if injury else ""}<strong>{escape(caution.word)}</strong></p>'
        f'<div class="said"><p class="name"><a href="{root}cautions/{name}.html">{escape(caution.title)}</a></p>'
        f"<p>{escape(caution.hazard)} {escape(caution.result)} {escape(caution.limit)}</p></div></{level}>"
    )


def swatch(colour: Colour) -> Markup:
    """A small bar in the wire's colours; the word stands beside it."""
    return Markup("")


def face(name: str, entry: ConnectorType) -> str:
    """A connector's face, or "" when there is nothing to draw."""
    return ""


def card(name: str, entry: JoiningMethod) -> str:
    """The steps of a joining method as a strip of pictures, or "" when there is none."""
    return ""


def drawing(what: str, book: Book) -> str | None:
    """The drawing of that name, or None."""
    return None


def known(book: Book) -> list[str]:
    """Names of all the drawings there are."""
    return []


def plot(what: str) -> str | None:
    """The plot of that name, or None."""
    return None


def framed(picture: str, words: str) -> str:
    """A picture with what is said under it."""
    said = f"<figcaption>{escape(words)}</figcaption>" if words else ""
    return f'<figure class="drawing"><div class="wide" tabindex="0" role="group" aria-label="Drawing">{picture}</div>{said}</figure>'
