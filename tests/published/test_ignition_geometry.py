"""Dwell, strobe, rotor arc, coil charge and spark voltage against published check points.

Dwell points: workshop texts (third party) that agree with the kinematics. Coil: a text that states
87 percent at 4 ms for a coil reaching 90 percent at 4.4 ms. Spark: a textbook abstract (2 to 3 kV
for 0.6 mm in open air); constants A and B of Paschen's law third party, the cathode constant from
memory, so those numbers check arithmetic only.
"""

import math

import pytest

from tickover.physics import ignition, rotor


@pytest.mark.parametrize(("dwell", "rpm", "milliseconds"), [(60.0, 5000, 4.00), (52.0, 3000, 5.78)])
def test_dwell_time(dwell, rpm, milliseconds):
    assert 1e3 * ignition.dwell_time(dwell, rpm / 60) == pytest.approx(milliseconds, abs=0.01)


@pytest.mark.parametrize(
    ("dwell", "lobes", "percent"),
    [(45.0, 4, 50.0), (50.0, 4, 55.6), (52.0, 4, 57.8), (35.0, 6, 58.3)],
)
def test_dwell_percent(dwell, lobes, percent):
    assert ignition.dwell_percent(dwell, lobes) == pytest.approx(percent, abs=0.06)  # 1 decimal


@pytest.mark.parametrize(("rpm", "microseconds"), [(1000, 166.7), (3000, 55.56), (6000, 27.78)])
def test_one_crank_degree(rpm, microseconds):
    assert ignition.crank_degrees(microseconds * 1e-6, rpm / 60) == pytest.approx(1.0, rel=1e-3)


def test_one_millisecond_of_delay_at_3000_is_18_degrees():
    shown = ignition.advance_from_strobe(10.0, 3000 / 60, 1e-3)
    assert shown.low == pytest.approx(28.0, abs=1e-12)
    assert shown.high == shown.low


def test_mark_on_the_cam_moves_half_as_far():
    shown = ignition.advance_from_strobe(14.0, 3000 / 60, mark_on="cam")
    assert shown.low == pytest.approx(28.0, abs=1e-12)


def test_ten_degrees_on_a_100_mm_rotor():
    assert 1e3 * rotor.rotor_arc(math.radians(10.0), 0.100) == pytest.approx(8.727, abs=6e-4)


def test_coil_reaching_90_percent_in_4_4_ms():
    tau = ignition.coil_time_constant(4.4e-3, 0.90)
    assert 1e3 * tau == pytest.approx(1.911, abs=6e-4)
    assert ignition.coil_charge(4.0e-3, tau) == pytest.approx(0.877, rel=5e-3)
    assert ignition.coil_charge(2.3e-3, tau) == pytest.approx(0.700, rel=5e-3)


@pytest.mark.parametrize(
    ("gap_mm", "bar", "kelvin", "volts"),
    [
        (1.0, 1.01325, 293.15, 5035.0),
        (0.6, 1.0, 293.15, 3295.0),
        (0.7, 10.0, 293.15, 25.8e3),
        (0.7, 10.0, 700.0, 12.2e3),
    ],
)
def test_paschen_arithmetic(gap_mm, bar, kelvin, volts):
    ours = ignition.spark_voltage(gap_mm * 1e-3, bar * 1e5, kelvin)
    assert ours == pytest.approx(volts, rel=5e-3)


def test_paschen_minimum_lies_near_305_volts_at_0_836_torr_cm():
    torr = 101325.0 / 760.0
    gaps = [0.01 * (0.5 + 0.001 * i) for i in range(800)]  # 0.5 to 1.3 cm at one torr
    volts = [ignition.spark_voltage(gap, torr) for gap in gaps]
    least = min(volts)
    assert least == pytest.approx(305.0, rel=5e-3)
    assert 100 * gaps[volts.index(least)] == pytest.approx(0.836, abs=0.005)


def test_open_air_spark_is_the_textbook_order():
    # Textbook: 2 to 3 kV for 0.6 mm; the formula is known to lie 10 to 30 percent above.
    assert 2e3 < ignition.spark_voltage(0.6e-3, 101325.0) < 1.3 * 3e3
