"""ISO 68-1, ISO 724, ISO 898-1 stress areas and ISO 965 limits, from published tables."""

import pytest

from tickover.physics import engagement
from tickover.physics.thread import thread

HALF_MICROMETRE = 0.5e-6  # tables print 0.001 mm
# name: d2, D1, d3 [mm], As computed [mm2], As printed
TABLE = {
    "M5": (4.480, 4.134, 4.019, 14.1825, 14.2),
    "M6": (5.350, 4.917, 4.773, 20.1234, 20.1),
    "M7": (6.350, 5.917, 5.773, 28.8598, 28.9),
    "M8": (7.188, 6.647, 6.466, 36.6085, 36.6),
    "M10": (9.026, 8.376, 8.160, 57.9896, 58.0),
    "M12": (10.863, 10.106, 9.853, 84.2665, 84.3),
    "M8x1": (7.350, 6.917, 6.773, 39.1671, None),
    "M10x1.25": (9.188, 8.647, 8.466, 61.1986, None),
    "M12x1.25": (11.188, 10.647, 10.466, 92.0718, None),
    "M14x1.25": (13.188, 12.647, 12.466, 129.228, None),
}


@pytest.mark.parametrize("name", TABLE)
def test_diameters_and_stress_area(name):
    d2, d1, d3, area, printed = TABLE[name]
    ours = thread(name)
    assert ours.pitch_diameter == pytest.approx(d2 * 1e-3, abs=HALF_MICROMETRE)
    assert ours.nut_minor == pytest.approx(d1 * 1e-3, abs=HALF_MICROMETRE)
    assert ours.core == pytest.approx(d3 * 1e-3, abs=HALF_MICROMETRE)
    assert ours.stress_area == pytest.approx(area * 1e-6, rel=1e-5)
    if printed is not None:
        assert ours.stress_area == pytest.approx(printed * 1e-6, abs=0.05e-6)  # three figures


# Printed 6g limits of the screw (ASME B1.13M, same tolerances as ISO 965-1): least major and
# pitch diameter; largest 6H pitch diameter of the hole (UNI 4535 table); [mm].
LIMITS = {
    "M5": (4.826, 4.361, 4.605),
    "M6": (5.794, 5.212, 5.500),
    "M8": (7.760, 7.042, 7.348),
    "M8x1": (7.794, 7.212, None),
    "M10x1.25": (9.760, 9.042, None),
    "M10": (9.732, 8.862, 9.206),
    "M12": (None, None, 11.063),
    "M14": (None, None, 12.913),
}
# The standard rounds tolerances to preferred numbers and takes d in steps: up to 10 um apart.
STEPS = 10e-6


@pytest.mark.parametrize("name", LIMITS)
def test_medium_limits_follow_the_printed_ones(name):
    ours = engagement.medium_limits(thread(name))
    got = (ours.screw_major_min, ours.screw_pitch_min, ours.nut_pitch_max)
    for value, printed in zip(got, LIMITS[name], strict=True):
        if printed is not None:
            assert value == pytest.approx(printed * 1e-3, abs=STEPS)


def test_largest_minor_diameter_of_m10():
    # Printed 6H limits of M10: minor diameter 8.376 to 8.676 mm.
    ours = engagement.medium_limits(thread("M10"))
    assert ours.nut_minor_max == pytest.approx(8.676e-3, abs=STEPS)
