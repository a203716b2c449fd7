"""Firing frequency and orders: f = N rpm / 120, order = f / (rpm / 60), firing order N / 2.

Source: textbooks of engine noise and vehicle service training; the figure of 80 Hz for an eight
at 1200 rpm stands in a service text. The rows of the table follow from the formula by hand.
"""

import numpy as np
import pytest

from tickover.physics.sound.orders import firing_frequency, is_even, order_frequency

PRINT_ROUNDING_HZ = 0.001

TABLE_HZ = {
    800: (6.667, 13.333, 20.0, 26.667),
    1000: (8.333, 16.667, 25.0, 33.333),
    1200: (10.0, 20.0, 30.0, 40.0),
    3000: (25.0, 50.0, 75.0, 100.0),
    6000: (50.0, 100.0, 150.0, 200.0),
}


@pytest.mark.parametrize("rpm", TABLE_HZ)
@pytest.mark.parametrize("cylinders", [1, 2, 3, 4])
def test_firing_frequency_is_the_tabled_one(rpm: int, cylinders: int) -> None:
    found = float(firing_frequency(rpm, cylinders))
    assert found == pytest.approx(TABLE_HZ[rpm][cylinders - 1], abs=PRINT_ROUNDING_HZ)


def test_eight_cylinders_at_1200_fire_80_times_a_second() -> None:
    assert float(firing_frequency(1200, 8)) == pytest.approx(80.0, abs=PRINT_ROUNDING_HZ)


@pytest.mark.parametrize("cylinders", [1, 2, 3, 4, 6, 8])
def test_firing_order_number_is_half_the_cylinders(cylinders: int) -> None:
    rpm = 1370.0
    assert float(order_frequency(cylinders / 2, rpm)) == pytest.approx(
        float(firing_frequency(rpm, cylinders))
    )


def test_a_pulse_train_has_its_lines_where_the_formula_says() -> None:
    """A spectrum by NumPy of one click each firing, as an outside witness."""
    rate, rpm, cylinders = 8000, 1200.0, 3
    clicks = np.zeros(10 * rate)
    clicks[np.rint(np.arange(0, 10.0, 120.0 / rpm / cylinders) * rate).astype(int)[:-1]] = 1.0
    spectrum = np.abs(np.fft.rfft(clicks))
    spectrum[:20] = 0.0
    strongest = np.fft.rfftfreq(clicks.size, 1 / rate)[np.argmax(spectrum[:600])]
    assert strongest == pytest.approx(float(firing_frequency(rpm, cylinders)), abs=0.1)


@pytest.mark.parametrize(
    ("angles", "even"),
    [((0,), True), ((0, 360), True), ((0, 180), False), ((0, 270), False),
     ((0, 240, 480), True), ((0, 180, 360, 540), True), ((0, 315), False)],
)  # fmt: skip
def test_which_layouts_fire_evenly(angles: tuple[int, ...], even: bool) -> None:
    """Common practice, no source."""
    assert is_even(angles) is even
