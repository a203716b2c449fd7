"""Wire by wire: readings understood, faults named, the book's checks."""

from __future__ import annotations

import math

import pytest
from support_book import more
from support_loom import TWIN
from support_record import printed_part

from tickover.book.bodies import EngineFileKept, Reading, Work
from tickover.book.state import State
from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import FileError, InputError
from tickover.pages.record.wiring import wiring_part
from tickover.plan.checks import check_states
from tickover.plan.shopping import arrived_entry, shopping_list
from tickover.tasks.wiring.continuity import WireTest, explain_loom, ohms
from tickover.tasks.wiring.from_csv import continuity_from_csv
from tickover.tasks.wiring.in_book import FUSES, continuity_of, wire_reading
from tickover.tasks.wiring.made import CONTINUITY, INSULATION
from tickover.tasks.wiring.sizing import size_loom

ENGINE = load_engine_file(TWIN)
SIZING = size_loom(ENGINE)
RUNS = [wire.run for wire in SIZING.wires]
GOOD = {run.number: WireTest(0.1, 1e9) for run in RUNS}


def _through(name: str) -> list[str]:
    at = next(i for i, branch in enumerate(ENGINE.branches) if branch.end == name)
    return [RUNS[i].number for i in SIZING.loom.through(at)]


def test_a_good_loom_needs_no_explanation() -> None:
    found = explain_loom(ENGINE, SIZING, GOOD)
    assert set(found.states) == {"good"}
    assert (found.opens, found.shorts) == ((), ())


def test_a_plug_apart_is_named_before_its_wires() -> None:
    found = explain_loom(ENGINE, SIZING, GOOD | {n: WireTest(1e9, 1e9) for n in _through("tail")})
    assert found.opens[0].kind == "apart"
    assert found.opens[0].name == "tail plug"
    assert set(found.opens[0].numbers) == set(_through("tail"))


def test_some_pins_of_a_plug_are_told_from_the_plug() -> None:
    some = _through("tail")[:4]
    found = explain_loom(ENGINE, SIZING, GOOD | {n: WireTest(1e9, 1e9) for n in some})
    assert found.opens[0].kind == "pins"


def test_one_wire_alone_is_a_wire_alone() -> None:
    found = explain_loom(ENGINE, SIZING, GOOD | {"9": WireTest(1e9, 1e9)})
    assert found.opens[0].name == "wire 9"


def test_two_wires_to_one_switch_that_reach_earth_point_at_the_switch() -> None:
    both = {"9": WireTest(0.1, 4.0), "10": WireTest(0.1, 4.0)}
    found = explain_loom(ENGINE, SIZING, GOOD | both)
    assert found.shorts[0].name == "dip switch"
    assert found.opens == ()


def test_two_faults_at_once_are_both_named() -> None:
    bad = {n: WireTest(1e9, 1e9) for n in (*_through("tail"), *_through("left bar"))}
    found = explain_loom(ENGINE, SIZING, GOOD | bad)
    assert {row.name for row in found.opens[:2]} == {"tail plug", "left bar plug"}
    assert found.opens[1].probability > 0.5


def test_a_bad_crimp_is_worse_than_good_and_better_than_open() -> None:
    found = explain_loom(ENGINE, SIZING, GOOD | {"9": WireTest(5.0, 1e9)})
    assert found.states[8] == "out"


def test_a_wire_back_may_reach_earth() -> None:
    back = next(run for run in RUNS if run.side == "earth")
    found = explain_loom(ENGINE, SIZING, GOOD | {back.number: WireTest(0.1, 0.1)})
    assert set(found.states) == {"good"}
    assert found.shorts == ()


def test_two_wires_with_a_path_between_them_are_both_wrong_and_their_plug_named() -> None:
    pair = GOOD | {"11": WireTest(0.1, 1e9, ("16",))}
    found = explain_loom(ENGINE, SIZING, pair)
    assert (found.states[10], found.states[15]) == ("out", "out")
    assert {row.name for row in found.shorts[:2]} == {"tail plug", "seat to tail"}
    assert set(found.shorts[0].numbers) == {"11", "16"}
    state = more(_state(), wire_reading(RUNS[10], "to earth", "touches 16", "", {"16"}))
    assert _word(state, INSULATION) == "out"
    kept = continuity_of(ENGINE, state)
    assert kept is not None
    assert kept.states[15] == "out"
    with pytest.raises(InputError, match="no such wire"):
        wire_reading(RUNS[10], "to earth", "touches 99", "", {"16"})


@pytest.mark.parametrize(
    ("typed", "value"), [("0,3", 0.3), ("0.3 ohm", 0.3), ("OL", 1e9), ("ok", 0.0), ("2 kohm", 2e3)]
)
def test_readings_as_a_meter_shows_them(typed: str, value: float) -> None:
    assert ohms(typed, "end to end") == pytest.approx(value)


@pytest.mark.parametrize("typed", ["", "lots", "-3", "ok"])
def test_what_no_meter_shows_is_told(typed: str) -> None:
    with pytest.raises(InputError):
        ohms(typed, "to earth")


def test_a_table_is_read_and_its_slips_told_by_line() -> None:
    table = b"wire,end_to_end,to_earth\n1,0.2,open\n2,,open\n3,,touches 2\n"
    read = continuity_from_csv(SIZING, table, "r.csv")
    assert read["1"] == WireTest(0.2, 1e9)
    assert read["2"] == WireTest(None, 1e9)
    assert read["3"] == WireTest(None, 1e9, ("2",))
    bad = b"wire,end_to_end,to_earth\n99,1,1\n1,lots,1\n1,1,1\n1,1,1\n"
    with pytest.raises(FileError) as told:
        continuity_from_csv(SIZING, bad, "r.csv")
    for words in ("line 2: There is no such wire", "line 3: ", "line 5: This wire stands"):
        assert words in str(told.value)
    with pytest.raises(InputError, match="no such wire"):
        explain_loom(ENGINE, SIZING, {"99": WireTest(1.0, None)})


def _state() -> State:
    return more(State(), EngineFileKept(TWIN.read_text(encoding="utf-8")))


def _word(state: State, name: str) -> str:
    return next(s.state for s in check_states(ENGINE, state) if s.check.name == name)


def test_the_checks_go_good_with_the_last_wire_and_stale_with_work() -> None:
    state = _state()
    assert _word(state, CONTINUITY) == "open"
    feeds = [run for run in RUNS if run.side != "earth"]
    state = more(state, *(wire_reading(run, "end to end", "0.1") for run in RUNS[:-1]))
    assert _word(state, CONTINUITY) == "undecided"
    state = more(state, wire_reading(RUNS[-1], "end to end", "ok"))
    state = more(state, *(wire_reading(run, "to earth", "open") for run in feeds))
    assert (_word(state, CONTINUITY), _word(state, INSULATION)) == ("good", "good")
    assert _word(state, FUSES) == "open"
    for work in ("loom opened", "wire changed", "connector changed"):
        later = more(state, Work(work))
        assert (_word(later, CONTINUITY), _word(later, INSULATION)) == ("stale", "stale")
        one_again = more(later, wire_reading(RUNS[3], "end to end", "0.1"))
        assert _word(one_again, CONTINUITY) == "stale"  # the other wires are not read again
    out = more(state, wire_reading(RUNS[3], "to earth", "3"))
    assert _word(out, INSULATION) == "out"


def test_fuses_proved_are_undecided_when_the_list_becomes_another() -> None:
    text = TWIN.read_text(encoding="utf-8")
    state = more(_state(), Reading(FUSES, "", 1.0, 1.0, "yes", "yes"))
    assert _word(state, FUSES) == "good"
    same = more(state, EngineFileKept(text + "\n# a word\n"))
    assert _word(same, FUSES) == "good"
    lower = text.replace('rated = "45 W"', 'rated = "20 W"').replace('"40 W"', '"18 W"')
    lower = lower.replace('lower = "18 W"\n', "").replace('lower = "20 W"\n', "")
    other = more(state, EngineFileKept(lower))
    engine = parse_engine_file(lower)
    found = next(s for s in check_states(engine, other) if s.check.name == FUSES)
    assert found.state == "undecided"
    assert found.finding is not None
    assert "headlamp" in found.finding.text
    assert _word(more(state, Work("fuses changed")), FUSES) == "stale"


def test_a_reading_of_another_wire_of_that_number_counts_for_nothing() -> None:
    other = wire_reading(RUNS[0], "end to end", "0.1")
    moved = type(other)(other.what, "wire 2", other.low, other.high, other.unit, other.typed,
                        other.instrument, other.conditions)  # fmt: skip
    assert _word(more(_state(), moved), CONTINUITY) == "open"


def test_wire_fuses_and_connectors_are_on_the_shopping_list() -> None:
    items = {line.want.item: line.want.count for line in shopping_list(ENGINE, _state()).lines}
    assert items["wire 6 mm² RD, by the metre"] == 4
    assert items["fuse 25 A"] == 1
    assert items["connector tail plug, 12 ways"] == 1
    assert items["6.3 mm receptacle, 6 mm²"] == 4


def test_a_wire_that_was_read_is_not_bought_again() -> None:
    made = [wire_reading(run, "end to end", "0.1") for run in RUNS]
    assert not [line for line in shopping_list(ENGINE, more(_state(), *made)).lines
                if line.want.task == "wiring"]  # fmt: skip
    lacking = RUNS[-1]
    rest = [reading for reading in made if reading.place != f"wire {lacking.number}"]
    items = [line.want.item for line in shopping_list(ENGINE, more(_state(), *rest)).lines]
    assert [item for item in items if item.endswith("by the metre")] == [
        next(
            f"wire {w.size.words} {w.run.colour_words}, by the metre"
            for w in SIZING.wires
            if w.run.number == lacking.number
        )
    ]
    assert "fuse 25 A" not in items


def _again(state: State) -> dict[str, tuple[int, str]]:
    lines = [line for line in shopping_list(ENGINE, state).lines if "again" in line.want.item]
    return {line.want.item: (line.still, line.want.why) for line in lines}


def test_a_wire_without_a_path_is_bought_again_and_one_with_a_bad_crimp_gets_new_ends() -> None:
    made = more(_state(), *(wire_reading(run, "end to end", "0.1") for run in RUNS))
    assert _again(made) == {}
    wire = SIZING.wires[8]
    number, size = wire.run.number, wire.size.words
    broken = more(made, wire_reading(wire.run, "end to end", "open"))
    items = _again(broken)
    metres, why = items.pop(f"wire {size} {wire.run.colour_words}, by the metre, "
                            f"for wire {number} again")  # fmt: skip
    assert metres == math.ceil(wire.run.cut * (1.0 + ENGINE.wiring.waste))  # type: ignore[union-attr]
    assert "no path end to end" in why
    assert sum(count for count, _ in items.values()) == 2, "two ends"
    poor = _again(more(made, wire_reading(wire.run, "end to end", "3.2")))
    assert poor.keys() == items.keys()
    assert all("3.2 end to end" in why for _, why in poor.values())
    assert _again(more(broken, wire_reading(wire.run, "end to end", "0.1"))) == {}


def test_a_chafed_wire_is_bought_again_and_what_came_for_it_settles_it() -> None:
    wire = SIZING.wires[7]
    state = more(_state(), *(wire_reading(run, "end to end", "0.1") for run in RUNS))
    state = more(state, *(wire_reading(run, "to earth", "open") for run in RUNS
                          if run.side != "earth"))  # fmt: skip
    first = next(line.want for line in shopping_list(ENGINE, _state()).lines)
    state = more(state, arrived_entry(first, first.count))
    state = more(state, wire_reading(wire.run, "to earth", "4 ohm"))
    lines = [line for line in shopping_list(ENGINE, state).lines if "again" in line.want.item]
    assert lines
    assert all("a path to earth" in line.want.why and line.arrived == 0 for line in lines)
    lamp = next(w for w in SIZING.wires if w.run.end == "tail lamp")
    plugged_in = more(state, wire_reading(wire.run, "to earth", "open"),
                      wire_reading(lamp.run, "to earth", "4 ohm"))  # fmt: skip
    assert _again(plugged_in) == {}, "the lamp is unplugged first"
    came = more(state, *(arrived_entry(line.want, line.want.count) for line in lines))
    assert not any(still for still, _ in _again(came).values())


def test_wires_of_a_plug_that_is_apart_are_not_bought_again() -> None:
    numbers = set(_through("tail"))
    readings = [wire_reading(run, "end to end", "open" if run.number in numbers else "0.1")
                for run in RUNS]  # fmt: skip
    assert _again(more(_state(), *readings)) == {}


def test_the_build_record_holds_every_wire_with_what_was_read() -> None:
    state = more(_state(), wire_reading(RUNS[3], "end to end", "0.2"))
    part = wiring_part(ENGINE, state)
    assert part is not None
    words = printed_part(part, state)
    for said in ("fuse ignition", "BU/WH", "0.2", "leads there", "tail plug, 11 of 12 ways"):
        assert said in words
    bare = parse_engine_file('[engine]\nname = "a"\nlayout = "single"\n')
    assert wiring_part(bare, State()) is None
