"""The name that was meant, where letters alone do not tell: by the words of titles."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Protocol

from ..problems import nearest

_SMALL = frozenset({"a", "and", "at", "for", "in", "of", "on", "the", "to", "with"})


class Titled(Protocol):
    """An entry of the reference."""

    @property
    def title(self) -> str: ...


def nearest_entry(name: str, known: Mapping[str, Titled]) -> str:
    """The same for entries of the reference."""
    return nearest_by_words(name, {key: entry.title for key, entry in known.items()})


def nearest_by_words(name: str, titles: Mapping[str, str]) -> str:
    """A hint that offers the nearest known name by its letters, else the one whose title shares most words with it.

    >>> nearest_by_words("steering-wheel-buttons", {"wheel-controls": "Wheel buttons for sound", "clock": "Clock in the dash"})
    "did you mean 'wheel-controls' (Wheel buttons for sound)?"
    """
    close = nearest(name, titles)
    if close.startswith("did you mean"):
        return close
    wanted = _words(name)
    shared = {known: len(wanted & (_words(known) | _words(title))) for known, title in titles.items()}
    best = max(shared.values(), default=0)
    found = sorted(known for known, count in shared.items() if count == best)
    if best and len(found) <= 3:
        told = ", ".join(f"'{known}' ({titles[known]})" for known in found)
        return f"did you mean {told}?"
    return close


def _words(text: str) -> set[str]:
    return {w.removesuffix("s") for w in re.split(r"[^a-z0-9]+", text.lower()) if w and w not in _SMALL}
