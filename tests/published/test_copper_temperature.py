"""Copper and temperature: IEC 60028 (0.00393), AC 43.13-1B (234.5), IEC 60228 (0.004)."""

import pytest

from tickover.physics import battery, winding

# C: R/R20 with 0.00393, R/R20 with 234.5, factor back to 20 C with 0.004 (IEC 60228 table)
TABLE = {
    0: (0.9214, 0.9214, 1.087),
    5: (0.9411, 0.9411, 1.064),
    25: (1.0197, 1.0196, 0.980),
    50: (1.1179, 1.1179, 0.893),
    85: (1.2555, 1.2554, 0.794),
    100: (1.3144, 1.3143, 0.758),
}
PLACES_4 = 6e-5
PLACES_3 = 6e-4


@pytest.mark.parametrize("celsius", TABLE)
def test_both_forms_and_the_cable_table(celsius):
    coefficient, zero, factor = TABLE[celsius]
    hot = celsius + 273.15
    assert winding.resistance_at(1.0, 293.15, hot) == pytest.approx(coefficient, abs=PLACES_4)
    ours = winding.resistance_at(1.0, 293.15, hot, "inferred zero")
    assert ours == pytest.approx(zero, abs=PLACES_4)
    back = winding.resistance_at(1.0, hot, 293.15, alpha_20=0.004)
    assert back == pytest.approx(factor, abs=PLACES_3)


@pytest.mark.parametrize(
    ("celsius", "ratio"),
    [(0, 0.92140), (25, 1.01965), (50, 1.11790), (80, 1.23580), (100, 1.31440)],
)
def test_ratio_to_20_c(celsius, ratio):
    ours = winding.resistance_at(1.0, 293.15, celsius + 273.15)
    assert ours == pytest.approx(ratio, abs=1e-6)


def test_winding_at_0_600_ohm():
    assert winding.winding_temperature(0.600, 0.500, 293.15) - 273.15 == pytest.approx(
        70.9, abs=0.1
    )


def test_coil_of_4_ohm_at_75_c():
    assert winding.resistance_at(4.0, 293.15, 348.15, "inferred zero") == pytest.approx(
        4.864, abs=1e-3
    )


def test_wire_of_one_square_millimetre():
    # IEC 60028: 17.241 mohm/m at 20 C; 21.3064 mohm/m at 80 C.
    assert 1e3 * battery.cable_resistance(1.0, 1e-6) == pytest.approx(17.241, abs=6e-4)
    assert 1e3 * battery.cable_resistance(1.0, 1e-6, 353.15) == pytest.approx(21.3064, abs=6e-4)


@pytest.mark.parametrize(
    ("square_mm", "limit"),
    [(0.5, 39.0), (0.75, 26.0), (1.0, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30),
     (10, 1.91)],
)  # fmt: skip
def test_strand_factor_covers_class_5_cable(square_mm, limit):
    # IEC 60228 class 5, plain copper, largest resistance at 20 C [ohm/km]: 1.11 to 1.16 times
    # solid copper, and cable_drop allows 1.16.
    solid = 1e3 * battery.cable_resistance(1.0, square_mm * 1e-6)
    assert 1.10 < limit / solid < 1.166
