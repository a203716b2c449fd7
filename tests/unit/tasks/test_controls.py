"""Controls and small fabrication: what is asked, what is worked out, what is refused."""

from __future__ import annotations

import math

import pytest
from support_build import TWIN, book, state_of, twin

from tickover.book.bodies import Reading, Work
from tickover.book.state import State
from tickover.engine import parse_engine_file
from tickover.engine.tables.controls import Cable
from tickover.errors import InputError
from tickover.tasks.controls import FULL_LOCK, PROOF_PULL, PULL, SNAPS_SHUT, checks, throttle_pull
from tickover.tasks.fabrication import cable_sheet, hole_sheet, solder_sheet
from tickover.tasks.quickline import understand_line
from tickover.tasks.simple import simple_reading


def check(name: str, place: str = ""):
    return next(c for c in checks(twin(), State()) if c.key == (name, place))


def test_turn_of_the_grip_is_travel_over_radius() -> None:
    controls = twin().controls
    assert controls is not None
    pull = throttle_pull(controls)
    assert pull is not None
    assert math.radians(pull.turn_deg) * 16.0 == pytest.approx(24.0)
    assert pull.comfortable


@pytest.mark.parametrize(("typed", "state"), [("86 deg", "good"), ("60 deg", "out"),
                                              ("94 deg", "undecided"), ("120", "out")])  # fmt: skip
def test_a_grip_that_turns_too_far_or_too_little_is_found(typed: str, state: str) -> None:
    engine = twin()
    reading = simple_reading(engine, check(PULL), typed)
    assert state_of(engine, book(engine, reading), PULL, "").state == state


def test_moving_bars_or_cables_makes_the_throttle_void() -> None:
    engine = twin()
    shut = Reading(SNAPS_SHUT, "", 1.0, 1.0, "yes", "yes")
    assert state_of(engine, book(engine, shut), SNAPS_SHUT, "").state == "good"
    state = book(engine, shut, Work("bars or cables moved"))
    assert state_of(engine, state, SNAPS_SHUT, "").state == "stale"


def test_idle_at_full_lock_waits_for_the_throttle_and_carries_its_cautions() -> None:
    lock = check(FULL_LOCK)
    assert SNAPS_SHUT in lock.needs
    assert "first start" not in lock.required
    assert "riding" in lock.required
    assert any("exhaust gas" in words for words in lock.cautions)


def test_a_home_made_cable_must_be_pulled_and_a_bought_one_not() -> None:
    assert "first start" in check(PROOF_PULL, "clutch cable").required
    bought = twin("home_made = false\n")
    assert not any(c.name == PROOF_PULL for c in checks(bought, State()))


def test_without_controls_nothing_of_the_grip_is_asked() -> None:
    engine = parse_engine_file(TWIN.split("[[fits]]")[0])
    assert checks(engine, State()) == ()


CABLE = {
    "name": "clutch cable", "use": "clutch", "route": "900 mm", "caps": "16 mm",
    "bare_at_lever": "30 mm", "bare_at_far_end": "45 mm", "travel": "12 mm",
    "adjuster_out": "6 mm", "diameter": "1.59 mm", "breaking_load": "2135 N",
    "proof_load": "900 N", "working_load": "600 N", "solder_shear": "37 MPa",
}  # fmt: skip


def test_cable_sheet_adds_up() -> None:
    sheet = cable_sheet(Cable.model_validate(CABLE))
    assert sheet.lengths is not None
    assert sheet.proof is not None
    assert sheet.lengths.outer == pytest.approx(0.900 - 0.016 - 0.006)
    assert sheet.lengths.inner == pytest.approx(0.900 + 0.030 + 0.045)
    assert sheet.solder_m == pytest.approx(2135 / (0.8 * 37e6 * math.pi * 1.59e-3))
    assert sheet.proof.times_working == pytest.approx(1.5)
    assert sheet.missing == ()


@pytest.mark.parametrize("key", ["route", "breaking_load", "proof_load", "solder_shear"])
def test_cable_sheet_says_what_is_missing(key: str) -> None:
    sheet = cable_sheet(Cable.model_validate({k: v for k, v in CABLE.items() if k != key}))
    assert sheet.missing
    if key == "proof_load":
        assert "maker of the cable" in sheet.missing[0]


@pytest.mark.parametrize("changes", [{"use": "brake"}, {"use": "Rear Brake"}])
def test_brake_cables_are_refused_in_the_engine_file(changes: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="not made at home"):
        Cable.model_validate({**CABLE, **changes})


def test_a_brake_cable_by_another_use_is_refused_too() -> None:
    with pytest.raises(InputError, match="not made at home"):
        cable_sheet(Cable.model_validate({**CABLE, "name": "brake cable", "use": "other"}))
    with pytest.raises(InputError, match="not made at home"):
        parse_engine_file(TWIN.replace('name = "clutch cable"', 'name = "Brake cable"'))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('kind = "bore"', 'kind = "bores"', "not one of the words"),
        ('wear_limit = "61.10 mm"', 'wear_limit = "60.10 mm"', "wears larger"),
        ('wear_limit = "60.90 mm"', 'wear_limit = "61.90 mm"', "wears smaller"),
        ('between = ["cylinder", "piston"]', 'between = ["cylinder", "rod"]', "no such part"),
        ('between = ["cylinder", "piston"]', 'between = ["cylinder"]', "between two parts"),
        ('places = ["cyl1", "cyl2"]', 'places = ["cyl1", "cyl3"]', "no such cylinder"),
        ('torque = "22 Nm"', 'torque = "22"', "unit is missing"),
        ('torque = "22 Nm"', 'torque = "22 Nm"\nstages = ["9 Nm", "7 Nm"]', "must rise"),
        ('torque = "22 Nm"', 'torque = "22 Nm"\nstages = ["9 Nm"]', "not the final torque"),
        ('torque = "22 Nm"', 'torque = "22 Nm"\norder = [1, 1, 2]', "each position once"),
        ('torque = "22 Nm"', 'torque = "22 Nm"\ncount = 5', "not that of the positions"),
        ("[70, 0]", "[0, 0]", "same place"),
        ("[70, 0]", "[70]", "pairs in mm"),
        ("[70, 0]", "[7000, 0]", "too far away"),
        ('name = "sump plug"', 'name = "Head bolts"', "have this name"),
        ('thread = "M8"', 'thread = "eight"', "its name in quotes"),
        ("retorque = true", 'retorque = "yes"', "true or false"),
        ('use = "clutch"', 'use = "clutch"\ntravel = "90 mm"\nbare_at_far_end = "5 mm"', "seat"),
        ('use = "clutch"', 'use = "clutch"\nproof_load = "900 N"\nbreaking_load = "800 N"',
         "below the breaking load"),
        ("[[fits]]", "[fits]", "double brackets"),
    ],
)  # fmt: skip
def test_an_engine_file_that_contradicts_itself_is_refused(old: str, new: str, said: str) -> None:
    text = TWIN.split("[[fits]]", 1)
    if new == "[fits]":
        changed = text[0] + '[fits]\nname = "a"\n'
    else:
        assert old in TWIN
        changed = TWIN.replace(old, new, 1)
    with pytest.raises(InputError, match=said):
        parse_engine_file(changed)


def test_holes_of_an_inch_thread_have_no_clearance_hole_but_a_drill() -> None:
    sheet = hole_sheet("1/4 BSF")
    assert not sheet.clearance
    assert sheet.drill_m == pytest.approx(5.4e-3)


def test_what_is_engaged_is_held_against_what_the_screw_breaks_at() -> None:
    need = hole_sheet("M8").engagement.length
    assert hole_sheet("M8", engaged_m=need * 1.01).breaks_first is True
    assert hole_sheet("M8", engaged_m=need * 0.99).breaks_first is False
    assert hole_sheet("M8").breaks_first is None


def test_a_weaker_metal_needs_more_thread() -> None:
    into = [hole_sheet("M8", into=name).engagement.length for name in ("steel", "aluminium")]
    assert into[0] < into[1]
    assert hole_sheet("M8", shear_pa=65e6).engagement.length == pytest.approx(2 * into[1], rel=1e-9)


def test_solder_gap_closes_on_bronze_and_jamming_is_no_good_gap() -> None:
    steel = solder_sheet(1e-3, 400e6, 0.0101, 0.0100)
    bronze = solder_sheet(1e-3, 400e6, 0.0101, 0.0100, shaft_material="bronze")
    jam = solder_sheet(1e-3, 400e6, 0.01002, 0.0100, shaft_material="bronze")
    assert steel.gap_hot_m is not None
    assert bronze.gap_hot_m is not None
    assert bronze.gap_hot_m < steel.gap_hot_m
    assert jam.gap_good is False
    with pytest.raises(InputError, match="aluminium melts"):
        solder_sheet(1e-3, 400e6, 0.0101, 0.01, shaft_material="aluminium")
    with pytest.raises(InputError, match="two diameters"):
        solder_sheet(1e-3, 400e6, 0.0101)


@pytest.mark.parametrize(
    ("line", "key", "value"),
    [
        ("throttle free play 3 mm", ("throttle free play", ""), 0.003),
        ("check throttle snaps shut yes", (SNAPS_SHUT, ""), 1.0),
        ("cable proof-pulled clutch cable no", (PROOF_PULL, "clutch cable"), 0.0),
    ],
)
def test_controls_are_kept_by_a_short_line(line: str, key: tuple[str, str], value: float) -> None:
    kept = understand_line(twin(), line).body
    assert isinstance(kept, Reading)
    assert (kept.what, kept.place) == key
    assert (kept.low, kept.high) == (pytest.approx(value), pytest.approx(value))
