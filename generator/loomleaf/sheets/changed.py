"""Rows that say something else than on the issue before: a bar in the margin, and a line that names them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

View = TypeVar("View")

MOVED = 8
"""Ways that moved which a sheet names one by one."""


@dataclass(frozen=True, kw_only=True)
class Changed:
    """What changed ``since`` an earlier issue: circuits and spares by their numbers on the sheet, checks by theirs, and the
    titles of what is no longer there.

    ``moved`` tells of ways that went to another circuit, or from the spares to one or back; ``parts`` of a part that took
    another's place: a row that only names it has no bar. ``unknown`` where no copy of the earlier issue is kept, so that
    nothing can be said.
    """

    since: str
    rows: tuple[str, ...] = ()
    checks: tuple[int, ...] = ()
    gone: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    unknown: bool = False

    @property
    def line(self) -> str:
        """What the bars mean, with every row they stand beside."""
        if self.unknown:
            return (
                f"What changed since {self.since} is not known: no copy of it is kept. No row has a bar: hold every row"
                " against the sheets of before."
            )
        told = ", ".join(self.rows)
        if self.checks:
            word = "check" if len(self.checks) == 1 else "checks"
            told += ("; " if told else "") + f"{word} {runs(self.checks)}"
        said = f"Changed since {self.since}, with a bar in the margin: {told or 'no row'}."
        if self.parts:
            said += f" {'; '.join(self.parts)}: a row that changed in nothing but this name has no bar."
        if self.moved:
            left = len(self.moved) - MOVED
            said += f" Moved: {'; '.join(self.moved[:MOVED])}{f'; and {left} more' if left > 0 else ''}."
        return said + (f" No longer there: {', '.join(self.gone)}." if self.gone else "")


def runs(numbers: Sequence[int]) -> str:
    """Numbers with runs drawn together.

    >>> runs([4, 7, 8, 9])
    '4, 7 to 9'
    """
    found: list[list[int]] = []
    for n in numbers:
        if found and n == found[-1][-1] + 1:
            found[-1].append(n)
        else:
            found.append([n])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]} to {r[-1]}" for r in found)


def marked(view: View, changed: Changed) -> tuple[View, Changed]:
    """A view with ``changed`` set on every row that the changes name, by its ``id``, as a check by its ``number``, as
    a tail by its ``circuit``; and of
    the changes those that have a row in it."""
    rows: dict[str, None] = {}
    checks: dict[int, None] = {}

    def walk(item: Any) -> Any:
        if isinstance(item, tuple):
            return tuple(walk(part) for part in item)
        if not is_dataclass(item) or isinstance(item, type):
            return item
        new: dict[str, Any] = {}
        for field in fields(item):
            value = getattr(item, field.name)
            if isinstance(value, tuple) or is_dataclass(value):
                inner = walk(value)
                if inner != value:
                    new[field.name] = inner
        if hasattr(item, "changed"):
            number = getattr(item, "number", 0)
            name = getattr(item, "id", "" if number else getattr(item, "circuit", ""))
            if name in changed.rows:
                rows[name] = None
                new["changed"] = True
            elif number in changed.checks:
                checks[number] = None
                new["changed"] = True
        return replace(item, **new) if new else item

    out: View = walk(view)
    return out, replace(changed, rows=tuple(rows), checks=tuple(sorted(checks)))
