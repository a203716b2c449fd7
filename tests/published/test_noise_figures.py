"""Noise: figures of 97/24/EC, UN R41, SAE J2825, 40 CFR 205, NIOSH, the GUM and Student's table."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support_book import state_of

from tickover.engine import parse_engine_file
from tickover.physics.exposure import noise_minutes
from tickover.physics.loudness import exact_octave, mean_half, weighted_octaves
from tickover.tasks.noise import compared, noise_entry, outlet_levels
from tickover.tasks.noise import test_speed as speed_of_test
from tickover.tasks.noise_rules import DRIVE_BY, bearable, sae_j2825

RPM = 1 / 60


def engine(cylinders=2, more=""):
    if cylinders == 1:
        return parse_engine_file(f'[engine]\nname = "a"\nlayout = "single"\n{more}', "E.toml")
    return parse_engine_file(
        f'[engine]\nname = "a"\nlayout = "inline"\ncylinders = {cylinders}\n{more}', "E.toml"
    )


@pytest.mark.parametrize(
    ("rated", "wanted"), [(8500, 4250), (6800, 3400), (5001, 2500.5), (5000, 3750), (4800, 3600)]
)
def test_speed_of_the_stationary_test(rated, wanted):
    # 97/24/EC chapter 9, UN R41 (third party): S/2 above 5000, else 3/4 S; the jump is the rule's.
    found = speed_of_test(engine(more=f'[noise]\nrated_power_speed = "{rated} rpm"\n'))
    assert found.hz / RPM == pytest.approx(wanted, rel=1e-6)
    assert found.known == "third party"


def test_a_speed_on_the_plate_beats_the_rule():
    text = '[noise]\nrated_power_speed = "8500 rpm"\nat_speed = "4000 rpm"\n'
    assert speed_of_test(engine(more=text)).hz / RPM == pytest.approx(4000)


@pytest.mark.parametrize(("cylinders", "rpm", "most"), [(1, 2000, 96), (2, 2000, 96),
                                                        (3, 5000, 100), (4, 5000, 100),
                                                        (6, 2000, 96)])  # fmt: skip
def test_sae_j2825(cylinders, rpm, most):
    # SAE J2825 (20 in, 45 degrees), figures as published: idle 92; 3 or 4 cylinders 100 at 5000.
    idle, held = sae_j2825(engine(cylinders))
    assert (idle.hz, idle.most) == (None, 92)
    assert (held.hz / RPM, held.most) == (pytest.approx(rpm), most)


def test_sae_j2825_of_a_slow_engine():
    slow = engine(1, '[gearing]\nred_line = "2400 rpm"\n')
    assert sae_j2825(slow)[1].hz / RPM == pytest.approx(1800)


def test_drive_by_limits_of_40_cfr_205_152():
    # 40 CFR 205.152: street 83 (1983), 80 (1986); moped type 70; off-road 83/80 and 86/82.
    assert [most for _, most in DRIVE_BY] == ["83 / 80 dB(A)", "70 dB(A)", "83 / 80 dB(A)",
                                              "86 / 82 dB(A)"]  # fmt: skip


@pytest.mark.parametrize(
    ("level", "minutes"),
    [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15), (105, 4.72)],
)
def test_time_by_niosh(level, minutes):
    # NIOSH publication 98-126; 105 dB(A) by its formula.
    assert noise_minutes(level) == pytest.approx(minutes, abs=0.01)
    assert bearable(level)[0] == noise_minutes(level)


def test_no_time_where_none_is_allowed():
    assert bearable(140.0) is None


@pytest.mark.parametrize(
    ("nominal", "exact", "weight"),
    [(16, 15.849, -56.7), (31.5, 31.623, -39.4), (63, 63.096, -26.2), (125, 125.893, -16.1),
     (250, 251.189, -8.6), (500, 501.187, -3.2), (1000, 1000, 0.0), (2000, 1995.262, 1.2),
     (4000, 3981.072, 1.0), (8000, 7943.282, -1.1), (16000, 15848.932, -6.6)],
)  # fmt: skip
def test_octave_middles_and_their_weight(nominal, exact, weight):
    # IEC 61672-1 table of the A-weighting, printed to 0.1 dB; exact middles to base ten.
    assert exact_octave(nominal) == pytest.approx(exact, abs=0.001)
    assert weighted_octaves({nominal: 90.0}) - 90.0 == pytest.approx(weight, abs=0.05)


def test_octaves_together_by_the_printed_table():
    # 92, 95, 90, 88 at 63 to 500 Hz with the table's weights: 65.8, 78.9, 81.4, 84.8 dB(A).
    by_hand = 10 * np.log10(sum(10 ** (x / 10) for x in (65.8, 78.9, 81.4, 84.8)))
    found = weighted_octaves({63.0: 92.0, 125.0: 95.0, 250.0: 90.0, 500.0: 88.0})
    assert found == pytest.approx(by_hand, abs=0.06)  # print rounding of the table


@pytest.mark.parametrize(("n", "t"), [(2, 12.706), (3, 4.303), (4, 3.182), (6, 2.571)])
def test_interval_of_a_mean_by_students_table(n, t):
    # Student's t, two-sided 95 %, as in every printed table.
    levels = np.array([90.0, 92.0, 94.0, 91.0, 95.0, 93.0][:n])
    assert mean_half(levels) == pytest.approx(t * levels.std(ddof=1) / np.sqrt(n), rel=2e-4)


METERED = engine(more='[noise]\nlimit = "96 dB"\ngiven_by = "a"\nmeter = "1.5 dB"\n')


def outlets(*readings, silencers="baffled", background="60 dB"):
    """What is made of readings of one outlet [dB(A)]."""
    bodies = [
        noise_entry(METERED, f"{level} dB", silencers=silencers, background=background)
        for level in readings
    ]
    return bodies, outlet_levels(METERED, state_of(bodies, '[engine]\nname = "a"\n'))


def test_three_readings_make_their_arithmetic_mean():
    # 97/24/EC chapter 9 (third party): three readings, arithmetic mean. Here 93.0; the highest
    # would be 96.0, the middle one 92.0, the mean of the energies 93.4.
    (found,) = outlets(91.0, 92.0, 96.0)[1]
    assert found.mean == pytest.approx(93.0, abs=1e-9)


def test_a_reading_less_than_ten_decibels_over_the_background_is_not_averaged():
    # 97/24/EC chapter 9 (third party): background at least 10 dB below, else the reading is void.
    good, _ = outlets(91.0, 92.0, 93.0)
    near, _ = outlets(98.0, background="89 dB")
    (found,) = outlet_levels(METERED, state_of(good + near, '[engine]\nname = "a"\n'))
    assert found.mean == pytest.approx(92.0, abs=1e-9)
    assert len(found.counted) == 3


def test_interval_of_a_mean_and_its_meter_by_the_gum():
    # JCGM 100, 5.1.2: independent parts add as squares. s = 1 dB, t = 4.303 (Student, n - 1 = 2,
    # 95 %), over the root of 3: 2.484; with the meter's 1.5 dB: 2.902.
    (found,) = outlets(91.0, 92.0, 93.0, background="50 dB")[1]
    assert found.band.high - found.mean == pytest.approx(2.902, abs=0.001)
    # 10 lg (10^9.2 - 10^5): the background is worth less than a thousandth here.
    assert found.mean - found.band.low == pytest.approx(2.902, abs=0.002)


def test_the_interval_reaches_down_to_the_machine_alone():
    # Levels that add: 92 dB with 82 dB of background are 91.54 dB without (0.46 dB, as in every
    # table for background ten decibels below).
    (found,) = outlets(92.0, 92.0, 92.0, background="82 dB")[1]
    half = found.band.high - found.mean
    assert found.mean == pytest.approx(92.0, abs=1e-9)
    assert found.mean - found.band.low == pytest.approx(half + 0.458, abs=0.001)


def test_difference_of_two_exhausts_leaves_the_meter_out():
    # JCGM 100, 5.2: an error both share falls out of their difference. Two means of three with
    # s = 1 dB each: 2.484 times the root of two, 3.513.
    open_, _ = outlets(101.0, 102.0, 103.0, silencers="open")
    shut, _ = outlets(91.0, 92.0, 93.0)
    both = outlet_levels(METERED, state_of(open_ + shut, '[engine]\nname = "a"\n'))
    (found,) = compared(both)
    assert (found.louder, found.quieter) == ("open", "baffled")
    assert found.less.low == pytest.approx(10.0 - 2.484 * math.sqrt(2.0), abs=0.001)
    assert found.less.high == pytest.approx(10.0 + 2.484 * math.sqrt(2.0), abs=0.001)
