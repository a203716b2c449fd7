"""Length of a brazed lap: Handy & Harman, The Brazing Book, section 1, worked example."""

import pytest

from tickover.physics import solder_joint

INCH, KPSI = 0.0254, 6.894757293168361e6


def test_monel_sheet_of_50_thou():
    # 70 000 psi sheet, 0.050 in, shear 25 000 psi, factor 0.8: printed 0.18 in (0.175 exactly)
    ours = solder_joint.lap_length(70 * KPSI, 0.050 * INCH, 25 * KPSI, 0.8) / INCH
    assert ours == pytest.approx(0.175, abs=1e-9)
    assert round(ours + 1e-9, 2) == 0.18


def test_same_example_in_metric():
    # 482.63 MPa, 1.27 mm, 172.37 MPa
    ours = solder_joint.lap_length(482.63e6, 1.27e-3, 172.37e6, 0.8)
    assert ours / INCH == pytest.approx(0.175, abs=1e-4)


def test_rule_of_three():
    # AWS C3.1-1963: laps of three thicknesses break outside the joint. The worked example lies
    # just above it and inside the band for laps.
    ours = solder_joint.lap_length(70 * KPSI, 0.050 * INCH, 25 * KPSI, 0.8)
    assert solder_joint.THICKNESSES_OF_LAP.holds(ours / (0.050 * INCH))
