"""The one Jinja2 environment: strict about names, escaping everything, with a handful of pure filters."""

from __future__ import annotations

import re
from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from ..places import templates_folder


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


_WAY = re.compile(r"[\w.-]+/\w|\w+\.\w")

FILTERS = {"nbsp": nbsp, "css_name": css_name, "whole_ways": whole_ways}


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
