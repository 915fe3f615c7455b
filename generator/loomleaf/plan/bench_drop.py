"""What a joined supply or ground may lose on the bench at 5 A, where its own wires lose more than the usual 0.1 V."""

from __future__ import annotations

import math

from .bench_checks import DROP_LIMIT_V, TEST_A, Branch, branches, takes_the_test
from .context import Context
from .supply import Segment, wire
from .types import JobTail


def drop_limits(context: Context) -> dict[Branch, float]:
    """V by branch, only where more than 0.1 V: the driver's wire, the joint and the taker's wire, in ohms times 5 A
    (Ohm's law, the conductors' greatest resistance at 20 °C), rounded up to 0.01 V."""
    out = {}
    for circuit in context.made:
        if circuit.group not in ("supply", "ground"):
            continue
        for driver, taker in branches(circuit):
            tested = takes_the_test(driver) and takes_the_test(taker)
            volts = _loses(context, driver, taker) if tested else None
            if volts is not None and volts > DROP_LIMIT_V:
                out[driver.name, taker.name] = math.ceil(volts * 100 - 1e-9) / 100
    return out


def _loses(context: Context, driver: JobTail, taker: JobTail) -> float | None:
    """None where the size or length of a wire is not stated."""
    settings = context.shop.supply
    before = wire(context, driver.name, driver.tail.size, driver.tail.length_mm)
    behind = wire(context, taker.name, taker.tail.size, taker.tail.length_mm)
    if not isinstance(before, Segment) or not isinstance(behind, Segment):
        return None
    fuses = [t for t in (driver, taker) if t.tail.fuse_a and t.tail.feed == "dash"]
    fuse = settings.fuse_mohm * len(fuses)
    return TEST_A * (before.cold_mohm + settings.joint_mohm + behind.cold_mohm + fuse) / 1000
