"""Pictures as SVG text: the engine from above, the crank dial, the state marks.

Pure functions from an engine file and marks to strings. No script, no outside reference, no
clock. The same picture serves page and paper: on a page its looks come from CSS classes, with
`embedded=True` they stand in the picture.
"""

from tickover.pages.drawing.dial import crank_dial, turn_in_words
from tickover.pages.drawing.marks import STATES, mark_shape, state_mark
from tickover.pages.drawing.plan_view import PartMark, accessible_name, part_name, plan_view
from tickover.pages.drawing.rows import NARROW, WIDE

__all__ = [
    "NARROW",
    "STATES",
    "WIDE",
    "PartMark",
    "accessible_name",
    "crank_dial",
    "mark_shape",
    "part_name",
    "plan_view",
    "state_mark",
    "turn_in_words",
]
