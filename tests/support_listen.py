"""Recordings for tests of the faces: synthetic, made once, as bytes of a file."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import soundfile
from numpy.typing import NDArray

from tickover.physics.sound.synthesise import synthesise

TRIPLE = (0.0, 240.0, 480.0)
LABEL = "synthetic: computed, not recorded from an engine"
RATE = 16_000


def packed(
    samples: NDArray[np.float32], rate: int = RATE, kind: str = "WAV", *, label: str = ""
) -> bytes:
    """A sound as the bytes of a file."""
    held = io.BytesIO()
    subtype = {"OGG": "VORBIS", "MP3": "MPEG_LAYER_III"}.get(kind, "PCM_16")
    with soundfile.SoundFile(
        held, "w", samplerate=rate, channels=1, format=kind, subtype=subtype
    ) as sound:
        if label:
            sound.comment = label
        sound.write(samples)
    return held.getvalue()


@lru_cache
def engine_sound(
    weak: float = 1.0, rpm: float = 1100.0, angles: Sequence[float] = TRIPLE, seconds: float = 9.0
) -> NDArray[np.float32]:
    """An idling engine that does not exist, its second firing as weak as asked."""
    strengths = [1.0] * len(angles)
    strengths[min(1, len(angles) - 1)] = weak
    return synthesise(
        angles, speed_rpm=rpm, duration_s=seconds, rate=RATE, strengths=strengths
    ).samples


@lru_cache
def engine_file(weak: float = 1.0, rpm: float = 1100.0, label: str = "") -> bytes:
    """The same as a WAV; without a label it passes for a recording, as tests need one."""
    return packed(engine_sound(weak, rpm), label=label)


@lru_cache
def hum_file() -> bytes:
    """Ten seconds of mains hum."""
    time = np.arange(10 * RATE) / RATE
    wave = 0.4 * np.sin(2 * np.pi * 50 * time) + 0.2 * np.sin(2 * np.pi * 100 * time)
    return packed(wave.astype(np.float32))
