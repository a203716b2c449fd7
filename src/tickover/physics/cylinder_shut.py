"""A cylinder being cranked, valves shut: a step of Runge-Kutta, in machine code.

State: pressure p and mass m of the gas in the cylinder (without crevices), pressure of the gauge
behind its check valve.

    p'(V + g X) = R T M + (g - 1)(E - Q) - g p V'       g ratio of heats at T, M net inflow,
    m' = M - C p'                                       C crevice mass per pressure, E flow
                                                        energy above u, Q heat to the walls,
    X = R T C while p rises (gas enters at T); while it falls what comes back has the wall's
    temperature.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.cylinder_gas import (
    enthalpy_over_r,
    film_coefficient,
    heat_over_r,
    hole_flow,
)
from tickover.physics.cylinder_row import (
    AIR_P,
    AIR_T,
    CHECK_AREA,
    CRACKING,
    CREVICE,
    DEAD_V,
    GAUGE_V,
    LEAK,
    SPEED,
    WALL_T,
)
from tickover.physics.gas import AIR_GAS_CONSTANT

_R = AIR_GAS_CONSTANT


@compiled
def _rates(
    p: float,
    m: float,
    pg: float,
    v: float,
    v_rate: float,
    walls: float,
    film: float,
    film_p: float,
    film_t: float,
    row: NDArray[np.float64],
) -> tuple[float, float, float, float, float, float]:
    """Per second, valves shut: p, m, gauge pressure, leaked mass, flow energy out, heat out."""
    air_p, air_t, wall_t = row[AIR_P], row[AIR_T], row[WALL_T]
    t = p * v / (m * _R)
    cp = heat_over_r(t)
    gamma = cp / (cp - 1.0)
    # The coefficient is taken once a step and follows p^0.8 T^-0.4 to second order within it.
    x, y = p / film_p - 1.0, t / film_t - 1.0
    h = film * (1.0 + x * (0.8 - 0.08 * x)) * (1.0 + y * (0.28 * y - 0.4))
    heat = h * walls * (t - wall_t)
    if p >= air_p:
        leak = hole_flow(row[LEAK], p, t, air_p, gamma)
        leak_t = t
    else:
        leak = -hole_flow(row[LEAK], air_p, air_t, p, 1.4)
        leak_t = air_t
    check = hole_flow(row[CHECK_AREA], p, t, pg + row[CRACKING], gamma)
    flow_in = -leak - check
    h_gas = enthalpy_over_r(t)
    carried = _R * (leak * enthalpy_over_r(leak_t) + check * h_gas)  # enthalpy leaving
    energy = -carried - flow_in * _R * (h_gas - t)  # above the u of what is inside
    crevice = (row[CREVICE] / wall_t + row[DEAD_V] / air_t) / _R
    drive = _R * t * flow_in + (gamma - 1.0) * (energy - heat) - gamma * p * v_rate
    if drive > 0.0:
        p_rate = drive / (v + gamma * _R * t * crevice)
        carried += crevice * p_rate * _R * h_gas
    else:
        # What comes back out of crevices and hose brings the enthalpy of the metal's temperature.
        back = (
            row[CREVICE] * enthalpy_over_r(wall_t) / wall_t
            + row[DEAD_V] * enthalpy_over_r(air_t) / air_t
        )
        above = back - crevice * _R * (h_gas - t)
        p_rate = drive / (v + _R * t * crevice + (gamma - 1.0) * above)
        carried += p_rate * back
    pg_rate = _R * air_t * check / row[GAUGE_V]
    return p_rate, flow_in - crevice * p_rate, pg_rate, leak, carried, heat


@compiled
def closed_step(
    state: NDArray[np.float64],
    step: float,
    before: tuple[float, float, float],
    halfway: tuple[float, float, float],
    after: tuple[float, float, float],
    row: NDArray[np.float64],
) -> None:
    """One Runge-Kutta step, valves shut, in place.

    state: p, m, gauge pressure, then sums: leaked mass, enthalpy carried out, heat out, work done
    by the gas. step [rad]; before, halfway, after: `volume_and_walls` at them.
    """
    w = row[SPEED]
    dt = step / w
    v0, d0, a0 = before
    v1, d1, a1 = halfway
    v2, d2, a2 = after
    p, m, pg = state[0], state[1], state[2]
    t = p * v0 / (m * _R)
    film = film_coefficient(p, t, v0, row)
    k1 = _rates(p, m, pg, v0, d0 * w, a0, film, p, t, row)
    h = 0.5 * dt
    p2 = p + h * k1[0]
    k2 = _rates(p2, m + h * k1[1], pg + h * k1[2], v1, d1 * w, a1, film, p, t, row)
    p3 = p + h * k2[0]
    k3 = _rates(p3, m + h * k2[1], pg + h * k2[2], v1, d1 * w, a1, film, p, t, row)
    p4 = p + dt * k3[0]
    k4 = _rates(p4, m + dt * k3[1], pg + dt * k3[2], v2, d2 * w, a2, film, p, t, row)
    s = dt / 6.0
    state[0] = p + s * (k1[0] + 2.0 * (k2[0] + k3[0]) + k4[0])
    state[1] = m + s * (k1[1] + 2.0 * (k2[1] + k3[1]) + k4[1])
    state[2] = pg + s * (k1[2] + 2.0 * (k2[2] + k3[2]) + k4[2])
    state[3] += s * (k1[3] + 2.0 * (k2[3] + k3[3]) + k4[3])
    state[4] += s * (k1[4] + 2.0 * (k2[4] + k3[4]) + k4[4])
    state[5] += s * (k1[5] + 2.0 * (k2[5] + k3[5]) + k4[5])
    state[6] += s * w * (p * d0 + 2.0 * (p2 + p3) * d1 + p4 * d2)
