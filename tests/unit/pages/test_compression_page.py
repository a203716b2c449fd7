"""The compression page: words, picture, JSON."""

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from tickover.engine import load_engine_file
from tickover.errors import InputError
from tickover.pages.compression import CAUSE_WORDS, compression_json, compression_page
from tickover.pages.drawing.compression_pictures import climb_picture
from tickover.pages.drawing.needle import NeedleMark, needle_climb
from tickover.tasks.compression import PSI, Conditions, CylinderReadings, assess, spec_from_file
from tickover.tasks.compression.inference import CAUSES

ENGINE = load_engine_file(Path(__file__).parents[3] / "examples" / "engines" / "inline-four.toml")
SPEC = spec_from_file(ENGINE)
DAY = Conditions(throttle="open", altitude=600.0)


def page(*dry, day=DAY, **more):
    readings = [
        CylinderReadings(f"cyl{i}", dry=None if x is None else x * PSI)
        for i, x in enumerate(dry, 1)
    ]
    return compression_page(ENGINE, assess(SPEC, readings, day), **more)


def test_every_cause_has_words():
    assert set(CAUSES) == set(CAUSE_WORDS)


def test_good_and_even_is_one_sentence():
    found = page(150, 152, 149, 151)
    assert found.all_good
    assert found.verdict.startswith("All are good and even")


def test_what_is_out_open_and_stale_is_said_by_name():
    assert "Cylinder 2 is out" in page(152, 105, 151, 153).verdict
    assert "Cylinder 4 is not measured" in page(152, 150, 151, None).verdict
    void = page(
        None, 150, 151, 152,
        states={"cyl1": "stale"}, was={"cyl1": CylinderReadings("cyl1", dry=120 * PSI)},
    )  # fmt: skip
    assert void.lines[0].was
    assert void.lines[0].reading == ""
    assert "measured again" in void.verdict
    assert page(None, None, None, None).verdict == "Nothing is measured yet."


def test_altitude_is_said_and_the_reading_shown_at_sea_level_too():
    found = page(150, 152, 149, 151)
    assert "600 m above the sea" in found.expected
    assert "at sea level" in found.lines[0].beside


def test_unseated_rings_are_explained():
    assert "run in" in page(150, 152, 149, 151, day=replace(DAY, unseated_rings=True)).unseated
    assert page(150, 152, 149, 151).unseated == ""


def test_doubt_and_sampling_are_said_openly():
    found = page(152, 112, 151, 153)
    assert any("cannot tell apart" in words for words in found.alike)
    assert "effective draws" in found.sampling
    assert found.next_check.startswith("Next: ")
    assert all(each.source and each.formula and each.uncertainty for each in found.whys)
    assert found.cautions


def test_json_and_page_agree():
    found = page(152, 112, 151, 153)
    data = json.loads(json.dumps(compression_json(found)))
    assert [row["state"] for row in data["cylinders"]] == [line.state for line in found.lines]
    assert data["verdict"] == found.verdict


def test_the_picture_says_what_it_shows():
    found = page(152, 112, 151, 153)
    picture = climb_picture(found)
    assert picture.count("<polygon") >= 1
    assert "cylinder 2" in picture
    assert "<script" not in picture
    assert climb_picture(found, embedded=True).count("class=") == 1


def test_labels_of_equal_readings_do_not_cover_each_other():
    marks = [NeedleMark(str(n), "good", 150.0) for n in range(1, 5)]
    picture = needle_climb([60, 130], [80, 150], [100, 170], marks, "psi")
    heights = sorted(
        float(part.split('y="')[1].split('"')[0])
        for part in picture.split("<text")[1:]
        if part.split(">")[1].split("<")[0] in {"1", "2", "3", "4"}
        and 'text-anchor="start"' in part
    )
    assert all(b - a >= 14.9 for a, b in pairwise(heights))


def test_a_climb_without_strokes_is_refused():
    with pytest.raises(InputError, match="one length"):
        needle_climb([], [], [], [], "psi")
