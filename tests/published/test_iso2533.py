"""Standard atmosphere against ISO 2533:1975 (ICAO Doc 7488), geopotential height. The printed
table was not seen; the values are those of the open library ambiance 1.3.1, which agree with the
formula of the standard to the digits given. The second library, fluids, carries the U.S. Standard
Atmosphere 1976 on geometric height: 20 Pa is allowed for that difference up to 3000 m."""

import pytest

from tickover.physics.atmosphere import (
    pressure_at_altitude,
    station_pressure,
    temperature_at_altitude,
)

TABLE = [
    (0.0, 288.150, 101325.0),
    (500.0, 284.900, 95460.84),
    (1000.0, 281.650, 89874.56),
    (1500.0, 278.400, 84555.99),
    (2000.0, 275.150, 79495.20),
    (3000.0, 268.650, 70108.53),
]


@pytest.mark.parametrize(("height", "temperature", "pressure"), TABLE)
def test_pressure_and_temperature_by_height(height, temperature, pressure):
    assert temperature_at_altitude(height) == pytest.approx(temperature, abs=1e-3)
    assert pressure_at_altitude(height) == pytest.approx(pressure, abs=1.0)


@pytest.mark.parametrize("height", [0.0, 600.0, 1500.0, 3000.0])
def test_a_second_library_on_geometric_height_agrees(height):
    fluids = pytest.importorskip("fluids")
    assert pressure_at_altitude(height) == pytest.approx(fluids.ATMOSPHERE_1976(height).P, abs=20.0)


def test_standard_sea_level_weather_gives_the_standard_pressure_on_the_hill():
    assert station_pressure(101325.0, 1000.0) == pytest.approx(89874.56, abs=1.0)
