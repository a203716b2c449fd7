"""What single readings of charging say, and which are refused."""

import pytest
from support_book import state_of
from support_charging import TWIN, readings, twin

from tickover.book.bodies import Work
from tickover.engine import parse_engine_file
from tickover.errors import FileError, InputError
from tickover.plan.checks import check_states
from tickover.tasks.answers import check_reading, proving_checks
from tickover.tasks.charging import findings
from tickover.tasks.charging.causes import charging_causes
from tickover.tasks.charging.tables import state_from_csv
from tickover.tasks.charging.verdicts import evenness_of, open_wire


def word(engine, *rows):
    """The state word of the last row's check."""
    return findings_of(engine, *rows)[-1].state


def findings_of(engine, *rows):
    state = readings(engine, *rows)
    last = list(state.entries)[-1].body
    return [f for f in findings(engine, state) if (f.name, f.place) == (last.what, last.place)]


@pytest.mark.parametrize(
    ("row", "state"),
    [
        ("charging voltage,,14.2 V,3000,25", "good"),
        ("charging voltage,,13.2 V,3000,25", "out"),
        ("charging voltage,,15.4 V,3000,25", "out"),
        ("charging voltage,,13.88 V,3000,25", "undecided"),
        ("charging voltage,,12.9 V,1200,25", "good"),  # idle need not charge
        ("charging voltage,,15.4 V,1200,25", "out"),
        ("drain at rest,,3 mA", "good"),
        ("drain at rest,,60 mA", "out"),
        ("charging feed drop,,0.1 V", "good"),
        ("charging earth drop,,0.5 V", "out"),
        ("winding to earth,,open", "good"),
        ("winding to earth,,12 ohm", "out"),
        ("rectifier diodes,,no", "out"),
        ("alternator volts,1-2,45 V,3000", "good"),
        ("alternator volts,1-2,45 V,6000", "out"),  # 90 V are wanted there
        ("alternator volts,1-2,45 V", "undecided"),  # speed not noted
    ],
)
def test_each_reading_has_its_verdict(row, state) -> None:
    assert word(twin(), row) == state


def test_leads_not_read_leave_a_winding_open_to_doubt() -> None:
    row = "alternator winding,1-2,0.72 ohm,,25"
    assert word(twin(), row) == "undecided"
    assert "leads not read" in findings_of(twin(), row)[0].text
    assert word(twin(), "meter leads,,0.25 ohm", row) == "good"


def test_a_hot_winding_is_brought_to_20_c() -> None:
    # 0.65 ohm at 90 C are 0.51 at 20: copper
    rows = ("meter leads,,0 ohm", "alternator winding,1-2,0.65 ohm,,90")
    assert word(twin(), *rows) == "good"
    assert "0.51" in findings_of(twin(), *rows)[0].text
    assert word(twin(), "meter leads,,0 ohm", "alternator winding,1-2,0.65 ohm,,20") == "out"


def test_whether_the_regulator_follows_temperature_decides_in_the_cold() -> None:
    row = "charging voltage,,14.85 V,3000,0"
    silent = twin().model_copy(
        update={"charging": twin().charging.model_copy(update={"compensated": None})}
    )
    follows = twin().model_copy(
        update={"charging": twin().charging.model_copy(update={"compensated": True})}
    )
    assert word(twin(), row) == "out"  # its file says that it does not
    assert word(silent, row) == "undecided"
    assert word(follows, row) == "good"


def test_a_pair_that_differs_is_named_though_each_is_within_limits() -> None:
    engine = twin()
    rows = ("alternator volts,1-2,40 V,3000", "alternator volts,2-3,50 V,3000",
            "alternator volts,3-1,40.5 V,3000")  # fmt: skip
    state = readings(engine, *rows)
    even = evenness_of(engine.charging, state, "alternator volts")
    assert even.state == "out"
    assert even.causes[0][0] == "the winding of wire 1"
    words = {f.place: f.state for f in findings(engine, state)}
    assert words == {"1-2": "out", "2-3": "undecided", "3-1": "out"}


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("charging voltage,,28.2 V,3000", "24"),
        ("battery at rest,,25.2 V", "12 V battery"),
        ("drain at rest,,35 A", "35 mA"),
        ("drain at rest,,35 W", "watts over volts"),
        ("charging voltage,,-14.2 V,3000", "other way round"),
        ("charging feed drop,,12.1 V", "fraction of a volt"),
        ("alternator winding,1-2,-0.2 ohm", "cannot be negative"),
        ("alternator winding,4-5,0.4 ohm", "1-2; 2-3; 3-1"),
        ("charging voltage,,14.2 V", "speed"),
        ("charging voltage,,14.2 V,30", "No engine"),
        ("chargin voltage,,14.2 V,3000", "charging voltage"),
        ("meter leads,,12 ohm", "more than leads have"),
    ],
)
def test_bad_readings_are_refused_with_what_to_write(row, says) -> None:
    with pytest.raises(InputError) as refused:
        readings(twin(), row)
    assert says in str(refused.value)


def test_every_bad_line_of_a_file_is_named() -> None:
    table = b"reading,value,unit,speed\ncharging voltage,28,V,3000\ndrain at rest,-3,mA,\n"
    with pytest.raises(FileError) as refused:
        state_from_csv(twin(), table, "r.csv")
    assert "2 rows" in str(refused.value)
    assert "line 2" in str(refused.value)
    assert "line 3" in str(refused.value)


@pytest.mark.parametrize(
    ("work", "row", "stale"),
    [
        ("regulator changed", "charging voltage,,14.2 V,3000,25", True),
        ("battery charged", "charging voltage,,14.2 V,3000,25", True),
        ("winding work", "alternator winding,1-2,0.5 ohm,,25", True),
        ("regulator changed", "alternator winding,1-2,0.5 ohm,,25", False),
        ("jets changed", "charging voltage,,14.2 V,3000,25", False),
    ],
)
def test_work_makes_the_right_proofs_stale(work, row, stale) -> None:
    engine = twin()
    body = next(iter(readings(engine, row).entries)).body
    states = check_states(engine, state_of([body, Work(work)]))
    now = next(s for s in states if s.check.key == (body.what, body.place))
    assert (now.state == "stale") is stale


def test_a_machine_without_the_table_has_no_such_checks() -> None:
    engine = twin().model_copy(update={"charging": None})
    names = {s.check.name for s in check_states(engine, state_of([]))}
    assert "charging voltage" not in names


def test_24_v_at_rest_is_refused_for_a_12_v_machine_however_it_is_entered() -> None:
    engine = twin()
    check = next(c for c in proving_checks(engine) if c.name == "battery at rest")
    with pytest.raises(InputError, match="12 V battery"):
        check_reading(engine, check, "25.2 V")


def test_a_6_v_machine_has_its_own_window() -> None:
    engine = parse_engine_file(
        TWIN.replace("capacity = 12", "volts = 6").replace('regulator = "13.9..14.6 V"\n', ""),
        "six.toml",
    )
    assert word(engine, "charging voltage,,7.1 V,3000") == "good"
    assert word(engine, "charging voltage,,6.4 V,3000") == "out"
    with pytest.raises(InputError, match="6 V machine"):
        readings(engine, "charging voltage,,14.2 V,3000")


def test_three_open_pairs_are_the_plug_before_they_are_three_windings() -> None:
    engine = twin()
    state = readings(engine, *(f"alternator winding,{p},open,," for p in ("1-2", "2-3", "3-1")))
    assert "plug or the probes" in open_wire(engine.charging, state)
    assert {f.state for f in findings(engine, state)} == {"out"}


@pytest.mark.parametrize(("sound", "wire"), [("1-2", 3), ("2-3", 1), ("3-1", 2)])
def test_two_open_pairs_name_the_wire_they_share(sound, wire) -> None:
    engine = twin()
    rows = [
        f"alternator winding,{p},{'0.5 ohm' if p == sound else 'open'},,25"
        for p in ("1-2", "2-3", "3-1")
    ]
    assert f"wire {wire} is open" in open_wire(engine.charging, readings(engine, *rows))


def test_no_alternating_voltage_at_all_still_gets_causes() -> None:
    engine = twin()
    rows = [f"alternator volts,{p},0 V,3000" for p in ("1-2", "2-3", "3-1")]
    state = readings(engine, *rows)
    assert {f.state for f in findings(engine, state)} == {"out"}
    assert charging_causes(engine, state).readings == 3


def test_a_voltage_read_at_another_speed_belongs_to_that_speed() -> None:
    engine = twin()
    check = next(c for c in proving_checks(engine) if c.place == "3000 rpm")
    kept = check_reading(engine, check, "14.2 V at 4200 rpm at 25 C")
    assert kept.place == "4200 rpm"
    state = state_of([kept])
    assert ("charging voltage", "4200 rpm") in {s.check.key for s in check_states(engine, state)}


def test_three_windings_read_alike_are_even_though_the_meter_is_coarse() -> None:
    engine = twin()
    rows = [f"alternator winding,{p},{ohm} ohm,,25"
            for p, ohm in (("1-2", 0.66), ("2-3", 0.66), ("3-1", 0.65))]  # fmt: skip
    even = evenness_of(engine.charging, readings(engine, "meter leads,,0.2 ohm", *rows),
                       "alternator winding")  # fmt: skip
    assert even.state == "good"


def test_pairs_read_at_different_speeds_are_compared_at_one() -> None:
    engine = twin()
    rows = ("alternator volts,1-2,30 V,2000", "alternator volts,2-3,45 V,3000",
            "alternator volts,3-1,60 V,4000")  # fmt: skip
    even = evenness_of(engine.charging, readings(engine, *rows), "alternator volts")
    assert even.state == "good"
    assert even.share == pytest.approx(0.0, abs=1e-12)
