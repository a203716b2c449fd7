"""Which check tells most about a cylinder for the minutes it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.information import rank_checks
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression.described import PSI, CylinderReadings
from tickover.tasks.compression.inference import CAUSES, LEAK_BINS, PRESSURE_BINS, Posterior

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check worth doing.

    Parameters
    ----------
    what : str
    place : str
        The cylinder it is about
    minutes : float
        Effort (judgement)
    bits : float
        What it is expected to tell [bit]
    how : str
    """

    what: str
    place: str
    minutes: float
    bits: float
    how: str


@dataclass(frozen=True, slots=True)
class _Choice:
    name: str
    minutes: float
    how: str


_WET = _Choice(
    "wet test", 15.0, "a little oil into every cylinder, the same amount, and compare the gains"
)
_SLOW = _Choice("second cranking speed", 8.0, "the same test at about two thirds of the speed")
_LEAK = _Choice(
    "leak-down, listening where the air goes",
    20.0,
    "piston at the top of compression; air turns the crank: lock it and stand clear",
)
_LISTEN = _Choice(
    "listen where the air goes", 10.0, "with the leak-down air on: carburettor, exhaust, breather"
)
_GAP = _Choice("valve clearance of this cylinder", 15.0, "cold, by feeler blade")
_CAM = _Choice("cam timing by degree wheel", 45.0, "piston stop first, then the events")
_OPEN = _Choice(
    "throttle held wide open, test again", 4.0, "vacuum slides lifted by hand and propped"
)
_BATTERY = _Choice("fresh battery, test again", 8.0, "or a second one beside it")
_GAUGE = _Choice("another gauge", 6.0, "on the best cylinder")


def choices(reading: CylinderReadings, found: Posterior, i: int) -> list[tuple[_Choice, Floats]]:
    """The checks not yet made on a cylinder, each with P(outcome | cause), columns as CAUSES.

    Parameters
    ----------
    reading : CylinderReadings
    found : Posterior
    i : int
        Row of the cylinder

    Returns
    -------
    list
    """
    listed: list[tuple[_Choice, Floats]] = []
    listen = _heard_table()
    if reading.wet is None and reading.dry is not None:
        listed.append((_WET, _predicted(found, "wet", i, 8.0 * PSI)))
    if reading.slow is None and reading.dry is not None:
        listed.append((_SLOW, _predicted(found, "slow", i, 3.5 * PSI)))
    if reading.leak_percent is None:
        listed.append((_LEAK, _product(_predicted(found, "leakdown", i, 0.35), listen)))
    elif reading.heard is None:
        listed.append((_LISTEN, listen))
    listed.append((_GAP, _two({h.HELD_INLET: 0.95, h.HELD_EXHAUST: 0.95}, 0.03)))
    listed.append((_CAM, _three_way()))
    listed.append((_OPEN, _two({h.SLIDE: 0.95}, 0.05)))
    listed.append((_BATTERY, _two({h.SLOW_CRANKING: 0.90}, 0.08)))
    listed.append((_GAUGE, _two({h.GAUGE: 0.90}, 0.08)))
    return listed


def next_check(reading: CylinderReadings, found: Posterior, i: int) -> tuple[NextCheck, ...]:
    """Checks for one cylinder, most information per minute first.

    Parameters
    ----------
    reading : CylinderReadings
    found : Posterior
    i : int
        Row of the cylinder

    Returns
    -------
    tuple of NextCheck
        Only those that tell at least a hundredth of a bit.
    """
    listed = choices(reading, found, i)
    ranked = rank_checks(
        found.local[i], [table for _, table in listed], [choice.minutes for choice, _ in listed]
    )
    return tuple(
        NextCheck(
            listed[value.check][0].name,
            reading.place,
            listed[value.check][0].minutes,
            value.bits,
            listed[value.check][0].how,
        )
        for value in ranked
        if value.bits >= 0.01
    )


def _predicted(found: Posterior, kind: str, i: int, noise: float) -> Floats:
    """P(bin | cause) of a reading, blurred by its noise; causes never drawn count as average."""
    joint = found.outcomes[kind][i]
    edges = LEAK_BINS if kind == "leakdown" else PRESSURE_BINS
    width = float(edges[1] - edges[0])
    at = np.arange(joint.shape[0])
    blur = np.exp(-0.5 * ((at[:, None] - at[None, :]) * width / noise) ** 2)
    blur /= blur.sum(axis=0)
    joint = blur @ joint
    average = joint.sum(axis=1)
    average = average / average.sum() if average.sum() > 0.0 else np.full(len(at), 1.0 / len(at))
    mass = joint.sum(axis=0)
    table = np.where(mass > 1e-9, joint / np.maximum(mass, 1e-300), average[:, None])
    return np.asarray(table / table.sum(axis=0), dtype=np.float64)


def _heard_table() -> Floats:
    whole = {h.LATE_CAM, h.EARLY_CAM, h.SLOW_CRANKING, h.GAUGE}
    return np.array(
        [
            [h.heard_likelihood(h.SOUND if c in whole else c, where) for c in CAUSES]
            for where in h.HEARD
        ]
    )


def _product(first: Floats, second: Floats) -> Floats:
    """Both outcomes together, independent given the cause."""
    rows = first[:, None, :] * second[None, :, :]
    return np.asarray(rows.reshape(-1, first.shape[1]), dtype=np.float64)


def _two(likely: dict[str, float], otherwise: float) -> Floats:
    yes = np.array([likely.get(cause, otherwise) for cause in CAUSES])
    return np.stack([yes, 1.0 - yes])


def _three_way() -> Floats:
    late = np.array([{h.LATE_CAM: 0.97, h.EARLY_CAM: 0.0}.get(c, 0.01) for c in CAUSES])
    early = np.array([{h.EARLY_CAM: 0.97, h.LATE_CAM: 0.0}.get(c, 0.005) for c in CAUSES])
    return np.stack([late, early, 1.0 - late - early])


#: What separates members of a group, by the check's name.
_SEPARATES: tuple[tuple[frozenset[str], str], ...] = (
    (frozenset({h.INLET, h.EXHAUST}), "listening where the air goes"),
    (
        frozenset({h.INLET, h.HELD_INLET}),
        "the clearance of the inlet valve",
    ),
    (frozenset({h.EXHAUST, h.HELD_EXHAUST}), "the clearance of the exhaust valve"),
    (frozenset({h.RING, h.EXHAUST}), "a wet test of all cylinders, or listening"),
    (frozenset({h.RING, h.INLET}), "a wet test of all cylinders, or listening"),
    (frozenset({h.RING, h.GASKET}), "listening at the neighbour's plug hole"),
    (frozenset({h.LATE_CAM, h.LOW_RATIO}), "cam timing by degree wheel"),
    (frozenset({h.LATE_CAM, h.GAUGE}), "another gauge"),
    (frozenset({h.LATE_CAM, h.SLOW_CRANKING}), "cranking speed measured, or a fresh battery"),
    (frozenset({h.SLOW_CRANKING, h.GAUGE}), "another gauge, cranking speed measured"),
    (frozenset({h.RING, h.LATE_CAM}), "leak-down, or a second cranking speed"),
    (frozenset({h.RING, h.GAUGE}), "another gauge, or leak-down"),
    (frozenset({h.SLIDE, h.LATE_CAM}), "the throttle held open, or a second cranking speed"),
)


@dataclass(frozen=True, slots=True)
class Alike:
    """Causes these readings cannot tell apart: only their odds beforehand differ.

    Parameters
    ----------
    place : str
    causes : tuple of str
        Most probable first
    probability : float
        Of all together [1]
    would_tell : tuple of str
        What would separate them
    """

    place: str
    causes: tuple[str, ...]
    probability: float
    would_tell: tuple[str, ...]


def alike(place: str, local: Floats, evidence: Floats) -> tuple[Alike, ...]:
    """Groups of causes of one cylinder whose readings weigh the same within a factor of three.

    Parameters
    ----------
    place : str
    local, evidence : arrays, shape (CAUSES,)
        From a Posterior

    Returns
    -------
    tuple of Alike
    """
    left = [c for c in np.argsort(-evidence) if local[c] >= 0.02]
    groups: list[Alike] = []
    while left:
        leader = left[0]
        group = [c for c in left if evidence[leader] - evidence[c] < math.log(3.0)]
        left = [c for c in left if c not in group]
        faults = [c for c in group if CAUSES[c] != h.SOUND]
        together = float(local[group].sum())
        if len(group) > 1 and float(local[faults].sum()) >= 0.15:
            group.sort(key=lambda c: -local[c])
            names = tuple(CAUSES[c] for c in group)
            groups.append(Alike(place, names, together, _would_tell(names)))
    return tuple(groups)


def _would_tell(names: tuple[str, ...]) -> tuple[str, ...]:
    within = frozenset(names)
    return tuple(dict.fromkeys(words for pair, words in _SEPARATES if pair <= within))
