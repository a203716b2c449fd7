"""Volumes that a piston sweeps and leaves: displacement, cylinder, ratio from inlet closing."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.crank import piston_drop, stroke

Num = TypeVar("Num", float, npt.NDArray[np.float64])


def displacement(bore: float, stroke: float, cylinders: int = 1) -> float:
    """Volume the pistons sweep.

    Parameters
    ----------
    bore, stroke : float
        [m]
    cylinders : int

    Returns
    -------
    float
        [m^3]

    Notes
    -----
    pi/4 * bore^2 * stroke for each cylinder.

    Examples
    --------
    >>> print(f"{1e6 * displacement(0.056, 0.056):.2f} cm3")
    137.93 cm3
    """
    guards.positive("Bore", bore, "m")
    guards.positive("Stroke", stroke, "m")
    return 0.25 * math.pi * bore**2 * stroke * cylinders


def cylinder_volume(
    crank_angle: Num,
    bore: float,
    crank_radius: float,
    rod_length: float,
    compression_ratio: float,
    pin_offset: float = 0.0,
) -> Num:
    """Volume above the piston.

    Parameters
    ----------
    crank_angle : float or array, shape (n,)
        0 at top dead centre [rad]
    bore, crank_radius, rod_length : float
        [m]
    compression_ratio : float
        Volume at the bottom over volume at the top [1]
    pin_offset : float
        [m]

    Returns
    -------
    float or array, shape of crank_angle
        [m^3]

    Raises
    ------
    InputError
        If the compression ratio is not above 1, or the rod too short.

    Notes
    -----
    Heywood 1988, eq. 2.4 to 2.6. Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{1e6 * cylinder_volume(0.0, 0.056, 0.028, 0.110, 9.5):.3f} cm3")
    16.227 cm3
    """
    if not compression_ratio > 1.0:
        raise InputError("The compression ratio must be above 1", given=f"{compression_ratio:g}")
    area = 0.25 * math.pi * bore**2
    swept = area * stroke(crank_radius, rod_length, pin_offset)
    drop = piston_drop(crank_angle, crank_radius, rod_length, pin_offset)
    volume: Num = swept / (compression_ratio - 1.0) + area * drop
    return volume


def effective_ratio(
    closing_after_bdc: float, crank_radius: float, rod_length: float, compression_ratio: float
) -> float:
    """Compression ratio counted from where the inlet valve closes.

    Parameters
    ----------
    closing_after_bdc : float
        Crank angle after bottom dead centre at which the inlet closes [rad]
    crank_radius, rod_length : float
        [m]
    compression_ratio : float
        [1]

    Returns
    -------
    float
        [1]

    Raises
    ------
    InputError
        If the compression ratio is not above 1, or the rod too short.

    Notes
    -----
    Volume at closing over volume at top dead centre; the bore cancels.
    Checked in tests/published/test_crank_geometry.py.

    Examples
    --------
    >>> print(f"{effective_ratio(math.radians(40.0), 0.028, 0.110, 9.5):.4f}")
    8.7307
    """
    at_closing = cylinder_volume(
        math.pi - closing_after_bdc, 1.0, crank_radius, rod_length, compression_ratio
    )
    at_top = cylinder_volume(0.0, 1.0, crank_radius, rod_length, compression_ratio)
    return float(at_closing / at_top)
