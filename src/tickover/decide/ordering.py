"""In which order to try repairs: probability over cost, and what an order costs on average.

One fault: trying i costs minutes[i]; it ends the search if i was the cause. Independent faults:
each faulty part must be put right, and after each one the machine is tried again.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.errors import InputError

Floats = NDArray[np.float64]
Faults = Literal["single", "independent"]


def repair_order(
    probabilities: ArrayLike, minutes: ArrayLike, faults: Faults = "single"
) -> tuple[int, ...]:
    """Order of repairs with the least expected time.

    Parameters
    ----------
    probabilities : array, shape (n,)
        Single fault: probability of being the cause, summing to at most one. Independent faults:
        probability of being faulty before anything was known [1]
    minutes : array, shape (n,)
        Time to try each, above zero [min]
    faults : {'single', 'independent'}

    Returns
    -------
    tuple of int

    Raises
    ------
    InputError
        If numbers are out of range or do not match.

    Notes
    -----
    Single fault: descending p / C. Independent faults: descending (q / (1 - q)) / C, from
    exchanging two neighbours in the expected time; it is the same rule, since given exactly one
    fault p is proportional to q / (1 - q).
    Source: J. B. Kadane and H. A. Simon, 'Optimal strategies for a class of constrained
    sequential problems', Annals of Statistics 5 (1977) 237-255; D. Heckerman, J. S. Breese and
    K. Rommelse, 'Decision-theoretic troubleshooting', Communications of the ACM 38(3) (1995)
    49-57. Checked in tests/published/test_troubleshooting_order.py.

    Examples
    --------
    >>> repair_order([0.5, 0.3, 0.2], [60.0, 10.0, 20.0])
    (1, 2, 0)
    """
    p, cost = _checked(probabilities, minutes, faults)
    if faults == "independent":
        with np.errstate(divide="ignore"):
            p = p / (1.0 - p)
    return tuple(int(i) for i in np.argsort(-p / cost, kind="stable"))


def expected_minutes(
    order: Sequence[int],
    probabilities: ArrayLike,
    minutes: ArrayLike,
    faults: Faults = "single",
    service_minutes: float = 0.0,
) -> float:
    """Expected time of trying repairs in a given order until the trouble is gone.

    Parameters
    ----------
    order : sequence of int
        What to try, each at most once.
    probabilities, minutes, faults
        As `repair_order`.
    service_minutes : float
        Paid when the trouble is still there at the end [min]

    Returns
    -------
    float
        [min]

    Raises
    ------
    InputError
        As `repair_order`, or if something stands twice in the order.

    Notes
    -----
    Sum of C_k P(still there before step k), plus the service where nothing helped. Independent
    faults are taken given that at least one is there; source as `repair_order`.

    Examples
    --------
    >>> print(f"{expected_minutes([1, 0], [0.5, 0.5], [10.0, 2.0]):.1f}")
    7.0
    """
    p, cost = _checked(probabilities, minutes, faults)
    if len(set(order)) != len(order) or not all(0 <= i < len(p) for i in order):
        raise InputError(
            "The order must name each at most once",
            given=str(list(order)),
            allowed=f"0 to {len(p) - 1}",
        )
    steps = np.asarray(order, dtype=np.int64)
    if faults == "single":
        there = 1.0 - np.concatenate([[0.0], np.cumsum(p[steps])])
    else:
        left = np.prod(1.0 - np.delete(p, steps)) * np.concatenate(
            [np.cumprod((1.0 - p[steps])[::-1])[::-1], [1.0]]
        )  # P(all not yet tried are sound)
        there = (1.0 - left) / (1.0 - np.prod(1.0 - p))
    there = np.maximum(there, 0.0)
    return float(cost[steps] @ there[:-1] + service_minutes * there[-1])


def _checked(probabilities: ArrayLike, minutes: ArrayLike, faults: str) -> tuple[Floats, Floats]:
    p = np.asarray(probabilities, dtype=np.float64)
    cost = np.asarray(minutes, dtype=np.float64)
    if p.ndim != 1 or p.shape != cost.shape:
        raise InputError("Probabilities and minutes do not match", given=f"{p.shape, cost.shape}")
    if not ((p >= 0.0) & (p <= 1.0)).all():
        raise InputError("A probability is out of range", given=str(p.tolist()), allowed="0 to 1")
    if not (np.isfinite(cost) & (cost > 0.0)).all():
        raise InputError("The minutes must be above zero", given=str(cost.tolist()))
    if faults == "single" and p.sum() > 1.0 + 1e-9:
        raise InputError(
            "Probabilities of a single fault sum to more than one", given=f"{p.sum():.6g}"
        )
    if faults == "independent" and not p.any():
        raise InputError("At least one fault must be possible", given=str(p.tolist()))
    return p, cost
