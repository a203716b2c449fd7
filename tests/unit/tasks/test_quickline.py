"""Short lines as people type them with one hand."""

from __future__ import annotations

import pytest
from support import four

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


@pytest.mark.parametrize("line", EXAMPLES)
def test_every_example_is_understood(line: str) -> None:
    engine = four(step="0.05")
    assert understand_line(engine, line).words


@pytest.mark.parametrize("line", ["", "hello", "in9 5", "in4 six", "shim in4", "x" * 400, "loose"])
def test_other_lines_are_refused_with_a_sentence(line: str) -> None:
    with pytest.raises(InputError) as refused:
        understand_line(ENGINE, line)
    assert str(refused.value)
