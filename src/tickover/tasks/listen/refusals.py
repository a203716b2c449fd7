"""When a recording cannot say, why, and what to do instead.

The limits were set on the synthesiser of the package and on a first set of speech, music and
noise; docs/listen.md gives the rates on a second generator and a second set that had no part
in setting them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tickover.physics.sound.conditioning import Conditioned
from tickover.physics.sound.marks import Marks, explained
from tickover.physics.sound.spectra import HOP_S
from tickover.physics.sound.steadiness import Variation
from tickover.physics.sound.tracking import Track
from tickover.tasks.listen.listening import Measures, Refusal

SILENT = 1e-4  # root mean square, full scale 1: three steps of a 16 bit file
SHORTEST_S = 3.0
MOST_CLIPPED = 0.3
MOST_HUM = 0.5
MOST_PAUSES = 0.02
MOST_SWING_DB = 3.0
LEAST_SCORE, SURE_SCORE = 0.10, 0.22
LEAST_FIT, SURE_FIT = 0.35, 0.55  # below both sure values there is no engine either
LEAST_AGREEMENT = 0.88
MOST_WANDER = 0.08
MOST_FILL_DB = -4.5
LEAST_VARIATION = 0.0012
MOST_VARIATION = 0.08
FASTEST_IDLE_RPM = 2500.0
ABOUT_RANGE = (0.62, 1.6)
EDGE_S = 0.4  # frames at the ends see half a window
SWING_PIECE_S = 0.125

CLOSER = (
    "Record again outdoors, one to two metres beside the exhaust, for 20 seconds of idling, "
    "with nobody talking."
)
ROUGH_SPEED = "say roughly how fast it runs (--about 1100)"
NO_ENGINE = Refusal(
    "no_engine", "Nothing in this recording repeats the way this engine would.", CLOSER
)


def before_listening(samples: NDArray[np.float32], rate: float) -> Refusal | None:
    """Refusals that need no listening: too short, silent.

    Parameters
    ----------
    samples : array, shape (n,)
        [1]
    rate : float
        [Hz]

    Returns
    -------
    Refusal or None
    """
    if samples.size < SHORTEST_S * rate:
        return Refusal(
            "too_short",
            f"The recording is {samples.size / rate:.1f} s long; {SHORTEST_S:.0f} s is the least, "
            "and 20 s tells much more.",
            "Record 20 seconds of idling.",
        )
    if float(np.sqrt(np.mean(np.square(samples, dtype=np.float64)))) < SILENT:
        return Refusal(
            "silent",
            "The recording is silent.",
            "Check that the recorder may use the microphone and that nothing covers it, "
            "then record again.",
        )
    return None


def measure(
    ready: Conditioned,
    track: Track,
    marks: Marks,
    speed_rpm: NDArray[np.float64],
    idle: NDArray[np.bool_],
    signal: NDArray[np.float64],
) -> Measures:
    """The numbers on which a recording is accepted or refused.

    Parameters
    ----------
    ready : Conditioned
    track : Track
    marks : Marks
    speed_rpm, idle : array, shape (frames,)
        Speed from the marks, and where it idles [1/min]
    signal : array, shape (n,)
        At the rate of the marks [1]

    Returns
    -------
    Measures
    """
    edge = int(EDGE_S / HOP_S)
    judged = idle.copy()
    judged[:edge] = judged[-edge:] = False
    if np.count_nonzero(judged) * HOP_S < 2.0:
        judged[edge:-edge] = True
    cycles = np.interp(marks.times_s[:, 0], track.times_s, judged.astype(float)) > 0.5
    return Measures(
        score=float(np.median(track.score[judged])),
        agreement=marks.agreement,
        fit=explained(signal, marks, cycles),
        pauses=ready.pauses,
        swing_db=level_swing_db(ready, idle),
        wander=wander(speed_rpm, idle),
        fill_db=fill_db(signal, marks),
        clipped=ready.clipped,
        hum_share=ready.hum_share,
        hum_hz=ready.hum_hz,
    )


def level_swing_db(ready: Conditioned, idle: NDArray[np.bool_]) -> float:
    """How far the loudness moves in half a second while idling (three quarters move less).

    Parameters
    ----------
    ready : Conditioned
    idle : array, shape (frames,)

    Returns
    -------
    float
        [dB]
    """
    step = int(SWING_PIECE_S * ready.rate)
    count = ready.samples.size // step
    pieces = ready.samples[: count * step].reshape(count, step).astype(np.float64)
    power = np.convolve(np.mean(pieces**2, axis=1), np.full(4, 0.25), "valid")
    level = 10.0 * np.log10(power + 1e-20)
    when = (np.arange(level.size) + 2.0) * SWING_PIECE_S
    frames = (np.arange(idle.size) + 0.5) * HOP_S
    use = np.interp(when, frames, idle.astype(float)) > 0.5
    kept = level[use] if np.count_nonzero(use) >= 12 else level
    if kept.size < 8:
        return 0.0
    return float(np.percentile(np.abs(kept[4:] - kept[:-4]), 75.0))


def wander(speed_rpm: NDArray[np.float64], idle: NDArray[np.bool_]) -> float:
    """Mean relative change of speed in a quarter second while idling.

    Parameters
    ----------
    speed_rpm, idle : array, shape (frames,)
        [1/min]

    Returns
    -------
    float
        [1]
    """
    logs = np.log(speed_rpm)
    step = int(0.25 / HOP_S)
    change = np.abs(logs[step:] - logs[:-step])
    use = idle[step:] & idle[:-step]
    return float(np.mean(change[use] if np.count_nonzero(use) >= 40 else change))


def fill_db(signal: NDArray[np.float64], marks: Marks) -> float:
    """How loud the quiet part of the cycle is against the loud part.

    Parameters
    ----------
    signal : array, shape (n,)
        At the rate of the marks [1]
    marks : Marks

    Returns
    -------
    float
        Near 0 when echo, noise or music fills the time between firings [dB]
    """
    bins = 12 * marks.times_s.shape[1]
    cycle = np.diff(marks.times_s[:, 0])[:, None] * marks.rate
    total = np.concatenate(([0.0], np.cumsum(signal**2)))
    edges = marks.times_s[:-1, :1] * marks.rate + cycle * (np.arange(bins + 1) / bins)
    inside = np.interp(edges, np.arange(total.size), total)
    typical = np.median(np.diff(inside, axis=1) / (cycle / bins), axis=0)
    quiet, loud = np.percentile(typical, [10.0, 95.0])
    return float(10.0 * np.log10((quiet + 1e-12) / (loud + 1e-12)))


def after_listening(
    measures: Measures,
    variation: Variation | None,
    slow_running_rpm: float,
    about_rpm: float | None,
) -> Refusal | None:
    """Refusals after listening, the likeliest reason first.

    Parameters
    ----------
    measures : Measures
    variation : Variation or None
    slow_running_rpm : float
        The slowest running that lasts [1/min]
    about_rpm : float or None
        [1/min]

    Returns
    -------
    Refusal or None
    """
    m = measures
    if m.clipped > MOST_CLIPPED:
        return Refusal(
            "clipped",
            f"The recording is overloaded: {100 * m.clipped:.0f} % of it has flat tops.",
            "Go back to two or three metres, or turn the recording level down.",
        )
    refused = _nothing_heard(m) or _implausible(m, variation, slow_running_rpm, about_rpm)
    if refused is not None and m.hum_share > MOST_HUM:
        return Refusal(
            "hum",
            f"Mains hum at {m.hum_hz or 50.0:.0f} Hz is louder than anything else.",
            "Unplug chargers and lamps near the recorder, or record on battery; go closer.",
        )
    return refused


def _nothing_heard(m: Measures) -> Refusal | None:
    if m.pauses > MOST_PAUSES or m.swing_db > MOST_SWING_DB:
        return Refusal(
            "pauses",
            "The sound comes and goes as speech and music do; a running engine does not pause.",
            CLOSER,
        )
    if (
        m.score < LEAST_SCORE
        or m.fit < LEAST_FIT
        or m.agreement < LEAST_AGREEMENT
        or (m.score < SURE_SCORE and m.fit < SURE_FIT)
    ):
        return NO_ENGINE
    if m.wander > MOST_WANDER:
        return Refusal(
            "unsteady",
            "The speed found jumps about more than a crankshaft can.",
            CLOSER + " If it was an engine, " + ROUGH_SPEED + ".",
        )
    return None


def _implausible(
    m: Measures,
    variation: Variation | None,
    slow_running_rpm: float,
    about_rpm: float | None,
) -> Refusal | None:
    if variation is not None and variation.value < LEAST_VARIATION:
        return Refusal(
            "too_even",
            f"Every cycle is as long as the next within {100 * variation.value:.2f} %; no idling "
            "engine is so even. A fan, a motor or a tone is.",
            CLOSER,
        )
    if m.fill_db > MOST_FILL_DB:
        return Refusal(
            "echo",
            "The sound does not die away between firings: echo, noise or music fills the time.",
            "Record outdoors, away from walls, one to two metres beside the exhaust.",
        )
    if variation is not None and variation.value > MOST_VARIATION:
        return Refusal(
            "unsteady",
            f"The cycles differ by {100 * variation.value:.0f} %, more than an engine that keeps "
            "running shows.",
            CLOSER + " If it was an engine, " + ROUGH_SPEED + ".",
        )
    if about_rpm is None and slow_running_rpm > FASTEST_IDLE_RPM:
        return Refusal(
            "cylinders",
            f"The slowest running heard would be {slow_running_rpm:.0f} rpm, too fast for an idle: "
            "another number of cylinders, another firing pattern, or no engine.",
            "Check the cylinders in the engine file. If it was held there on purpose, "
            + ROUGH_SPEED
            + ".",
        )
    if about_rpm is not None and not (
        ABOUT_RANGE[0] <= slow_running_rpm / about_rpm <= ABOUT_RANGE[1]
    ):
        return Refusal(
            "cylinders",
            f"What is heard fits {slow_running_rpm:.0f} rpm, not about {about_rpm:.0f} rpm: "
            "another number of cylinders or firing pattern, or a wrong rough speed.",
            "Check the cylinders in the engine file, and the rough speed.",
        )
    return None
