"""Degrees along the rim of a rotor: where to scratch a timing mark, and what one stands for."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from tickover.physics import guards

Num = TypeVar("Num", float, npt.NDArray[np.float64])


def rotor_arc(angle: Num, diameter: float) -> Num:
    """Length along the rim of a rotor for an angle: where to scratch a timing mark.

    Parameters
    ----------
    angle : float or array, shape (n,)
        [rad]
    diameter : float
        Of the rim the mark is on, measured with calipers [m]

    Returns
    -------
    float or array, shape of angle
        [m]

    Raises
    ------
    InputError
        If the diameter is not above zero.

    Notes
    -----
    Half the diameter times the angle; measured round the rim with a strip, not straight across.
    Checked in tests/published/test_ignition_geometry.py.

    Examples
    --------
    >>> import math
    >>> print(f"{1e3 * rotor_arc(math.radians(10.0), 0.100):.3f} mm")
    8.727 mm
    """
    guards.positive("Rotor diameter", diameter, "m")
    arc: Num = 0.5 * diameter * angle
    return arc


def angle_from_rotor_arc(arc: Num, diameter: float) -> Num:
    """Angle that a length along the rim of a rotor stands for.

    Parameters
    ----------
    arc : float or array, shape (n,)
        Measured round the rim [m]
    diameter : float
        [m]

    Returns
    -------
    float or array, shape of arc
        [rad]

    Raises
    ------
    InputError
        If the diameter is not above zero.

    Notes
    -----
    The inverse of `rotor_arc`.

    Examples
    --------
    >>> import math
    >>> print(f"{math.degrees(angle_from_rotor_arc(8.727e-3, 0.100)):.2f} deg")
    10.00 deg
    """
    guards.positive("Rotor diameter", diameter, "m")
    angle: Num = 2.0 * arc / diameter
    return angle
