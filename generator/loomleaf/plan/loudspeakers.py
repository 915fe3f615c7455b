"""Loudspeakers: net load a channel against what its driver may feed, resistance at the plug, power, levels and gain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..calc.answer import OHM, PRACTICE
from ..calc.level import level
from ..calc.speakers import speakers
from ..figure import Figure, number
from ..model.lead import Lead
from ..model.reference import WireFunction
from .changed import changed
from .context import Context, Findings, as_float, missing
from .types import Circuit, JobTail

SPEAKER = "speaker-"
SPEAKER_LEVEL = "speaker-level-"
WIRING_OHM = 0.5
"""Added to the upper end of the window: the vehicle's wire there and back and the meter's leads (common practice)."""
TONE_HZ = 1000.0  # common practice, no source
LOW_TONE_HZ = 50.0  # for a subwoofer's output, which passes nothing much above 80 to 120 Hz; common practice, no source


@dataclass(frozen=True, kw_only=True)
class Loudspeakers:
    """Rows by channel, levels between parts, and the window at the plug by wire function."""

    rows: list[dict[str, Any]]
    levels: list[dict[str, Any]]
    windows: dict[str, tuple[float, float]]


def loudspeakers_for(context: Context, found: Findings) -> Loudspeakers:
    """Every channel that drives a loudspeaker in this job."""
    rows: list[dict[str, Any]] = []
    windows: dict[str, tuple[float, float]] = {}
    for circuit in context.made:
        if circuit.group != "speaker" or circuit.pole not in ("plus", ""):
            continue
        for tail in circuit.takers:
            if tail.function_id.startswith(SPEAKER) and not tail.function_id.startswith(SPEAKER_LEVEL):
                row = _row(context, circuit, tail, found)
                rows.append(row)
                low, high = as_float(row["dc_low_ohm"]), as_float(row["dc_high_ohm"])
                if low is not None and high is not None and not row["crossover"]:
                    windows[tail.function_id] = (low, high)
    return Loudspeakers(rows=rows, levels=_levels(context, found), windows=windows)


def with_windows(tails: tuple[JobTail, ...], windows: Mapping[str, tuple[float, float]]) -> tuple[JobTail, ...]:
    """The vehicle's loudspeaker tails with the window of the loudspeaker that is really there in place of their
    function's wide one: one window for the sheet, for what is read back and for the proofs of the job file.

    Windows are rounded to three figures, so that what is printed is what is judged.
    """
    known: dict[str, WireFunction] = {}
    out = []
    for tail in tails:
        window = windows.get(tail.function_id) if tail.lead.side == "vehicle" else None
        if window is None:
            out.append(tail)
            continue
        if tail.function_id not in known:
            known[tail.function_id] = _narrowed(tail.function, *window)
        out.append(changed(tail, function=known[tail.function_id]))
    return tuple(out)


def circuits_with_windows(
    circuits: tuple[Circuit, ...], windows: Mapping[str, tuple[float, float]]
) -> tuple[Circuit, ...]:
    """The same for the tails of circuits."""
    return tuple(
        changed(one, drivers=with_windows(one.drivers, windows), takers=with_windows(one.takers, windows))
        if one.made and one.group == "speaker"
        else one
        for one in circuits
    )


def _narrowed(function: WireFunction, low: float, high: float) -> WireFunction:
    update = {"low": float(f"{low:.3g}"), "high": float(f"{high:.3g}")}
    readings = tuple(
        r.model_copy(update=update) if r.quantity == "Ω" and not r.open and r.high is not None else r
        for r in function.readings
    )
    return function.model_copy(update={"readings": readings})


def _row(context: Context, circuit: Circuit, tail: JobTail, found: Findings) -> dict[str, Any]:
    place = tail.function_id.removeprefix(SPEAKER)
    driver = circuit.drivers[0]
    limits = driver.lead.limits
    load, crossover, against = _load(context, tail, place)
    row: dict[str, Any] = {
        "at": place,
        "circuit": circuit.id,
        "driver": driver.lead.lead,
        "load": load or "",
        "crossover": crossover,
        "minimum_ohm": Figure(
            value=limits.speaker_minimum_ohm, unit="Ω", working=f"least load, stated by {driver.lead.title}"
        )
        if limits.speaker_minimum_ohm is not None
        else missing("Ω", f"{driver.lead.title} does not state its least load"),
    }
    names = ("impedance_ohm", "lowest_ohm", "dc_low_ohm", "dc_high_ohm", "power_w")
    if load is None:
        found.note(f"{circuit.id} {circuit.title}: load not worked out, {against}.")
        return row | {name: missing("W" if name == "power_w" else "Ω", against) for name in names}
    if len(circuit.takers) > 1:
        load = _parallel(context, circuit) or load
        row["load"] = load
    power = limits.power_w if limits.power_w is not None else limits.speaker_power_w
    figures, problems = speakers(
        load=load,
        minimum_ohm=limits.speaker_minimum_ohm,
        power_w=power if limits.power_ohm is not None else None,
        rated_ohm=limits.power_ohm if power is not None else None,
        tables=context.tables,
    )
    for problem in problems:
        low = problem.code == "below-minimum-impedance"
        found.problems.append(
            context.hold(
                "speaker-load-low" if low else "speaker-load-unclear",
                f"{circuit.id} {circuit.title}: {problem.message}",
                context.vehicle_place("speakers") if tail.lead.side == "vehicle" else context.tail_place(tail),
                hint=problem.hint,
            )
        )
    if limits.speaker_minimum_ohm is None:
        found.note(
            f"{circuit.id} {circuit.title}: {driver.lead.title} does not state its least load, so it is not checked."
        )
    row |= {name: figures.get(name, missing("Ω", "see the problems")) for name in names[:4]}
    row["power_w"] = figures.get("power_w", missing("W", f"{driver.lead.title} does not state its power"))
    high = as_float(row["dc_high_ohm"])
    if high is not None:
        base = row["dc_high_ohm"]
        row["dc_high_ohm"] = (OHM + PRACTICE).figure(
            high + WIRING_OHM, "Ω", f"{base.working}; + {number(WIRING_OHM)} Ω of wiring and meter leads"
        )
    return row


def _load(context: Context, tail: JobTail, place: str) -> tuple[str | None, bool, str]:
    """The load behind a tail, whether a crossover lies before it, and what is missing."""
    if tail.lead.side != "vehicle":
        if tail.lead.load:
            return tail.lead.load, False, ""
        return None, False, f"the impedance of {tail.lead.title} is not stated (load: in its file)"
    own = next((s for s in context.vehicle.speakers if s.at == place), None)
    if own is None:
        return None, False, f"the loudspeaker at {place.replace('-', ' ')} is not in the vehicle's file"
    return own.load, own.crossover, ""


def _parallel(context: Context, circuit: Circuit) -> str:
    """Several loudspeakers on one output stand in parallel."""
    loads = []
    for tail in circuit.takers:
        load, _, _ = _load(context, tail, tail.function_id.removeprefix(SPEAKER))
        if load is not None:
            loads.append(f"({load})")
    return " || ".join(loads)


# --- levels ------------------------------------------------------------------------------------------------------


def _levels(context: Context, found: Findings) -> list[dict[str, Any]]:
    """One row for each part with an amplifier: what comes in, what it may be, and the volts to set its gain by."""
    rows = []
    for lead in sorted(context.leads, key=lambda one: one.lead):
        if lead.side not in ("accessory", "module") or lead.limits.power_w is None or lead.limits.power_ohm is None:
            continue
        rows.append(_amplifier(context, lead, found))
    return rows


def _amplifier(context: Context, lead: Lead, found: Findings) -> dict[str, Any]:
    limits = lead.limits
    assert limits.power_w is not None and limits.power_ohm is not None
    source, by, volts = _incoming(context, lead)
    figures, problems = level(impedance_ohm=limits.power_ohm, power_w=limits.power_w)
    row: dict[str, Any] = {
        "part": lead.lead,
        "title": lead.title,
        "from": source.lead if source else "",
        "by": by,
        "in_v": Figure(value=volts, unit="V", working=f"full output, stated by {source.title}")
        if source is not None and volts is not None
        else missing("V", "what comes in is not stated"),
        "sensitivity_low_v": _stated(limits.sensitivity_low_v, "V", lead),
        "sensitivity_high_v": _stated(limits.sensitivity_high_v, "V", lead),
        "tone_hz": _tone(lead),
        "gain_setting_v": figures["volts_rms"] if figures else missing("V", problems[0].message),
        "gain_db": missing("dB", "what comes in is not stated"),
    }
    if volts is None or source is None:
        found.note(f"Level into {lead.title} not worked out: what the radio gives there is not stated.")
        return row
    gained, wrong = level(impedance_ohm=limits.power_ohm, power_w=limits.power_w, line_v=volts)
    row["gain_db"] = gained["gain_db"] if gained else missing("dB", wrong[0].message)
    where = context.lead_place(lead.lead)
    if limits.sensitivity_high_v is not None and volts > limits.sensitivity_high_v:
        found.problems.append(
            context.warning(
                "level-too-high",
                f"{source.title} gives {number(volts)} V; {lead.title} takes no more than {number(limits.sensitivity_high_v)} V",
                where,
                hint="use its other inputs, or a part that brings the level down",
            )
        )
    if limits.sensitivity_low_v is not None and volts < limits.sensitivity_low_v:
        found.problems.append(
            context.warning(
                "level-too-low",
                f"{source.title} gives {number(volts)} V; {lead.title} wants at least {number(limits.sensitivity_low_v)} V",
                where,
                hint="full power is not reached: use its other inputs, or a part that brings the level up",
            )
        )
    if by == "speaker level" and source.limits.line_out_v:
        row["speaker_to_line_db"] = level(impedance_ohm=limits.power_ohm, volts=volts, line_v=source.limits.line_out_v)[
            0
        ]["gain_db"]
    return row


def _tone(lead: Lead) -> Figure:
    """The test tone by which a gain is set: inside what the output passes on, or next to nothing would come out."""
    outputs = [
        t.function for t in lead.tails if t.function.startswith(SPEAKER) and not t.function.startswith(SPEAKER_LEVEL)
    ]
    if outputs and all(name == f"{SPEAKER}subwoofer" for name in outputs):
        return PRACTICE.figure(LOW_TONE_HZ, "Hz", "inside what a low-passed output gives")
    return PRACTICE.figure(TONE_HZ, "Hz", "in the middle of what the output gives")


def _stated(value: float | None, unit: str, lead: Lead) -> Figure:
    if value is None:
        return missing(unit, f"{lead.title} does not state it")
    return Figure(value=value, unit=unit, working=f"stated by {lead.title}")


def _incoming(context: Context, lead: Lead) -> tuple[Lead | None, str, float | None]:
    """The part that drives an amplifier's inputs, how, and its full output in V."""
    for circuit in context.made:
        if any(t.lead.lead == lead.lead and t.function_id.startswith(SPEAKER_LEVEL) for t in circuit.takers):
            source = circuit.drivers[0].lead
            return source, "speaker level", source.limits.speaker_level_v
        if circuit.group == "line" and any(t.lead.lead == lead.lead for t in circuit.takers):
            source = circuit.drivers[0].lead
            return source, "line level", source.limits.line_out_v
    for circuit in context.circuits:
        if circuit.outcome != "mated" or not circuit.function_id.startswith("line-"):
            continue
        leads = [e.lead for e in circuit.ends]
        if lead in leads:
            source = next(one for one in leads if one.lead != lead.lead)
            return source, "line level", source.limits.line_out_v
    return None, "", None
