"""Tapping drills and clearance holes against published tables."""

import pytest

from tickover.physics import engagement, holes
from tickover.physics.thread import thread

# ISO 273 medium, fine, coarse [mm]; two published copies agree.
ISO_273 = {
    "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7.0),
    "M7": (7.4, 7.6, 8.0),
    "M8": (8.4, 9.0, 10.0),
    "M10": (10.5, 11.0, 12.0),
    "M12": (13.0, 13.5, 14.5),
    "M14": (15.0, 15.5, 16.5),
    "M16": (17.0, 17.5, 18.5),
}
# BS 1157:1975 drills for BSW [mm]; the same table says: 77 to 87 percent of full thread.
BS_1157 = {
    "1/8": 2.55,
    "3/16": 3.70,
    "1/4": 5.10,
    "5/16": 6.50,
    "3/8": 7.90,
    "7/16": 9.30,
    "1/2": 10.50,
    "9/16": 12.10,
    "5/8": 13.50,
    "3/4": 16.25,
}
# Mechanical Engineer's Data Handbook, 8.2.4: tapping drill for coarse threads [mm]
DATA_HANDBOOK = {"M5": 4.2, "M6": 5.0, "M8": 6.8, "M10": 8.5, "M12": 10.2}


@pytest.mark.parametrize("name", ISO_273)
def test_iso_273(name):
    for fit, printed in zip(("fine", "medium", "coarse"), ISO_273[name], strict=True):
        assert holes.clearance_hole(thread(name), fit) == pytest.approx(printed * 1e-3, abs=1e-9)


@pytest.mark.parametrize(("size", "drill"), BS_1157.items())
def test_whitworth_drills_leave_77_to_87_percent(size, drill):
    percent = holes.thread_percent(thread(f"{size} BSW"), drill * 1e-3)
    assert 76.5 <= percent <= 87.5  # the table speaks in whole percent


@pytest.mark.parametrize(("name", "drill"), DATA_HANDBOOK.items())
def test_handbook_drills_lie_between_the_limits_of_the_hole(name, drill):
    ours = thread(name)
    assert ours.nut_minor <= drill * 1e-3 <= engagement.medium_limits(ours).nut_minor_max


@pytest.mark.parametrize(("hole", "percent"), [(8.376, 100.0), (8.5, 92.4), (8.676, 81.5)])
def test_share_of_the_basic_height_for_m10(hole, percent):
    # A tap maker's table for M10: 100, 92.4 and 81.5 percent.
    ours = holes.thread_percent(thread("M10"), hole * 1e-3, "nut")
    assert ours == pytest.approx(percent, abs=0.06)
