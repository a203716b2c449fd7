"""Pictures as SVG text: the engine from above, the crank dial, the state marks.

Pure functions from an engine file and marks to strings. No script, no outside reference, no
clock. The same picture serves page and paper: on a page its looks come from CSS classes, with
`embedded=True` they stand in the picture.
"""

from tickover.pages.drawing.dial import crank_dial, turn_in_words
from tickover.pages.drawing.marks import STATES, mark_shape, state_mark
from tickover.pages.drawing.parts import PartMark, accessible_name, part_name
from tickover.pages.drawing.plan_view import plan_view
from tickover.pages.drawing.rows import NARROW, WIDE
from tickover.pages.drawing.valve_pictures import (
    marks_of,
    stop_dial,
    valve_marks,
    valves_picture,
)

__all__ = [
    "NARROW",
    "STATES",
    "WIDE",
    "PartMark",
    "accessible_name",
    "crank_dial",
    "mark_shape",
    "marks_of",
    "part_name",
    "plan_view",
    "state_mark",
    "stop_dial",
    "turn_in_words",
    "valve_marks",
    "valves_picture",
]
