"""What changed, in the trade's words and in few lines: what is dangerous first, what is alike together, what is long counted.

``compare_json`` keeps every single difference.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..model.reference import GROUPS
from ..problems import few
from ..sheets.changed import runs
from .facts import FOLLOWS, Change, Side, before_and_now, changes, field_words, measured, shown_value
from .match import (
    WANTED,
    Data,
    apart,
    circuit_names,
    in_place_of,
    paired_checks,
    paired_circuits,
    part_of,
    renamed,
    rows_of,
    ways_of,
)
from .rows import where_ways_are

DANGEROUS = ("supply", "ground", "speaker", "data", "safety")
"""Groups of circuits in which a change can burn, blow or blind something: told first, and every one of them."""

ALIKE = 3
"""So many changes of one kind are told in one line."""

MOST = 8
"""So many entries of a section that is not dangerous are told; the rest is counted."""

PRICE_LINES = 4
"""So many lines of the price are told, beside what is to pay."""

_GROUP = {letter: name for name, letter, _ in GROUPS}
_RANK = {name: at for at, (name, _, _) in enumerate(GROUPS)}
_REST = "{} more; --json lists every one"

_CHECK_WORDS = {
    "probes": "other probes",
    "condition": "another condition",
    "meter": "another meter setting",
    "on_failure": "something else to do if it fails",
    "title": "other words",
    "circuit": "another circuit",
}
_FUSE_WORDS = {
    "rating_a": "fuse for",
    "running_a": "running current of",
    "limit_a": "current limit of",
    "place": "place of the fuse for",
    "fuse": "whose fuse, for",
}
_HEADS = {
    "registrations": "Vehicles",
    "vehicle": "Vehicle",
    "work_areas": "Areas to open",
    "high_voltage": "High voltage",
    "features": "What the vehicle can do",
    "supply": "Volts at the parts",
    "standby": "With the key out",
    "turn-on": "Turn-on wires",
    "loudspeakers": "Loudspeaker loads",
    "levels": "Level",
    "looms": "Loom",
    "branches": "Branches",
    "price": "Price",
}
_IN_CIRCUITS = frozenset({"parts", "circuits", "spares", "joints", "fuses", "checks"})


def compare_lines(old: Side, new: Side) -> tuple[str, ...]:
    """The whole answer in words."""
    head = f"Job {new.job}: {old.issue} → {new.issue}"
    if not changes(old.data, new.data):
        return (head, "Nothing changed in the work.")
    return (head, *told(old.data, new.data))


def told(old: Data, new: Data) -> list[str]:
    """The changes under headings: parts, circuits, spares, joints, checks, everything else, and the price last."""
    two = _Two(old, new)
    first = [c for c in two.found if c.section in ("registrations", "vehicle", "high_voltage")]
    rest = [c for c in two.found if c.section not in _IN_CIRCUITS and c not in first and c.section != "price"]
    lines: list[str] = []
    for heading, own in (
        *_sections(first),
        ("Parts", two.parts()),
        *two.circuit_sections(),
        ("Spares", _counted(two.spares())),
        ("Joints", two.joints()),
        ("Checks", two.checks()),
        *_sections(rest),
        ("Price", _price_lines([c for c in two.found if c.section == "price"])),
    ):
        if own:
            lines += [heading, *(f"  {line}" for line in own)]
    return lines


@dataclass(frozen=True, kw_only=True)
class _Block:
    """A circuit that changed: its name, and lines about it."""

    head: str
    lines: tuple[str, ...]
    group: str
    dangerous: bool
    crossed: bool


class _Two:
    """The two sides with what answers to what, so that it is worked out once."""

    def __init__(self, old: Data, new: Data) -> None:
        self.old, self.new, self.swap = old, new, in_place_of(old, new)
        self.before = renamed(old, new)
        self.names = circuit_names(old, new)
        self.pairs = paired_circuits(self.before, new) if "circuits" in old and "circuits" in new else []
        self.found = changes(self.before, new)
        self.number = {name: number for side in self.names for number, name in side.items()}
        self.back = {now: was for was, now in self.swap.items()}
        self.then, self.now = where_ways_are(self.before), where_ways_are(new)

    def by_name(self, side: int, section: str) -> dict[str, list[Data]]:
        """A section's rows by the names of their circuits."""
        found: dict[str, list[Data]] = {}
        for row in rows_of((self.before, self.new)[side], section):
            own = str(row.get("circuit", row.get("id", "")))
            for number in own.split(", "):
                found.setdefault(self.names[side].get(number, number), []).append(row)
        return found

    def as_was(self, way: str) -> str:
        """A way of the old side, with the name its part had then."""
        part = part_of(way)
        return self.back.get(part, part) + way[len(part) :]

    # --- parts and spares

    def parts(self) -> list[str]:
        titles = {str(r.get("lead")): str(r.get("title", "")) for data in (self.old, self.new) for r in rows_of(data, "parts")}

        def named(part: str) -> str:
            return f"{part} ({titles[part]})" if titles.get(part) else part

        was, now = ([str(r["lead"]) for r in rows_of(data, "parts") if "lead" in r] for data in (self.old, self.new))
        lines = [f"{named(b)} in place of {named(a)}; the same ways of the two are not told" for a, b in self.swap.items()]
        if was and now:
            lines += [f"{named(part)}: new" for part in now if part not in was and part not in self.back]
            lines += [f"{named(part)}: gone" for part in was if part not in now and part not in self.swap]
        known = {part for pair in self.swap.items() for part in pair} | set(was) | set(now)
        return lines + [c.line.removeprefix("parts: ") for c in self.found if c.section == "parts" and c.what not in known]

    def spares(self) -> list[str]:
        was, now = ({str(r.get("tail")): r for r in rows_of(data, "spares")} for data in (self.before, self.new))
        if "spares" not in self.old or "spares" not in self.new:
            return []
        lines = []
        for way, row in now.items():
            live = "live: cap it first" if row.get("live") else "not live"
            if way not in was:
                came = f", before: {self.names[0].get(self.then[way], '')}" if way in self.then else ""
                lines.append(f"{row.get('id')} {way}: a spare now{came}, {live}")
            elif row.get("live") != was[way].get("live"):
                lines.append(f"{row.get('id')} {way}: {live}, {'live' if was[way].get('live') else 'not live'} before")
        for way in was:
            if way not in self.now:
                lines.append(f"{self.as_was(way)}: not there any more")
        return sorted(lines, key=lambda line: "live: cap" not in line)

    # --- circuits

    def circuit_sections(self) -> list[tuple[str, list[str]]]:
        """The dangerous ones, each with all that is said of it; then the others, as many as there is room for."""
        fuses = tuple(self.by_name(side, "fuses") for side in (0, 1))
        blocks = [b for pair in self.pairs if (b := self._block(pair, fuses)) is not None]
        if not self.pairs:  # a sheet that shows no circuits
            lone = [line for name in dict.fromkeys([*fuses[0], *fuses[1]]) for line in self._fuses(name, fuses)]
            return [("Fuses", lone)]
        blocks.sort(key=lambda b: (not b.crossed, _RANK.get(b.group, 99)))
        first = [b for b in blocks if b.dangerous]
        others = [b for b in blocks if not b.dangerous]
        lines = [line for b in others[:MOST] for line in _of(b)]
        if len(others) > MOST:
            lines.append(_REST.format(len(others) - MOST))
        return [("Circuits, look at these first", [line for b in first for line in _of(b)]), ("Circuits", lines)]

    def _block(self, pair: tuple[Data | None, Data | None], fuses: tuple[dict[str, list[Data]], ...]) -> _Block | None:
        was, now = pair
        side, one = (1, now) if now is not None else (0, was)
        if one is None:
            return None
        number = str(one.get("id", ""))
        name = self.names[side].get(number, number)
        group = _GROUP.get(number[:1], "")
        head = f"{number} {one.get('title', '')}" if now is not None else f"{one.get('title', '')} ({number} before)"
        lines: list[str] = []
        crossed = False
        if was is None or now is None:
            word = "new" if was is None else "gone"
            own = "outcome" in one and one["outcome"] not in ("joined", "shared", "mated")
            lines.append(f"{word}: {self._path(one, side)}" + (f" ({one['outcome']}, not made)" if own else ""))
            if was is None:
                lines += [f"joint: {_joint(row)}" for row in self.by_name(1, "joints").get(name, ())]
            crossed = was is None and any(way in self.then and self.then[way] in self.names[0] for way in ways_of(one))
        else:
            if was.get("id") != number:
                head += f" ({was.get('id')} before)"
            crossed, lines = self._in_both(was, now)
        lines += self._fuses(name, fuses)
        if not lines:
            return None
        return _Block(head=head, lines=tuple(lines), group=group, dangerous=crossed or group in DANGEROUS, crossed=crossed)

    def _path(self, circuit: Data, side: int) -> str:
        """From way to way with colour and conductor, and where a way comes from."""
        tails = {str(t.get("tail")): t for t in circuit.get("tails") or () if isinstance(t, Mapping)}
        told = []
        for way in ways_of(circuit):
            tail = tails.get(way, {})
            held = ", ".join(_size(str(tail[key])) for key in ("colour", "size") if tail.get(key))
            named = self.as_was(way) if side == 0 else way
            told.append(f"{named} ({held})" if held else named)
        own = self.as_was if side == 0 else str
        moved = [f"{own(way)}, {where}" for way in ways_of(circuit) if (where := self._elsewhere(way, 1 - side))]
        return " to ".join(told) + (f" [{'; '.join(moved)}]" if moved else "")

    def _elsewhere(self, way: str, side: int) -> str:
        """What a way is on the other side, in words: "" where it is not there."""
        at = (self.then, self.now)[side].get(way, "")
        if not at:
            return ""
        named = self.names[side].get(at, "a spare")
        if side == 0:
            return f"before: {named}"
        return f"now: {at}" if at in self.names[1] else f"now: a spare, {at}"

    def _in_both(self, was: Data, now: Data) -> tuple[bool, list[str]]:
        """Whether a way crossed over from or to another circuit, and what differs."""
        lines: list[str] = []
        if was.get("outcome") != now.get("outcome"):
            lines.append(f"{_outcome(now)}, {_outcome(was)} before")
        before, after = ways_of(was), ways_of(now)
        crossed = False
        if before != after:
            out = [way for way in before if way not in after]
            into = [way for way in after if way not in before]
            crossed = any(self.names[0].get(self.then.get(way, "")) for way in into) or any(
                self.names[1].get(self.now.get(way, "")) for way in out
            )
            if out or into:
                told = [f"{way} ({where})" if (where := self._elsewhere(way, 0)) else way for way in into]
                gone = [
                    f"{self.as_was(way)} ({where})" if (where := self._elsewhere(way, 1)) else self.as_was(way) for way in out
                ]
                kept = [way for way in after if way in before]
                joined = " and ".join(kept)
                said = f"{joined} now with {' and '.join(told)}" if told and joined else " and ".join(told)
                if gone:
                    said = f"{said}, not with {' and '.join(gone)}" if said else f"{joined}: no more with {' and '.join(gone)}"
                lines.append(said)
            else:
                lines.append(f"now from {' to '.join(after)}")
        tails = [{str(t.get("tail")): t for t in c.get("tails") or () if isinstance(t, Mapping)} for c in (was, now)]
        for way, tail in tails[1].items():
            other = tails[0].get(way)
            for key in ("colour", "size", "function"):
                if other is not None and other.get(key) != tail.get(key):
                    lines.append(f"{way}: {_size(str(tail.get(key)))}, {_size(str(other.get(key)))} before")
        return crossed, lines

    def _fuses(self, name: str, fuses: tuple[dict[str, list[Data]], ...]) -> list[str]:
        """The fuses of a circuit that differ, by the conductor that they protect."""
        if "fuses" not in self.old or "fuses" not in self.new:
            return []
        was, now = ({str(r.get("conductor")): r for r in side.get(name, ())} for side in fuses)
        lines = []
        for at in dict.fromkeys([*now, *was]):
            a, b = was.get(at), now.get(at)
            if a is None or b is None:
                one = a or b or {}
                word = "new" if a is None else "gone"
                lines.append(f"fuse for {at}: {_measure('rating_a', one.get('rating_a'))}, {word}")
                continue
            for key, word in _FUSE_WORDS.items():
                if key in a and key in b and shown_value(a[key], {}) != shown_value(b[key], {}):
                    lines.append(f"{word} {at}: {_measure(key, b[key])}, {_measure(key, a[key])} before")
        return lines

    # --- joints and checks

    def joints(self) -> list[str]:
        """Joints of circuits that were there before: those made otherwise, alike ones in one line; those that lie
        elsewhere."""
        if "joints" not in self.old or "joints" not in self.new:
            return []
        was, now = self.by_name(0, "joints"), self.by_name(1, "joints")
        other: dict[tuple[str, str], list[str]] = {}
        moved: list[tuple[str, str]] = []
        for name, rows in now.items():
            label = f"{self._number(name)} {name}".strip()
            for a, b in zip(was.get(name, ()), rows, strict=False):
                keys = [k for k in ("method", "item", "sleeve", "strip_mm", "sleeve_cut_mm") if k in a and k in b]
                first, second = ({k: row[k] for k in keys} for row in (a, b))
                if _said(first) != _said(second):
                    if first.get("method") != second.get("method"):
                        said = (str(second.get("method")), str(first.get("method")))
                    else:
                        told = {k for k in keys if shown_value(a[k], {}) != shown_value(b[k], {})}
                        said = (_joint({k: b[k] for k in told}), _joint({k: a[k] for k in told}))
                    other.setdefault(said, []).append(label)
                elif "total_mm2" in a and "total_mm2" in b and shown_value(a["total_mm2"], {}) != shown_value(b["total_mm2"], {}):
                    said = (_measure("total_mm2", b["total_mm2"]), _measure("total_mm2", a["total_mm2"]))
                    other.setdefault((f"copper {said[0]}", said[1]), []).append(label)
                places = [_measure("position_mm", row.get("position_mm")) for row in (a, b)]
                if places[0] != places[1]:
                    moved.append((label, f"at {places[1]}, {places[0]} before"))
        lines = [f"{few(who, ALIKE)}: {now_said}, {was_said} before" for (now_said, was_said), who in other.items()]
        if self.pairs or not was:
            gone: list[str] = []
        else:  # a sheet that shows joints and no circuits
            gone = [f"{name}: gone" for name in was if name not in now] + [f"{name}: new" for name in now if name not in was]
        if len(moved) < ALIKE:
            return [*lines, *gone, *(f"{label}: {where}" for label, where in moved)]
        return [*lines, *gone, f"{len(moved)} lie elsewhere along the loom: {few([label for label, _ in moved], ALIKE)}"]

    def _number(self, name: str) -> str:
        return next((n for n, held in self.names[1].items() if held == name), "")

    def checks(self) -> list[str]:
        """Which numbers of the new sheets are to be read anew: new ones, those with other limits, other probes."""
        if "checks" not in self.old or "checks" not in self.new:
            return []
        limits: list[str] = []
        kinds: dict[str, list[int]] = {}
        gone = isolation = 0
        for was, now, differs in paired_checks(self.before, self.new, self.names):
            if now is None:
                gone += was is not None and not apart(was)
                isolation += was is not None and apart(was)
                continue
            number = int(now.get("number", 0))
            if apart(now):
                if was is None or differs:
                    kinds.setdefault("isolation, other pairs", []).append(number)
            elif was is None:
                kinds.setdefault("new", []).append(number)
            else:
                if set(WANTED) & set(differs):
                    limits.append(f"{number} {now.get('title')}: {before_and_now(_wanted(was), _wanted(now))}")
                for field in differs:
                    if field in _CHECK_WORDS:
                        kinds.setdefault(_CHECK_WORDS[field], []).append(number)
        order = ["other probes", "new"]
        told = sorted(kinds.items(), key=lambda item: order.index(item[0]) if item[0] in order else 9)
        lines = [f"{word}: {runs(sorted(set(numbers)))}" for word, numbers in told]
        lines[:0] = _counted(limits)
        if gone or isolation:
            also = f"{isolation} of isolation" if isolation else ""
            lines.append("gone: " + " and ".join(filter(None, (f"{gone} checks" if gone else "", also))))
        return lines


def _of(block: _Block) -> list[str]:
    """A block on one line where that is short, else with its lines below its name."""
    if len(block.lines) == 1 and len(block.head) + len(block.lines[0]) < 100:
        return [f"{block.head}: {block.lines[0]}"]
    return [block.head, *(f"  {line}" for line in block.lines)]


def _size(text: str) -> str:
    """A conductor as it is marked, without what it comes to in the other measure.

    >>> _size("0.5 mm² (about 20 AWG)")
    '0.5 mm²'
    """
    return text.partition(" (")[0]


def _outcome(circuit: Data) -> str:
    return {"mated": "plugs in as it is"}.get(str(circuit.get("outcome")), str(circuit.get("outcome")))


def _said(row: Mapping[str, Any]) -> dict[str, str]:
    return {key: shown_value(value, {}) for key, value in row.items()}


def _measure(field: str, value: Any) -> str:
    """A value with the unit that its field's name ends with; "none" for nothing."""
    if value is None or value == "":
        return "none"
    _, unit = measured(field)
    return f"{shown_value(value, {})} {unit}".strip()


def _joint(row: Mapping[str, Any]) -> str:
    """A joint in a line: method, connector, sleeve, strip."""
    told = [str(row[key]) for key in ("method", "item") if row.get(key)]
    told += [f"no {key}" for key in ("item", "sleeve") if key in row and len(row) < 4 and not row.get(key)]
    if row.get("sleeve") or row.get("sleeve_cut_mm"):
        cut = f"cut {_measure('sleeve_cut_mm', row['sleeve_cut_mm'])}" if row.get("sleeve_cut_mm") else ""
        told.append(" ".join(filter(None, (str(row.get("sleeve") or "sleeve"), cut))))
    if row.get("strip_mm"):
        told.append(f"strip {_measure('strip_mm', row['strip_mm'])}")
    if row.get("position_mm") is not None:
        told.append(f"at {_measure('position_mm', row['position_mm'])}")
    return ", ".join(told)


def _wanted(check: Data) -> str:
    """What a check wants, with its limits where the words leave them out."""
    expected = str(check.get("expected", ""))
    low, high, unit = check.get("low"), check.get("high"), str(check.get("unit", "")).removesuffix("c")
    ends = [shown_value(v, {}) for v in (low, high) if v is not None]
    if not ends or all(end in expected for end in ends):
        return expected or " to ".join(ends)
    return f"{expected} ({' to '.join(ends)} {unit})".replace(" )", ")") if expected else f"{' to '.join(ends)} {unit}".strip()


def _counted(lines: Sequence[str]) -> list[str]:
    return list(lines) if len(lines) <= MOST + 1 else [*lines[:MOST], _REST.format(len(lines) - MOST)]


FIGURES = frozenset({"supply", "turn-on", "loudspeakers", "levels", "looms", "branches"})
"""Sections of which nothing is told for what is gone: its circuit or part is told as gone."""

def _sections(found: Sequence[Change]) -> list[tuple[str, list[str]]]:
    """Every other section under its heading, as many lines as there is room for."""
    return [(head, _counted(lines)) for head, lines in _by_thing(found)]


def _by_thing(found: Sequence[Change]) -> list[tuple[str, list[str]]]:
    """Headings with a line a thing: what changed in it, that it is new, that it is gone."""
    there = {(c.section, c.what) for c in found}
    out: dict[str, dict[tuple[str, str], list[str]]] = {}
    for change in found:
        head = _HEADS.get(change.section, change.section.replace("_", " ").replace(".", ", ").capitalize())
        lines = out.setdefault(head, {})
        if change.old is None or change.new is None:
            if change.new is not None or change.section not in FIGURES:
                lines.setdefault((change.short, ""), [])
        elif (change.section, f"{change.entry}: {FOLLOWS.get(change.field, '')}") not in there:
            lines.setdefault((change.entry, "both"), []).append(f"{field_words(change.field)} {change.said}".strip())
    return [(head, [_line(entry, said) for (entry, _), said in lines.items()]) for head, lines in out.items()]


def _line(entry: str, said: Sequence[str]) -> str:
    return ": ".join(filter(None, (entry, "; ".join(said))))


def _price_lines(found: Sequence[Change]) -> list[str]:
    """What is to pay, then what was added and the first lines that changed, then how many more."""
    first = [f"{c.what}: {c.said}" for c in found if c.what == "to pay"]
    rest = [line for _, own in _by_thing(sorted((c for c in found if c.what != "to pay"), key=_kind)) for line in own]
    left = len(rest) - PRICE_LINES
    if left <= 1:
        return [*first, *rest]
    return [*first, *rest[:PRICE_LINES], f"{left} more lines changed; --json lists every one"]


def _kind(change: Change) -> int:
    return 0 if change.old is None else 1 if change.new is None else 2


def compare_json(old: Side, new: Side) -> dict[str, Any]:
    """Every difference as plain values."""

    def side(which: Side) -> dict[str, Any]:
        return {
            "file": which.name,
            "job": which.job,
            "revision": which.data.get("revision"),
            "digest": which.data.get("digest"),
        }

    return {
        "old": side(old),
        "new": side(new),
        "changes": [
            {"section": c.section, "what": c.what, "old": c.old, "new": c.new} for c in changes(old.data, new.data)
        ],
    }
