"""Signal levels: volts for a power, gain, and what is in hand at an input."""

from __future__ import annotations

import math

from ..figure import number
from ..problems import Collector
from .answer import OHM, Answer, in_range


def volts_for_power(power_w: float, impedance_ohm: float) -> float:
    """RMS volts of a power into an impedance: V = √(P R). Both above 0; raises ValueError otherwise.

    >>> round(volts_for_power(22, 4), 2), round(volts_for_power(50, 4), 2)
    (9.38, 14.14)
    """
    if not min(power_w, impedance_ohm) > 0:
        raise ValueError("power and impedance must be above 0")
    return math.sqrt(power_w * impedance_ohm)


def ratio_db(out_v: float, in_v: float) -> float:
    """A ratio of volts in decibels: 20 log10(out ÷ in). Both above 0; raises ValueError otherwise.

    >>> ratio_db(10, 1)
    20.0
    """
    if not min(out_v, in_v) > 0:
        raise ValueError("volts must be above 0")
    return 20 * math.log10(out_v / in_v)


def _in_words(margin_db: float) -> str:
    """What a margin means for the amplifier.

    >>> _in_words(-12.04)
    'too little comes in: full power is not reached, 12 dB are missing'
    """
    if margin_db < -0.05:
        return f"too little comes in: full power is not reached, {number(-margin_db, 2)} dB are missing"
    return f"enough comes in for full power, with {number(max(margin_db, 0.0), 2)} dB in hand"


def level(
    *,
    impedance_ohm: float,
    power_w: float | None = None,
    volts: float | None = None,
    line_v: float | None = None,
    sensitivity_v: float | None = None,
) -> Answer:
    """Figures ``volts_rms, power_w, volts_peak`` and, where their inputs are given, ``gain_db`` and ``margin_db``.

    Exactly one of ``power_w`` and ``volts``. ``gain_db`` needs ``line_v``; ``margin_db`` needs ``sensitivity_v`` too.
    """
    found = Collector()
    ok = [
        in_range(found, "impedance-ohm", impedance_ohm, 0.1, 100_000, "Ω"),
        power_w is None or in_range(found, "power-w", power_w, 0.001, 20_000, "W"),
        volts is None or in_range(found, "volts", volts, 0.001, 1000, "V"),
        line_v is None or in_range(found, "line-v", line_v, 0.001, 100, "V"),
        sensitivity_v is None or in_range(found, "sensitivity-v", sensitivity_v, 0.001, 100, "V"),
    ]
    if (power_w is None) == (volts is None):
        ok.append(False)
        found.error("out-of-range", "power-w and volts: exactly one of the two must be given, above 0")
    if sensitivity_v is not None and line_v is None:
        ok.append(False)
        found.error("out-of-range", "line-v is not given; it must stand beside sensitivity-v, above 0")
    if not all(ok):
        return {}, tuple(found.problems)
    if power_w is not None:
        rms = volts_for_power(power_w, impedance_ohm)
        watts, rms_said, watts_said = power_w, f"√({number(power_w)} W × {number(impedance_ohm)} Ω)", "as given"
    else:
        rms = volts or 0.0
        watts = rms**2 / impedance_ohm
        rms_said, watts_said = "as given", f"({number(rms)} V)² ÷ {number(impedance_ohm)} Ω"
    figures = {
        "volts_rms": OHM.figure(rms, "V", rms_said),
        "power_w": OHM.figure(watts, "W", watts_said),
        "volts_peak": OHM.figure(rms * math.sqrt(2), "V", f"√2 × {number(rms)} V, of a sine"),
    }
    if line_v is not None:
        figures["gain_db"] = OHM.figure(ratio_db(rms, line_v), "dB", f"20 log10({number(rms)} V ÷ {number(line_v)} V)")
        if sensitivity_v is not None:
            margin = ratio_db(line_v, sensitivity_v)
            figures["margin_db"] = OHM.figure(
                margin, "dB", f"20 log10({number(line_v)} V ÷ {number(sensitivity_v)} V); {_in_words(margin)}"
            )
    return figures, ()
