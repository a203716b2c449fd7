"""Starter cables: what they lose while the starter turns, and how thick they must be."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tickover.decide.selection import select
from tickover.engine import EngineFile
from tickover.engine.tables.startercables import StarterCable
from tickover.errors import InputError
from tickover.physics.wire import WireSize, adiabatic_rise, cable_sizes, resistance, size_named

USUAL_DROP_V = 0.5
"""There and back for 12 V while cranking: common practice, no source."""
CRANKED_S = 10.0
"""For how long a starter is held at most: our assumption."""
WARMEST_K = 40.0
"""By how much a cable may warm in that time: our assumption, far below what insulation bears."""
USUAL_AROUND_K = 293.15


@dataclass(frozen=True, slots=True)
class CableDrop:
    """One stretch: size, None where it is metal; resistance [ohm], drop [V], warming [K]."""

    name: str
    size: WireSize | None
    given: bool
    ohm: float
    drop: float
    rise: float


@dataclass(frozen=True, slots=True)
class StarterWay:
    """The starter's way there and back: current [A], drop allowed [V], its stretches."""

    current: float
    allowed: float
    stretches: tuple[CableDrop, ...]

    @property
    def drop(self) -> float:
        """Lost along all of it [V]."""
        return sum(each.drop for each in self.stretches)

    @property
    def met(self) -> bool:
        """Whether no more is lost than is allowed."""
        return self.drop <= self.allowed * (1.0 + 1e-6)


@lru_cache(maxsize=16)
def starter_way(engine: EngineFile) -> StarterWay | None:
    """What the starter's cables lose, those without a size chosen; None where nothing is told.

    Parameters
    ----------
    engine : EngineFile
        With [[starter_cables]] and [starter] current.

    Returns
    -------
    StarterWay or None

    Raises
    ------
    InputError
        A size that is not sold.

    Notes
    -----
    Of all choices that keep the whole way within its drop the one with the least copper, none so
    thin that ten seconds warm it by 40 K; where not even the thickest keep it, those.
    """
    starter = engine.starter
    if not engine.starter_cables or starter is None or starter.current_a is None:
        return None
    current = starter.current_a
    allowed = starter.cable_drop_v
    if allowed is None:
        allowed = USUAL_DROP_V * engine.system_volts / 12.0
    around = USUAL_AROUND_K if engine.wiring is None else engine.wiring.around_k
    options = [_options(cable, current, around) for cable in engine.starter_cables]
    ohms = [
        np.array([_ohm(cable, size, around) for size in sizes])
        for cable, sizes in zip(engine.starter_cables, options, strict=True)
    ]
    costs = [
        np.array([0.0 if size is None else 1e6 * size.area * (cable.length_m or 0.0)
                  for size in sizes])
        for cable, sizes in zip(engine.starter_cables, options, strict=True)
    ]  # fmt: skip
    found = select(costs, [current * row for row in ohms], [range(len(ohms))], [allowed])
    at = found.options
    if found.status == "nothing fits":
        at = tuple(len(sizes) - 1 for sizes in options)
    stretches = []
    for cable, sizes, row, k in zip(engine.starter_cables, options, ohms, at, strict=True):
        size = sizes[k]
        rise = 0.0 if size is None else adiabatic_rise(size, current, CRANKED_S, around)
        stretches.append(
            CableDrop(cable.name, size, cable.size is not None, float(row[k]),
                      current * float(row[k]), rise)
        )  # fmt: skip
    return StarterWay(current, allowed, tuple(stretches))


def _options(cable: StarterCable, current: float, around: float) -> tuple[WireSize | None, ...]:
    """Sizes it may have, thinnest first; one where it is lying already, None for metal."""
    if cable.resistance_ohm is not None:
        return (None,)
    every = cable_sizes()
    if cable.size is not None:
        try:
            return (size_named(cable.size, "metric", every),)
        except InputError as wrong:
            raise InputError(wrong.problem, given=wrong.given, allowed=wrong.allowed,
                             where=cable.name) from None  # fmt: skip
    cool = [s for s in every if adiabatic_rise(s, current, CRANKED_S, around) <= WARMEST_K]
    return tuple(cool) or every[-1:]


def _ohm(cable: StarterCable, size: WireSize | None, around: float) -> float:
    if size is None:
        return cable.resistance_ohm or 0.0
    return resistance(size, cable.length_m or 0.0, around)
