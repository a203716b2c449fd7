"""The crank dial: marks where the crank has them, forward is clockwise, turns are honest."""

from __future__ import annotations

import itertools
import math
import re

import pytest
from support import four

from tickover.errors import InputError
from tickover.pages.drawing import crank_dial, stop_dial, turn_in_words
from tickover.pages.sheets import valve_bench_sheet
from tickover.pages.valves import valves_page
from tickover.tasks.valves import assess_valves

NUMBER = r"(-?\d+\.\d)"


def angle(x: float, y: float) -> float:
    return math.degrees(math.atan2(x, -y)) % 360


def points(svg: str, role: str) -> list[list[tuple[float, float]]]:
    return [
        [(float(x), float(y)) for x, y in re.findall(f"{NUMBER},{NUMBER}", found)]
        for found in re.findall(rf'points="([^"]+)" class="d-{role}"', svg)
    ]


def test_marks_stand_at_their_crank_angle_growing_clockwise() -> None:
    svg = crank_dial([0, 240, 480], ["T1", "T3", "T2"], 0, 240)
    tips = [angle(*mark[0]) for mark in points(svg, "tdc")]
    assert tips == pytest.approx([0, 120, 240], abs=0.5)  # printed to 0.1 of 79 units
    labels = re.findall(r">(T\d)<", svg)
    assert labels == ["T1", "T2", "T3"]  # in the order of the dial: 480 is 120


def test_cylinders_one_turn_apart_share_a_mark() -> None:
    svg = crank_dial([0, 180, 360, 540], ["T1", "T3", "T4", "T2"], None, 0)
    beside, middle = svg.split('font-size="30"')
    assert re.findall(r">(T\d T\d)<", beside) == ["T1 T4", "T3 T2"]
    assert ">T1 T4<" in middle  # the mark to find stands in the middle


@pytest.mark.parametrize(("start", "end"), [(0, 240), (90, 570), (0, 360), (30, 45), (0, 720)])
def test_the_arrow_ends_where_the_crank_is_to_stand(start: float, end: float) -> None:
    head = points(crank_dial([0], ["T1"], start, end), "turn-head")[0]
    difference = (angle(*head[0]) - end + 180) % 360 - 180
    assert difference == pytest.approx(0, abs=0.5)


@pytest.mark.parametrize(("start", "end"), [(0, 240), (0, 360), (90, 570), (0, 720)])
def test_the_line_runs_forward_through_every_degree_it_says(start: float, end: float) -> None:
    line = points(crank_dial([0], ["T1"], start, end), "turn")[0]
    travelled = 0.0
    for before, after in itertools.pairwise(line):
        step = (angle(*after) - angle(*before) + 180) % 360 - 180
        assert step > 0, "never backwards"
        travelled += step
    head = math.degrees(15 / 56)  # the arrow head covers the rest
    assert travelled == pytest.approx(end - start - 0.9 * head, abs=2)


def test_more_than_one_turn_does_not_run_over_itself() -> None:
    line = points(crank_dial([0], ["T1"], 0, 480), "turn")[0]
    radii = [math.hypot(x, y) for x, y in line]
    assert radii[-1] - radii[0] > 9  # wider than the stroke of 6
    one = points(crank_dial([0], ["T1"], 0, 120), "turn")[0]
    assert len(line) > 2 * len(one)


def test_the_turn_is_said_in_words() -> None:
    assert 'aria-label="Crank dial: one turn and 120 degrees on"' in crank_dial([0], ["T1"], 0, 480)
    assert turn_in_words(720) == "2 turns on"


def test_staying_and_starting_have_no_arrow() -> None:
    assert points(crank_dial([0], ["T1"], 30, 30), "turn") == []
    assert "start here" in crank_dial([0], ["T1"], None, 0)
    assert ">77°<" in crank_dial([0], ["T1"], None, 77)


def test_turning_backwards_is_refused_with_the_way_forward() -> None:
    with pytest.raises(InputError, match="820 degrees"):
        crank_dial([0], ["T1"], 240, 100)


def test_every_mark_needs_a_label() -> None:
    with pytest.raises(InputError, match="2 marks, 1 labels"):
        crank_dial([0, 120], ["T1"], 0, 120)


def test_the_bench_sheet_shows_at_each_stop_the_dial_of_that_stop():
    engine = four()
    page = valves_page(engine, assess_valves(engine, {}, {}))
    sheet = valve_bench_sheet(engine, page)
    for stop, printed in zip(page.stops, sheet["stops"], strict=False):
        assert printed["dial_svg"] == stop_dial(engine, page.stops, stop.number, embedded=True)
    assert len(page.stops) > 1
    assert sheet["stops"][0]["dial_svg"] != sheet["stops"][1]["dial_svg"]
