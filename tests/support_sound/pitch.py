"""Recordings on which a general pitch tracker and ours are compared, and how it is asked."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from support_sound.second_engine import SecondRecording, second_engine

FOUR = (0.0, 180.0, 360.0, 540.0)
HELD_RPM = 3300.0  # fires at 110 Hz, well inside the range the pitch tracker is made for
HOP_S = 0.025  # as often as ours
HELD = partial(
    second_engine, FOUR, speed=HELD_RPM, duration_s=6.0, seed=31, signal_to_noise_db=15.0
)
IDLING = partial(
    second_engine, FOUR, speed=1150.0, duration_s=10.0, seed=32, signal_to_noise_db=10.0
)


def pyin_speed(made: SecondRecording) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Times and speeds of the frames librosa's pYIN calls voiced."""
    import librosa

    hop = int(HOP_S * made.rate)
    pitch, voiced, _ = librosa.pyin(
        made.samples, fmin=20.0, fmax=433.0, sr=made.rate, frame_length=8192, hop_length=hop
    )
    when = librosa.times_like(pitch, sr=made.rate, hop_length=hop)
    return when[voiced], pitch[voiced] * 120.0 / len(FOUR)
