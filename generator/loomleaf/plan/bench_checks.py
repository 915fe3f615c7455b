"""What is measured on the finished lead before it meets the vehicle: joined, carries current, apart.

Cable that is laid in the vehicle (a feed from the battery and its ground) is measured where it lies, with its fuse out.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..model.readings import check_name
from ..model.reference import ConnectorType, Reference
from .types import Check, Circuit, JobTail, Stage

CONTINUITY_OHM = 0.3  # leads nulled; common practice, no source
TEST_A = 5.0  # through a joined supply or ground; common practice, no source
TESTED_FUSE_A = 10.0  # a wire with a smaller fuse in it does not take part: the test would open or heat the fuse
DROP_LIMIT_V = 0.1  # over one joined supply or ground at 5 A; common practice, no source
ISOLATION_OHM = 1_000_000  # between neighbours on a finished lead; common practice, no source
NOT_SHORTED_OHM = 100.0  # where a part stays wired in between the two; common practice, no source
DEAD_V = 0.5  # a feed whose fuse is out; common practice, no source


def is_laid(circuit: Circuit) -> bool:
    """Whether the circuit's cable lies in the vehicle and not on the bench: a feed from the battery, or its ground."""
    return circuit.feed == "battery" and circuit.group in ("supply", "ground")


def takes_the_test(tail: JobTail) -> bool:
    """Whether 5 A may be sent through a tail: none with a small fuse in it. The fuse of a cable that is laid is out."""
    if tail.lead.side == "vehicle" and tail.tail.feed == "battery":
        return True
    return tail.tail.fuse_a is None or tail.tail.fuse_a >= TESTED_FUSE_A


Branch = tuple[str, str]
"""Names of the two tails between which one path of a joint is measured: a driver and a taker."""


def bench_checks(
    circuits: tuple[Circuit, ...], reference: Reference, drop_limits: Mapping[Branch, float]
) -> list[Check]:
    """Kind by kind, so that the meter is set once for each: joined, one way only, carries current, apart.

    ``drop_limits`` in V by branch, where its own wires lose more than 0.1 V at 5 A.
    """
    out: list[Check] = []
    for circuit in circuits:
        if not circuit.made:
            continue
        if circuit.combine in ("diode", "relay"):
            out.append(_combined(circuit))
            continue
        out.append(_continuity(circuit))
        if circuit.group in ("supply", "ground"):
            out += _drop(circuit, drop_limits)
        if is_laid(circuit) and circuit.group == "supply":
            out.append(_off_the_body(circuit))
    out += _apart(circuits, reference)
    out += _fuses(circuits)
    kinds = ("fuses", "continuity", "combine", "drop", "apart", "short")
    return sorted(out, key=lambda check: kinds.index(check.key.partition("-")[0]))


def _fuses(circuits: tuple[Circuit, ...]) -> list[Check]:
    """One look at every fuse in a wire of the lead: a supply was found safe with these and with no other."""
    held = {t.name: t.tail.fuse_a for c in circuits if c.made and not is_laid(c) for t in c.tails if t.tail.fuse_a}
    if not held:
        return []
    return [
        Check(
            number=0,
            key="fuses-in-wires",
            stage="on-the-bench",
            circuit="",
            title="Fuses in the wires",
            probes="read what is printed on each fuse",
            meter="none",
            condition="lead on the bench, not plugged in",
            expected="; ".join(f"{name} {rating:g} A" for name, rating in held.items()),
            yes_no=True,
            on_failure="Fit the fuse that is named here. Never a larger one.",
            tails=tuple(held),
        )
    ]


def _where(circuit: Circuit) -> tuple[Stage, str]:
    if is_laid(circuit):
        return "before-plugging-in", "cable laid in the vehicle, fuse out, battery lead off"
    return "on-the-bench", "lead on the bench, not plugged in"


def _point(circuit: Circuit, tail: JobTail) -> str:
    """Where a probe goes; a battery feed is open at its fuse holder while the fuse is out."""
    if is_laid(circuit) and circuit.group == "supply" and tail is circuit.tails[0]:
        return f"fuse holder's load side of {tail.name}"
    return tail.name


def branches(circuit: Circuit) -> tuple[tuple[JobTail, JobTail], ...]:
    """Every path through a joint once: the first driver to each taker, and each further driver to the first taker."""
    first = circuit.drivers[0]
    return (
        *((first, taker) for taker in circuit.takers),
        *((driver, circuit.takers[0]) for driver in circuit.drivers[1:]),
    )


def _far_ends(circuit: Circuit) -> tuple[JobTail, ...]:
    """What the second probe touches, the first resting on the first driver."""
    return (*circuit.takers, *circuit.drivers[1:])


def _combined(circuit: Circuit) -> Check:
    diode = circuit.combine == "diode"
    return Check(
        number=0,
        key=check_name(f"combine-{circuit.id}"),
        stage="on-the-bench",
        circuit=circuit.id,
        title=f"{circuit.title}: each driver passes, neither feeds back",
        probes=" to ".join(t.name for t in circuit.tails),
        meter="Diode test",
        condition="lead on the bench, not plugged in",
        expected="0.4 to 0.8 V one way, OL the other" if diode else "OL with the relay at rest",
        unit="V",
        low=0.4 if diode else None,
        high=0.8 if diode else None,
        open=not diode,
        on_failure="Make the joint again.",
        tails=tuple(t.name for t in circuit.tails),
    )


def _continuity(circuit: Circuit) -> Check:
    """One probe rests on the driver, the other touches every other end: the limit is the same for each."""
    stage, at_rest = _where(circuit)
    ends = _far_ends(circuit)
    each = "each of " if len(ends) > 1 else ""
    return Check(
        number=0,
        key=check_name(f"continuity-{circuit.id}"),
        stage=stage,
        circuit=circuit.id,
        title=f"{circuit.title} is joined",
        probes=f"{_point(circuit, circuit.drivers[0])} to {each}{listed([t.name for t in ends])}",
        meter="Ohms, leads nulled",
        condition=at_rest,
        expected=f"{CONTINUITY_OHM:g} Ω or less",
        unit="Ω",
        high=CONTINUITY_OHM,
        on_failure="Make the joint again.",
        tails=tuple(t.name for t in circuit.tails),
    )


def _drop(circuit: Circuit, limits: Mapping[Branch, float]) -> list[Check]:
    """5 A through each branch that may carry it, each against its own limit: a long thin wire to one part must not
    hide a poor joint before another. None where every taker has a small fuse in its wire."""
    stage, at_rest = _where(circuit)
    tested = [pair for pair in branches(circuit) if all(map(takes_the_test, pair))]
    out = []
    for driver, taker in tested:
        limit_v = limits.get((driver.name, taker.name), DROP_LIMIT_V)
        end = taker if driver is circuit.drivers[0] else driver
        several = len(tested) > 1
        out.append(
            Check(
                number=0,
                key=check_name(f"drop-{circuit.id}-{end.name}" if several else f"drop-{circuit.id}"),
                stage=stage,
                circuit=circuit.id,
                title=f"{circuit.title}{f' to {end.name}' if several else ''} carries current",
                probes=f"{_point(circuit, driver)} to {taker.name}",
                meter="Volts DC",
                condition=f"{TEST_A:g} A from a bench supply, {at_rest}"
                if is_laid(circuit)
                else f"{TEST_A:g} A through the joint from a bench supply",
                expected=f"{limit_v:g} V or less",
                unit="V",
                high=limit_v,
                on_failure="Make the joint again.",
                tails=(driver.name, taker.name),
            )
        )
    return out


def _off_the_body(circuit: Circuit) -> Check:
    """A cable that was laid through the vehicle has not cut into metal on its way."""
    stage, at_rest = _where(circuit)
    part = next((_short_title(t) for t in circuit.takers if wired_in(t)), "")
    low, words = _apart_words(part)
    return Check(
        number=0,
        key=check_name(f"apart-{circuit.id}-body"),
        stage=stage,
        circuit=circuit.id,
        title=f"{circuit.id} is apart from the body",
        probes=f"{circuit.takers[-1].name} to bare metal",
        meter="Ohms" if part else "Ohms, highest range",
        condition=f"{at_rest}, {part} wired in" if part else at_rest,
        expected=words.replace(", at each", ""),
        unit="Ω",
        low=low,
        on_failure="Find where the cable touches metal. Do not fit the fuse.",
        tails=(circuit.takers[-1].name,),
    )


def wired_in(tail: JobTail) -> bool:
    """A module or accessory whose tails have no plug cannot be taken off for a reading."""
    return not tail.plug_name and tail.lead.side in ("module", "accessory")


def _short_title(tail: JobTail) -> str:
    """A part's title up to its first comma: which way it is fitted is of no weight here."""
    return tail.lead.title.partition(",")[0]


def _between(a: Circuit, b: Circuit) -> str:
    """The part that stays wired in between two circuits, by its title; "" for none."""
    mine = {t.lead.lead for t in a.tails if wired_in(t)}
    return next((_short_title(t) for t in b.tails if wired_in(t) and t.lead.lead in mine), "")


def _apart_words(part: str) -> tuple[float, str]:
    if part:
        return NOT_SHORTED_OHM, f"{NOT_SHORTED_OHM:g} Ω or more, or OL, at each"
    return ISOLATION_OHM, "1 MΩ or more, or OL, at each"


def _apart(circuits: tuple[Circuit, ...], reference: Reference) -> list[Check]:
    """No bridge between neighbours. Where a part stays wired in between two circuits, its own insides are read as well:
    such a pair is only looked at for a short."""
    out = []
    pairs = neighbours(circuits, reference)
    for part in sorted({_between(first, second) for first, second, _ in pairs}):
        low, words = _apart_words(part)
        own = tuple(p for p in pairs if _between(p[0], p[1]) == part)
        for anchor, others in isolation_rounds(own):
            others = tuple(sorted(others, key=lambda place: _by_number(place[0].id)))  # names and probes in one order
            out.append(
                Check(
                    number=0,
                    key=check_name(f"{'short' if part else 'apart'}-{anchor[0].id}-{anchor[1]}"),
                    stage="on-the-bench",
                    circuit=anchor[0].id,
                    title=f"{anchor[0].id} is apart from {listed([c.id for c, _ in others])}",
                    probes=f"{anchor[1]} to {listed([name for _, name in others])}",
                    meter="Ohms" if part else "Ohms, highest range",
                    condition=f"lead on the bench, not plugged in, {part} wired in"
                    if part
                    else "lead on the bench, not plugged in",
                    expected=words,
                    unit="Ω",
                    low=low,
                    on_failure="Find the bridge. Do not plug in.",
                    tails=(anchor[1], *(name for _, name in others)),
                )
            )
    return out


def neighbours(
    circuits: tuple[Circuit, ...], reference: Reference
) -> tuple[tuple[Circuit, Circuit, tuple[str, str]], ...]:
    """Pairs of different made circuits whose ways stand side by side in a plug, once a pair of circuits; and each supply
    against each ground. Only what lies on the bench: cable laid in the vehicle is not there."""
    made = [c for c in circuits if c.made and not is_laid(c)]
    owner: dict[str, Circuit] = {t.name: c for c in made for t in c.tails}
    tails = {t.name: t for c in made for t in c.tails}
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

    supplies = [c for c in made if c.group == "supply"]
    grounds = [c for c in made if c.group == "ground"]
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
        left = [p for p in left if best not in (p[0].id, p[1].id)]
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


def listed(words: list[str]) -> str:
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
