"""The compiled inner loops of the carburettor model.

One file on purpose: numba's cache looks at the file a function stands in, so a function compiled
here never runs with a stale copy of one it calls. What the numbers mean, where the formulas come
from and how far they hold stands in `throttle`, `nozzle`, `jets`, `pilot` and
`constant_velocity`, which wrap these loops for people.

    fixed    what the carburettor and the engine are (see `layout.FIXED`)
    air      what they breathe (see `layout.AIR`)
    state    per point: manifold pressure, air flow, lift share, drop at the slide
    setting  what can be changed: pilot jet, screw turns, cutaway, main jet (+ annulus per point)
    factors  ln of pilot, main, needle, cutaway
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from tickover.cache.compiled import compiled

Floats: TypeAlias = NDArray[np.float64]

GAMMA = 1.4
GAS_CONSTANT = 287.05287
CRITICAL_RATIO = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
GRAVITY = 9.80665
QUARTER_PI = 0.25 * math.pi
# Share of the main air jet's hole that really aerates: most of the holes in an emulsion tube
# stand under fuel. A guess; `main` and `needle` calibrate it away.
MAIN_BLEED = 0.4


@compiled
def segment_share(lift_share: float) -> float:
    """Share of a circle below a chord at `lift_share` of its diameter."""
    y = min(max(lift_share, 0.0), 1.0)
    k = 1.0 - 2.0 * y
    return (math.acos(k) - k * math.sqrt(max(1.0 - k * k, 0.0))) / math.pi


@compiled
def flow_number(pressure_ratio: float) -> float:
    """Isentropic mass flow over A p0 / sqrt(R T0); constant once choked."""
    r = max(pressure_ratio, CRITICAL_RATIO)
    if r >= 1.0:
        return 0.0
    return math.sqrt(
        2.0 * GAMMA / (GAMMA - 1.0) * (r ** (2.0 / GAMMA) - r ** ((GAMMA + 1.0) / GAMMA))
    )


@compiled
def filling_at(speed: float, fixed: Floats) -> float:
    """Volumetric efficiency at full throttle: a parabola round its best speed."""
    off = speed / fixed[5] - 1.0
    return float(max(fixed[4] * (1.0 - 0.35 * off * off), 0.3))


@compiled
def cylinder_line(speed: float, fixed: Floats, air: Floats) -> tuple[float, float]:
    """Slope and offset of the air a cylinder takes against manifold pressure."""
    full = filling_at(speed, fixed) * fixed[3] * speed / 120.0 / (GAS_CONSTANT * air[1])
    e = fixed[6]
    slope = full * (e - (GAMMA - 1.0) / GAMMA) / (e - 1.0)
    offset = full * air[5] / (GAMMA * (e - 1.0))
    return slope, offset


@compiled
def share_of_area(u: float, pulsed: float, steady: float) -> float:
    """Discharge times the share of a cycle in which air flows, at p = upstream (1 - u^2).

    Near the room's pressure a cylinder draws in gulps (`pulsed`); with half of it as vacuum
    the flow is steady all through the cycle (`steady`).
    """
    return pulsed + (steady - pulsed) * min(1.0, 2.0 * u * u)


@compiled
def manifold_pressure(
    area: float, upstream: float, temperature: float, slope: float, offset: float, pulsed: float,
    steady: float,
) -> float:  # fmt: skip
    """Pressure behind a hole of `area` where its flow is what the cylinder takes.

    With p = upstream (1 - u^2) both sides are smooth in u, and Newton's steps are kept inside
    a bracket: the hole gives more and the cylinder takes less as u grows.
    """
    scale = area * upstream / math.sqrt(GAS_CONSTANT * temperature)
    low = 0.0
    high = 1.0
    u = 0.3
    for _ in range(60):
        p = upstream * (1.0 - u * u)
        gives = scale * share_of_area(u, pulsed, steady) * flow_number(1.0 - u * u)
        wants = slope * p - offset
        miss = gives - wants
        if miss > 0.0:
            high = u
        else:
            low = u
        step = 1e-7
        ahead = u + step
        slope_u = (
            scale * share_of_area(ahead, pulsed, steady) * flow_number(1.0 - ahead * ahead)
            - (slope * upstream * (1.0 - ahead * ahead) - offset)
            - miss
        ) / step
        following = u - miss / slope_u if slope_u > 0.0 else 0.5 * (low + high)
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - u) < 1e-12:
            u = following
            break
        u = following
    return upstream * (1.0 - u * u)


@compiled
def lift_for_share(share: float) -> float:
    """Lift share whose segment is `share` of the bore."""
    low = 0.0
    high = 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if segment_share(middle) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@compiled
def _slide_state(opening: float, speed: float, inlet: float, fixed: Floats, air: Floats,
                 out: Floats) -> None:  # fmt: skip
    slope, offset = cylinder_line(speed, fixed, air)
    rest = fixed[1] / fixed[0]
    lift = rest + (1.0 - rest) * opening
    area = QUARTER_PI * fixed[0] ** 2 * segment_share(lift)
    p = manifold_pressure(area, inlet, air[1], slope, offset, fixed[2], fixed[25])
    out[0] = p
    out[1] = slope * p - offset
    out[2] = lift
    out[3] = inlet - max(p, CRITICAL_RATIO * inlet)
    out[4] = inlet


@compiled
def _piston_state(opening: float, speed: float, inlet: float, fixed: Floats, air: Floats,
                  out: Floats) -> None:  # fmt: skip
    """Constant velocity: a butterfly behind a piston that floats at a constant drop."""
    slope, offset = cylinder_line(speed, fixed, air)
    whole = QUARTER_PI * fixed[0] ** 2
    pipe = fixed[2] * whole
    rest = fixed[1] / fixed[0]
    angle = 0.5 * math.pi * min(max(opening, 0.0), 1.0)
    butterfly = whole * min(1.0, rest**1.5 + 1.0 - math.cos(angle))
    root = math.sqrt(GAS_CONSTANT * air[1])
    between = inlet - fixed[23]
    p = manifold_pressure(butterfly, between, air[1], slope, offset, fixed[2], fixed[25])
    flow = slope * p - offset
    wanted = flow * root / (inlet * flow_number(between / inlet) * pipe)
    smallest = segment_share(fixed[24])
    if wanted > 1.0 or wanted < smallest:
        # The piston stands on a stop: the drop is what the flow makes of a fixed hole.
        hole = pipe * (1.0 if wanted > 1.0 else smallest)
        low = 0.3 * inlet
        high = inlet
        for _ in range(45):
            between = 0.5 * (low + high)
            p = manifold_pressure(butterfly, between, air[1], slope, offset, fixed[2], fixed[25])
            flow = slope * p - offset
            if hole * inlet / root * flow_number(between / inlet) > flow:
                low = between
            else:
                high = between
        lift = 1.0 if wanted > 1.0 else fixed[24]
    else:
        lift = lift_for_share(wanted)
    out[0] = p
    out[1] = flow
    out[2] = lift
    out[3] = inlet - max(between, CRITICAL_RATIO * inlet)
    out[4] = inlet


def air_states(
    states: Floats, openings: Floats, speeds: Floats, fixed: Floats, air: Floats
) -> None:
    """Fill in the state of the air at n points, shape (n, 5): see `layout.STATE`."""
    # Two loops, so that only the one this carburettor needs is compiled.
    (_piston_states if fixed[23] > 0.0 else _slide_states)(states, openings, speeds, fixed, air)


@compiled
def _slide_states(
    states: Floats, openings: Floats, speeds: Floats, fixed: Floats, air: Floats
) -> None:
    for i in range(openings.size):
        inlet = air[0]
        for _ in range(box_passes(air)):
            _slide_state(openings[i], speeds[i], inlet, fixed, air, states[i])
            inlet = max(air[0] - air[6] * states[i, 1] ** 2, 0.5 * air[0])


@compiled
def _piston_states(
    states: Floats, openings: Floats, speeds: Floats, fixed: Floats, air: Floats
) -> None:
    for i in range(openings.size):
        inlet = air[0]
        for _ in range(box_passes(air)):
            _piston_state(openings[i], speeds[i], inlet, fixed, air, states[i])
            inlet = max(air[0] - air[6] * states[i, 1] ** 2, 0.5 * air[0])


@compiled
def box_passes(air: Floats) -> int:
    """The box pulls down with the square of the flow; three passes more settle it to 0.1 Pa."""
    return 4 if air[6] > 0.0 else 1


@compiled
def soft_positive(value: float, width: float) -> float:
    """A hinge without the corner: `value` when well above zero, nearly nothing well below."""
    x = value / width
    if x > 30.0:
        return value
    if x < -30.0:
        return 0.0
    return width * math.log1p(math.exp(x))


@compiled
def emulsion_ratio(air_area: float, fuel_area: float, outlet: float, air_density: float,
                   fuel_density: float) -> float:  # fmt: skip
    """kappa: the head behind two jets feeding one outlet is signal/(1 + kappa)."""
    a = air_area * math.sqrt(2.0 * air_density)
    f = fuel_area * math.sqrt(2.0 * fuel_density)
    return (a + f) * (a / air_density + f / fuel_density) / (2.0 * outlet * outlet)


@compiled
def pilot_fuel(state: Floats, jet: float, turns: float, fixed: Floats, air: Floats) -> float:
    """Fuel through the pilot system [kg/s]."""
    jet_area = fixed[19] * QUARTER_PI * jet * jet
    bleed = fixed[19] * QUARTER_PI * fixed[15] ** 2
    outlet = fixed[19] * fixed[16]
    screw = fixed[19] * fixed[17] * max(turns, 0.0)
    if fixed[18] > 0.5:
        # The air screw stands in the bleed: both holes in series.
        both = 1.0 / (bleed * bleed) + 1.0 / max(screw * screw, 1e-24)
        bleed = math.sqrt(1.0 / both)
    else:
        outlet += screw
    kappa = emulsion_ratio(bleed, jet_area, outlet, air[2], air[3])
    bowl = 0.0 if air[7] > 0.5 else state[4] - air[0]
    signal = state[4] - max(state[0], CRITICAL_RATIO * state[4]) - bowl
    head = signal / (1.0 + kappa) - air[3] * GRAVITY * fixed[20]
    return float(jet_area * math.sqrt(2.0 * air[3] * soft_positive(head, fixed[22])))


@compiled
def nozzle_signal(state: Floats, cutaway: float, fixed: Floats) -> float:
    """Depression at the needle jet against the inlet [Pa]."""
    lift = state[2]
    share = segment_share(lift)
    under = segment_share(lift + fixed[11] * cutaway / fixed[0])
    g = share / (under + fixed[10] * (1.0 - share))
    rise = 1.0 + fixed[9] * ((state[0] / state[4] - 0.6) / 0.4) ** 3
    # The heavy fuel column feels the mean over the cycle; the drop lasts only while air flows.
    lasting = share_of_area(math.sqrt(state[3] / state[4]), fixed[2], fixed[25]) / fixed[25]
    return float(fixed[8] * g * g * max(rise, 0.1) * lasting * state[3])


@compiled
def metered(
    signal: float, main: float, needle: float, inlet: float, fixed: Floats, air: Floats
) -> float:
    """Fuel that a depression draws through main jet and needle annulus in series [kg/s]."""
    both = main * needle / math.sqrt(main * main + needle * needle)
    head = signal
    if fixed[21] > 0.0:
        bleed = MAIN_BLEED * QUARTER_PI * fixed[21] ** 2
        outlet = QUARTER_PI * fixed[7] ** 2
        head /= 1.0 + emulsion_ratio(bleed, both, outlet, air[2], air[3])
    if air[7] < 0.5:
        # A bowl open to the room while the box pulls at the inlet: extra head.
        head += air[0] - inlet
    head -= air[3] * GRAVITY * fixed[14]
    return float(both * math.sqrt(2.0 * air[3] * soft_positive(head, fixed[22])))


@compiled
def main_fuel(
    state: Floats,
    cutaway: float,
    main_jet: float,
    annulus: float,
    ln_main: float,
    ln_needle: float,
    ln_cutaway: float,
    fixed: Floats,
    air: Floats,
) -> float:
    """Fuel through main jet and needle jet [kg/s]."""
    main = fixed[12] * QUARTER_PI * main_jet * main_jet * math.exp(ln_main)
    needle = fixed[13] * annulus * math.exp(ln_needle)
    signal = nozzle_signal(state, cutaway * math.exp(ln_cutaway), fixed)
    return metered(signal, main, needle, state[4], fixed, air)


@compiled
def fuel_flows(flows: Floats, states: Floats, setting: Floats, annulus: Floats, factors: Floats,
               fixed: Floats, air: Floats) -> None:  # fmt: skip
    """Fill in pilot and main fuel at n points, shape (n, 2) [kg/s]."""
    for i in range(states.shape[0]):
        flows[i, 0] = math.exp(factors[0]) * pilot_fuel(
            states[i], setting[0], setting[1], fixed, air
        )
        flows[i, 1] = main_fuel(states[i], setting[2], setting[3], annulus[i], factors[1],
                                factors[2], factors[3], fixed, air)  # fmt: skip


@compiled
def ln_lambda_slopes(out: Floats, states: Floats, setting: Floats, annulus: Floats,
                     factors: Floats, fixed: Floats, air: Floats) -> None:  # fmt: skip
    """Fill in ln lambda and its slopes in the four factors, shape (n, 5)."""
    # The slope in the pilot factor is the pilot's share; the others by a small step, where main
    # and needle leave the depression as it is.
    step = 1e-4
    grown = math.exp(step)
    for i in range(states.shape[0]):
        state = states[i]
        pilot = math.exp(factors[0]) * pilot_fuel(state, setting[0], setting[1], fixed, air)
        main = fixed[12] * QUARTER_PI * setting[3] * setting[3] * math.exp(factors[1])
        needle = fixed[13] * annulus[i] * math.exp(factors[2])
        cutaway = setting[2] * math.exp(factors[3])
        signal = nozzle_signal(state, cutaway, fixed)
        moved = nozzle_signal(state, cutaway * grown, fixed)
        base = metered(signal, main, needle, state[4], fixed, air)
        total = max(pilot + base, 1e-15)
        out[i, 0] = math.log(state[1] / (air[4] * total))
        out[i, 1] = -pilot / total
        by_main = metered(signal, main * grown, needle, state[4], fixed, air)
        by_needle = metered(signal, main, needle * grown, state[4], fixed, air)
        by_cutaway = metered(moved, main, needle, state[4], fixed, air)
        out[i, 2] = (base - by_main) / (total * step)
        out[i, 3] = (base - by_needle) / (total * step)
        out[i, 4] = (base - by_cutaway) / (total * step)


@compiled
def slopes_of_many(
    out: Floats, states: Floats, jets: Floats, rings: Floats, factors: Floats, fixed: Floats,
    air: Floats,
) -> None:  # fmt: skip
    """`ln_lambda_slopes` of m settings at n points, shape (m, n, 5)."""
    for i in range(jets.shape[0]):
        ln_lambda_slopes(out[i], states, jets[i], rings[i], factors, fixed, air)


@compiled
def pilot_points(
    out: Floats, states: Floats, jet: float, turns: float, ln_pilot: float, fixed: Floats,
    air: Floats,
) -> None:  # fmt: skip
    """Pilot fuel of one jet and screw at n points [kg/s]."""
    for i in range(out.size):
        out[i] = math.exp(ln_pilot) * pilot_fuel(states[i], jet, turns, fixed, air)


@compiled
def main_rows(
    out: Floats, states: Floats, cutaway: float, jets: Floats, ring: Floats, factors: Floats,
    fixed: Floats, air: Floats,
) -> None:  # fmt: skip
    """Main fuel of a series of jets at n points, shape (jets, n) [kg/s]."""
    for j in range(jets.size):
        for i in range(states.shape[0]):
            out[j, i] = main_fuel(states[i], cutaway, jets[j], ring[i], factors[1],
                                          factors[2], factors[3], fixed, air)  # fmt: skip
