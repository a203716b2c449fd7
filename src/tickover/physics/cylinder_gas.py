"""The gas in a cylinder being cranked, in machine code: its heats, its room, its ways out.

What the steps with the valves shut (`cylinder_shut`) and with a valve open (`cylinder_open`)
share.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.cylinder_row import (
    BORE,
    HEAT,
    OIL,
    RATIO,
    ROD,
    SPEED,
    STROKE,
)
from tickover.physics.gas import AIR_GAS_CONSTANT, HEAT_POLYNOMIAL

_A0, _A1, _A2, _A3, _A4 = HEAT_POLYNOMIAL


@compiled
def heat_over_r(t: float) -> float:
    """c_p/R of air [1] at temperature t [K]."""
    return _A0 + t * (_A1 + t * (_A2 + t * (_A3 + t * _A4)))


@compiled
def enthalpy_over_r(t: float) -> float:
    """Enthalpy of air over R [K] at temperature t [K]."""
    return t * (_A0 + t * (_A1 / 2 + t * (_A2 / 3 + t * (_A3 / 4 + t * _A4 / 5))))


@compiled
def hole_flow(area: float, p_up: float, t_up: float, p_down: float, gamma: float) -> float:
    """Mass flow [kg/s] through an effective area [m2]; an ellipse, lifted a little, for the curve.

    Within 0.1 percent of the exact flow between ratios of heats of 1.3 and 1.4; choked flow and
    choking ratio are linear in the ratio of heats, within 1e-4 there.
    """
    if p_down >= p_up or area <= 0.0:
        return 0.0
    critical = 0.52828179 + 0.1733 * (1.4 - gamma)
    e = (1.0 - p_down / p_up) / (1.0 - critical)
    choked = (
        (0.68473146 - 0.1743 * (1.4 - gamma)) * area * p_up / math.sqrt(AIR_GAS_CONSTANT * t_up)
    )
    if e >= 1.0:
        return choked
    return choked * math.sqrt(e * (2.0 - e)) * (1.0 + (1.0 - e) * (0.0029 + 0.065 * (1.4 - gamma)))


@compiled
def volume_and_walls(angle: float, row: NDArray[np.float64]) -> tuple[float, float, float]:
    """Volume [m3], its slope per radian [m3], and wall area [m2]."""
    a = 0.5 * row[STROKE]
    s, c = math.sin(angle), math.cos(angle)
    root = math.sqrt(row[ROD] * row[ROD] - a * a * s * s)
    drop = a + row[ROD] - a * c - root
    slope = a * s * (1.0 + a * c / root)
    face = 0.25 * math.pi * row[BORE] * row[BORE]
    clearance = face * row[STROKE] / (row[RATIO] - 1.0) - row[OIL]
    # A domed chamber has about 15 percent more than two flat faces; the rest is cylinder wall.
    walls = 2.3 * face + math.pi * row[BORE] * (drop + 0.25 * clearance / face)
    return clearance + face * drop, face * slope, walls


@compiled
def film_coefficient(p: float, t: float, v: float, row: NDArray[np.float64]) -> float:
    """Heat transfer coefficient [W/(m2 K)]: Hohenberg (SAE 790825), times the row's factor."""
    speed = row[STROKE] * row[SPEED] / math.pi
    shape = -0.06 * math.log(v) + 0.8 * math.log(p * 1e-5 * (speed + 1.4)) - 0.4 * math.log(t)
    return float(row[HEAT]) * 130.0 * math.exp(shape)
