"""How wide text is in the bundled faces, so that pictures can be laid out without opening a font file.

Advance widths of B612 Regular and B612 Bold in units of 2000 to the em, grouped by width, taken from the faces'
``hmtx`` tables; B612 Mono has one width for every character a drawing uses. Kerning is not counted. The tests
compare every entry with the bundled font files.
"""

from __future__ import annotations

import re
from functools import lru_cache

EM = 2000
CAP_HEIGHT = 0.75  # of the size, from the faces' OS/2 tables
X_HEIGHT = 0.55
DESCENT = 0.25
MONO_ADVANCE = 1300

REGULAR: dict[int, str] = {
    400: "'|¦",
    500: ",;·",
    600: ".:Iij°²³¹ÌÍÎÏìíîï",
    700: " !l¡‘’",
    800: '"frtªº‖',
    900: "()-J[sš",
    1000: "=]cz¢§“”↑↓≈",
    1042: "ç",
    1050: "a",
    1100: "$*/?FLS\\_`ekvxy£¨©®¯´¸¿àáâãäåèéêë÷ýÿŠ–−☐✓",
    1200: "+CEKPTYZbdghnopqu}¤¥±ÈÉÊËÝñòóôõöøùúûüþŸμ•",
    1298: "{",
    1300: "0123456789<>ABDGRVXµÀÁÂÃÄÅÇÐÞßðπ≤≥",
    1400: "&HU«¶»ÙÚÛÜƒ",
    1500: "N^w~¼½¾ÑΔ…←→",
    1600: "OQÒÓÔÕÖ×ØΩ√",
    1700: "#¬Ææ",
    1800: "%Mm",
    1900: "Wœ",
    2000: "@Œ",
    2100: "—",
}
BOLD: dict[int, str] = {
    400: "'|¦",
    500: ",;·",
    600: ".:Iij°²³¹ÌÍÎÏìíîï",
    700: " !l¡‘’",
    800: '"frtªº‖',
    900: "()-J[sš",
    1000: "=]cz¢§“”↑↓≈",
    1042: "ç",
    1050: "a",
    1100: "$*/?FLS\\_`ekvxy£¨©®¯´¸¿àáâãäåèéêë÷ýÿŠ–−☐✓",
    1200: "+CEKPTYZbdghnopqu}¤¥±ÈÉÊËÝñòóôõöøùúûüþŸμ•",
    1298: "{",
    1300: "0123456789<>ABDGRVXµÀÁÂÃÄÅÇÐÞßðπ≤≥",
    1400: "&HU«¶»ÙÚÛÜƒ",
    1500: "N^w~¼½¾ÑΔ…←→",
    1600: "OQÒÓÔÕÖ×ØΩ√",
    1700: "#¬Ææ",
    1800: "%Mm",
    1900: "Wœ",
    2000: "@Œ",
    2100: "—",
}
"""Advance width → the characters that have it."""

_ADVANCE = {
    False: {letter: width for width, letters in REGULAR.items() for letter in letters},
    True: {letter: width for width, letters in BOLD.items() for letter in letters},
}
_WIDEST = 2000  # for a character that is not in the table: a full em


@lru_cache(maxsize=4096)
def text_width(text: str, size_mm: float, *, bold: bool = False, mono: bool = False) -> float:
    """Width in mm of ``text`` set at ``size_mm`` (the em, in mm).

    >>> round(text_width("10", 4.25, mono=True), 3)
    5.525
    """
    if mono:
        return len(text) * MONO_ADVANCE / EM * size_mm
    advance = _ADVANCE[bold]
    return sum(advance.get(letter, _WIDEST) for letter in text) / EM * size_mm


def fit(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """``text``, or as much of it as the width holds, cut at a word where possible and closed with "…".

    >>> fit("Front left loudspeaker", 20, 3.2)
    'Front left…'
    """
    if text_width(text, size_mm, bold=bold) <= width_mm:
        return text
    words = text.split(" ")
    for count in range(len(words) - 1, 0, -1):
        shorter = " ".join(words[:count]).rstrip(",;:") + "…"
        if text_width(shorter, size_mm, bold=bold) <= width_mm:
            return shorter
    for count in range(len(words[0]), 0, -1):
        shorter = words[0][:count] + "…"
        if text_width(shorter, size_mm, bold=bold) <= width_mm:
            return shorter
    return ""


def fit_name(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """A name of one word, or its beginning and its end: names of one part begin alike, and their last word tells them apart.

    >>> fit_name("out-plus", 10, 2.67, bold=True), fit_name("out-minus", 10, 2.67, bold=True)
    ('o…plus', '…minus')
    """
    if text_width(text, size_mm, bold=bold) <= width_mm:
        return text
    last = re.split(r"[-./]", text)[-1]
    for count in range(len(text) - len(last) - 1, -1, -1):
        shorter = text[:count].rstrip("-./") + "…" + last
        if text_width(shorter, size_mm, bold=bold) <= width_mm:
            return shorter
    for count in range(len(last) - 1, 0, -1):
        shorter = "…" + last[-count:]
        if text_width(shorter, size_mm, bold=bold) <= width_mm:
            return shorter
    return ""


def first_that_fits(choices: tuple[str, ...], width_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """The first choice that fits whole; when none does, the last one cut short. Empty choices are passed over."""
    kept = [choice for choice in choices if choice]
    for choice in kept:
        if text_width(choice, size_mm, bold=bold) <= width_mm:
            return choice
    return fit(kept[-1], width_mm, size_mm, bold=bold) if kept else ""


def wrap(text: str, width_mm: float, size_mm: float, *, bold: bool = False, lines: int = 0) -> list[str]:
    """``text`` broken at spaces into lines no wider than ``width_mm``, at most ``lines`` of them (0: no limit).

    A word wider than the line is broken after a hyphen, or where the line ends. What does not fit the last line is cut with "…".

    >>> wrap("Front left loudspeaker", 22, 3.2)
    ['Front left', 'loudspeaker']
    """
    out: list[str] = []
    line = ""
    for piece, space in _pieces(text, width_mm, size_mm, bold):
        trial = line + space + piece if line else piece
        if line and text_width(trial, size_mm, bold=bold) > width_mm:
            out.append(line)
            line = piece
        else:
            line = trial
    if line:
        out.append(line)
    if lines and len(out) > lines:
        rest = " ".join(out[lines - 1 :])
        out = [*out[: lines - 1], fit(rest, width_mm, size_mm, bold=bold)]
    return out


def _pieces(text: str, width_mm: float, size_mm: float, bold: bool) -> list[tuple[str, str]]:
    """The words, too wide ones in parts, each with what joins it to the one before: a space, or nothing."""
    pieces: list[tuple[str, str]] = []
    for word in text.split():
        parts = [word]
        if text_width(word, size_mm, bold=bold) > width_mm:
            parts = [
                part
                for by_hyphen in re.split(r"(?<=-)(?=.)", word)
                for part in _cut(by_hyphen, width_mm, size_mm, bold)
            ]
        pieces.extend((part, "" if n else " ") for n, part in enumerate(parts))
    return pieces


def _cut(word: str, width_mm: float, size_mm: float, bold: bool) -> list[str]:
    parts: list[str] = []
    rest = word
    while text_width(rest, size_mm, bold=bold) > width_mm and len(rest) > 1:
        count = 1
        while count < len(rest) and text_width(rest[: count + 1], size_mm, bold=bold) <= width_mm:
            count += 1
        parts.append(rest[:count])
        rest = rest[count:]
    return [*parts, rest]
