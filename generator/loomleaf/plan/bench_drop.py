"""What a joined supply or ground may lose on the bench at 5 A, where its own wires lose more than the usual 0.1 V."""

from __future__ import annotations

import math

from .bench_checks import DROP_LIMIT_V, TEST_A, takes_the_test
from .context import Context
from .supply import Segment, wire
from .types import Circuit


def drop_limits(context: Context) -> dict[str, float]:
    """V by circuit, only where more than 0.1 V: the driver's wire, the joint and the worst taker that takes part, in
    ohms times 5 A (Ohm's law, the conductors' greatest resistance at 20 °C), rounded up to 0.01 V."""
    out = {}
    for circuit in context.made:
        if circuit.group in ("supply", "ground"):
            volts = _loses(context, circuit)
            if volts is not None and volts > DROP_LIMIT_V:
                out[circuit.id] = math.ceil(volts * 100 - 1e-9) / 100
    return out


def _loses(context: Context, circuit: Circuit) -> float | None:
    """None where the size or length of a wire is not stated."""
    settings = context.shop.supply
    drivers = [wire(context, t.name, t.tail.size, t.tail.length_mm) for t in circuit.drivers]
    takers = [
        (wire(context, t.name, t.tail.size, t.tail.length_mm), settings.fuse_mohm if t.tail.fuse_a else 0.0)
        for t in circuit.takers
        if takes_the_test(t)
    ]
    worst_driver = [d.cold_mohm for d in drivers if isinstance(d, Segment)]
    worst_taker = [t.cold_mohm + fuse for t, fuse in takers if isinstance(t, Segment)]
    if len(worst_driver) < len(drivers) or len(worst_taker) < len(takers) or not worst_driver or not worst_taker:
        return None
    return TEST_A * (max(worst_driver) + settings.joint_mohm + max(worst_taker)) / 1000
