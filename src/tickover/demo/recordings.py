"""The running demo's two recordings: made by the synthesiser, not by a real engine.

Sound and what was heard in it lie beside this file, so that opening the demo neither computes a
sound nor listens to one. `python -m tickover.demo` makes them anew; the same seed gives
the same samples, and a test holds what is shipped against them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tickover.physics.sound.synthesise import SyntheticRecording

FIRING_DEG = (0.0, 240.0, 480.0)
ABOUT_RPM = 1150.0
SECONDS = 12.0
RATE_HZ = 8000
SEED = 2
"""The first with which the two recordings lie on each other one way only; of 14 tried 9 do."""

_HEARD = "recordings.json"


@dataclass(frozen=True, slots=True)
class Made:
    """One of them: file, idle speed [1/min], strength of the firings in firing order [1]."""

    file: str
    rpm: float
    strengths: tuple[float, float, float]


BEFORE = Made("synthetic-weak.flac", 1120.0, (1.0, 1.0, 0.55))
"""Cylinder 2, the last to fire, with the cap that leaks to its plug."""
AFTER = Made("synthetic-even.flac", 1150.0, (1.0, 1.0, 0.93))
"""With another cap: as much weaker as its compression is, and no more."""


def sound_of(made: Made) -> bytes:
    """The file as it is shipped: FLAC, and says inside that it is synthetic."""
    return resources.files(__package__).joinpath(made.file).read_bytes()


@cache
def _heard() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        resources.files(__package__).joinpath(_HEARD).read_text(encoding="utf-8")
    )
    return found


def heard_in(made: Made) -> Mapping[str, Any]:
    """What was heard in it, as the book keeps it: 'heard' and 'waterfall'."""
    found: Mapping[str, Any] = _heard()[made.file]
    return found


def computed(made: Made) -> SyntheticRecording:
    """Its samples, computed anew."""
    from tickover.physics.sound.synthesise import synthesise

    wander = ((0.0, 1.0), (4.0, 1.01), (8.0, 0.99), (SECONDS, 1.0))
    return synthesise(
        FIRING_DEG,
        speed_rpm=tuple((at, share * made.rpm) for at, share in wander),
        duration_s=SECONDS,
        rate=RATE_HZ,
        seed=SEED,
        strengths=made.strengths,
        variation=0.012,
        pipe_spread=0.08,
        signal_to_noise_db=24.0,
    )


def listened_to(content: bytes) -> dict[str, Any]:
    """What `heard_in` holds, from the bytes of a file."""
    from tickover.tasks.listen.analysis import analyse
    from tickover.tasks.listen.plain import kept_listening, kept_waterfall
    from tickover.tasks.listen.reading import read_bytes
    from tickover.tasks.listen.waterfall import waterfall

    recording = read_bytes(content, "demo.flac")
    heard = analyse(recording.samples, recording.rate, FIRING_DEG, ABOUT_RPM)
    fall = waterfall(recording.samples, recording.rate, heard)
    return {"heard": kept_listening(heard), "waterfall": kept_waterfall(fall)}


def main(folder: Path = Path(__file__).parent) -> None:
    """Write both sounds, and what is heard in them, into a folder."""
    from tickover.tasks.listen.keeping import kept_bytes
    from tickover.tasks.listen.reading import Recording

    heard = {}
    for made in (BEFORE, AFTER):
        sound = computed(made)
        content = kept_bytes(Recording(sound.samples, sound.rate, SECONDS), synthetic=True)
        (folder / made.file).write_bytes(content)
        heard[made.file] = listened_to(content)
    text = json.dumps(heard, separators=(",", ":"), sort_keys=True)
    (folder / _HEARD).write_text(text + "\n", encoding="utf-8")
