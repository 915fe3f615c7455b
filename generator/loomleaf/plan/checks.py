"""What is measured and watched, worked out from the job's own circuits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from ..figure import number
from ..model.readings import check_name
from ..model.reference import ExpectedReading, Reference
from ..model.vehicle import Vehicle
from .bench_checks import DEAD_V, DROP_LIMIT_V, Branch, bench_checks, is_laid, wired_in
from .bench_checks import listed as _listed
from .changed import changed
from .check_order import in_working_order
from .context import as_float, main_supply
from .proofs import condition_text, wanted_readings
from .supply import Expected
from .types import Check, Circuit, FeatureOutcome, JobTail, Spare, Stage


def checks_for(
    vehicle: Vehicle,
    circuits: tuple[Circuit, ...],
    spares: tuple[Spare, ...],
    features: tuple[FeatureOutcome, ...],
    reference: Reference,
    *,
    expected_volts: Mapping[str, Expected] | None = None,
    standby: Mapping[str, Any] | None = None,
    wheel: Sequence[Mapping[str, Any]] = (),
    levels: Sequence[Mapping[str, Any]] = (),
    drop_limits: Mapping[Branch, float] | None = None,
) -> tuple[Check, ...]:
    """Every check in working order, numbered from 1. Voltages under load come from the supply network when it is given;
    a loudspeaker's window is in its tail's function; the current with the key out, the wheel buttons, the gain
    of amplifiers and what long wires lose at 5 A (``drop_limits``, V by branch) from the engineering."""
    made = [c for c in circuits if c.made]
    found: list[Check] = []
    found += _before_joining(made)
    found += bench_checks(circuits, reference, drop_limits or {})
    found += _before_plugging_in(made)
    found += _wheel(wheel, made)
    plugged = _after_plugging_in(made, expected_volts or {})
    quiet = [check for check in plugged if check.yes_no]  # quietly first, then the gain, then loud
    found += [check for check in quiet if check.stage == "after-plugging-in"]
    found += _mated_checks(circuits)
    found += _gain(levels)
    found += [check for check in plugged if not check.yes_no]
    found += _before_trim(spares)
    found += [check for check in quiet if check.stage == "before-trim"]
    found += _standby(standby or {})
    found += _hand_over(features, wheel)
    found += _parts_work(made, features)
    found += [check for check in quiet if check.stage == "hand-over"]
    return tuple(changed(c, number=i) for i, c in enumerate(in_working_order(found), 1))


def _meter(reading: ExpectedReading) -> str:
    return {"V": "Volts DC", "Vac": "Volts AC", "Ω": "Ohms", "mA": "Milliamps DC"}[reading.quantity]


def _reading_check(
    stage: str, prefix: str, circuit: Circuit, tail: JobTail, reading: ExpectedReading, failure: str
) -> Check:
    probes = reading.between or f"{tail.name} to ground"
    condition = condition_text(reading)
    return Check(
        number=0,
        key=check_name(f"{prefix}-{tail.name}-{reading.condition}-{reading.between}"),
        stage=stage,  # type: ignore[arg-type]
        circuit=circuit.id,
        title=f"{tail.title}, way {tail.way}" if tail.plug_name else tail.title,
        probes=probes if tail.name in probes or reading.between == "" else f"{tail.name}: {probes}",
        meter=_meter(reading),
        condition=condition,
        expected=reading.window,
        unit=reading.quantity,
        low=reading.low,
        high=reading.high,
        open=reading.open,
        on_failure=failure,
        tails=(tail.name,),
    )


def _before_joining(made: list[Circuit]) -> list[Check]:
    """Prove each of the vehicle's tails by meter, supplies under a load."""
    out = []
    for circuit in made:
        for tail in circuit.tails:
            if tail.lead.side != "vehicle":
                continue
            for reading in wanted_readings(tail):
                check = _reading_check(
                    "before-joining",
                    "prove",
                    circuit,
                    tail,
                    reading,
                    "Stop. Join nothing to this way. Report the reading.",
                )
                if is_laid(circuit) and circuit.group == "supply":
                    side = "battery side of its fuse holder, fuse out, and bare metal"
                    check = changed(check, probes=f"{tail.name}: {side}")
                out.append(changed(check, proves=reading))
    return out


def _before_plugging_in(made: list[Circuit]) -> list[Check]:
    """At the far ends of the finished lead, with the vehicle plug connected and no part plugged in yet; one setting of the
    meter after the other."""
    out = []
    for circuit in made:
        source = next((t for t in circuit.tails if t.lead.side == "vehicle"), None)
        if source is None or source.function.group not in ("supply", "ground", "speaker", "control"):
            continue
        ends = [t for t in circuit.tails if t.lead.side != "vehicle"]
        if is_laid(circuit) and circuit.group == "supply":
            out += [_dead(circuit, target) for target in ends]
            continue
        for target in [t for t in ends if not wired_in(t)] or ends:
            for reading in wanted_readings(source):
                failure = "Do not plug this part in. Trace this circuit."
                out.append(_reading_check("before-plugging-in", "plug", circuit, target, reading, failure))
    meters = list(dict.fromkeys(check.meter for check in out))
    return sorted(out, key=lambda check: meters.index(check.meter))


def _dead(circuit: Circuit, target: JobTail) -> Check:
    """A feed from the battery has no volts at its end while its fuse is out; it is read live once the fuse is in."""
    return Check(
        number=0,
        key=check_name(f"plug-{target.name}-fuse-out"),
        stage="before-plugging-in",
        circuit=circuit.id,
        title=f"{target.title}, dead",
        probes=f"{target.name}: this way and bare metal",
        meter="Volts DC",
        condition="asleep, fuse of the battery feed out",
        expected=f"0 to {DEAD_V:g} V",
        unit="V",
        low=0.0,
        high=DEAD_V,
        on_failure="Find what feeds it. Do not fit the fuse.",
        tails=(target.name,),
    )


def _after_plugging_in(made: list[Circuit], volts: Mapping[str, Expected]) -> list[Check]:
    """Under load: the supply and the ground of every part that is fed, at the part. Quietly: what is seen and heard."""
    out = []
    for circuit in made:
        target = next((t for t in circuit.takers if t.lead.side in ("radio", "accessory", "module")), None)
        if circuit.group in ("supply", "ground"):
            out += [_loaded(circuit, t, volts.get(t.name)) for t in _under_load(circuit, target, made)]
        elif circuit.group == "speaker" and circuit.pole in ("plus", ""):
            out.append(_watched(circuit, "sound", f"{_name(circuit)} plays", "listen"))
        elif target is not None and _shows_by_working(circuit):
            out.append(_watched(circuit, "works", circuit.title, "watch and listen"))
    return sorted(out, key=_by_place)


def _by_place(check: Check) -> int:
    """What is heard first; then supplies at plugs, supplies at parts with no plug, grounds: each with one way to probe."""
    if check.key.startswith("sound-"):
        return 0
    if not check.key.startswith("loaded-"):
        return 1
    return next((n for n, end in enumerate(("same plug", "same part"), 2) if check.probes.endswith(end)), 4)


def _under_load(circuit: Circuit, first: JobTail | None, made: list[Circuit]) -> list[JobTail]:
    """The first part on a supply or ground, and every further one that takes its current (or sends it home) here."""
    if first is None:
        return []
    out = [first]
    for tail in circuit.takers:
        if (
            tail is first
            or tail.lead.side not in ("accessory", "module")
            or tail.lead.lead in {t.lead.lead for t in out}
        ):
            continue
        main = main_supply(tail.lead, tuple(made))
        if main is not None and (circuit.group == "ground" or main[1].name == tail.name):
            out.append(tail)
    return out


def _loaded(circuit: Circuit, target: JobTail, window: Expected | None) -> Check:
    part = "" if target.lead.side == "radio" else f" of {target.lead.title.partition(',')[0]}"
    common = Check(
        number=0,
        key=check_name(f"loaded-{target.name}"),
        stage="after-plugging-in",
        circuit=circuit.id,
        title=f"{circuit.title}{part} under load",
        probes=f"{target.name} to bare body metal",
        meter="Volts DC",
        condition="engine running, radio on and loud",
        expected=f"{DROP_LIMIT_V:g} V or less",
        unit="V",
        high=DROP_LIMIT_V,
        on_failure="Switch off. Clean and tighten the ground.",
        tails=(target.name,),
    )
    if circuit.group == "ground":
        return common
    low = math.floor(window.low * 10) / 10 if window is not None else 11.5
    high = window.high if window is not None else 15.0
    usual = f"about {number(as_float(window.figure) or 0, 3)} V, " if window is not None else ""
    return changed(
        common,
        probes=f"{target.name} to the ground of the same {'plug' if target.plug_name else 'part'}",
        expected=f"{usual}{low:.1f} to {high:.1f} V",
        low=round(low, 1),
        high=high,
        on_failure="Switch off. Measure each segment of the feed.",
        figure=window.figure if window is not None else None,
    )


def _shows_by_working(circuit: Circuit) -> bool:
    """Control, video and line circuits whose work can be seen or heard; their returns cannot."""
    if circuit.group not in ("control", "video", "line") or circuit.pole not in ("plus", "", "high"):
        return False
    return circuit.function is not None and circuit.function.shows != ""


WHEN_SHOWN: Mapping[str, tuple[Stage, str]] = {
    "plugged-in": ("after-plugging-in", "radio on"),
    "taught": ("before-trim", "radio on, buttons taught"),
    "driven": ("hand-over", "on a short drive, one drives and another watches"),
}
"""Stage and condition of what is watched, by when it can be seen: a button after it was taught; what wants a drive with the
trim back, the fault codes read and no lamp lit."""


def _watched(circuit: Circuit, kind: str, title: str, probes: str) -> Check:
    """What is seen or heard when a circuit works, in the words of the reference."""
    heard = kind == "sound"
    shows = circuit.function.shows if circuit.function is not None else ""
    stage, condition = WHEN_SHOWN[circuit.function.shown if circuit.function is not None else "plugged-in"]
    return Check(
        number=0,
        key=check_name(f"{kind}-{circuit.id}"),
        stage=stage,
        circuit=circuit.id,
        title=title,
        probes=probes,
        meter=_aim(circuit) if heard else "none",
        condition=f"{condition}, quiet" if heard else condition,
        expected=shows or ("sound here only" if heard else "works as the part's leaflet says"),
        yes_no=True,
        on_failure="Switch off. Compare both poles with the sheet." if heard else "Measure both ends of this circuit.",
        tails=tuple(t.name for t in circuit.tails),
    )


def _name(circuit: Circuit) -> str:
    return circuit.function.title if circuit.function else circuit.title


def _aim(circuit: Circuit) -> str:
    """How this loudspeaker is heard alone."""
    corner = any(word in circuit.function_id for word in ("front", "rear"))
    return "Balance and fader to this corner" if corner else "Turn the others down"


def _mated_checks(circuits: tuple[Circuit, ...]) -> list[Check]:
    """Every ready end is home and does its work."""
    return [
        Check(
            number=0,
            key=check_name(f"mated-{circuit.id}"),
            stage="after-plugging-in",
            circuit=circuit.id,
            title=circuit.title,
            probes=" into ".join(end.name for end in circuit.ends),
            meter="none",
            condition="radio on",
            expected="pushed home, holds a light tug, and works",
            yes_no=True,
            on_failure="Pull it out, look at both halves, push it home.",
        )
        for circuit in circuits
        if circuit.outcome == "mated"
    ]


def _wheel(tables: Sequence[Mapping[str, Any]], made: list[Circuit]) -> list[Check]:
    """Each button's resistance at the radio's plug, from the vehicle's own measurement. A part that stays wired in would
    be read as well: then the lead comes off the vehicle's plug, and that plug is measured."""
    driver = {t.name: c.drivers[0] for c in made for t in c.takers if c.drivers}
    fixed = {t.name for c in made for t in c.takers if wired_in(t)}
    out = []
    for table in tables:
        ends: tuple[str, ...] = (table["tail"], table["against"])
        at_rest = "radio not plugged in"
        if table["tail"] in fixed:
            ends = tuple(driver[name].name if name in driver else name for name in ends)
            at_rest = "the lead pulled off the vehicle's plug"
        for row in table["buttons"]:
            low, high = as_float(row["meter_low_ohm"]), as_float(row["meter_high_ohm"])
            if low is None or high is None:
                continue
            name = str(row["button"]).replace("-", " ")
            out.append(
                Check(
                    number=0,
                    key=check_name(f"wheel-{table['wire']}-{row['button']}"),
                    stage="before-plugging-in",
                    circuit=table["circuit"],
                    title=f"Wheel button: {name}",
                    probes=" to ".join(ends),
                    meter="Ohms",
                    condition=f"key out, {at_rest}, button {name} held",
                    expected=f"{number(low, 3)} to {number(high, 3)} Ω",
                    unit="Ω",
                    low=low,
                    high=high,
                    on_failure="Measure again with the wheel at both locks. Do not teach this button yet.",
                    tails=(table["tail"],),
                    figure=row["ohm"],
                )
            )
    return out


def _gain(levels: Sequence[Mapping[str, Any]]) -> list[Check]:
    """The volts by which an added amplifier's gain is set."""
    out = []
    for row in levels:
        volts = as_float(row["gain_setting_v"])
        if volts is None:
            continue
        out.append(
            Check(
                number=0,
                key=check_name(f"gain-{row['part']}"),
                stage="after-plugging-in",
                circuit="",
                title=f"Gain of {row['title']}",
                probes="plus to minus of one output, loudspeakers unplugged",
                meter="Volts AC",
                condition=f"{_tone(row)} test tone, radio as loud as it will be used, tone controls flat",
                expected=f"{number(volts, 3)} V or less",
                unit="Vac",
                high=round(volts, 2),
                on_failure="Turn the gain down.",
                figure=row["gain_setting_v"],
            )
        )
    return out


def _tone(row: Mapping[str, Any]) -> str:
    """ "1 kHz" or "50 Hz"."""
    hertz = as_float(row["tone_hz"]) or 0.0
    return f"{number(hertz / 1000)} kHz" if hertz >= 1000 else f"{number(hertz)} Hz"


def _standby(standby: Mapping[str, Any]) -> list[Check]:
    """The current with the key out, once everything has gone to sleep."""
    total, high = as_float(standby.get("total_ma")), as_float(standby.get("reading_high_ma"))
    if total is None or high is None:
        return []
    return [
        Check(
            number=0,
            key="standby-current",
            stage="before-trim",
            circuit="",
            title="Current with the key out",
            probes="clamp meter around the battery's negative lead",
            meter="Milliamps DC, zeroed",
            condition="asleep: key out, doors shut, every module at rest",
            expected=f"about {number(total, 3)} mA, {number(high, 3)} mA or less",
            unit="mA",
            high=round(high, 1),
            alone=as_float(standby["vehicle_ma"]),
            on_failure="Unplug the new parts one by one until it falls.",
            figure=standby["total_ma"],
        )
    ]


def _before_trim(spares: tuple[Spare, ...]) -> list[Check]:
    live = [s.id for s in spares if s.live]
    capped = "every spare is capped singly and tied" + (
        f" ({_listed(live)} {'is' if len(live) == 1 else 'are'} live)" if live else ""
    )
    rows = (
        ("loom-free", "The loom lies free", "no wire trapped, pulled tight or over a sharp edge"),
        ("spares-capped", "Spares", capped),
        ("no-rattle", "Nothing rattles", "press and shake: no part touches another"),
        ("fixings-clear", "Fixings", "no screw near the column or an airbag"),
    )
    return [
        Check(
            number=0,
            key=f"trim-{key}",
            stage="before-trim",
            circuit="",
            title=title,
            probes="look and feel",
            meter="none",
            condition="trim still off",
            expected=expected,
            yes_no=True,
            on_failure="Put it right before the trim goes back.",
        )
        for key, title, expected in rows
    ]


def _hand_over(features: tuple[FeatureOutcome, ...], wheel: Sequence[Mapping[str, Any]] = ()) -> list[Check]:
    """Each feature that stays, and every safety feature, shown to work; the airbag lamp always."""
    out = [
        Check(
            number=0,
            key="hand-over-airbag-lamp",
            stage="hand-over",
            circuit="",
            title="Airbag lamp",
            probes="watch",
            meter="none",
            condition="key on",
            expected="the lamp lights, then goes out and stays out",
            yes_no=True,
            on_failure="Stop. A trained person follows the vehicle maker's service information.",
            feature="airbag-lamp" if any(f.feature_id == "airbag-lamp" for f in features) else "",
        )
    ]
    for feature in features:
        if (feature.outcome == "loses" and not feature.safety) or feature.feature_id == "airbag-lamp":
            continue
        out.append(
            Check(
                number=0,
                key=f"hand-over-{feature.feature_id}",
                stage="hand-over",
                circuit=feature.circuits[0] if feature.circuits else "",
                title=feature.title,
                probes="try it with the customer",
                meter="none",
                condition="as the driver uses it",
                expected=" ".join(
                    (feature.hand_over or f"{feature.title} works as before", *_held_long(feature, wheel))
                ),
                yes_no=True,
                on_failure="Do not hand over. Go to the circuit's checks.",
                feature=feature.feature_id,
            )
        )
    return out


def _held_long(feature: FeatureOutcome, wheel: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Which wheel buttons are held long as well: those that the vehicle's file names and the table teaches so."""
    own = [table for table in wheel if table["circuit"] in feature.circuits]
    names = [str(row["button"]).replace("-", " ") for table in own for row in table["buttons"] if row["long_press"]]
    if not own:
        return ()
    return (f"Hold long as well: {_listed(names)}." if names else "No button has a long press.",)


def _parts_work(made: list[Circuit], features: tuple[FeatureOutcome, ...]) -> list[Check]:
    """Every fitted part that is fed and that no feature of the vehicle shows at work: tried by its own name."""
    shown = {feature.by for feature in features if feature.outcome != "loses"}
    fed: dict[str, tuple[JobTail, Circuit]] = {}
    for circuit in made:
        if circuit.group == "supply":
            for tail in circuit.takers:
                if tail.lead.side in ("accessory", "module") and tail.lead.lead not in shown:
                    fed.setdefault(tail.lead.lead, (tail, circuit))
    out = []
    for name, (tail, circuit) in sorted(fed.items()):
        out.append(
            Check(
                number=0,
                key=check_name(f"hand-over-part-{name}"),
                stage="hand-over",
                circuit=circuit.id,
                title=tail.lead.title,
                probes="try it with the customer",
                meter="none",
                condition="as the driver uses it",
                expected="works: does what it is for",
                yes_no=True,
                on_failure="Do not hand over. Go to the circuit's checks.",
            )
        )
    return out
