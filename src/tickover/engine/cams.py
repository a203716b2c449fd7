"""When each valve opens and closes over the cycle, and when its cam is on the base circle.

Cycle angles are crank degrees, 0 at cylinder 1 on firing top dead centre. From the firing top
dead centre F of its cylinder the exhaust opens before F + 180, the inlet opens before F + 360,
the exhaust closes after F + 360, and the inlet closes after F + 540.
"""

from __future__ import annotations

from tickover.engine.crank import CYCLE, turned
from tickover.engine.model import EngineFile
from tickover.engine.tables.cams import ExhaustLobe, InletLobe
from tickover.errors import InputError


def inlet_centre_deg(opens_deg: float, closes_deg: float) -> float:
    """Centre of the inlet lobe after overlap top dead centre.

    Parameters
    ----------
    opens_deg, closes_deg : float
        Before TDC and after BDC [crank degrees]

    Returns
    -------
    float
        [crank degrees after TDC]

    Notes
    -----
    Halfway between opening at -opens and closing at 180 + closes. Source: geometry.

    Examples
    --------
    >>> inlet_centre_deg(20, 50)
    105.0
    """
    return 90.0 + (closes_deg - opens_deg) / 2.0


def exhaust_centre_deg(opens_deg: float, closes_deg: float) -> float:
    """Centre of the exhaust lobe before overlap top dead centre.

    Parameters
    ----------
    opens_deg, closes_deg : float
        Before BDC and after TDC [crank degrees]

    Returns
    -------
    float
        [crank degrees before TDC]

    Notes
    -----
    Halfway between opening at 180 + opens before TDC and closing. Source: geometry.

    Examples
    --------
    >>> exhaust_centre_deg(55, 20)
    107.5
    """
    return 90.0 + (opens_deg - closes_deg) / 2.0


def duration_deg(opens_deg: float, closes_deg: float) -> float:
    """How long a valve is open.

    Parameters
    ----------
    opens_deg, closes_deg : float
        Before and after the two dead centres [crank degrees]

    Returns
    -------
    float
        [crank degrees]

    Examples
    --------
    >>> duration_deg(22, 54)
    256.0
    """
    return 180.0 + opens_deg + closes_deg


def overlap_deg(inlet_opens_deg: float, exhaust_closes_deg: float) -> float:
    """How long both valves are open round overlap top dead centre; negative if never both.

    Parameters
    ----------
    inlet_opens_deg, exhaust_closes_deg : float
        Before TDC and after TDC [crank degrees]

    Returns
    -------
    float
        [crank degrees]

    Examples
    --------
    >>> overlap_deg(22.0, 20.0)
    42.0
    """
    return inlet_opens_deg + exhaust_closes_deg


def _span(lobe: InletLobe | ExhaustLobe, firing_deg: float) -> tuple[float, float]:
    bottom_or_top = 360.0 if isinstance(lobe, InletLobe) else 180.0
    opens = turned(firing_deg + bottom_or_top - lobe.opens_deg, CYCLE)
    return opens, opens + lobe.duration_deg


def valve_events(engine: EngineFile) -> dict[str, tuple[float, float]]:
    """Opening and closing of every valve over the cycle, as told in the file.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    dict
        Place name to (opens, closes) [crank degrees]; opens lies in 0..720, closes follows it and
        may exceed 720. Only places whose lobe and firing angle are known.
    """
    crank = engine.engine.crank
    if crank is None or engine.cams is None:
        return {}
    lobes = {"in": engine.cams.inlet, "ex": engine.cams.exhaust}
    spans = {}
    for place in engine.places():
        lobe = lobes[place.kind]
        if lobe is not None:
            spans[place.name] = _span(lobe, crank.firing_deg[place.cylinder - 1])
    return spans


def base_circle_arcs(engine: EngineFile) -> dict[str, tuple[float, float]]:
    """The arc of crank angle over which each valve's cam is on its base circle.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    dict
        Place name to (start, end) [crank degrees]; start lies in 0..720, end follows it and may
        exceed 720. Only places whose lobe and firing angle are known.

    Notes
    -----
    From closing to the next opening, shortened at both ends by the ramp and, where the timing is
    told at a checking lift, by the allowance from there to the seat (`Cams.allowance_deg`).
    """
    if engine.cams is None:
        return {}
    margin = engine.cams.ramp_deg + engine.cams.allowance_deg
    arcs = {}
    for name, (opens, closes) in valve_events(engine).items():
        length = CYCLE - (closes - opens) - 2 * margin
        if length <= 0:
            raise InputError(
                "This cam is never on its base circle", given=f"{closes - opens:g} deg open and "
                f"{margin:g} deg of ramp on either side", allowed="under 720 deg in all",
                where=name,
            )  # fmt: skip
        start = turned(closes + margin, CYCLE)
        arcs[name] = (start, start + length)
    return arcs


def lobe_away_deg(engine: EngineFile) -> dict[str, float]:
    """The crank angle at which each valve's lobe points straight away from its follower.

    Parameters
    ----------
    engine : EngineFile

    Returns
    -------
    dict
        Place name to the middle of its base circle arc [crank degrees, 0..720].
    """
    return {
        name: turned((start + end) / 2.0, CYCLE)
        for name, (start, end) in base_circle_arcs(engine).items()
    }
