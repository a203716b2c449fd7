"""One cylinder being cranked, in machine code: from valve closing to the needle of the gauge.

        port --inlet valve--+              +--check valve-- gauge
                            |   p, m, T    |
     outside --exhaust v.---+   V(crank)   +--crevices (at the wall's temperature)
                            |              |
                            +--leak-- outside

Two schemes: `cylinder_shut` in crank angle, steps graded towards top dead centre, landing on valve
closing, top dead centre and valve opening; `cylinder_open` while a valve is open. Gas exchange
repeats itself from stroke to stroke: once the trapped state has settled it is kept, and the
expansion after the check valve has shut is left out.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.cylinder_gas import volume_and_walls
from tickover.physics.cylinder_open import gas_exchange, refill_port
from tickover.physics.cylinder_row import (
    AIR_P,
    AIR_T,
    BORE,
    CRACKING,
    EX_OPENS,
    GAUGE_V,
    IN_CLOSES,
    LEAK,
    SPEED,
    STROKE,
)
from tickover.physics.cylinder_shut import closed_step
from tickover.physics.gas import AIR_GAS_CONSTANT

#: Steps on the way up, ten times the usual ones where a great leak makes the gas stiff.
MOST_STEPS = 640

_R = AIR_GAS_CONSTANT
_DEG = math.pi / 180.0


def room() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """State, path (p, m, crank angle) and volumes on the way up, for one thread at a time.

    Made here and not in the loop: arrays made inside compiled code add seconds to its compiling.
    """
    return np.zeros(7), np.empty((MOST_STEPS + 1, 3)), np.empty((2 * MOST_STEPS + 1, 3))


@compiled
def crank_test(
    row: NDArray[np.float64],
    readings: NDArray[np.float64],
    peaks: NDArray[np.float64],
    state: NDArray[np.float64],
    path: NDArray[np.float64],
    up: NDArray[np.float64],
) -> int:
    """Crank one cylinder; fill gauge pressures [Pa absolute] and cylinder peaks per stroke.

    state, path and up are room to work in (see `room`). Returns the stroke after which gas
    exchange repeated itself, or 0 if it never did.
    """
    # A small volume behind the check valve fills within a few degrees: finer steps for it.
    steps = 36 if row[GAUGE_V] > 3e-6 else 64
    grading = 1.8
    # A great leak near outside pressure is stiff: its time constant sets the longest step.
    face = 0.25 * math.pi * row[BORE] * row[BORE]
    quickness = row[LEAK] * 280.0 / (face * row[STROKE]) / row[SPEED]  # per rad
    longest = (4.0 * math.pi - row[IN_CLOSES]) * grading / steps
    steps = min(steps * min(1 + int(quickness * longest / 0.1), 10), MOST_STEPS)
    start, tdc = row[IN_CLOSES], 4.0 * math.pi
    for i in range(state.size):
        state[i] = 0.0
    # The way up is the same every stroke: its angles and volumes are worked out once.
    for i in range(steps + 1):
        path[i, 2] = tdc - (tdc - start) * (1.0 - i / steps) ** grading
        up[2 * i, 0], up[2 * i, 1], up[2 * i, 2] = volume_and_walls(path[i, 2], row)
        if i > 0:
            mid = 0.5 * (path[i - 1, 2] + path[i, 2])
            up[2 * i - 1, 0], up[2 * i - 1, 1], up[2 * i - 1, 2] = volume_and_walls(mid, row)
    air_p, cracking = row[AIR_P], row[CRACKING]
    # At rest, outside air everywhere; the first intake stroke starts at top dead centre.
    v, _, _ = volume_and_walls(2.0 * math.pi, row)
    p, m, q = gas_exchange(air_p, air_p * v / (_R * row[AIR_T]), air_p, 2.0 * math.pi, row)
    pg = air_p
    settled = 0
    known = 0  # path holds the settled way up, check valve shut, up to here
    trapped_p, trapped_m = p, m
    last_change = 0.0
    for stroke in range(readings.shape[0]):
        # The way up is the same every time until the check valve opens: take it from there.
        i = known
        if i == 0:
            path[0, 0], path[0, 1] = trapped_p, trapped_m
        state[0], state[1], state[2] = path[i, 0], path[i, 1], pg
        while i < steps:
            i += 1
            k = 2 * i
            closed_step(
                state,
                path[i, 2] - path[i - 1, 2],
                (up[k - 2, 0], up[k - 2, 1], up[k - 2, 2]),
                (up[k - 1, 0], up[k - 1, 1], up[k - 1, 2]),
                (up[k, 0], up[k, 1], up[k, 2]),
                row,
            )
            path[i, 0], path[i, 1] = state[0], state[1]
            if settled > 0 and i == known + 1 and state[2] == pg:
                known = i
        angle = 0.0
        step = 2.0 * _DEG
        peak = state[0]
        here = volume_and_walls(angle, row)
        while angle < row[EX_OPENS] - 1e-9:
            if state[0] < state[2] + cracking:
                if settled > 0:
                    break
                step = 5.0 * _DEG
            steady = 0.2 * here[0] / (quickness * face * row[STROKE] + 1e-12)
            now = min(step, max(steady, 0.2 * _DEG), row[EX_OPENS] - angle)
            there = volume_and_walls(angle + now, row)
            halfway = volume_and_walls(angle + 0.5 * now, row)
            closed_step(state, now, here, halfway, there, row)
            angle += now
            here = there
            peak = max(peak, state[0])
        pg = state[2]
        readings[stroke] = pg
        peaks[stroke] = peak
        if settled == 0:
            q = refill_port(q, row)
            p, m, q = gas_exchange(state[0], state[1], q, row[EX_OPENS], row)
            # The mass trapped creeps with what the gauge still takes, a geometric series: once the
            # rest of it is below 0.1 percent, go to its end. The pressure moves twenty times less.
            change = m - trapped_m
            ratio = change / last_change if last_change != 0.0 else 1.0
            trapped_p, trapped_m = p, m
            last_change = change
            if abs(change) < 2e-5 * m:
                settled = stroke + 1
            elif stroke >= 2 and 0.0 <= ratio < 0.8:
                rest = ratio / (1.0 - ratio)
                if abs(change) * rest < 1e-3 * m:
                    trapped_m += change * rest
                    settled = stroke + 1
    return settled


@compiled
def crank_tests(
    rows: NDArray[np.float64],
    readings: NDArray[np.float64],
    peaks: NDArray[np.float64],
    state: NDArray[np.float64],
    path: NDArray[np.float64],
    up: NDArray[np.float64],
) -> None:
    """`crank_test` for each row; readings and peaks have shape (rows, strokes)."""
    for i in range(rows.shape[0]):
        crank_test(rows[i], readings[i], peaks[i], state, path, up)
