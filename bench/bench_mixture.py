"""Mixture: how quick the map, the fit, the search and the log are, beside plain SciPy and NumPy.

The plain formulations solve the same problem with general tools: a root finder for each point of
the map, least squares with numeric slopes for the fit, a loop over settings for the search.
"""

from __future__ import annotations

import io
import math
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import brentq, least_squares

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from support_mixture import blind, racks  # noqa: E402

from tickover.physics.carburettor import kernels, model  # noqa: E402
from tickover.physics.carburettor.parts import Air  # noqa: E402
from tickover.tasks.balance import row_rack  # noqa: E402
from tickover.tasks.mixture import Machine, Round, map_points  # noqa: E402
from tickover.tasks.mixture.choosing import screen_all, search  # noqa: E402
from tickover.tasks.mixture.drawer import Drawer  # noqa: E402
from tickover.tasks.mixture.logclean import clean  # noqa: E402
from tickover.tasks.mixture.logfile import read_log  # noqa: E402
from tickover.tasks.mixture.posterior import fit, transfer  # noqa: E402
from tickover.tasks.mixture.scoring import Taste  # noqa: E402

BENCH = blind.bench(np.random.default_rng(1))
MACHINE = Machine(BENCH.carburettor, BENCH.engine, BENCH.drawer)
AIR = Air()


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Shortest time of one call of several: what the work itself takes on a busy machine."""
    work()
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def _row(claim: str, ours: float, limit: float, other: float | None = None) -> dict[str, object]:
    return {
        "claim": claim,
        "ours_ms": 1000.0 * ours,
        "other_ms": None if other is None else 1000.0 * other,
        "ratio": None if other is None else other / ours,
        "limit": limit,
        "met": 1000.0 * ours < limit,
    }


def _map() -> dict[str, object]:
    openings, speeds = np.meshgrid(np.linspace(0.0, 1.0, 20), np.linspace(1500.0, 9000.0, 20))
    t, n = openings.ravel(), speeds.ravel()

    def ours() -> np.ndarray:
        at = model.points(BENCH.carburettor, BENCH.engine, AIR, t, n)
        return model.ln_lambda(at, BENCH.fitted, np.zeros(4))

    fixed = model.fixed_numbers(BENCH.carburettor, BENCH.engine)
    air = model.air_numbers(AIR, BENCH.carburettor)

    def plain() -> np.ndarray:
        """A root finder for each point; the fuel by the same kernels."""
        states = np.empty((t.size, 5))
        rest = fixed[1] / fixed[0]
        for i in range(t.size):
            slope, offset = kernels.cylinder_line(n[i], fixed, air)
            lift = rest + (1.0 - rest) * t[i]
            scale = 0.25 * math.pi * fixed[0] ** 2 * kernels.segment_share(lift)
            scale *= air[0] / math.sqrt(kernels.GAS_CONSTANT * air[1])

            def miss(u: float, scale: float = scale, a: float = slope, b: float = offset) -> float:
                share = fixed[2] + (fixed[25] - fixed[2]) * min(1.0, 2.0 * u * u)
                r = max(1.0 - u * u, kernels.CRITICAL_RATIO)
                psi = math.sqrt(7.0 * max(r ** (2 / 1.4) - r ** (2.4 / 1.4), 0.0))
                return scale * share * psi - (a * air[0] * (1.0 - u * u) - b)

            u = brentq(miss, 0.0, 1.0, xtol=1e-12)
            p = air[0] * (1.0 - u * u)
            drop = air[0] - max(p, kernels.CRITICAL_RATIO * air[0])
            states[i] = p, slope * p - offset, lift, drop, air[0]
        at = model.Points(t, n, states, fixed, air, BENCH.carburettor.bore,
                          BENCH.carburettor.needle_jet)  # fmt: skip
        return model.ln_lambda(at, BENCH.fitted, np.zeros(4))

    assert np.allclose(ours(), plain(), atol=1e-7)
    return _row("20 x 20 map of the mixture", seconds(ours, 30), 5.0, seconds(plain, 3))


def _fit_and_search() -> list[dict[str, object]]:
    here = np.array(blind._READ[0])
    t, n = blind.MAP_OPENINGS[here], blind.MAP_SPEEDS[here]
    lams = BENCH.truth.lambdas(BENCH.fitted, t, n)
    readings = tuple(blind._reading(a, b, c, False) for a, b, c in zip(t, n, lams, strict=True))
    rounds = [Round(BENCH.fitted, readings)]
    grid = map_points(MACHINE, AIR)
    keep = model.meaningful(grid)
    at = model.points(
        BENCH.carburettor, BENCH.engine, AIR, grid.openings[keep], grid.speeds_rpm[keep]
    )
    anchor = model.anchor(at, BENCH.fitted, np.log(blind.TARGET.at(at.openings)))

    def ours() -> object:
        return fit(BENCH.carburettor, BENCH.engine, rounds, blind.TARGET, anchor)

    post = fit(BENCH.carburettor, BENCH.engine, rounds, blind.TARGET, anchor)
    read_at = model.points(BENCH.carburettor, BENCH.engine, AIR, t, n)
    spread = np.array(post.prior.spread)

    def plain() -> object:
        """The same unknowns in scipy.optimize.least_squares, slopes by differences."""

        def misses(x: np.ndarray) -> np.ndarray:
            ln = model.ln_lambda(read_at, BENCH.fitted, x[:4]) + post.root @ x[4:]
            return np.concatenate([(np.log(lams) - ln) / 0.018, (x[:4] - anchor) / spread, x[4:]])

        found = least_squares(misses, np.concatenate([anchor, np.zeros(t.size)]), method="lm")
        curvature = np.linalg.inv(found.jac.T @ found.jac)
        return found.x, curvature

    rows = [_row("fit of 12 readings, with its uncertainty", seconds(ours, 20), 50.0,
                 seconds(plain, 5))]  # fmt: skip
    many = Drawer(
        BENCH.drawer.pilots, BENCH.drawer.mains, BENCH.drawer.needles, BENCH.drawer.slides,
        screw_turns=tuple(0.5 + 0.25 * k for k in range(16)),
    )  # fmt: skip
    taste = Taste()
    carried = transfer(post, at, None)
    table = screen_all(post, at, many, BENCH.fitted, blind.TARGET, taste, carried)
    whole = seconds(lambda: search(post, at, many, BENCH.fitted, blind.TARGET, taste), 10)
    wanted = np.log(blind.TARGET.at(at.openings))

    def loop() -> None:
        """A thousand settings, one after another, by the model in NumPy calls."""
        for k in range(1000):
            setting = BENCH.fitted.with_(screw_turns=0.5 + 0.001 * k)
            error = model.ln_lambda(at, setting, post.factors) + carried.mean - wanted
            float(np.mean(error**2 * np.where(error > 0, 4.0, 1.0)))

    one_by_one = seconds(loop, 2) * table.size / 1000.0
    rows.append(
        _row(
            f"best of {table.size} settings, best 400 with the whole uncertainty",
            whole,
            150.0 * table.size / 150_000,
            one_by_one,
        )
    )
    return rows


def _log() -> dict[str, object]:
    rng = np.random.default_rng(0)
    count = 3600 * 50
    time_s = np.arange(count) / 50.0
    marks = np.repeat(rng.choice([0.05, 0.13, 0.25, 0.5, 0.75, 1.0], count // 150 + 1), 150)[:count]
    speed = 1800.0 + 6500.0 * np.sqrt(marks)
    lam = np.roll(0.97 - 0.1 * marks, 15) + 0.008 * rng.standard_normal(count)
    out = io.StringIO()
    np.savetxt(out, np.column_stack([time_s, speed, 100 * marks, lam]), delimiter=",",
               fmt="%.4f", header="time,rpm,tps,lambda", comments="")  # fmt: skip
    text = out.getvalue()
    raw = text.encode()

    def plain() -> object:
        """Reading alone, with NumPy's own reader."""
        return np.loadtxt(io.StringIO(text), delimiter=",", skiprows=1)

    ours = seconds(lambda: clean(read_log(raw, "log")), 5)
    reading = seconds(lambda: read_log(raw, "log"), 5)
    row = _row("one hour at 50 Hz read, cleaned and put into cells", ours, 1500.0)
    other = seconds(plain, 2)
    return {**row, "other_ms": 1000.0 * other, "ratio": other / reading}


def _balance() -> list[dict[str, object]]:
    """Adjustments until balanced, against the largest difference first with its secant gain."""
    made: list[dict[str, object]] = []
    for rack, name in ((row_rack(4, base=2), "four"), (row_rack(6, base=3), "six")):
        seeds = range(1000, 1120)
        mean = float(np.mean([racks.adjustments(racks.ours, k, rack) for k in seeds]))
        other = float(
            np.mean([racks.adjustments(racks.largest_difference, k, rack) for k in seeds])
        )
        made.append(
            {
                "claim": f"mean adjustments to balance {name}, 120 invented racks",
                "ours": mean,
                "other": other,
                "ratio": other / mean,
                "limit": other,
                "met": mean <= other,
            }
        )
    return made


def rows() -> list[dict[str, object]]:
    """One row for each claim about the mixture task."""
    return [_map(), *_fit_and_search(), _log(), *_balance()]


if __name__ == "__main__":
    for row in rows():
        print({k: round(v, 3) if isinstance(v, float) else v for k, v in row.items()})
