"""Slot strengths judged: what is said, what is withheld, and why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tickover.physics.sound.marks import Marks
from tickover.physics.sound.orders import (
    firing_fractions,
    firing_gaps,
    half_orders_mean_weakness,
    is_even,
    order_amplitudes,
)
from tickover.physics.sound.slots import (
    LEAST_CYCLES,
    depth,
    echo_fill_db,
    slot_strengths,
    slot_windows,
    whitened,
)
from tickover.tasks.listen.listening import HalfOrder, Listening, Slot

WEAK_DEPTH = 0.33  # 2 to 3 of 100 healthy fours told wrongly, 90 of 100 half weak found
WEAK_DEPTH_UNEVEN = 0.40  # after unequal gaps healthy pulses differ too
CLIPPED = 0.005
SHORTEST_GAP_S = 0.014
MOST_ECHO_DB = -5.0
SOME_ECHO_DB = -11.0
ECHO_REMARK = (
    "The sound hardly dies away between firings, from echo or long pulses: a weak slot looks "
    "stronger than it is."
)
UNEVEN_REMARK = (
    "Firings of this pattern lie at unequal distances, and with a weak one among three or more "
    "the pattern can be laid on the sound the wrong way round: check the neighbours too."
)
LEAST_ALIKE = 0.35
MOST_NEGATIVE = -0.15
HALF_ORDERS = (0.5, 1.0, 1.5, 2.0)


def judged_slots(
    heard: Listening,
    signal: NDArray[np.float64],
    marks: Marks,
    cycle_idles: NDArray[np.bool_],
) -> Listening:
    """A listening with its slots and half orders, or with the reason why there are none.

    Parameters
    ----------
    heard : Listening
    signal : array, shape (n,)
        At the rate of the marks [1]
    marks : Marks
    cycle_idles : array, shape (cycles,)

    Returns
    -------
    Listening
    """
    means = half_orders_mean_weakness(heard.firing_angles_deg)
    heard = replace(heard, half_orders_mean_weakness=means)
    reason = withheld(heard, marks, cycle_idles)
    if reason:
        return _without(heard, reason)
    fractions = firing_fractions(heard.firing_angles_deg)
    windows = slot_windows(signal, marks, fractions, cycle_idles)
    fill = echo_fill_db(windows)
    if fill > MOST_ECHO_DB:
        return _without(
            heard,
            "Echo fills the time between firings and makes all slots look alike. "
            "Record outdoors, away from walls.",
        )
    if fill > SOME_ECHO_DB:
        heard = replace(heard, remarks=(*heard.remarks, ECHO_REMARK))
    flat = slot_windows(whitened(signal), marks, fractions, cycle_idles)
    found = slot_strengths(windows, flat)
    if found.alike < LEAST_ALIKE or float(np.min(found.strength)) < MOST_NEGATIVE:
        return _without(heard, "The pulses of the slots are too unlike each other to compare.")
    weakest, below = depth(found.strength)
    # Chance alone must not make the slot weak either.
    limit = WEAK_DEPTH if is_even(heard.firing_angles_deg) else WEAK_DEPTH_UNEVEN
    sure = below - 2.0 * float(found.deviation[weakest]) > limit / 2.0
    slots = tuple(
        Slot(angle, strength, low, high, deviation)
        for angle, strength, low, high, deviation in zip(
            heard.firing_angles_deg,
            found.strength.tolist(),
            found.low.tolist(),
            found.high.tolist(),
            found.deviation.tolist(),
            strict=True,
        )
    )
    weak = weakest if below > limit and sure else None
    if weak is not None and len(slots) > 2 and not is_even(heard.firing_angles_deg):
        heard = replace(heard, remarks=(*heard.remarks, UNEVEN_REMARK))
    healthy = order_amplitudes(HALF_ORDERS, heard.firing_angles_deg)
    now = order_amplitudes(HALF_ORDERS, heard.firing_angles_deg, np.clip(found.strength, 0.0, None))
    return replace(
        heard,
        slots=slots,
        weak_slot=weak,
        weakest_depth=below,
        pulses=tuple(map(tuple, marks.pulses.tolist())),
        half_orders=tuple(
            HalfOrder(order, float(ideal), float(real))
            for order, ideal, real in zip(HALF_ORDERS, healthy, now, strict=True)
        ),
    )


def withheld(heard: Listening, marks: Marks, cycle_idles: NDArray[np.bool_]) -> str:
    """Why slot strengths must not be given, or nothing.

    Parameters
    ----------
    heard : Listening
    marks : Marks
    cycle_idles : array, shape (cycles,)

    Returns
    -------
    str
        Empty when they may be given.
    """
    measures = heard.measures
    fractions = firing_fractions(heard.firing_angles_deg)
    if fractions.size < 2:
        return "One cylinder has nothing to be compared with but itself, recorded earlier."
    if np.count_nonzero(cycle_idles) < LEAST_CYCLES:
        return f"Slots are judged on steady idle only, {LEAST_CYCLES} cycles of it or more."
    if measures is not None and measures.clipped > CLIPPED:
        return "The recording is overloaded, which makes all pulses look alike."
    cycle = float(np.median(np.diff(marks.times_s[:, 0])[cycle_idles[1:]]))
    if cycle * float(np.min(firing_gaps(fractions))) < SHORTEST_GAP_S:
        return "At this speed the pulses run into each other. Record a slower idle."
    return ""


def _without(heard: Listening, reason: str) -> Listening:
    return replace(heard, why={**heard.why, "slots": reason, "half_orders": reason})
