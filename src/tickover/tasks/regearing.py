"""The same machine with other tyres or sprockets: what would change, before anything is bought."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.bands import Band
from tickover.physics.tyre import read_tyre, rolling_circumference
from tickover.tasks.speed import wheel_roll_out

_PAIR = re.compile(r"^\s*(\d{1,3})\s*(?:/|:|x|-|,|\s)\s*(\d{1,3})\s*$")


def sprocket_pair(text: str) -> tuple[int, int]:
    """Teeth at the gearbox and at the wheel: '18/46'.

    Raises
    ------
    InputError
        No two numbers, numbers no sprocket has, or the two exchanged.

    Examples
    --------
    >>> sprocket_pair("18/46")
    (18, 46)
    """
    found = _PAIR.match(text)
    if found is None:
        raise InputError("Two sprockets are two numbers of teeth", given=text,
                         instead="'18/46', gearbox first")  # fmt: skip
    small, large = int(found[1]), int(found[2])
    if small > large:
        raise InputError("The sprockets look exchanged: the larger one sits at the wheel",
                         given=text, instead=f"'{large}/{small}', gearbox first")  # fmt: skip
    if not (8 <= small <= 80 and large <= 90):
        raise InputError("No sprocket of a motorcycle has so many teeth", given=text,
                         allowed="8 to 80 at the gearbox, up to 90 at the wheel")  # fmt: skip
    return small, large


@dataclass(frozen=True, slots=True)
class Regeared:
    """What other tyres or sprockets would do.

    Parameters
    ----------
    words : str
        What is changed.
    road : Band
        Road speed then over now, at one crank speed [1]
    needle : Band
        Shown over true then, over what it is now [1]
    assumed : tuple of str
    """

    words: str
    road: Band
    needle: Band
    assumed: tuple[str, ...]


def regeared(
    engine: EngineFile,
    state: State | None = None,
    front: str = "",
    rear: str = "",
    sprockets: str = "",
) -> Regeared | None:
    """What would change with other tyres or sprockets; None where nothing else is asked.

    Parameters
    ----------
    engine : EngineFile
    state : State
    front, rear : str
        Tyre sizes, '' for the ones it has.
    sprockets : str
        '18/46', gearbox first; '' for the ones it has.

    Raises
    ------
    InputError
        A size of no known style, sprockets that are none, or nothing known now to set against.

    Notes
    -----
    Circumferences go as nominal diameters, good to 1 % from size to size, 3 % where one of them
    is an inch size (our assumptions): 4.00-18 to 110/90-18 is -0.79 %.
    Checked in tests/published/test_gearing.py.
    """
    if not (front or rear or sprockets):
        return None
    words, assumed = [], []
    around_front = around_rear = Band(1.0, 1.0)
    if front:
        around_front, said = _ratio(engine, state, "front", front)
        words.append(f"front {front}")
        assumed.append(said)
    if rear:
        around_rear, said = _ratio(engine, state, "rear", rear)
        words.append(f"rear {rear}")
        assumed.append(said)
    final = 1.0
    if sprockets:
        small, large = sprocket_pair(sprockets)
        now = engine.gearing.final_ratio if engine.gearing else None
        if now is None:
            raise InputError("The engine file does not say which sprockets are on now",
                             where="[gearing] gearbox_sprocket")  # fmt: skip
        final = large / small / now
        words.append(f"sprockets {small}/{large}")
    driven = engine.speedometer.driven_by if engine.speedometer else "front wheel"
    wheel = around_front if driven == "front wheel" else around_rear
    turns = final if driven == "gearbox sprocket" else 1.0
    return Regeared(", ".join(words), around_rear / final, turns / wheel,
                    tuple(dict.fromkeys(assumed)))  # fmt: skip


def _ratio(engine: EngineFile, state: State | None, wheel: str, size: str) -> tuple[Band, str]:
    """Circumference of a wheel with another tyre over the one it has, and what is assumed."""
    new = read_tyre(size)
    table = engine.wheels
    old_size = (table.front if wheel == "front" else table.rear) if table else None
    if old_size is not None:
        old = read_tyre(old_size)
        slack = 0.03 if "inch" in (old.style, new.style) else 0.01
        middle = new.diameter / old.diameter
        said = f"tyres go as their nominal diameters, within {100 * slack:.0f} %"
        return Band(middle * (1 - slack), middle * (1 + slack)), said
    now = wheel_roll_out(engine, wheel, state)
    if now is None:
        raise InputError(f"The engine file does not say which {wheel} tyre is on now",
                         where=f"[wheels] {wheel}")  # fmt: skip
    return rolling_circumference(new) / now.band, f"the {wheel} tyre estimated from its size"
