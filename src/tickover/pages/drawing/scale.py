"""Steps of a scale a person can read off."""

from __future__ import annotations

import math


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5, 10, 20 ... (or of 0.1, 0.2 ...) that is not below `least`.

    Examples
    --------
    >>> round_step(3.2), round_step(5.0), round_step(0.07), round_step(180.0)
    (5.0, 5.0, 0.1, 200.0)
    """
    size = 10.0 ** math.floor(math.log10(max(least, 1e-9)))
    steps = (size * nice for nice in (1.0, 2.0, 5.0, 10.0))
    return next(step for step in steps if step >= least * (1.0 - 1e-12))
