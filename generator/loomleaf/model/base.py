"""The typed shape shared by every kind of content: frozen, strict about keys, text in and units out."""

from __future__ import annotations

import math
import re
from datetime import date
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from ..figure import Standing
from ..units import Colour, Reading, Size, UnitError, parse_colour, parse_length_mm, parse_reading, parse_size


class Content(BaseModel):
    """Base of every content type: unknown keys are refused, values never change after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, validate_default=False)


def fault(code: str, message: str, hint: str = "") -> PydanticCustomError:
    """A validation error that carries one of our own problem codes, a sentence and a hint."""
    context: dict[str, Any] = {"message": message, "hint": hint}
    return PydanticCustomError(code, "{message}", context)


def _unit(parse: Any, code: str, kind: type) -> Any:
    def convert(value: Any) -> Any:
        if isinstance(value, kind) and not isinstance(value, str):
            return value
        if not isinstance(value, (str, int, float)):
            raise fault(code, "a single value is wanted here", "")
        try:
            return parse(str(value))
        except UnitError as wrong:
            raise fault(code, str(wrong), wrong.hint) from None

    return convert


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise fault("not-a-number", "a number is wanted here", "for example 0.5")
    text = str(value).strip()
    if not re.fullmatch(r"[-+]?(\d+(\.\d*)?|\.\d+)", text):
        raise fault("not-a-number", f"'{text}' is not a number", "digits with a point, for example 0.5, and no unit")
    number = float(text)
    if not math.isfinite(number) or abs(number) > 1e9:
        raise fault("out-of-range", f"{text} is out of range", "")
    return number


def _whole(value: Any) -> int:
    number = _number(value)
    if number != int(number):
        raise fault("not-a-number", f"{value} is not a whole number", "")
    return int(number)


def _truth(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if value in ("yes", "true"):
        return True
    if value in ("no", "false"):
        return False
    raise fault("not-yes-or-no", f"'{value}' is neither yes nor no", "write yes or no")


YEARS = (2000, 2099)
"""Years of a day that a shop can write: beyond them it is a slip, and would count as older or newer than all else."""


def _day(value: Any) -> date:
    if isinstance(value, date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            day = date.fromisoformat(value)
        except ValueError:
            pass
        else:
            if not YEARS[0] <= day.year <= YEARS[1]:
                raise fault("out-of-range", f"the year of '{value}' cannot be right", f"from {YEARS[0]} to {YEARS[1]}")
            return day
    raise fault("not-a-date", f"'{value}' is not a date", "write year-month-day, for example 2026-05-12")


def _text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise fault("not-text", "text is wanted here", "put quotes around it if it holds a colon or a bracket")
    text = str(value).strip()
    if len(text) > 4000:
        raise fault("out-of-range", "the text is longer than 4000 characters", "shorten it")
    return text


_ID = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*")


def _identifier(value: Any) -> str:
    text = _text(value)
    if not _ID.fullmatch(text) or len(text) > 64:
        raise fault(
            "bad-id",
            f"'{text[:80]}' cannot be a name here",
            "use small letters, digits and single hyphens, at most 64 characters",
        )
    return text


def _several(value: Any) -> Any:
    """A single value stands for a list of one."""
    if value is None:
        return ()
    if isinstance(value, (list, tuple)):
        return tuple(value)
    return (value,)


Text = Annotated[str, BeforeValidator(_text), WithJsonSchema({"type": "string"})]
Id = Annotated[
    str, BeforeValidator(_identifier), WithJsonSchema({"type": "string", "pattern": "^" + _ID.pattern + "$"})
]
Number = Annotated[float, BeforeValidator(_number), WithJsonSchema({"type": "number"})]
Whole = Annotated[int, BeforeValidator(_whole), WithJsonSchema({"type": "integer"})]
Amount = Annotated[float, BeforeValidator(_number), Field(ge=0), WithJsonSchema({"type": "number", "minimum": 0})]
YesNo = Annotated[bool, BeforeValidator(_truth), WithJsonSchema({"enum": ["yes", "no", True, False]})]
Day = Annotated[date, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
SizeValue = Annotated[
    Size,
    BeforeValidator(_unit(parse_size, "bad-size", Size)),
    WithJsonSchema({"type": "string", "examples": ["0.75 mm2", "18 AWG"]}),
]
ColourValue = Annotated[
    Colour,
    BeforeValidator(_unit(parse_colour, "unknown-colour", Colour)),
    WithJsonSchema({"type": "string", "examples": ["yellow", "white/black"]}),
]
ReadingValue = Annotated[
    Reading,
    BeforeValidator(_unit(parse_reading, "bad-reading", Reading)),
    WithJsonSchema({"type": "string", "examples": ["12.1 V", "OL", "0.2 ohm"]}),
]
LengthMm = Annotated[
    float,
    BeforeValidator(_unit(parse_length_mm, "bad-length", float)),
    WithJsonSchema({"type": ["number", "string"], "examples": [200, "1.2 m"]}),
]
StandingValue = Annotated[Standing, WithJsonSchema({"enum": [s.value for s in Standing]})]
Several = BeforeValidator(_several)
