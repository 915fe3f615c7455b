"""Located nodes to typed models; every fault becomes a Problem at the place it stands."""

from __future__ import annotations

import re
from collections.abc import Iterable
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from ..model.base import Content
from ..problems import Collector, nearest
from ..source.nodes import Document, Listing, Mapping, Node, Scalar

M = TypeVar("M", bound=Content)


def values(node: Node) -> Any:
    """Plain values for a model: a key left empty counts as not written, so that required ones are asked for."""
    return _values(node)[0]


def _values(node: Node) -> tuple[Any, bool]:
    """The values, and whether any key in them was left empty."""
    if isinstance(node, Scalar):
        return None if node.nothing else node.text, False
    empty = False
    if isinstance(node, Listing):
        items = []
        for item in node.items:
            value, some = _values(item)
            items.append(value)
            empty = empty or some
        return items, empty
    out = {}
    for key, inside in node.values.items():
        if isinstance(inside, Scalar):
            if inside.nothing:
                empty = True
            else:
                out[key] = inside.text
        else:
            out[key], some = _values(inside)
            empty = empty or some
    return out, empty


def convert(document: Document, model: type[M], found: Collector) -> M | None:
    """One document to one typed value, or None with at least one error collected."""
    if document.root is None:
        return None
    return convert_node(document, (), document.root, model, found)


def convert_node(
    document: Document, path: tuple[str | int, ...], node: Node, model: type[M], found: Collector
) -> M | None:
    """A node below ``path`` of a document to a typed value."""
    if not isinstance(node, Mapping):
        found.error(
            "wrong-shape",
            "keys and values are wanted here",
            document.place(*path),
            hint="write lines of the form  key: value",
        )
        return None
    written, empty = _values(node)
    if empty:
        written = _refuse_empty(document, path, node, model, written, found)
    try:
        return model.model_validate(written)
    except ValidationError as faults:
        for fault in faults.errors(include_url=False):
            _report(document, path, model, dict(fault), found)
        return None


def _refuse_empty(
    document: Document,
    path: tuple[str | int, ...],
    node: Node,
    model: type[BaseModel],
    written: Any,
    found: Collector,
) -> Any:
    """A key that is not known and has no value: most often the rest of a sentence after a comma, which would be lost.

    Gives back what is written, with the figures that a decimal comma cut in two made whole, so that they are told once.
    """
    for loc in _left_empty(node):
        name, known = str(loc[-1]), _keys_at(model, loc[:-1])
        if not known or name in known:
            continue
        cut = _cut_in_two(node, loc)
        if cut:
            whole = f"{cut[1]}.{name}"
            found.error(
                "decimal-comma",
                f"'{_short(f'{cut[1]},{name}')}' is cut in two by its comma",
                document.place(*path, *loc[:-1], cut[0]),
                hint=f"write it with a point: {_short(whole)}",
            )
            written = _with(written, (*loc[:-1], cut[0]), whole)
        else:
            found.error(
                "unknown-key",
                f"'{_short(name)}' is not a key here, and it has no value",
                document.place(*path, *loc, key=True),
                hint="; ".join(filter(None, (nearest(name, known), "words with a comma inside { } stand in quotes"))),
            )
    return written


def _cut_in_two(node: Node, loc: tuple[str | int, ...]) -> tuple[str, str] | None:
    """The key before ``loc`` and its digits, where ``loc`` holds what stands behind the comma of a number."""
    for step in loc[:-1]:
        assert isinstance(node, (Listing, Mapping))
        node = node.items[step] if isinstance(node, Listing) and isinstance(step, int) else node.values[str(step)]  # type: ignore[union-attr]
    assert isinstance(node, Mapping)
    keys = list(node.values)
    before = keys.index(str(loc[-1])) - 1
    value = node.values[keys[before]] if before >= 0 else None
    if isinstance(value, Scalar) and _WHOLE.fullmatch(value.text) and _BEHIND.fullmatch(str(loc[-1])):
        return keys[before], value.text
    return None


_WHOLE = re.compile(r"[-−+]?\d+")
_BEHIND = re.compile(r"\d+(?:\s*[^\d\s].*)?")


def _with(written: Any, loc: tuple[str | int, ...], value: str) -> Any:
    """The written values with one changed; nothing is changed in place."""
    if not loc:
        return value
    if isinstance(written, list):
        return [_with(item, loc[1:], value) if i == loc[0] else item for i, item in enumerate(written)]
    return {key: _with(item, loc[1:], value) if key == loc[0] else item for key, item in written.items()}


def _left_empty(node: Node) -> list[tuple[str | int, ...]]:
    """Where a key has no value, below ``node``."""
    if isinstance(node, Listing):
        inside: Iterable[tuple[str | int, Node]] = enumerate(node.items)
    elif isinstance(node, Mapping):
        inside = node.values.items()
    else:
        return []
    out: list[tuple[str | int, ...]] = []
    for step, value in inside:
        if not isinstance(value, Scalar):
            out += [(step, *below) for below in _left_empty(value)]
        elif value.nothing and isinstance(step, str):
            out.append((step,))
    return out


def _report(
    document: Document, path: tuple[str | int, ...], model: type[BaseModel], fault: dict[str, Any], found: Collector
) -> None:
    loc = tuple(step for step in fault["loc"] if step != "[key]")
    full = path + loc
    kind = str(fault["type"])
    context = fault.get("ctx") or {}
    name = str(loc[-1]) if loc else ""
    if kind == "extra_forbidden":
        known = _keys_at(model, loc[:-1])
        found.error(
            "unknown-key",
            f"'{name[:60]}' is not a key here",
            document.place(*full, key=True),
            hint=nearest(name, known),
        )
    elif kind == "missing":
        found.error(
            "missing-key",
            f"the key '{name}' is missing or empty",
            document.place(*full, key=True),
            hint=f"add  {name}: …",
        )
    elif kind == "literal_error":
        allowed = [w.strip(" '") for w in str(context.get("expected", "")).replace(" or ", ", ").split(", ")]
        found.error(
            "not-a-choice",
            f"'{_short(fault.get('input'))}' is not one of the choices for '{_last_word(loc)}'",
            document.place(*full),
            hint=nearest(str(fault.get("input")), allowed) or "one of: " + ", ".join(allowed),
        )
    elif kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        limits = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
        words = " and ".join(f"{said} {context[key]:g}" for key, said in limits.items() if key in context)
        found.error(
            "out-of-range",
            f"{_short(fault.get('input'))} is out of range for '{_last_word(loc)}'",
            document.place(*full),
            hint=f"it must be {words}",
        )
    elif kind in ("too_short", "string_too_short"):
        found.error(
            "missing-value",
            f"'{_last_word(loc)}' needs at least one value",
            document.place(*full),
            hint=f"for example  {_last_word(loc)}: [a, b]",
        )
    elif kind in ("too_long", "string_too_long"):
        found.error("out-of-range", f"'{_last_word(loc)}' is too long", document.place(*full), hint="shorten it")
    elif kind in ("model_type", "dict_type", "model_attributes_type"):
        found.error(
            "wrong-shape",
            f"'{_last_word(loc)}' wants keys and values",
            document.place(*full),
            hint="write indented lines of the form  key: value",
        )
    elif kind in ("tuple_type", "list_type"):
        found.error(
            "wrong-shape",
            f"'{_last_word(loc)}' wants a list",
            document.place(*full),
            hint="write [a, b] or one line a value, each with  - ",
        )
    elif "message" in context:
        found.error(kind, str(context["message"]), document.place(*full), hint=str(context.get("hint", "")))
    else:
        found.error("bad-value", f"'{_last_word(loc)}' cannot be understood: {fault['msg']}", document.place(*full))


def _short(value: Any) -> str:
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 60 else text[:59] + "…"


def _last_word(loc: tuple[Any, ...]) -> str:
    return next((str(step) for step in reversed(loc) if isinstance(step, str)), "the value")


def _keys_at(model: type[BaseModel], path: tuple[Any, ...]) -> list[str]:
    """The keys a model allows at a path, for "did you mean"."""
    current: Any = model
    for step in path:
        if isinstance(current, type) and issubclass(current, BaseModel):
            field = current.model_fields.get(str(step)) or next(
                (f for f in current.model_fields.values() if f.alias == step), None
            )
            current = field.annotation if field else None
        elif isinstance(step, (int, str)):
            arguments = [a for a in get_args(current) if a is not type(None) and a is not Ellipsis]
            current = arguments[-1] if arguments else None
        current = _unwrap(current)
        if current is None:
            return []
    either = get_args(current) if get_origin(current) in (Union, UnionType) else (current,)
    models = [one for one in map(_unwrap, either) if isinstance(one, type) and issubclass(one, BaseModel)]
    return [f.alias or n for one in models for n, f in one.model_fields.items()]


def _unwrap(annotation: Any) -> Any:
    """Annotated and optional types to what is inside."""
    while hasattr(annotation, "__metadata__"):
        annotation = annotation.__origin__
    arguments = get_args(annotation)
    if arguments and type(None) in arguments:
        return _unwrap(next(a for a in arguments if a is not type(None)))
    return annotation
