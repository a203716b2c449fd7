"""Ignition: coils at 20 C, leads in words, timing read three ways, points, the advance curve."""

import math

import pytest
from support_proving import after, item, reading, triple, twin, word

from tickover.errors import InputError
from tickover.tasks import ignition

ENGINE = triple()
FOUR = (
    '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 4\nfiring_order = [1, 3, 4, 2]\n'
    "[ignition]\n"
)


def text(name: str, *entries: str, place: str = "") -> str:
    found = item(ENGINE, after(ENGINE, *entries), name, place).finding
    assert found is not None
    return found.text


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("coil primary 1 4.4 ohm at 20 C", "good"),
        ("coil primary 1 4.8 ohm at 20 C", "out"),
        ("coil primary 1 4.8 ohm at 45 C", "good"),  # 4.37 at 20 C
        ("coil primary 1 4.1 ohm at 45 C", "out"),  # 3.73 at 20 C
        ("coil primary 1 4.4 ohm at 95 F", "good"),
        ("coil primary 1 4.3 ohm", "good"),  # anywhere from 10 to 35 C it is inside
        ("coil primary 1 4.55 ohm", "undecided"),
        ("coil primary 1 open", "out"),
        ("coil primary 1 0.2 ohm", "out"),
    ],
)
def test_a_coil_is_judged_at_20_c(line: str, state: str) -> None:
    assert word(ENGINE, "coil primary", "coil1")(line) == state


def test_both_resistances_are_shown_and_a_missing_temperature_is_said() -> None:
    warm = text("coil primary", "coil primary 1 4.8 ohm at 45 C", place="coil1")
    assert "4.8 Ω at 45 °C" in warm
    assert "4.37 Ω at 20 °C" in warm
    assert "not noted" in text("coil primary", "coil primary 1 4.3 ohm", place="coil1")


def test_an_open_secondary_is_out_though_its_limit_is_high() -> None:
    assert word(ENGINE, "coil secondary", "coil2")("coil secondary 2 open") == "out"


@pytest.mark.parametrize(
    ("line", "state", "words"),
    [
        ("lead order 1-3-2", "good", "follow the firing order"),
        ("lead order 132", "good", "follow the firing order"),
        ("lead order 1-2-3", "out", "leads 2 and 3 are exchanged"),
        ("lead order 3-2-1", "out", "turn the whole set"),
        ("lead order yes", "good", "right"),
        ("lead order no", "out", "wrong"),
    ],
)
def test_leads_against_the_firing_order_in_words(line: str, state: str, words: str) -> None:
    assert word(ENGINE, "lead order")(line) == state
    assert words in text("lead order", line)


def test_leads_of_one_coil_may_be_exchanged() -> None:
    from tickover.engine import parse_engine_file

    pairs = parse_engine_file(f"{FOUR}coils = [[1, 4], [2, 3]]\n")
    alone = parse_engine_file(FOUR)
    for engine, state in ((pairs, "good"), (alone, "out")):
        assert word(engine, "lead order")("lead order 4-3-1-2") == state


@pytest.mark.parametrize("typed", ["1-3", "1-3-3", "1-3-2-4", "9-9-9"])
def test_leads_that_do_not_name_every_cylinder_once_are_refused(typed: str) -> None:
    with pytest.raises(InputError, match="every cylinder once"):
        reading(ENGINE, f"lead order {typed}")


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        ("12 deg", 12.0),
        ("12", 12.0),
        ("12 deg BTDC", 12.0),
        ("3 deg after", -3.0),
        ("3 deg ATDC", -3.0),
        ("8.727 mm arc", 10.0),  # 100 mm rotor
        ("-2 deg", -2.0),
    ],
)
def test_timing_is_read_as_degrees_or_arc(typed: str, degrees: float) -> None:
    assert ignition.timing_degrees(ENGINE, typed) == pytest.approx(degrees, abs=1e-3)


@pytest.mark.parametrize("degrees", [0.0, 2.0, 10.0, 38.0, -5.0])
def test_the_three_forms_lead_back_to_the_degrees(degrees: float) -> None:
    forms = ignition.timing_forms(ENGINE, degrees)
    assert forms.drop_m is not None
    assert forms.arc_m is not None
    side = " after" if degrees < 0 else ""
    # 1e-4 deg: the drop near top dead centre is flat, its root loses digits
    back = ignition.timing_degrees(ENGINE, f"{forms.drop_m * 1e3:.9f} mm drop{side}")
    assert back == pytest.approx(degrees, abs=1e-4)
    arc = ignition.timing_degrees(ENGINE, f"{abs(forms.arc_m) * 1e3:.9f} mm arc{side}")
    assert arc == pytest.approx(degrees, abs=1e-6)


def test_a_drop_deeper_than_the_stroke_and_an_arc_without_rotor_are_refused() -> None:
    with pytest.raises(InputError, match="does not go that far"):
        ignition.timing_degrees(ENGINE, "90 mm drop")
    with pytest.raises(InputError, match="diameter"):
        ignition.timing_degrees(twin("[ignition]\nstatic_timing = 5"), "9 mm arc")
    with pytest.raises(InputError, match="stroke and the rod"):
        ignition.timing_degrees(twin("[ignition]\nstatic_timing = 5"), "1 mm drop")


@pytest.mark.parametrize(
    ("typed", "state"), [("10 deg", "good"), ("14 deg", "out"), ("10-14 deg", "undecided")]
)
def test_static_timing_is_judged_and_said_three_ways(typed: str, state: str) -> None:
    assert word(ENGINE, "static timing")(f"static timing {typed}") == state
    words = text("static timing", f"static timing {typed}")
    assert "before TDC" in words
    assert "piston drop" in words
    assert "on the rotor" in words


def test_too_early_and_too_late_are_told_apart() -> None:
    assert "4° too early" in text("static timing", "static timing 14 deg")
    assert "5° too late" in text("static timing", "static timing 5 deg")


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("advance curve 3000 34 deg at 3000 rpm", "good"),
        ("advance curve 3000 30 deg at 3000 rpm", "out"),
        ("advance curve 3000 30 deg at 2750 rpm", "good"),  # 30 on the line to 3000
        ("advance curve 3000 34 deg", "good"),
    ],
)
def test_the_curve_is_judged_at_the_speed_read(line: str, state: str) -> None:
    assert word(ENGINE, "advance curve", "3000 rpm")(line) == state


def test_dwell_by_percent_and_what_to_do_about_it() -> None:
    assert word(ENGINE, "dwell")("dwell 51 %") == "good"  # 183.6 deg of one lobe
    assert word(ENGINE, "dwell")("dwell 200 deg") == "out"
    assert "gap wider" in text("dwell", "dwell 200 deg")
    assert "gap narrower" in text("dwell", "dwell 160 deg")


def test_an_electronic_ignition_has_no_points_to_check() -> None:
    engine = twin('[ignition]\nplug_gap = "0.7..0.8 mm"')
    names = {check.name for check in ignition.checks(engine, after(engine))}
    assert names == {"plug gap", "spark", "lead order"}


def test_timing_words_know_before_and_after() -> None:
    assert ignition.timing_words(ENGINE, 10.0).startswith("10° before TDC")
    assert ignition.timing_words(ENGINE, -3.0).startswith("3° after TDC")
    assert math.isclose(ignition.timing_forms(ENGINE, 0.0).arc_m or 0.0, 0.0)
