"""The whole carburettor: mixture over openings and speeds for a setting, and where it holds.

    air     throttle orifice against the cylinder's appetite -> manifold pressure, flow, lift
    signal  b g^2 (1 + B ((p_man/p - 0.6)/0.4)^3) (p - p_throat)
    fuel    k_p pilot + main jet and needle annulus in series
    lambda  air / (stoichiometric ratio * fuel)

Four ln-factors calibrate it (pilot, main jet, needle, cutaway). `anchor` finds them from a set-up
known to be right; readings refine them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.carburettor import layout
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Setting, needle_diameter

Floats = NDArray[np.float64]

FACTORS = ("pilot", "main", "needle", "cutaway")

# Discharge of an open slide times the share of a cycle in which air flows: 0.75 of the hole, all
# through the cycle with a deep vacuum, a bit over a third of it with none. Calibrated away.
_FLOW_SHARE = 0.28
_STEADY_SHARE = 0.75
_SIGNAL_GAIN = 1.75
_SIGNAL_RISE = 0.35
_RECESS = 0.32
_CUTAWAY_WEIGHT = 0.8
_JET_DISCHARGE = 0.78
_NEEDLE_DISCHARGE = 0.62
# Width of the hinge at which the main nozzle starts to flow. A hard hinge makes the mixture there
# look better known than it is.
_HEAD_SOFTNESS_PA = 4.0
_RESTING_LIFT = 0.05


@dataclass(frozen=True, slots=True)
class Points:
    """Points of a map with the air already worked out; fuel can then be asked many times.

    Parameters
    ----------
    openings : array, shape (n,)
        Share of the way from idle stop to full, at the grip [-]
    speeds_rpm : array, shape (n,)
        [rpm]
    states : array, shape (n, 5)
        As in `layout.STATE`.
    fixed, air : array
        As in `layout.FIXED` and `layout.AIR`.
    bore : float
        [m]
    needle_jet : float
        [m]
    """

    openings: Floats
    speeds_rpm: Floats
    states: Floats
    fixed: Floats
    air: Floats
    bore: float
    needle_jet: float

    @property
    def lift_share(self) -> Floats:
        """Lift of slide or piston over the bore: what needle and main jet go by [-]."""
        return self.states[:, 2]


def fixed_numbers(carburettor: Carburettor, engine: Breathing) -> Floats:
    """Carburettor and engine in the order of `layout.FIXED`."""
    values = {
        "bore": carburettor.bore,
        "idle_lift": carburettor.idle_lift,
        "flow_share": _FLOW_SHARE,
        "swept": engine.swept,
        "filling": engine.filling,
        "filling_speed": engine.best_speed_rpm,
        "compression_ratio": engine.compression_ratio,
        "needle_jet": carburettor.needle_jet,
        "signal_gain": _SIGNAL_GAIN,
        "signal_rise": _SIGNAL_RISE,
        "recess": _RECESS,
        "cutaway_weight": _CUTAWAY_WEIGHT,
        "main_discharge": _JET_DISCHARGE,
        "needle_discharge": _NEEDLE_DISCHARGE,
        "main_height": carburettor.main_height,
        "pilot_air_jet": carburettor.pilot_air_jet,
        "pilot_outlet": carburettor.pilot_outlet,
        "screw_area": carburettor.screw_area,
        "screw_is_air": float(carburettor.screw == "air"),
        "pilot_discharge": _JET_DISCHARGE,
        "pilot_height": carburettor.pilot_height,
        "main_air_jet": carburettor.main_air_jet,
        "head_softness": _HEAD_SOFTNESS_PA,
        "piston_drop_pressure": (
            carburettor.piston_pressure if carburettor.kind == "constant velocity" else 0.0
        ),
        "resting_lift": _RESTING_LIFT,
        "steady_share": _STEADY_SHARE,
    }
    return np.array([values[name] for name in layout.FIXED])


def air_numbers(air: Air, carburettor: Carburettor) -> Floats:
    """Air and fuel in the order of `layout.AIR`."""
    values = {
        "pressure": air.pressure,
        "temperature": air.temperature,
        "density": air.density,
        "fuel_density": air.fuel_density,
        "stoichiometric_ratio": air.stoichiometric_ratio,
        "exhaust_pressure": air.pressure,
        "box_resistance": air.box_resistance,
        "bowl_in_box": float(carburettor.bowl_vent == "box"),
    }
    return np.array([values[name] for name in layout.AIR])


def points(
    carburettor: Carburettor, engine: Breathing, air: Air, openings: Floats, speeds_rpm: Floats
) -> Points:
    """Work out the air at points of opening and speed.

    Parameters
    ----------
    carburettor : Carburettor
    engine : Breathing
    air : Air
    openings : array, shape (n,)
        0 at the idle stop, 1 full [-]
    speeds_rpm : array, shape (n,)
        [rpm]

    Returns
    -------
    Points

    Notes
    -----
    Throttle: isentropic orifice, source as in `tickover.physics.orifice`. Cylinder: air taken is
    linear in manifold pressure (ideal cycle with residual gas; Heywood, Internal Combustion
    Engine Fundamentals, 1988, section 6.2, from memory), scaled by the filling at full throttle.
    """
    from tickover.physics.carburettor import kernels

    openings = np.ascontiguousarray(openings, dtype=float)
    speeds = np.ascontiguousarray(speeds_rpm, dtype=float)
    fixed = fixed_numbers(carburettor, engine)
    numbers = air_numbers(air, carburettor)
    states = np.empty((openings.size, 5))
    kernels.air_states(states, openings, speeds, fixed, numbers)
    return Points(
        openings, speeds, states, fixed, numbers, carburettor.bore, carburettor.needle_jet
    )


def annulus(at: Points, setting: Setting) -> Floats:
    """Open area between needle and needle jet at each point, shape (n,) [m2]."""
    diameter = needle_diameter(setting.needle, setting.clip, at.lift_share * at.bore)
    free = 0.25 * np.pi * (at.needle_jet**2 - diameter**2)
    # A needle as thick as its jet still leaks round its edge.
    return np.maximum(free, 1e-9)


def setting_numbers(setting: Setting) -> Floats:
    """Pilot jet, screw turns, cutaway, main jet, as the kernels take them."""
    return np.array(
        [setting.pilot_jet, setting.screw_turns, setting.cutaway, setting.main_jet], dtype=float
    )


def ln_lambda(at: Points, setting: Setting, factors: Floats) -> Floats:
    """ln of lambda at the points.

    Parameters
    ----------
    at : Points
    setting : Setting
    factors : array, shape (4,)
        ln of the calibration factors, in the order of FACTORS [-]

    Returns
    -------
    array, shape (n,)
        [-]
    """
    return ln_lambda_slopes(at, setting, factors)[:, 0].copy()


def ln_lambda_slopes(at: Points, setting: Setting, factors: Floats) -> Floats:
    """ln of lambda (first column) and its slopes in the four factors, shape (n, 5) [-]."""
    from tickover.physics.carburettor import kernels

    # The loop over many settings, with one: it is compiled anyway.
    out = np.empty((1, at.states.shape[0], 5))
    kernels.slopes_of_many(
        out, at.states, setting_numbers(setting)[np.newaxis], annulus(at, setting)[np.newaxis],
        factors, at.fixed, at.air,
    )  # fmt: skip
    slopes: Floats = out[0]
    return slopes


def fuel_flows(at: Points, setting: Setting, factors: Floats) -> Floats:
    """Pilot and main fuel at the points, shape (n, 2) [kg/s]."""
    from tickover.physics.carburettor import kernels

    out = np.empty((at.states.shape[0], 2))
    kernels.fuel_flows(
        out, at.states, setting_numbers(setting), annulus(at, setting), factors, at.fixed, at.air
    )
    return out


def anchor(
    at: Points,
    setting: Setting,
    wanted_ln_lambda: Floats,
    spread: float = 0.5,
    miss_size: float = 0.03,
) -> Floats:
    """Factors with which a set-up known to be right comes out right.

    Parameters
    ----------
    at : Points
        Where the set-up is known, in the air it was known in.
    setting : Setting
        The jets it ran with.
    wanted_ln_lambda : array, shape (n,)
        ln of lambda it had [-]
    spread : float
        How far a factor may wander before the fit prefers to miss a point (ln, standard
        deviation) [-]
    miss_size : float
        How far off the mixture may have been (ln lambda, standard deviation): 3 % for a set-up
        that was seen to be right [-]

    Returns
    -------
    array, shape (4,)
        ln factors [-]

    Notes
    -----
    Least squares with a ridge, by damped Gauss-Newton steps.
    """
    factors = np.zeros(4)
    best = np.inf
    damping = 1e-3
    slopes = ln_lambda_slopes(at, setting, factors)
    for _ in range(40):
        miss = (wanted_ln_lambda - slopes[:, 0]) / miss_size
        jacobian = slopes[:, 1:] / miss_size
        best = float(miss @ miss + factors @ factors / spread**2)
        gradient = jacobian.T @ miss - factors / spread**2
        curvature = jacobian.T @ jacobian + np.eye(4) / spread**2
        step = np.linalg.solve(curvature + damping * np.diag(np.diag(curvature)), gradient)
        tried = factors + np.clip(step, -0.5, 0.5)
        tried_slopes = ln_lambda_slopes(at, setting, tried)
        tried_miss = (wanted_ln_lambda - tried_slopes[:, 0]) / miss_size
        value = float(tried_miss @ tried_miss + tried @ tried / spread**2)
        if value < best:
            converged = best - value < 1e-9 * (1.0 + best)
            factors, slopes, damping = tried, tried_slopes, damping * 0.3
            if converged:
                break
        else:
            damping *= 10.0
            if damping > 1e8:
                break
    return factors


def meaningful(at: Points) -> NDArrayBool:
    """Where the model means something.

    Parameters
    ----------
    at : Points

    Returns
    -------
    array of bool, shape (n,)

    Notes
    -----
    Left out: below 3000 rpm beyond a quarter opening, where one intake stroke is far from a mean
    flow and the slide outruns the fuel; and the overrun, where what the cylinder takes does not
    cover friction, so that the engine cannot stay there. Friction: 0.97 + 0.15 n + 0.05 n^2 bar
    with n in 1000 rpm (Barnes-Moss, from memory), indicated pressure 11.5 bar times filling
    (common practice, no source). The line only bounds the map, no mixture is computed from it.
    """
    n = at.speeds_rpm / 1000.0
    labouring = (at.speeds_rpm < 3000.0) & (at.openings > 0.25)
    per_cycle = at.states[:, 1] * 120.0 / at.speeds_rpm
    full = at.air[2] * at.fixed[3]
    indicated = 11.5 * per_cycle / full
    friction = 0.97 + 0.15 * n + 0.05 * n**2
    pumping = (at.air[0] - at.states[:, 0]) / 1e5
    overrun = indicated < friction + pumping
    held: NDArrayBool = ~(labouring | overrun)
    return held


NDArrayBool = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
