"""A value with its standard uncertainty, and one way to carry it through a formula."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from tickover.errors import InputError


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value: value and standard uncertainty in one SI unit."""

    value: float
    uncertainty: float
    unit: str

    def __post_init__(self) -> None:
        if not math.isfinite(self.value) or not math.isfinite(self.uncertainty):
            raise InputError("A measured value must be a finite number", given=str(self.value))
        if self.uncertainty < 0:
            raise InputError("An uncertainty cannot be negative", given=str(self.uncertainty))


def carry(formula: Callable[..., float], unit: str, *inputs: Measured) -> Measured:
    """The value of a formula with the uncertainty its independent inputs give it.

    Parameters
    ----------
    formula : callable
        Takes as many plain numbers as there are inputs.
    unit : str
        Unit of the result.
    *inputs : Measured
        Independent of one another.

    Returns
    -------
    Measured

    Notes
    -----
    Law of propagation of uncertainty, first order: JCGM 100:2008 (GUM), 5.1.2, with the
    numerical sensitivities of 5.1.3 note 2 (half the change over plus and minus one standard
    uncertainty).

    Examples
    --------
    >>> area = carry(lambda d: 0.7854 * d * d, "m2", Measured(0.061, 1e-5, "m"))
    >>> print(f"{area.value:.6f} +- {area.uncertainty:.1e}")
    0.002922 +- 9.6e-07
    """
    values = [item.value for item in inputs]
    variance = 0.0
    for i, item in enumerate(inputs):
        above, below = list(values), list(values)
        above[i] += item.uncertainty
        below[i] -= item.uncertainty
        variance += ((formula(*above) - formula(*below)) / 2.0) ** 2
    return Measured(float(formula(*values)), math.sqrt(variance), unit)
