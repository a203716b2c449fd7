"""Days of standing, impossible windings, what is refused."""

import math

import pytest

from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.charging import (
    bridge_voltage,
    charge_left,
    charging_window,
    output_current,
    standing_time,
)
from tickover.physics.threephase import phase_resistances

DAY_S = 86400.0


def test_14_ah_at_5_ma_are_half_gone_after_58_days() -> None:
    # 7 Ah / 0.005 A = 1400 h, by hand
    assert standing_time(14 * 3600.0, 0.005).low == pytest.approx(1400 * 3600.0, rel=1e-12)


def test_an_uncertain_drain_gives_a_band_of_days() -> None:
    found = standing_time(10 * 3600.0, Band(0.01, 0.02), from_share=Band(0.7, 0.9))
    assert found.low / DAY_S == pytest.approx(2.0 / 0.02 / 24.0, rel=1e-12)
    assert found.high / DAY_S == pytest.approx(4.0 / 0.01 / 24.0, rel=1e-12)


def test_no_drain_lasts_for_ever_and_an_empty_battery_not_at_all() -> None:
    assert standing_time(36000.0, 0.0).low == math.inf
    assert standing_time(36000.0, 0.01, from_share=0.4).high == 0.0


def test_a_cold_battery_leaves_more_open() -> None:
    warm, cold = charge_left(12.3), charge_left(12.3, temperature=263.15)
    assert cold.low < warm.low < warm.high < cold.high


@pytest.mark.parametrize("pairs", [(0.2, 0.2, 0.5), (0.2, 0.2, 0.4)])
def test_three_pairs_no_windings_can_make_are_refused(pairs) -> None:
    with pytest.raises(InputError, match="No three windings"):
        phase_resistances(pairs)


@pytest.mark.parametrize(
    "call",
    [
        lambda: bridge_voltage(-1.0),
        lambda: bridge_voltage(10.0, phases=2),
        lambda: charging_window(13.8, 14.6, 25.0),  # a temperature in C where K belong
        lambda: standing_time(-1.0, 0.1),
    ],
)
def test_impossible_numbers_are_refused(call) -> None:
    with pytest.raises(InputError):
        call()


def test_at_five_thirds_of_the_cut_in_speed_four_fifths_come() -> None:
    # sqrt(1 - 0.6^2) = 0.8, by hand
    assert output_current(20.0, 15.0, 25.0) == pytest.approx(16.0, rel=1e-12)
