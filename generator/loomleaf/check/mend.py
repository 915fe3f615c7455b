"""A file with values that cannot be read, made readable for a moment by leaving them out.

The result is never worked with. It only lets the rules look at what the rest of the file says, so that one value that
cannot be read does not hide the others' faults until the next round.
"""

from __future__ import annotations

from collections.abc import Mapping as AnyMapping
from copy import deepcopy
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from ..model.base import Content
from ..problems import Location
from ..source.nodes import Document, Listing, Mapping, Node, Scalar
from .convert import values

T = TypeVar("T", bound=Content)
Path = tuple[str | int, ...]

ROUNDS = 12
"""Without one value the entry around it may be of no use, and is then left out as well, up to the whole file."""

STAND_INS: AnyMapping[str, Any] = {
    "job": "stand-in",
    "issued": "2000-01-01",
    "customer": {"name": "stand-in"},
    "vehicle": "stand-in",
    "registrations": ["stand-in"],
    "high_voltage": "none",
    "request": "stand-in",
    "parts": ["stand-in"],
    "lead": "stand-in",
    "title": "stand-in",
    "side": "vehicle",
    "known_from": "meter",
    "maker": "stand-in",
    "model": "stand-in",
    "name": "stand-in",
    "revision": "A",
}
"""For what a file must have: its place is line 0, and nothing is told of it."""


@dataclass(frozen=True, kw_only=True)
class Mended(Generic[T]):
    """A value without what could not be read, and its document as far as it was read.

    ``short_of`` are the keys of the file below which something is missing. ``around`` are the places of everything
    that holds, or held, a missing value: what is said of these may be said because of what is missing.
    """

    value: T
    document: Document
    short_of: frozenset[str]
    around: frozenset[Location]


def mended(document: Document, model: type[T]) -> Mended[T] | None:
    """What is left of a document that does not convert; None when that is too little."""
    if not isinstance(document.root, Mapping):
        return None
    root = deepcopy(document.root)
    document = replace(document, root=root)
    short_of: set[str] = set()
    around: set[Location] = set()
    for _ in range(ROUNDS):
        try:
            value = model.model_validate(values(root))
        except ValidationError as faults:
            paths = set()
            for fault in faults.errors(include_url=False, include_context=False, include_input=False):
                path = _known_part(root, fault["loc"])
                if not path and fault["type"] == "missing" and fault["loc"][0] in STAND_INS:
                    name = str(fault["loc"][0])
                    short_of.add(name)
                    root.keys[name], root.values[name] = Scalar(name, 0, 0), _stand_in(STAND_INS[name])
                    continue
                if not path:
                    return None
                paths.add(path)
            short_of |= {str(path[0]) for path in paths}
            around |= {document.place(*path[:count]) for path in paths for count in range(len(path) + 1)}
            for path in sorted(paths, key=_last_first):
                if not any(path[:count] in paths for count in range(1, len(path))):
                    _leave_out(root, path)
        else:
            return Mended(value=value, document=document, short_of=frozenset(short_of), around=frozenset(around))
    return None


def _stand_in(value: Any) -> Node:
    if isinstance(value, list):
        return Listing([_stand_in(item) for item in value], 0, 0)
    if isinstance(value, dict):
        return Mapping({key: Scalar(key, 0, 0) for key in value}, {k: _stand_in(v) for k, v in value.items()}, 0, 0)
    return Scalar(str(value), 0, 0)


def _known_part(root: Node, place: Any) -> Path:
    """The steps of a fault's place that the file has: what lacks a key is itself of no use."""
    path: list[str | int] = []
    node = root
    for step in place:
        inside = _below(node, step)
        if inside is not None:
            node = inside
            path.append(step)
    return tuple(path)


def _below(node: Node, step: Any) -> Node | None:
    if isinstance(node, Mapping) and isinstance(step, str):
        return node.values.get(step)
    if isinstance(node, Listing) and isinstance(step, int) and 0 <= step < len(node.items):
        return node.items[step]
    return None


def _last_first(path: Path) -> tuple[Any, ...]:
    """Later items of a list before earlier ones, so that the numbers of the others stay true."""
    return tuple((0, -step, "") if isinstance(step, int) else (1, 0, step) for step in path)


def _leave_out(root: Node, path: Path) -> None:
    node: Node | None = root
    for step in path[:-1]:
        node = _below(node, step) if node is not None else None
    last = path[-1]
    if isinstance(node, Mapping) and isinstance(last, str):
        node.keys.pop(last, None)
        node.values.pop(last, None)
    elif isinstance(node, Listing) and isinstance(last, int) and last < len(node.items):
        del node.items[last]
