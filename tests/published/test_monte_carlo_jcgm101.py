"""The closed form for an interval reading against Monte Carlo in the manner of JCGM 101.

JCGM 101:2008 (GUM Supplement 1): clause 6.4.2 rectangular and 6.4.7 Gaussian inputs, clause 7
propagation of distributions, 7.2.2 a million trials, 7.9.2 numerical tolerance of a value stated
to so many digits. JCGM 100:2008 (GUM): 4.3.7 rectangular standard uncertainty a / sqrt(3), 5.1.2
root sum of squares. Second reference: numerical quadrature by scipy.integrate.
"""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from scipy.integrate import quad

from tickover.decide.intervals import judge, probability_below, probability_inside

TRIALS = 1_000_000


@pytest.mark.parametrize(
    ("lower", "upper", "low", "high", "spread"),
    [
        (127.0, 177.8, 152.4, 177.8, 5.0),  # an interval that ends on the limit
        (127.0, 177.8, 165.0, 190.0, 5.0),  # one across it
        (127.0, 177.8, 177.8, 203.2, 5.0),  # one beyond it
        (100.0, 110.0, 104.0, 106.0, 9.0),  # spread wider than interval and limits
        (-math.inf, 110.0, 104.0, 112.0, 2.0),
    ],
)
def test_probability_inside_agrees_with_a_million_trials(
    lower: float, upper: float, low: float, high: float, spread: float
) -> None:
    """Tolerance: four standard deviations of the observed frequency."""
    rng = np.random.default_rng(101)
    x = rng.uniform(low, high, TRIALS) + rng.normal(0.0, spread, TRIALS)
    closed = float(probability_inside(lower, upper, low, high, spread))
    frequency = float(np.mean((x >= lower) & (x <= upper)))
    tolerance = 4.0 * math.sqrt(closed * (1.0 - closed) / TRIALS)
    assert frequency == pytest.approx(closed, abs=tolerance)


def test_adaptive_trials_confirm_three_digits() -> None:
    """JCGM 101, 7.9: batches until twice the standard deviation of their mean is within the
    numerical tolerance of three significant digits, half of the last digit."""
    closed = float(probability_inside(127.0, 177.8, 165.0, 190.0, 5.0))
    rng = np.random.default_rng(79)
    delta = 0.5e-3
    batches: list[float] = []
    while len(batches) < 2 or 2.0 * np.std(batches, ddof=1) / math.sqrt(len(batches)) > delta:
        x = rng.uniform(165.0, 190.0, 10_000) + rng.normal(0.0, 5.0, 10_000)
        batches.append(float(np.mean((x >= 127.0) & (x <= 177.8))))
        assert len(batches) < 1000
    # 7.9.2: the stated value is good to delta with about 95 %; two of those for a fixed seed.
    assert float(np.mean(batches)) == pytest.approx(closed, abs=2.0 * delta)


@pytest.mark.parametrize("spread", [0.003, 0.05, 0.4, 3.0])
@pytest.mark.parametrize("limit", [-1.0, 0.2, 0.5, 0.97, 1.6])
def test_closed_form_agrees_with_quadrature(limit: float, spread: float) -> None:
    """The rectangular density folded with the normal distribution function, to 1e-9."""
    normal = NormalDist()
    numeric, _ = quad(
        lambda place: normal.cdf((limit - place) / spread),
        0.0,
        1.0,
        points=[min(max(limit, 0.0), 1.0)],
        limit=400,
        epsabs=1e-11,
    )
    assert float(probability_below(limit, 0.0, 1.0, spread)) == pytest.approx(numeric, abs=1e-9)


@pytest.mark.parametrize("spread", [0.0, 0.2, 1.0])
def test_standard_uncertainty_is_the_gum_root_sum_of_squares(spread: float) -> None:
    """Variance from the distribution function against a^2 / 3 + s^2 (GUM 4.3.7 and 5.1.2)."""
    half = 1.3
    grid = np.linspace(-half - 9.0 * spread - 0.01, half + 9.0 * spread + 0.01, 40_001)
    below = probability_below(grid, -half, half, spread)
    # E[x^2] = integral of 2 x (1 - F) over x > 0 and of -2 x F over x < 0.
    weight = np.where(grid > 0.0, 2.0 * grid * (1.0 - below), -2.0 * grid * below)
    variance = float(np.trapezoid(weight, grid))
    assert variance == pytest.approx(half**2 / 3.0 + spread**2, rel=1e-6)  # step of the grid


@pytest.mark.parametrize("p", [0.80, 0.90, 0.95, 0.99, 0.999])
def test_a_point_reading_gives_the_normal_conformance_probability(p: float) -> None:
    """One-sided limit z standard uncertainties away: p = Phi(z), z from Python's statistics."""
    z = NormalDist().inv_cdf(p)
    assert float(probability_below(10.0 + 0.3 * z, 10.0, 10.0, 0.3)) == pytest.approx(p, abs=1e-12)


def test_guard_band_keeps_the_stated_risk_at_the_edge_of_acceptance() -> None:
    """ISO 14253-1, the idea: a guard band of 1.65 u on a one-sided limit leaves about 5 % risk
    for a point reading that is just accepted, and none is accepted with more."""
    u = 0.3
    guard = 1.65 * u
    edge = 10.0 - guard
    assert judge(edge - 1e-9, edge - 1e-9, -math.inf, 10.0, guard) == "in"
    assert judge(edge + 1e-9, edge + 1e-9, -math.inf, 10.0, guard) == "undecided"
    assert float(probability_below(10.0, edge, edge, u)) == pytest.approx(0.9505, abs=5e-5)
