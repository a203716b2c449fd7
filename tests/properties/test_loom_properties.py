"""Looms of any shape: totals, routes, currents, the board."""

from __future__ import annotations

import math
import re
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_loom import random_loom

from tickover.engine import parse_engine_file
from tickover.pages.drawing.loom_board import board_svg, tiles
from tickover.pages.drawing.unfold import segment_distance, unfold
from tickover.pages.loom import board_of
from tickover.tasks.wiring.continuity import WireTest, explain_loom
from tickover.tasks.wiring.loom import MINUS
from tickover.tasks.wiring.schedule import branch_lines, cutting_list
from tickover.tasks.wiring.sizing import size_loom

SEEDS = st.integers(0, 10_000)
LOOMS = settings(max_examples=20, deadline=None)


@given(SEEDS)
@LOOMS
def test_lengths_of_wires_add_up_over_branches_and_over_the_cutting_list(seed: int) -> None:
    engine = random_loom(seed, points=8, circuits=3, loads=7)
    sizing = size_loom(engine)
    along = math.fsum(w.run.path for w in sizing.wires)
    over = math.fsum(b.length * b.wires for b in branch_lines(engine, sizing))
    assert along == pytest.approx(over, rel=1e-12)
    cut = cutting_list(engine, sizing)
    assert sum(c.count for c in cut) == len(sizing.wires)
    assert math.fsum(c.total for c in cut) == pytest.approx(sum(w.run.cut for w in sizing.wires))
    for line in cut:
        assert line.buy >= 1.1 * line.total - 1e-9
    for wire in sizing.wires:  # slack at both ends, then up to whole centimetres
        assert 0.12 - 1e-9 <= wire.run.cut - wire.run.path < 0.13


@given(SEEDS)
@LOOMS
def test_every_load_has_a_way_out_and_back_with_its_current_in_every_wire(seed: int) -> None:
    engine = random_loom(seed, points=6, circuits=2, loads=5)
    sizing = size_loom(engine)
    for n, chain in enumerate(sizing.loom.chains):
        runs = [sizing.wires[i].run for i in chain]
        assert runs[0].start == "battery"
        assert runs[-1].end in (MINUS, "frame")
        for one, two in pairwise(runs):
            # From bus to fuse no wire leads: the fuse sits in it.
            assert one.end == two.start or (
                one.end.startswith("fuses from") and two.start.startswith("fuse ")
            )
        for run in runs:
            assert n in run.loads
            assert run.current >= (engine.loads[n].real_a or 0.0) - 1e-12
    lone = sum(load.real_a or 0.0 for load in engine.loads)
    first = next(w for w in sizing.wires if w.run.start == "battery")
    assert first.run.current == pytest.approx(lone)


@given(SEEDS, st.floats(0.15, 0.9))
@LOOMS
def test_a_greater_drop_never_asks_for_more_copper(seed: int, drop: float) -> None:
    tight = random_loom(seed, points=5, loads=4, drop=f"{drop:.3f} V")
    loose = random_loom(seed, points=5, loads=4, drop=f"{drop * 1.5:.3f} V")
    one, two = size_loom(tight), size_loom(loose)
    if all(load.met for load in one.loads):
        assert two.copper <= one.copper * (1 + 1e-6)


@st.composite
def trees(draw: st.DrawFn) -> list[tuple[str, str, float]]:
    """Trees of up to 24 branches, some of them bushes, some of them lines."""
    n = draw(st.integers(1, 24))
    reach = draw(st.sampled_from([1, 3, 30]))
    return [
        (f"p{draw(st.integers(max(0, k - reach), k - 1))}", f"p{k}", draw(st.floats(20.0, 900.0)))
        for k in range(1, n + 1)
    ]


@given(trees(), st.sampled_from([20.0, 1e9]))
@settings(max_examples=80, deadline=None)
def test_the_board_keeps_every_length_and_never_crosses_itself(
    branches: list[tuple[str, str, float]], clear: float
) -> None:
    # No board keeps that much clear: the cones are tried then, not the level trunk.
    flat = unfold(branches, clear)
    for a, b, length in branches:
        assert math.dist(flat.at[a], flat.at[b]) == pytest.approx(length, rel=1e-9)
    lines = [((a, b), (flat.at[a], flat.at[b])) for a, b, _ in branches]
    for one, two in combinations(lines, 2):
        if not set(one[0]) & set(two[0]):
            assert segment_distance(one[1], two[1]) > 0.0


@given(SEEDS, st.sampled_from(["a4", "letter"]))
@settings(max_examples=8, deadline=None)
def test_sheets_are_true_to_size_and_share_their_crosses(seed: int, paper: str) -> None:
    engine = random_loom(seed, points=7, loads=3)
    board = board_of(engine, size_loom(engine))
    assert f'width="{board.width:.1f}mm"' in board_svg(board, embedded=True)
    sheets, _, _ = tiles(board, paper)
    crosses: dict[tuple[float, float], int] = {}
    for tile in sheets:
        box = re.search(r'viewBox="([\d.-]+) ([\d.-]+) ([\d.-]+) ([\d.-]+)"', tile.svg)
        assert box is not None
        width = re.search(r'width="([\d.]+)mm"', tile.svg)
        assert width is not None
        assert float(width[1]) == pytest.approx(float(box[3]))
        for x in (tile.left + 5, tile.left + tile.width - 5):
            for y in (tile.top + 5, tile.top + tile.height - 5):
                key = (round(x, 2), round(y, 2))
                crosses[key] = crosses.get(key, 0) + 1
    if len(sheets) > 1:
        assert max(crosses.values()) >= 2


@given(SEEDS)
@settings(max_examples=15, deadline=None)
def test_wires_that_fail_through_one_branch_name_it_or_what_shares_all_of_them(seed: int) -> None:
    engine = random_loom(seed, points=9, circuits=3, loads=9)
    sizing = size_loom(engine)
    rng = np.random.default_rng(seed)
    several = [i for i in range(len(engine.branches)) if len(sizing.loom.through(i)) >= 4]
    if not several:
        return
    cut = several[int(rng.integers(len(several)))]
    bad = set(sizing.loom.through(cut))
    read = {
        w.run.number: WireTest(1e9 if i in bad else 0.1, 1e9) for i, w in enumerate(sizing.wires)
    }
    found = explain_loom(engine, sizing, read)
    first = found.opens[0]
    assert set(first.numbers) == {sizing.wires[i].run.number for i in bad}
    assert found.shorts == ()


def test_a_word_with_a_quote_or_a_bracket_stays_inside_its_drawing() -> None:
    text = """[engine]
name = "a"
layout = "single"
[wiring]
battery = "p<0>"
fuses = "p<0>"
[[circuits]]
name = "l&l"
colour = "YE"
[[loads]]
name = 'tail "lamp"'
circuit = "l&l"
at = "end"
rated = "5 W"
[[branches]]
from = "p<0>"
to = "end"
length = "1 m"
"""
    engine = parse_engine_file(text)
    svg = board_svg(board_of(engine, size_loom(engine)))
    assert "p&lt;0&gt;" in svg
    assert "<0>" not in svg


def test_cones_keep_a_bush_of_long_branches_apart() -> None:
    bush = [("hub", f"arm {k}", 40.0) for k in range(8)]
    bush += [(f"arm {k}", f"end {k} {n}", 900.0) for k in range(8) for n in range(3)]
    flat = unfold(bush, 1e9)  # no board keeps that much clear: cones
    assert flat.how == "cones"
    lines = [((a, b), (flat.at[a], flat.at[b])) for a, b, _ in bush]
    for one, two in combinations(lines, 2):
        if not set(one[0]) & set(two[0]):
            assert segment_distance(one[1], two[1]) > 0.0
