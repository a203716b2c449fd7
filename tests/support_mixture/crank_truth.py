"""A slow, crank-angle-resolved carburettor and cylinder: the independent truth of the trials.

Nothing is shared with the mean-value model that is tested against it: air here has inertia and
flows back and forth, the port fills and empties, valves open and close, the fuel column is heavy
and its jets lose discharge at low Reynolds number, the spray is thinned by an emulsion that grows
with the signal, and the needle may be worn. Invented numbers throughout; no real carburettor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from tickover.cache.compiled import compiled
from tickover.physics.carburettor.parts import Carburettor, Setting

TRUTH = (
    "swept", "ratio", "valve_in", "valve_out", "ivo", "ivc", "evo", "evc", "exhaust_temperature",
    "port_volume", "tract_length", "bore", "idle_lift", "slide_discharge", "nozzle_gain",
    "cutaway_weight", "recess", "blend", "column_length", "main_discharge", "main_reynolds",
    "needle_discharge", "needle_wear", "needle_jet", "emulsion", "emulsion_pressure",
    "main_height", "pilot_discharge", "pilot_reynolds", "pilot_bleed", "pilot_outlet",
    "screw_area", "screw_power", "pilot_height", "bypass_share", "filter_loss", "exhaust_loss",
)  # fmt: skip
_AT = {name: i for i, name in enumerate(TRUTH)}

GAMMA = 1.38
R = 287.0
P0 = 101325.0
T0 = 293.15
RHO_FUEL = 740.0
VISCOSITY = 4.1e-4
AFR = 14.58


@dataclass(frozen=True)
class TruthCarburettor:
    """One invented engine with its carburettor."""

    numbers: np.ndarray
    description: Carburettor
    cache: dict = field(default_factory=dict)

    def lambdas(self, setting: Setting, openings: np.ndarray, speeds: np.ndarray) -> np.ndarray:
        """Lambda at points, shape (n,)."""
        key = (setting, openings.tobytes(), speeds.tobytes())
        if key not in self.cache:
            needle = setting.needle
            start = needle.jet_below_clip + (setting.clip - 1) * needle.clip_step
            self.cache[key] = _lambdas(
                openings,
                speeds,
                self.numbers,
                np.array(
                    [setting.pilot_jet, setting.screw_turns, setting.cutaway, setting.main_jet]
                ),
                np.array(needle.positions) - start,
                np.array(needle.diameters),
            )
        return self.cache[key]


def truth(carburettor: Carburettor, swept: float, rng: np.random.Generator) -> TruthCarburettor:
    """Draw a truth for a described carburettor: what no description tells."""
    bore_cyl = (4.0 * swept / (math.pi * 1.05)) ** (1.0 / 3.0)

    def spread(value: float, sd: float) -> float:
        return value * math.exp(rng.normal(0.0, sd))

    values = {
        "swept": swept,
        "ratio": rng.uniform(8.2, 10.8),
        "valve_in": 0.45 * bore_cyl,
        "valve_out": 0.39 * bore_cyl,
        "ivo": rng.uniform(328.0, 345.0),
        "ivc": rng.uniform(578.0, 612.0),
        "evo": rng.uniform(118.0, 138.0),
        "evc": rng.uniform(375.0, 395.0),
        "exhaust_temperature": rng.uniform(1200.0, 1500.0),
        "port_volume": swept * rng.uniform(0.5, 1.0),
        "tract_length": rng.uniform(0.06, 0.14),
        "bore": carburettor.bore,
        "idle_lift": carburettor.idle_lift * rng.uniform(0.85, 1.15),
        "slide_discharge": rng.uniform(0.68, 0.82),
        "nozzle_gain": spread(1.9, 0.10),
        "cutaway_weight": rng.uniform(0.55, 1.15),
        "recess": rng.uniform(0.12, 0.32),
        "blend": rng.uniform(0.93, 1.07),
        "column_length": rng.uniform(0.02, 0.05),
        "main_discharge": spread(0.80, 0.06),
        "main_reynolds": rng.uniform(10.0, 100.0),
        "needle_discharge": spread(0.66, 0.08),
        "needle_wear": 0.0,
        "needle_jet": carburettor.needle_jet,
        "emulsion": rng.uniform(0.0, 0.2),
        "emulsion_pressure": rng.uniform(500.0, 2500.0),
        "main_height": carburettor.main_height * rng.uniform(0.1, 0.5),
        "pilot_discharge": spread(0.76, 0.08),
        "pilot_reynolds": rng.uniform(50.0, 250.0),
        "pilot_bleed": spread(0.25 * math.pi * carburettor.pilot_air_jet**2 * 0.78, 0.12),
        "pilot_outlet": spread(carburettor.pilot_outlet * 1.15, 0.15),
        "screw_area": spread(carburettor.screw_area * 0.85, 0.2),
        "screw_power": rng.uniform(0.9, 1.15),
        "pilot_height": carburettor.pilot_height + rng.normal(0.0, 0.4e-3),
        "bypass_share": rng.uniform(0.0, 0.2),
        "filter_loss": rng.uniform(0.0, 1.2),
        "exhaust_loss": rng.uniform(0.5, 3.0),
    }
    numbers = np.array([values[n] for n in TRUTH])
    # The idle stop is where a mechanic turns it: until the engine takes its idle air.
    wanted = rng.uniform(0.24, 0.32) * swept * P0 / (R * T0)
    needle = np.array([0.0, 1.0]), np.array([2e-3, 2e-3])
    setting = np.array([0.4e-3, 1.5, 2.5e-3, 1e-3])
    low, high = 0.1e-3, 3.0e-3
    for _ in range(10):
        numbers[_AT["idle_lift"]] = middle = math.sqrt(low * high)
        if _one(0.0, 1200.0, tuple(numbers), setting, *needle)[2] > wanted:
            high = middle
        else:
            low = middle
    return TruthCarburettor(numbers, carburettor)


LIFTS = np.array([1 / 16, 1 / 8, 1 / 4, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 7 / 8])
ROAD = np.array([3000.0, 4000, 5200, 6000, 6500, 6800, 7000, 7200])


@dataclass(frozen=True)
class Shipped:
    """What the maker of this carburettor shipped it with, on the engine it was made for."""

    pilot_jet: float
    cutaway: float
    main_jet: float
    needle_diameters: np.ndarray
    """At the mouth of the needle jet, slide at LIFTS."""


def ship(
    numbers: np.ndarray, cutaway: float, wanted: np.ndarray, rng: np.random.Generator
) -> Shipped:
    """Calibrate like a maker: right over the opening on the road.

    `wanted` is lambda at LIFTS, at full and at idle. Changes the gain and the pilot's outlet in
    `numbers`.
    """
    thin = np.array([0.0, 1.0]), np.array([0.5, 0.5]) * numbers[_AT["needle_jet"]]
    setting = np.array(
        [0.38e-3, 1.75, cutaway, 0.0365 * numbers[_AT["bore"]] * rng.uniform(0.92, 1.08)]
    )
    setting[0] *= numbers[_AT["bore"]] / 26e-3
    # The air correction that keeps full throttle flattest over speed, as far as a tube can.
    full, speeds = np.ones(3), np.array([4500.0, 6500.0, 8000.0])
    tried = []
    for emulsion in (0.0, 0.12, 0.24, 0.36):
        numbers[_AT["emulsion"]] = emulsion
        for _ in range(3):
            lam = _lambdas(full, speeds, numbers, setting, *thin)
            numbers[_AT["nozzle_gain"]] *= (lam[1] / wanted[-2]) ** 2
        tried.append((abs(math.log(lam[0] / lam[2])), emulsion, numbers[_AT["nozzle_gain"]]))
    _, numbers[_AT["emulsion"]], numbers[_AT["nozzle_gain"]] = min(tried)
    diameters = np.empty(LIFTS.size)
    for i, (lift, speed) in enumerate(zip(LIFTS, ROAD, strict=True)):
        low, high = 0.4, 0.995
        for _ in range(8):
            middle = 0.5 * (low + high)
            needle = (
                np.array([0.0, 1.0]),
                np.array([1.0, 1.0]) * middle * numbers[_AT["needle_jet"]],
            )
            lam = _lambdas(np.array([lift]), np.array([speed]), numbers, setting, *needle)[0]
            low, high = (low, middle) if lam > wanted[i] else (middle, high)
        diameters[i] = 0.5 * (low + high)
    diameters = np.minimum.accumulate(diameters) * numbers[_AT["needle_jet"]]
    thick = np.array([0.0, 1.0]), np.array([1.0, 1.0]) * diameters[0]
    low, high = 0.3, 3.0
    outlet = numbers[_AT["pilot_outlet"]]
    for _ in range(8):
        middle = math.sqrt(low * high)
        numbers[_AT["pilot_outlet"]] = outlet * middle
        lam = _lambdas(np.array([0.0]), np.array([1200.0]), numbers, setting, *thick)[0]
        low, high = (middle, high) if lam > wanted[-1] else (low, middle)
    return Shipped(float(setting[0]), cutaway, float(setting[3]), diameters)


def age(numbers: np.ndarray, rng: np.random.Generator) -> None:
    """What forty years, open filters and a home-made exhaust do to it."""
    for name, sd in (("nozzle_gain", 0.20), ("pilot_outlet", 0.15), ("main_discharge", 0.04),
                     ("needle_discharge", 0.05), ("tract_length", 0.15), ("main_height", 0.2),
                     ("filter_loss", 0.5), ("cutaway_weight", 0.08)):  # fmt: skip
        numbers[_AT[name]] *= math.exp(rng.normal(0.0, sd))
    numbers[_AT["needle_wear"]] += rng.uniform(0.0, 0.012e-3)


@compiled
def _share(y):
    y = min(max(y, 0.0), 1.0)
    k = 1.0 - 2.0 * y
    return (math.acos(k) - k * math.sqrt(max(1.0 - k * k, 0.0))) / math.pi


@compiled
def _volume(theta, swept, ratio):
    n = 3.9
    t = math.radians(theta)
    x = 0.5 * (n + 1.0 - math.cos(t) - math.sqrt(n * n - math.sin(t) ** 2))
    return swept / (ratio - 1.0) + swept * x


@compiled
def _orifice(area, p_up, t_up, p_down):
    r = max(p_down / p_up, 0.532)
    psi = math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * (r ** (2.0 / GAMMA) - r ** (1.0 + 1.0 / GAMMA)))
    return area * p_up / math.sqrt(R * t_up) * psi


@compiled
def _between(area, p1, t1, v1, p2, t2, v2, dt):
    """Flow from 1 to 2, never more than half of what would even the pressures in one step."""
    if area <= 0.0 or p1 == p2:
        return 0.0
    even = abs(p1 - p2) / (GAMMA * R * (t1 / v1 + t2 / v2))
    if p1 > p2:
        return min(_orifice(area, p1, t1, p2), 0.5 * even / dt)
    return -min(_orifice(area, p2, t2, p1), 0.5 * even / dt)


@compiled
def _lift(theta, opens, closes):
    if theta <= opens or theta >= closes:
        return 0.0
    return math.sin(math.pi * (theta - opens) / (closes - opens)) ** 2


@compiled
def _jet(diameter, discharge, reynolds0, flow):
    re = 4.0 * max(flow, 1e-9) / (math.pi * diameter * VISCOSITY)
    return discharge * math.sqrt(re / (re + reynolds0)) * 0.25 * math.pi * diameter**2


@compiled
def _one(opening, rpm, c, setting, needle_at, needle_d):
    (swept, ratio, d_in, d_out, ivo, ivc, evo, evc, t_ex, v_port, length, bore, idle, cd_slide,
     gain, w_cut, recess, blend, column, cd_main, re_main, cd_needle, wear, d_nj, emulsion,
     p_emulsion, h_main, cd_pilot, re_pilot, a_bleed, a_out, a_screw, n_screw, h_pilot, bypass,
     filter_loss, exhaust_loss) = c  # fmt: skip
    rest = idle / bore
    y = rest + (1.0 - rest) * opening
    pipe = 0.25 * math.pi * bore**2
    throat = cd_slide * pipe * _share(y)
    under = (_share(y + w_cut * setting[2] / bore) + recess * (1.0 - _share(y))) ** blend
    rho = P0 / (R * T0)
    thick = np.interp(y * bore, needle_at, needle_d) - wear
    a_needle = cd_needle * 0.25 * math.pi * max(d_nj**2 - thick**2, 1e-9)
    step = 1.0
    # At low speed a degree is long for the port: take shorter steps.
    dt = step / (6.0 * rpm)
    parts = max(1, math.ceil(dt / 3.0e-5))
    step /= parts
    dt /= parts
    steps = round(720.0 / step)
    v = _volume(0.0, swept, ratio)
    t = 900.0
    m = P0 * v / (R * t)
    p_port = 0.8 * P0
    t_port = T0 + 10.0
    flow = 0.0
    fuel_flow = 1e-6
    pilot_flow = 1e-6
    trapped = 0.6 * P0 * swept / (R * T0)
    resistance = 1.0 / (2.0 * rho * throat**2) + filter_loss / (2.0 * rho * pipe**2)
    most = throat * P0 / math.sqrt(R * T0) * 0.684
    p_ex0 = P0
    screw = a_screw * max(setting[1], 0.0) ** n_screw
    last_lambda = 0.0
    for cycle in range(14):
        air_sum = 0.0
        fuel_sum = 0.0
        for k in range(steps):
            theta = k * step
            v_new = _volume(theta + step, swept, ratio)
            p = m * R * t / v
            a_in = 0.62 * math.pi * d_in * 0.25 * d_in * _lift(theta, ivo, ivc)
            a_ex = 0.60 * math.pi * d_out * 0.25 * d_out * _lift(theta, evo, evc)
            if theta < evo or theta >= ivc:
                if theta < evo and theta + step >= evo:
                    m = trapped * 1.06
                    t = t_ex
                q_in = 0.0
            else:
                p_ex = p_ex0 + exhaust_loss * 400.0 * math.sin(math.radians(2.0 * theta))
                q_in = _between(a_in, p_port, t_port, v_port, p, t, v, dt)
                q_ex = _between(a_ex, p, t, v, p_ex, 900.0, 1.0, dt)
                cp = GAMMA * R / (GAMMA - 1.0)
                cv = cp - R
                heat = q_in * cp * (t_port if q_in > 0.0 else t)
                heat -= q_ex * cp * (t if q_ex > 0.0 else 900.0)
                energy = m * cv * t + dt * heat - p * (v_new - v)
                m = max(m + dt * (q_in - q_ex), 1e-9)
                t = min(max(energy / (m * cv), 200.0), 2500.0)
                if theta + step >= ivc:
                    trapped = m
            v = v_new
            # Air column through the carburettor, resistance implicit.
            push = flow + dt * pipe / length * (P0 - p_port)
            b = dt * pipe / length * resistance
            sign = 1.0 if push >= 0.0 else -1.0
            flow = sign * (math.sqrt(1.0 + 4.0 * b * abs(push)) - 1.0) / (2.0 * b)
            flow = min(max(flow, -most), most)
            p_port += dt * GAMMA * R * t_port / v_port * (flow - q_in)
            p_port = max(p_port, 0.05 * P0)
            # Fuel column, resistance implicit.
            u = flow / (rho * pipe * under)
            signal = gain * 0.5 * rho * u * u
            signal *= 1.0 - emulsion * math.tanh(signal / p_emulsion)
            head = signal - RHO_FUEL * 9.81 * h_main
            a_main = _jet(setting[3], cd_main, re_main, fuel_flow)
            both = 1.0 / math.sqrt(1.0 / a_main**2 + 1.0 / a_needle**2)
            inertia = 0.6 * 0.25 * math.pi * d_nj**2 / column
            push = fuel_flow + dt * inertia * head
            b = dt * inertia / (2.0 * RHO_FUEL * both**2)
            fuel_flow = (math.sqrt(1.0 + 4.0 * b * max(push, 0.0)) - 1.0) / (2.0 * b)
            # Pilot: vacuum behind the slide, part of it spoilt by the bypass holes before it.
            vacuum = max(P0 - p_port, 0.0) * (1.0 - bypass * (1.0 - y))
            vacuum = min(vacuum, 0.47 * P0)
            a_jet = _jet(setting[0], cd_pilot, re_pilot, pilot_flow)
            qa = a_bleed * math.sqrt(2.0 * rho)
            qf = a_jet * math.sqrt(2.0 * RHO_FUEL)
            outlet = a_out + screw
            kappa = (qa + qf) * (qa / rho + qf / RHO_FUEL) / (2.0 * outlet**2)
            x = vacuum / (1.0 + kappa) - RHO_FUEL * 9.81 * h_pilot
            target = a_jet * math.sqrt(2.0 * RHO_FUEL * max(x, 0.0))
            pilot_flow += (target - pilot_flow) * min(1.0, dt / 0.004)
            air_sum += flow * dt
            fuel_sum += (fuel_flow + pilot_flow) * dt
        lam = air_sum / (AFR * max(fuel_sum, 1e-15))
        if cycle > 3 and abs(lam / last_lambda - 1.0) < 1e-3:
            break
        last_lambda = lam
    return lam, p_port, air_sum


@compiled
def _lambdas(openings, speeds, c, setting, needle_at, needle_d):
    out = np.empty(openings.size)
    numbers = (
        c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9], c[10], c[11], c[12], c[13],
        c[14], c[15], c[16], c[17], c[18], c[19], c[20], c[21], c[22], c[23], c[24], c[25], c[26],
        c[27], c[28], c[29], c[30], c[31], c[32], c[33], c[34], c[35], c[36],
    )  # fmt: skip
    for i in range(openings.size):
        out[i] = _one(openings[i], speeds[i], numbers, setting, needle_at, needle_d)[0]
    return out
