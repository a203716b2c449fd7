"""Ideal bridge rectifiers, copper at temperature, charging voltage: factors computed by others.

3 sqrt(2)/pi = 1.3505 is printed in texts on power electronics (third party); the others follow from
the mean of a rectified sine, integrated here.
"""

import math

import numpy as np
import pytest

from tickover.physics.charging import (
    bridge_voltage,
    charging_window,
    electrical_frequency,
    line_current,
    line_voltage_needed,
)
from tickover.physics.winding import resistance_at_20, winding_temperature

PRINT = 5e-5  # half of the last digit printed


def rectified(phases: int) -> float:
    """Mean of the highest less the lowest wire over a period, for 1 V effective between wires."""
    t = np.linspace(0.0, 2.0 * math.pi, 200_001)
    if phases == 1:
        return float(np.abs(math.sqrt(2.0) * np.sin(t)).mean())
    wires = [math.sqrt(2.0 / 3.0) * np.sin(t + k * 2.0 * math.pi / 3.0) for k in range(3)]
    return float((np.max(wires, axis=0) - np.min(wires, axis=0)).mean())


def test_three_phase_factor_is_the_printed_1_3505() -> None:
    assert bridge_voltage(1.0) == pytest.approx(1.3505, abs=PRINT)
    assert bridge_voltage(1.0) == pytest.approx(1.35047, abs=1e-5)


@pytest.mark.parametrize("phases", [1, 3])
def test_the_factor_is_the_mean_of_the_rectified_wave(phases: int) -> None:
    assert bridge_voltage(1.0, phases=phases) == pytest.approx(rectified(phases), rel=1e-5)


def test_star_winding_by_its_phase_voltage_is_2_33909() -> None:
    assert bridge_voltage(math.sqrt(3.0)) == pytest.approx(2.33909, abs=1e-5)


def test_printed_factor_of_the_phase_peak_is_1_654() -> None:
    assert bridge_voltage(math.sqrt(1.5)) == pytest.approx(1.654, abs=5e-4)


def test_14_volts_between_wires_give_18_91_volts() -> None:
    assert bridge_voltage(14.0) == pytest.approx(18.91, abs=0.005)


def test_14_4_volts_behind_two_diodes_need_11_70_volts() -> None:
    needed = line_voltage_needed(14.4, 0.7)
    assert needed == pytest.approx(11.70, abs=0.005)
    assert bridge_voltage(needed, 0.7) == pytest.approx(14.4, rel=1e-12)


def test_each_wire_carries_0_8165_of_the_direct_current() -> None:
    assert line_current(1.0) == pytest.approx(0.81650, abs=1e-5)


def test_six_pole_pairs_at_3000_rpm_make_300_hertz() -> None:
    assert electrical_frequency(3000.0 / 60.0, 6) == pytest.approx(300.0, rel=1e-12)


@pytest.mark.parametrize(
    ("at_25", "celsius", "wanted"),
    [(14.1, 5.0, 14.46), (14.4, 40.0, 14.13)],  # third party; computed: -18 mV for each kelvin
)
def test_charging_voltage_follows_temperature(at_25: float, celsius: float, wanted: float) -> None:
    band = charging_window(at_25, at_25, celsius + 273.15)
    assert band.middle == pytest.approx(wanted, abs=0.005)


def test_a_winding_at_50_c_comes_back_by_0_894() -> None:
    # IEC 60228 prints 0.893 with the coefficient rounded to 0.004; 0.00393 gives 1/1.1179.
    assert resistance_at_20(1.0, 323.15) == pytest.approx(1.0 / 1.1179, abs=PRINT)


def test_worked_winding_from_0_5_to_0_6_ohm_is_70_9_c() -> None:
    assert winding_temperature(0.600, 0.500, 293.15) - 273.15 == pytest.approx(70.9, abs=0.05)
