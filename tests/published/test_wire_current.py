"""Currents of wires in bundles against AC 43.13-1B, table 11-9, and the fuse above them."""

from __future__ import annotations

import math

import pytest

from tickover.errors import InputError
from tickover.physics.wire import WireSize, awg_area, size_named
from tickover.physics.wire_current import (
    TABLE_AROUND_K,
    ampacity,
    beyond_table,
    conductor_temperature,
    fuse_for,
    table_current,
)

GAUGES = (24, 22, 20, 18, 16, 14, 12, 10)
TABLE = {
    105: (2.5, 3.0, 4.0, 6.0, 7.0, 10.0, 13.0, 17.0),
    150: (4.0, 5.0, 7.0, 9.0, 11.0, 14.0, 19.0, 26.0),
    200: (5.0, 6.0, 9.0, 12.0, 14.0, 18.0, 25.0, 32.0),
}


@pytest.mark.parametrize("insulation", TABLE)
def test_every_figure_of_the_table_comes_back(insulation: int) -> None:
    for gauge, amperes in zip(GAUGES, TABLE[insulation], strict=True):
        assert table_current(awg_area(gauge), insulation) == pytest.approx(amperes, rel=1e-9)
        size = WireSize(str(gauge), awg_area(gauge), 0.01, "AWG")
        assert ampacity(size, TABLE_AROUND_K, insulation) == pytest.approx(amperes, rel=1e-9)


def test_metric_sizes_lie_between_their_neighbours_of_the_table() -> None:
    assert 7.0 < table_current(1.5e-6, 105) < 10.0
    assert 10.0 < table_current(2.5e-6, 105) < 13.0
    assert not beyond_table(2.5e-6)
    assert beyond_table(6.0e-6)


def test_cooler_surroundings_carry_more_as_the_heat_balance_says() -> None:
    one = size_named("1", "metric")
    ratio = ampacity(one, 313.15) / ampacity(one, TABLE_AROUND_K)
    assert ratio == pytest.approx(math.sqrt(65.0 / 35.0), rel=1e-9)


def test_fewer_wires_carry_more_only_when_counted() -> None:
    """Factors 0.7, 0.6, 0.5 up to 6, 24 and more wires: one secondary text, third party."""
    one = size_named("1", "metric")
    full = ampacity(one, 323.15, wires=5)
    assert full == ampacity(one, 323.15, wires=60)
    assert ampacity(one, 323.15, wires=5, bundling="by count") == pytest.approx(1.4 * full)
    assert ampacity(one, 323.15, wires=60, bundling="by count") == pytest.approx(full)


def test_copper_is_as_hot_as_its_surroundings_without_and_rated_at_full_current() -> None:
    assert conductor_temperature(0.0, 8.0, 323.15) == pytest.approx(323.15)
    assert conductor_temperature(8.0, 8.0, 323.15) == pytest.approx(378.15)
    # The heat balance itself: made over given off is the same at any current.
    t = conductor_temperature(4.0, 8.0, 323.15) - 273.15
    made = 4.0**2 * (234.5 + t) / (t - 50.0)
    assert made == pytest.approx(8.0**2 * (234.5 + 105.0) / (105.0 - 50.0), rel=1e-9)


def test_nothing_is_said_of_insulation_at_its_limit() -> None:
    with pytest.raises(InputError, match="too hot"):
        ampacity(size_named("1", "metric"), 378.15)


@pytest.mark.parametrize(
    ("current", "fuse"), [(7.2, 10.0), (8.0, 10.0), (8.1, 15.0), (0.0, 1.0), (32.0, 40.0)]
)
def test_a_fuse_is_loaded_to_four_fifths(current: float, fuse: float) -> None:
    """Common practice, no single rule: 7.2 A of load ask for 9.0 A, so 10 A are fitted."""
    assert fuse_for(current) == fuse


def test_beyond_the_largest_fuse_there_is_none() -> None:
    assert fuse_for(33.0) is None
