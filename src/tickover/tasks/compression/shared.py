"""What nobody knows and all cylinders share: heat, crevices, speed, gauge, oil, ring tightness.

Each is a number with a bell-shaped prior (on a logarithm where it is a factor). The widths are
judgement, stated here once; the two that count most are heat and leak.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.cylinder import Air, CrankTest
from tickover.physics.gauge import Gauge
from tickover.tasks.compression.described import PSI, Conditions, CylinderSpec

Floats = NDArray[np.float64]

#: Order of the columns of a draw.
RATIO, CAM, SPEED, HEAT, CREVICE, WALL, HOSE, RINGS, DIAL, OIL, SLOWER = range(11)
NAMES = (
    "compression ratio",
    "cam timing",
    "cranking speed",
    "heat to the metal",
    "crevices",
    "metal temperature",
    "gauge hose",
    "ring tightness",
    "the gauge's own error",
    "amount of oil",
    "second speed",
)
#: Of the columns, those the cylinder model takes (the emulator's variables).
MODELLED = (RATIO, CAM, SPEED, HEAT, CREVICE, WALL, HOSE)

#: Standard deviations, on the logarithm where marked (common practice and judgement, no source).
HEAT_SD = 0.40  # log; correlations differ by a factor of three at cranking speed
CREVICE_SD = 0.30  # log
RINGS_SD = 0.35  # log
RINGS_MM2 = 0.32  # effective leak of sound, seated rings of a 138 cc cylinder
UNSEATED = 1.4  # times that before the rings have seated
DIAL_SD = 3.0 * PSI  # class 1.6 of a 300 psi dial, as one standard deviation
USUAL_RPM, USUAL_SPEED_SD = 300.0, 0.18
OIL_CC, OIL_SD = 1.0, 0.3


@dataclass(frozen=True, slots=True)
class SharedPrior:
    """Means and standard deviations of a draw's columns."""

    mean: Floats
    sd: Floats

    def draw(self, rng: np.random.Generator, n: int) -> Floats:
        """n draws, shape (n, 11)."""
        points: Floats = self.mean + self.sd * rng.standard_normal((n, self.mean.size))
        return points


def ring_leak(spec: CylinderSpec) -> float:
    """Usual leak of sound rings, growing with the bore's circumference [mm2]."""
    return RINGS_MM2 * spec.bore / 0.056


def prior_of(spec: CylinderSpec, day: Conditions) -> SharedPrior:
    """What is believed before any reading.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions

    Returns
    -------
    SharedPrior
    """
    mean, sd = np.zeros(11), np.ones(11)
    # Quoted ratios are seldom reached: production chambers come out a little large.
    quoted = spec.ratio_sd >= 0.15
    mean[RATIO], sd[RATIO] = spec.ratio - (0.15 if quoted else 0.0), spec.ratio_sd
    if day.ratio is not None:
        mean[RATIO], sd[RATIO] = day.ratio, max(day.ratio_sd, 0.02)
    if day.cam_late_deg is None:
        mean[CAM], sd[CAM] = 1.0, spec.timing_sd_deg  # chains stretch late
    else:
        mean[CAM], sd[CAM] = day.cam_late_deg, day.cam_late_sd_deg
    known = day.speed_rpm is not None
    mean[SPEED] = math.log(day.speed_rpm if day.speed_rpm is not None else USUAL_RPM)
    sd[SPEED] = 0.06 if known else USUAL_SPEED_SD
    mean[HEAT], sd[HEAT] = -0.10, HEAT_SD
    mean[CREVICE], sd[CREVICE] = math.log(spec.crevice_volume), CREVICE_SD
    warm = day.wall_temperature - day.air_temperature > 15.0
    mean[WALL], sd[WALL] = day.wall_temperature, 12.0 if warm else 4.0
    mean[HOSE] = math.log(day.hose_volume if day.hose_volume else 6e-6)
    sd[HOSE] = 0.15 if day.hose_volume else 0.35
    mean[RINGS] = math.log(ring_leak(spec) * (UNSEATED if day.unseated_rings else 1.0))
    sd[RINGS] = RINGS_SD + (0.1 if day.unseated_rings else 0.0)
    mean[DIAL], sd[DIAL] = 0.0, DIAL_SD
    mean[OIL] = math.log((day.oil_volume if day.oil_volume else OIL_CC * 1e-6) * 1e6)
    sd[OIL] = OIL_SD
    slow = 0.67 if day.slow_rpm is None else day.slow_rpm / math.exp(mean[SPEED])
    mean[SLOWER], sd[SLOWER] = math.log(slow), 0.06
    return SharedPrior(mean, sd)


def rows_of(spec: CylinderSpec, day: Conditions, draws: Floats, leaks_mm2: Floats) -> Floats:
    """Rows of the cylinder kernel for many draws at once.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions
    draws : array, shape (n, 7 or more)
        Columns as numbered here
    leaks_mm2 : array, shape (n,)
        Whole leak of the cylinder [mm2]

    Returns
    -------
    array, shape (n, columns of the kernel)
    """
    from tickover.physics import cylinder_row as k

    at_plug = day.check_valve != "gauge"
    test = CrankTest(
        spec.cylinder(),
        Air(day.air_pressure, day.air_temperature, day.wall_temperature),
        Gauge(check_valve_at_plug=at_plug),
        port_volume=0.45 * spec.displacement,
    )
    rows = np.tile(test.row(), (len(draws), 1))
    ratio = np.maximum(draws[:, RATIO], 3.2)
    late = draws[:, CAM] * (math.pi / 180.0)
    for column in (k.IN_OPENS, k.IN_CLOSES, k.EX_OPENS, k.EX_CLOSES):
        rows[:, column] += late
    rows[:, k.RATIO] = ratio
    rows[:, k.CREVICE] = np.minimum(
        np.exp(draws[:, CREVICE]), 0.19 * spec.displacement / (ratio - 1.0)
    )
    rows[:, k.WALL_T] = np.clip(draws[:, WALL], 240.0, 460.0)
    rows[:, k.SPEED] = np.exp(draws[:, SPEED]) * (math.pi / 30.0)
    rows[:, k.HEAT] = np.exp(draws[:, HEAT])
    rows[:, k.LEAK] = leaks_mm2 * 1e-6
    rows[:, k.GAUGE_V if at_plug else k.DEAD_V] = np.exp(draws[:, HOSE]) + (
        test.gauge.dial_volume if at_plug else 0.0
    )
    return rows
