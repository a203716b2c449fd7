"""The cylinder model as a polynomial, made anew for each engine and day from some hundred runs.

ln(p / outside) of the gauge after the last and after the first stroke, quadratic in what is
shared, to the fifth power in a stretched leak area: a leak acts through area over speed and swept
volume, and its effect flattens at both ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.cylinder import crank_many
from tickover.tasks.compression.described import Conditions, CylinderSpec
from tickover.tasks.compression.shared import (
    CAM,
    HEAT,
    MODELLED,
    RATIO,
    SPEED,
    prior_of,
    rows_of,
)

Floats = NDArray[np.float64]

RUNS = 640
MOST_LEAK = 16.0  # mm2, of a 138 cc cylinder at 300 rpm
_STRETCH = 0.9
_REFERENCE = 138e-6  # m3
_POWERS = 6
_FULL_POWERS = 3  # with all quadratic terms; the higher powers with linear terms only


@dataclass(frozen=True, slots=True, eq=False)
class Emulator:
    """Gauge pressure over outside pressure, for any draw and leak.

    Parameters
    ----------
    middle, half : array, shape (7,)
        Centre and half width of the box the runs were spread over
    coefficients : array, shape (2, 6, 36)
        Last and first stroke, power of the leak, term of the draw
    displacement : float
        [m3]
    rms : float
        Misfit of runs it was not fitted to, in ln(p / outside) [1]
    throttle_nodes, throttle_drop : arrays
        What a shut throttle takes off ln(p / outside), by ln of scaled area (rows) and by the
        leak (columns)
    """

    middle: Floats
    half: Floats
    coefficients: Floats
    displacement: float
    rms: float
    throttle_nodes: Floats
    leak_nodes: Floats
    throttle_drop: Floats

    def stretched(self, leak_mm2: Floats, ln_rpm: Floats) -> Floats:
        """The emulator's leak variable, 0 to about 1 [1]."""
        scaled = leak_mm2 * (_REFERENCE / self.displacement) * (300.0 / np.exp(ln_rpm))
        top = math.log(3.0 * MOST_LEAK / _STRETCH + 1.0)
        stretched: Floats = np.log(np.minimum(scaled, 3 * MOST_LEAK) / _STRETCH + 1.0) / top
        return stretched

    def lines(self, draws: Floats, output: int = 0) -> Floats:
        """Coefficients of the leak's powers for each draw, shape (n, 6)."""
        z = np.clip((draws[:, list(MODELLED)] - self.middle) / self.half, -1.15, 1.15)
        lines: Floats = _terms(z) @ self.coefficients[output].T
        return lines

    def log_pressure(self, draws: Floats, leak_mm2: Floats, output: int = 0) -> Floats:
        """ln(gauge pressure / outside pressure).

        Parameters
        ----------
        draws : array, shape (n, 7 or more)
        leak_mm2 : array, shape (n, k)
        output : int
            0 last stroke, 1 first stroke

        Returns
        -------
        array, shape (n, k)
        """
        lines = self.lines(draws, output)
        x = self.stretched(leak_mm2, draws[:, SPEED][:, None])
        value = np.zeros_like(x)
        for k in range(_POWERS - 1, -1, -1):
            value = value * x + lines[:, k][:, None]
        return np.maximum(value, 0.0)

    def throttle_loss(self, draws: Floats, leak_mm2: Floats, ln_area: Floats) -> Floats:
        """What a throttle takes off `log_pressure`, shape of both leaks and areas together.

        leak_mm2 : array, shape (n, k) or (n, 1)
        ln_area : array, shape (n, k) or (n, 1), ln of area [mm2] at 300 rpm and 138 cc
        """
        x = self.stretched(leak_mm2, draws[:, SPEED][:, None])
        rows = np.interp(ln_area, self.throttle_nodes, np.arange(self.throttle_nodes.size))
        cols = np.interp(x, self.leak_nodes, np.arange(self.leak_nodes.size))
        i = np.minimum(rows.astype(int), self.throttle_nodes.size - 2)
        j = np.minimum(cols.astype(int), self.leak_nodes.size - 2)
        a, b = rows - i, cols - j
        t = self.throttle_drop
        loss: Floats = (1 - a) * ((1 - b) * t[i, j] + b * t[i, j + 1]) + a * (
            (1 - b) * t[i + 1, j] + b * t[i + 1, j + 1]
        )
        return loss


def _terms(z: Floats) -> Floats:
    """1, linear, quadratic: shape (n, 1 + d + d (d + 1) / 2)."""
    n, d = z.shape
    columns = [np.ones(n), *(z[:, i] for i in range(d))]
    columns += [z[:, i] * z[:, j] for i in range(d) for j in range(i, d)]
    return np.column_stack(columns)


def _design(x: Floats, z: Floats) -> Floats:
    full = _terms(z)
    linear = full[:, : z.shape[1] + 1]
    parts = []
    for k in range(_POWERS):
        parts.append((full if k < _FULL_POWERS else linear) * (x**k)[:, None])
    return np.hstack(parts)


def _unpacked(solution: Floats, d: int) -> Floats:
    full = 1 + d + d * (d + 1) // 2
    table = np.zeros((_POWERS, full))
    at = 0
    for k in range(_POWERS):
        size = full if k < _FULL_POWERS else d + 1
        table[k, :size] = solution[at : at + size]
        at += size
    return table


def _spread(n: int, d: int) -> Floats:
    """n points filling the unit cube evenly: additive recurrence on the generalised golden ratio.

    Source: M. Roberts, "The unreasonable effectiveness of quasirandom sequences" (2018).
    """
    g = 2.0
    for _ in range(40):
        g = (1.0 + g) ** (1.0 / (d + 1))
    steps = np.array([g ** -(i + 1) for i in range(d)])
    points: Floats = (0.5 + np.outer(np.arange(1, n + 1), steps)) % 1.0
    return points


def box_of(spec: CylinderSpec, day: Conditions) -> tuple[Floats, Floats]:
    """Middle and half width of what the runs must cover: 2.6 sd and the engine-wide faults."""
    prior = prior_of(spec, day)
    columns = list(MODELLED)
    low = prior.mean[columns] - 2.6 * prior.sd[columns]
    high = prior.mean[columns] + 2.6 * prior.sd[columns]
    low[RATIO], high[RATIO] = min(low[RATIO], spec.ratio - 2.2), max(high[RATIO], spec.ratio + 2.6)
    low[RATIO] = max(low[RATIO], 3.5)
    low[CAM], high[CAM] = min(low[CAM], -25.0), max(high[CAM], 38.0)
    low[SPEED] = min(low[SPEED], prior.mean[SPEED] - 0.95)
    high[SPEED] = max(high[SPEED], prior.mean[SPEED] + 0.3)
    low[HEAT] = min(low[HEAT], -1.5)
    return 0.5 * (low + high), 0.5 * (high - low)


def make_emulator(spec: CylinderSpec, day: Conditions, *, threads: int = 2) -> Emulator:
    """Run the cylinder model some hundred times and fit.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions
    threads : int
        For the runs

    Returns
    -------
    Emulator
    """
    middle, half = box_of(spec, day)
    d = middle.size
    unit = _spread(RUNS, d + 1)
    # Twice as dense in the middle of the box, where the answers will lie.
    centred = 2.0 * unit[:, :d] - 1.0
    z = np.sign(centred) * np.abs(centred) ** 1.4
    draws = middle + half * z
    shell = Emulator(
        middle, half, np.zeros((2, _POWERS, 1)), spec.displacement, 0.0, _NO_NODES, _NO_NODES,
        np.zeros((1, 1)),
    )  # fmt: skip
    top = float(shell.stretched(np.array([MOST_LEAK]), np.array([math.log(150.0)]))[0])
    x = top * unit[:, d] ** 1.3
    scale = (spec.displacement / _REFERENCE) * np.exp(draws[:, SPEED]) / 300.0
    whole = math.log(3.0 * MOST_LEAK / _STRETCH + 1.0)
    leaks = np.minimum((np.exp(x * whole) - 1.0) * _STRETCH * scale, 90.0)
    x = shell.stretched(leaks, draws[:, SPEED])
    readings = crank_many(rows_of(spec, day, draws, leaks), day.strokes, threads=threads)
    outputs = np.log(readings[:, [-1, 0]] / day.air_pressure)
    held_out = np.arange(RUNS) % 10 == 0
    design = _design(x, z)
    weight = np.sqrt(0.1 + outputs[:, 0])[:, None]  # near-zero readings need no precision
    weighted, wanted = design * weight, outputs * weight
    trial = _fitted(weighted[~held_out], wanted[~held_out])
    misfit = (design @ trial - outputs)[held_out, 0]
    solution = _fitted(weighted, wanted)
    coefficients = np.stack([_unpacked(solution[:, k], d) for k in (0, 1)])
    return Emulator(
        middle,
        half,
        coefficients,
        spec.displacement,
        float(np.sqrt(np.mean(misfit**2))),
        *_throttle_table(spec, day, shell, threads),
    )


_NO_NODES: Floats = np.zeros(1)


def _fitted(design: Floats, wanted: Floats) -> Floats:
    """Least squares by normal equations: a tenth of the time of an orthogonal factorisation.

    The terms are of order one over the box, so that squaring their condition (about 1e4) leaves
    eight digits, and a grain of ridge keeps it solvable whatever the box.
    """
    normal = design.T @ design
    normal[np.diag_indices_from(normal)] *= 1.0 + 1e-11
    return np.asarray(np.linalg.solve(normal, design.T @ wanted), dtype=np.float64)


def _throttle_table(
    spec: CylinderSpec, day: Conditions, shell: Emulator, threads: int
) -> tuple[Floats, Floats, Floats]:
    from tickover.physics import cylinder_row as k

    ln_areas = np.log(np.array([0.15, 0.4, 1.0, 2.0, 3.0, 4.5, 6.5, 9.0, 14.0, 25.0]))
    leaks = np.array([0.05, 0.5, 2.0, 8.0])
    prior = prior_of(spec, day)
    ln_rpm = np.array([prior.mean[SPEED]])
    scale = math.exp(prior.mean[SPEED]) / 300.0 * spec.displacement / _REFERENCE
    each = 1 + ln_areas.size
    middle = np.tile(prior.mean, (leaks.size * each, 1))
    rows = rows_of(spec, day, middle, np.repeat(leaks * scale, each))
    rows[:, k.THROTTLE] = np.tile(np.append(1.0, np.exp(ln_areas) * scale * 1e-6), leaks.size)
    readings = np.log(crank_many(rows, day.strokes, threads=threads)[:, -1])
    table = readings.reshape(leaks.size, each)
    drop = (table[:, :1] - table[:, 1:]).T
    return ln_areas, shell.stretched(leaks * scale, ln_rpm), np.maximum(drop, 0.0)
