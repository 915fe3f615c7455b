"""What can be wrong with a shop's content, as values.

A stage returns its result together with its Problems; exceptions are kept for faults of the program itself.
Making a problem is apart from printing it: see ``Problem.line`` (one line), ``Problem.full`` (with the source
line and a caret) and ``Problem.as_json``.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """How far a problem reaches."""

    ERROR = "error"  # the job (or the file) cannot be used: nothing of it is written, exit code 1
    HOLD = "hold"  # the job prints with its HELD band, exit code 0
    WARNING = "warning"  # told, nothing more

    @property
    def rank(self) -> int:
        """0 for the worst; sorts problems that stand at the same place."""
        return ("error", "hold", "warning").index(self.value)


@dataclass(frozen=True, order=True, kw_only=True)
class Location:
    """A place in a content file. Lines and columns count from 1; 0 means the file as a whole."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.file
        return f"{self.file}:{self.line}:{self.column}"


NOWHERE = Location(file="")


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that is wrong: a code that has its own page, a plain sentence, and a hint towards the right answer.

    ``hint`` is empty when there is nothing useful to add. ``job`` is the number of the job it stops, or empty
    when it belongs to no single job. ``registration`` is the one vehicle of a fleet it concerns, or empty for all.
    """

    code: str
    severity: Severity
    message: str
    hint: str = ""
    location: Location = NOWHERE
    job: str = ""
    registration: str = ""

    @property
    def sort_key(self) -> tuple[Any, ...]:
        where = self.location
        return (where.file, where.line, where.column, self.severity.rank, self.code, self.registration, self.message)

    def line(self) -> str:
        """``file:line:column: severity[code]: sentence (hint)``."""
        where = f"{self.location}: " if self.location.file else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{where}{self.severity.value}[{self.code}]: {self.message}{hint}"

    def full(self, source_line: str = "", whose: str = "") -> str:
        """The sentence, the source line with a caret under the place, whose problem it is, and the hint, over several lines."""
        where = f"{self.location}: " if self.location.file else ""
        out = [f"{where}{self.severity.value}[{self.code}]: {self.message}"]
        if source_line.strip() and self.location.line:
            number = str(self.location.line)
            shown, caret = _window(source_line, self.location.column)
            out += [f"  {number} | {shown}", f"  {' ' * len(number)} | {' ' * caret}^"]
        if whose:
            out.append(f"    for: {whose}")
        if self.hint:
            out.append(f"    hint: {self.hint}")
        return "\n".join(out)

    def as_json(self) -> dict[str, Any]:
        """A plain mapping with every field, for ``--json``."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "message": self.message,
            "hint": self.hint,
            "file": self.location.file,
            "line": self.location.line,
            "column": self.location.column,
            "job": self.job,
            "registration": self.registration,
        }


def _window(source_line: str, column: int, width: int = 100) -> tuple[str, int]:
    """A readable stretch of a source line around a column: the text, and the caret's offset in it."""
    text = "".join(c if c.isprintable() else " " for c in source_line.replace("\t", " ").rstrip())
    start = max(0, column - 1 - width // 2) if len(text) > width else 0
    shown = text[start : start + width]
    return ("…" if start else "") + shown, max(0, column - 1 - start) + (1 if start else 0)


@dataclass
class Collector:
    """Gathers problems inside one stage; a stage hands back ``tuple(collector.problems)``."""

    problems: list[Problem] = field(default_factory=list)

    def error(self, code: str, message: str, location: Location = NOWHERE, *, hint: str = "", job: str = "") -> None:
        self.problems.append(
            Problem(code=code, severity=Severity.ERROR, message=message, hint=hint, location=location, job=job)
        )

    def warning(
        self,
        code: str,
        message: str,
        location: Location = NOWHERE,
        *,
        hint: str = "",
        job: str = "",
        registration: str = "",
    ) -> None:
        self.problems.append(
            Problem(
                code=code,
                severity=Severity.WARNING,
                message=message,
                hint=hint,
                location=location,
                job=job,
                registration=registration,
            )
        )

    def hold(
        self,
        code: str,
        message: str,
        location: Location = NOWHERE,
        *,
        hint: str = "",
        job: str = "",
        registration: str = "",
    ) -> None:
        self.problems.append(
            Problem(
                code=code,
                severity=Severity.HOLD,
                message=message,
                hint=hint,
                location=location,
                job=job,
                registration=registration,
            )
        )


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sorted by place, without repeats."""
    return tuple(sorted(dict.fromkeys(problems), key=lambda p: p.sort_key))


OF_ONE_JOB = ("jobs/", "readings/", "issued/")
"""Folders whose files are about one job each."""


def told_once(problems: Iterable[Problem]) -> tuple[tuple[Problem, str], ...]:
    """Each thing that is wrong once, though it may concern many jobs; with the jobs and vehicles it is told for.

    A job is not named where the place is in a file that is about one job.

    >>> lead = Location(file="leads/a.yaml", line=3, column=1)
    >>> both = [Problem(code="c", severity=Severity.HOLD, message="m", location=lead, job=n) for n in ("2041", "2044")]
    >>> [whose for _, whose in told_once(both)]
    ['jobs 2041 and 2044']
    """
    same: dict[Problem, tuple[dict[str, None], dict[str, None]]] = {}
    for problem in problems:
        jobs, plates = same.setdefault(replace(problem, job="", registration=""), ({}, {}))
        if problem.job and not problem.location.file.startswith(OF_ONE_JOB):
            jobs[problem.job] = None
        if problem.registration:
            plates[problem.registration] = None
    return tuple(
        (problem, ", ".join(filter(None, (_named("job", jobs), _named("vehicle", plates)))))
        for problem, (jobs, plates) in same.items()
    )


def _named(what: str, names: Iterable[str]) -> str:
    known = list(names)
    return f"{what}{'s' if len(known) > 1 else ''} {few(known)}" if known else ""


def few(names: Sequence[str], most: int = 4) -> str:
    """Names in a row, the first of them when there are many.

    >>> few(["1", "2"]), few(["1", "2", "3", "4", "5", "6"])
    ('1 and 2', '1, 2, 3, 4 and 2 more')
    """
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return " and ".join(w for w in (", ".join(names[:-1]), *names[-1:]) if w)


def worst(problems: Iterable[Problem]) -> Severity | None:
    """The worst severity among the problems, or None when there is none."""
    ranked = sorted((p.severity for p in problems), key=lambda s: s.rank)
    return ranked[0] if ranked else None


def near(word: str, known: Iterable[str]) -> str:
    """The nearest known word, "" when none is near.

    >>> near("blk", ["black", "blue"])
    'black'
    """
    return next(iter(difflib.get_close_matches(word, sorted(set(known)), n=1, cutoff=0.6)), "")


def nearest(word: str, known: Sequence[str] | Iterable[str]) -> str:
    """A hint that offers the nearest known word, or the whole list when it is short, or nothing.

    >>> nearest("yelow", ["yellow", "red"])
    "did you mean 'yellow'?"
    """
    words = sorted(set(known))
    close = near(word, words)
    if close:
        return f"did you mean '{close}'?"
    if 0 < len(words) <= 8:
        return "one of: " + ", ".join(words)
    return ""
