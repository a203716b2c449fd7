"""Short lines as people type them with one hand."""

from __future__ import annotations

import pytest
from support import FOUR, SHIMS, four
from support_build import book
from support_loom import TWIN

from tickover.book.bodies import LooseEndClosed, LooseEndOpened
from tickover.engine import EngineFile, parse_engine_file
from tickover.errors import InputError
from tickover.tasks.quickline import EXAMPLES, understand_line

ENGINE = four()
THOU = 25.4e-6


def test_two_blades_with_the_unit_typed_once() -> None:
    body = understand_line(ENGINE, "in4 .13 / .15 mm").body
    assert (body.place, body.low, body.high) == ("in4", 0.00013, 0.00015)
    assert body.typed == ".13 mm / .15 mm"


def test_bare_numbers_are_in_the_unit_the_build_shows() -> None:
    body = understand_line(ENGINE, "IN 4 13/14").body
    assert body.low == pytest.approx(13 * THOU)


@pytest.mark.parametrize("line", ["ex4 no gap 1.5 thou", "ex4 nothing 1.5 thou", "ex4 - / 1.5"])
def test_no_gap_in_several_ways(line: str) -> None:
    body = understand_line(ENGINE, line).body
    assert body.low is None
    assert body.high == pytest.approx(1.5 * THOU)


def test_distance_run_travels_with_the_reading() -> None:
    body = understand_line(ENGINE, "in2 5-6 thou at 12000 km").body
    assert body.conditions["distance_m"] == pytest.approx(1.2e7)


def test_cold_or_warm_travels_with_the_reading() -> None:
    assert understand_line(ENGINE, "in1 5", warm=True).body.conditions["engine"] == "warm"
    assert "engine" not in understand_line(ENGINE, "in1 5").body.conditions


def test_loose_ends_shims_and_notes() -> None:
    assert understand_line(ENGINE, "loose oil line off").body.label == "oil line off"
    assert understand_line(ENGINE, "note all well").body.text == "all well"
    assert understand_line(ENGINE, "shim in4 2.65 mark").body.instrument == "mark"


# What the examples speak of besides valves and shims.
WHOLE = """
[[fits]]
name = "top ring"
kind = "ring gap"
places = ["cyl1", "cyl2", "cyl3", "cyl4"]
limits = "0.15..0.30 mm"
[[fasteners]]
name = "head bolts"
torque = "23 Nm"
[oil]
pump_displacement = "4.5 cc"
drive_ratio = 0.5
flow_line = "oil line at the head"
[ignition]
coils = [[1, 4], [2, 3]]
coil_primary = "4.0..4.6 ohm"
"""


def whole() -> EngineFile:
    """The four with more of the machine described."""
    shims = SHIMS.format(step="0.05")
    text = FOUR.format(
        order="[1, 3, 4, 2]", inlet=1, exhaust=1, adjustment="shim over bucket", shims=shims
    )
    loom = (
        "[battery]\nvolts = 12\ncapacity = 12\n[wiring]" + TWIN.read_text().partition("[wiring]")[2]
    )
    return parse_engine_file(text + WHOLE + loom, "whole.toml")


OFF = ("oil line off for the look", "breather hose off", "oil filter cover off")


def ends():
    """Three loose ends in the book, as the state has them."""
    return book(ENGINE, *map(LooseEndOpened, OFF)).open_loose_ends


@pytest.mark.parametrize(
    ("line", "which"),
    [("put back oil line", 0), ("Put  back: Breather", 1), ("put back hose off", 1),
     ("put back cover", 2)],
)  # fmt: skip
def test_what_was_loose_is_put_back_by_some_of_its_words(line: str, which: int) -> None:
    found = understand_line(ENGINE, line, open_ends=ends())
    assert found.body == LooseEndClosed(ends()[which].id)
    assert OFF[which] in found.words


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("put back off", "Several"),
        ("put back oil", "Several"),
        ("put back clutch", "No such"),
        ("put back", "No such"),
    ],
)
def test_put_back_that_could_mean_several_or_none_names_what_is_open(line: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as told:
        understand_line(ENGINE, line, open_ends=ends())
    assert "breather hose off" in str(told.value)


@pytest.mark.parametrize("line", EXAMPLES)
def test_every_example_is_understood(line: str) -> None:
    assert understand_line(whole(), line, open_ends=ends()).words


@pytest.mark.parametrize("line", ["check spark plug1 yes", "spark plug1 yes", "spark 1 yes"])
def test_a_check_is_answered_with_or_without_the_word(line: str) -> None:
    body = understand_line(whole(), line).body
    assert (body.what, body.place, body.low, body.unit) == ("spark", "plug1", 1.0, "yes")


def test_a_coil_is_read_by_its_number_and_keeps_how_warm_it_was() -> None:
    body = understand_line(whole(), "coil primary 2 4.4 ohm at 35 C").body
    assert (body.what, body.place, body.low) == ("coil primary", "coil2", 4.4)
    assert body.conditions["temperature_k"] == pytest.approx(308.15)


def test_the_oil_flow_line_opens_the_loose_end_of_the_line_taken_off() -> None:
    understood = understand_line(whole(), "oil flow 70 ml in 8 s at 320 rpm")
    assert understood.body.low == pytest.approx(87.5e-6)
    assert [end.label for end in understood.more] == [
        "oil line at the head off for the oil flow check"
    ]


def test_a_check_without_an_answer_says_what_to_write() -> None:
    with pytest.raises(InputError) as refused:
        understand_line(whole(), "check coil primary 1")
    assert refused.value.instead == "coil primary coil1 4.2 ohm at 20 C"


@pytest.mark.parametrize("line", ["", "hello", "in9 5", "in4 six", "shim in4", "x" * 400, "loose"])
def test_other_lines_are_refused_with_a_sentence(line: str) -> None:
    with pytest.raises(InputError) as refused:
        understand_line(ENGINE, line)
    assert str(refused.value)


@pytest.mark.parametrize(
    ("line", "what", "place", "pascal"),
    [
        ("cyl2 148 psi", "compression dry", "cyl2", 148 * 6894.757),
        ("cyl 3: 10,4 bar", "compression dry", "cyl3", 10.4e5),
        ("Cyl1 wet 162 psi", "compression wet", "cyl1", 162 * 6894.757),
    ],
)
def test_a_pressure_at_a_cylinder_needs_no_more_words(
    line: str, what: str, place: str, pascal: float
) -> None:
    reading = understand_line(four(), line).body
    assert (reading.what, reading.place) == (what, place)
    assert reading.low == pytest.approx(pascal, rel=1e-6)


@pytest.mark.parametrize(
    ("line", "what", "low", "high"),
    [
        ("wire 12 0.3 ohm", "loom continuity", 0.3, 0.3),
        ("wire 12 0,3", "loom continuity", 0.3, 0.3),
        ("Wire 12 end to end open", "loom continuity", 1e6, None),
        ("wire 12 to earth open", "loom insulation", 1e6, None),
        ("wire 12 earth: 4 kohm", "loom insulation", 4000.0, 4000.0),
        ("wire 12 touches 25", "loom insulation", 0.0, 0.0),
    ],
)
def test_a_wire_is_read_by_its_number(line: str, what: str, low: float, high: float) -> None:
    found = understand_line(whole(), line)
    body = found.body
    assert (body.what, body.place, body.low, body.high) == (what, "wire 12", low, high)
    assert body.conditions["from"] in found.words
    assert found.words.startswith("wire 12, ")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("wire 999 0.3", "There is no such wire"),
        ("wire 12", "what the meter shows"),
        ("wire 12 touches 999", "There is no such wire"),
        ("wire 12 -1 ohm", "cannot be negative"),
    ],
)
def test_a_wire_that_cannot_be_meant_is_told(line: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        understand_line(whole(), line)


def test_without_a_loom_there_is_no_wire_to_read() -> None:
    with pytest.raises(InputError, match="no loom to read"):
        understand_line(ENGINE, "wire 12 0.3 ohm")
