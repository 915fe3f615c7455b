"""Wheel buttons on resistors: what the meter reads for each, what the radio sees, and whether it can tell them apart.

Measured at the radio plug only, never at the wheel, where the airbag is.
"""

from __future__ import annotations

from typing import Any

from ..calc.answer import OHM
from ..calc.ladder import ladder
from ..figure import Figure, number
from ..model.lead import WheelInput
from ..model.vehicle import WheelButtons
from .context import Context, Findings, missing
from .types import Circuit

TOLERANCE_PERCENT = 5.0
CONTACT_OHM = 20.0
"""What is assumed of a part that says nothing of its input: resistors of 5 %, up to 20 Ω in the slip contact."""

NOTES = (
    "With the radio plugged in and on: teach the buttons in the order of this table. Hold each until the part confirms it.",
    "Then test every button again with the lights on and with the wheel at both locks.",
    "The resistance was read before plugging in, at the radio plug. Never at the wheel.",
)
"""Teaching, which needs the radio on, apart from measuring, which needs it unplugged and was done before."""


def wheel_for(context: Context, found: Findings) -> list[dict[str, Any]]:
    """One table for each wire of buttons that is joined in this job."""
    tables = []
    for index, wire in enumerate(context.vehicle.wheel_buttons):
        circuit = next((c for c in context.made if c.function_id == wire.wire), None)
        if circuit is None:
            found.note(
                f"The wheel buttons in the vehicle's file hang on the {wire.wire.replace('-', ' ')}, which is not joined in"
                " this job."
            )
            continue
        if not wire.buttons:
            found.note(f"{circuit.id} {circuit.title}: no button has been measured, so nothing can be compared.")
            continue
        tables.append(_table(context, wire, index, circuit, found))
    return tables


def _table(context: Context, wire: WheelButtons, index: int, circuit: Circuit, found: Findings) -> dict[str, Any]:
    taker = circuit.takers[0]
    own = taker.lead.wheel_input
    reads = own or WheelInput(
        pull_up_ohm=1000, supply_v=5, tolerance_percent=TOLERANCE_PERCENT, contact_ohm=CONTACT_OHM
    )
    figures, problems = ladder(
        buttons=wire.buttons,
        pull_up_ohm=reads.pull_up_ohm,
        supply_v=reads.supply_v,
        tolerance_percent=reads.tolerance_percent,
        pull_up_tolerance_percent=reads.pull_up_tolerance_percent if own else 0,
        contact_ohm=reads.contact_ohm,
    )
    reference = next((c for c in context.made if c.function_id == wire.reference), None)
    where = context.vehicle_place("wheel_buttons", index, "buttons")
    for problem in problems:
        clash = problem.code == "ladder-clash"
        found.problems.append(
            context.hold(
                "buttons-overlap" if clash else "buttons-unclear",
                f"{circuit.id} {circuit.title}: {_words(problem.message, own is not None)}",
                where,
                hint=problem.hint,
            )
        )
    nothing = missing("V", f"{taker.lead.title} does not state its input; only resistance is compared")

    def volts(name: str) -> Figure:
        return figures.get(name, nothing) if own is not None else nothing

    order = sorted(wire.buttons, key=lambda name: (wire.buttons[name], name))
    return {
        "circuit": circuit.id,
        "wire": wire.wire,
        "tail": taker.name,
        "against": reference.takers[0].name if reference else wire.reference,
        "read_by": taker.lead.lead,
        "source": wire.source,
        "idle_v": OHM.figure(reads.supply_v, "V", f"{number(reads.supply_v)} V through the pull-up, nothing pressed")
        if own is not None
        else nothing,
        "smallest_gap_v": volts("smallest_gap_v"),
        "buttons": [
            {
                "button": name,
                "long_press": name in wire.long_press,
                "ohm": Figure(value=wire.buttons[name], unit="Ω", working=wire.source or "in the vehicle's file"),
                "meter_low_ohm": figures.get(f"button.{name}.meter_low_ohm", missing("Ω", "see the problems")),
                "meter_high_ohm": figures.get(f"button.{name}.meter_high_ohm", missing("Ω", "see the problems")),
                "volts": volts(f"button.{name}.volts"),
                "low_v": volts(f"button.{name}.low"),
                "high_v": volts(f"button.{name}.high"),
            }
            for name in order
        ],
        "notes": list(NOTES),
    }


def _words(message: str, known: bool) -> str:
    if known:
        return message
    return message.partition(":")[0] + " by their resistance"
