"""ASTM D2270 viscosity index: published examples; unrounded values from chemicals 1.5.2."""

import pytest

from tickover.physics import viscosity

MM2 = 1e-6


@pytest.mark.parametrize(
    ("at_40", "at_100", "reported", "unrounded"),
    [
        (73.30, 8.86, 92, 92.430),  # published
        (22.83, 5.05, 156, 156.423),  # published
        (53.47, 7.80, 111, 111.307),  # KV100 from memory: the rounded index still must agree
    ],
)
def test_published_examples(at_40, at_100, reported, unrounded):
    index = viscosity.viscosity_index(at_40 * MM2, at_100 * MM2)
    assert round(index) == reported
    assert index == pytest.approx(unrounded, abs=0.1)  # table interpolation against parabolas


def test_reference_oils_above_70():
    # L = 0.8353 Y^2 + 14.67 Y - 216, H = 0.1684 Y^2 + 11.85 Y - 97: at Y = 80 6303.52, 1928.76.
    assert viscosity.viscosity_index(6303.52 * MM2, 80 * MM2) == pytest.approx(0.0, abs=1e-6)
    assert viscosity.viscosity_index(1928.76 * MM2, 80 * MM2) == pytest.approx(100.0, abs=1e-6)


def test_pieces_meet_at_their_joints():
    # The coefficients were typed from memory: a wrong digit would open a joint.
    for joint in (3.8, 4.4, 5.0, 6.4, 7.0, 7.7, 9.0, 12.0, 15.0, 18.0, 22.0, 28.0, 40.0, 55.0, 70):
        for index in (0.0, 100.0):
            below = viscosity.viscosity_at_40c((joint - 1e-9) * MM2, index)
            above = viscosity.viscosity_at_40c((joint + 1e-9) * MM2, index)
            assert above == pytest.approx(below, rel=2e-3)


def test_not_defined_below_2():
    with pytest.raises(ValueError, match="not defined"):
        viscosity.viscosity_index(5.0 * MM2, 1.9 * MM2)
