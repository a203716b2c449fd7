"""Voltage drop against AC 43.13-1B, tables 11-7 and 11-8, its hot-length rule, and IEC 60228."""

from __future__ import annotations

import pytest

from tickover.physics.wire import (
    STRANDED_AWG,
    WireSize,
    hot_length,
    resistance,
    size_named,
    voltage_drop,
)

FT = 0.3048


def _stranded(gauge: int) -> WireSize:
    return WireSize(str(gauge), 1e-6, STRANDED_AWG[gauge] / 304.8, "AWG")


# Gauge, feet, volts: 20 A through each. The first row of table 11-7 prints 3.60, which is the
# product rounded up (3.555); row two of table 11-8 prints .366 for 0.491 and is left out.
@pytest.mark.parametrize(
    ("gauge", "feet", "volts"), [(12, 88.0, 3.555), (14, 100.0, 6.12), (10, 39.0, 0.983)]
)
def test_drops_worked_in_ac_43_13_1b(gauge: int, feet: float, volts: float) -> None:
    assert voltage_drop(_stranded(gauge), feet * FT, 20.0) == pytest.approx(volts, rel=5e-4)


def test_misprinted_row_is_told_by_its_product() -> None:
    """Table 11-8, second row: 0.00126 x 19.5 x 20 is 0.491, not the .366 printed."""
    assert voltage_drop(_stranded(10), 19.5 * FT, 20.0) == pytest.approx(0.4914, rel=1e-3)


def test_hot_wire_is_cut_shorter() -> None:
    """AC 43.13-1B, chapter 11: 39 ft at 20 C make 29.24 ft at 105 C."""
    assert hot_length(39.0, 378.15) == pytest.approx(29.24, rel=1e-3)


@pytest.mark.parametrize(
    ("size", "metres", "volts"), [("1.5", 6.0, 0.399), ("2.5", 6.0, 0.2394), ("1", 5.0, 0.4875)]
)
def test_class_5_out_and_back_at_5_a(size: str, metres: float, volts: float) -> None:
    """IEC 60228 class 5 resistance times length times current."""
    assert voltage_drop(size_named(size, "metric"), metres, 5.0) == pytest.approx(volts, rel=1e-4)


def test_hot_copper_drops_more_as_its_temperature_says() -> None:
    """Copper at 85 C has 1.2554 times its resistance at 20 C (234.5 form)."""
    one = size_named("1", "metric")
    assert resistance(one, 1.0, 358.15) / resistance(one, 1.0) == pytest.approx(1.2554, abs=1e-4)


def test_ten_amperes_over_six_metres_within_three_percent() -> None:
    """10 A, 6 m, 0.36 V: 6.00 ohm/km are allowed, so 4 mm² passes and 2.5 mm² does not."""
    assert voltage_drop(size_named("4", "metric"), 6.0, 10.0) < 0.36
    assert voltage_drop(size_named("2.5", "metric"), 6.0, 10.0) > 0.36
