"""Thermal growth of 100 mm over 100 K, from published expansion coefficients."""

import pytest

from tickover.physics import expansion

# mm for 100 mm and +100 K; the coefficients themselves are good to about 5 percent
GROWTH = {
    "steel 1020": 0.1170,
    "steel 4140": 0.1230,
    "grey iron": 0.1140,
    "aluminium 356": 0.2150,
}


@pytest.mark.parametrize("metal", GROWTH)
def test_growth(metal):
    ours = expansion.thermal_growth(0.100, expansion.EXPANSION[metal], 100.0)
    assert 1e3 * ours == pytest.approx(GROWTH[metal], abs=1e-6)


def test_aluminium_in_steel():
    # 0.0980 mm between 356 aluminium and 1020 steel
    steel, aluminium = expansion.EXPANSION["steel 1020"], expansion.EXPANSION["aluminium 356"]
    tight = expansion.clearance_hot(0.100, 0.100, steel, aluminium, 393.15, 393.15)
    assert 1e3 * tight == pytest.approx(-0.0980, abs=1e-6)
