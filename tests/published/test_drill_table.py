"""The drill sheet against printed tables of tapping drills, holes and engagement."""

import pytest

from tickover.tasks.fabrication import hole_sheet

# Mechanical Engineer's Data Handbook, 8.2.4: tapping drill for coarse threads [mm]. A tenth is the
# step of our drills; the table takes M12 one step finer than 75 percent asks for.
DATA_HANDBOOK = {"M5": 4.2, "M6": 5.0, "M8": 6.8, "M10": 8.5, "M12": 10.2}


@pytest.mark.parametrize("name", DATA_HANDBOOK)
def test_usual_tapping_drills(name):
    sheet = hole_sheet(name)
    step = 0.1001 if name == "M12" else 1e-6
    assert sheet.drill_m * 1e3 == pytest.approx(DATA_HANDBOOK[name], abs=step)


def test_clearance_holes_of_iso_273():
    # ISO 273, from two published copies: M6 6.4, 6.6, 7.0; M8 8.4, 9.0, 10.0; M10 10.5, 11.0, 12.0.
    for name, printed in (("M6", (6.4, 6.6, 7.0)), ("M8", (8.4, 9.0, 10.0)),
                          ("M10", (10.5, 11.0, 12.0))):  # fmt: skip
        holes = hole_sheet(name).clearance
        assert [round(holes[fit] * 1e3, 6) for fit in ("fine", "medium", "coarse")] == list(printed)


def test_m10_in_aluminium_against_the_handbook_example():
    # Handbook of Bolts and Bolted Joints (Bickford and Nassar, 1998): M10x1.5, load 69 600 N, shear
    # strength 130 MPa, needs 21.6 mm with the largest 6g diameter where the least belongs. A class
    # 12.9 screw of least strength breaks at 1220 MPa x 58.0 mm2 = 70 760 N (ISO 898-1).
    sheet = hole_sheet("M10", property_class="12.9")
    assert sheet.breaks_n == pytest.approx(70760.0, rel=1e-3)
    scaled = sheet.engagement.length * 69600.0 / sheet.breaks_n
    # The true least diameter makes it longer; 15 percent is all the tolerances of 6g can add.
    assert 21.6 < 1e3 * scaled < 1.15 * 21.6
    assert sheet.engagement.governed_by == "hole"


def test_one_diameter_of_steel_and_about_two_of_aluminium():
    # Common practice, no source: one diameter into steel, one and a half to two into light alloy.
    assert 0.7 < hole_sheet("M8", into="steel").engagement.diameters < 1.2
    assert 1.5 < hole_sheet("M8", into="aluminium").engagement.diameters < 2.0
