"""Half orders of ideal firing impulses over 720 degrees, against the sum of the impulses.

Every row is the magnitude of a sum of at most four unit vectors and can be done by hand: for
firings at 0 and 270, order 0.5 turns 135 degrees between them, |1 + exp(-i 135)| / 2 = 0.383.
The decibel figures are 20 log10 of the same.
"""

import numpy as np
import pytest

from tickover.physics.sound.orders import half_orders_mean_weakness, order_amplitudes
from tickover.physics.sound.templates import line_weights

PRINT_ROUNDING = 0.001
ORDERS = (0.5, 1.0, 1.5, 2.0)

TABLE = {
    "single": ((0,), (1,), (1.000, 1.000, 1.000, 1.000)),
    "360 twin": ((0, 360), (1, 1), (0.0, 1.000, 0.0, 1.000)),
    "360 twin, one at 80 %": ((0, 360), (1, 0.8), (0.111, 1.000, 0.111, 1.000)),
    "180 twin": ((0, 180), (1, 1), (0.707, 0.0, 0.707, 1.000)),
    "90 V or 270 twin": ((0, 270), (1, 1), (0.383, 0.707, 0.924, 0.0)),
    "45 V twin": ((0, 315), (1, 1), (0.195, 0.924, 0.556, 0.707)),
    "triple": ((0, 240, 480), (1, 1, 1), (0.0, 0.0, 1.000, 0.0)),
    "triple, one at 80 %": ((0, 240, 480), (1, 1, 0.8), (0.071, 0.071, 1.000, 0.071)),
    "four": ((0, 180, 360, 540), (1, 1, 1, 1), (0.0, 0.0, 0.0, 1.000)),
    "four, one at 80 %": ((0, 180, 360, 540), (1, 1, 1, 0.8), (0.053, 0.053, 0.053, 1.000)),
    "four, one dead": ((0, 180, 360, 540), (1, 1, 1, 0), (0.333, 0.333, 0.333, 1.000)),
}


@pytest.mark.parametrize("engine", TABLE)
def test_amplitudes_are_those_of_the_table(engine: str) -> None:
    angles, strengths, expected = TABLE[engine]
    found = order_amplitudes(ORDERS, angles, strengths)
    assert found == pytest.approx(expected, abs=PRINT_ROUNDING)


def test_decibels_of_the_weak_four() -> None:
    weak, dead = (
        order_amplitudes([0.5], (0, 180, 360, 540), (1, 1, 1, last))[0] for last in (0.8, 0.0)
    )
    assert 20 * np.log10(weak) == pytest.approx(-25.6, abs=0.05)
    assert 20 * np.log10(dead) == pytest.approx(-9.5, abs=0.05)


@pytest.mark.parametrize("engine", TABLE)
def test_a_click_train_transformed_by_numpy_agrees(engine: str) -> None:
    angles, strengths, _ = TABLE[engine]
    circle = np.zeros(720)
    circle[list(angles)] = strengths
    lines = np.abs(np.fft.fft(circle))[1:5] / np.sum(strengths)
    assert order_amplitudes(ORDERS, angles, strengths) == pytest.approx(lines, abs=1e-12)
    weights = line_weights(np.asarray(angles) / 720, np.asarray(strengths, dtype=float), 4)
    assert weights[1:] == pytest.approx(lines, abs=1e-12)


@pytest.mark.parametrize("engine", TABLE)
def test_half_orders_mean_weakness_only_where_health_has_none(engine: str) -> None:
    angles, _, _ = TABLE[engine]
    lines = np.arange(0.5, len(angles) / 2, 0.5)  # below the firing order
    healthy = order_amplitudes(lines, angles)
    silent = len(angles) > 1 and bool(np.all(healthy < PRINT_ROUNDING))
    assert half_orders_mean_weakness(angles) is silent
