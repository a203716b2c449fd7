"""Coils, timing, leads and battery as the tasks judge them, against published figures.

Copper: IEC 60028 (0.00393 per kelvin at 20 C); AC 43.13-1B chapter 11 (234.5). Timing: degree-wheel
table for stroke 70 mm and rod 130 mm, computed from x = r + L - r cos a - sqrt(L^2 - r^2 sin^2 a);
arc pi D a / 360. Battery: US Army TM 5-3805-262-20 (12.6, 12.4, 12.2, 12.0, 11.7 V); a motor-home
table, third party, differs by up to 0.1 V. Dwell: third-party workshop texts. Advance: straight
lines between the points as printed.
"""

import pytest
from support_proving import after, item, reading, twin

from tickover.tasks.ignition import coil_at_20, timing_degrees, timing_forms, timing_words

LAST_DIGIT_OHM = 0.001
LAST_DIGIT_M = 0.6e-6  # the table prints thousandths of a millimetre

COIL = twin('[ignition]\ncoil_primary = "3.98..4.02 ohm"\n')
DEGREES = twin(
    '[ignition]\nstatic_timing = 10\nrotor_diameter = "100 mm"\n[battery]\nat_rest = "12.4 V"'
)


@pytest.mark.parametrize(("celsius", "ohm"), [(75, 4.8646), (50, 4.4716), (0, 3.6856), (20, 4.0)])
def test_a_coil_of_4_ohm_at_20_c_is_found_good_at_any_temperature(celsius, ohm):
    # 4.00 ohm at 20 C is 4.864 ohm at 75 C: 1 + 0.00393 x 55 = 1.21615
    line = f"coil primary 1 {ohm} ohm at {celsius} C"
    assert coil_at_20(reading(COIL, line)).low == pytest.approx(4.0, abs=LAST_DIGIT_OHM)
    assert item(COIL, after(COIL, line), "coil primary", "coil1").state == "good"


def test_the_same_reading_taken_cold_is_another_coil():
    assert item(COIL, after(COIL, "coil primary 1 4.8646 ohm at 20 C"), "coil primary",
                "coil1").state == "out"  # fmt: skip


@pytest.mark.parametrize(
    ("degrees", "millimetres"),
    [(5, 0.169), (10, 0.674), (20, 2.663), (28, 5.139), (30, 5.872), (35, 7.889), (38, 9.218)],
)
def test_piston_drop_of_the_degree_wheel_table(degrees, millimetres):
    engine = DEGREES.model_copy(
        update={"engine": DEGREES.engine.model_copy(update={"stroke_m": 0.070, "rod_m": 0.130})}
    )
    drop = timing_forms(engine, degrees).drop_m
    assert drop == pytest.approx(millimetres * 1e-3, abs=LAST_DIGIT_M)
    back = timing_degrees(engine, f"{millimetres} mm drop")
    # half of the last printed digit moves the angle by less than this near top dead centre
    assert back == pytest.approx(degrees, abs=0.02)


def test_ten_degrees_on_a_rotor_of_100_mm_is_8_727_mm():
    arc = timing_forms(DEGREES, 10.0).arc_m
    assert arc == pytest.approx(8.727e-3, abs=LAST_DIGIT_M)
    assert "8.73 mm on the rotor" in timing_words(DEGREES, 10.0)


@pytest.mark.parametrize(
    ("volts", "charge"), [(12.6, 100), (12.4, 75), (12.2, 50), (12.0, 25), (11.7, 0)]
)
def test_charge_at_rest_holds_the_service_table(volts, charge):
    found = item(DEGREES, after(DEGREES, f"battery at rest {volts} V"), "battery at rest").finding
    low, high = found.text.split("; ")[1].removesuffix(" % charged by the tables").split(" to ")
    assert float(low) <= charge <= float(high)


@pytest.mark.parametrize(("percent", "lobes", "degrees"), [(50.0, 4, 45.0), (58.333, 6, 35.0)])
def test_dwell_in_percent_is_the_angle_of_the_workshop_texts(percent, lobes, degrees):
    engine = twin(f'[ignition]\nkind = "points"\nbreaker_lobes = {lobes}\ndwell = "20..50 deg"')
    assert reading(engine, f"dwell {percent} %").low == pytest.approx(degrees, abs=0.01)


def test_the_advance_curve_is_straight_between_its_points():
    # 1500 rpm 12 deg, 3000 rpm 38 deg: 25 deg half way, give or take the tolerance of 2
    engine = twin("[ignition]\nadvance = [[1500, 12], [3000, 38]]")
    for degrees, state in ((25.0, "good"), (26.9, "good"), (27.2, "out"), (22.8, "out")):
        line = f"advance curve 3000 {degrees} deg at 2250 rpm"
        found = item(engine, after(engine, line), "advance curve", "3000 rpm")
        assert found.state == state, degrees
