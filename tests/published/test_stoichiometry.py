"""Fuel data against chemistry, fuel standards and published figures."""

from __future__ import annotations

import pytest

from tickover.errors import InputError
from tickover.physics.fuel import (
    ETHANOL,
    PETROL,
    Fuel,
    blend,
    fuel_density,
    oxygen_mass_share,
    stoichiometric_ratio,
)

PERCENT = 0.01
PRINT_ROUNDING = 0.1 * PERCENT  # relative; the figures are printed to four digits


@pytest.mark.parametrize(
    ("fuel", "ratio"),
    [
        (Fuel("isooctane C8H18", 18 / 8, 0.0, 692.0), 15.132),
        (Fuel("n-heptane C7H16", 16 / 7, 0.0, 684.0), 15.180),
        (Fuel("toluene C7H8", 8 / 7, 0.0, 867.0), 13.507),
        (ETHANOL, 9.005),
        (PETROL, 14.575),
        (Fuel("petrol E5, CH1.89 O0.016", 1.89, 0.016, 748.0), 14.290),
        (Fuel("petrol E10, CH1.93 O0.033", 1.93, 0.033, 750.0), 13.996),
    ],
    ids=lambda value: value.name if isinstance(value, Fuel) else "",
)
def test_air_a_fuel_needs_follows_from_its_atoms(fuel: Fuel, ratio: float):
    # Exact chemistry with IUPAC masses and dry air of 20.946 % oxygen, computed apart.
    assert stoichiometric_ratio(fuel) == pytest.approx(ratio, rel=PRINT_ROUNDING)


def test_the_trade_s_ratios_are_near_those_of_the_us_department_of_energy():
    # DOE Alternative Fuels Data Center: gasoline 14.7, ethanol 9.0 (printed to one decimal; the
    # gasoline they mean has more hydrogen than CH1.85, which is worth 0.9 %).
    assert stoichiometric_ratio(PETROL) == pytest.approx(14.7, rel=1.0 * PERCENT)
    assert stoichiometric_ratio(ETHANOL) == pytest.approx(9.0, abs=0.05)


def test_e10_carries_the_oxygen_the_fuel_standard_allows():
    # EN 228: E5 2.7 % m/m at most with 5 % v/v, E10 3.7 % m/m at most with 10 % v/v ethanol.
    assert 100 * oxygen_mass_share(blend(PETROL, 0.10)) == pytest.approx(3.7, abs=0.05)
    assert 100 * oxygen_mass_share(blend(PETROL, 0.05)) < 2.7


def test_ethanol_leans_the_same_jets_by_two_and_four_percent():
    pure = stoichiometric_ratio(PETROL)
    assert stoichiometric_ratio(blend(PETROL, 0.05)) / pure == pytest.approx(0.980, abs=0.002)
    assert stoichiometric_ratio(blend(PETROL, 0.10)) / pure == pytest.approx(0.960, abs=0.002)


def test_density_of_the_reference_blends_lies_in_their_standard_range():
    # EU reference petrol E5 and E10: 743..756 kg/m3 at 15 C; EN 228: 720..775.
    for share in (0.05, 0.10):
        assert 743.0 <= blend(PETROL, share).density_15 <= 756.0


def test_ethanol_at_20_c_weighs_what_a_property_library_says():
    # thermo 0.6.1: 789.4 kg/m3 at 20 C; 0.1 % covers the straight expansion.
    assert fuel_density(ETHANOL, 293.15) == pytest.approx(789.4, rel=PRINT_ROUNDING)


def test_a_fuel_full_of_oxygen_and_a_hot_bowl_are_refused():
    with pytest.raises(InputError, match="all the oxygen"):
        stoichiometric_ratio(Fuel("carbon dioxide", 0.0, 2.0, 800.0))
    with pytest.raises(InputError, match="cannot be at this temperature"):
        fuel_density(PETROL, 400.0)
    with pytest.raises(InputError, match=r"0\.10 for E10"):
        blend(PETROL, 10.0)
