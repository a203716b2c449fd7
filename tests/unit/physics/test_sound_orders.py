"""What firing angles are refused, and what they are made into."""

import numpy as np
import pytest

from tickover.errors import InputError
from tickover.physics.sound.orders import firing_fractions, firing_gaps, order_amplitudes


def test_angles_are_sorted_turned_and_wrapped() -> None:
    assert firing_fractions([540, 180, 0, 360]) == pytest.approx([0, 0.25, 0.5, 0.75])
    assert firing_fractions([90, 360]) == pytest.approx([0, 0.375])
    assert firing_fractions([900]) == pytest.approx([0])


def test_gaps_add_up_to_a_cycle() -> None:
    gaps = firing_gaps(firing_fractions([0, 180, 270, 450]))
    assert gaps == pytest.approx([0.25, 0.125, 0.25, 0.375])
    assert np.sum(gaps) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "angles", [[], [0, float("nan")], [0, 0], [0, 725], list(range(0, 720, 50))]
)
def test_unusable_angles_are_refused(angles: list[float]) -> None:
    with pytest.raises(InputError):
        firing_fractions(angles)


@pytest.mark.parametrize("strengths", [[1, 1, 1], [0, 0]])
def test_strengths_must_fit(strengths: list[float]) -> None:
    with pytest.raises(InputError, match="strengths"):
        order_amplitudes([1.0], [0, 360], strengths)
