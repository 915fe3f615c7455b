"""Sizes, lengths, colours and readings: parsed once, at the edge. A number never travels without its unit.

Every parser raises ``UnitError`` with a plain sentence and a hint; the readers turn that into a Problem.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal

CMIL_MM2 = 5.067075e-4  # one circular mil: pi/4 of a thousandth of an inch squared (mathematical)


class UnitError(ValueError):
    """A value that cannot be understood. ``hint`` says what would be."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


def awg_diameter_mm(gauge: int) -> float:
    """Diameter of a solid AWG conductor in mm. ``gauge`` counts 0 as 1/0, -1 as 2/0, -3 as 4/0.

    ASTM B258: d = 0.127 mm x 92^((36 - n) / 39).

    >>> round(awg_diameter_mm(36), 3), round(awg_diameter_mm(18), 4)
    (0.127, 1.0237)
    """
    if not -3 <= gauge <= 40:
        raise UnitError(f"AWG {gauge} is outside 40 to 4/0", "write for example 18 AWG or 1/0 AWG")
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_area_mm2(gauge: int) -> float:
    """Area of a solid AWG conductor in mm²."""
    return math.pi * awg_diameter_mm(gauge) ** 2 / 4


@dataclass(frozen=True, kw_only=True)
class Size:
    """A conductor size. ``area_mm2`` is nominal for metric sizes and by the AWG formula for gauges.

    ``gauge`` is None for a metric size or a bare area; ``cmil`` is set only when the size was written in circular mils.
    """

    written: str
    area_mm2: float
    gauge: int | None = None
    cmil: float | None = None

    @property
    def metric(self) -> bool:
        return self.gauge is None and self.cmil is None

    @property
    def area_cmil(self) -> float:
        return self.cmil if self.cmil is not None else self.area_mm2 / CMIL_MM2

    @property
    def text(self) -> str:
        """Both systems, the written one first: "0.75 mm² (about 18 AWG)"."""
        if self.gauge is not None:
            return f"{gauge_text(self.gauge)} ({_trim(self.area_mm2)} mm²)"
        if self.cmil is not None:
            return f"{self.cmil:.0f} cmil ({_trim(self.area_mm2)} mm²)"
        return f"{_trim(self.area_mm2)} mm² (about {gauge_text(nearest_gauge(self.area_mm2))})"

    @property
    def short(self) -> str:
        """The written system only."""
        if self.gauge is not None:
            return gauge_text(self.gauge)
        if self.cmil is not None:
            return f"{self.cmil:.0f} cmil"
        return f"{_trim(self.area_mm2)} mm²"


def _trim(value: float) -> str:
    return f"{value:.3g}"


def gauge_text(gauge: int) -> str:
    """18 → "18 AWG", -1 → "2/0 AWG"."""
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"


def nearest_gauge(area_mm2: float) -> int:
    """The AWG number whose area is nearest on the logarithmic scale, for showing both systems side by side only."""
    diameter = math.sqrt(4 * area_mm2 / math.pi)
    return max(-3, min(40, round(36 - 39 * math.log(diameter / 0.127) / math.log(92))))


_SIZE = re.compile(
    r"\s*(?:(?P<aught>[1-4])/0\s*AWG|(?P<awg>-?\d+)\s*AWG|(?P<mm2>\d*\.?\d+)\s*mm(?:2|²)|(?P<cmil>\d*\.?\d+)\s*cmil)\s*",
    re.IGNORECASE,
)


def parse_size(text: str) -> Size:
    """``0.75 mm2``, ``18 AWG``, ``1/0 AWG`` or ``1600 cmil``.

    >>> parse_size("18 AWG").area_mm2 > 0.82
    True
    """
    match = _SIZE.fullmatch(text)
    if match is None:
        raise UnitError(f"'{text}' is not a conductor size", "write for example 0.75 mm2 or 18 AWG")
    if match["aught"]:
        gauge = 1 - int(match["aught"])
        return Size(written=text.strip(), area_mm2=awg_area_mm2(gauge), gauge=gauge)
    if match["awg"]:
        gauge = int(match["awg"])
        if not 0 < gauge <= 40:
            raise UnitError(f"{gauge} AWG is outside 40 to 4/0", "write for example 18 AWG or 1/0 AWG")
        return Size(written=text.strip(), area_mm2=awg_area_mm2(gauge), gauge=gauge)
    if match["cmil"]:
        cmil = float(match["cmil"])
        if not 1 <= cmil <= 250_000:
            raise UnitError(f"{text} is outside 1 to 250000 cmil")
        return Size(written=text.strip(), area_mm2=cmil * CMIL_MM2, cmil=cmil)
    area = float(match["mm2"])
    if not 0.03 <= area <= 120:
        raise UnitError(f"{text} is outside 0.03 to 120 mm2", "write for example 0.75 mm2")
    return Size(written=text.strip(), area_mm2=area)


COLOURS = (
    "black",
    "brown",
    "red",
    "orange",
    "yellow",
    "green",
    "blue",
    "violet",
    "grey",
    "white",
    "pink",
    "turquoise",
    "silver",
    "gold",
    "clear",
    "tan",
)
"""Colour words in the order of IEC 60757's own table (from memory), then words the trade adds."""

_SHADES = ("light", "dark")
_ALIASES = {"gray": "grey", "purple": "violet"}


@dataclass(frozen=True, kw_only=True)
class Colour:
    """A wire's colour: base word and stripe word ("" for none). A base may carry a shade: "light green"."""

    base: str
    stripe: str = ""

    @property
    def text(self) -> str:
        """In full: "white, black stripe"."""
        return f"{self.base}, {self.stripe} stripe" if self.stripe else self.base

    @property
    def written(self) -> str:
        return f"{self.base}/{self.stripe}" if self.stripe else self.base


def parse_colour(text: str) -> Colour:
    """``yellow`` or ``white/black`` (base, then stripe). Whole words only.

    >>> parse_colour("white/black").text
    'white, black stripe'
    """
    parts = [_one_colour(part, text) for part in text.strip().lower().split("/")]
    if len(parts) > 2:
        raise UnitError(f"'{text}' has more than one stripe", "write base/stripe, for example white/black")
    return Colour(base=parts[0], stripe=parts[1] if len(parts) == 2 else "")


def _one_colour(word: str, whole: str) -> str:
    shade, core = _shade_and_core(word)
    if core not in COLOURS:
        raise UnitError(f"'{whole}' is not a colour", _meant(whole) or "whole colour words, base/stripe, for example white/black")
    return f"{shade} {core}".lstrip()


def _shade_and_core(word: str) -> tuple[str, str]:
    bare = " ".join(word.split())
    shade, _, rest = bare.partition(" ")
    if shade not in _SHADES or not rest:
        shade, rest = "", bare
    return shade, _ALIASES.get(rest, rest)


def _meant(whole: str) -> str:
    """The nearest colour, with its stripe: to lose a stripe would make plus and minus look alike."""
    from .problems import near

    parts = [_shade_and_core(part) for part in whole.strip().lower().split("/")]
    found = [(shade, near(core, COLOURS)) for shade, core in parts]
    if len(found) > 2 or not all(core for _, core in found):
        return ""
    return f"did you mean '{'/'.join(f'{shade} {core}'.lstrip() for shade, core in found)}'?"


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What a meter showed. ``value`` is None for an open circuit (OL); ``unit`` is V, Ω, A, mA, mV, Vac or ""."""

    written: str
    value: float | None
    unit: str

    @property
    def text(self) -> str:
        if self.value is None:
            return "OL"
        return f"{self.value:g} {self.unit}".strip()


_READING = re.compile(
    r"\s*(?P<sign>[-−+]?)\s*(?P<num>\d*[.,]?\d+|\d+[.,])\s*(?P<unit>[A-Za-zµΩ]*(?:\s*ac)?)\s*", re.IGNORECASE
)
_OPEN = frozenset(
    {"ol", "0l", "o.l", "0.l", "o.l.", "0.l.", "o/l", "o l", "ofl", "ovl", "overload", "open", "infinite", "inf", "∞"}
)
"""What meters show, and people write, for a circuit that is open."""
_OVER = re.compile(r"\s*(?:>|≥|over\b|more than\b|above\b)\s*", re.IGNORECASE)
_DC = re.compile(r"\s*(?<=[Vv])\s?dc\s*$", re.IGNORECASE)
_UNITS = {
    "": ("", 1.0),
    "v": ("V", 1.0),
    "volt": ("V", 1.0),
    "volts": ("V", 1.0),
    "mv": ("V", 0.001),
    "vac": ("Vac", 1.0),
    "v ac": ("Vac", 1.0),
    "a": ("A", 1.0),
    "amp": ("A", 1.0),
    "amps": ("A", 1.0),
    "ma": ("mA", 1.0),
    "ohm": ("Ω", 1.0),
    "ohms": ("Ω", 1.0),
    "ω": ("Ω", 1.0),
    "r": ("Ω", 1.0),
    "mohm": ("Ω", 0.001),
    "Mohm": ("Ω", 1e6),  # a large M is mega, a small one milli
    "mω": ("Ω", 0.001),
    "kohm": ("Ω", 1000.0),
    "kω": ("Ω", 1000.0),
    "k": ("Ω", 1000.0),
}


def with_point(text: str) -> str:
    """A figure written with a raised point, as on old papers, with a plain one.

    >>> with_point("12·4 V")
    '12.4 V'
    """
    return re.sub(r"(?<=\d)[·∙⋅‧](?=\d)", ".", text)


def parse_reading(text: str) -> Reading:
    """A meter reading as people type it: ``12.1 V``, ``12,4``, ``OL``, ``.3 ohm``, ``20 Mohm``.

    >>> parse_reading("12,4").value, parse_reading(".3 ohm").unit, parse_reading("OL").value
    (12.4, 'Ω', None)
    >>> parse_reading("12.5 V DC").text, parse_reading("> 20 MΩ").value, parse_reading("O.L.").value
    ('12.5 V', 20000000.0, None)
    """
    bare = with_point(text.strip())
    if bare.lower() in _OPEN:
        return Reading(written=bare, value=None, unit="Ω")
    over = _OVER.match(bare)
    match = _READING.fullmatch(_DC.sub("", bare[over.end() :] if over else bare))
    unit = match["unit"] if match is not None else ""
    unit = "Mohm" if unit[:1] == "M" and unit[1:].lower() in ("", "ohm", "ohms", "ω") else unit.lower()
    if over is not None and unit != "Mohm":
        match = None  # only a meter's end of scale is read as more than a figure
    if match is None or unit not in _UNITS:
        raise UnitError(
            f"'{text}' is not a meter reading", "write a number and its unit, for example 12.1 V, 0.2 ohm, OL"
        )
    unit, factor = _UNITS[unit]
    value = float(match["num"].replace(",", ".")) * factor
    return Reading(written=text.strip(), value=-value if match["sign"] in ("-", "−") else value, unit=unit)


_LENGTH = re.compile(r"\s*(?P<num>\d*\.?\d+)\s*(?P<unit>mm|cm|m)?\s*")


def parse_length_mm(text: str) -> float:
    """A length in mm: ``200``, ``200 mm``, ``20 cm`` or ``1.2 m``; 0 to 30 m.

    >>> parse_length_mm("1.2 m")
    1200.0
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise UnitError(f"'{text}' is not a length", "write for example 200 or 1.2 m")
    value = float(match["num"]) * {"mm": 1, "cm": 10, "m": 1000, None: 1}[match["unit"]]
    if not 0 <= value <= 30_000:
        raise UnitError(f"{text} is outside 0 to 30 m")
    return value


_TIME = re.compile(
    r"(?:(?P<hours>\d{1,2})\s*(?:h|hours?|:)\s*)?(?:(?P<minutes>\d{1,4}(?:[.,]\d{1,2})?)\s*(?:m|min|mins|minutes?|')?)?",
    re.IGNORECASE,
)
_HOURS = re.compile(r"(\d{1,2}[.,]\d{1,2})\s*(?:h|hours?)", re.IGNORECASE)


def parse_minutes(text: str) -> Decimal:
    """Minutes as written on a sheet: ``35``, ``35 min``, ``1 h 05``, ``1:05`` or ``1,5 h``.

    >>> parse_minutes("1 h 5"), parse_minutes("1:05"), parse_minutes("1.5 h")
    (Decimal('65'), Decimal('65'), Decimal('90.0'))
    """
    bare = text.strip()
    hours = _HOURS.fullmatch(bare)
    if hours:
        return Decimal(hours[1].replace(",", ".")) * 60
    match = _TIME.fullmatch(bare)
    if not bare or match is None or (match["hours"] is None and match["minutes"] is None):
        raise UnitError(f"'{text[:40]}' is not a time in minutes", "write for example 35 or 1 h 05")
    return Decimal(match["hours"] or 0) * 60 + Decimal((match["minutes"] or "0").replace(",", "."))
