"""Conversions against the exact definitions of the units.

Sources: international yard and pound agreement of 1959 (1 in = 25.4 mm, 1 lb = 0.45359237 kg);
3rd CGPM 1901 (standard gravity 9.80665 m/s2); NIST SP 811 appendix B.8 for the factors derived
from them. Expected values are worked out here as exact fractions from those definitions.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from tickover.quantities import parse, parse_range, parse_series

INCH = Fraction(254, 10000)
POUND = Fraction(45359237, 100000000)
GRAVITY = Fraction(980665, 100000)
PSI = POUND * GRAVITY / INCH**2

DEFINED = [
    ("6 thou", "clearance", 6 * INCH / 1000),
    (".006 in", "clearance", Fraction(6, 1000) * INCH),
    ('1/4"', "length", INCH / 4),
    ("0.15 mm", "clearance", Fraction(15, 100000)),
    ("155 psi", "pressure", 155 * PSI),
    ("10.7 bar", "pressure", Fraction(1070000)),
    ("1.2 kgf/cm2", "pressure", Fraction(12, 10) * GRAVITY * 10000),
    ("1 atm", "pressure", Fraction(101325)),
    ("23 Nm", "torque", Fraction(23)),
    ("17 lbf ft", "torque", 17 * POUND * GRAVITY * INCH * 12),
    ("2 kgf m", "torque", 2 * GRAVITY),
    ("20 C", "temperature", Fraction(29315, 100)),
    ("68 F", "temperature", Fraction(29315, 100)),
    ("1 mi", "distance", Fraction(1609344, 1000)),
    ("60 mph", "road speed", Fraction(60) * Fraction(1609344, 1000) / 3600),
]


@pytest.mark.parametrize(("text", "kind", "exact"), DEFINED, ids=[row[0] for row in DEFINED])
def test_typed_value_is_exact(text: str, kind: str, exact: Fraction) -> None:
    assert parse(text, kind).exact == exact


# NIST SP 811 B.8 prints 1 psi = 6.894757 E+03 Pa and 1 lbf ft = 1.355818 N m (7 digits).
@pytest.mark.parametrize(
    ("text", "kind", "printed"),
    [("1 psi", "pressure", 6894.757), ("1 lbf ft", "torque", 1.355818), ("1 in", "length", 0.0254)],
)
def test_printed_factor(text: str, kind: str, printed: float) -> None:
    print_rounding = 5e-7 * printed
    assert abs(parse(text, kind).value_si - printed) <= print_rounding


def test_clearance_window_in_thou_is_not_rounded_to_millimetres() -> None:
    # 5..7 thou is 127..177.8 um exactly, which no limit in hundredths of a millimetre says.
    window = parse_range("5-7 thou", "clearance")
    assert (window.low, window.high) == (Fraction(127, 10**6), Fraction(1778, 10**7))


def test_series_of_shims_is_exact() -> None:
    sizes = parse_series("2.00..3.20 mm step 0.05 mm", "shim")
    assert len(sizes) == 25
    assert sizes[0] == Fraction(2, 1000)
    assert sizes[1] - sizes[0] == Fraction(5, 100000)
    assert sizes[-1] == Fraction(32, 10000)
