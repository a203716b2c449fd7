"""A cylinder being cranked, a valve open: steps implicit in the pressure, in machine code.

A valve is a huge hole for so small a vessel, so the pressures are nearly equal and an explicit
scheme must crawl; each step is implicit in the end pressure, one equation whose root is bracketed
by the no-flow pressure and the pressures outside. The inlet port behind throttle or slide is a
volume of its own where the throttle is small.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled
from tickover.physics.cylinder_gas import (
    enthalpy_over_r,
    film_coefficient,
    heat_over_r,
    hole_flow,
    volume_and_walls,
)
from tickover.physics.cylinder_row import (
    AIR_P,
    AIR_T,
    BORE,
    CREVICE,
    DEAD_V,
    EX_AREA,
    EX_CAP,
    EX_CLOSES,
    EX_OPENS,
    IN_AREA,
    IN_CAP,
    IN_CLOSES,
    IN_OPENS,
    LEAK,
    PORT_V,
    SPEED,
    STROKE,
    THROTTLE,
    WALL_T,
)
from tickover.physics.gas import AIR_GAS_CONSTANT

#: Above this area per displacement and speed [m2 s/m3] the port is as good as the open air.
OPEN_THROTTLE = 5e-3

_R = AIR_GAS_CONSTANT
_DEG = math.pi / 180.0


@compiled
def valve_area(angle: float, opens: float, closes: float, area: float, cap: float) -> float:
    """Effective area [m2] of a valve at a crank angle [rad]."""
    half = 0.5 * (closes - opens)
    y = (angle - opens - half) / half
    w = 1.0 - y * y
    if w <= 0.0:
        return 0.0
    root = math.sqrt(w)
    return min(area * w * root * math.sqrt(root), cap)  # (1 - y^2)^1.75


@compiled
def _exchange(
    up: float,
    down: float,
    up_drop: float,
    down_rise: float,
    area: float,
    t_up: float,
    dt: float,
    gamma: float,
) -> float:
    """Mass [kg] that passes a hole in dt [s], implicit in the pressures at the end.

    up falls by up_drop and down rises by down_rise [Pa/kg]; up must start above down. With
    D the difference left, the flow goes with sqrt(D): a quadratic in sqrt(D), whose slowly
    varying factor is renewed a few times.
    """
    span = 1.0 - (0.52828179 + 0.1733 * (1.4 - gamma))
    beta = dt * area * (0.68473146 - 0.1743 * (1.4 - gamma)) / math.sqrt(_R * t_up)
    choked = beta * up / (1.0 + beta * up_drop)
    rate = up_drop + down_rise
    start = up - down
    top = up - up_drop * choked
    if start - rate * choked >= span * top:
        return choked
    lift = 0.0029 + 0.065 * (1.4 - gamma)
    e = 0.0
    mass = 0.0
    top = up
    for _ in range(4):
        before = mass
        half = 0.5 * rate * beta * math.sqrt(top / span * (2.0 - e)) * (1.0 + lift * (1.0 - e))
        z = start / (half + math.sqrt(half * half + start))
        mass = (start - z * z) / rate
        if abs(mass - before) < 3e-5 * mass:
            break
        top = up - up_drop * mass
        e = min(z * z / (top * span), 1.0)
    return mass


@compiled
def _flood(
    q: float,
    p: float,
    q_change: float,
    p_change: float,
    area: float,
    t: float,
    gamma: float,
    dt: float,
    air_t: float,
    into: float,
) -> float:
    """Mass [kg] into the cylinder at p from a neighbour at q (negative: out), implicit.

    q_change, p_change: pressure per kg moved of q (0: the open air) and of p for gas leaving;
    into: p per kg for gas arriving.
    """
    if area <= 0.0 or q == p:
        return 0.0
    if q > p:
        return _exchange(q, p, q_change, into, area, air_t, dt, 1.4)
    return -_exchange(p, q, p_change, q_change, area, t, dt, gamma)


@compiled
def _past_throttle(q: float, dt: float, row: NDArray[np.float64]) -> float:
    """Port pressure [Pa] after filling (or emptying) past the throttle for dt [s]."""
    per_kg = float(_R * row[AIR_T] / row[PORT_V])
    air_p, air_t = row[AIR_P], row[AIR_T]
    half = _flood(air_p, q, 0.0, per_kg, row[THROTTLE], air_t, 1.4, 0.5 * dt, air_t, per_kg)
    after = q + 2.0 * per_kg * half
    return float(min(after, air_p) if q < air_p else max(after, air_p))


@compiled
def throttle_counts(row: NDArray[np.float64]) -> bool:
    """Whether the throttle is small enough to move the reading by 0.02 percent."""
    displacement = 0.25 * math.pi * row[BORE] * row[BORE] * row[STROKE]
    return bool(row[THROTTLE] < OPEN_THROTTLE * displacement * row[SPEED])


@compiled
def _through(
    p: float,
    q: float,
    per_kg: float,
    inlet: float,
    outlet: float,
    t: float,
    gamma: float,
    dt: float,
    row: NDArray[np.float64],
) -> tuple[float, float]:
    """Mass [kg] from the port and from outside into a cylinder that ends the step at p."""
    air_p, air_t = row[AIR_P], row[AIR_T]
    first = _flood(q, p, per_kg, 0.0, inlet, t, gamma, dt, air_t, 0.0)
    if air_p > p:
        return first, dt * hole_flow(outlet, air_p, air_t, p, 1.4)
    return first, -dt * hole_flow(outlet, p, t, air_p, gamma)


@compiled
def _overlap(
    q: float,
    alone: float,
    per_kg: float,
    into: float,
    leaving: float,
    inlet: float,
    outlet: float,
    t: float,
    gamma: float,
    dt: float,
    row: NDArray[np.float64],
) -> tuple[float, float, float]:
    """Pressure at the end [Pa], mass from the port and from outside [kg], both valves open.

    The end pressure is where it agrees with the flow it causes: more pressure, less flow in, so
    there is one, between the lowest and the highest of the three pressures (Illinois method).
    """
    low = min(q, alone, row[AIR_P])
    high = max(q, alone, row[AIR_P])
    p, first, second = alone, 0.0, 0.0
    over, under = 0.0, 0.0
    side = 0
    for i in range(24):
        if i == 0:
            p = low
        elif i == 1:
            p = high
        else:
            p = (low * under - high * over) / (under - over)
        first, second = _through(p, q, per_kg, inlet, outlet, t, gamma, dt, row)
        gap = alone - p
        gap += first * (into if first > 0.0 else leaving)
        gap += second * (into if second > 0.0 else leaving)
        if abs(gap) < 1.0 or high - low < 1.0:
            break
        if i == 0:
            over = gap
        elif i == 1:
            under = gap
        elif gap > 0.0:
            low, over = p, gap
            if side == 1:
                under *= 0.5
            side = 1
        else:
            high, under = p, gap
            if side == -1:
                over *= 0.5
            side = -1
    return p, first, second


@compiled
def open_step(
    p: float,
    m: float,
    q: float,
    mid: float,
    dt: float,
    v0: float,
    v1: float,
    walls: float,
    port: bool,
    row: NDArray[np.float64],
) -> tuple[float, float, float]:
    """One implicit step with a valve open: pressure [Pa], mass [kg], port pressure [Pa] after.

    mid: crank angle halfway [rad]; v0, v1: volumes before and after [m3]; walls [m2]; port:
    whether the port is a volume of its own.
    """
    air_p, air_t = row[AIR_P], row[AIR_T]
    inlet = valve_area(mid, row[IN_OPENS], row[IN_CLOSES], row[IN_AREA], row[IN_CAP])
    outlet = row[LEAK] + valve_area(mid, row[EX_OPENS], row[EX_CLOSES], row[EX_AREA], row[EX_CAP])
    t = p * v0 / (m * _R)
    cp = heat_over_r(t)
    gamma = cp / (cp - 1.0)
    heat = film_coefficient(p, t, v0, row) * walls * (t - row[WALL_T])
    volume, swept = 0.5 * (v0 + v1), v1 - v0
    if swept < 0.0:
        store = gamma * t * (row[CREVICE] / row[WALL_T] + row[DEAD_V] / air_t)
    else:
        store = gamma * (row[CREVICE] + row[DEAD_V])
    room = volume + store + 0.5 * gamma * swept
    # Without flow the pressure would be `alone`; flow draws it towards the pressures outside.
    alone = p + (-gamma * p * swept - (gamma - 1.0) * heat * dt) / room
    leaving = gamma * _R * t / room
    above_u = enthalpy_over_r(air_t) - enthalpy_over_r(t) + t
    into = _R * (t + (gamma - 1.0) * above_u) / room
    if not port:
        moved = _flood(air_p, alone, 0.0, leaving, inlet + outlet, t, gamma, dt, air_t, into)
        p1 = alone + moved * (into if moved > 0.0 else leaving)
        q = air_p
    else:
        # The throttle is slow beside the valves: half of it before them, half after.
        per_kg = _R * air_t / row[PORT_V]
        q = _past_throttle(q, 0.5 * dt, row)
        if inlet > 0.0 and outlet > row[LEAK]:
            p1, first, second = _overlap(
                q, alone, per_kg, into, leaving, inlet, outlet, t, gamma, dt, row
            )
        else:
            first = _flood(q, alone, per_kg, leaving, inlet, t, gamma, dt, air_t, into)
            p1 = alone + first * (into if first > 0.0 else leaving)
            second = _flood(air_p, p1, 0.0, leaving, outlet, t, gamma, dt, air_t, into)
            p1 += second * (into if second > 0.0 else leaving)
        q = _past_throttle(q - per_kg * first, 0.5 * dt, row)
        moved = first + second
    crevice = (row[CREVICE] / row[WALL_T] + row[DEAD_V] / air_t) / _R
    return p1, m + moved - crevice * (p1 - p), q


@compiled
def gas_exchange(
    p: float, m: float, q: float, start: float, row: NDArray[np.float64]
) -> tuple[float, float, float]:
    """From a crank angle [rad] with a valve open to inlet closing: p, m and port pressure."""
    end = row[IN_CLOSES]
    port = throttle_counts(row)
    coarse = (1.5 if port else 4.0) * _DEG
    angle = start
    v0, _, walls = volume_and_walls(angle, row)
    while angle < end - 1e-9:
        left = end - angle
        # Finer towards a closing inlet valve, where what is trapped is settled.
        step = min(max(0.055 * left, 0.4 * _DEG), coarse)
        if angle - row[EX_OPENS] < 6.0 * _DEG:
            step = 0.5 * _DEG
        step = min(step, left)
        v1, _, next_walls = volume_and_walls(angle + step, row)
        p, m, q = open_step(
            p, m, q, angle + 0.5 * step, step / row[SPEED], v0, v1, walls, port, row
        )
        v0, walls = v1, next_walls
        angle += step
    return p, m, q


@compiled
def refill_port(q: float, row: NDArray[np.float64]) -> float:
    """Port pressure [Pa] after filling past the throttle while the inlet valve is shut."""
    if not throttle_counts(row):
        return float(row[AIR_P])
    shut = 4.0 * math.pi - (row[IN_CLOSES] - row[IN_OPENS])
    dt = shut / row[SPEED] / 60.0
    for _ in range(60):
        q = _past_throttle(q, dt, row)
    return q
