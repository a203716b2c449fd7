"""Which readings fail together: faults of shared parts and of single items, ranked by Bayes.

Every item was found at a level: 0 right, higher is worse. An item goes wrong by itself with a
small probability, or through a shared part that is at fault (every item passing it may suffer).
Faults are independent, and the worst of them shows:

    P(level of i <= v) = own_i(v) * product over the faulty parts p that i passes of hurts_p(v)

so that, given the set of faulty parts, items are independent and their own faults are summed out
in closed form. Sets of up to three parts are summed one by one; what a fourth would add is given
by its prior as `left_out`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
_WORTH = 14.0
"""Parts that make the readings less likely by more than this (log) join no further sets."""
_MOST_IN_PAIRS, _MOST_IN_TRIPLES = 40, 14


@dataclass(frozen=True, slots=True)
class Part:
    """A shared part.

    Parameters
    ----------
    items : tuple of int
        That pass it.
    prior : float
        Probability of a fault, before anything was read, below 1 [1]
    hurts : tuple of float, length levels
        P(level of an item | only this part is at fault); sums to 1 [1]
    """

    items: tuple[int, ...]
    prior: float
    hurts: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CommonFaults:
    """What the readings say.

    Parameters
    ----------
    parts : array, shape (m,)
        Probability that each shared part is at fault [1]
    items : array, shape (n,)
        Probability that each item has a fault of its own [1]
    nothing_shared : float
        Probability that no shared part is at fault [1]
    left_out : float
        Prior probability of more faulty parts at once than were summed [1]
    """

    parts: Floats
    items: Floats
    nothing_shared: float
    left_out: float


def common_faults(
    levels: Sequence[int | None],
    parts: Sequence[Part],
    own: Sequence[Sequence[float]],
    own_prior: Sequence[float],
    slip: float = 0.003,
) -> CommonFaults:
    """Probabilities of faults of shared parts and of items, given what was found.

    Parameters
    ----------
    levels : sequence of int or None, length n
        Found at each item; None where nothing was read.
    parts : sequence of Part
    own : sequence of sequences, shape (n, levels)
        P(level | the item's own fault) [1]
    own_prior : sequence of float, length n
        Probability of an own fault [1]
    slip : float
        Probability that a reading was mistaken, then any level alike [1]

    Returns
    -------
    CommonFaults

    Raises
    ------
    InputError
        If shapes or levels do not fit.

    Notes
    -----
    Noisy-or over independent causes, generalised to ordered levels by the maximum; source:
    J. Pearl, Probabilistic Reasoning in Intelligent Systems (1988), section 4.3.2. Held against
    the sum over every set of faults in tests/unit/decide/test_common_faults.py.

    Examples
    --------
    >>> shared = Part((0, 1, 2), 0.01, (0.0, 1.0))
    >>> own = [[0.0, 1.0]] * 4
    >>> found = common_faults([1, 1, 1, 0], [shared], own, [0.01] * 4)
    >>> bool(found.parts[0] > 0.99)
    True
    """
    table = np.asarray(own, dtype=np.float64)
    prior = np.asarray(own_prior, dtype=np.float64)
    if table.ndim != 2 or len(levels) != len(table) or prior.shape != (len(table),):
        raise InputError("Readings and items do not match", given=f"{len(levels)}, {len(table)}")
    wide = table.shape[1]
    if any(v is not None and not 0 <= v < wide for v in levels):
        raise InputError("There is no such level", given=str(levels), allowed=f"0 to {wide - 1}")
    read = [i for i, v in enumerate(levels) if v is not None]
    at = np.array([levels[i] for i in read], dtype=np.intp)
    clear = np.zeros(wide)
    clear[0] = 1.0
    without = np.cumsum(np.tile(clear, (len(read), 1)), axis=1)
    fault = np.cumsum(table[read], axis=1)
    mixed = (1.0 - prior[read, None]) * without + prior[read, None] * fault
    factors = _factors(parts, read, wide)
    sets = _sets(parts, mixed, factors, at, wide, slip)
    # A part more, always right, fills sets of fewer than three.
    chosen = np.array([(*members, *[len(parts)] * (3 - len(members))) for members in sets])
    hurt = factors[chosen[:, 0]] * factors[chosen[:, 1]] * factors[chosen[:, 2]]
    seen = _at_level(mixed * hurt, at, slip, wide)
    with_own = _at_level(fault * hurt, at, slip, wide)
    odds = np.append([np.log(p.prior / (1.0 - p.prior)) for p in parts], 0.0)
    logs = np.log(seen).sum(axis=1) + odds[chosen].sum(axis=1)
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    per_part = np.zeros(len(parts) + 1)
    np.add.at(per_part, chosen.ravel(), np.repeat(weight, 3))
    items = prior.copy()
    if read:
        items[read] = weight @ (prior[read] * with_own / seen)
    return CommonFaults(per_part[: len(parts)], items, float(weight[0]), _left_out(parts))


def _factors(parts: Sequence[Part], read: Sequence[int], wide: int) -> Floats:
    """P(level <= v) of each item read, shape (parts + 1, items, levels): ones where not passed."""
    row = {item: r for r, item in enumerate(read)}
    made = np.ones((len(parts) + 1, len(read), wide))
    for p, part in enumerate(parts):
        if len(part.hurts) != wide or not 0.0 < part.prior < 1.0:
            raise InputError("A part does not fit", given=str(part.hurts), allowed=f"{wide} levels")
        rows = [row[i] for i in part.items if i in row]
        made[p, rows] = np.cumsum(part.hurts)
    return made


def _at_level(cumulative: Floats, at: NDArray[np.intp], slip: float, wide: int) -> Floats:
    """P(the level found), over the last two axes; slips included."""
    rows = np.arange(len(at))
    here = cumulative[..., rows, at]
    below = np.where(at > 0, cumulative[..., rows, np.maximum(at - 1, 0)], 0.0)
    return np.asarray((1.0 - slip) * (here - below) + slip / wide)


def _sets(
    parts: Sequence[Part],
    mixed: Floats,
    factors: Floats,
    at: NDArray[np.intp],
    wide: int,
    slip: float,
) -> list[tuple[int, ...]]:
    """Sets worth summing: none, each part, pairs and triples of those that do not speak against.

    A second part explains at most what it explains alone, so one far behind the best joins no set.
    """
    sets: list[tuple[int, ...]] = [(), *((p,) for p in range(len(parts)))]
    if len(parts) < 2:
        return sets
    alone = np.log(_at_level(mixed * factors, at, slip, wide)).sum(axis=1)
    odds = np.array([np.log(p.prior / (1.0 - p.prior)) for p in parts])
    gain = alone[:-1] - alone[-1] + odds
    worth = [int(p) for p in np.argsort(-gain) if gain[p] > -_WORTH][:_MOST_IN_PAIRS]
    sets += combinations(worth, 2)
    sets += combinations(worth[:_MOST_IN_TRIPLES], 3)
    return sets


def _left_out(parts: Sequence[Part]) -> float:
    """Prior probability of four or more faulty parts at once."""
    chances = np.zeros(4)
    chances[0] = 1.0
    for part in parts:
        more = np.concatenate([[0.0], chances[:-1]]) * part.prior
        chances = chances * (1.0 - part.prior) + more
    return float(max(0.0, 1.0 - chances.sum()))
