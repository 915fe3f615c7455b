"""What differs between two issues of a job, as facts: a path and a value each.

Both sides are plain data, the same that a printed sheet carries inside it. Circuits and joints are named by what they are
for, since their numbers move when one is added before them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..figure import number
from .match import circuit_names, with_names

NOT_WORK = frozenset(
    {
        "sheet",
        "job",
        "revision",
        "issued",
        "digest",
        "state",
        "number",
        "id",
        "key",
        "why",
        "instead_of",
        "passed_over",
        "reason",
        "note",
        "notes",
        "text",
        "customer",
        "contact",
        "request",
        "working",
        "sources",
        "known",
        "before_next",
        "reasons",
        "faults",
        "look",
        "told",
        "readings",
        "proofs",
    }
)
"""Keys that hold words about the work or what was read, or say which issue it is."""

NAMES = ("tail", "feature", "lead", "part", "plate", "registration", "what", "item", "circuit", "title", "key", "id", "name")
"""Keys by which an entry of a list is known, the best first."""

_UNITS = {"mm": "mm", "mm2": "mm²", "a": "A", "v": "V", "ohm": "Ω", "ma": "mA"}
_MEASURED = re.compile(r"(?P<word>[a-z][a-z_]*)_(?P<unit>mm|mm2|a|v|ohm|ma)")

_FIELD_WORDS = {
    "running_a": "running current",
    "peak_a": "peak current",
    "drop_running_v": "lost when running",
    "volts_running_v": "left when running",
    "drop_peak_v": "lost at the peak",
    "volts_peak_v": "left at the peak",
    "lowest_v": "least to read",
    "total_ma": "all together",
    "total": "price",
    "gain_setting_v": "set the gain to",
    "lowest_ohm": "least the amplifier takes",
    "bundle_mm": "thickness",
    "by": "kept by",
    "outcome": "becomes",
}
"""Names of fields in the trade's words, where they are others."""

FOLLOWS = {"drop_running_v": "volts_running_v", "drop_peak_v": "volts_peak_v", "lowest_v": "volts_running_v"}
"""Figures that follow from another one of the same row, and are not told beside it."""

LONG = 60
"""So many letters of two values are told in one breath."""

NOTHING, NONE = "nothing", "none"
"""How a value that is not there stands in the facts, and how it is told."""

_SECTION_NAMES = {
    "circuits": ("title",),
    "joints": ("circuit",),
    "checks": ("stage", "title", "condition"),
    "fuses": ("circuit", "conductor"),
}


@dataclass(frozen=True, kw_only=True)
class Side:
    """One of the two: a name for messages, and its data."""

    name: str
    data: Mapping[str, Any]

    @property
    def job(self) -> str:
        return str(self.data.get("job", ""))

    @property
    def kind(self) -> str:
        return str(self.data.get("sheet", ""))

    @property
    def issue(self) -> str:
        """Revision and the beginning of the digest."""
        return f"revision {self.data.get('revision', '?')}, digest {str(self.data.get('digest', ''))[:12] or 'none'}"


@dataclass(frozen=True, kw_only=True)
class Change:
    """One difference. ``old`` or ``new`` is None where the thing is not there at all."""

    section: str
    what: str
    old: str | None
    new: str | None

    @property
    def line(self) -> str:
        """With its section."""
        return f"{self.section.replace('_', ' ')}: {self.short}" if self.what else self.short

    @property
    def short(self) -> str:
        """Under the heading of its section."""
        entry, _, field = self.what.rpartition(": ")
        what = ": ".join(part for part in (entry, field_words(field)) if part)
        if self.old is not None and self.new is not None:
            said = self.said
            return f"{what}: {said}" if what else said
        word, value = ("new", self.new) if self.old is None else ("gone", self.old)
        held = [part for part in (value or "").split(", ") if part and not part.endswith((f" {NOTHING}", " no"))]
        held = [part for part in held if part.partition(" ")[0] not in FOLLOWS]
        said = ", ".join(map(_with_unit, held))
        return f"{what}: {word}" + (f", {said}" if said else "")

    @property
    def entry(self) -> str:
        return self.what.rpartition(": ")[0]

    @property
    def field(self) -> str:
        return self.what.rpartition(": ")[2]

    @property
    def said(self) -> str:
        """Both values."""
        _, unit = measured(self.field)
        old, new = (NONE if text == NOTHING else f"{text} {unit}".strip() for text in (self.old or "", self.new or ""))
        return before_and_now(old, new)


def before_and_now(old: str, new: str) -> str:
    """Two values in words, the new one first.

    >>> before_and_now("10 A", "15 A")
    '15 A, 10 A before'
    """
    plain = len(old) + len(new) < LONG and ", " not in old + new
    return f"{new}, {old} before" if plain else f"{new}; before: {old}"


def measured(field: str) -> tuple[str, str]:
    """A field's name in words, and the unit that its name ends with, "" for none.

    >>> measured("drop_running_v"), measured("sleeve")
    (('drop running', 'V'), ('sleeve', ''))
    """
    found = _MEASURED.fullmatch(field)
    return (found["word"].replace("_", " "), _UNITS[found["unit"]]) if found else (field.replace("_", " "), "")


def field_words(field: str) -> str:
    """A field's name in the trade's words."""
    return _FIELD_WORDS.get(field) or measured(field)[0]


def _with_unit(part: str) -> str:
    """ "volts running_v 13.4" as people read it."""
    field, space, value = part.partition(" ")
    _, unit = measured(field)
    return f"{field_words(field)} {value} {unit}".strip() if space and (unit or field in _FIELD_WORDS) else part


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Change, ...]:
    """Every difference in the work, section by section. What only one side can show (a price on one sheet) is left out."""
    out: list[Change] = []
    was, now = circuit_names(old, new)
    for section in dict.fromkeys([*old, *new]):
        if section in NOT_WORK or section not in old or section not in new:
            continue
        before = dict(facts(section, old[section], was))
        after = dict(facts(section, new[section], now))
        shared = _fields(before) & _fields(after)
        out += _between(section, before, after, shared)
    return tuple(out)


Path = tuple[str, str]  # entry, field


def _fields(facts: Mapping[Path, str]) -> set[str]:
    return {field for _, field in facts}


def _between(section: str, before: Mapping[Path, str], after: Mapping[Path, str], shared: set[str]) -> Iterator[Change]:
    entries = dict.fromkeys([entry for entry, _ in (*before, *after)])
    for entry in entries:
        was = {f: v for (e, f), v in before.items() if e == entry}
        now = {f: v for (e, f), v in after.items() if e == entry}
        if not was or not now:
            told = ", ".join(f"{f} {v}".strip() for f, v in (was or now).items() if v)
            yield Change(section=section, what=entry, old=told if was else None, new=told if now else None)
            continue
        for field in dict.fromkeys([*was, *now]):
            if was.get(field) != now.get(field) and (field in shared or (field in was and field in now)):
                name = f"{entry}: {field}".strip(": ") if entry else field
                yield Change(section=section, what=name, old=was.get(field, NOTHING), new=now.get(field, NOTHING))


def facts(section: str, value: Any, titles: Mapping[str, str]) -> Iterator[tuple[Path, str]]:
    """A section as facts: (entry, field) and the value as people read it."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in NOT_WORK:
                continue
            if isinstance(inner, (list, tuple)) and inner and isinstance(inner[0], Mapping):
                yield from facts(f"{section}.{key}", inner, titles)
            else:
                yield ("", str(key)), shown_value(inner, titles)
        return
    if not isinstance(value, (list, tuple)):
        yield ("", ""), shown_value(value, titles)
        return
    for item in value:
        if not isinstance(item, Mapping):
            yield (shown_value(item, titles), ""), ""
    for entry, item in entries(section, value, titles):
        used = {*(_SECTION_NAMES.get(section) or _name_key(item)), "title"}
        for field, inner in item.items():
            if field not in NOT_WORK and field not in used:
                yield (entry, str(field)), shown_value(inner, titles)
        yield (entry, ""), ""


def entries(section: str, value: Iterable[Any], titles: Mapping[str, str]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """The entries of a list by the names they are known by; a name that several share gets a count."""
    seen: dict[str, int] = {}
    for item in value:
        if not isinstance(item, Mapping):
            continue
        if section == "checks":  # their own words hold numbers of circuits
            item = {field: with_names(v, titles) if isinstance(v, str) else v for field, v in item.items()}
        name = _name(section, item, titles)
        seen[name] = seen.get(name, 0) + 1
        yield (name if seen[name] == 1 else f"{name} ({seen[name]})"), item


def _name(section: str, item: Mapping[str, Any], titles: Mapping[str, str]) -> str:
    wanted = _SECTION_NAMES.get(section)
    if wanted and any(item.get(k) for k in wanted):
        return ", ".join(titles.get(str(item.get(k)), str(item.get(k))) for k in wanted if item.get(k))
    return next((titles.get(str(item[key]), str(item[key])) for key in _name_key(item)), "entry")


def _name_key(item: Mapping[str, Any]) -> tuple[str, ...]:
    """The key an entry of a list is known by; none when it has no such key."""
    return next(((key,) for key in NAMES if item.get(key)), ())


def shown_value(value: Any, titles: Mapping[str, str]) -> str:
    """A value in words; numbers to four figures, so that nobody reads a rounding as a change."""
    if value is None or value == "" or value == [] or value == ():
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return number(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{k} {shown_value(v, titles)}" for k, v in sorted(value.items()) if k not in NOT_WORK)
    if isinstance(value, (list, tuple)):
        return " + ".join(shown_value(v, titles) for v in value)
    return titles.get(str(value), str(value))


