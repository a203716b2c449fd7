"""From samples and firing angles to a `Listening`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError
from tickover.physics.sound.conditioning import Conditioned, condition, sounding_part
from tickover.physics.sound.marks import MEAN_S, Marks, find_marks, mark_signal, mean_speed
from tickover.physics.sound.octave import MISSING_DB, every_second_missing_db
from tickover.physics.sound.orders import CYCLE_DEG, firing_fractions, is_even
from tickover.physics.sound.spectra import HOP_S
from tickover.physics.sound.steadiness import (
    Variation,
    cycle_variation,
    find_blips,
    idle_drift,
    idle_frames,
)
from tickover.physics.sound.templates import HIGHEST_RPM, LOWEST_RPM, speed_grid, variants
from tickover.physics.sound.tracking import Track, score_map, track_speed
from tickover.tasks.listen import refusals
from tickover.tasks.listen.listening import Listening, SpeedSummary
from tickover.tasks.listen.slots import judged_slots

LONGEST_S = 600.0
LEAST_RATE_HZ = 4000.0
LEAST_IDLE_S = 2.0
LEAST_CYCLES_HEARD = 12
ABOUT_LEAST, ABOUT_FREE = 0.5, (0.72, 1.4)
ABOUT_LEAST_TWIN = 0.66  # half a twin's speed is the twin with one dead cylinder
BELOW_COST, ABOVE_COST = 0.20, 0.08  # blips go above, almost nothing goes below
SLOWEST_PERCENT = 10.0


def analyse(
    samples: ArrayLike,
    rate: float,
    firing_angles_deg: ArrayLike,
    about_rpm: float | None = None,
) -> Listening:
    """Listen to a recording.

    Parameters
    ----------
    samples : array, shape (n,) or (n, channels)
        Full scale 1; channels are averaged [1]
    rate : float
        [Hz]
    firing_angles_deg : array, shape (cylinders,)
        Crank angle of each firing top dead centre, 0 to 720 [deg]
    about_rpm : float, optional
        Rough idle speed, within a third; guards against finding half or double [1/min]

    Returns
    -------
    Listening
        With `refused` set when the recording cannot say.

    Raises
    ------
    InputError
        If the samples, the rate, the angles or the rough speed cannot be used at all.

    Examples
    --------
    >>> from tickover.physics.sound.synthesise import synthesise
    >>> made = synthesise([0, 360], speed_rpm=1000.0, duration_s=6.0, rate=16000)
    >>> heard = analyse(made.samples, made.rate, [0, 360], about_rpm=1100)
    >>> print(heard.refused, round(heard.speed_rpm.median / 10) * 10)
    None 1000
    """
    mono = _mono(samples, rate)
    fractions = firing_fractions(firing_angles_deg)
    about = _about(about_rpm)
    angles = tuple(float(angle) for angle in fractions * CYCLE_DEG)
    empty = Listening(None, mono.size / rate, angles, about)
    begin, end = sounding_part(mono, rate)
    empty = replace(empty, begins_s=begin / rate)
    refused = refusals.before_listening(mono[begin:end], rate)
    if refused is not None:
        return replace(empty, refused=refused)
    ready = condition(mono[begin:end], rate)
    signal, signal_rate = mark_signal(ready.samples, ready.rate)
    track = _track(ready, fractions, about)
    marks = find_marks(signal, signal_rate, fractions, track)
    if _half_speed(signal, marks, angles, track, about):
        track = Track(track.times_s, 2.0 * track.speed_rpm, track.score)
        marks = find_marks(signal, signal_rate, fractions, track)
    if marks.times_s.shape[0] < LEAST_CYCLES_HEARD:
        return replace(empty, refused=refusals.NO_ENGINE)
    return _describe(empty, ready, signal, track, marks)


def _mono(samples: ArrayLike, rate: float) -> NDArray[np.float32]:
    values = np.asarray(samples, dtype=np.float32)
    if values.ndim == 2:
        values = values.mean(axis=1, dtype=np.float32)
    if values.ndim != 1 or not np.all(np.isfinite(values)):
        raise InputError("The samples are not one row of numbers", given=f"shape {values.shape}")
    if not LEAST_RATE_HZ <= rate <= 400_000.0:
        raise InputError(
            "The sample rate cannot be used",
            given=f"{rate:g} Hz",
            allowed=f"{LEAST_RATE_HZ:g} to 400000 Hz",
        )
    if values.size > LONGEST_S * rate:
        raise InputError(
            "The recording is too long",
            given=f"{values.size / rate:.0f} s",
            allowed=f"up to {LONGEST_S:.0f} s",
            instead="a piece of 20 to 60 s",
        )
    return values


def _about(about_rpm: float | None) -> float | None:
    if about_rpm is None:
        return None
    if not LOWEST_RPM <= about_rpm <= HIGHEST_RPM:
        raise InputError(
            "The rough idle speed cannot be used",
            given=f"{about_rpm:g} rpm",
            allowed=f"{LOWEST_RPM:.0f} to {HIGHEST_RPM:.0f} rpm",
            instead="what the engine idles at within a third, for instance 1100",
        )
    return float(about_rpm)


def _track(ready: Conditioned, fractions: NDArray[np.float64], about: float | None) -> Track:
    least = (
        ABOUT_LEAST_TWIN if fractions.size == 2 and is_even(fractions * CYCLE_DEG) else ABOUT_LEAST
    )
    lowest = LOWEST_RPM if about is None else max(200.0, least * about)
    speeds = speed_grid(lowest, HIGHEST_RPM)
    # A twin with one dead cylinder sounds like a healthy one at half the speed: look for it
    # only where a rough speed can tell the two apart.
    patterns = variants(fractions, weak=about is not None or fractions.size > 2)
    times, scores = score_map(ready.samples, ready.rate, fractions, speeds, patterns)
    if about is not None:
        # Far from the rough idle speed is possible, a blip or a dip, but has to be heard clearly.
        above = np.clip(np.log(speeds / (ABOUT_FREE[1] * about)) / 0.2, 0.0, 1.0)
        below = np.clip(np.log(ABOUT_FREE[0] * about / speeds) / 0.2, 0.0, 1.0)
        scores -= (ABOVE_COST * above + BELOW_COST * below).astype(np.float32)
    return track_speed(times, scores, speeds)


def _half_speed(
    signal: NDArray[np.float64],
    marks: Marks,
    angles: tuple[float, ...],
    track: Track,
    about: float | None,
) -> bool:
    """Whether every second firing line is missing and nothing speaks against doubling."""
    if marks.times_s.shape[0] < LEAST_CYCLES_HEARD:
        return False
    if about is not None and about < np.sqrt(2.0) * float(np.median(track.speed_rpm)):
        return False
    if 2.0 * float(np.max(track.speed_rpm)) > HIGHEST_RPM:
        return False
    missing = every_second_missing_db(signal, marks, angles)
    return missing is not None and missing < MISSING_DB


def _describe(
    empty: Listening,
    ready: Conditioned,
    signal: NDArray[np.float64],
    track: Track,
    marks: Marks,
) -> Listening:
    times = track.times_s
    speed = np.clip(mean_speed(marks, times, MEAN_S), 0.3 * LOWEST_RPM, 2.0 * HIGHEST_RPM)
    idle = idle_frames(speed, HOP_S)
    cycle_idles = np.interp(marks.times_s[:, 0], times, idle.astype(float)) > 0.5
    measures = refusals.measure(ready, track, marks, speed, idle, signal)
    variation = cycle_variation(marks, cycle_idles, measures.fit)
    slowest = float(np.percentile(speed, SLOWEST_PERCENT))
    refused = refusals.after_listening(measures, variation, slowest, empty.about_rpm)
    if refused is not None:
        return replace(empty, refused=refused, measures=measures)
    shown, offset = times + empty.begins_s, empty.begins_s
    confidence = np.clip((track.score - 0.05) / 0.45, 0.0, 1.0)
    idles = np.count_nonzero(idle) * HOP_S >= LEAST_IDLE_S
    heard = replace(
        empty,
        speed_rpm=_summary(speed),
        idle_rpm=_summary(speed[idle]) if idles else None,
        idle_share=float(np.mean(idle)),
        track=tuple(zip(shown.tolist(), speed.tolist(), confidence.tolist(), strict=True)),
        marks_s=tuple(map(tuple, (marks.times_s + offset).tolist())),
        blips=find_blips(shown, speed),
        drift=idle_drift(shown, speed, idle),
        measures=measures,
    )
    heard = _with_variation(heard, variation)
    heard = judged_slots(heard, signal, marks, cycle_idles)
    return replace(heard, why=_whys(heard), remarks=(*heard.remarks, *_remarks(heard)))


def _summary(speed: NDArray[np.float64]) -> SpeedSummary:
    low, median, high = np.percentile(speed, [5.0, 50.0, 95.0])
    return SpeedSummary(float(median), float(low), float(high))


def _with_variation(heard: Listening, variation: Variation | None) -> Listening:
    if variation is None or variation.floor > 0.7 * variation.value:
        return heard
    return replace(
        heard,
        variation_percent=100.0 * variation.value,
        variation_interval=(100.0 * variation.low, 100.0 * variation.high),
    )


def _whys(heard: Listening) -> dict[str, str]:
    """Reasons for what is missing, besides the reasons the slots already gave."""
    why = dict(heard.why)
    if heard.idle_rpm is None:
        why["idle_rpm"] = "The engine does not idle for two seconds in this recording."
    if heard.variation_percent is None:
        why["variation_percent"] = (
            "Twenty cycles of idling are needed, slow enough for their lengths to be told apart."
        )
    if heard.drift is None:
        why["drift"] = "Ten seconds of idling are needed."
    return why


def _remarks(heard: Listening) -> tuple[str, ...]:
    remarks = []
    if heard.about_rpm is None and len(heard.firing_angles_deg) > 2:
        remarks.append(
            "No rough idle speed was given: with one dead cylinder the speed found can be half or "
            "two thirds of the true one. Give --about to be sure."
        )
    cylinders = len(heard.firing_angles_deg)
    if heard.blips and (cylinders > 2 or (cylinders == 2 and is_even(heard.firing_angles_deg))):
        remarks.append(
            "On this firing pattern the speed at the top of a blip can come out as half or a third "
            "of the true one: of 49 made by computer and told, 14 were over 10 % off. Make three "
            "blips, and believe speed and times only if they agree."
        )
    if any(blip.hanging for blip in heard.blips):
        remarks.append(
            "The idle hangs after a blip: look for false air, a lean pilot circuit, a sticking "
            "slide or cable, or too much advance at idle."
        )
    return tuple(remarks)
