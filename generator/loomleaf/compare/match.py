"""Which part, circuit and check of one issue answers to which of the other."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

Data = Mapping[str, Any]
Pair = tuple[Data | None, Data | None]
"""A thing of the old issue and the one of the new that answers to it; None where there is none."""

ALIKE = 0.75
"""Share of functions that a part must have in common with another to be told as taking its place."""
ONE_OF_A_KIND = ("radio", "vehicle")
"""Sides of which a part that comes takes the place of the one that goes, whatever wires it has."""


def rows_of(data: Data, section: str) -> list[Data]:
    """The entries of a section; none where the data have no such list."""
    value = data.get(section)
    return [row for row in value if isinstance(row, Mapping)] if isinstance(value, (list, tuple)) else []


def ways_of(circuit: Data) -> list[str]:
    """The ways and ready ends of a circuit, in their order."""
    tails = [str(tail.get("tail", "")) for tail in circuit.get("tails") or () if isinstance(tail, Mapping)]
    return [*tails, *map(str, circuit.get("ends") or ())]


def part_of(way: str) -> str:
    return way.partition("/")[0]


def _parts(data: Data) -> dict[str, tuple[str, str]]:
    """Each part with its side and title, "" where the data do not say."""
    rows = [row for row in rows_of(data, "parts") if "lead" in row]
    named = {str(row["lead"]): (str(row.get("side", "")), str(row.get("title", ""))) for row in rows}
    ways = [way for circuit in rows_of(data, "circuits") for way in ways_of(circuit)]
    ways += [str(spare.get("tail", "")) for spare in rows_of(data, "spares")]
    return named or {part_of(way): ("", "") for way in ways if "/" in way}


def _functions(data: Data, part: str) -> set[str]:
    return {
        str(tail.get("function", ""))
        for circuit in rows_of(data, "circuits")
        for tail in circuit.get("tails") or ()
        if isinstance(tail, Mapping) and part_of(str(tail.get("tail", ""))) == part
    }


def in_place_of(old: Data, new: Data) -> dict[str, str]:
    """Parts that are gone, each with the one that came in its place: the only other one of its side that came."""
    was, now = _parts(old), _parts(new)
    gone, come = [p for p in was if p not in now], [p for p in now if p not in was]
    found: dict[str, str] = {}
    for side in dict.fromkeys(was[p][0] for p in gone):
        out, into = [p for p in gone if was[p][0] == side], [p for p in come if now[p][0] == side]
        if len(out) == len(into) == 1:
            before, after = _functions(old, out[0]), _functions(new, into[0])
            alike = len(before & after) / max(1, len(before | after))
            if side in ONE_OF_A_KIND or alike >= ALIKE:
                found[out[0]] = into[0]
    return found


def renamed(old: Data, new: Data) -> dict[str, Any]:
    """The old data, with the name and title of a part whose place another took given as the other's: what still differs
    is then more than the name."""
    swap = in_place_of(old, new)
    if not swap:
        return dict(old)
    was, now = _parts(old), _parts(new)
    titles = {was[a][1]: now[b][1] for a, b in swap.items() if was[a][1] and now[b][1]}
    ways, named = _words(swap, "(?=/)"), _words(titles, r"(?!\w)")

    def walk(value: Any, key: str = "") -> Any:
        if isinstance(value, str):  # a part may be called "radio", and so may much else: only names of ways and titles count
            if key == "title" and titles:
                value = named.sub(lambda found: titles[found[0]], value)
            return swap.get(value) or ways.sub(lambda found: swap[found[0]], value)
        if isinstance(value, Mapping):
            return {key: walk(inner, str(key)) for key, inner in value.items()}
        return [walk(inner) for inner in value] if isinstance(value, (list, tuple)) else value

    return {section: value if section in ("parts", "price", "lines") else walk(value) for section, value in old.items()}


def _words(names: Mapping[str, str], then: str) -> re.Pattern[str]:
    """Any of the names, whole, the longest first."""
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))}){then}")


def paired_circuits(old: Data, new: Data) -> list[Pair]:
    """Circuits of one title put together, those first that have ways in common; the new ones in their order, then what
    is gone."""
    left: dict[str, list[Data]] = {}
    for circuit in rows_of(old, "circuits"):
        left.setdefault(_title(circuit), []).append(circuit)
    circuits = rows_of(new, "circuits")
    partner: dict[int, Data] = {}
    for need in (1, 0):  # with ways in common first; what is left over then goes by its title
        for at, circuit in enumerate(circuits):
            others = [] if at in partner else left.get(_title(circuit), [])
            shared = [len(set(ways_of(circuit)) & set(ways_of(other))) for other in others]
            most = max(shared, default=-1)
            if most >= need:
                partner[at] = others.pop(shared.index(most))
    pairs: list[Pair] = [(partner.get(at), circuit) for at, circuit in enumerate(circuits)]
    return pairs + [(circuit, None) for others in left.values() for circuit in others]


def _title(circuit: Data) -> str:
    return str(circuit.get("title", circuit.get("id", "")))


def circuit_names(old: Data, new: Data) -> tuple[dict[str, str], dict[str, str]]:
    """For each side, a circuit's number and a name that is the same on both: its title, with a count where several share
    it. Circuits that answer to one another have one name."""
    names: tuple[dict[str, str], dict[str, str]] = ({}, {})
    seen: dict[str, int] = {}
    for pair in paired_circuits(renamed(old, new), new):
        title = next(_title(circuit) for circuit in pair if circuit is not None)
        seen[title] = seen.get(title, 0) + 1
        name = title if seen[title] == 1 else f"{title} ({seen[title]})"
        for side, circuit in zip(names, pair, strict=True):
            if circuit is not None and "id" in circuit:
                side[str(circuit["id"])] = name
    return names


def with_names(text: str, names: Mapping[str, str]) -> str:
    """Text with names where it has numbers of circuits.

    >>> with_names("C1 is apart from G2, at box/C1", {"C1": "Dimming", "G2": "Ground"})
    'Dimming is apart from Ground, at box/C1'
    """
    return re.sub(r"(?<![\w./-])[A-Z]\d+(?![\w./-])", lambda found: names.get(found[0], found[0]), text)


_ITS_NAME = ("stage", "circuit", "title", "condition")
WANTED = ("expected", "unit", "low", "high", "open", "yes_no")
ACTED_ON = (*_ITS_NAME, "probes", "meter", *WANTED, "on_failure")
"""What a check says that somebody acts on."""


def _content(check: Data, fields: Sequence[str], names: Mapping[str, str]) -> dict[str, Any]:
    """What a check says, with its circuits by name; the ways of one on isolation in no order, since the order says
    nothing."""
    said = {field: _named(check.get(field), names) for field in fields}
    if apart(check):
        for field in {"title", "probes"} & set(fields):
            hub, *others = re.split(r", | and | is apart from | to ", str(check.get(field, "")))
            said[field] = [_named(hub, names), *sorted(str(_named(other, names)) for other in others)]
    return said


def _named(value: Any, names: Mapping[str, str]) -> Any:
    return with_names(value, names) if isinstance(value, str) else value


def apart(check: Data) -> bool:
    """Whether a check is one of isolation: which of them there are follows from how the ways lie beside one another."""
    return str(check.get("key", "")).startswith("apart-")


Names = tuple[Mapping[str, str], Mapping[str, str]]
"""For each side, the numbers of circuits and their names."""
PairOfChecks = tuple[Data | None, Data | None, tuple[str, ...]]
"""A check of the old issue, the one of the new that answers to it, and the fields in which they differ."""


def paired_checks(old: Data, new: Data, names: Names) -> list[PairOfChecks]:
    """Checks put together, each with the fields in which they differ: those that say the same first, then those of one
    title. The new ones in their order, then what is gone."""
    was, now = rows_of(old, "checks"), rows_of(new, "checks")
    fields = [f for f in ACTED_ON if any(f in c for c in was) and any(f in c for c in now)]
    before = [_content(check, fields, names[0]) for check in was]
    after = [_content(check, fields, names[1]) for check in now]
    free = list(range(len(was)))
    partner: dict[int, int] = {}
    for alike in (fields, *([f for f in kind if f in fields] for kind in (_ITS_NAME, _ITS_NAME[:-1]))):
        waiting: dict[str, list[int]] = {}
        for n in free:
            waiting.setdefault(repr([before[n][f] for f in alike]), []).append(n)
        for at, said in enumerate(after):
            others = [] if at in partner else waiting.get(repr([said[f] for f in alike]), [])
            if others:
                partner[at] = others.pop(0)
                free.remove(partner[at])
    out: list[PairOfChecks] = []
    for at, check in enumerate(now):
        other = partner.get(at)
        differs = () if other is None else tuple(f for f in fields if before[other][f] != after[at][f])
        out.append((None if other is None else was[other], check, differs))
    return out + [(was[n], None, ()) for n in free]
