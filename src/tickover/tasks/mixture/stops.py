"""When not to go on: pinking, or lean where it melts pistons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tickover.tasks.mixture.posterior import Round
from tickover.tasks.mixture.readings import Reading
from tickover.tasks.mixture.target import FULL_THROTTLE, Target

_LEAN_NUMBER = 1.0
"""Lambda at full throttle from which a number stops like a word."""

FIRST_LOOK = (
    "air leaks at the carburettor rubbers",
    "float level and fuel flow through tap and filter",
    "ignition timing under the strobe, and that the advance does not stick",
    "the heat range of the plugs, and the fuel that is in the tank",
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the advice is to stop, and what to look at first."""

    why: str
    readings: tuple[Reading, ...]
    look_first: tuple[str, ...] = FIRST_LOOK


def stop_in(rounds: Sequence[Round], target: Target) -> Stop | None:
    """Whether the readings say stop.

    Parameters
    ----------
    rounds : sequence of Round
        In the order they were run; struck-out readings left out.
    target : Target

    Returns
    -------
    Stop or None

    Notes
    -----
    Pinking anywhere stops. Lean at full throttle, as a word or as lambda 1.0 and above, stops.
    An earlier round that stopped goes on stopping until the same place was read again with other
    jets and was not lean: no reading since is no proof of a cure.
    """
    for index in range(len(rounds) - 1, -1, -1):
        bad = [r for r in rounds[index].readings if _is_pinking(r) or _is_lean_full(r)]
        if not bad:
            continue
        later = [
            r for one in rounds[index + 1 :] for r in one.readings
            if one.setting != rounds[index].setting
        ]  # fmt: skip
        uncured = tuple(r for r in bad if not any(_cures(r, s, target) for s in later))
        if uncured:
            return Stop(_why(uncured, index == len(rounds) - 1), uncured)
    return None


def _is_pinking(reading: Reading) -> bool:
    return reading.sign is not None and reading.sign.word == "pinking"


def _is_lean_full(reading: Reading) -> bool:
    if reading.opening < FULL_THROTTLE:
        return False
    if reading.sign is not None and reading.sign.verdict == "lean":
        return True
    return reading.lam is not None and reading.lam >= _LEAN_NUMBER


def _cures(bad: Reading, later: Reading, target: Target) -> bool:
    near = abs(bad.opening - later.opening) < 0.15
    if bad.opening >= FULL_THROTTLE:
        near = later.opening >= FULL_THROTTLE
    fine = not _is_pinking(later) and not _is_lean_full(later)
    if later.sign is not None:
        fine = fine and later.sign.verdict != "lean"
    if later.lam is not None:
        limit = 1.05 * float(target.at(_one(later.opening))[0])
        fine = fine and later.lam <= max(limit, 0.92)
    return near and fine


def _one(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:

    return np.array([value])


def _why(bad: tuple[Reading, ...], current: bool) -> str:
    places = ", ".join(sorted({f"{r.opening:.0%} open at {r.speed_rpm:.0f} rpm" for r in bad}))
    what = "Pinking" if any(_is_pinking(r) for r in bad) else "Lean at full throttle"
    since = "" if current else " in an earlier round, and no reading since shows it cured"
    return f"{what} ({places}){since}. Do not ride it like this: it holes pistons."
