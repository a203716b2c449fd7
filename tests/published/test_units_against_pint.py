"""Every unit in the bench's table against pint, a general units library, as referee."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest

from tickover.quantities.units import BY_NAME

REGISTRY: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
SPELLED = {
    "um": "micrometer", "thou": "thou", "in": "inch", "ft": "foot", "mi": "mile",
    "kgf/cm2": "kilogram_force / centimeter ** 2", "mmHg": "millimeter_Hg",
    "cmHg": "centimeter_Hg", "inHg": "inch_Hg", "cmH2O": "centimeter_H2O", "Nm": "newton * meter",
    "lbf ft": "force_pound * foot", "lbf in": "force_pound * inch",
    "kgf m": "kilogram_force * meter", "kgf cm": "kilogram_force * centimeter",
    "cc": "centimeter ** 3", "ml": "milliliter", "l": "liter", "m3": "meter ** 3", "g": "gram",
    "lb": "pound", "s": "second", "min": "minute", "h": "hour", "km/h": "kilometer / hour",
    "mph": "mile / hour", "m/s": "meter / second", "kn": "knot", "V": "volt", "A": "ampere",
    "mohm": "milliohm", "kohm": "kiloohm", "Mohm": "megaohm", "W": "watt", "N": "newton",
    "kgf": "kilogram_force", "lbf": "force_pound", "m2": "meter ** 2", "cm2": "centimeter ** 2",
    "mm2": "millimeter ** 2", "ml/min": "milliliter / minute", "l/min": "liter / minute",
    "m3/s": "meter ** 3 / second", "mm2/s": "millimeter ** 2 / second",
    "m2/s": "meter ** 2 / second", "Ah": "ampere * hour", "Hz": "1 / second",
}  # fmt: skip
# pint has no business with these: a count per revolution, a level, a ratio, an angle kept in
# degrees, and temperatures with offsets (checked below).
OWN = {"rpm", "dB", "1", "%", "deg", "C", "F", "K"}


@pytest.mark.parametrize("name", sorted(set(BY_NAME) - OWN))
def test_factor_agrees_with_pint(name: str) -> None:
    unit = BY_NAME[name]
    theirs = REGISTRY.Quantity(Decimal(1), SPELLED.get(name, name)).to_base_units().magnitude
    # pint's base of mass is the kilogram's gram-free form, so both are SI; pint carries 28 digits
    # but stores mmHg and cmH2O by density with 6 to 9 digits.
    print_rounding = Fraction(1, 10**5) if unit.name in ("cmH2O",) else Fraction(1, 10**9)
    assert abs(Fraction(theirs) - unit.factor) <= print_rounding * unit.factor


@pytest.mark.parametrize(("name", "theirs"), [("C", "degC"), ("F", "degF")])
@pytest.mark.parametrize("value", [-40, 0, 20, 68, 100])
def test_temperature_agrees_with_pint(name: str, theirs: str, value: int) -> None:
    registry = pint.UnitRegistry()
    unit = BY_NAME[name]
    ours = float(value * unit.factor + unit.offset)
    rounding = 1e-9
    assert abs(registry.Quantity(value, theirs).to("kelvin").magnitude - ours) < rounding
