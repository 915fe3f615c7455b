"""What is measured and watched, worked out from the job's own circuits."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ..figure import number
from ..model.reference import ConnectorType, ExpectedReading, Reference
from ..model.vehicle import Vehicle
from .context import as_float
from .proofs import CONDITION_WORDS, expected_text
from .supply import Expected
from .types import STAGES, Check, Circuit, FeatureOutcome, JobTail, Spare, Stage

CONTINUITY_OHM = 0.3  # leads nulled; common practice, no source
DROP_LIMIT_V = 0.1  # over one joined supply or ground at 5 A; common practice, no source
ISOLATION_OHM = 1_000_000  # between neighbours on a finished lead; common practice, no source


def checks_for(
    vehicle: Vehicle,
    circuits: tuple[Circuit, ...],
    spares: tuple[Spare, ...],
    features: tuple[FeatureOutcome, ...],
    reference: Reference,
    *,
    expected_volts: Mapping[str, Expected] | None = None,
    speaker_ohms: Mapping[str, tuple[float, float]] | None = None,
    standby: Mapping[str, Any] | None = None,
    wheel: Sequence[Mapping[str, Any]] = (),
    levels: Sequence[Mapping[str, Any]] = (),
) -> tuple[Check, ...]:
    """Every check in working order, numbered from 1. Voltages under load come from the supply network when it is given;
    loudspeaker windows (Ω by function) from the vehicle's loads; the current with the key out, the wheel buttons and the
    gain of amplifiers from the engineering."""
    made = [c for c in circuits if c.made]
    found: list[Check] = []
    found += _before_joining(made, speaker_ohms or {})
    found += _on_the_bench(made, circuits, reference)
    found += _before_plugging_in(made, speaker_ohms or {})
    found += _wheel(wheel)
    found += _after_plugging_in(made, expected_volts or {})
    found += _gain(levels)
    found += _mated_checks(circuits)
    found += _before_trim(spares)
    found += _standby(standby or {})
    found += _hand_over(features)
    ordered = sorted(found, key=lambda c: STAGES.index(c.stage))
    return tuple(replace(c, number=i) for i, c in enumerate(ordered, 1))


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def _meter(reading: ExpectedReading) -> str:
    return {"V": "Volts DC", "Vac": "Volts AC", "Ω": "Ohms", "mA": "Milliamps DC"}[reading.quantity]


def _reading_check(
    stage: str, prefix: str, circuit: Circuit, tail: JobTail, reading: ExpectedReading, failure: str
) -> Check:
    probes = reading.between or f"{tail.name} to ground"
    condition = CONDITION_WORDS[reading.condition]
    if reading.load:
        condition += f", {reading.load}"
    return Check(
        number=0,
        key=_slug(f"{prefix}-{tail.name}-{reading.condition}-{reading.between}"),
        stage=stage,  # type: ignore[arg-type]
        circuit=circuit.id,
        title=f"{tail.title}, way {tail.way}" if tail.plug_name else tail.title,
        probes=probes if tail.name in probes or reading.between == "" else f"{tail.name}: {probes}",
        meter=_meter(reading),
        condition=condition,
        expected=expected_text(reading),
        unit=reading.quantity,
        low=reading.low,
        high=reading.high,
        open=reading.open,
        on_failure=failure,
        tails=(tail.name,),
    )


def _with_speaker_window(check: Check, tail: JobTail, ohms: Mapping[str, tuple[float, float]]) -> Check:
    window = ohms.get(tail.function_id)
    if window is None or check.unit != "Ω" or check.open:
        return check
    low, high = window
    return replace(check, low=low, high=high, expected=f"{low:.3g} to {high:.3g} Ω")


def _before_joining(made: list[Circuit], ohms: Mapping[str, tuple[float, float]]) -> list[Check]:
    """Prove each of the vehicle's tails by meter, supplies under a load."""
    out = []
    for circuit in made:
        for tail in circuit.tails:
            if tail.lead.side != "vehicle":
                continue
            for reading in tail.function.readings:
                if not reading.needed or reading.pole not in (None, tail.tail.pole):
                    continue
                check = _reading_check(
                    "before-joining",
                    "prove",
                    circuit,
                    tail,
                    reading,
                    "Stop. Join nothing to this way. Report the reading.",
                )
                out.append(replace(_with_speaker_window(check, tail, ohms), proves=reading))
    return out


def _on_the_bench(made: list[Circuit], circuits: tuple[Circuit, ...], reference: Reference) -> list[Check]:
    """Kind by kind, so that the meter is set once for each: joined, one way only, carries current, apart."""
    out = []
    for circuit in made:
        ways = " to ".join(t.name for t in circuit.tails)
        laid = circuit.feed == "battery" and circuit.group in ("supply", "ground")
        stage: Stage = "before-plugging-in" if laid else "on-the-bench"
        at_rest = (
            "cable laid in the vehicle, fuse out, battery lead off" if laid else "lead on the bench, not plugged in"
        )
        if circuit.combine in ("diode", "relay"):
            out.append(
                Check(
                    number=0,
                    key=_slug(f"combine-{circuit.id}"),
                    stage="on-the-bench",
                    circuit=circuit.id,
                    title=f"{circuit.title}: each driver passes, neither feeds back",
                    probes=ways,
                    meter="Diode test",
                    condition="lead on the bench, not plugged in",
                    expected="0.4 to 0.8 V one way, OL the other"
                    if circuit.combine == "diode"
                    else "OL with the relay at rest",
                    unit="V",
                    low=0.4 if circuit.combine == "diode" else None,
                    high=0.8 if circuit.combine == "diode" else None,
                    open=circuit.combine == "relay",
                    on_failure="Make the joint again.",
                    tails=tuple(t.name for t in circuit.tails),
                )
            )
            continue
        out.append(
            Check(
                number=0,
                key=_slug(f"continuity-{circuit.id}"),
                stage=stage,
                circuit=circuit.id,
                title=f"{circuit.title} is joined",
                probes=ways,
                meter="Ohms, leads nulled",
                condition=at_rest,
                expected=f"{CONTINUITY_OHM:g} Ω or less",
                unit="Ω",
                high=CONTINUITY_OHM,
                on_failure="Make the joint again.",
                tails=tuple(t.name for t in circuit.tails),
            )
        )
        if circuit.group in ("supply", "ground"):
            out.append(
                Check(
                    number=0,
                    key=_slug(f"drop-{circuit.id}"),
                    stage=stage,
                    circuit=circuit.id,
                    title=f"{circuit.title} carries current",
                    probes=ways,
                    meter="Volts DC",
                    condition=f"5 A from a bench supply, {at_rest}"
                    if laid
                    else "5 A through the joint from a bench supply",
                    expected=f"{DROP_LIMIT_V:g} V or less",
                    unit="V",
                    high=DROP_LIMIT_V,
                    on_failure="Make the joint again.",
                    tails=tuple(t.name for t in circuit.tails),
                )
            )
    for anchor, others in isolation_rounds(neighbours(circuits, reference)):
        ids = sorted({c.id for c, _ in others}, key=_by_number)
        out.append(
            Check(
                number=0,
                key=_slug(f"apart-{anchor[0].id}-{anchor[1]}"),
                stage="on-the-bench",
                circuit=anchor[0].id,
                title=f"{anchor[0].id} is apart from {_listed(ids)}",
                probes=f"{anchor[1]} to {_listed([name for _, name in others])}",
                meter="Ohms, highest range",
                condition="lead on the bench, not plugged in",
                expected="1 MΩ or more, or OL, at each",
                unit="Ω",
                low=ISOLATION_OHM,
                on_failure="Find the bridge. Do not plug in.",
                tails=(anchor[1], *(name for _, name in others)),
            )
        )
    kinds = ("continuity", "combine", "drop", "apart")
    return sorted(out, key=lambda check: kinds.index(check.key.partition("-")[0]))


def neighbours(
    circuits: tuple[Circuit, ...], reference: Reference
) -> tuple[tuple[Circuit, Circuit, tuple[str, str]], ...]:
    """Pairs of different made circuits whose ways stand side by side in a plug, once a pair of circuits; and each supply
    against each ground."""
    owner: dict[str, Circuit] = {t.name: c for c in circuits if c.made for t in c.tails}
    tails = {t.name: t for c in circuits if c.made for t in c.tails}
    seen: set[frozenset[str]] = set()
    out: list[tuple[Circuit, Circuit, tuple[str, str]]] = []

    def add(a: str, b: str) -> None:
        if a not in owner or b not in owner:
            return
        first, second = owner[a], owner[b]
        pair = frozenset((first.id, second.id))
        if first.id != second.id and pair not in seen:
            seen.add(pair)
            out.append((first, second, (a, b)))

    supplies = [c for c in circuits if c.made and c.group == "supply"]
    grounds = [c for c in circuits if c.made and c.group == "ground"]
    for supply in supplies:
        for ground in grounds:
            add(supply.tails[-1].name, ground.tails[-1].name)
    for plug_key in sorted({(t.lead.lead, t.plug_name) for t in tails.values() if t.plug_name}):
        lead_id, plug_name = plug_key
        lead = next(t.lead for t in tails.values() if t.lead.lead == lead_id)
        plug = next((p for p in lead.plugs if p.name == plug_name), None)
        kind = reference.connectors.get(plug.type) if plug else None
        for a, b in _adjacent(kind, plug.ways if plug else 0):
            add(f"{lead_id}/{plug_name}.{a}", f"{lead_id}/{plug_name}.{b}")
    return tuple(out)


Place = tuple[Circuit, str]


def isolation_rounds(
    pairs: tuple[tuple[Circuit, Circuit, tuple[str, str]], ...],
) -> tuple[tuple[Place, tuple[Place, ...]], ...]:
    """Every pair once, gathered into rounds: one probe stays on a way, the other touches each of its neighbours.

    Greedy cover: the circuit with most pairs left becomes the next anchor (the first in circuit order among equals), so
    that there are fewer rounds than pairs and none is left out.
    """
    left = list(pairs)
    rounds = []
    while left:
        counts: dict[str, int] = {}
        for first, second, _ in left:
            counts[first.id] = counts.get(first.id, 0) + 1
            counts[second.id] = counts.get(second.id, 0) + 1
        best = min(counts, key=lambda name: (-counts[name], _by_number(name)))
        own = [p for p in left if best in (p[0].id, p[1].id)]
        left = [p for p in left if p not in own]
        anchor: Place | None = None
        others: list[Place] = []
        for first, second, (a, b) in own:
            mine, other = ((first, a), (second, b)) if first.id == best else ((second, b), (first, a))
            anchor = anchor or mine
            others.append(other)
        assert anchor is not None
        rounds.append((anchor, tuple(others)))
    return tuple(rounds)


def _by_number(circuit_id: str) -> tuple[str, int]:
    return (circuit_id[:1], int(circuit_id[1:] or 0))


def _listed(words: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def _adjacent(kind: ConnectorType | None, ways: int) -> list[tuple[str, str]]:
    """Ways side by side or one above the other; by number when the face is not known."""
    if kind is None or not kind.rows:
        return [(str(i), str(i + 1)) for i in range(1, ways)]
    pairs = []
    for r, row in enumerate(kind.rows):
        for c, way in enumerate(row):
            if way and c + 1 < len(row) and row[c + 1]:
                pairs.append((way, row[c + 1]))
            if way and r + 1 < len(kind.rows) and c < len(kind.rows[r + 1]) and kind.rows[r + 1][c]:
                pairs.append((way, kind.rows[r + 1][c]))
    return pairs


def _before_plugging_in(made: list[Circuit], ohms: Mapping[str, tuple[float, float]]) -> list[Check]:
    """At the far ends of the finished lead, with the vehicle plug connected and no part plugged in yet; one setting of the
    meter after the other."""
    out = []
    for circuit in made:
        source = next((t for t in circuit.tails if t.lead.side == "vehicle"), None)
        if source is None or source.function.group not in ("supply", "ground", "speaker", "control"):
            continue
        for target in circuit.tails:
            if target.lead.side == "vehicle":
                continue
            for reading in source.function.readings:
                if not reading.needed or reading.pole not in (None, source.tail.pole):
                    continue
                failure = "Do not plug this part in. Trace this circuit."
                check = _reading_check("before-plugging-in", "plug", circuit, target, reading, failure)
                out.append(_with_speaker_window(check, source, ohms))
    meters = list(dict.fromkeys(check.meter for check in out))
    return sorted(out, key=lambda check: meters.index(check.meter))


def _after_plugging_in(made: list[Circuit], volts: Mapping[str, Expected]) -> list[Check]:
    out = []
    for circuit in made:
        target = next((t for t in circuit.takers if t.lead.side in ("radio", "accessory", "module")), None)
        if circuit.group == "supply" and target is not None:
            window = volts.get(target.name)
            low = math.floor(window.low * 10) / 10 if window is not None else 11.5
            high = window.high if window is not None else 15.0
            usual = f"about {number(as_float(window.figure) or 0, 3)} V, " if window is not None else ""
            out.append(
                Check(
                    number=0,
                    key=_slug(f"loaded-{target.name}"),
                    stage="after-plugging-in",
                    circuit=circuit.id,
                    title=f"{circuit.title} under load",
                    probes=f"{target.name} to the ground of the same plug",
                    meter="Volts DC",
                    condition="engine running, radio on and loud",
                    expected=f"{usual}{low:.1f} to {high:.1f} V",
                    unit="V",
                    low=round(low, 1),
                    high=high,
                    on_failure="Switch off. Measure each segment of the feed.",
                    tails=(target.name,),
                    figure=window.figure if window is not None else None,
                )
            )
        elif circuit.group == "ground" and target is not None:
            out.append(
                Check(
                    number=0,
                    key=_slug(f"loaded-{target.name}"),
                    stage="after-plugging-in",
                    circuit=circuit.id,
                    title=f"{circuit.title} under load",
                    probes=f"{target.name} to bare body metal",
                    meter="Volts DC",
                    condition="engine running, radio on and loud",
                    expected=f"{DROP_LIMIT_V:g} V or less",
                    unit="V",
                    low=None,
                    high=DROP_LIMIT_V,
                    on_failure="Switch off. Clean and tighten the ground.",
                    tails=(target.name,),
                )
            )
        elif circuit.group == "speaker" and circuit.pole in ("plus", ""):
            out.append(
                Check(
                    number=0,
                    key=_slug(f"sound-{circuit.id}"),
                    stage="after-plugging-in",
                    circuit=circuit.id,
                    title=f"{circuit.function.title if circuit.function else circuit.title} plays",
                    probes="listen",
                    meter=_aim(circuit),
                    condition="radio on, quiet",
                    expected="sound from this loudspeaker only, cone moves out on the plus",
                    yes_no=True,
                    on_failure="Switch off. Compare both poles with the sheet.",
                    tails=tuple(t.name for t in circuit.tails),
                )
            )
        elif (
            circuit.group in ("control", "video", "line")
            and target is not None
            and circuit.pole in ("plus", "", "high")
        ):
            expected = (
                f"{circuit.title} does what it should"
                if circuit.function is None
                else f"{circuit.function.title}: the radio or part reacts"
            )
            out.append(
                Check(
                    number=0,
                    key=_slug(f"works-{circuit.id}"),
                    stage="after-plugging-in",
                    circuit=circuit.id,
                    title=circuit.title,
                    probes="watch and listen",
                    meter="none",
                    condition="radio on",
                    expected=expected,
                    yes_no=True,
                    on_failure="Measure both ends of this circuit.",
                    tails=tuple(t.name for t in circuit.tails),
                )
            )
    return out


def _shows_by_working(circuit: Circuit) -> bool:
    """Control, video and line circuits whose work can be seen or heard; their returns cannot."""
    if circuit.group not in ("control", "video", "line") or circuit.pole not in ("plus", "", "high"):
        return False
    return not circuit.function_id.endswith(("-ground", "-return"))


def _aim(circuit: Circuit) -> str:
    """How this loudspeaker is heard alone."""
    corner = any(word in circuit.function_id for word in ("front", "rear"))
    return "Balance and fader to this corner" if corner else "Turn the others down"


def _mated_checks(circuits: tuple[Circuit, ...]) -> list[Check]:
    """Every ready end is home and does its work."""
    return [
        Check(
            number=0,
            key=_slug(f"mated-{circuit.id}"),
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


def _wheel(tables: Sequence[Mapping[str, Any]]) -> list[Check]:
    """Each button's resistance at the radio's plug, from the vehicle's own measurement."""
    out = []
    for table in tables:
        for row in table["buttons"]:
            low, high = as_float(row["meter_low_ohm"]), as_float(row["meter_high_ohm"])
            if low is None or high is None:
                continue
            name = str(row["button"]).replace("-", " ")
            out.append(
                Check(
                    number=0,
                    key=_slug(f"wheel-{table['wire']}-{row['button']}"),
                    stage="before-plugging-in",
                    circuit=table["circuit"],
                    title=f"Wheel button: {name}",
                    probes=f"{table['tail']} to {table['against']}",
                    meter="Ohms",
                    condition=f"key out, radio not plugged in, button {name} held",
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
                key=_slug(f"gain-{row['part']}"),
                stage="after-plugging-in",
                circuit="",
                title=f"Gain of {row['title']}",
                probes="plus to minus of one output, loudspeakers unplugged",
                meter="Volts AC",
                condition="1 kHz test tone, radio as loud as it will be used, tone controls flat",
                expected=f"{number(volts, 3)} V or less",
                unit="Vac",
                high=round(volts, 2),
                on_failure="Turn the gain down.",
                figure=row["gain_setting_v"],
            )
        )
    return out


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
            on_failure="Unplug the new parts one by one until it falls.",
            figure=standby["total_ma"],
        )
    ]


def _before_trim(spares: tuple[Spare, ...]) -> list[Check]:
    live = [s.id for s in spares if s.live]
    capped = "every spare is capped singly and tied" + (f" ({', '.join(live)} are live)" if live else "")
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


def _hand_over(features: tuple[FeatureOutcome, ...]) -> list[Check]:
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
                expected=feature.hand_over or f"{feature.title} works as before",
                yes_no=True,
                on_failure="Do not hand over. Go to the circuit's checks.",
                feature=feature.feature_id,
            )
        )
    return out
