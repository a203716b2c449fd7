"""Blind trials on the second generator: few of them in the tests, many for the tables."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from support_sound.second_engine import SecondRecording, second_engine
from tickover.physics.sound.marks import MEAN_S
from tickover.tasks.listen import Listening, analyse

LAYOUTS: dict[str, tuple[float, ...]] = {
    "single": (0.0,),
    "360 twin": (0.0, 360.0),
    "180 twin": (0.0, 180.0),
    "270 twin, 90 V": (0.0, 270.0),
    "45 V": (0.0, 315.0),
    "240 triple": (0.0, 240.0, 480.0),
    "180 four": (0.0, 180.0, 360.0, 540.0),
    "90 V four": (0.0, 180.0, 270.0, 450.0),
}
EDGE_S = 0.3
GROSS = 0.05


@dataclass(frozen=True)
class Trial:
    """One made recording and what was heard in it."""

    speed_rpm: float
    made: SecondRecording
    heard: Listening

    def errors(self) -> NDArray[np.float64]:
        """Relative speed errors of the frames, the ends left out [1]."""
        return speed_errors(self.made, self.heard)

    @property
    def gross(self) -> bool:
        """Whether the middle frame is more than 5 % off: half, double, two thirds."""
        return bool(np.median(self.errors()) > GROSS)


def speed_errors(made: SecondRecording, heard: Listening) -> NDArray[np.float64]:
    """Relative speed errors of all frames away from the ends [1]."""
    track = np.asarray(heard.track)
    last = float(made.firing_times_s[-1, 0])
    inner = track[(track[:, 0] > EDGE_S) & (track[:, 0] < last - EDGE_S)]
    true = made.mean_speed_rpm(inner[:, 0], MEAN_S)
    return np.abs(inner[:, 1] / true - 1.0)


def trial(
    layout: str,
    seed: int,
    *,
    about: bool = True,
    strengths: tuple[float, ...] | None = None,
    weak: float | None = None,
    speed: float | tuple[tuple[float, float], ...] | None = None,
    pipe_spread: float | None = None,
    signal_to_noise_db: float = 10.0,
    room: str | None = None,
    hum_hz: float | None = None,
    duration_s: float = 12.0,
) -> Trial:
    """One recording with everything not given drawn by lot, listened to.

    `weak` puts this strength into a cylinder drawn by lot; `about` gives a rough idle speed up
    to a fifth off.
    """
    chance = np.random.default_rng(90_000 + seed)
    angles = LAYOUTS[layout]
    slow = float(chance.uniform(850.0, 1500.0))
    rough = float(chance.uniform(0.8, 1.2))
    forces = None if strengths is None else strengths
    where = int(chance.integers(len(angles)))
    if weak is not None:
        forces = tuple(weak if slot == where else 1.0 for slot in range(len(angles)))
    made = second_engine(
        angles,
        speed=slow if speed is None else speed,
        duration_s=duration_s,
        seed=70_000 + seed,
        strengths=forces,
        unevenness=float(chance.uniform(0.1, 0.35)),
        push=float(chance.uniform(0.03, 0.06)),
        pipe_spread=float(chance.uniform(0.03, 0.2)) if pipe_spread is None else pipe_spread,
        signal_to_noise_db=signal_to_noise_db,
        room=room,
        hum_hz=hum_hz,
    )
    idle = slow if speed is None or not isinstance(speed, tuple) else speed[0][1]
    heard = analyse(made.samples, made.rate, angles, about_rpm=rough * idle if about else None)
    return Trial(idle, made, heard)
