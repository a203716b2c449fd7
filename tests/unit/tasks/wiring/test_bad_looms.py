"""Engine files with slips in their loom: each a clear sentence with its line."""

from __future__ import annotations

import pytest
from support_loom import TWIN

from tickover.engine import parse_engine_file
from tickover.errors import EngineFileError

TEXT = TWIN.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "words", "at"),
    [
        ('real = "3.5 A"', 'real = "42 W"', "in amperes, and this is in watts", 'real = "42 W"'),
        ('rated = "40 W"', 'rated = "3 A"', "in watts, and this is in amperes", 'rated = "3 A"'),
        ('fuse = "20 A"', 'fuse = "240 W"', "in amperes, and this is in watts", "240 W"),
        ('circuit = "small lamps"', 'circuit = "smal lamps"', "on no circuit", "smal lamps"),
        ('rated = "3 W"', 'rated = "3 W"\nvolts = "24 V"', "another voltage", 'volts = "24 V"'),
        ('at = "pedal"', 'at = "petal"', "no route to this point", 'at = "petal"'),
        ('colour = "OG"', 'colour = "XY"', "no code of IEC 60757", 'colour = "XY"'),
        ('colour = "OG"', 'colour = "RDWH"', "two colours", 'colour = "RDWH"'),
        ('colour = "OG"', 'colour = "GD"', "no colour of a wire", 'colour = "GD"'),
        ('feed = ["horn button"]', 'feed = ["horn buton"]', "not a switch or a joint", "buton"),
        ('earth = ["earth stud", "battery"]', 'earth = ["earth stud"]', "end at the battery",
         'earth = ["earth stud"]'),
        ('name = "horn"', 'name = "battery"', "have this name", 'name = "battery"'),
        ('around = "50 C"', 'around = "130 C"', "too hot", 'around = "130 C"'),
        ('from = "seat"\nto = "tail"', 'from = "tail"\nto = "tail end"', "No route leads", ""),
        ('from = "seat"\nto = "tail"', 'from = "headlamp"\nto = "left bar"', "closes a ring", ""),
        ('rated = "40 W"', 'rated = "40 W"\nreal = "40 A"', "nowhere near", 'real = "40 A"'),
        ('lower = "18 W"', 'lower = "90 W"', "not lower", 'lower = "90 W"'),
        ('real = "3.5 A"', '', "takes no current", "[[loads]]"),
    ],
)  # fmt: skip
def test_slip_is_told_with_its_line(old: str, new: str, words: str, at: str) -> None:
    assert TEXT.count(old) >= 1
    text = TEXT.replace(old, new, 1)
    with pytest.raises(EngineFileError) as told:
        parse_engine_file(text)
    problems = [p for p in told.value.problems if words in p.problem]
    assert problems, str(told.value)
    assert problems[0].line is not None
    if at:
        assert at in text.splitlines()[problems[0].line - 1]


def test_a_battery_of_24_v_typed_for_12_v_lamps_is_told() -> None:
    text = TEXT.replace("volts = 12", "volts = 24").replace(
        'name = "dial lamp"', 'name = "dial lamp"\nvolts = "12 V"'
    )
    with pytest.raises(EngineFileError, match="12 V on a 24 V machine"):
        parse_engine_file(text)


@pytest.mark.parametrize(("typed", "code"), [("red", "RD"), ("gn", "GN"), ("Grey", "GY")])
def test_a_colour_by_its_word_or_in_small_letters(typed: str, code: str) -> None:
    text = TEXT.replace('colour = "OG"', f'colour = "{typed}"', 1)
    assert parse_engine_file(text).circuits[3].colour == code
