"""Computed values in prose: ``{{figure:drop drop_v size="0.75 mm2" length-m=3 current-a=10}}``.

The first word is the calculation, the second the figure wanted from it, then its options, named as on the command
line without their hyphens. A last word ``quiet`` leaves the working out, where one note explains a whole table.
"""

from __future__ import annotations

import importlib
import inspect
import shlex
from collections.abc import Callable
from typing import Any

from ..calc.answer import Answer
from ..figure import Figure, Standing
from ..problems import Collector, Location, nearest
from ..units import UnitError, parse_size

TOPICS = (
    "conductor", "drop", "fuse", "short", "sleeve", "joint", "bundle", "tape", "standby", "speakers", "level", "ladder",
)  # fmt: skip
_SIZES = {"size", "return_size"}
_WORDS = {"load", "method"}
_WHOLE = {"grouped", "joints"}


class _Wrong(ValueError):
    """What a mark asks cannot be read; ``hint`` says what could."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


def work_out(text: str, location: Location, found: Collector) -> Figure | None:
    """The figure that a mark asks for, or None with a problem at the mark's place."""
    try:
        topic, name, options = _parts(text)
        figures, problems = calculation(topic)(**_arguments(topic, options))
    except (_Wrong, UnitError) as wrong:
        found.error("bad-figure", str(wrong), location, hint=wrong.hint)
        return None
    for problem in problems:
        found.error("bad-figure", problem.message, location, hint=problem.hint)
    if problems:
        return None
    if name not in figures:
        found.error("bad-figure", f"'{topic}' gives no figure '{name}'", location, hint=nearest(name, figures))
        return None
    return _said(figures[name])


def _said(figure: Figure) -> Figure:
    """A figure for running text: an exact number of pages is no better known for four digits, so three will do."""
    value = figure.value
    if isinstance(value, float):
        value = float(f"{value:.3g}")
    return Figure(
        value=value, unit=figure.unit, working=figure.working, sources=figure.sources, known=Standing(figure.known)
    )


def calculation(topic: str) -> Callable[..., Answer]:
    """The function that works a topic out."""
    if topic not in TOPICS:
        raise _Wrong(f"there is no calculation '{topic}'", nearest(topic, TOPICS))
    function: Callable[..., Answer] = getattr(importlib.import_module(f"..calc.{topic}", __package__), topic)
    return function


def _parts(text: str) -> tuple[str, str, dict[str, str]]:
    try:
        words = shlex.split(text)
    except ValueError:
        raise _Wrong("a quotation mark is not closed", 'for example size="0.75 mm2"') from None
    if len(words) < 2:
        raise _Wrong("a calculation, a figure and its options are wanted", "for example drop drop_v size=…")
    options: dict[str, str] = {}
    for word in words[2:]:
        key, sign, value = word.partition("=")
        if not sign:
            raise _Wrong(f"'{word}' is not option=value", 'for example current-a=10 or size="0.75 mm2"')
        options[key] = value
    return words[0], words[1], options


def _arguments(topic: str, options: dict[str, str]) -> dict[str, Any]:
    known = inspect.signature(calculation(topic)).parameters
    given: dict[str, Any] = {}
    for key, value in options.items():
        name = key.replace("-", "_")
        if name == "wires":
            given["outsides_mm"] = _outsides(value)
            continue
        if name not in known or name == "tables":
            raise _Wrong(
                f"'{key}' is not an option of '{topic}'",
                nearest(key, [k.replace("_", "-") for k in known if k != "tables"]),
            )
        given[name] = _value(name, value)
    wanting = [n.replace("_", "-") for n, p in known.items() if p.default is inspect.Parameter.empty and n not in given]
    if wanting:
        raise _Wrong(f"'{topic}' needs {', '.join(wanting)}")
    return given


def _value(name: str, value: str) -> Any:
    if name in _SIZES:
        return parse_size(value)
    if name in _WORDS:
        return value
    if name == "lined":
        return value in ("yes", "true")
    if name == "tails":
        return [parse_size(part) for part in value.split(",")]
    if name == "buttons":
        pairs = (part.partition("=") for part in value.split(","))
        return {key.strip(): _number(amount) for key, _, amount in pairs}
    if name == "outsides_mm":
        return [_number(part) for part in value.split(",")]
    return int(_number(value)) if name in _WHOLE else _number(value)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise _Wrong(f"'{text}' is not a number") from None


def _outsides(text: str) -> list[float]:
    """Outside diameters of "0.75 mm2*12, 20 AWG*8"."""
    from ..calc.conductor import outside

    out: list[float] = []
    for part in text.split(","):
        size, _, count = part.partition("*")
        across = outside(parse_size(size.strip())).value
        if not isinstance(across, (int, float)):
            raise _Wrong(f"no diameter is known for '{size.strip()}'")
        out += [float(across)] * int(count or 1)
    return out
