"""A small engine file with fits, fasteners, controls and cables, and books made of short lines."""

from __future__ import annotations

from collections.abc import Sequence

from tickover.book.bodies import Body
from tickover.book.entries import number_entries
from tickover.book.fold import fold
from tickover.book.state import State
from tickover.engine import EngineFile, parse_engine_file
from tickover.plan.checks import CheckState, check_states
from tickover.tasks.quickline import understand_line

TWIN = """
[engine]
name = "Invented 400 twin"
layout = "inline"
cylinders = 2
[[fits]]
name = "cylinder"
kind = "bore"
places = ["cyl1", "cyl2"]
limits = "61.00..61.02 mm"
wear_limit = "61.10 mm"
taper_limit = "0.05 mm"
out_of_round_limit = "0.04 mm"
stations = ["top", "bottom"]
directions = ["along", "across"]
[[fits]]
name = "piston"
kind = "piston"
places = ["cyl1", "cyl2"]
limits = "60.94..60.96 mm"
wear_limit = "60.90 mm"
[[fits]]
name = "piston in cylinder"
kind = "clearance"
places = ["cyl1", "cyl2"]
between = ["cylinder", "piston"]
limits = "0.04..0.08 mm"
wear_limit = "0.12 mm"
[[fits]]
name = "top ring"
kind = "ring gap"
places = ["cyl1", "cyl2"]
limits = "0.15..0.30 mm"
[[fits]]
name = "crank"
kind = "end float"
limits = "0.05..0.40 mm"
[[fasteners]]
name = "head bolts"
joint = "head"
thread = "M8"
class = "8.8"
torque = "22 Nm"
positions = [[0, 0], [70, 0], [140, 0], [0, 90], [70, 90], [140, 90]]
retorque = true
[[fasteners]]
name = "sump plug"
joint = "sump"
torque = "25 Nm"
count = 1
[controls]
throttle_free_play = "2..4 mm"
grip_drum_diameter = "32 mm"
slide_travel = "24 mm"
[[cables]]
name = "clutch cable"
use = "clutch"
"""
BORE_1 = (
    "fit cyl1 cylinder top along 61.010 mm", "fit cyl1 cylinder top across 61.012 mm",
    "fit cyl1 cylinder bottom along 61.008 mm", "fit cyl1 cylinder bottom across 61.008 mm",
)  # fmt: skip


def twin(extra: str = "", **changes: str) -> EngineFile:
    """The twin, with some words of its file exchanged."""
    text = TWIN + extra
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    return parse_engine_file(text, "twin.toml")


def book(engine: EngineFile, *said: str | Body) -> State:
    """The state after short lines and bodies, in order."""
    bodies: Sequence[Body] = [
        understand_line(engine, each).body if isinstance(each, str) else each for each in said
    ]
    return fold(number_entries(bodies, at="2031-04-05T18:30:00Z", by="Ada"))


def state_of(engine: EngineFile, state: State, name: str, place: str) -> CheckState:
    """One check as it stands."""
    return next(c for c in check_states(engine, state) if c.check.key == (name, place))
