"""Leak-down against FAA AC 43.13-1B (8 Sep 1998, change 1 of September 2001), paragraph 8-14:
master jets of 0.040 and 0.060 in, 80 psi, 25 percent as the limit of suspicion. The circular is
written for aircraft cylinders. Areas behind the readings follow from isentropic flow with equal
discharge coefficients, gamma 1.4, 101325 Pa outside (computed apart, to six figures)."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics.leakdown import (
    FAA_LARGE_JET,
    FAA_SMALL_JET,
    cylinder_pressure,
    jet_area,
    leak_area,
    leak_area_of_percent,
    percent_lost,
    percent_of_leak,
)

PSI = 6894.757293168361

#: Reading of 80 psi, leak area over jet area, diameter of an equal hole behind 0.040 in [mm]
TABLE = [
    (75.0, 0.486662, 0.70877),
    (70.0, 0.706690, 0.85410),
    (60.0, 1.058556, 1.04532),
    (50.0, 1.383577, 1.19508),
    (40.0, 1.722016, 1.33325),
    (30.0, 2.118670, 1.47885),
    (20.0, 2.729309, 1.67849),
]


@pytest.mark.parametrize(("reading", "ratio", "hole"), TABLE)
def test_leak_area_behind_each_reading_of_eighty(reading, ratio, hole):
    jet = jet_area(FAA_SMALL_JET, discharge=1.0)
    area = leak_area(80 * PSI, reading * PSI, jet)
    assert area / jet == pytest.approx(ratio, rel=1e-4)
    assert 1e3 * math.sqrt(4.0 * area / math.pi) == pytest.approx(hole, rel=1e-4)


@pytest.mark.parametrize(("reading", "ratio", "hole"), TABLE)
def test_the_reading_comes_back_from_the_area(reading, ratio, hole):
    jet = jet_area(FAA_SMALL_JET)
    assert cylinder_pressure(ratio * jet, 80 * PSI, jet) / PSI == pytest.approx(reading, abs=0.01)


@pytest.mark.parametrize(("reading", "percent"), [(60.0, 25.0), (70.0, 12.5), (76.0, 5.0)])
def test_readings_of_eighty_as_percent(reading, percent):
    assert percent_lost(80.0 * PSI, reading * PSI) == pytest.approx(percent, abs=0.01)


def test_jets_have_the_printed_diameters():
    assert 1e6 * jet_area(FAA_SMALL_JET, 1.0) == pytest.approx(0.810732, abs=1e-6)
    assert 1e6 * jet_area(FAA_LARGE_JET, 1.0) == pytest.approx(1.824147, abs=1e-6)


def test_the_limit_of_suspicion_is_a_larger_leak_behind_the_larger_jet():
    small = leak_area_of_percent(25.0, 80 * PSI, jet_area(FAA_SMALL_JET))
    large = leak_area_of_percent(25.0, 80 * PSI, jet_area(FAA_LARGE_JET))
    assert large / small == pytest.approx((0.060 / 0.040) ** 2, rel=1e-9)
    assert percent_of_leak(small, 80 * PSI, jet_area(FAA_LARGE_JET)) < 10.0


def test_while_both_holes_choke_the_area_is_the_ratio_of_absolute_pressures():
    # 30 of 80 psi: the jet is choked below 35.33 psi, the leak above 13.12 psi.
    jet = jet_area(FAA_SMALL_JET)
    p1, p2 = 80 * PSI + 101325.0, 30 * PSI + 101325.0
    assert leak_area(80 * PSI, 30 * PSI, jet) / jet == pytest.approx(p1 / p2, rel=1e-9)


def test_nothing_lost_is_no_leak_and_everything_lost_is_no_figure():
    jet = jet_area(1e-3)
    assert leak_area_of_percent(0.0, 80 * PSI, jet) == 0.0
    with pytest.raises(InputError, match="not a leak figure"):
        leak_area_of_percent(100.0, 80 * PSI, jet)
    with pytest.raises(InputError, match="between 0 and 100"):
        leak_area_of_percent(120.0, 80 * PSI, jet)
    with pytest.raises(InputError, match="supply"):
        percent_lost(80.0, 90.0)
