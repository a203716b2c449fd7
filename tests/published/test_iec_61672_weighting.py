"""A-weighting: the table of IEC 61672-1; level arithmetic and test speeds worked by hand."""

import pytest

from tickover.errors import InputError
from tickover.physics.loudness import (
    a_weighting,
    level_sum,
    stationary_test_speed,
    without_background,
)

# Exact base-ten frequency [Hz] to the table's weighting [dB], printed to a tenth.
TABLE = {15.849: -56.7, 31.623: -39.4, 63.096: -26.2, 125.893: -16.1, 251.189: -8.6,
         501.187: -3.2, 1000.0: 0.0, 1995.262: 1.2, 3981.072: 1.0, 7943.282: -1.1,
         15848.932: -6.6}  # fmt: skip


@pytest.mark.parametrize(("hertz", "decibels"), TABLE.items())
def test_weighting_rounds_to_the_table(hertz, decibels):
    assert float(a_weighting(hertz)) == pytest.approx(decibels, abs=0.0501)


def test_one_kilohertz_is_the_reference():
    assert float(a_weighting(1000.0)) == pytest.approx(0.0, abs=1e-3)


def test_level_arithmetic():
    assert level_sum([90, 90]) == pytest.approx(93.01, abs=0.005)
    for margin, less in ((3.0103, -3.01), (6, -1.26), (10, -0.46), (15, -0.14)):
        assert without_background(90, 90 - margin) - 90 == pytest.approx(less, abs=0.011)
    assert level_sum([without_background(90, 84), 84]) == pytest.approx(90, abs=1e-9)


@pytest.mark.parametrize(
    ("rated", "test"), [(8500, 4250), (6800, 3400), (5001, 2500.5), (5000, 3750), (4800, 3600)]
)
def test_stationary_speed(rated, test):
    assert 60 * stationary_test_speed(rated / 60) == pytest.approx(test)


def test_nothing_to_say_is_refused():
    for call in (lambda: without_background(90, 88), lambda: level_sum([]),
                 lambda: a_weighting(0.0), lambda: stationary_test_speed(0.0)):  # fmt: skip
        with pytest.raises(InputError):
            call()
