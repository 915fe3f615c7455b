"""Figures as people write them on paper, before anybody judges them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from ..units import with_point

_OPEN = {"ol", "0l", "o.l", "0.l", "o.l.", "0.l.", "o/l", "o l", "ofl", "ovl", "overload", "open", "infinite", "inf", "∞"}
_ABOUT = re.compile(r"\s*(?:[~≈∼]|(?:about|approx|approximately|around|circa|ca)\b)", re.IGNORECASE)
_LETTER_FOR_POINT = re.compile(r"(?P<whole>\d{1,4})(?P<letter>[RrkKM])(?P<part>\d{1,3})")
_NUMBER = re.compile(
    r"(?P<limit>[<>≤≥]|over|under|more than|less than|above|below)?\s*"
    r"(?P<sign>[-−–+])?\s*(?P<whole>\d{1,9})?(?:[.,](?P<part>\d{0,6}))?\s*(?P<unit>[A-Za-zµμΩΩ ]*)",
    re.IGNORECASE,
)
_PREFIX = {"": 1.0, "m": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6, "u": 1e-6, "µ": 1e-6, "μ": 1e-6}
_BASE = {
    "v": "V",
    "volt": "V",
    "volts": "V",
    "vdc": "V",
    "vac": "Vac",
    "vrms": "Vac",
    "a": "A",
    "amp": "A",
    "amps": "A",
    "ω": "Ω",
    "ohm": "Ω",
    "ohms": "Ω",
    "r": "Ω",
}


@dataclass(frozen=True, kw_only=True)
class Written:
    """A figure as it was written: ``value`` None for OL; ``unit`` "" when none was written; ``limit`` < or > or ""."""

    value: float | None
    unit: str
    limit: str = ""


def read_written(text: str) -> Written | None:
    """A reading as people write it on paper, or None when it cannot be told what was meant.

    A comma or a point may part the decimals, a unit may be missing, glued on or spelled out, OL may be written many ways,
    and a meter's end of scale as "> 20 M". A large M is mega, a small one milli. A letter in the point's place, "1k2" or
    "4R7", is the code of IEC 60062 for resistances (from memory). Full-width and other figures count as figures.

    >>> read_written("12,4"), read_written(".3 ohm")
    (Written(value=12.4, unit='', limit=''), Written(value=0.3, unit='Ω', limit=''))
    >>> read_written("> 20 MΩ"), read_written("O.L"), read_written("12.4.1")
    (Written(value=20000000.0, unit='Ω', limit='>'), Written(value=None, unit='Ω', limit=''), None)
    """
    if any(unicodedata.category(c) == "No" for c in text):  # raised, ringed and broken figures: 12² is not 122
        return None
    bare = with_point(" ".join(unicodedata.normalize("NFKC", text).replace("\u066b", ".").split()))
    if bare[-1:] == "." and bare[-2:-1].isalpha():
        bare = bare[:-1]
    if bare.lower() in _OPEN:
        return Written(value=None, unit="Ω")
    for ending in (" ohm", " ohms", "Ω", "MΩ", "M", "k", "Ω"):
        if bare.endswith(ending) and bare.removesuffix(ending).strip().lower() in _OPEN:
            return Written(value=None, unit="Ω")
    letter = _LETTER_FOR_POINT.fullmatch(re.sub(r" ?(Ω|[Oo]hms?)$", "", bare))
    if letter is not None:
        factor = {"r": 1.0, "k": 1e3, "m": 1e6}[letter["letter"].lower()]
        return Written(value=float(f"{letter['whole']}.{letter['part']}") * factor, unit="Ω")
    match = _NUMBER.fullmatch(bare)
    if match is None or not (match["whole"] or match["part"]):
        return None
    unit = _unit(match["unit"] or "")
    if unit is None:
        return None
    base, factor = unit
    value = float(f"{match['whole'] or '0'}.{match['part'] or '0'}") * factor
    limit = (match["limit"] or "").lower()
    limit = ">" if limit in (">", "≥", "over", "more than", "above") else "<" if limit else ""
    return Written(value=-value if match["sign"] in ("-", "−", "–") and value else value, unit=base, limit=limit)


def _unit(text: str) -> tuple[str, float] | None:
    """Base unit and factor of a unit as written; None for one that is not known."""
    bare = text.strip()
    for ending in (" dc", " DC"):
        bare = bare.removesuffix(ending)
    bare = bare.replace("Ω", "Ω")
    if not bare:
        return "", 1.0
    if bare in ("M", "k", "K"):  # ohms, as meters show them
        return "Ω", _PREFIX[bare]
    joined = bare.replace(" ", "")
    for skip in (0, 1):
        prefix, rest = joined[:skip], joined[skip:]
        base = _BASE.get(rest.lower())
        if base is not None and prefix in _PREFIX:
            return base, _PREFIX[prefix]
    return None


def in_unit_of(written: Written, unit: str) -> float | None:
    """The figure in the check's unit; None when the two units do not measure the same thing.

    >>> in_unit_of(Written(value=0.012, unit="A"), "mA"), in_unit_of(Written(value=12.0, unit="V"), "Ω")
    (12.0, None)
    """
    if written.value is None:
        return None
    if written.unit in ("", unit):
        return written.value
    if (written.unit, unit) == ("A", "mA"):
        return written.value * 1000
    if (written.unit, unit) == ("V", "Vac"):  # the sheet names the meter's setting; people write volts
        return written.value
    return None


FAR_LESS = 0.5
"""Under this part of what the vehicle draws by itself a current is doubted; common practice, no source."""
BARE_MA = 1.0
"""A current with the key out below this, written without a unit, is doubted where the vehicle's own draw is not known: no
vehicle with a radio that remembers its stations draws so little, and a clamp meter shows amperes. Common practice, no source."""


def doubted(written: Written, unit: str, alone: float | None) -> str:
    """Why a current that is low enough is not believed: far less than the vehicle draws without the new parts; "" otherwise.

    >>> doubted(Written(value=0.2, unit=""), "mA", 15.0)
    'has no unit, and the vehicle alone draws about 15 mA: write the unit that the meter showed, mA or A'
    >>> doubted(Written(value=0.002, unit="A"), "mA", 15.0)
    'is far less than the 15 mA that the vehicle alone draws: look at the range and the zero of the meter, read again'
    >>> doubted(Written(value=0.018, unit="A"), "mA", 15.0)
    ''
    """
    value = in_unit_of(written, unit)
    if not alone or value is None or value >= alone * FAR_LESS:
        return ""
    if written.unit:
        return (
            f"is far less than the {alone:g} {unit} that the vehicle alone draws: look at the range and the zero of the"
            " meter, read again"
        )
    other = {"mA": "mA or A"}.get(unit, unit)
    return f"has no unit, and the vehicle alone draws about {alone:g} {unit}: write the unit that the meter showed, {other}"


def says_about(text: str) -> bool:
    """Whether somebody wrote that a figure is not the one that the meter showed.

    >>> says_about("~12.5 V"), says_about("12.5 V")
    (True, False)
    """
    return _ABOUT.match(text) is not None
