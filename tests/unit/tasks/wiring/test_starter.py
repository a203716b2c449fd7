"""Starter cables on the page: in words, what is wrong with its line, what is refused."""

from __future__ import annotations

import pytest
from support_book import state_of
from support_record import printed_part

from tickover.engine import parse_engine_file
from tickover.errors import EngineFileError, InputError
from tickover.pages.record.wiring import wiring_part
from tickover.pages.wiring import wiring_page

HEAD = '[engine]\nname = "Invented"\nlayout = "single"\n[starter]\n'
CABLE = '[[starter_cables]]\nname = "battery to relay"\nlength = "400 mm"\n'
RELAY = '[[starter_cables]]\nname = "relay"\nresistance = "0.4 mohm"\n'


def page(text: str):
    return wiring_page(parse_engine_file(text, "E.toml"), None, text)


def test_without_a_loom_the_cables_are_told_all_the_same() -> None:
    found = page(HEAD + 'current = "120 A"\n' + CABLE + RELAY)
    assert found.starter[0].startswith("Battery to relay: 6 mm², chosen; ")
    assert found.starter[1] == "Relay: 0.40 mΩ, loses 0.05 V."
    assert "of 0.50 V at 120 A" in found.starter[2]
    assert not found.problems


def test_too_much_is_a_problem_with_its_line() -> None:
    found = page(HEAD + 'current = "300 A"\ncable_drop = "0.3 V"\n' + RELAY + CABLE
                 + 'size = "6"\n')  # fmt: skip
    (problem,) = found.problems
    assert "battery to relay" in problem.problem
    assert problem.line == 10
    assert "too much" in found.starter[-1]


def test_without_a_current_nothing_is_said_but_what_falls_away() -> None:
    text = HEAD + 'kind = "electric"\n' + CABLE
    assert page(text).starter == ()
    gone = [str(each) for each in parse_engine_file(text).fallen_away()]
    assert any(words.startswith("Starter cables by their drop") for words in gone)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (CABLE + 'resistance = "1 mohm"\n', "both"),
        ('[[starter_cables]]\nname = "a"\n', "neither"),
        (RELAY + 'size = "16"\n', "its size says nothing more"),
        (CABLE + CABLE, "have this name"),
    ],
)
def test_what_cannot_be_is_refused(text: str, says: str) -> None:
    with pytest.raises(EngineFileError, match=says):
        parse_engine_file(HEAD + 'current = "120 A"\n' + text)


def test_no_motor_no_cable() -> None:
    with pytest.raises(EngineFileError, match="no starter motor"):
        parse_engine_file(HEAD + 'kind = "kick"\n' + CABLE)


def test_a_size_that_is_not_sold_is_told_on_the_page() -> None:
    assert "17" in page(HEAD + 'current = "120 A"\n' + CABLE + 'size = "17"\n').refused
    with pytest.raises(InputError):
        parse_engine_file(HEAD + 'current = "5 A"\n')


def test_the_record_tells_them_with_or_without_a_loom() -> None:
    text = HEAD + 'current = "120 A"\n' + CABLE + RELAY
    engine, state = parse_engine_file(text, "E.toml"), state_of([], text)
    part = wiring_part(engine, state)
    assert part is not None
    assert "Battery to relay: 6 mm², chosen" in printed_part(part, state)
    bare = HEAD + 'kind = "electric"\n'
    assert wiring_part(parse_engine_file(bare), state_of([], bare)) is None
