"""Refuse numbers that no real part can have, in the words of whoever typed them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from tickover.errors import InputError

Numbers = float | npt.NDArray[np.float64]


def positive(name: str, value: Numbers, unit: str = "") -> None:
    """Refuse a value, or an array with a value, that is not finite and above zero.

    Parameters
    ----------
    name : str
        What it is, as the start of a sentence: "Rod length".
    value : float or array
        [SI]
    unit : str
        The SI unit shown in the message.

    Raises
    ------
    InputError
        If any value is zero, negative, infinite or not a number.
    """
    array = np.asarray(value, dtype=float)
    bad = ~(np.isfinite(array) & (array > 0.0))
    if bad.any():
        raise InputError(
            f"{name} must be above zero", given=_shown(array, bad, unit), allowed="more than 0"
        )


def not_negative(name: str, value: Numbers, unit: str = "") -> None:
    """Refuse a value, or an array with a value, that is negative or not finite.

    Parameters
    ----------
    name : str
        What it is, as the start of a sentence.
    value : float or array
        [SI]
    unit : str
        The SI unit shown in the message.

    Raises
    ------
    InputError
        If any value is negative, infinite or not a number.
    """
    array = np.asarray(value, dtype=float)
    bad = ~(np.isfinite(array) & (array >= 0.0))
    if bad.any():
        raise InputError(
            f"{name} cannot be negative", given=_shown(array, bad, unit), allowed="0 or more"
        )


def within(name: str, value: Numbers, low: float, high: float, unit: str = "") -> None:
    """Refuse a value, or an array with a value, outside low..high (both included).

    Parameters
    ----------
    name : str
        What it is, as the start of a sentence.
    value : float or array
        [SI]
    low, high : float
        [SI]
    unit : str
        The SI unit shown in the message.

    Raises
    ------
    InputError
        If any value lies outside, or is not a number.
    """
    array = np.asarray(value, dtype=float)
    bad = ~((array >= low) & (array <= high))
    if bad.any():
        raise InputError(
            f"{name} is outside what is possible here",
            given=_shown(array, bad, unit),
            allowed=f"{low:g} to {high:g} {unit}".rstrip(),
        )


def _shown(array: npt.NDArray[np.float64], bad: npt.NDArray[np.bool_], unit: str) -> str:
    first = float(array[bad].flat[0]) if array.ndim else float(array)
    return f"{first:g} {unit}".rstrip()
