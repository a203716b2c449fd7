"""Gauges against ASTM B258 as tabled by NBS Handbook 100 (1966), and class 5 of IEC 60228:2004."""

from __future__ import annotations

import pytest

from tickover.errors import InputError
from tickover.physics.wire import (
    RHO_20,
    STRANDED_AWG,
    awg_area,
    awg_diameter,
    awg_resistance,
    size_named,
    sizes,
)

# AWG: diameter [in], ohm per 1000 ft at 20 C; the second column is read in the handbook.
TABLE = {10: (0.1019, 0.9989), 12: (0.08081, 1.588), 14: (0.06408, 2.525), 16: (0.05082, 4.016),
         18: (0.04030, 6.385), 20: (0.03196, 10.15), 22: (0.02535, 16.14),
         24: (0.02010, 25.67)}  # fmt: skip
PRINTED = 5e-4  # four digits


@pytest.mark.parametrize(("gauge", "row"), TABLE.items())
def test_diameter_and_solid_resistance(gauge: int, row: tuple[float, float]) -> None:
    assert awg_diameter(gauge) / 0.0254 == pytest.approx(row[0], rel=PRINTED)
    per_1000_ft = RHO_20 / awg_area(gauge) * 304.8
    assert per_1000_ft == pytest.approx(row[1], rel=PRINTED)


def test_anchors_by_definition() -> None:
    assert awg_diameter(36) == pytest.approx(0.005 * 0.0254, rel=1e-12)
    assert awg_diameter(-3) == pytest.approx(0.46 * 0.0254, rel=1e-12)


def test_three_sizes_double_the_area_and_six_make_four() -> None:
    assert awg_area(10) / awg_area(13) == pytest.approx(2.0050, abs=1e-4)
    assert awg_area(10) / awg_area(16) == pytest.approx(4.0202, abs=1e-4)


@pytest.mark.parametrize(("gauge", "per_1000_ft"), STRANDED_AWG.items())
def test_no_gauge_is_taken_for_better_than_ac_43_13_1b_allows(
    gauge: int, per_1000_ft: float
) -> None:
    """AC 43.13-1B, table 11-9, tinned stranded copper."""
    assert awg_resistance(gauge) * 304.8 >= per_1000_ft * (1 - 1e-12)


# IEC 60228:2004, class 5, plain copper at 20 C [ohm/km].
CLASS_5 = {"0.5": 39.0, "0.75": 26.0, "1": 19.5, "1.5": 13.3, "2.5": 7.98, "4": 4.95, "6": 3.30,
           "10": 1.91}  # fmt: skip


def test_class_5_as_printed() -> None:
    assert {s.name: pytest.approx(s.ohm_per_m * 1e3) for s in sizes("metric")} == CLASS_5


def test_class_5_is_a_little_worse_than_its_copper_alone() -> None:
    for size in sizes("metric"):
        assert 1.10 < size.ohm_per_m * size.area / RHO_20 < 1.17


def test_a_size_by_its_usual_spellings() -> None:
    assert size_named("1.5 mm2", "metric").words == "1.5 mm²"
    assert size_named("AWG 16", "AWG").name == "16"
    with pytest.raises(InputError, match=r"0\.5 mm², 0\.75"):
        size_named("1.4", "metric")
