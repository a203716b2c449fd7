"""What a check would tell before it is done: bits, bits per minute, chance of the right remedy.

A check is a table P(outcome | hypothesis). Its worth in bits is the mutual information between
outcome and hypothesis; its worth for the decision is how much likelier the best remedy becomes
to be the right one, on average over the outcomes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
_SUMS_TO_ONE = 1e-6  # tables typed with a few decimals; they are then scaled exactly


@dataclass(frozen=True, slots=True)
class CheckValue:
    """What one check is worth.

    Parameters
    ----------
    check : int
        Index of the check.
    bits : float
        Expected information, never negative [bit]
    bits_per_minute : float
        [bit/min]
    gain : float
        Expected rise in the probability that the best remedy is the right one [1]
    outcomes : tuple of float
        Probability of each outcome as things stand [1]
    """

    check: int
    bits: float
    bits_per_minute: float
    gain: float
    outcomes: tuple[float, ...]


def entropy(probabilities: ArrayLike) -> float:
    """Uncertainty of a distribution.

    Parameters
    ----------
    probabilities : array, shape (n,)
        Non-negative; scaled to sum to one [1]

    Returns
    -------
    float
        [bit]

    Notes
    -----
    Source: C. E. Shannon, 'A mathematical theory of communication', Bell System Technical
    Journal 27 (1948), section 6. Checked in tests/unit/decide/test_information.py.

    Examples
    --------
    >>> entropy([0.25, 0.25, 0.25, 0.25])
    2.0
    """
    p = distribution(probabilities, "probabilities")
    return float(-np.sum(_x_log2_x(p)) + 0.0)


def distribution(values: ArrayLike, name: str) -> Floats:
    """Check that the values can be probabilities and scale them to sum to one.

    Parameters
    ----------
    values : array, shape (n,)
        Non-negative, not all zero [1]
    name : str
        What they are, for the message.

    Returns
    -------
    array, shape (n,)
        [1]

    Raises
    ------
    InputError
        If a value is negative or not finite, or none is positive.

    Examples
    --------
    >>> distribution([1, 3], "odds").tolist()
    [0.25, 0.75]
    """
    p = np.asarray(values, dtype=np.float64)
    if p.ndim != 1 or not np.isfinite(p).all() or (p < 0.0).any() or not p.sum() > 0.0:
        raise InputError(
            f"The {name} are not a distribution",
            given=str(values),
            allowed="numbers of zero or more, at least one above zero",
        )
    scaled: Floats = p / p.sum()
    return scaled


def likelihood_table(table: ArrayLike, hypotheses: int, name: str) -> Floats:
    """Check a table P(outcome | hypothesis) and scale its columns to sum to one exactly.

    Parameters
    ----------
    table : array, shape (outcomes, hypotheses)
        [1]
    hypotheses : int
        How many columns it must have.
    name : str
        What it is, for the message.

    Returns
    -------
    array, shape (outcomes, hypotheses)
        [1]

    Raises
    ------
    InputError
        If the shape is wrong, a value is negative, or a column does not sum to one within 1e-6.

    Examples
    --------
    >>> likelihood_table([[0.9, 0.2], [0.1, 0.8]], 2, "check").shape
    (2, 2)
    """
    array = np.asarray(table, dtype=np.float64)
    if array.ndim != 2 or array.shape[0] == 0 or array.shape[1] != hypotheses:
        raise InputError(
            f"The table of {name} has the wrong shape",
            given=str(array.shape),
            allowed=f"(outcomes, {hypotheses})",
        )
    sums = array.sum(axis=0)
    bad = (array < 0.0).any(axis=0) | ~(np.abs(sums - 1.0) <= _SUMS_TO_ONE)
    if bad.any():
        column = int(bad.argmax())
        raise InputError(
            f"In the table of {name}, column {column} is not a distribution over the outcomes",
            given=str(array[:, column].tolist()),
            allowed="numbers of zero or more that sum to one",
        )
    result: Floats = array / sums
    return result


def stack(tables: Sequence[ArrayLike], hypotheses: int) -> Floats:
    """Put tables with different numbers of outcomes into one array, padded with zeros.

    Parameters
    ----------
    tables : sequence of arrays, shape (outcomes, hypotheses)
        [1]
    hypotheses : int

    Returns
    -------
    array, shape (checks, most outcomes, hypotheses)
        [1]

    Raises
    ------
    InputError
        As `likelihood_table`.

    Examples
    --------
    >>> stack([[[1, 0], [0, 1]], [[0.2, 0.3], [0.3, 0.3], [0.5, 0.4]]], 2).shape
    (2, 3, 2)
    """
    checked = [likelihood_table(t, hypotheses, f"check {i}") for i, t in enumerate(tables)]
    wide = max((len(t) for t in checked), default=0)
    stacked = np.zeros((len(checked), wide, hypotheses))
    for i, table in enumerate(checked):
        stacked[i, : len(table)] = table
    return stacked


def information(probabilities: ArrayLike, stacked: ArrayLike) -> Floats:
    """Expected information of each check.

    Parameters
    ----------
    probabilities : array, shape (hypotheses,)
        [1]
    stacked : array, shape (checks, outcomes, hypotheses)
        From `stack` [1]

    Returns
    -------
    array, shape (checks,)
        Mutual information of outcome and hypothesis, never negative [bit]

    Notes
    -----
    I = sum over o, h of P(o, h) log2( P(o, h) / (P(o) P(h)) ).
    Source: T. M. Cover and J. A. Thomas, 'Elements of Information Theory', 2nd ed., Wiley 2006,
    section 2.3. Checked in tests/unit/decide/test_information.py.

    Examples
    --------
    >>> information([0.5, 0.5], stack([[[1, 0], [0, 1]], [[0.5, 0.5], [0.5, 0.5]]], 2)).tolist()
    [1.0, 0.0]
    """
    p = distribution(probabilities, "probabilities")
    table = np.asarray(stacked, dtype=np.float64)
    outcome = table @ p
    # H(outcome) - H(outcome | hypothesis): no division, zeros need no special case.
    bits = _x_log2_x(table).sum(axis=1) @ p - _x_log2_x(outcome).sum(axis=1)
    result: Floats = np.maximum(bits, 0.0)  # below zero by rounding only
    return result


def remedy_gain(
    probabilities: ArrayLike, stacked: ArrayLike, success: ArrayLike | None = None
) -> Floats:
    """Expected rise in the probability of ending with the right remedy, per check.

    Parameters
    ----------
    probabilities : array, shape (hypotheses,)
        [1]
    stacked : array, shape (checks, outcomes, hypotheses)
        From `stack` [1]
    success : array, shape (remedies, hypotheses), optional
        Probability that a remedy is right under a hypothesis; one remedy per hypothesis when
        left out [1]

    Returns
    -------
    array, shape (checks,)
        Never negative [1]

    Raises
    ------
    InputError
        If `success` has the wrong shape or values outside 0..1.

    Notes
    -----
    Expected value of sample information with a gain of one for the right remedy: H. Raiffa and
    R. Schlaifer, 'Applied Statistical Decision Theory', Harvard 1961, chapter 4.

    Examples
    --------
    >>> remedy_gain([0.5, 0.5], stack([[[1, 0], [0, 1]]], 2)).tolist()
    [0.5]
    """
    p = distribution(probabilities, "probabilities")
    table = np.asarray(stacked, dtype=np.float64)
    works = np.eye(len(p)) if success is None else np.asarray(success, dtype=np.float64)
    if works.ndim != 2 or works.shape[1] != len(p) or not ((works >= 0) & (works <= 1)).all():
        raise InputError(
            "The success table does not fit",
            given=str(works.shape),
            allowed=f"(remedies, {len(p)}) with numbers from 0 to 1",
        )
    now = (works @ p).max(initial=0.0)
    after = ((table * p) @ works.T).max(axis=2, initial=0.0).sum(axis=1)
    result: Floats = np.maximum(after - now, 0.0)
    return result


def rank_checks(
    probabilities: ArrayLike,
    tables: Sequence[ArrayLike],
    minutes: ArrayLike,
    success: ArrayLike | None = None,
    by: Literal["bits_per_minute", "bits", "gain"] = "bits_per_minute",
) -> tuple[CheckValue, ...]:
    """The checks, the most worthwhile first.

    Parameters
    ----------
    probabilities : array, shape (hypotheses,)
        [1]
    tables : sequence of arrays, shape (outcomes, hypotheses)
        P(outcome | hypothesis), one per check [1]
    minutes : array, shape (checks,)
        Effort, above zero [min]
    success : array, shape (remedies, hypotheses), optional
        As `remedy_gain` [1]
    by : {'bits_per_minute', 'bits', 'gain'}
        What to order by; equals keep the order given.

    Returns
    -------
    tuple of CheckValue

    Raises
    ------
    InputError
        If a table is not a table of distributions or an effort is not above zero.

    Examples
    --------
    >>> quick, slow = [[0.8, 0.2], [0.2, 0.8]], [[1, 0], [0, 1]]
    >>> [value.check for value in rank_checks([0.5, 0.5], [slow, quick], [30, 2])]
    [1, 0]
    """
    p = distribution(probabilities, "probabilities")
    effort = np.asarray(minutes, dtype=np.float64)
    if effort.shape != (len(tables),) or not (np.isfinite(effort) & (effort > 0.0)).all():
        raise InputError(
            "The minutes do not fit",
            given=str(minutes),
            allowed=f"{len(tables)} numbers above zero",
        )
    stacked = stack(tables, len(p))
    if not len(stacked):
        return ()
    bits, gain = information(p, stacked), remedy_gain(p, stacked, success)
    outcome = stacked @ p
    sizes = [len(np.asarray(table)) for table in tables]
    values = [
        CheckValue(
            check=i,
            bits=float(bits[i]),
            bits_per_minute=float(bits[i] / effort[i]),
            gain=float(gain[i]),
            outcomes=tuple(outcome[i, : sizes[i]].tolist()),
        )
        for i in range(len(tables))
    ]
    return tuple(sorted(values, key=lambda value: -float(getattr(value, by))))


def _x_log2_x(x: Floats) -> Floats:
    result: Floats = x * np.log2(np.where(x > 0.0, x, 1.0))
    return result
