"""The order of checks, so that their numbers run on down every page: one stage after the other, and inside a stage the
checks together that share a condition, a setting of the meter and the place of its probes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from .proofs import CONDITION_WORDS
from .types import STAGES, Check, Stage

BENCH_STAGES: tuple[Stage, ...] = ("on-the-bench", "before-plugging-in")
"""Stages whose checks stand on the bench sheet; every other stage stands on the fitting sheet."""

WATCHED_FIRST: frozenset[Stage] = frozenset({"after-plugging-in"})
"""Stages in which what is seen and heard comes before what is read: quietly before loud."""

Group = tuple[tuple[str, str, str, str], list[Check]]
"""Condition, meter, probes and what to do if not; and the checks that share them."""


def in_working_order(checks: Sequence[Check]) -> list[Check]:
    """Every check in the order in which it is done, which is that of the rows on paper."""
    return [check for stage in STAGES for check in _of_stage([c for c in checks if c.stage == stage], stage)]


def _of_stage(checks: list[Check], stage: Stage) -> list[Check]:
    if stage == "on-the-bench":
        return [check for some in sharing(checks) for check in some]
    if stage == "before-plugging-in":
        return [check for _, some in under_conditions(checks) for check in some]
    return [c for watched in watched_order(stage) for _, some in by_condition(of_kind(checks, watched)) for c in some]


def watched_order(stage: Stage) -> tuple[bool, bool]:
    """Whether what is watched (True) or what is read (False) comes first."""
    return (True, False) if stage in WATCHED_FIRST else (False, True)


def of_kind(checks: Iterable[Check], watched: bool) -> list[Check]:
    """The checks that are only watched, or those that are read."""
    return [check for check in checks if check.yes_no is watched]


def sharing(checks: Iterable[Check]) -> list[list[Check]]:
    """Checks in sets that share setting, condition and expected value: one table each."""
    sets: dict[tuple[object, ...], list[Check]] = {}
    for check in checks:
        shared = (check.meter, check.on_failure, check.condition, check.expected, check.low, check.high, check.unit)
        sets.setdefault(shared, []).append(check)
    return list(sets.values())


def under_conditions(checks: Sequence[Check]) -> list[Group]:
    """Checks under the lines of one table, in the order in which its conditions first come."""
    groups: dict[tuple[str, str, str, str], list[Check]] = {}
    for check in checks:
        tail = check.tails[0] if check.tails else ""
        rest = check.probes.removeprefix(f"{tail}: ") if tail else check.probes
        probes = rest if rest != check.probes else ""
        groups.setdefault((_state(check, checks), check.meter, probes, check.on_failure), []).append(check)
    return list(groups.items())


def by_condition(checks: Iterable[Check]) -> list[Group]:
    """Checks by condition and meter setting, in the order in which a key is turned, the loads of one condition together."""
    words = list(CONDITION_WORDS.values())
    groups: dict[tuple[str, str, str, str], list[Check]] = {}
    for check in checks:
        probes = "" if check.yes_no else probes_without_way(check)
        groups.setdefault((check.condition, check.meter, probes, check.on_failure), []).append(check)

    def rank(group: Group) -> int:
        head = group[0][0].partition(",")[0]
        return words.index(head) if head in words else len(words)

    return sorted(groups.items(), key=rank)


def probes_without_way(check: Check) -> str:
    """Where the probes go, without the way that stands in the row."""
    tail = check.tails[0] if check.tails else ""
    return check.probes.removeprefix(f"{tail}: ").removeprefix(f"{tail} ") if tail else check.probes


def _state(check: Check, checks: Sequence[Check]) -> str:
    """A check's condition, without the last part where that is the check's own and the rest is shared with others."""
    head, comma, _ = check.condition.rpartition(", ")
    alike = [c for c in checks if c.meter == check.meter and c.condition.startswith(f"{head}, ")]
    own = len({c.condition for c in alike}) == len(alike) > 1
    return head if comma and own else check.condition
