"""Before the start: which jets to have in the drawer so that every state is covered.

From a set-up known to be right, the model says which bore each state wants, from its low to its
high end. A jet serves a wanted bore if the mixture it gives stays within what is harmless. Which
jets to buy is then a covering of intervals, solved exactly: the cheapest set, and among those of
one price the one with fewest sizes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tickover.physics.carburettor import model, rejetting
from tickover.physics.carburettor.parts import Breathing, Carburettor, Setting
from tickover.tasks.mixture.drawer import Drawer, Jet
from tickover.tasks.mixture.target import Target
from tickover.tasks.mixture.trim import Trim, air_of

# A jet serves when lambda stays within these of the target: lean side, rich side (ln).
_LEAN_SLACK, _RICH_SLACK = 0.02, 0.05
# What is not known of a change, as standard deviation of ln lambda: any change, each kilometre of
# height, and a change of exhaust (filling +5 % moves lambda by less than 1 %, pulsation by more).
_ANY, _PER_KM, _EXHAUST, _INTAKE_LENGTH = 0.010, 0.010, 0.03, 0.05
_SIDES = 1.2816  # 80 % of a normal unknown lies within this many standard deviations


@dataclass(frozen=True, slots=True)
class Want:
    """The bore one state wants, with its interval, and why it is not known better."""

    trim: Trim
    bore: float
    low: float
    high: float
    uncertain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cover:
    """Jets that cover a number of states.

    Parameters
    ----------
    wants : tuple of Want
    use : tuple of Jet
        All sizes of the cheapest cover, small to large.
    buy : tuple of (Jet, int)
        What has to be bought, and how many of each.
    cost : float
        In the user's money.
    uncovered : tuple of Want
        States for which no size of the series will do.
    """

    wants: tuple[Want, ...]
    use: tuple[Jet, ...]
    buy: tuple[tuple[Jet, int], ...]
    cost: float
    uncovered: tuple[Want, ...]


def wanted_mains(
    carburettor: Carburettor,
    engine: Breathing,
    good: Setting,
    good_trim: Trim,
    trims: Sequence[Trim],
    target: Target,
    top_speed_rpm: float,
) -> tuple[Want, ...]:
    """Main jet each state wants, from a set-up that was right in another.

    Parameters
    ----------
    carburettor : Carburettor
    engine : Breathing
    good : Setting
        The set-up that was right.
    good_trim : Trim
        The state it was right in.
    trims : sequence of Trim
        States to be ready for.
    target : Target
    top_speed_rpm : float
        [rpm]

    Returns
    -------
    tuple of Want
    """
    openings = np.array([0.0, 0.0625, 0.125, 0.25, 0.5, 0.75, 1.0, 1.0])
    speeds = np.array([0.14, 0.3, 0.42, 0.58, 0.75, 0.9, 0.8, 1.0]) * top_speed_rpm
    old_air = air_of(good_trim, carburettor, engine, top_speed_rpm)
    at = model.points(carburettor, engine, old_air, openings, speeds)
    factors = model.anchor(at, good, np.log(target.at(openings)))
    reference = model.ln_lambda(at, good, factors)[-2:].mean()
    wants = []
    for trim in trims:
        air = air_of(trim, carburettor, engine, top_speed_rpm)
        there = model.points(carburettor, engine, air, openings[-2:], speeds[-2:])
        steady = _bore_for(there, good, factors, float(reference))
        factor = steady / good.main_jet
        box_changed = trim.box_depression != good_trim.box_depression
        sides = [factor, factor, factor]
        uncertain = []
        spread = _ANY**2
        if box_changed:
            without = _without_box_change(carburettor, engine, good, good_trim, trim, factors,
                                          openings[-2:], speeds[-2:], float(reference),
                                          top_speed_rpm)  # fmt: skip
            box_area = (factor / without) ** 2 - 1.0
            if carburettor.bowl_vent == "air":
                shares = (rejetting.PULSATION_LOW, rejetting.PULSATION, rejetting.PULSATION_HIGH)
                sides = [without * math.sqrt(max(1.0 + k * box_area, 0.05)) for k in shares]
                sides = [min(sides[0], sides[2]), sides[1], max(sides[0], sides[2])]
                uncertain.append("the box: pulsating flow needs 1.3 to 1.8 times the steady change")
            spread += _INTAKE_LENGTH**2
            uncertain.append("the length of the intake: up to 10 percent either way")
        if trim.altitude != good_trim.altitude:
            spread += (_PER_KM * abs(trim.altitude - good_trim.altitude) / 1000.0) ** 2
        if trim.baffles != good_trim.baffles:
            spread += _EXHAUST**2
            uncertain.append("the exhaust: filling hardly counts, pulsation may")
        # A main jet's bore moves lambda by about minus two for one.
        wide = _SIDES * math.sqrt(spread) / 2.0
        wants.append(
            Want(
                trim=trim,
                bore=good.main_jet * sides[1],
                low=good.main_jet * sides[0] * math.exp(-wide),
                high=good.main_jet * sides[2] * math.exp(wide),
                uncertain=tuple(uncertain),
            )
        )
    return tuple(wants)


def cheapest_cover(drawer: Drawer, series: Sequence[Jet], wants: Sequence[Want]) -> Cover:
    """The cheapest set of sizes that serves low, middle and high end of every state.

    Parameters
    ----------
    drawer : Drawer
        For how many carburettors.
    series : sequence of Jet
        Small to large.
    wants : sequence of Want

    Returns
    -------
    Cover

    Notes
    -----
    Going up the series, the next size chosen may leave no wanted bore unserved in between; the
    cheapest chain of sizes is found by dynamic programming, so the answer is exact.
    """
    spans: list[tuple[int, int]] = []
    uncovered: list[Want] = []
    for want in wants:
        ends = []
        for bore in (want.low, want.bore, want.high):
            # Larger than wanted is richer: ln lambda falls by about twice ln bore.
            first = bore * math.exp(-_LEAN_SLACK / 2.0)
            last = bore * math.exp(_RICH_SLACK / 2.0)
            served = [i for i, jet in enumerate(series) if first <= jet.bore <= last]
            ends.append((served[0], served[-1]) if served else None)
        if ends[1] is None:
            uncovered.append(want)
        spans.extend(end for end in ends if end is not None)
    costs = [jet.price * max(drawer.carburettors - jet.owned, 0) for jet in series]
    chosen = _stab(spans, costs)
    use = tuple(series[i] for i in chosen)
    buy = tuple(
        (jet, drawer.carburettors - jet.owned) for jet in use if jet.owned < drawer.carburettors
    )
    return Cover(
        wants=tuple(wants),
        use=use,
        buy=buy,
        cost=sum(jet.price * count for jet, count in buy),
        uncovered=tuple(uncovered),
    )


def _stab(spans: Sequence[tuple[int, int]], costs: Sequence[float]) -> list[int]:
    """Cheapest places that touch every span; ties by fewest places, then by the smallest."""
    if not spans:
        return []
    n = len(costs)
    # best[j]: cheapest way to have j chosen last, everything wholly below j touched.
    best: list[tuple[float, int, tuple[int, ...]]] = []
    for j in range(n + 1):
        ways = []
        for i in range(-1, j):
            if any(i < low and high < j for low, high in spans):
                continue
            before = (0.0, 0, ()) if i < 0 else best[i]
            if j < n:
                ways.append((before[0] + costs[j], before[1] + 1, (*before[2], j)))
            else:
                ways.append(before)
        best.append(min(ways) if ways else (math.inf, n, ()))
    return list(best[n][2])


def _bore_for(
    at: model.Points, good: Setting, factors: np.ndarray[tuple[int], np.dtype[np.float64]],
    wanted: float,
) -> float:  # fmt: skip
    low, high = 0.3 * good.main_jet, 3.0 * good.main_jet
    for _ in range(60):
        middle = 0.5 * (low + high)
        lam = model.ln_lambda(at, good.with_(main_jet=middle), factors).mean()
        if lam > wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _without_box_change(
    carburettor: Carburettor, engine: Breathing, good: Setting, good_trim: Trim, trim: Trim,
    factors: np.ndarray[tuple[int], np.dtype[np.float64]],
    openings: np.ndarray[tuple[int], np.dtype[np.float64]],
    speeds: np.ndarray[tuple[int], np.dtype[np.float64]], wanted: float, top_speed_rpm: float,
) -> float:  # fmt: skip
    """Factor on the bore for everything in the trim but the box."""
    same_box = Trim(trim.name, trim.altitude, trim.temperature, trim.humidity,
                    good_trim.box_depression, trim.baffles, trim.ethanol)  # fmt: skip
    air = air_of(same_box, carburettor, engine, top_speed_rpm)
    at = model.points(carburettor, engine, air, openings, speeds)
    return _bore_for(at, good, factors, wanted) / good.main_jet
