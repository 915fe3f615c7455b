"""With the key out: what all parts and the vehicle draw, how long the battery lasts, and what the meter should show.

Over the shop's limit is a warning: the customer and the shop decide. A battery that would not last ``HOLD_DAYS`` holds
the job: the vehicle would not start after a long weekend (common practice, no source).
"""

from __future__ import annotations

from typing import Any

from ..calc.answer import PRACTICE, known_by
from ..calc.standby import standby
from ..figure import Figure, Standing, number
from .context import Context, Findings, as_float, missing, powered

HOLD_DAYS = 4.0
METER_SPREAD = 0.2  # of the reading: a clamp meter at small currents, common practice


def standby_for(context: Context, found: Findings) -> dict[str, Any]:
    """Draw with the key out by part, days, and the window of the reading."""
    settings, battery = context.shop.supply, context.vehicle.battery
    parts: dict[str, float] = {}
    unstated: list[str] = []
    for lead in powered(context.leads, context.circuits):
        if "draws" in lead.model_fields_set and "standby_ma" in lead.draws.model_fields_set:
            parts[lead.lead] = lead.draws.standby_ma
        else:
            unstated.append(lead.title)
    for title in unstated:
        found.note(f"What {title} draws with the key out is not stated: the sum leaves it out.")
    added = sum(parts.values())
    words = " + ".join(f"{name} {number(ma)}" for name, ma in parts.items()) or "nothing"
    stated = known_by(standing=Standing.COMMON_PRACTICE)
    row: dict[str, Any] = {
        "parts_ma": {name: stated.figure(ma, "mA", "stated by its leaflet") for name, ma in parts.items()},
        "not_stated": unstated,
        "added_ma": stated.figure(added, "mA", f"{words} mA"),
        "limit_ma": PRACTICE.figure(settings.standby_limit_ma, "mA", "the shop's limit for the whole vehicle"),
        "from_soc": PRACTICE.figure(settings.standby_from_soc, "%", "charge at the start, the shop's setting"),
        "to_soc": PRACTICE.figure(settings.standby_to_soc, "%", "charge at the end, the shop's setting"),
    }
    if battery.standby_ma is None:
        why = "the vehicle's own draw with the key out is not in its file"
        found.note(f"Standby not worked out: {why}.")
        return row | {
            "vehicle_ma": missing("mA", why),
            "total_ma": missing("mA", why),
            "days": missing("days", why),
            "reading_high_ma": missing("mA", why),
        }
    total = added + battery.standby_ma
    row |= {
        "vehicle_ma": stated.figure(battery.standby_ma, "mA", "as measured for the vehicle's file"),
        "total_ma": stated.figure(
            total, "mA", f"{number(added)} mA added + {number(battery.standby_ma)} mA of the vehicle"
        ),
        "days": _days(context, total, found),
        "reading_high_ma": PRACTICE.figure(
            max(settings.standby_limit_ma, total * (1 + METER_SPREAD)),
            "mA",
            f"the larger of the shop's limit and {number(total)} mA + {number(METER_SPREAD * 100)} % for the meter",
        ),
    }
    if total > settings.standby_limit_ma:
        found.problems.append(
            context.warning(
                "standby-over-limit",
                f"with the key out the vehicle would draw {number(total)} mA, more than {number(settings.standby_limit_ma)} mA",
                context.vehicle_place("battery"),
                hint="tell the customer how long it may stand, or choose parts that draw less",
            )
        )
    days = as_float(row["days"])
    if days is not None and days < HOLD_DAYS:
        found.problems.append(
            context.hold(
                "standby-flat",
                f"the battery would last {number(days, 2)} days with the key out",
                context.vehicle_place("battery"),
                hint="a part that switches off, or a supply that goes off with the key",
            )
        )
    return row


def _days(context: Context, total_ma: float, found: Findings) -> Figure:
    battery, settings = context.vehicle.battery, context.shop.supply
    if battery.capacity_ah is None:
        why = "the battery's capacity is not in the vehicle's file"
        found.note(f"Days with the key out not worked out: {why}.")
        return missing("days", why)
    figures, problems = standby(
        draw_ma=total_ma,
        capacity_ah=battery.capacity_ah,
        from_soc=settings.standby_from_soc,
        to_soc=settings.standby_to_soc,
        aged=battery.aged,
        tables=context.tables,
    )
    if problems:
        found.note(f"Days with the key out not worked out: {problems[0].message}.")
        return missing("days", problems[0].message)
    return figures["days"]
