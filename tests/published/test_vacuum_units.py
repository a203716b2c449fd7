"""Vacuum in every unit a gauge may show."""

from __future__ import annotations

import pytest

from tickover.tasks.balance import parse_vacuum

# NIST SP 811, appendix B.8; the water column at 4 C is conventional (1000 kg/m3, 9.80665 m/s2).
ONE = {
    "mmHg": 133.322387415,
    "cmHg": 1333.22387415,
    "inHg": 3386.388640341,
    "psi": 6894.757293168361,
    "mbar": 100.0,
    "kPa": 1000.0,
    "cmH2O": 98.0665,
}


@pytest.mark.parametrize("unit", ONE)
def test_twenty_of_a_unit(unit):
    count = {"mmHg": 200, "mbar": 250, "cmH2O": 250, "psi": 4, "inHg": 8}.get(unit, 20)
    assert parse_vacuum(f"{count} {unit}") == pytest.approx(count * ONE[unit], rel=1e-9)


def test_minus_signs_and_absolute_pressures_mean_the_same_vacuum():
    assert parse_vacuum("-29.5 kPa") == parse_vacuum("29.5 kPa")
    assert parse_vacuum("71825 Pa abs") == pytest.approx(29500.0, abs=1e-6)
    assert parse_vacuum("610 mmHg abs", room_pa=101325.0) == pytest.approx(
        101325.0 - 610 * ONE["mmHg"], rel=1e-9
    )
