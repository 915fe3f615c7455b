"""Turn-on, antenna and accessory outputs: what hangs on each against what it can give; over it, a relay is called for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from ..calc.turnon import turn_on
from ..figure import Figure, Standing, number
from .context import Context, Findings, PartCalled, main_supply, missing, states_draws
from .joints import stock_item
from .types import Circuit, JobTail

OUTPUTS = {
    "amplifier-turn-on": "turn_on_ma",
    "antenna-turn-on": "antenna_ma",
    "accessory-output": "accessory_ma",
}
"""Outputs that give a small current, and the limit of a part's file that belongs to each."""

RELAY_FUSE_A = 5.0
"""Fuse of a relay's own feed: the contact feeds other parts' inputs, no motor; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class TurnOn:
    """Rows for paper, the circuits with a relay put in, and the parts called for."""

    rows: list[dict[str, Any]]
    circuits: tuple[Circuit, ...]
    parts: list[PartCalled]


def is_output(circuit: Circuit) -> bool:
    """A made circuit whose driver is a part's output of small current."""
    return circuit.made and any(
        d.lead.side != "vehicle" and (d.function_id in OUTPUTS or d.tail.gives_ma is not None) for d in circuit.drivers
    )


def turn_on_for(context: Context, found: Findings) -> TurnOn:
    """The budget of every output."""
    rows: list[dict[str, Any]] = []
    parts: list[PartCalled] = []
    circuits: list[Circuit] = []
    for circuit in context.circuits:
        if not is_output(circuit):
            circuits.append(circuit)
            continue
        row = _row(context, circuit, found)
        rows.append(row)
        if row["relay"].value and circuit.group == "supply":
            found.problems.append(
                context.hold(
                    "output-overloaded",
                    f"{circuit.id} {circuit.title}: {row['relay'].working}",
                    context.tail_place(circuit.drivers[0]),
                    hint="feed the parts from a fused supply through a relay, with this output on its coil",
                )
            )
        if row["relay"].value:
            parts += _relay(context, circuit, row["relay"])
            circuit = replace(circuit, combine="relay")
        circuits.append(circuit)
    return TurnOn(rows=rows, circuits=tuple(circuits), parts=parts)


def _row(context: Context, circuit: Circuit, found: Findings) -> dict[str, Any]:
    loads: dict[str, float] = {}
    unstated: list[str] = []
    for tail in circuit.takers:
        amount = _takes_ma(context, circuit, tail)
        if amount is None:
            unstated.append(tail.name)
        else:
            loads[tail.name] = amount
    limit, whose = _limit(context, circuit)
    figures, problems = turn_on(loads_ma=loads, limit_ma=limit, tables=context.tables)
    for problem in problems:
        found.problems.append(
            context.hold(
                "output-impossible", f"{circuit.id}: {problem.message}", context.tail_place(circuit.drivers[0])
            )
        )
    if unstated:
        found.note(
            f"{circuit.id} {circuit.title}: what {' and '.join(unstated)} takes is not stated; the sum leaves it out. "
            "Measure it before it hangs there."
        )
    delays = [d.lead.limits.off_delay_s for d in circuit.drivers if d.lead.limits.off_delay_s is not None]
    return {
        "circuit": circuit.id,
        "title": circuit.title,
        "outputs": [d.name for d in circuit.drivers],
        "loads_ma": {name: Figure(value=loads[name], unit="mA", working="stated") for name in sorted(loads)},
        "not_stated": unstated,
        "total_ma": figures.get("total_ma", missing("mA", "see the problems")),
        "limit_ma": Figure(value=limit, unit="mA", working=whose, known=Standing.COMMON_PRACTICE),
        "relay": figures.get("relay", Figure(value=False, unit="", working="not worked out")),
        "off_delay_s": Figure(value=max(delays), unit="s", working="stated by the part that drives it")
        if delays
        else Figure(
            value=None, unit="s", working="not stated: watch how long the output stays on after the key is out"
        ),
    }


def _takes_ma(context: Context, circuit: Circuit, tail: JobTail) -> float | None:
    """What one taker asks of the output: stated with the tail, or the part's whole current when this feeds it."""
    if tail.tail.takes_ma is not None:
        return tail.tail.takes_ma
    if circuit.group != "supply":
        return 0.0 if tail.lead.side == "radio" else None
    main = main_supply(tail.lead, context.circuits)
    if main is not None and main[1].name == tail.name:
        return tail.lead.draws.running_a * 1000 if states_draws(tail.lead) else None
    return 0.0  # a signal input: the part takes its current elsewhere


def _limit(context: Context, circuit: Circuit) -> tuple[float, str]:
    """The least that any of the drivers can give, and who says so."""
    best: tuple[float, str] | None = None
    for driver in circuit.drivers:
        stated = driver.tail.gives_ma
        if stated is None and driver.function_id in OUTPUTS:
            stated = getattr(driver.lead.limits, OUTPUTS[driver.function_id])
        words = f"stated by {driver.lead.title}"
        if stated is None:
            stated, words = context.shop.supply.turn_on_default_ma, "the shop's own limit: the leaflet says nothing"
        if best is None or stated < best[0]:
            best = (stated, words)
    assert best is not None
    return best


def _relay(context: Context, circuit: Circuit, why: Figure) -> list[PartCalled]:
    relay, relay_title = stock_item(context, "relay")
    fuse, fuse_title = stock_item(context, "fuse", RELAY_FUSE_A)
    return [
        PartCalled(
            what=relay_title or "Relay 12 V, coil with a clamp diode or resistor",
            item_id=relay,
            quantity=1,
            circuit=circuit.id,
            why=f"{why.working}: the output drives the coil only",
        ),
        PartCalled(
            what=f"{fuse_title or f'Fuse {number(RELAY_FUSE_A)} A'}, with a holder",
            item_id=fuse,
            quantity=1,
            circuit=circuit.id,
            why="the relay's contact has a fused feed of its own",
        ),
    ]
