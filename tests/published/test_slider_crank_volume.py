"""Cylinder volume against plain slider-crank geometry (J. B. Heywood, Internal Combustion Engine
Fundamentals, 1988, section 2.2), values computed apart with 20 digits for bore 56, stroke 56,
rod 110 mm and a ratio of 9.5."""

import math

import numpy as np
import pytest

from tickover.physics.cylinder import CrankTest, Cylinder, Valve
from tickover.physics.cylinder_gas import volume_and_walls
from tickover.physics.ratio import Chamber, compression_ratio

ENGINE = Cylinder(
    0.056, 0.056, 0.110, 9.5, Valve(340, 585, 7.5e-3, 26e-3), Valve(135, 380, 7e-3, 22e-3)
)


@pytest.mark.parametrize(
    ("degrees", "over_clearance"),
    [(0, 1.0), (30, 1.705171402), (90, 5.799966822), (140, 8.730695623), (180, 9.5)],
)
def test_volume_over_clearance(degrees, over_clearance):
    volume = volume_and_walls(math.radians(degrees), CrankTest(ENGINE).row())[0]
    assert volume / ENGINE.clearance == pytest.approx(over_clearance, abs=1e-8)


def test_displacement():
    assert 1e6 * ENGINE.displacement == pytest.approx(137.9284839, abs=1e-6)


@pytest.mark.parametrize(
    ("after_bottom", "ratio"),
    [(30, 9.06638733), (40, 8.73069562), (50, 8.30234183), (60, 7.78573387)],
)
def test_volume_where_the_inlet_closes_late(after_bottom, ratio):
    row = CrankTest(ENGINE).row()
    closes = math.radians(540 + after_bottom)
    assert volume_and_walls(closes, row)[0] / ENGINE.clearance == pytest.approx(ratio, abs=1e-7)


def test_ratio_from_measured_volumes_is_the_definition():
    swept = math.pi / 4 * 0.056**2 * 0.056
    parts = Chamber(0.056, 0.056, swept / 8.5)
    assert compression_ratio(parts) == pytest.approx(9.5, rel=1e-12)
    thinner = Chamber(0.056, 0.056, swept / 8.5, 1e-3, 0.058, -1e-3, 0.0)
    gained = np.pi / 4 * 1e-3 * (0.058**2 - 0.056**2)
    assert compression_ratio(thinner) == pytest.approx(1 + swept / (swept / 8.5 + gained))
