"""Two recordings of the same engine: what changed, with how much chance there is in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tickover.errors import InputError
from tickover.physics.sound.orders import firing_fractions
from tickover.physics.sound.slots import NORMAL_95, best_rotation
from tickover.tasks.listen.listening import Listening, Slot

# Setting the telephone down again changes the loudness of one pipe against another by this
# standard deviation. Assumed, not measured: nobody's telephone lands on the same spot twice.
PLACEMENT = 0.05


@dataclass(frozen=True, slots=True)
class Change:
    """A quantity before and after; `low` to `high` is the 95 % interval of the difference."""

    before: float
    after: float
    difference: float
    low: float
    high: float

    @property
    def sure(self) -> bool:
        """Whether the interval leaves out no change at all."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True, slots=True)
class Comparison:
    """Changes from the earlier recording to the later one.

    `slots` in the earlier recording's order, None with the reason in `why`; `rotation` slots
    the later recording was turned by; `rotation_clear` whether no other turn fits nearly as well.
    """

    refused: str | None
    idle_rpm: Change | None = None
    variation_percent: Change | None = None
    slots: tuple[Change, ...] | None = None
    changed_slots: tuple[int, ...] = ()
    rotation: int = 0
    rotation_clear: bool = False
    why: tuple[str, ...] = ()


def compare(earlier: Listening, later: Listening) -> Comparison:
    """What changed between two recordings of one engine.

    Parameters
    ----------
    earlier, later : Listening

    Returns
    -------
    Comparison
        With `refused` set when one of them was refused.

    Raises
    ------
    InputError
        If the two do not have the same firing angles.
    """
    if earlier.firing_angles_deg != later.firing_angles_deg:
        raise InputError(
            "The recordings are of different firing patterns",
            given=f"{later.firing_angles_deg}",
            allowed=f"{earlier.firing_angles_deg}",
        )
    for name, one in (("earlier", earlier), ("later", later)):
        if one.refused is not None:
            return Comparison(f"The {name} recording was refused: {one.refused.reason}")
    why = [
        f"{name} recording: {one.why['slots']}"
        for name, one in (("Earlier", earlier), ("Later", later))
        if "slots" in one.why
    ]
    result = Comparison(None, _idle(earlier, later), _variation(earlier, later), why=tuple(why))
    if earlier.slots is None or later.slots is None:
        return result
    return _with_slots(result, earlier, later, earlier.slots, later.slots)


def _idle(earlier: Listening, later: Listening) -> Change | None:
    if earlier.idle_rpm is None or later.idle_rpm is None:
        return None
    # Nine tenths of the frames lie within the range; a mean over some seconds wanders less,
    # about a third of that, which is what the two medians can be expected to repeat to.
    reach = (
        np.hypot(
            earlier.idle_rpm.high - earlier.idle_rpm.low, later.idle_rpm.high - later.idle_rpm.low
        )
        / 3.0
    )
    return _change(earlier.idle_rpm.median, later.idle_rpm.median, float(reach))


def _variation(earlier: Listening, later: Listening) -> Change | None:
    one, two = earlier.variation_interval, later.variation_interval
    if earlier.variation_percent is None or later.variation_percent is None:
        return None
    if one is None or two is None:
        return None
    reach = np.hypot(one[1] - earlier.variation_percent, two[1] - later.variation_percent)
    return _change(earlier.variation_percent, later.variation_percent, float(reach))


def _change(before: float, after: float, reach: float) -> Change:
    return Change(before, after, after - before, after - before - reach, after - before + reach)


def _with_slots(
    result: Comparison,
    earlier: Listening,
    later: Listening,
    before: tuple[Slot, ...],
    after: tuple[Slot, ...],
) -> Comparison:
    fractions = firing_fractions(earlier.firing_angles_deg)
    shift, clear = best_rotation(np.asarray(earlier.pulses), np.asarray(later.pulses), fractions)
    turned = [after[(slot - shift) % len(after)] for slot in range(len(after))]
    changes = tuple(
        _change(
            one.strength,
            two.strength,
            NORMAL_95 * float(np.sqrt(one.deviation**2 + two.deviation**2 + PLACEMENT**2)),
        )
        for one, two in zip(before, turned, strict=True)
    )
    notes = list(result.why)
    if not clear:
        notes.append(
            "The slots of the two recordings could lie on each other in more than one way; "
            "compare the weakest with the weakest, not one by one."
        )
    return Comparison(
        None,
        result.idle_rpm,
        result.variation_percent,
        changes,
        tuple(slot for slot, change in enumerate(changes) if change.sure) if clear else (),
        shift,
        clear,
        tuple(notes),
    )
