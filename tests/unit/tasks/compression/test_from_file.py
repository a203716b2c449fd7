"""The engine file as the compression test sees it."""

from pathlib import Path

import pytest

from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import InputError
from tickover.tasks.compression import (
    PSI,
    Conditions,
    conditions_from_file,
    expected,
    spec_from_file,
)

EXAMPLES = sorted((Path(__file__).parents[4] / "examples" / "engines").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_engine_gets_an_expected_reading(path):
    spec = spec_from_file(load_engine_file(path))
    low, middle, high = expected(spec, Conditions()).last
    assert 60 * PSI < low < middle < high < 300 * PSI


def test_neighbours_are_those_of_a_bank():
    four = spec_from_file(load_engine_file(_named("inline-four")))
    flat = spec_from_file(load_engine_file(_named("flat-four")))
    assert four.neighbours == ((1, 2), (2, 3), (3, 4))
    assert flat.neighbours == ((1, 3), (2, 4))


def _named(stem):
    return next(p for p in EXAMPLES if p.stem == stem)


BARE = '[engine]\nname = "Bare"\nlayout = "single"\nbore = "80 mm"\nstroke = "70 mm"\n'


def test_what_is_left_out_is_assumed_in_words_and_widens_the_interval():
    bare = spec_from_file(parse_engine_file(BARE, "bare.toml"))
    told = spec_from_file(
        parse_engine_file(BARE + 'compression_ratio = 9.0\nrod = "137 mm"\n', "told.toml")
    )
    assert "compression ratio" in bare.assumptions[0]
    wide, narrow = (expected(s, Conditions()).last for s in (bare, told))
    assert wide[2] - wide[0] > 1.1 * (narrow[2] - narrow[0])


def test_without_bore_the_message_says_what_to_write():
    text = '[engine]\nname = "Bare"\nlayout = "single"\nstroke = "70 mm"\n'
    with pytest.raises(InputError, match="bore"):
        spec_from_file(parse_engine_file(text, "bare.toml"))


def test_timing_at_a_checking_lift_is_brought_to_the_seat():
    at_lift = BARE + (
        'compression_ratio = 9.0\n[cams]\ntiming_at = "1 mm"\n'
        'inlet = { opens = "10 deg ATDC", closes = "20 deg ABDC" }\n'
        'exhaust = { opens = "25 deg BBDC", closes = "10 deg BTDC" }\n'
    )
    spec = spec_from_file(parse_engine_file(at_lift, "lift.toml"))
    assert spec.inlet.closes_deg == pytest.approx(540 + 20 + 25)
    assert spec.inlet.opens_deg == pytest.approx(360 + 10 - 25)
    assert spec.timing_sd_deg > 3.0


def test_a_cam_that_never_closes_is_refused():
    wild = BARE + (
        'compression_ratio = 9.0\n[cams]\ntiming_at = "1 mm"\n'
        'inlet = { opens = "90 deg BTDC", closes = "95 deg ABDC" }\n'
        'exhaust = { opens = "25 deg BBDC", closes = "10 deg ATDC" }\n'
    )
    with pytest.raises(InputError, match="never closes"):
        spec_from_file(parse_engine_file(wild, "wild.toml"))


def test_limits_gauge_tester_and_cranking_speed_come_from_the_file():
    text = BARE + (
        'compression_ratio = 9.0\n[starter]\ncranking_speed = "280..320 rpm"\n'
        '[compression]\nlimit = "140..190 psi"\nhose = "5 cc"\ncheck_valve = "gauge"\n'
        'master_jet = "0.040 in"\nsupply = "80 psi"\ncam_sprocket_teeth = 36\n'
    )
    ef = parse_engine_file(text, "full.toml")
    spec, day = spec_from_file(ef), conditions_from_file(ef)
    assert spec.book_limit == pytest.approx((140 * PSI, 190 * PSI))
    assert spec.tooth_deg == 20.0
    assert day.speed_rpm == pytest.approx(300.0)
    assert (day.hose_volume, day.check_valve) == (pytest.approx(5e-6), "gauge")
    assert day.jet_diameter == pytest.approx(1.016e-3)
    assert day.supply == pytest.approx(80 * PSI)
