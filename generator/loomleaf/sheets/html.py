"""The one Jinja2 environment: strict about names, escaping everything, with a handful of pure filters."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined

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


FILTERS = {"nbsp": nbsp, "css_name": css_name}


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
