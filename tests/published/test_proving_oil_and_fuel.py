"""Oil and fuel as the tasks expect them, against published figures and facts of the trade.

SAE J300 (January 2015): 20W-50 is 16.3 to under 21.9 mm2/s at 100 C. ASTM D341: lines through two
viscosities, re-computed with T = t + 273.15. Facts of the trade (common practice, no source): an
oil level switch is earthed when low and open when full; about half a litre fills a four-carburettor
system from dry; spark before oil flow before compression before fuel.
"""

from pathlib import Path

import pytest
from support_proving import after, twin

from tickover.engine import load_engine_file
from tickover.plan.checks import check_states
from tickover.plan.next import next_steps
from tickover.tasks import fuel, oil
from tickover.tasks.compression.from_file import conditions_from_file
from tickover.tasks.compression.in_book import reading_entry

MM2_S = 1e-6
ZERO = 273.15
FOUR = load_engine_file(Path(__file__).parents[2] / "examples" / "engines" / "inline-four.toml")


@pytest.mark.parametrize(
    ("grade", "low", "high"),
    [("20W-50", 16.3, 21.9), ("10W-40", 12.5, 16.3), ("30", 9.3, 12.5), ("15w40", 12.5, 16.3)],
)
def test_the_grade_at_100_c_is_sae_j300(grade, low, high):
    engine = twin(f'[oil]\ngrade = "{grade}"')
    band = oil.viscosity_at(engine.oil, ZERO + 100.0)
    assert band.low == pytest.approx(low * MM2_S, rel=1e-9)
    assert band.high == pytest.approx(high * MM2_S, rel=1e-9)


@pytest.mark.parametrize(
    ("at_40", "at_100", "celsius", "expected"),
    [
        (90.0, 14.0, 20, 238.230),
        (90.0, 14.0, 80, 22.918),
        (90.0, 14.0, 120, 9.3166),
        (150.0, 18.5, 20, 454.446),
        (150.0, 18.5, 80, 32.0645),
        (32.0, 5.4, 60, 15.1859),
    ],
)
def test_the_data_sheet_is_carried_by_astm_d341(at_40, at_100, celsius, expected):
    engine = twin(f'[oil]\nviscosity_at_40 = "{at_40} mm2/s"\nviscosity_at_100 = "{at_100} mm2/s"')
    band = oil.viscosity_at(engine.oil, ZERO + celsius)
    assert band.low == pytest.approx(expected * MM2_S, rel=1e-4)
    assert band.high == band.low


def test_pressure_follows_the_ratio_of_two_published_viscosities():
    # 90 / 14.0 mm2/s oil: 22.918 at 80 C, 9.3166 at 120 C; without holes pressure goes with
    # viscosity, with half of the oil through holes it lies between that and no change
    engine = twin(
        '[oil]\nviscosity_at_40 = "90 mm2/s"\nviscosity_at_100 = "14 mm2/s"\n'
        'pressure = "3.0..3.0001 bar"\npressure_at_speed = "3000 rpm"\npressure_at_oil = "80 C"'
    )
    band = oil.expected_pressure(engine, 50.0, ZERO + 120.0)
    assert band.low == pytest.approx(3.0e5 * 9.3166 / 22.918, rel=1e-3)
    assert band.low < band.high < 3.0e5


def test_an_oil_level_switch_is_earthed_when_low_and_open_when_full():
    # common practice, no source
    assert oil.switch_states(twin('[oil]\nswitch = "level"')) == (("low", True), ("full", False))


def test_about_half_a_litre_fills_four_carburettors_from_dry():
    # common practice, no source: within a fifth of the half litre at its upper end
    fill = fuel.fuel_to_fill(FOUR)
    assert fill.bowls == 4
    assert fill.total.low < fuel.FOUR_FROM_DRY_M3 * 1.2
    assert fill.total.high > fuel.FOUR_FROM_DRY_M3 * 0.8


def test_spark_before_oil_flow_before_compression_before_fuel():
    # common practice, no source
    begun = reading_entry("cyl1", "dry", "90", "psi", conditions_from_file(FOUR))
    steps = next_steps(check_states(FOUR, after(FOUR, begun)), "hand-over")
    names = [step.item.check.name for step in steps]
    last = {name: len(names) - 1 - names[::-1].index(name) for name in names}
    assert last["spark"] < names.index("oil flow")
    assert last["oil flow"] < names.index("compression")
    assert last["compression"] < names.index("fuel flow")
    assert last["compression"] < names.index("fuel drips")


def test_full_load_fuel_is_air_over_ratio_over_density():
    # by definition: 500 cc at 6000 rpm breathes 1.5 m3/min of air at full filling; 1.2 kg/m3,
    # 12.0 to 13.5 to one, petrol of 720 to 775 kg/m3 (EN 228)
    engine = twin('[fuel]\nfull_load_speed = "6000 rpm"')
    engine = engine.model_copy(
        update={"engine": engine.engine.model_copy(update={"bore_m": 0.068, "stroke_m": 0.0688})}
    )
    swept = 2 * 3.14159265 / 4 * 0.068**2 * 0.0688
    need = fuel.flow_needed(engine)
    filling = fuel.FULL_LOAD_FILLING
    air = swept * 6000 / 60 / 2 * 1.2
    assert need.low == pytest.approx(filling.low * air / 13.5 / 775, rel=1e-6)
    assert need.high == pytest.approx(filling.high * air / 12.0 / 720, rel=1e-6)
