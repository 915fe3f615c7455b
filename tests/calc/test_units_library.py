"""Our own conversions against a general units library (Pint), as a second opinion."""

from __future__ import annotations

import pint
import pytest

from loomleaf.calc.joint import pull_newtons
from loomleaf.units import CMIL_MM2, awg_area_mm2, awg_diameter_mm, parse_length_mm, parse_reading, parse_size


@pytest.fixture(scope="module")
def units() -> pint.UnitRegistry:
    return pint.UnitRegistry()


def test_a_circular_mil(units: pint.UnitRegistry) -> None:
    assert pytest.approx(units.Quantity(1, "circular_mil").to("mm**2").magnitude, rel=1e-6) == CMIL_MM2
    for cmil in (1600, 2426, 4026, 6530):
        ours = parse_size(f"{cmil} cmil").area_mm2
        assert ours == pytest.approx(units.Quantity(cmil, "circular_mil").to("mm**2").magnitude, rel=1e-6)


@pytest.mark.parametrize(("gauge", "inches"), [(36, 0.0050), (18, 0.0403), (10, 0.1019), (-3, 0.4600)])
def test_gauge_diameters_in_inches(units: pint.UnitRegistry, gauge: int, inches: float) -> None:
    """Handbook diameters in inches (ASTM B258 tabulation, 4 significant figures)."""
    theirs = units.Quantity(inches, "inch").to("mm").magnitude
    assert awg_diameter_mm(gauge) == pytest.approx(theirs, rel=1e-3)
    assert awg_area_mm2(gauge) == pytest.approx(3.14159265 * theirs**2 / 4, rel=2e-3)


@pytest.mark.parametrize(("gauge", "pounds"), [(22, 8), (18, 20), (14, 50), (10, 80)])
def test_pull_values_in_pounds_force(units: pint.UnitRegistry, gauge: int, pounds: float) -> None:
    """UL 486A prints both units, rounded from each other."""
    newtons = pull_newtons(parse_size(f"{gauge} AWG"))
    value = newtons[0] if isinstance(newtons, tuple) else newtons
    found = getattr(value, "value", value)
    assert float(found) == pytest.approx(units.Quantity(pounds, "lbf").to("N").magnitude, rel=2e-3)


@pytest.mark.parametrize(("written", "amount", "unit"), [("1.2 m", 1.2, "m"), ("20 cm", 20, "cm"), ("35", 35, "mm")])
def test_lengths(units: pint.UnitRegistry, written: str, amount: float, unit: str) -> None:
    assert parse_length_mm(written) == pytest.approx(units.Quantity(amount, unit).to("mm").magnitude)


MORE = [
    ("4.7 kohm", 4.7, "kohm", "ohm"),
    ("20 Mohm", 20, "megaohm", "ohm"),
    ("20 MΩ", 20, "megaohm", "ohm"),
    ("20 mohm", 20, "milliohm", "ohm"),
]
"""A large M is mega, a small one milli (SI prefixes)."""


@pytest.mark.parametrize(("written", "amount", "unit", "base"), [("250 mV", 250, "mV", "V"), *MORE])
def test_readings(units: pint.UnitRegistry, written: str, amount: float, unit: str, base: str) -> None:
    assert parse_reading(written).value == pytest.approx(units.Quantity(amount, unit).to(base).magnitude)
