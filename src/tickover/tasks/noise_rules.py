"""Noise figures for comparison: other stationary methods, drive-by limits, time of exposure."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.exposure import noise_minutes

RULES = (
    ("microphone 0.5 m from the outlet", "97/24/EC chapter 9, UN R41", "third party"),
    ("45 degrees off the axis of the gas, within 10", "97/24/EC chapter 9", "third party"),
    ("at the height of the outlet, 0.2 m above ground at least", "97/24/EC chapter 9",
     "third party"),
    ("3 m clear around the machine", "97/24/EC chapter 9", "confirmed"),
    ("background 10 dB below", "97/24/EC chapter 9", "third party"),
    ("three readings, their mean; the louder of two outlets", "97/24/EC chapter 9",
     "third party"),
    ("held steady, then the throttle shut: the reading includes the fall", "97/24/EC chapter 9",
     "third party"),
    ("the test gives no limit: that stands on plate or papers", "ISO 5130, its scope", "confirmed"),
    ("readings within 2 dB, speed within 5 %", "97/24/EC chapter 9", "from memory"),
    ("the meter's error, the scatter of one reading alone", "Tickover", "our assumption"),
)  # fmt: skip
"""What is rule and what is assumption: words, whose, how known. 'From memory' decides nothing."""

DRIVE_BY = (
    ("street motorcycles from 1983 / 1986", "83 / 80 dB(A)"),
    ("moped-type street motorcycles from 1983", "70 dB(A)"),
    ("off-road up to 170 cc from 1983 / 1986", "83 / 80 dB(A)"),
    ("off-road above 170 cc from 1983 / 1986", "86 / 82 dB(A)"),
)
"""40 CFR 205.152, at 15 m passing by (confirmed): never to be set against a reading at 0.5 m."""


@dataclass(frozen=True, slots=True)
class OtherTest:
    """Another stationary test: at which speed [1/s], at most which level [dB]."""

    words: str
    hz: float | None
    most: float


def sae_j2825(engine: EngineFile) -> tuple[OtherTest, ...]:
    """The two parts of SAE J2825 for this engine, 0.5 m and 45 degrees.

    Notes
    -----
    Idle 92 dB(A). Three or four cylinders 100 dB(A) at 5000 rpm; other numbers 96 dB(A) at
    2000 rpm, or three quarters of the highest speed where that is lower: figures confirmed in
    published text, the standard itself not read.
    """
    many = engine.engine.cylinders in (3, 4)
    hz, most = (5000.0 / 60.0, 100.0) if many else (2000.0 / 60.0, 96.0)
    red = engine.gearing.red_line_hz if engine.gearing else None
    if red is not None and not many:
        hz = min(hz, 0.75 * red)
    return (OtherTest("idle", None, 92.0), OtherTest("held steady", hz, most))


def bearable(level: float) -> tuple[float, float] | None:
    """Minutes a day without protection by NIOSH and OSHA [min]; None where none is allowed."""
    try:
        return noise_minutes(level), noise_minutes(level, 90.0, 5.0)
    except InputError:  # from 140 dB(A) on
        return None
