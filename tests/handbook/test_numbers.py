"""Every quantity in the chapters is worked out by a module, goes into such a working, carries a note or source, or is a name.

A quantity is a number with its unit. Beside a calculation (a ``figure`` mark) it may be what goes in. In a paragraph,
list or table that carries a note or a source (or has one just after it) it is covered by that. What is left must stand in
one of the two lists below: names and everyday words for things, and readings that show how a line is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

UNITS = (
    "mV|V|mA|A|mΩ|kΩ|Ω|mm²|mm2|mm|cm|m|W|kHz|Hz|mAh|Ah|°C|%|dB|days?|weeks?|months?|minutes?|hours?|years?|seconds?|"
    "circular mils|mil|AWG"
)
QUANTITY = re.compile(rf"(?<![\w.,])(\d+(?:\.\d+)?)[ \u00a0]?(?:{UNITS})(?![\w²])")
MARK = re.compile(r"\{\{(\w+):(.*?)\}\}")
NUMBER = re.compile(r"\d+(?:\.\d+)?")

NAMES = {
    "12 V": "the vehicle's system is called so",
    "6 V": "cameras of that kind are called so; half of a 12 V supply, which the same sentence says",
    "0 V": "nothing",
    "0 Ω": "nothing",
    "5 W": "the lamp that the shop uses, called so",
    "10 A": "a socket of the meter and a blade fuse are called so",
    "20 A": "a blade fuse is called so",
    "1.5 V": "a cell is called so",
    "2 Ω": "a loudspeaker is called so",
    "5 A": "the current that the shop's ground test is called by",
    **dict.fromkeys(("0.5 mm²", "1 mm²", "1.5 mm²", "2.5 mm²", "4 mm²", "6 mm²"), "a wire is called by its size"),
    **dict.fromkeys(("18 AWG", "16 AWG"), "a wire is called by its size"),
    "1 kΩ": "goes into the working beside it as 1000 Ω",
}
"""Quantities that name a thing. They say nothing that could be wrong by itself."""

SHOWN = {
    "06-proving-with-a-meter.md": {"12.1 V", "0.0 V", "0.2 Ω", "5 V"},
    "30-fault-finding.md": {"12.4 V", "10.1 V", "2.3 V", "12.3 V", "1.9 V"},
    "25-standby-drain.md": {"21 days"},  # three weeks
    "32-mistakes.md": {"12.4 V", "3 A"},
    "41-leaving-a-record.md": {"12.3 V", "8 A", "0.04 V", "22 mA", "40 minutes", "30 mA"},
    "60-practice.md": {
        "0.5 V", "12.4 V", "12.5 V", "0.35 V", "0.4 A", "0.07 Ω", "70 mΩ", "0.1 V", "20 mΩ", "3 A", "13 A",
    },
}  # fmt: skip
"""Readings in examples: what somebody reads or writes down in a story, or works out in full in the same line."""


def chapters(root: Path) -> list[Path]:
    return sorted((root / "content" / "handbook").glob("*.md"))


def unfounded(text: str) -> Iterator[str]:
    """Quantities of a chapter that nothing stands behind."""
    body = text.split("---\n", 2)[-1]
    for section in re.split(r"\n(?=## )", body):
        going_in = {
            float(n) for kind, inside in MARK.findall(section) if kind == "figure" for n in NUMBER.findall(inside)
        }
        blocks = re.split(r"\n\s*\n", section)
        for block, following in zip(blocks, [*blocks[1:], ""], strict=True):
            kinds = {kind for kind, _ in MARK.findall(block)}
            after = MARK.match(following.strip())
            if kinds & {"note", "source"} or (after is not None and after[1] in ("note", "source")):
                continue
            for match in QUANTITY.finditer(MARK.sub(" ", block)):
                if float(match[1]) not in going_in:
                    yield match[0].replace("\u00a0", " ")


def test_every_quantity_has_something_behind_it(root: Path) -> None:
    told = {}
    for file in chapters(root):
        allowed = set(NAMES) | SHOWN.get(file.name, set())
        left = [q for q in unfounded(file.read_text(encoding="utf-8")) if q not in allowed]
        if left:
            told[file.name] = left
    assert told == {}


def test_the_lists_hold_nothing_that_is_not_used(root: Path) -> None:
    used = {file.name: set(unfounded(file.read_text(encoding="utf-8"))) for file in chapters(root)}
    for name, quantities in SHOWN.items():
        assert quantities <= used[name], f"{name}: {sorted(quantities - used[name])}"
    everywhere = set().union(*used.values())
    assert set(NAMES) <= everywhere, sorted(set(NAMES) - everywhere)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("## A\n\nAt most 7 A here.", ["7 A"]),
        ("## A\n\nAt most 7 A here.{{note:Common practice, no source.}}", []),
        ("## A\n\n| 7 A |\n\n{{note:Common practice.}}", []),
        ("## A\n\nWith 7 A it is {{figure:fuse rating_a current-a=7}}, not 9 A.", ["9 A"]),
        ("## A\n\nWith 7 A.\n\n## B\n\n{{figure:fuse rating_a current-a=7}}", ["7 A"]),
        ("## A\n\nWays 4 and 7, term. 30, year 2016, A.7.", []),
    ],
)
def test_what_is_found(text: str, left: list[str]) -> None:
    assert list(unfounded(f"---\ntitle: T\n---\n{text}")) == left
