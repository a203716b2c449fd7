"""Holes for screws: the drill before the tap, and the hole to clear a screw."""

from __future__ import annotations

from typing import Literal

from tickover.errors import InputError
from tickover.physics import guards
from tickover.physics.thread import Thread

Depth = Literal["screw", "nut"]
"""Which depth counts as 100 percent of thread.

"screw" is twice the depth of the screw's thread as inch tables count it (for 60 degrees
1.299 p, three quarters of the sharp triangle on each side); "nut" is the depth of the basic
internal thread (1.083 p). An 8.5 mm hole for M10 is 77 percent by the first and 92 percent by
the second: always say which."""

# ISO 273: nominal size to fine, medium, coarse hole [mm].
_CLEARANCE = {
    1.6: (1.7, 1.8, 2.0), 2.0: (2.2, 2.4, 2.6), 2.5: (2.7, 2.9, 3.1), 3.0: (3.2, 3.4, 3.6),
    4.0: (4.3, 4.5, 4.8), 5.0: (5.3, 5.5, 5.8), 6.0: (6.4, 6.6, 7.0), 7.0: (7.4, 7.6, 8.0),
    8.0: (8.4, 9.0, 10.0), 10.0: (10.5, 11.0, 12.0), 12.0: (13.0, 13.5, 14.5),
    14.0: (15.0, 15.5, 16.5), 16.0: (17.0, 17.5, 18.5),
}  # fmt: skip


def tapping_drill(thread: Thread, percent: float, of_depth: Depth = "screw") -> float:
    """Hole to drill before tapping for a wanted percentage of thread.

    Parameters
    ----------
    thread : Thread
    percent : float
        20 to 100 [percent]
    of_depth : "screw" or "nut"
        What counts as 100 percent, see `Depth`.

    Returns
    -------
    float
        Exact diameter; take the nearest drill there is [m]

    Raises
    ------
    InputError
        If the percentage is outside 20 to 100.

    Notes
    -----
    major - percent * full depth; for 60 degree threads and "screw" the full depth is
    1.29904 p, for "nut" 1.08253 p; for Whitworth and BA forms both are twice the thread depth.
    Checked in tests/published/test_thread_holes.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e3 * tapping_drill(thread('M8'), 75.0):.2f} mm")
    6.78 mm
    """
    guards.within("Percentage of thread", percent, 20.0, 100.0, "percent")
    return thread.major - 0.01 * percent * _full_depth(thread, of_depth)


def thread_percent(thread: Thread, hole: float, of_depth: Depth = "screw") -> float:
    """Percentage of thread that a hole leaves.

    Parameters
    ----------
    thread : Thread
    hole : float
        Diameter drilled [m]
    of_depth : "screw" or "nut"
        What counts as 100 percent, see `Depth`.

    Returns
    -------
    float
        Above 100 the tap has to cut more than the thread: it will jam [percent]

    Raises
    ------
    InputError
        If the hole is not smaller than the thread.

    Notes
    -----
    The inverse of `tapping_drill`. Checked in tests/published/test_thread_holes.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> m10 = thread("M10")
    >>> print(f"{thread_percent(m10, 8.5e-3):.0f} {thread_percent(m10, 8.5e-3, 'nut'):.1f}")
    77 92.4
    """
    guards.positive("Hole diameter", hole, "m")
    if not hole < thread.major:
        raise InputError(
            "The hole is as large as the thread",
            given=f"{1e3 * hole:g} mm",
            allowed=f"less than {1e3 * thread.major:g} mm",
        )
    return 100.0 * (thread.major - hole) / _full_depth(thread, of_depth)


def clearance_hole(thread: Thread, fit: Literal["fine", "medium", "coarse"] = "medium") -> float:
    """Hole through which a metric screw passes.

    Parameters
    ----------
    thread : Thread
        Metric, M1.6 to M16
    fit : "fine", "medium" or "coarse"

    Returns
    -------
    float
        [m]

    Raises
    ------
    InputError
        For a size the table does not have, or an inch thread.

    Notes
    -----
    Source: ISO 273, from published copies of its table.
    Checked in tests/published/test_thread_holes.py.

    Examples
    --------
    >>> from tickover.physics.thread import thread
    >>> print(f"{1e3 * clearance_hole(thread('M8')):g} mm")
    9 mm
    """
    size = round(1e3 * thread.major, 6)
    column = ("fine", "medium", "coarse").index(fit)
    if thread.form.name != "ISO" or size not in _CLEARANCE:
        raise InputError(
            "No clearance hole for this thread in the table",
            given=thread.name,
            allowed=", ".join(f"M{key:g}" for key in _CLEARANCE),
            instead="the screw measured over its thread, plus a tenth of it",
        )
    return 1e-3 * _CLEARANCE[size][column]


def _full_depth(thread: Thread, of_depth: Depth) -> float:
    if thread.form.angle_deg == 60.0 and thread.form.name != "Cycle" and of_depth == "screw":
        return 2.0 * thread.form.pitch_drop * thread.pitch  # 1.299 p
    return thread.form.nut_drop * thread.pitch
