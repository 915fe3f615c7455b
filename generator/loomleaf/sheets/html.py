"""The one Jinja2 environment: strict about names, escaping everything, with a handful of pure filters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Protocol, TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from ..places import templates_folder


class _Told(Protocol):
    @property
    def text(self) -> str: ...


T = TypeVar("T", bound=_Told)


def nbsp(text: str) -> str:
    """Text whose spaces do not break.

    >>> nbsp("0.75 mm²")
    '0.75\\xa0mm²'
    """
    return text.replace(" ", "\u00a0")


def css_name(text: str) -> str:
    """A word as part of a class name: small letters and hyphens.

    >>> css_name("keeps with a part")
    'keeps-with-a-part'
    """
    return "-".join(text.lower().split())


def whole_ways(text: str) -> Markup:
    """Text in which no way's name is broken over two lines.

    >>> whole_ways("A.10 to box/red")
    Markup('<span class="nowrap">A.10</span> to <span class="nowrap">box/red</span>')
    """
    words = (
        Markup('<span class="nowrap">{}</span>').format(word) if _WAY.match(word) else escape(word)
        for word in text.split(" ")
    )
    return Markup(" ").join(words)


def with_whole_ways(html: str) -> str:
    """A page in whose running text no way's name is broken: the line-breaking rules allow one between a dot and a figure.

    Text that is nothing but one way's name stands in a cell of its own, and stays as it is; so do pictures and attributes.

    >>> with_whole_ways('<td title="A.1 A.2">prove A.9, A.10</td><td>M.4</td>')
    '<td title="A.1 A.2">prove <span class="nowrap">A.9</span>, <span class="nowrap">A.10</span></td><td>M.4</td>'
    """
    return _TEXT.sub(_whole, html)


def _whole(found: re.Match[str]) -> str:
    text = found[0]
    if text[0] == "<" or _BREAKABLE.fullmatch(text.strip()):
        return text
    return _BREAKABLE.sub(r'<span class="nowrap">\g<0></span>', text)


def halves(steps: Sequence[T], wide: int = 34) -> tuple[Sequence[T], Sequence[T]]:
    """Steps for two columns that stand side by side, as even as they come; ``wide`` is a line's letters.

    >>> from types import SimpleNamespace as Step
    >>> one, other = halves([Step(text=text) for text in ("Cut.", "Look at the far side of the panel first.", "Tug.", "Tie.")])
    >>> len(one), len(other)
    (2, 2)
    """
    lines = [-(-len(step.text) // wide) + 0.4 for step in steps]
    split = min(range(len(lines) + 1), key=lambda n: max(sum(lines[:n]), sum(lines[n:])))
    return steps[:split], steps[split:]


_TEXT = re.compile(r"<(svg|title|style|textarea|option)\b.*?</\1>|<[^>]*>|[^<]+", re.DOTALL)
_BREAKABLE = re.compile(r"\b[A-Za-z]\w*\.\d\w*")
_WAY = re.compile(r"[\w.-]+/\w|\w+\.\w")

FILTERS = {"halves": halves, "nbsp": nbsp, "css_name": css_name, "whole_ways": whole_ways}


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The environment for sheets; templates are read from the shipped folder only."""
    env = Environment(
        loader=FileSystemLoader(str(templates_folder())),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    env.filters.update(FILTERS)
    return env


def to_html(template: str, **views: object) -> str:
    """A template filled with views."""
    return environment().get_template(template).render(**views)
