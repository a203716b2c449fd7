"""How a fit is judged: DIN 863 micrometers, GUM uncertainty, ISO 14253-1 decision."""

import math

import pytest
from scipy import stats

from tickover.engine.tables.fits import READING_ERROR_M, Fit
from tickover.tasks.fit_verdict import GUARD, FitReading, judge_between, judge_fit


def test_micrometer_errors_are_those_of_din_863():
    # DIN 863 (secondary sources): error limit 4 um for 0-25 and 25-50 mm, 5 um for 50-100 mm.
    assert READING_ERROR_M["journal"] == READING_ERROR_M["piston"] == 4e-6
    assert READING_ERROR_M["bore"] == 5e-6


def test_guard_is_one_sided_95_percent():
    # ISO 14253-1, decision rules: 1.65 standard uncertainties for 95 percent on one side.
    assert pytest.approx(stats.norm.ppf(0.95), abs=0.006) == GUARD


def fit(**keys):
    return Fit.model_validate({"name": "part", "kind": "bore", **keys})


def test_probability_beside_the_verdict_is_normal_about_the_reading():
    # JCGM 106:2012, 7: probability of conformity with a normal distribution about the reading.
    limit, reading, error = 0.0611, 0.061098, 5e-6
    result = judge_fit(fit(wear_limit="61.10 mm"), "", [FitReading(reading, reading)])
    expected = stats.norm.cdf((limit - reading) / (error / math.sqrt(3.0)))
    assert result.probability == pytest.approx(expected, abs=1e-9)


def test_the_edge_of_the_verdict_is_where_95_percent_are_inside():
    u = 5e-6 / math.sqrt(3.0)
    for clear, state in ((1.60, "undecided"), (1.70, "good")):
        reading = 0.0611 - clear * u
        result = judge_fit(fit(wear_limit="61.10 mm"), "", [FitReading(reading, reading)])
        assert result.state == state
        assert (result.probability > 0.95) == (state == "good")


def test_clearance_uncertainty_after_gum_5_1_2():
    # GUM 5.1.2: u(y)^2 = u(x1)^2 + u(x2)^2 for a difference of independent readings.
    hole = judge_fit(fit(), "", [FitReading(0.06101, 0.06101)])
    shaft = judge_fit(fit(kind="piston"), "", [FitReading(0.06095, 0.06095)])
    both = judge_between(fit(kind="clearance", limits="0.04..0.08 mm"), "", hole, shaft)
    assert both.mean.value == pytest.approx(60e-6, abs=1e-12)
    assert both.mean.uncertainty == pytest.approx(math.hypot(5e-6, 4e-6) / math.sqrt(3.0))
