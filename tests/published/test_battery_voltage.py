"""Battery at rest: US Army TM 5-3805-262-20, a second published table, and acid gravity."""

import pytest

from tickover.physics import battery

SERVICE = {12.6: 1.0, 12.4: 0.75, 12.2: 0.50, 12.0: 0.25, 11.7: 0.0}
MOTOR_HOME = {12.66: 1.0, 12.45: 0.75, 12.30: 0.50, 12.15: 0.25}  # third party
# gravity: volts of six cells with 0.845 and with 0.84
GRAVITY = {
    1.280: (12.75, 12.72),
    1.265: (12.66, 12.63),
    1.225: (12.42, 12.39),
    1.190: (12.21, 12.18),
    1.155: (12.00, 11.97),
    1.120: (11.79, 11.76),
}


@pytest.mark.parametrize(("volts", "share"), (SERVICE | MOTOR_HOME).items())
def test_band_holds_both_tables(volts, share):
    band = battery.state_of_charge(volts)
    assert band.low - 1e-12 <= share <= band.high + 1e-12


def test_band_is_no_wider_than_the_tables_disagree():
    # The tables differ by at most 0.15 V, which is under half the charge.
    assert all(battery.state_of_charge(v).half_width <= 0.25 for v in (*SERVICE, *MOTOR_HOME))
    assert battery.state_of_charge(12.7).low == 1.0
    assert battery.state_of_charge(11.5).high == 0.0


def test_six_volt_battery_is_half_of_it():
    assert battery.state_of_charge(6.2, cells=3) == battery.state_of_charge(12.4)


@pytest.mark.parametrize("gravity", GRAVITY)
def test_voltage_from_gravity(gravity):
    usual, other = GRAVITY[gravity]
    assert battery.rest_voltage(gravity) == pytest.approx(usual, abs=0.0051)
    assert battery.rest_voltage(gravity, offset=0.84) == pytest.approx(other, abs=0.0051)


@pytest.mark.parametrize(("celsius", "litres"), [(0.0, 0.418), (25.0, 0.456)])
def test_hydrogen_from_one_cell_and_ampere_hour(celsius, litres):
    # Faraday, computed independently; 2.74 l/h for six cells at 1 A and 25 C.
    ours = battery.hydrogen_given_off(3600.0, 1, celsius + 273.15)
    assert 1e3 * ours == pytest.approx(litres, rel=5e-3)
    assert 1e3 * battery.hydrogen_given_off(3600.0) == pytest.approx(2.74, rel=5e-3)
