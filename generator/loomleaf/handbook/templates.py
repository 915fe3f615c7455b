"""The Jinja environment of the handbook: autoescape on, undefined names refused, two or three pure filters."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from ..places import templates_folder
from .prose import slug


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(templates_folder()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["slug"] = slug
    return made


def lay_out(template: str, **values: Any) -> str:
    """One template filled in."""
    return _environment().get_template(template).render(**values)
