"""Where the cylinders stand when an engine is seen from above.

The front of the engine is at the top. An engine too wide for the sheet is cut between two
cylinders, as on a workshop drawing, and goes on in the next row: each valve keeps a place big
enough to touch. Nothing here draws; it only says what stands where.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from tickover.errors import InputError

TARGET = 48.0  # smallest side of what can be touched [drawing units = CSS px at 360 px]
NARROW = 328.0  # a 360 px phone less its margins [drawing units]
WIDE = 560.0  # left column of a wide screen [drawing units]
_LARGEST_PITCH = 132.0  # one valve of a kind
_LARGEST_SLOT = 100.0  # each of several: a label fits on one line
_INSET = 4.0


@dataclass(frozen=True, slots=True)
class Row:
    """One row of cylinders.

    Parameters
    ----------
    cylinders : tuple of int
        From left to right.
    exhaust_up : bool
        Exhaust valves towards the top (the front); otherwise towards the bottom.
    above, below : str
        What to write outside the row's upper and lower edge.
    cut_left, cut_right : bool
        The engine goes on there, in another row.
    flat : bool
        The two cylinders lie left and right of the crankcase; 0 where a side has none.
    """

    cylinders: tuple[int, ...]
    exhaust_up: bool = True
    above: str = ""
    below: str = ""
    cut_left: bool = False
    cut_right: bool = False
    flat: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """Rows from front to rear, and how wide one cylinder is drawn.

    Parameters
    ----------
    rows : tuple of Row
        Front row first.
    pitch : float
        Distance between neighbouring cylinders [drawing units].
    width : float
        Of the whole sheet [drawing units].
    """

    rows: tuple[Row, ...]
    pitch: float
    width: float


def _chunks(cylinders: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Even rows: six by four would be 3 and 3, not 4 and 2."""
    count = math.ceil(len(cylinders) / most)
    size = math.ceil(len(cylinders) / count)
    return [tuple(cylinders[i : i + size]) for i in range(0, len(cylinders), size)]


def _bank(
    cylinders: Sequence[int], most: int, *, exhaust_up: bool, above: str, below: str
) -> list[Row]:
    chunks = _chunks(cylinders, most)
    last = len(chunks) - 1
    return [
        Row(
            chunk,
            exhaust_up=exhaust_up,
            above=above,
            below=below,
            cut_left=i > 0,
            cut_right=i < last,
        )
        for i, chunk in enumerate(chunks)
    ]


def lay_out(
    layout: str,
    cylinders: int,
    *,
    most_valves: int,
    middle_targets: bool = False,
    v_angle_deg: float | None = None,
    banks: Sequence[Sequence[int]] = (),
    width: float = NARROW,
) -> Plan:
    """Choose rows and pitch so that every target can be touched.

    Parameters
    ----------
    layout : str
        "single", "inline", "V" or "flat".
    cylinders : int
        How many.
    most_valves : int
        The larger of inlets and exhausts per cylinder.
    middle_targets : bool
        Cylinder and plug are to be touched as well as the valves.
    v_angle_deg : float or None
        Between the banks of a V [degrees].
    banks : two sequences of int, or none
        Front and rear bank of a V, left and right bank of a flat engine; odd and even
        cylinders when not given.
    width : float
        Of the sheet [drawing units].

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        For a layout this drawing does not know.
    """
    need = TARGET * max(1, most_valves)
    if middle_targets:
        need = max(need, 2 * TARGET + 8)  # cylinder and plug side by side
    inner = width - 2 * _INSET
    numbers = tuple(range(1, cylinders + 1))
    first, second = banks if len(banks) == 2 else (numbers[0::2], numbers[1::2])
    most = max(1, int(inner // need))
    if layout in ("single", "inline"):
        rows = _bank(
            numbers,
            most,
            exhaust_up=True,
            above="front of the engine, exhaust side",
            below="carburettor side, inlets",
        )
    elif layout == "V":
        angle = f"{v_angle_deg:g} degrees between them" if v_angle_deg else "between them"
        rows = [
            *_bank(
                first,
                most,
                exhaust_up=True,
                above="front cylinders, exhaust side" if len(first) > 1 else "front, exhaust side",
                below="",
            ),
            *_bank(
                second,
                most,
                exhaust_up=False,
                above=f"inlets in the V, {angle}",
                below="rear cylinders, exhaust side" if len(second) > 1 else "rear, exhaust side",
            ),
        ]
    elif layout == "flat":
        rows = [
            Row(
                pair,
                above="front of the engine, exhausts" if i == 0 else "",
                below="rear, inlets" if i == max(len(first), len(second)) - 1 else "",
                flat=True,
            )
            for i, pair in enumerate(zip_longest(first, second, fillvalue=0))
        ]
        return Plan(tuple(rows), min(width * 0.36, _LARGEST_PITCH), width)
    else:
        raise InputError(
            "There is no drawing for this layout",
            given=layout,
            allowed="single, inline, V, flat",
        )
    widest = max(len(row.cylinders) for row in rows)
    largest = max(_LARGEST_PITCH, _LARGEST_SLOT * most_valves if most_valves > 1 else 0.0)
    return Plan(tuple(rows), min(inner / widest, largest), width)
