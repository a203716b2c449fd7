"""SAE J300, January 2015, and ISO 3448, from published copies of their tables."""

import pytest

from tickover.physics import lubricant

# grade, KV100 min, KV100 "less than", viscosity at 150 C and high shear
HOT = [
    ("8", 4.0, 6.1, 1.7),
    ("12", 5.0, 7.1, 2.0),
    ("16", 6.1, 8.2, 2.3),
    ("20", 6.9, 9.3, 2.6),
    ("30", 9.3, 12.5, 2.9),
    ("40", 12.5, 16.3, 3.7),
    ("50", 16.3, 21.9, 3.7),
    ("60", 21.9, 26.1, 3.7),
    ("0W-40", 12.5, 16.3, 3.5),
    ("5W-40", 12.5, 16.3, 3.5),
    ("10W-40", 12.5, 16.3, 3.5),
    ("15W-40", 12.5, 16.3, 3.7),
    ("20W-40", 12.5, 16.3, 3.7),
    ("25W-40", 12.5, 16.3, 3.7),
    ("20W-50", 16.3, 21.9, 3.7),
]
# grade, cranking mPa s at C, pumping mPa s at C, KV100 min
COLD = [
    ("0W", 6200, -35, 60000, -40, 3.8),
    ("5W", 6600, -30, 60000, -35, 3.8),
    ("10W", 7000, -25, 60000, -30, 4.1),
    ("15W", 7000, -20, 60000, -25, 5.6),
    ("20W", 9500, -15, 60000, -20, 5.6),
    ("25W", 13000, -10, 60000, -15, 9.3),
]
VG = [
    (10, 9.00, 11.0),
    (15, 13.5, 16.5),
    (22, 19.8, 24.2),
    (32, 28.8, 35.2),
    (46, 41.4, 50.6),
    (68, 61.2, 74.8),
    (100, 90.0, 110.0),
    (150, 135.0, 165.0),
]
ROUNDING = 1e-12  # nothing but the last bit of a float


@pytest.mark.parametrize(("name", "low", "high", "shear"), HOT)
def test_hot_side(name, low, high, shear):
    grade = lubricant.grade(name)
    assert grade.name == name
    assert grade.at_100c.low == pytest.approx(low * 1e-6, rel=ROUNDING)
    assert grade.at_100c.high == pytest.approx(high * 1e-6, rel=ROUNDING)
    assert grade.hot_shear_min == pytest.approx(shear * 1e-3, rel=ROUNDING)


@pytest.mark.parametrize(("name", "crank", "crank_at", "pump", "pump_at", "low"), COLD)
def test_cold_side(name, crank, crank_at, pump, pump_at, low):
    for grade in (lubricant.grade(name), lubricant.grade(f"{name}-60")):
        assert grade.cranking_max == pytest.approx(crank * 1e-3, rel=ROUNDING)
        assert grade.cranking_temperature == pytest.approx(crank_at + 273.15, abs=1e-9)
        assert grade.pumping_max == pytest.approx(pump * 1e-3, rel=ROUNDING)
        assert grade.pumping_temperature == pytest.approx(pump_at + 273.15, abs=1e-9)
    assert lubricant.grade(name).at_100c.low == pytest.approx(low * 1e-6, rel=ROUNDING)


def test_plain_grade_promises_nothing_cold():
    grade = lubricant.grade("SAE 40")
    assert grade.cranking_max is None
    assert grade.pumping_temperature is None


@pytest.mark.parametrize(("grade", "low", "high"), VG)
def test_iso_3448(grade, low, high):
    band = lubricant.vg_band(grade)
    assert band.low == pytest.approx(low * 1e-6, rel=ROUNDING)
    assert band.high == pytest.approx(high * 1e-6, rel=ROUNDING)


def test_grade_band_at_100_c_is_the_table_itself():
    band = lubricant.viscosity_of_grade(lubricant.grade("20W-50"), 373.15)
    assert band.low == pytest.approx(16.3e-6, rel=1e-9)
    assert band.high == pytest.approx(21.9e-6, rel=1e-9)
