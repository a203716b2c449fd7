"""Compression ratio and cam timing as measured, and that they narrow the expected reading."""

import math
from dataclasses import replace

import pytest

from tickover.engine import parse_engine_file
from tickover.errors import InputError
from tickover.physics.valveflow import Valve
from tickover.tasks.compression import (
    PSI,
    Conditions,
    CylinderReadings,
    CylinderSpec,
    assess,
    expected,
)
from tickover.tasks.compression.measured import cam_timing, measured_ratio
from tickover.tasks.compression.tables import condition

FOUR = parse_engine_file(
    '[engine]\nname = "Invented four"\nlayout = "inline"\ncylinders = 4\n'
    '[cams]\ninlet = { opens = "15 deg BTDC", closes = "45 deg ABDC" }\n'
    'exhaust = { opens = "45 deg BBDC", closes = "15 deg ATDC" }\n'
    "[compression]\ncam_sprocket_teeth = 36\n",
    "four.toml",
)
SPEC = CylinderSpec(
    "Invented 552 four", 4, 0.056, 0.056, 0.110, 9.2,
    Valve(340.0, 585.0, 7.5e-3, 26e-3), Valve(135.0, 380.0, 7e-3, 22e-3),
)  # fmt: skip


def test_uncertainties_combine_as_squares():
    parts = {"head_volume": 16e-6, "dome_volume": 2e-6, "deck": 0.4e-3}
    found = measured_ratio(0.056, 0.056, parts)
    assert found.sd == pytest.approx(math.sqrt(sum(x * x for _, x in found.shares)), rel=1e-6)
    assert found.shares[0][1] >= found.shares[-1][1]
    swept = math.pi / 4 * 0.056**3
    assert found.ratio == pytest.approx(1 + swept / found.clearance)


def test_the_chamber_must_be_there_and_parts_be_known():
    with pytest.raises(InputError, match="burette"):
        measured_ratio(0.056, 0.056, {"deck": 0.4e-3})
    with pytest.raises(InputError, match="burette"):
        measured_ratio(0.056, 0.056, {"head_volume": 16e-6, "squish": 1e-3})


def test_one_tooth_late_is_found_on_both_cams():
    found = cam_timing(FOUR, {"inlet": (-5.0, 65.0), "exhaust": (25.0, 35.0)})
    assert [f.error.teeth for f in found.findings] == [1, 1]
    assert found.late_deg == pytest.approx(20.0)
    assert "1 tooth" in found.findings[0].sentence
    assert (found.overlap_deg, found.separation_deg) == (30.0, 105.0)


def test_right_timing_on_a_wheel_put_on_crooked_is_right():
    crooked = cam_timing(FOUR, {"inlet": (12.0, 48.0)}, wheel_offset_deg=3.0)
    assert crooked.late_deg == pytest.approx(0.0)
    assert "As it should be" in crooked.findings[0].sentence


def test_no_event_and_no_lobe_to_compare_with():
    with pytest.raises(InputError, match="event"):
        cam_timing(FOUR, {})
    bare = parse_engine_file('[engine]\nname = "a"\nlayout = "single"\n', "a.toml")
    assert cam_timing(bare, {"inlet": (15.0, 45.0)}).late_deg is None


def test_what_was_measured_moves_and_narrows_the_expected_reading():
    usual = expected(SPEC, Conditions()).last
    lower = expected(SPEC, Conditions(ratio=8.2, ratio_sd=0.05)).last
    late = expected(SPEC, Conditions(cam_late_deg=20.0)).last
    assert lower[1] < usual[1] - 10 * PSI
    assert late[1] < usual[1] - 10 * PSI


def test_ratio_and_lateness_are_read_with_their_give_or_take():
    day = condition(condition(Conditions(), "ratio", "9.05 +- 0.1", ""), "cam late", "19 ± 1", "")
    assert (day.ratio, day.ratio_sd) == (pytest.approx(9.05), pytest.approx(0.1))
    assert (day.cam_late_deg, day.cam_late_sd_deg) == (19.0, 1.0)
    with pytest.raises(InputError, match=r"9\.2"):
        condition(Conditions(), "ratio", "92", "")


def test_strokes_to_full_speak_of_the_hose_only():
    dry = [CylinderReadings(f"cyl{n}", dry=155 * PSI) for n in (1, 2, 3)]
    odd = CylinderReadings("cyl4", dry=154 * PSI, strokes_to_full=20)
    day = Conditions(throttle="open", strokes=22)
    found = assess(SPEC, [*dry, odd], day)
    plain = assess(SPEC, [*dry, replace(odd, strokes_to_full=None)], day)
    assert any("no sign of a fault" in words for words in found.remarks)
    assert [c.causes for c in found.cylinders] == [c.causes for c in plain.cylinders]
