"""What can be wrong, how likely it is before any reading, and how large it then is.

Two layers. One thing may be wrong with the whole test or engine (shut throttle, late cam, gauge
...), or nothing; and each cylinder may have something of its own. The odds are a workshop's
judgement (no source); what the book knows moves them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.tasks.compression.described import Conditions, OtherEvidence

Floats = NDArray[np.float64]

SOUND = "sound"
RING = "ring"
INLET = "inlet valve"
EXHAUST = "exhaust valve"
HELD_INLET = "inlet valve held open by too little clearance"
HELD_EXHAUST = "exhaust valve held open by too little clearance"
GASKET = "gasket to the neighbour"
LOW_RATIO = "low ratio"
HIGH_RATIO = "high ratio"
SLIDE = "shut throttle"
OTHER = "something else"
LATE_CAM = "late cam"
EARLY_CAM = "early cam"
SLOW_CRANKING = "slow cranking"
GAUGE = "gauge"

#: Of one cylinder, in the order of the inference's columns (gasket apart, since it takes two).
LOCAL = (
    SOUND, RING, INLET, EXHAUST, HELD_INLET, HELD_EXHAUST, LOW_RATIO, HIGH_RATIO, SLIDE, OTHER,
)  # fmt: skip
LEAKS_PAST_SEAT = (INLET, EXHAUST, HELD_INLET, HELD_EXHAUST)

LOCAL_PRIOR = {
    RING: 0.035,
    INLET: 0.020,
    EXHAUST: 0.030,
    HELD_INLET: 0.010,
    HELD_EXHAUST: 0.012,
    LOW_RATIO: 0.004,
    HIGH_RATIO: 0.010,
    SLIDE: 0.010,
    OTHER: 0.004,
}
GASKET_PRIOR = 0.008  # of each pair of neighbours


@dataclass(frozen=True, slots=True)
class WholeEngine:
    """Something that moves all cylinders alike.

    Parameters
    ----------
    name : str
        What the cylinders' list of causes says
    prior : float
        Probability before any reading [1]
    low, high : float
        Range its size is evenly spread over, in the unit its meaning has in the inference
    """

    name: str
    prior: float
    low: float
    high: float


def whole_engine(day: Conditions) -> tuple[WholeEngine, ...]:
    """What may be wrong with all cylinders alike, given what was said of the test.

    Parameters
    ----------
    day : Conditions

    Returns
    -------
    tuple of WholeEngine
        The first is nothing; priors sum to 1.
    """
    shut = {"open": 0.004, "shut": 0.90, None: 0.05}[day.throttle]
    slow = {"charged": 0.01, "weak": 0.30, None: 0.04}[day.battery]
    if day.speed_rpm is not None:
        slow = min(slow, 0.003)
    cam_known = day.cam_late_deg is not None
    odd_ratio = 0.012 if day.ratio is None else 0.002
    faults: tuple[WholeEngine, ...] = (
        WholeEngine(RING, 0.10 if day.unseated_rings else 0.05, 0.6, 2.5),  # ln of ring leak
        WholeEngine(LATE_CAM, 0.003 if cam_known else 0.03, 8.0, 38.0),  # crank degrees
        WholeEngine(EARLY_CAM, 0.001 if cam_known else 0.008, -25.0, -8.0),
        WholeEngine(SLIDE, shut, np.log(0.2), np.log(12.0)),  # ln of scaled area in mm2
        WholeEngine(SLOW_CRANKING, slow, -0.9, -0.35),  # ln of speed
        WholeEngine(LOW_RATIO, odd_ratio, -2.0, -0.6),
        WholeEngine(HIGH_RATIO, odd_ratio, 0.6, 2.2),
        WholeEngine(GAUGE, 0.03, -0.5, 0.3),  # of the reading
        WholeEngine(OTHER, 0.006, 0.0, 260.0),  # any level [psi]
    )
    rest = 1.0 - sum(f.prior for f in faults)
    if rest < 0.05:
        scale = 0.95 / sum(f.prior for f in faults)
        faults = tuple(WholeEngine(f.name, f.prior * scale, f.low, f.high) for f in faults)
        rest = 0.05
    return (WholeEngine(SOUND, rest, 0.0, 1.0), *faults)


def local_prior(place: str, other: OtherEvidence, day: Conditions) -> Floats:
    """Prior of one cylinder's own faults, in the order of LOCAL.

    A clearance known to be too tight makes a held-open valve as likely as that: a valve with
    no clearance left usually, not always, hangs open.

    Parameters
    ----------
    place : str
    other : OtherEvidence
    day : Conditions
        A throttle said to be held open leaves few slides shut

    Returns
    -------
    array, shape (10,)
        Sums to 1.
    """
    prior = dict(LOCAL_PRIOR)
    if day.throttle == "open":
        prior[SLIDE] *= 0.15
    for cause, tight in ((HELD_INLET, other.tight_inlet), (HELD_EXHAUST, other.tight_exhaust)):
        if place in tight:
            # Clearance known: tight holds the valve open half the time, otherwise hardly ever.
            prior[cause] = 0.5 * tight[place] + 0.001 * (1.0 - tight[place])
    for (where, cause), factor in other.odds.items():
        if where == place and cause in prior:
            prior[cause] *= factor
    faults = np.array([prior[name] for name in LOCAL[1:]])
    total = float(faults.sum())
    if total > 0.9:
        faults *= 0.9 / total
    return np.concatenate(([1.0 - faults.sum()], faults))


#: Sizes a fault may have, leaks in mm2 of a 138 cc cylinder, evenly on a logarithm.
RING_SIZES = np.geomspace(0.25, 14.0, 14)
SEAT_SIZES = np.geomspace(0.12, 16.0, 16)
RATIO_STEPS = np.array([0.5, 0.9, 1.4, 2.0])
SLIDE_AREAS = np.geomspace(0.2, 9.0, 7)


def size_weights(cause: str, sizes: Floats) -> Floats:
    """How a leak's size is spread for a cause; sums to 1.

    Parameters
    ----------
    cause : str
    sizes : array, shape (k,)
        [mm2]

    Returns
    -------
    array, shape (k,)
    """
    low, high = {
        RING: (0.2, 16.0),
        INLET: (0.1, 20.0),
        EXHAUST: (0.1, 20.0),
        HELD_INLET: (0.1, 4.0),
        HELD_EXHAUST: (0.1, 4.0),
        GASKET: (0.2, 16.0),
    }[cause]
    inside = ((sizes >= low) & (sizes <= high)).astype(float)
    weights: Floats = inside / inside.sum()
    return weights


#: Where the air is heard, given what leaks (common practice, no source); rows sum to 1.
HEARD = ("crankcase", "inlet", "exhaust", "neighbour", "nowhere")
_HEARD_TABLE = {
    SOUND: (0.55, 0.03, 0.03, 0.01, 0.38),
    RING: (0.90, 0.03, 0.03, 0.01, 0.03),
    INLET: (0.10, 0.84, 0.02, 0.01, 0.03),
    EXHAUST: (0.10, 0.02, 0.84, 0.01, 0.03),
    HELD_INLET: (0.10, 0.84, 0.02, 0.01, 0.03),
    HELD_EXHAUST: (0.10, 0.02, 0.84, 0.01, 0.03),
    GASKET: (0.08, 0.04, 0.04, 0.78, 0.06),
    LOW_RATIO: (0.55, 0.03, 0.03, 0.01, 0.38),
    HIGH_RATIO: (0.55, 0.03, 0.03, 0.01, 0.38),
    SLIDE: (0.55, 0.03, 0.03, 0.01, 0.38),
    OTHER: (0.30, 0.15, 0.15, 0.10, 0.30),
}


def heard_likelihood(cause: str, heard: str | None) -> float:
    """Probability of hearing the air there if this is the cause; 1 if nobody listened.

    Parameters
    ----------
    cause : str
    heard : str, optional
        One of HEARD

    Returns
    -------
    float
    """
    if heard is None:
        return 1.0
    return _HEARD_TABLE[cause][HEARD.index(heard)]
