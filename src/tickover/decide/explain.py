"""Why do some of these values look wrong? Causes ranked by Bayes' rule, up to two at a time.

The picture: each item has a true value, expected near a mean with some spread. A cause, when it
is at work, moves one or more items by one unknown amount t, each with its own sign (+t here and
-t there for an exchange; +t on all for a common cause). We saw each item only as an interval.

    value_i = mean_i + spread_i * e_i + sum over causes at work of sign_i * t
    seen:  low_i <= value_i + noise <= high_i      (either end may be open)

Everything reduces to one table, B_i(t) = P(what was seen of item i | it was moved by t), which
has a closed form. A cause's likelihood is a sum over its t; two causes on different items
multiply; one cause (the background) may act on everything and joins any of the others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]

_TINY = 1e-300
_NEGLIGIBLE = 30.0
"""Differences of log probability beyond this do not show."""


@dataclass(frozen=True, slots=True)
class Shift:
    """How far a cause may move what it acts on: a density over the amount t.

    Use one of the constructors; `density` maps an array of t to a density (any scale).
    """

    density: Callable[[Floats], Floats]
    reach: tuple[float, float]
    """Lower and upper end beyond which the density is nothing."""

    @staticmethod
    def normal(middle: float, spread: float) -> Shift:
        """Near `middle`, give or take `spread` (one standard deviation, above zero)."""
        if spread <= 0:
            raise InputError("A spread must be above zero", given=str(spread))
        return Shift(
            lambda t: np.exp(-0.5 * ((t - middle) / spread) ** 2),
            (middle - 5 * spread, middle + 5 * spread),
        )

    @staticmethod
    def one_sided(mean: float) -> Shift:
        """From zero outwards, exponentially rarer; the sign of `mean` is the direction."""
        if mean == 0:
            raise InputError("A one-sided shift needs a mean other than zero", given="0")
        return Shift(
            lambda t: np.where(t / mean >= 0, np.exp(-np.clip(t / mean, 0, 700)), 0.0),
            (min(0.0, 8 * mean), max(0.0, 8 * mean)),
        )

    @staticmethod
    def within(low: float, high: float) -> Shift:
        """Anywhere between two ends alike."""
        return Shift(lambda t: ((t >= low) & (t <= high)).astype(np.float64), (low, high))


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that may be at work.

    `odds` is its prior odds of being at work. `passing` says that it will be gone once the
    items are looked at properly again; otherwise the items stay moved.
    """

    label: str
    items: tuple[int, ...]
    odds: float
    shift: Shift
    signs: tuple[int, ...] = ()
    passing: bool = False

    def sign_of(self, item: int) -> int:
        """Direction in which t moves this item: +1 or -1."""
        return self.signs[self.items.index(item)] if self.signs else 1


@dataclass(frozen=True, slots=True)
class Seen:
    """What is expected and what was seen of each item, arrays of shape (n,), one unit.

    `low` may be -inf and `high` +inf: nothing is known beyond that end.
    """

    mean: Floats
    spread: Floats
    low: Floats
    high: Floats
    noise: float

    def __post_init__(self) -> None:
        if np.any(self.low > self.high):
            raise InputError("An interval runs backwards")
        if np.any(self.spread <= 0):
            raise InputError("Every item needs a spread above zero")


def _phi(z: Floats) -> Floats:
    from scipy.special import ndtr  # loaded only when something is to be explained

    return np.asarray(ndtr(z), dtype=np.float64)


def _interval_probability(low: Floats, high: Floats, middle: Floats, sd: Floats | float) -> Floats:
    a, b = (low - middle) / sd, (high - middle) / sd
    # Both ends far above the middle: count from the other tail, where the digits are.
    flip = a > 0
    return np.maximum(np.where(flip, _phi(-a) - _phi(-b), _phi(b) - _phi(a)), _TINY)


def _blend(function: Callable[[Floats], Floats], grid: Floats, shift: Shift, sign: int) -> Floats:
    """Sum over t of density(t) * function(grid - sign * t), on the grid's own spacing."""
    step = float(grid[1] - grid[0])
    low, high = sorted(sign * end for end in shift.reach)
    offsets = low + step * np.arange(max(2, int((high - low) / step) + 2), dtype=np.float64)
    amount = np.asarray(shift.density(sign * offsets), dtype=np.float64)
    if not amount.sum() > 0:
        amount = np.ones_like(offsets)
    start = float(grid[0]) - float(offsets[-1])
    wide = start + step * np.arange(grid.size + offsets.size - 1, dtype=np.float64)
    blended = np.convolve(function(wide), amount / amount.sum(), mode="valid")
    return np.asarray(blended, dtype=np.float64)


@dataclass(frozen=True)
class Posterior:
    """What the values say about the causes.

    `probability[k]` is the probability that cause k is at work, alone or with another;
    `background` that the background cause is; `nothing` that none is.
    """

    seen: Seen
    causes: tuple[Cause, ...]
    probability: Floats
    background: float
    nothing: float
    step: float
    _nodes: Floats = field(repr=False)
    _at_work: Floats = field(repr=False)
    _every: Floats = field(repr=False)
    _pairs: tuple[NDArray[np.intp], NDArray[np.intp], Floats] = field(repr=False)
    _densities: dict[tuple[int, int | None, float], Floats] = field(
        repr=False, compare=False, default_factory=dict
    )

    def grid(self, item: int) -> Floats:
        """The values over which `density` is given for an item, shape (m,)."""
        mean, low, high = self.seen.mean[item], self.seen.low[item], self.seen.high[item]
        reach = 6 * self.seen.spread[item]
        for cause in self.causes:
            if item in cause.items:
                reach = max(reach, *(abs(end) for end in cause.shift.reach))
        ends = [v for v in (low, high) if math.isfinite(v)]
        start = min([mean, *ends]) - reach
        stop = max([mean, *ends]) + reach
        return np.linspace(start, stop, min(int((stop - start) / self.step) + 2, 4000))

    def _known_density(self, item: int, cause: int | None, node: float, grid: Floats) -> Floats:
        key = (item, cause, node)
        if key not in self._densities:
            self._densities[key] = self.density(item, cause, node, grid)
        return self._densities[key]

    def density(
        self, item: int, cause: int | None, node: float, grid: Floats, before: bool = False
    ) -> Floats:
        """Density of an item's lasting value given one cause (or none) and the background's shift.

        The lasting value is what the item will show when looked at properly: a passing cause and
        the background are taken off again, a lasting one stays in.

        Parameters
        ----------
        item : int
        cause : int or None
            Index into `causes`, acting on this item.
        node : float
            The background's shift.
        grid : array, shape (m,)
            Evenly spaced.
        before : bool
            Whether a lasting cause is taken off again too: the value before it acted.

        Returns
        -------
        array, shape (m,)
            Sums to one.
        """
        seen = self.seen
        mean, spread = seen.mean[item], seen.spread[item]

        def own(values: Floats) -> Floats:
            return np.asarray(np.exp(-0.5 * ((values - mean) / spread) ** 2))

        def likelihood(values: Floats) -> Floats:
            return _interval_probability(seen.low[item], seen.high[item], values + node, seen.noise)

        if cause is None:
            weight = own(grid) * likelihood(grid)
        else:
            acting = self.causes[cause]
            sign = acting.sign_of(item)
            shift = Shift(self._amount(item, acting, node), acting.shift.reach)
            # Two factors of the same integral over t; which is kept open decides the answer.
            if acting.passing or before:
                weight = own(grid) * _blend(likelihood, grid, shift, -sign)
            else:
                weight = _blend(own, grid, shift, sign) * likelihood(grid)
        total = weight.sum()
        if not total > 0:
            return np.full_like(grid, 1.0 / grid.size)
        return np.asarray(weight / total, dtype=np.float64)

    def _amount(self, item: int, acting: Cause, node: float) -> Callable[[Floats], Floats]:
        """Density of t for one item: the cause's own, times what its other items say of t."""
        seen = self.seen
        others = [other for other in acting.items if other != item]

        def amount(shifts: Floats) -> Floats:
            log = np.log(np.maximum(acting.shift.density(shifts), _TINY))
            for other in others:
                sd = math.hypot(seen.spread[other], seen.noise)
                middle = seen.mean[other] + acting.sign_of(other) * shifts + node
                log = log + np.log(
                    _interval_probability(seen.low[other], seen.high[other], middle, sd)
                )
            return np.asarray(np.exp(log - log.max()), dtype=np.float64)

        return amount

    def mixture(self, item: int, smallest: float = 2e-3) -> tuple[Floats, Floats]:
        """An item's lasting value over all causes: (grid, probabilities), both shape (m,).

        Parts with a weight below `smallest` are left out.
        """
        grid = self.grid(item)
        total = np.zeros_like(grid)
        acting = [k for k, cause in enumerate(self.causes) if item in cause.items]
        untouched = self._every - self._at_work[acting].sum(axis=0)
        for weights, cause in [(untouched, None), *((self._at_work[k], k) for k in acting)]:
            if float(weights.sum()) < smallest:
                continue
            # The background is spread over many nodes; the heaviest stand for all.
            for index in np.argsort(weights)[::-1][:12]:
                if weights[index] > smallest / 20:
                    node = float(self._nodes[index])
                    total += weights[index] * self._known_density(item, cause, node, grid)
        if not total.sum() > 0:
            total = self.density(item, None, 0.0, grid)
        return grid, total / total.sum()

    def background_nodes(self) -> tuple[Floats, Floats]:
        """The background's shifts and the probability of each, the first being no shift at all."""
        return self._nodes, self._every

    def draws(self, generator: np.random.Generator, count: int) -> Floats:
        """Joint draws of all items' lasting values, shape (count, n)."""
        first, second, weight = self._pairs
        flat = np.where(weight > 1e-3, weight, 0.0).ravel()
        if not flat.sum() > 0:
            flat = weight.ravel()
        picked = generator.choice(flat.size, size=count, p=flat / flat.sum())
        pair, node = np.divmod(picked, weight.shape[1])
        a, b = first[pair], second[pair]
        items = self.seen.mean.size
        values = np.empty((count, items))
        owner = np.full((len(self.causes) + 1, items), False)
        for k, cause in enumerate(self.causes):
            owner[k, list(cause.items)] = True
        for item in range(items):
            grid = self.grid(item)
            acting = np.where(owner[a, item], a, np.where(owner[b, item], b, -1))
            for key in np.unique(acting * len(self._nodes) + node):
                cause, which = np.divmod(key, len(self._nodes))
                rows = np.flatnonzero((acting == cause) & (node == which))
                density = self._known_density(
                    item, None if cause < 0 else int(cause), float(self._nodes[which]), grid
                )
                cumulative = np.cumsum(density)
                values[rows, item] = np.interp(generator.random(rows.size), cumulative, grid)
        return values


def _background_nodes(background: Cause | None, step: float) -> tuple[Floats, Floats]:
    """Shifts of the background, zero first, in whole steps, and their prior weights."""
    if background is None:
        return np.zeros(1), np.ones(1)
    low, high = background.shift.reach
    stride = max(1, round((high - low) / 32 / step))
    ends = round(low / step / stride), round(high / step / stride)
    spaced = step * stride * np.arange(ends[0], ends[1] + 1, dtype=np.float64)
    amount = background.shift.density(spaced)
    return (
        np.concatenate([[0.0], spaced]),
        np.concatenate([[1.0], background.odds * amount / amount.sum()]),
    )


class _MovedTable:
    """B_i(t) of every item on one even grid of t, read off in windows."""

    def __init__(self, seen: Seen, causes: Sequence[Cause], nodes: Floats, step: float) -> None:
        reach = max([0.0, *(abs(end) for cause in causes for end in cause.shift.reach)])
        self.step = step
        self.node_index = np.rint(nodes / step).astype(np.intp)
        self.half = math.ceil(reach / step) + int(np.abs(self.node_index).max()) + 2
        moved = step * np.arange(-self.half, self.half + 1)
        sd = np.sqrt(seen.spread**2 + seen.noise**2)[:, None]
        self.values = _interval_probability(
            seen.low[:, None], seen.high[:, None], seen.mean[:, None] + moved, sd
        )

    def still(self) -> Floats:
        """B_i at no shift but the background's, shape (n, nodes)."""
        return np.asarray(self.values[:, self.half + self.node_index])

    def log_likelihood(self, cause: Cause) -> Floats:
        """log P(what was seen of the cause's items | it is at work), shape (nodes,)."""
        low, high = cause.shift.reach
        first, last = math.floor(low / self.step), math.ceil(high / self.step)
        amount = cause.shift.density(self.step * np.arange(first, last + 1, dtype=np.float64))
        if not amount.sum() > 0:
            amount = np.ones_like(amount)
        amount = amount / amount.sum()
        windows = []
        for item in cause.items:
            sign = cause.sign_of(item)
            start = self.half + (first if sign > 0 else -last)
            column = start + self.node_index[:, None] + np.arange(amount.size)
            window = self.values[item][column]
            windows.append(window if sign > 0 else window[:, ::-1])
        if len(windows) == 1:
            return np.asarray(np.log(np.maximum(windows[0] @ amount, _TINY)))
        logs = np.log(windows).sum(axis=0)
        top = logs.max(axis=1)
        scaled: Floats = np.exp(logs - top[:, None]) @ amount
        return np.asarray(top + np.log(np.maximum(scaled, _TINY)), dtype=np.float64)


def explain(
    seen: Seen,
    causes: Sequence[Cause],
    background: Cause | None = None,
    step: float | None = None,
) -> Posterior:
    """Probabilities of causes, alone or two at a time, given what was seen.

    Parameters
    ----------
    seen : Seen
        n items; expectation and interval of each.
    causes : sequence of Cause
        Each acts on one or more of the n items.
    background : Cause, optional
        One cause that acts on everything and may be joined by any others.
    step : float, optional
        Resolution of the sums over t; half the noise when left out.

    Returns
    -------
    Posterior

    Notes
    -----
    Bayes' rule over all sets of at most two causes on different items, independent a priori,
    each set with and without the background. Source: any text on Bayesian inference.

    Examples
    --------
    >>> import numpy as np
    >>> seen = Seen(np.zeros(2), np.ones(2), np.array([-1.0, 8.0]), np.array([1.0, 9.0]), 0.2)
    >>> found = explain(seen, [Cause("moved", (1,), 0.01, Shift.normal(0, 10))])
    >>> bool(found.probability[0] > 0.99)
    True
    """
    count = seen.mean.size
    if count == 0:
        raise InputError("There is nothing to explain: no item was seen")
    step = step or seen.noise / 2 or float(seen.spread.min()) / 8
    nodes, node_weight = _background_nodes(background, step)
    table = _MovedTable(seen, causes, nodes, step)
    still = np.log(table.still())
    gain = np.empty((len(causes), nodes.size))
    for k, cause in enumerate(causes):
        gain[k] = (
            table.log_likelihood(cause)
            - still[list(cause.items)].sum(axis=0)
            + math.log(cause.odds)
        )

    base = still.sum(axis=0) + np.log(np.maximum(node_weight, _TINY))
    acts = np.zeros((len(causes), count))
    for k, cause in enumerate(causes):
        acts[k, list(cause.items)] = 1.0
    disjoint = np.triu(acts @ acts.T == 0, 1)
    single_logs = gain + base
    peak = max(float(base.max()), float(single_logs.max(initial=-np.inf)))
    # Pairs too unlikely to be seen in any digit are left out before they cost anything.
    best = gain.max(axis=1, initial=-np.inf)
    worth = best[:, None] + best[None, :] + float(base.max()) > peak - _NEGLIGIBLE
    first, second = np.nonzero(disjoint & worth)
    pair_logs = gain[first] + gain[second] + base
    peak = max(peak, float(pair_logs.max(initial=-np.inf)))
    alone = np.exp(base - peak)
    single = np.exp(single_logs - peak)
    pairs = np.exp(pair_logs - peak)
    everything = float(alone.sum() + single.sum() + pairs.sum())
    alone, single, pairs = alone / everything, single / everything, pairs / everything

    per_cause = single.copy()
    np.add.at(per_cause, first, pairs)
    np.add.at(per_cause, second, pairs)
    none = len(causes)
    sets_first = np.concatenate([[none], np.arange(len(causes)), first]).astype(np.intp)
    sets_second = np.concatenate([[none], np.full(len(causes), none), second]).astype(np.intp)
    weights = np.concatenate([alone[None, :], single, pairs])
    keep = weights.sum(axis=1) > 1e-9
    background_probability = float(weights[:, 1:].sum()) if background is not None else 0.0
    return Posterior(
        seen=seen,
        causes=tuple(causes),
        probability=per_cause.sum(axis=1),
        background=background_probability,
        nothing=float(alone[0]),
        step=step,
        _nodes=nodes,
        _at_work=per_cause,
        _every=weights.sum(axis=0),
        _pairs=(sets_first[keep], sets_second[keep], weights[keep]),
    )
