"""Drift of a clearance with distance."""

from __future__ import annotations

import pytest

from tickover.errors import InputError
from tickover.tasks.valves import USUAL, SeatHeight, drift

KM = 1e3
UM = 1e-6
SHIM = 2.6e-3


def occasions(rate_um_per_1000_km: float, start_um: float = 185, width_um: float = 10):
    return [
        SeatHeight(d * 1000 * KM, SHIM + (start_um + rate_um_per_1000_km * d) * UM, width_um * UM)
        for d in (0, 6, 12, 18)
    ]


LIMITS = (150 * UM, 200 * UM)


def test_a_closing_valve_has_a_negative_rate_near_the_true_one() -> None:
    found = drift(occasions(-1.5), SHIM, LIMITS, USUAL)
    per_1000_km = found.rate * 1000 * KM / UM
    assert per_1000_km == pytest.approx(-1.5, abs=2 * found.rate_uncertainty * 1000 * KM / UM)
    assert found.due_m is not None
    assert found.due_m < found.median_m


def test_ten_percent_is_passed_before_half() -> None:
    # 158 um left after 18 000 km at -1.5 um per 1000 km: 8 um of room is about 5 000 km.
    found = drift(occasions(-1.5), SHIM, LIMITS, USUAL)
    room_lasts_about = 18000 * KM + (158 - 150) / 1.5 * 1000 * KM
    assert 0.5 * room_lasts_about < found.median_m < 1.6 * room_lasts_about


def test_narrower_blades_make_the_rate_surer() -> None:
    wide = drift(occasions(-1.5, width_um=50), SHIM, LIMITS, USUAL)
    narrow = drift(occasions(-1.5, width_um=10), SHIM, LIMITS, USUAL)
    assert narrow.rate_uncertainty < wide.rate_uncertainty


def test_a_shim_change_moves_the_due_distance_not_the_rate() -> None:
    old = drift(occasions(-1.5), SHIM, LIMITS, USUAL)
    thinner = drift(occasions(-1.5), SHIM - 25 * UM, LIMITS, USUAL)
    assert thinner.rate == old.rate
    assert thinner.due_m > old.due_m


def test_one_occasion_leaves_the_rate_at_what_is_usual() -> None:
    found = drift(occasions(-1.5)[:1], SHIM, LIMITS, USUAL)
    assert found.rate == pytest.approx(USUAL.drift_rate_m_per_m, rel=1e-6)


def test_without_readings_there_is_no_drift() -> None:
    with pytest.raises(InputError):
        drift([], SHIM, LIMITS, USUAL)
