"""Engagement that breaks the screw before the thread strips, against published examples."""

import math

import pytest

from tickover.physics import engagement
from tickover.physics.thread import thread


def test_m10_in_aluminium():
    # Handbook of Bolts and Bolted Joints (Bickford and Nassar, 1998), chapter abstract: M10x1.5,
    # load 69 600 N, shear strength 130 MPa, Ds 9.968 mm, En 9.206 mm: 21.6 mm. (The example calls
    # 9.968 the least major diameter; in the 6g table it is the largest, the least is 9.732.)
    m10 = thread("M10")
    basic = engagement.basic_limits(m10)
    stated = engagement.Limits(9.968e-3, basic.screw_pitch_min, 9.206e-3, basic.nut_minor_max)
    need = engagement.engagement_length(m10, 69600.0, 130e6, 720e6, stated)
    assert need.governed_by == "hole"
    assert 1e3 * need.length == pytest.approx(21.6, abs=0.06)


def test_the_true_least_diameter_needs_more():
    m10 = thread("M10")
    need = engagement.engagement_length(m10, 69600.0, 130e6, 720e6, engagement.medium_limits(m10))
    assert 22.0 < 1e3 * need.length < 26.0


@pytest.mark.parametrize("name", ["1/4-20 UNC", "3/8-24 UNF", "M8", "M10x1.25"])
def test_equal_materials_formula_of_h28(name):
    # FED-STD-H28/2B: Le = 2 At / (pi Kn (1/2 + 0.57735 n (Es - Kn))) makes the screw's sheared
    # area twice its stress area.
    ours = thread(name)
    limits = engagement.basic_limits(ours)
    kn, es = limits.nut_minor_max, limits.screw_pitch_min
    length = 2 * ours.stress_area / (math.pi * kn * (0.5 + 0.57735 * (es - kn) / ours.pitch))
    area = engagement.screw_shear_area(ours, length)
    assert area == pytest.approx(2 * ours.stress_area, rel=1e-5)
