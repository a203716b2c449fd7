"""Reading thread names, drilling for them, and refusing what is none."""

import pytest

from tickover.errors import InputError
from tickover.physics import engagement, holes
from tickover.physics.thread import ISO, Thread, thread


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M8", "M8"),
        ("m8", "M8"),
        ("M8x1.25", "M8"),
        ("M8-1.25", "M8"),
        ("M 10 × 1,25", "M10x1.25"),
        ("M14x1.25", "M14x1.25"),
        ("1/4 BSF", "1/4-26 BSF"),
        ('3/8" BSW', "3/8-16 BSW"),
        ("5/16-24 UNF", "5/16-24 UNF"),
        ("1/4-20UNC", "1/4-20 UNC"),
        ("7/16-20 BSCy", "7/16-20 BSCy"),
        ("3/8 CEI", "3/8-26 BSCy"),
        ("2BA", "2 BA"),
        ("BA 4", "4 BA"),
        ("1 UNF", "1-12 UNF"),
    ],
)
def test_names(text, name):
    assert thread(text).name == name


@pytest.mark.parametrize(
    "text",
    ["", "M", "8 mm", "M8x", "M13", "1/3 BSF", "1/4", "1/4 XYZ", "42 BA", "1/0 BSF", "1/4-0 UNF"],
)
def test_other_names_are_refused_with_something_to_write(text):
    with pytest.raises(InputError) as caught:
        thread(text)
    assert caught.value.instead or caught.value.allowed


def test_pitch_too_coarse_for_the_diameter():
    with pytest.raises(InputError, match="too coarse"):
        Thread("test", 3e-3, 2e-3, ISO)


def test_flanks():
    assert thread("M8").flank_angle == pytest.approx(0.5235988, abs=1e-7)
    assert thread("1/4 BSF").flank_angle == pytest.approx(0.4799655, abs=1e-7)


def test_the_two_counts_of_percent_differ_for_metric_and_agree_for_whitworth():
    m8, quarter = thread("M8"), thread("1/4 BSW")
    assert holes.thread_percent(m8, 6.8e-3) < holes.thread_percent(m8, 6.8e-3, "nut")
    assert holes.thread_percent(quarter, 5.1e-3) == holes.thread_percent(quarter, 5.1e-3, "nut")


@pytest.mark.parametrize("hole", [8e-3, 9e-3, 0.0])
def test_hole_as_large_as_the_screw_is_refused(hole):
    with pytest.raises(InputError):
        holes.thread_percent(thread("M8"), hole)


@pytest.mark.parametrize("percent", [10.0, 101.0])
def test_unworkable_percentages_are_refused(percent):
    with pytest.raises(InputError, match="Percentage"):
        holes.tapping_drill(thread("M8"), percent)


@pytest.mark.parametrize("name", ["1/4 BSF", "M9"])
def test_no_clearance_hole_outside_the_table(name):
    with pytest.raises(InputError, match="clearance hole"):
        holes.clearance_hole(thread(name))


def test_soft_hole_governs_and_strong_hole_does_not():
    m8 = thread("M8")
    assert engagement.engagement_length(m8, 29e3, 100e6, 480e6).governed_by == "hole"
    assert engagement.engagement_length(m8, 29e3, 900e6, 300e6).governed_by == "screw"


def test_loosest_fit_needs_more_length():
    m8 = thread("M8")
    exact = engagement.engagement_length(m8, 29e3, 130e6, 480e6)
    loose = engagement.engagement_length(m8, 29e3, 130e6, 480e6, engagement.medium_limits(m8))
    assert loose.length > 1.05 * exact.length
    assert loose.diameters == pytest.approx(loose.length / 8e-3)


def test_limits_of_inch_threads_are_not_guessed():
    with pytest.raises(InputError, match="metric"):
        engagement.medium_limits(thread("1/4 BSF"))


def test_strength_must_be_given():
    with pytest.raises(InputError, match="Shear strength"):
        engagement.engagement_length(thread("M8"), 29e3, 0.0, 480e6)
