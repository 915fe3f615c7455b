"""Loudspeakers in series and parallel."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ..figure import Figure, number
from ..problems import Collector
from .answer import OHM, Answer, in_range, on
from .tables import SpeakerDc, Tables, shipped_tables

MAX_LEAVES = 200
_TOKEN = re.compile(r"\s*(?:(?P<num>\d+(?:\.\d*)?|\.\d+)|(?P<op>\|\||\+|\(|\)))")


class LoadError(ValueError):
    """A load that cannot be read."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of a load worked out from left to right: a leaf to put down, or two results to join."""

    kind: Literal["leaf", "series", "parallel"]
    ohm: float = 0.0


def parse_load(text: str) -> tuple[Step, ...]:
    """A load as steps. ``+`` is series, ``||`` parallel and binds closer, brackets as usual. Raises LoadError.

    >>> [step.kind for step in parse_load("(4 + 4) || 8")]
    ['leaf', 'leaf', 'series', 'leaf', 'parallel']
    """
    steps: list[Step] = []
    waiting: list[str] = []
    position, wants_value, leaves = 0, True, 0
    stripped = text.rstrip()
    while position < len(stripped):
        match = _TOKEN.match(stripped, position)
        if match is None:
            raise LoadError(f"'{stripped[position:].strip()[:12]}' is not a number, +, ||, ( or )")
        position = match.end()
        if match["num"]:
            if not wants_value:
                raise LoadError(f"'{match['num']}' follows a value: put + or || between them")
            leaves += 1
            steps.append(Step(kind="leaf", ohm=float(match["num"])))
            wants_value = False
        elif match["op"] == "(":
            if not wants_value:
                raise LoadError("'(' follows a value: put + or || between them")
            waiting.append("(")
        elif wants_value:
            raise LoadError(f"'{match['op']}' stands where a value should be")
        elif match["op"] == ")":
            while waiting and waiting[-1] != "(":
                steps.append(_join(waiting.pop()))
            if not waiting:
                raise LoadError("')' has no '(' before it")
            waiting.pop()
        else:
            while waiting and waiting[-1] != "(" and (waiting[-1] == "||" or match["op"] == "+"):
                steps.append(_join(waiting.pop()))
            waiting.append(match["op"])
            wants_value = True
        if leaves > MAX_LEAVES:
            raise LoadError(f"more than {MAX_LEAVES} loudspeakers")
    if wants_value:
        raise LoadError("a value is missing at the end" if steps else "nothing is given")
    while waiting:
        if waiting[-1] == "(":
            raise LoadError("'(' is never closed")
        steps.append(_join(waiting.pop()))
    return tuple(steps)


def _join(operator: str) -> Step:
    return Step(kind="parallel" if operator == "||" else "series")


def net_ohm(steps: tuple[Step, ...], leaf: Callable[[float], float] = float) -> float:
    """Net resistance of a load: series R1 + R2, parallel R1 R2 / (R1 + R2). ``leaf`` maps each leaf's value first.

    Leaves above 0; raises ValueError otherwise.

    >>> net_ohm(parse_load("4 || 4")), net_ohm(parse_load("(4 + 4) || 8"))
    (2.0, 4.0)
    """
    stack: list[float] = []
    for step in steps:
        if step.kind == "leaf":
            value = leaf(step.ohm)
            if not value > 0:
                raise ValueError("a leaf is not above 0 Ω")
            stack.append(value)
        else:
            second, first = stack.pop(), stack.pop()
            stack.append(first + second if step.kind == "series" else first * second / (first + second))
    return stack[0]


def shared_power_w(power_w: float, rated_ohm: float, net: float) -> float:
    """Power that a voltage source rated P into R gives into another load: P R / net (P = V²/R). All above 0.

    >>> shared_power_w(50, 4, 2)
    100.0
    """
    if not min(power_w, rated_ohm, net) > 0:
        raise ValueError("power and impedances must be above 0")
    return power_w * rated_ohm / net


def speakers(
    *,
    load: str,
    minimum_ohm: float | None = None,
    power_w: float | None = None,
    rated_ohm: float | None = None,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``impedance_ohm, lowest_ohm, dc_low_ohm, dc_high_ohm`` and, with power and rating, ``power_w``.

    ``minimum_ohm`` is the least that the driver may feed, of rated impedance. The direct-current window is None when
    the table has no row for one of the loudspeakers.
    """
    tables = tables or shipped_tables()
    found = Collector()
    try:
        steps = parse_load(load)
    except LoadError as fault:
        found.error(
            "bad-expression", f"load '{load[:60]}': {fault}", hint='write for example "4 || 4" or "(4 + 4) || 8"'
        )
        return {}, tuple(found.problems)
    leaves = list(dict.fromkeys(step.ohm for step in steps if step.kind == "leaf"))
    ok = [in_range(found, "load", ohm, 0.1, 10_000, "Ω") for ohm in leaves]
    ok += [
        minimum_ohm is None or in_range(found, "minimum-ohm", minimum_ohm, 0.1, 1000, "Ω"),
        power_w is None or in_range(found, "power-w", power_w, 0.001, 20_000, "W"),
        rated_ohm is None or in_range(found, "rated-ohm", rated_ohm, 0.1, 1000, "Ω"),
    ]
    if power_w is None and rated_ohm is not None:
        ok.append(_pair(found, "power-w", "rated-ohm"))
    if rated_ohm is None and power_w is not None:
        ok.append(_pair(found, "rated-ohm", "power-w"))
    if not all(ok):
        return {}, tuple(found.problems)
    net = net_ohm(steps)
    rule = tables.constant("lowest_fraction")
    figures = {
        "impedance_ohm": OHM.figure(net, "Ω", load.strip()),
        "lowest_ohm": (OHM + on(rule)).figure(rule.value * net, "Ω", f"{number(rule.value)} × {number(net)} Ω"),
    }
    figures |= _dc(steps, leaves, load.strip(), tables)
    if power_w is not None and rated_ohm is not None:
        figures["power_w"] = OHM.figure(
            shared_power_w(power_w, rated_ohm, net),
            "W",
            f"{number(power_w)} W × {number(rated_ohm)} Ω ÷ {number(net)} Ω, if the driver can give the current",
        )
    if minimum_ohm is not None and net < minimum_ohm * (1 - 1e-9):
        found.error(
            "below-minimum-impedance",
            f"the load is {number(net)} Ω; the driver may feed no less than {number(minimum_ohm)} Ω",
            hint="fewer in parallel, or some in series",
        )
    return figures, tuple(found.problems)


def _pair(found: Collector, missing: str, given: str) -> bool:
    found.error("out-of-range", f"{missing} is not given; it must stand beside {given}, above 0")
    return False


def _dc(steps: tuple[Step, ...], leaves: list[float], load: str, tables: Tables) -> dict[str, Figure]:
    rows: dict[float, SpeakerDc] = {row.rated_ohm: row for row in tables.loudspeaker_dc}
    unknown = [ohm for ohm in leaves if ohm not in rows]
    if unknown:
        why = f"no window in the tables for {number(unknown[0])} Ω"
        return {name: Figure(value=None, unit="Ω", working=why) for name in ("dc_low_ohm", "dc_high_ohm")}
    basis = OHM + on(*(rows[ohm] for ohm in leaves))
    ends = "; ".join(f"{number(o)} Ω reads {number(rows[o].low_ohm)} to {number(rows[o].high_ohm)} Ω" for o in leaves)
    return {
        "dc_low_ohm": basis.figure(
            net_ohm(steps, lambda ohm: rows[ohm].low_ohm), "Ω", f"{load} with the low ends: {ends}"
        ),
        "dc_high_ohm": basis.figure(
            net_ohm(steps, lambda ohm: rows[ohm].high_ohm),
            "Ω",
            f"{load} with the high ends: {ends}; a crossover may read otherwise",
        ),
    }
