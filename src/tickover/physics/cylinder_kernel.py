"""One cylinder being cranked, in machine code: from valve closing to the needle of the gauge.

State: pressure p and mass m of the gas in the cylinder (without crevices), pressure of the
gauge behind its check valve, pressure of the inlet port behind throttle or slide.

        port --inlet valve--+              +--check valve-- gauge
                            |   p, m, T    |
     outside --exhaust v.---+   V(crank)   +--crevices (at the wall's temperature)
                            |              |
                            +--leak-- outside

    p'(V + g X) = R T M + (g - 1)(E - Q) - g p V'       g ratio of heats at T, M net inflow,
    m' = M - C p'                                       C crevice mass per pressure, E flow
                                                        energy above u, Q heat to the walls,
    X = R T C while p rises (gas enters at T); while it falls what comes back has the wall's
    temperature.

Two schemes. Valves shut: Runge-Kutta 4 in crank angle, steps graded towards top dead centre,
landing on valve closing, top dead centre and valve opening. A valve open: a valve is a huge hole
for so small a vessel, so the pressures are nearly equal and an explicit scheme must crawl; each
step is implicit in the end pressure, one equation whose root is bracketed by the no-flow pressure
and the pressures outside. Gas exchange repeats itself from stroke to stroke: once the trapped
state has settled it is kept, and the expansion after the check valve has shut is left out.

Everything that is called from here stays here, because compiled code is renewed by file.
The columns of a parameter row are numbered below; `tickover.physics.cylinder` fills them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tickover.physics.compiled import compiled
from tickover.physics.gas import AIR_GAS_CONSTANT, HEAT_POLYNOMIAL

# Columns of a parameter row, SI, angles in rad over 0..4 pi with 0 at firing top dead centre.
BORE, STROKE, ROD, RATIO = 0, 1, 2, 3
IN_OPENS, IN_CLOSES, EX_OPENS, EX_CLOSES = 4, 5, 6, 7
IN_AREA, IN_CAP, EX_AREA, EX_CAP = 8, 9, 10, 11  # effective, at full lift; cap of the port
LEAK, CREVICE, OIL = 12, 13, 14
HEAT, WALL_T = 15, 16
AIR_P, AIR_T, SPEED = 17, 18, 19
THROTTLE, PORT_V = 20, 21
GAUGE_V, CHECK_AREA, CRACKING, DEAD_V = 22, 23, 24, 25  # DEAD_V: hose before the check valve
COLUMNS = 26

#: Above this area per displacement and speed [m2 s/m3] the port is as good as the open air.
OPEN_THROTTLE = 5e-3

#: Steps on the way up, ten times the usual ones where a great leak makes the gas stiff.
MOST_STEPS = 640

_R = AIR_GAS_CONSTANT
_A0, _A1, _A2, _A3, _A4 = HEAT_POLYNOMIAL
_DEG = math.pi / 180.0


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
    choked = (0.68473146 - 0.1743 * (1.4 - gamma)) * area * p_up / math.sqrt(_R * t_up)
    if e >= 1.0:
        return choked
    return choked * math.sqrt(e * (2.0 - e)) * (1.0 + (1.0 - e) * (0.0029 + 0.065 * (1.4 - gamma)))


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
def _volume(angle: float, row: NDArray[np.float64]) -> tuple[float, float, float]:
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
def _film(p: float, t: float, v: float, row: NDArray[np.float64]) -> float:
    """Heat transfer coefficient [W/(m2 K)]: Hohenberg (SAE 790825), times the row's factor."""
    speed = row[STROKE] * row[SPEED] / math.pi
    shape = -0.06 * math.log(v) + 0.8 * math.log(p * 1e-5 * (speed + 1.4)) - 0.4 * math.log(t)
    return float(row[HEAT]) * 130.0 * math.exp(shape)


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
    by the gas. step [rad]; before, halfway, after: `_volume` there.
    """
    w = row[SPEED]
    dt = step / w
    v0, d0, a0 = before
    v1, d1, a1 = halfway
    v2, d2, a2 = after
    p, m, pg = state[0], state[1], state[2]
    t = p * v0 / (m * _R)
    film = _film(p, t, v0, row)
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


@compiled
def closed_part(
    state: NDArray[np.float64],
    start: float,
    end: float,
    steps: int,
    grading: float,
    row: NDArray[np.float64],
) -> None:
    """Valves shut from start to end [rad]; grading above 1 crowds the steps towards end."""
    span = end - start
    angle = start
    here = _volume(angle, row)
    for i in range(1, steps + 1):
        after = end - span * (1.0 - i / steps) ** grading
        there = _volume(after, row)
        halfway = _volume(0.5 * (angle + after), row)
        closed_step(state, after - angle, here, halfway, there, row)
        angle, here = after, there


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
    heat = _film(p, t, v0, row) * walls * (t - row[WALL_T])
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
    v0, _, walls = _volume(angle, row)
    while angle < end - 1e-9:
        left = end - angle
        # Finer towards a closing inlet valve, where what is trapped is settled.
        step = min(max(0.055 * left, 0.4 * _DEG), coarse)
        if angle - row[EX_OPENS] < 6.0 * _DEG:
            step = 0.5 * _DEG
        step = min(step, left)
        v1, _, next_walls = _volume(angle + step, row)
        p, m, q = open_step(
            p, m, q, angle + 0.5 * step, step / row[SPEED], v0, v1, walls, port, row
        )
        v0, walls = v1, next_walls
        angle += step
    return p, m, q


@compiled
def _rest_of_port(q: float, row: NDArray[np.float64]) -> float:
    """Port pressure [Pa] after filling past the throttle while the inlet valve is shut."""
    if not throttle_counts(row):
        return float(row[AIR_P])
    shut = 4.0 * math.pi - (row[IN_CLOSES] - row[IN_OPENS])
    dt = shut / row[SPEED] / 60.0
    for _ in range(60):
        q = _past_throttle(q, dt, row)
    return q


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
        up[2 * i, 0], up[2 * i, 1], up[2 * i, 2] = _volume(path[i, 2], row)
        if i > 0:
            mid = 0.5 * (path[i - 1, 2] + path[i, 2])
            up[2 * i - 1, 0], up[2 * i - 1, 1], up[2 * i - 1, 2] = _volume(mid, row)
    air_p, cracking = row[AIR_P], row[CRACKING]
    # At rest, outside air everywhere; the first intake stroke starts at top dead centre.
    v, _, _ = _volume(2.0 * math.pi, row)
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
        here = _volume(angle, row)
        while angle < row[EX_OPENS] - 1e-9:
            if state[0] < state[2] + cracking:
                if settled > 0:
                    break
                step = 5.0 * _DEG
            steady = 0.2 * here[0] / (quickness * face * row[STROKE] + 1e-12)
            now = min(step, max(steady, 0.2 * _DEG), row[EX_OPENS] - angle)
            there = _volume(angle + now, row)
            halfway = _volume(angle + 0.5 * now, row)
            closed_step(state, now, here, halfway, there, row)
            angle += now
            here = there
            peak = max(peak, state[0])
        pg = state[2]
        readings[stroke] = pg
        peaks[stroke] = peak
        if settled == 0:
            q = _rest_of_port(q, row)
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
