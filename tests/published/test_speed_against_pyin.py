"""Speed side by side with a general pitch tracker: pYIN of librosa (Mauch and Dixon 2014).

It hears the firing frequency as a pitch, so its answer times 120 over the cylinders is a speed.
Neither side made the sound: it comes from the second generator of the tests. What pYIN answered
is kept in sources/ because its library takes half a minute to compile itself; the comparison of
time, and of the kept answers with fresh ones, is bench/bench_listen.py, which also writes them.
"""

import csv
from pathlib import Path

import numpy as np
from support_sound.pitch import FOUR, HELD, HELD_RPM, IDLING
from support_sound.trials import speed_errors

from tickover.physics.sound.marks import MEAN_S
from tickover.tasks.listen import analyse

KEPT = Path(__file__).parent / "sources" / "pyin_speeds.csv"
LEAN = 0.02
"""On pulses the pitch tracker prefers the shorter of two likely periods and reads 1.3 % high
here, two steps of its grid of a tenth of a semitone (0.58 %); half and double are 50 % off."""


def pyin_speed(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Times and speeds of the frames pYIN called voiced."""
    with KEPT.open(encoding="utf-8", newline="") as file:
        lines = csv.DictReader(line for line in file if not line.startswith("#"))
        rows = [(float(row["s"]), float(row["rpm"])) for row in lines if row["recording"] == name]
    when, rpm = np.asarray(rows).T
    return when, rpm


def test_both_hear_the_same_speed_where_pitch_is_clear() -> None:
    made = HELD()
    when, other = pyin_speed("held")
    heard = analyse(made.samples, made.rate, FOUR, about_rpm=HELD_RPM)
    assert heard.refused is None
    track = np.asarray(heard.track)
    ours = np.interp(when, track[:, 0], track[:, 1])
    inner = (when > 0.5) & (when < 5.3)
    assert np.count_nonzero(inner) > 20
    assert np.median(np.abs(other[inner] / ours[inner] - 1.0)) < LEAN


def test_ours_is_nearer_at_idle() -> None:
    made = IDLING()
    heard = analyse(made.samples, made.rate, FOUR, about_rpm=1100.0)
    when, other = pyin_speed("idling")
    true = made.mean_speed_rpm(when, MEAN_S)
    inner = (when > 0.5) & (when < 9.0)
    assert np.count_nonzero(inner) > 20
    theirs = np.abs(other[inner] / true[inner] - 1.0)
    ours = speed_errors(made, heard)
    assert np.mean(ours < 0.05) == 1.0
    assert np.median(ours) < 0.2 * np.median(theirs)
