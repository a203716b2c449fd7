"""How likely readings are: numbers with long tails, words as bounds with soft edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError
from tickover.tasks.mixture.readings import Reading
from tickover.tasks.mixture.target import Target

Floats = NDArray[np.float64]

RICHEST, LEANEST = 0.60, 1.40
"""Lambda beyond which a spark lights nothing steadily: an engine that ran rich or lean was not
beyond them (common practice, no source) [-]"""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Readings as arrays: values with spreads, or bounds that a word puts on ln lambda."""

    value: Floats
    spread: Floats
    is_number: NDArray[np.bool_]
    low: Floats
    high: Floats
    noise: Floats


def evidence_of(
    readings: Sequence[Reading], target: Target, word_edge: float, word_noise: float
) -> Evidence:
    """Readings as arrays.

    Parameters
    ----------
    readings : sequence of Reading
    target : Target
        What the words are measured by.
    word_edge, word_noise : float
        'About right' reaches this far to either side, and how sharp that edge is [-]

    Returns
    -------
    Evidence

    Raises
    ------
    InputError
        If a reading holds neither a number nor a word.
    """
    n = len(readings)
    value, spread = np.zeros(n), np.ones(n)
    is_number = np.zeros(n, dtype=bool)
    low, high = np.full(n, -np.inf), np.full(n, np.inf)
    noise = np.full(n, word_noise)
    wanted = np.log(target.at(np.array([r.opening for r in readings])))
    for i, reading in enumerate(readings):
        if reading.lam is not None:
            value[i] = math.log(reading.lam)
            spread[i] = max(reading.spread, 1e-3)
            is_number[i] = True
            continue
        if reading.sign is None:
            raise InputError("A reading with neither lambda nor word", where=reading.where)
        noise[i] = word_noise / math.sqrt(reading.sign.weight)
        if reading.sign.verdict == "rich":
            low[i], high[i] = math.log(RICHEST), wanted[i] - word_edge
        elif reading.sign.verdict == "lean":
            low[i], high[i] = wanted[i] + word_edge, math.log(LEANEST)
        else:
            low[i], high[i] = wanted[i] - word_edge, wanted[i] + word_edge
    return Evidence(value, spread, is_number, low, high, noise)


# A number far off is more likely a misfire than a message: Student's t with this many degrees.
_TAIL = 6.0


def cost(
    data: Evidence, predicted: Floats, theta: Floats, u: Floats, anchor: Floats, spread: Floats
) -> float:
    """Minus the log of prior times likelihood, up to a constant."""
    away = (theta - anchor) / spread
    total = 0.5 * float(away @ away + u @ u)
    r = (data.value - predicted)[data.is_number] / data.spread[data.is_number]
    total += 0.5 * (_TAIL + 1.0) * float(np.log1p(r * r / _TAIL).sum())
    words = ~data.is_number
    if words.any():
        total -= float(_word_log(data, predicted, words).sum())
    return total


def _word_log(data: Evidence, predicted: Floats, words: NDArray[np.bool_]) -> Floats:
    from scipy.special import log_ndtr

    a = (data.low[words] - predicted[words]) / data.noise[words]
    b = (data.high[words] - predicted[words]) / data.noise[words]
    # ln(Phi(b) - Phi(a)), from whichever tail keeps its digits.
    flip = a > 0.0
    upper = np.where(flip, -a, b)
    lower = np.where(flip, -b, a)
    top = log_ndtr(upper)
    gap = np.exp(np.minimum(log_ndtr(lower) - top, -1e-12))
    out: Floats = top + np.log1p(-gap)
    return out


def gradient_of(data: Evidence, predicted: Floats) -> tuple[Floats, Floats]:
    """Slope of the log-likelihood in ln lambda at each reading, and minus its curvature."""
    n = predicted.size
    gradient, weight = np.zeros(n), np.zeros(n)
    numbers = data.is_number
    r = (data.value - predicted)[numbers] / data.spread[numbers]
    robust = (_TAIL + 1.0) / (_TAIL + r * r) / data.spread[numbers] ** 2
    gradient[numbers] = robust * (data.value - predicted)[numbers]
    weight[numbers] = robust
    words = ~numbers
    if words.any():
        a = (data.low[words] - predicted[words]) / data.noise[words]
        b = (data.high[words] - predicted[words]) / data.noise[words]
        log_p = _word_log(data, predicted, words)
        root = 1.0 / math.sqrt(2.0 * math.pi)
        pdf_a = np.where(np.isfinite(a), np.exp(-0.5 * a * a - log_p), 0.0) * root
        pdf_b = np.where(np.isfinite(b), np.exp(-0.5 * b * b - log_p), 0.0) * root
        first = pdf_a - pdf_b
        inside = np.where(np.isfinite(a), a, 0.0) * pdf_a - np.where(np.isfinite(b), b, 0.0) * pdf_b
        gradient[words] = first / data.noise[words]
        weight[words] = np.maximum(first**2 - inside, 1e-6) / data.noise[words] ** 2
    return gradient, weight


def probability_below(mean: Floats, spread: Floats, edge: Floats | float) -> Floats:
    """Probability that a normal unknown lies below `edge`, shape (n,) [-]."""
    from scipy.special import ndtr

    out: Floats = ndtr((edge - mean) / np.maximum(spread, 1e-12))
    return out
