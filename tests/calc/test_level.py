"""Signal levels."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.level import level


# Ohm's law, V = √(P R), worked for the powers the trade quotes.
@pytest.mark.parametrize(("watts", "ohm", "volts"), [(22, 4, 9.38), (50, 4, 14.14), (100, 2, 14.14), (1, 4, 2.0)])
def test_volts_for_a_power(watts: float, ohm: float, volts: float) -> None:
    figures, problems = level(power_w=watts, impedance_ohm=ohm)
    assert not problems
    assert figures["volts_rms"].value == pytest.approx(volts, abs=0.005)
    assert figures["volts_peak"].value == pytest.approx(math.sqrt(2 * watts * ohm))
    assert "gain_db" not in figures and "margin_db" not in figures


def test_gain_and_margin() -> None:
    # Decibels of volts: twice is 6.02 dB, ten times 20 dB.
    figures, _ = level(volts=20, impedance_ohm=4, line_v=2, sensitivity_v=1)
    assert figures["power_w"].value == pytest.approx(100)
    assert figures["gain_db"].value == pytest.approx(20)
    assert figures["margin_db"].value == pytest.approx(6.0206, abs=1e-4)


def test_a_weak_line_has_a_negative_margin() -> None:
    figures, _ = level(volts=20, impedance_ohm=4, line_v=0.5, sensitivity_v=1)
    assert figures["margin_db"].value == pytest.approx(-6.0206, abs=1e-4)
    assert figures["margin_db"].working.endswith("too little comes in: full power is not reached, 6 dB are missing")
    figures, _ = level(volts=20, impedance_ohm=4, line_v=2, sensitivity_v=1)
    assert figures["margin_db"].working.endswith("enough comes in for full power, with 6 dB in hand")


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"power_w": 0, "impedance_ohm": 4}, "power-w"),
        ({"power_w": 10, "impedance_ohm": 0}, "impedance-ohm"),
        ({"volts": math.nan, "impedance_ohm": 4}, "volts"),
        ({"power_w": 10, "impedance_ohm": 4, "line_v": -1}, "line-v"),
        ({"power_w": 10, "volts": 3, "impedance_ohm": 4}, "power-w and volts"),
        ({"impedance_ohm": 4}, "power-w and volts"),
        ({"power_w": 10, "impedance_ohm": 4, "sensitivity_v": 1}, "line-v"),
    ],
)
def test_numbers_out_of_range(options: dict[str, float], field: str) -> None:
    figures, problems = level(**options)
    assert figures == {}
    assert len(problems) == 1 and problems[0].message.startswith(field)


@given(st.floats(0.01, 1000), st.floats(0.5, 100))
def test_power_and_volts_lead_back_to_each_other(watts: float, ohm: float) -> None:
    volts = level(power_w=watts, impedance_ohm=ohm)[0]["volts_rms"].value
    assert isinstance(volts, float)
    assert level(volts=volts, impedance_ohm=ohm)[0]["power_w"].value == pytest.approx(watts)
