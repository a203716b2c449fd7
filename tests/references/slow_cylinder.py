"""The cranked cylinder once more, slowly: the same physics as `tickover.physics.cylinder`, written
apart from it as a plain right-hand side for SciPy's integrators, with exact isentropic flow.

What it is for: the fast scheme's error, and blind trials whose data come from another heat law.
It shares the description of the cylinder and the air's polynomial with the product, no numerics.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

from tickover.physics.cylinder import CrankTest
from tickover.physics.gas import AIR_GAS_CONSTANT as R
from tickover.physics.gas import HEAT_POLYNOMIAL

HeatLaw = Callable[[float, float, float, float, float], float]


def hohenberg(p: float, t: float, v: float, bore: float, piston_speed: float) -> float:
    """G. F. Hohenberg, SAE 790825 (1979) [W/(m2 K)]."""
    return float(130.0 * v**-0.06 * (p / 1e5) ** 0.8 * t**-0.4 * (piston_speed + 1.4) ** 0.8)


def woschni(p: float, t: float, v: float, bore: float, piston_speed: float) -> float:
    """G. Woschni, SAE 670931 (1967), compression, motored [W/(m2 K)]."""
    return float(3.26 * bore**-0.2 * (p / 1e3) ** 0.8 * t**-0.55 * (2.28 * piston_speed) ** 0.8)


def annand(p: float, t: float, v: float, bore: float, piston_speed: float) -> float:
    """W. J. D. Annand, Proc. IMechE 177 (1963), a = 0.6 [W/(m2 K)]."""
    viscosity = 1.716e-5 * (t / 273.15) ** 1.5 * 383.55 / (t + 110.4)
    conductivity = 0.0241 * (t / 273.15) ** 0.9
    reynolds = p / (R * t) * piston_speed * bore / viscosity
    return float(0.6 * conductivity / bore * reynolds**0.7)


A0, A1, A2, A3, A4 = HEAT_POLYNOMIAL


def cp_over_r(t: float) -> float:
    return A0 + A1 * t + A2 * t**2 + A3 * t**3 + A4 * t**4


def h_over_r(t: float) -> float:
    return A0 * t + A1 * t**2 / 2 + A2 * t**3 / 3 + A3 * t**4 / 4 + A4 * t**5 / 5


def flow(area: float, p_up: float, t_up: float, p_down: float) -> float:
    if p_down >= p_up or area <= 0.0:
        return 0.0
    g = cp_over_r(t_up) / (cp_over_r(t_up) - 1.0)
    r = max(p_down / p_up, (2.0 / (g + 1.0)) ** (g / (g - 1.0)))
    head = 2.0 * g / (g - 1.0) * (r ** (2.0 / g) - r ** ((g + 1.0) / g))
    return area * p_up / math.sqrt(R * t_up) * math.sqrt(max(head, 0.0))


def lift_area(angle: float, valve) -> float:
    opens, closes = math.radians(valve.opens_deg), math.radians(valve.closes_deg)
    y = (angle - 0.5 * (opens + closes)) / (0.5 * (closes - opens))
    if abs(y) >= 1.0:
        return 0.0
    curtain = math.pi * valve.seat_diameter * valve.lift * (1.0 - y * y) ** 1.75
    port = 0.85 * math.pi / 4.0 * valve.seat_diameter**2
    return float(valve.count * valve.discharge * min(curtain, port))


def slow_crank_test(
    test: CrankTest,
    strokes: int,
    *,
    heat_law: HeatLaw = hohenberg,
    method: str = "LSODA",
    rtol: float = 1e-7,
    trace: list | None = None,
) -> np.ndarray:
    """Gauge pressures after each stroke [Pa absolute], shape (strokes,)."""
    c, air, gauge = test.cylinder, test.air, test.gauge
    a = 0.5 * c.stroke
    face = math.pi / 4.0 * c.bore**2
    clearance = face * c.stroke / (c.ratio - 1.0) - test.oil_volume
    speed = test.speed
    piston_speed = c.stroke * speed / math.pi
    dead = 0.0 if gauge.check_valve_at_plug else gauge.hose_volume
    gauge_volume = gauge.dial_volume + (gauge.hose_volume if gauge.check_valve_at_plug else 0.0)
    crevice = (c.crevice_volume / air.wall_temperature + dead / air.temperature) / R
    closed_throttle = test.throttle_area is not None

    def volume(angle: float) -> tuple[float, float, float]:
        s, k = math.sin(angle), math.cos(angle)
        root = math.sqrt(c.rod**2 - (a * s) ** 2)
        drop = a + c.rod - a * k - root
        slope = a * s + a * a * s * k / root
        walls = 2.3 * face + math.pi * c.bore * (drop + 0.25 * clearance / face)
        return clearance + face * drop, face * slope, walls

    def rates(angle: float, y: np.ndarray) -> list[float]:
        # An integrator's trial step may leave the physics; it is then rejected, not fed with nan.
        p, m, pg, q = max(y[0], 1e3), max(y[1], 1e-9), max(y[2], 1e3), max(y[3], 1e3)
        p, m, pg, q = float(p), float(m), float(pg), float(q)  # plain floats are quicker
        v, slope, walls = volume(angle)
        t = p * v / (m * R)
        g = cp_over_r(t) / (cp_over_r(t) - 1.0)
        turn = angle % (4.0 * math.pi)
        inlet, outlet = lift_area(turn, c.inlet), lift_area(turn, c.exhaust) + test.leak_area
        if not closed_throttle:
            q = air.pressure
        into_port = flow(inlet, p, t, q)
        from_port = flow(inlet, q, air.temperature, p)
        out = flow(outlet, p, t, air.pressure)
        back = flow(outlet, air.pressure, air.temperature, p)
        check = flow(gauge.check_valve_area, p, t, pg + gauge.cracking_pressure)
        gain, loss = from_port + back, into_port + out + check
        heat = test.heat_factor * heat_law(p, t, v, c.bore, piston_speed)
        heat *= walls * (t - air.wall_temperature)
        u = R * (h_over_r(t) - t)
        energy = gain * (R * h_over_r(air.temperature) - u) - loss * R * t - heat
        drive = (R * t * (gain - loss) + (g - 1.0) * energy) / speed - g * p * slope
        if drive > 0.0:
            p_rate = drive / (v + g * R * t * crevice)
        else:
            gap = c.crevice_volume / air.wall_temperature / R
            hose = dead / air.temperature / R
            back = gap * (R * h_over_r(air.wall_temperature) - u)
            back += hose * (R * h_over_r(air.temperature) - u)
            p_rate = drive / (v + R * t * crevice + (g - 1.0) * back)
        m_rate = (gain - loss) / speed - crevice * p_rate
        q_rate = 0.0
        if closed_throttle:
            past = flow(test.throttle_area, air.pressure, air.temperature, q) - flow(
                test.throttle_area, q, air.temperature, air.pressure
            )
            q_rate = R * air.temperature / test.port_volume
            q_rate *= (past + into_port - from_port) / speed
        return [p_rate, m_rate, R * air.temperature * check / gauge_volume / speed, q_rate]

    events = sorted(
        math.radians(x)
        for x in (
            0.0,
            c.exhaust.opens_deg,
            c.exhaust.closes_deg,
            c.inlet.opens_deg,
            c.inlet.closes_deg,
        )
    )
    turn = 4.0 * math.pi
    start = 2.0 * math.pi
    air_mass = air.pressure * volume(start)[0] / (R * air.temperature)
    y = np.array([air.pressure, air_mass, air.pressure, air.pressure])
    marks = [x + k * turn for k in range(strokes + 1) for x in events]
    last = strokes * turn + events[1]
    marks = [x for x in marks if start < x <= last + 1e-9]
    scale = np.array([1e5, 1e-4, 1e5, 1e5])
    readings, angle = [], start
    for mark in marks:
        done = solve_ivp(rates, (angle, mark), y, method=method, rtol=rtol, atol=rtol * scale)
        if not done.success:
            raise RuntimeError(done.message)
        if trace is not None:
            trace.append((done.t, done.y))
        y, angle = done.y[:, -1], mark
        if abs(mark % turn - events[1]) < 1e-9 and mark > turn:
            readings.append(y[2])
    return np.array(readings)
