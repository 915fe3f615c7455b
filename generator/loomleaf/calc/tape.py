"""Tape wound around a bundle: how much, how many turns."""

from __future__ import annotations

import math

from ..figure import number
from ..problems import Collector
from .answer import Answer, in_range, known_by


def tape_length_mm(bundle_mm: float, length_mm: float, width_mm: float, overlap: float) -> float:
    """Tape for a length of bundle: π D L / (w (1 − overlap)), the area laid over the area covered.

    All above 0, ``overlap`` 0 to under 1, and w (1 − overlap) under π D (else it cannot be wound as a helix); raises
    ValueError otherwise.

    >>> round(tape_length_mm(10, 300, 19, 0), 1), round(tape_length_mm(10, 300, 19, 0.5), 1)
    (496.0, 992.1)
    """
    if not min(bundle_mm, length_mm, width_mm) > 0 or not 0 <= overlap < 1:
        raise ValueError("lengths must be above 0, overlap from 0 to under 1")
    if not width_mm * (1 - overlap) < math.pi * bundle_mm:
        raise ValueError("the width left by the overlap must be under π D")
    return math.pi * bundle_mm * length_mm / (width_mm * (1 - overlap))


def tape_turns(bundle_mm: float, length_mm: float, tape_mm: float) -> float:
    """Turns of a helix of that much tape on that much bundle: √(tape² − L²) / (π D).

    ``tape_mm`` at least ``length_mm``, ``bundle_mm`` above 0; raises ValueError otherwise.

    >>> round(tape_turns(10, 300, 992.1), 2)
    30.1
    """
    if not bundle_mm > 0 or not 0 < length_mm <= tape_mm:
        raise ValueError("bundle_mm must be above 0 and tape_mm at least length_mm")
    return math.sqrt(tape_mm**2 - length_mm**2) / (math.pi * bundle_mm)


def tape(*, bundle_mm: float, length_mm: float, width_mm: float, overlap: float = 0.5) -> Answer:
    """Figures ``turns, tape_mm`` for one pass. ``overlap`` is the part of the width that lies on the turn before."""
    found = Collector()
    ok = [
        in_range(found, "bundle-mm", bundle_mm, 0.5, 200, "mm"),
        in_range(found, "length-mm", length_mm, 1, 30_000, "mm"),
        in_range(found, "width-mm", width_mm, 1, 100, "mm"),
        in_range(found, "overlap", overlap, 0, 0.95, ""),
    ]
    if not all(ok):
        return {}, tuple(found.problems)
    around = math.pi * bundle_mm
    if not width_mm * (1 - overlap) < around:
        found.error(
            "bad-wrap",
            f"width-mm {number(width_mm)} × (1 − {number(overlap)}) is {number(width_mm * (1 - overlap))} mm; "
            f"it must be under the way around the bundle, {number(around)} mm",
            hint="a narrower tape or more overlap",
        )
        return {}, tuple(found.problems)
    length = tape_length_mm(bundle_mm, length_mm, width_mm, overlap)
    geometry = known_by("helix")
    return {
        "turns": geometry.figure(
            tape_turns(bundle_mm, length_mm, length),
            "",
            f"√(({number(length)} mm)² − ({number(length_mm)} mm)²) ÷ (π × {number(bundle_mm)} mm)",
        ),
        "tape_mm": geometry.figure(
            length,
            "mm",
            f"π × {number(bundle_mm)} mm × {number(length_mm)} mm ÷ ({number(width_mm)} mm × (1 − {number(overlap)}))",
        ),
    }, tuple(found.problems)
