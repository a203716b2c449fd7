"""What the gauge should say on this engine today, and what each influence is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tickover.cache.remembered import remembered
from tickover.physics.cylinder import crank_many
from tickover.physics.valveflow import held_open_area
from tickover.tasks.compression import shared as s
from tickover.tasks.compression.described import PSI, Conditions, CylinderSpec
from tickover.tasks.compression.likelihood import READING_SD, RINGS_APART

Floats = NDArray[np.float64]

_DRAWS = 400


@dataclass(frozen=True, slots=True)
class Expected:
    """The dial of a sound cylinder, stroke by stroke: an 80 percent interval and the middle.

    Parameters
    ----------
    low, middle, high : tuple of float
        10, 50 and 90 percent points after each stroke, gauge [Pa]
    strokes_to_full : tuple of int
        10, 50 and 90 percent points of the stroke that first reaches 95 percent
    """

    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]
    strokes_to_full: tuple[int, int, int]

    @property
    def last(self) -> tuple[float, float, float]:
        """After the strokes counted [Pa]."""
        return self.low[-1], self.middle[-1], self.high[-1]


@remembered
def expected(spec: CylinderSpec, day: Conditions, seed: int = 1) -> Expected:
    """What a sound cylinder of this engine should read.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions
    seed : int
        Of the draws

    Returns
    -------
    Expected

    Notes
    -----
    400 draws of what nobody knows through the cylinder model; with a throttle said to be shut the
    interval is that of a shut throttle of 1 to 6 mm2.
    """
    from tickover.physics import cylinder_row as k

    rng = np.random.default_rng(seed)
    prior = s.prior_of(spec, day)
    draws = prior.draw(rng, _DRAWS)
    leaks = np.exp(draws[:, s.RINGS] + RINGS_APART * rng.standard_normal(_DRAWS))
    rows = s.rows_of(spec, day, draws, leaks)
    if day.throttle == "shut":
        rows[:, k.THROTTLE] = np.exp(rng.uniform(math.log(1e-6), math.log(6e-6), _DRAWS))
    strokes = max(day.strokes, 10)
    dial = crank_many(rows, strokes, threads=2) - day.air_pressure
    full = 1 + np.argmax(dial >= 0.95 * dial[:, -1:], axis=1)
    noise = draws[:, s.DIAL] + READING_SD * rng.standard_normal(_DRAWS)
    dial = np.maximum(dial[:, : day.strokes] + noise[:, None], 0.0)
    low, middle, high = np.quantile(dial, (0.1, 0.5, 0.9), axis=0)
    first, usual, last = (int(x) for x in np.quantile(full, (0.1, 0.5, 0.9)))
    return Expected(
        tuple(float(x) for x in low),
        tuple(float(x) for x in middle),
        tuple(float(x) for x in high),
        (first, usual, last),
    )


@dataclass(frozen=True, slots=True)
class Influence:
    """What one change is worth on this engine.

    Parameters
    ----------
    what : str
    change : float
        Of the reading [Pa]
    """

    what: str
    change: float


@remembered
def influences(spec: CylinderSpec, day: Conditions) -> tuple[Influence, ...]:
    """What each influence is worth on this engine, one at a time from the usual.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions

    Returns
    -------
    tuple of Influence
        Largest drop first.
    """
    from tickover.physics import cylinder_row as k

    prior = s.prior_of(spec, day)
    base_leak = math.exp(prior.mean[s.RINGS])
    rpm = math.exp(prior.mean[s.SPEED])
    tooth = spec.tooth_deg or 20.0
    tooth_words = "one sprocket tooth" if spec.tooth_deg else "20 crank degrees"
    gap = held_open_area(20e-6, spec.exhaust.seat_diameter) * 1e6
    changes: list[tuple[str, dict[int, float], float, Conditions]] = [
        ("the usual", {}, 0.0, day),
        (f"cam late by {tooth_words}", {s.CAM: tooth}, 0.0, day),
        ("1 mm2 more leak", {}, 1.0, day),
        ("an exhaust valve held open by 0.02 mm", {}, gap, day),
        ("compression ratio lower by 1", {s.RATIO: -1.0}, 0.0, day),
        (
            f"cranking at {rpm * 2 / 3:.0f} instead of {rpm:.0f} rpm",
            {s.SPEED: math.log(2 / 3)},
            0.0,
            day,
        ),
        ("engine 60 K warmer", {s.WALL: 60.0}, 0.0, day),
        ("twice the heat to the metal", {s.HEAT: math.log(2.0)}, 0.0, day),
        ("half as much again in crevices", {s.CREVICE: math.log(1.5)}, 0.0, day),
        (
            "1000 m higher",
            {},
            0.0,
            replace(day, altitude=day.altitude + 1000.0)
            if day.altitude <= 4000.0
            else replace(day, altitude=day.altitude - 1000.0),
        ),
    ]
    rows = []
    pressures = []
    for _, moves, leak, then in changes:
        draw = prior.mean.copy()
        for column, step in moves.items():
            draw[column] += step
        rows.append(s.rows_of(spec, then, draw[None, :], np.array([base_leak + leak]))[0])
        pressures.append(then.air_pressure)
    extra: list[tuple[str, dict[int, float]]] = [
        ("throttle or slides shut to 3 mm2", {k.THROTTLE: 3e-6}),
        ("1 cc of oil in the cylinder", {k.OIL: 1e-6}),
    ]
    if day.check_valve != "gauge":
        hose = math.exp(prior.mean[s.HOSE])
        extra.append(
            ("a gauge with its check valve at the dial end", {k.DEAD_V: hose, k.GAUGE_V: 1e-6})
        )
    for _, columns in extra:
        row = rows[0].copy()
        for column, value in columns.items():
            row[column] = value
        rows.append(row)
        pressures.append(day.air_pressure)
    dial = crank_many(np.array(rows), day.strokes)[:, -1] - np.array(pressures)
    names = [c[0] for c in changes] + [e[0] for e in extra]
    if day.altitude > 4000.0:
        names[names.index("1000 m higher")] = "1000 m lower"
    found = [
        Influence(name, float(value - dial[0]))
        for name, value in zip(names[1:], dial[1:], strict=True)
    ]
    return tuple(sorted(found, key=lambda x: x.change))


def ideal_limit(spec: CylinderSpec, day: Conditions) -> float:
    """What no cylinder of this engine can show: no loss at all, hot walls, ratio one higher.

    Parameters
    ----------
    spec : CylinderSpec
    day : Conditions

    Returns
    -------
    float
        Gauge [Pa]
    """
    from tickover.physics.gas import compress_isentropic

    _, ratio = compress_isentropic(300.0, spec.ratio + 1.0)
    return day.air_pressure * (ratio - 1.0) + 5.0 * PSI
