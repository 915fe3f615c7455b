"""Which rows of a sheet say something else than the issue before did, for the bar in the margin."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..sheets.changed import Changed
from .facts import NOT_WORK, shown_value
from .match import Names, circuit_names, in_place_of, paired_checks, paired_circuits, renamed, rows_of, ways_of

NOT_SAID = NOT_WORK | {"id", "circuit", "title"}
"""Keys of a row that name it, or are words about it."""


def changed_rows(old: Mapping[str, Any], new: Mapping[str, Any], since: str) -> Changed:
    """Which rows of the new sheets say something else than the old ones did: circuits, spares, checks; the ways that
    moved, and what is gone. A row that only names a part which took another's place says the same."""
    swap, names = in_place_of(old, new), circuit_names(old, new)
    before = renamed(old, new)
    pairs = paired_circuits(before, new)
    numbers = {names[1][str(now["id"])]: str(now["id"]) for _, now in pairs if now is not None}
    circuits: dict[str, None] = {}
    for section in ("circuits", "joints", "fuses"):
        if section not in old or section not in new:
            continue
        was, now = (_said_of(section, data, side) for data, side in zip((before, new), names, strict=True))
        shared = {f for rows in was.values() for row in rows for f in row}
        shared &= {f for rows in now.values() for row in rows for f in row}
        for name, number in numbers.items():
            if _only(was.get(name), shared) != _only(now.get(name), shared):
                circuits[number] = None
    was_spare = {str(row.get("tail")): row for row in rows_of(before, "spares")}
    spares = [
        str(row.get("id", ""))
        for row in rows_of(new, "spares")
        if "spares" in old and (row.get("tail") not in was_spare or was_spare[str(row["tail"])].get("live") != row.get("live"))
    ]
    checks = [
        int(now.get("number", 0))
        for was_check, now, differs in (paired_checks(before, new, names) if "checks" in old else ())
        if now is not None and (was_check is None or differs)
    ]
    return Changed(
        since=since,
        rows=(*(number for number in numbers.values() if number in circuits), *spares),
        checks=tuple(sorted(checks)),
        gone=_gone(before, new, swap, names),
        moved=moved_ways(before, new),
        parts=tuple(f"{new_part} stands in place of {old_part}" for old_part, new_part in swap.items()),
    )


def _said_of(section: str, data: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, list[dict[str, str]]]:
    """What a section says of each circuit, by its name: one entry for each row."""
    found: dict[str, list[dict[str, str]]] = {}
    for row in rows_of(data, section):
        said = {field: shown_value(value, names) for field, value in row.items() if field not in NOT_SAID}
        own = str(row.get("id" if section == "circuits" else "circuit", row.get("id", "")))
        for number in own.split(", "):
            found.setdefault(names.get(number, number), []).append(said)
    return found


def _only(rows: list[dict[str, str]] | None, fields: set[str]) -> list[list[tuple[str, str]]]:
    return sorted(sorted((f, v) for f, v in row.items() if f in fields) for row in rows or ())


def where_ways_are(data: Mapping[str, Any]) -> dict[str, str]:
    """Each way with the number of its circuit, or of its row among the spares."""
    found = {way: str(circuit.get("id", "")) for circuit in rows_of(data, "circuits") for way in ways_of(circuit)}
    return found | {str(row.get("tail", "")): str(row.get("id", "")) for row in rows_of(data, "spares")}


def moved_ways(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[str, ...]:
    """Ways that were spare and are joined, that were joined and are spare, and that went from one circuit to another.
    The parts of the old data go by their new names."""
    if not all(key in data for key in ("circuits", "spares") for data in (old, new)):
        return ()
    answers = {id(was): now for was, now in paired_circuits(old, new) if was is not None}
    then = {way: circuit for circuit in rows_of(old, "circuits") for way in ways_of(circuit)}
    now_in = {way: circuit for circuit in rows_of(new, "circuits") for way in ways_of(circuit)}
    was_spare, is_spare = ({str(row.get("tail", "")) for row in rows_of(data, "spares")} for data in (old, new))
    at = where_ways_are(new)
    told: list[str] = []
    for way, now in now_in.items():
        if way in then and answers.get(id(then[way])) is not now:
            told.append(f"{way} was {then[way].get('title')}, now {now.get('id')}")
    told += [f"{way} was a spare, now {now.get('id')}" for way, now in now_in.items() if way in was_spare]
    told += [f"{way} was {then[way].get('title')}, now spare {at[way]}" for way in sorted(is_spare & set(then))]
    return tuple(told)


def _gone(
    before: Mapping[str, Any], new: Mapping[str, Any], swap: Mapping[str, str], names: Names
) -> tuple[str, ...]:
    """Circuits that are no more, by their names, and spare ways that are not there at all any more."""
    kept = set(names[1].values())
    told = [name for name in names[0].values() if name not in kept] if "circuits" in new else []
    there = where_ways_are(new)
    back = {new_part: old_part for old_part, new_part in swap.items()}
    for row in rows_of(before, "spares") if "spares" in new else ():
        way = str(row.get("tail", ""))
        part, slash, rest = way.partition("/")
        if way not in there:
            told.append(f"{back.get(part, part)}{slash}{rest}")
    return tuple(dict.fromkeys(told))
