"""Unified, Whitworth, BSF, cycle and BA threads, from published tables (inches and mm)."""

import math

import pytest

from tickover.physics.thread import thread

INCH = 0.0254
FOUR_PLACES = 0.00006 * INCH  # printed to 0.0001 in
LAST_DIGIT = 0.00011 * INCH  # some tables round their pitch before they use it

# UNC/UNF: pitch diameter, basic minor of the internal thread [in], stress area [in2]
UNIFIED = {
    "1/4 UNF": (0.2268, 0.2113, 0.0364),
    "5/16 UNF": (0.2854, 0.2674, 0.0580),
    "3/8 UNF": (0.3479, 0.3299, 0.0878),
    "7/16 UNF": (0.4050, 0.3834, 0.1187),
    "1/2 UNF": (0.4675, 0.4459, 0.1599),
    "9/16 UNF": (0.5264, 0.5024, 0.203),
    "5/8 UNF": (0.5889, 0.5649, 0.256),
    "3/4 UNF": (0.7094, 0.6823, 0.373),
    "1/4 UNC": (0.2175, 0.1959, 0.0318),
    "5/16 UNC": (0.2764, 0.2524, 0.0524),
    "3/8 UNC": (0.3344, 0.3073, 0.0775),
    "7/16 UNC": (0.3911, 0.3602, 0.1063),
    "1/2 UNC": (0.4500, 0.4167, 0.1419),
    "5/8 UNC": (0.5660, 0.5266, 0.226),
    "3/4 UNC": (0.6850, 0.6417, 0.334),
}
# BSW: effective, minor diameter [in]
WHITWORTH = {
    "1/8 BSW": (0.1090, 0.0930),
    "3/16 BSW": (0.1608, 0.1341),
    "1/4 BSW": (0.2180, 0.1860),
    "5/16 BSW": (0.2769, 0.2414),
    "3/8 BSW": (0.3350, 0.2950),
    "7/16 BSW": (0.3918, 0.3460),
    "1/2 BSW": (0.4466, 0.3933),
    "5/8 BSW": (0.5668, 0.5086),
    "3/4 BSW": (0.6860, 0.6219),
}
CYCLE_CORE = {"1/4": 0.209, "5/16": 0.272, "3/8": 0.334, "7/16": 0.397, "1/2": 0.459, "3/4": 0.709}
CYCLE_CORE_20 = {"7/16-20": 0.384, "1/2-20": 0.447, "9/16-20": 0.509, "5/8-20": 0.572}
BSF_PER_INCH = {
    "3/16": 32, "7/32": 28, "1/4": 26, "5/16": 22, "3/8": 20, "7/16": 18, "1/2": 16,
    "9/16": 16, "5/8": 14, "3/4": 12, "7/8": 11,
}  # fmt: skip
# BA: diameter at the bottom of the thread [in], from a table printed to 0.0001 in
BA_CORE = {5: 0.0981, 6: 0.0849, 7: 0.0753, 8: 0.0657, 9: 0.0565, 10: 0.0504}


@pytest.mark.parametrize("name", UNIFIED)
def test_unified(name):
    pitch, minor, area = UNIFIED[name]
    ours = thread(name)
    assert ours.pitch_diameter == pytest.approx(pitch * INCH, abs=FOUR_PLACES)
    assert ours.nut_minor == pytest.approx(minor * INCH, abs=LAST_DIGIT)
    # One unit in the last place: 5/16 UNF is printed 0.0580, both published formulas give 0.05806.
    last_place = 0.0001 if area < 0.2 else 0.001
    assert ours.stress_area == pytest.approx(area * INCH**2, abs=last_place * INCH**2)


@pytest.mark.parametrize("name", WHITWORTH)
def test_whitworth(name):
    effective, minor = WHITWORTH[name]
    ours = thread(name)
    assert ours.pitch_diameter == pytest.approx(effective * INCH, abs=FOUR_PLACES)
    assert ours.core == pytest.approx(minor * INCH, abs=LAST_DIGIT)


@pytest.mark.parametrize(("size", "count"), BSF_PER_INCH.items())
def test_bsf_threads_an_inch(size, count):
    assert thread(f"{size} BSF").pitch == pytest.approx(INCH / count, rel=1e-12)


@pytest.mark.parametrize(("size", "core"), (CYCLE_CORE | CYCLE_CORE_20).items())
def test_cycle_core(size, core):
    assert thread(f"{size} BSCy").core == pytest.approx(core * INCH, abs=0.0006 * INCH)


@pytest.mark.parametrize(("number", "core"), BA_CORE.items())
def test_ba_core(number, core):
    # The table takes 1.2 p from a diameter already rounded to 0.001 in: half of that, and its own
    # last digit.
    assert thread(f"{number} BA").core == pytest.approx(core * INCH, abs=0.0006 * INCH)


def test_ba_series_falls_by_a_tenth():
    # BS 93: each pitch is 0.9 of the one before, rounded to 0.01 mm; diameter 6 p^1.2 to 0.1 mm.
    for number in range(11):
        ours = thread(f"{number} BA")
        assert 1e3 * ours.pitch == pytest.approx(0.9**number, abs=0.0051)
        assert 1e3 * ours.major == pytest.approx(6.0 * 0.9 ** (1.2 * number), abs=0.051)


def test_whitworth_depth_from_its_angle():
    # depth = p / (3 tan 27.5 deg), BS 84
    ours = thread("1/4 BSW")
    depth = 0.5 * (ours.major - ours.core)
    assert depth / ours.pitch == pytest.approx(
        1.0 / (3.0 * math.tan(math.radians(27.5))) * 1.0, abs=1e-6
    )
