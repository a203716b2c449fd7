"""The best next setting from what is in the drawer, every combination looked at.

Two passes. The first scores all settings at the most probable carburettor: pilot fuel and main
fuel come from two small tables, so a setting costs one addition and one division per point of the
map. The second takes the best few hundred and scores them with the whole uncertainty: the expected
loss of a normal unknown has a closed form, no sampling needed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tickover.physics.carburettor import model
from tickover.physics.carburettor.model import Points
from tickover.physics.carburettor.parts import Setting
from tickover.tasks.mixture.drawer import (
    BOWL_OFF_MINUTES,
    SCREW_MINUTES,
    SLIDE_OUT_MINUTES,
    Drawer,
)
from tickover.tasks.mixture.posterior import Posterior, Transfer, transfer
from tickover.tasks.mixture.scoring import Choice, Taste, bias, chance_of_lean, lean_weights, score
from tickover.tasks.mixture.target import Target

Floats = NDArray[np.float64]

_RICHER_BY, _RICHEST_AIM = 0.015, 0.055
"""Steps and end of the richer aim, as a share of the mixture wanted: with a farther end the advice
stood still where readings were few or in words."""
_NOT_TO_BE_HAD = 1e3
"""Loss of a setting that wants what is not in the drawer and may not be bought."""


@dataclass(frozen=True, slots=True)
class Searched:
    """The outcome of a search."""

    best: Choice
    now: Choice
    set_aside: Choice | None
    """What promised the least loss, where it makes a lean point too likely to be tried first."""
    lean_now: float
    lean_best: float
    lean_aside: float
    """Probability of any point above half throttle over 5 % lean: as it is, with the best, with
    what was set aside [-]"""
    looked_at: int
    at_end: tuple[str, ...]
    """Adjusters whose best place is the end of what there is, and would go further."""


def search(
    posterior: Posterior,
    at: Points,
    drawer: Drawer,
    fitted: Setting,
    target: Target,
    taste: Taste | None = None,
) -> Searched:
    """Find the setting with the least expected loss that is not too likely lean.

    Parameters
    ----------
    posterior : Posterior
    at : Points
        Points of the map that mean something, in the air that counts.
    drawer : Drawer
    fitted : Setting
        What is in now.
    target : Target
    taste : Taste, optional

    Returns
    -------
    Searched

    Notes
    -----
    Where the least loss leaves a lean point above half throttle more likely than the taste's cap,
    the aim is moved richer in small steps until it does not, or is 5.5 percent rich: rich first,
    then step down (common practice, no source). Where no step gets there the least lean of them is
    taken.
    """
    weights = taste or Taste()
    carried = transfer(posterior, at, None)

    def ranked(with_: Taste) -> tuple[list[Choice], int]:
        """What is in, then the shortlist from the best down; and how many were looked at."""
        listed = _candidates(posterior, at, drawer, fitted, target, with_, carried)
        scored = score(posterior, at, drawer, fitted, [fitted, *listed.settings], target, with_,
                       carried)  # fmt: skip
        return [scored[0], *sorted(scored, key=lambda choice: choice.loss)], listed.looked_at

    def lean(choice: Choice) -> float:
        return chance_of_lean(posterior, at, choice.setting, target)

    (now, first, *_), looked_at = ranked(weights)
    lean_now, lean_first = lean(now), lean(first)
    best, lean_best = first, lean_first
    aim = weights.rich_bias
    while lean_best > weights.lean_cap and aim < _RICHEST_AIM:
        aim += _RICHER_BY
        (_, choice, *_), _ = ranked(replace(weights, rich_bias=aim))
        if (chance := lean(choice)) < lean_best:
            best, lean_best = choice, chance
    return Searched(
        best=best,
        now=now,
        set_aside=None if best is first else first,
        lean_now=lean_now,
        lean_best=lean_best,
        lean_aside=lean_first,
        looked_at=looked_at,
        at_end=_at_end(posterior, at, drawer, fitted, best, target, weights, carried),
    )


def screen_all(
    posterior: Posterior,
    at: Points,
    drawer: Drawer,
    fitted: Setting,
    target: Target,
    taste: Taste,
    carried: Transfer,
) -> Floats:
    """First-pass loss of every setting, shape (pilot and screw, cutaway/needle/clip/main)."""
    from tickover.physics.carburettor import kernels
    from tickover.tasks.mixture import screening

    pilots, mains = _axes(drawer)
    factors = posterior.factors
    pilot_table = np.empty((len(pilots), at.openings.size))
    for row, (jet, turns) in enumerate(pilots):
        pilot_table[row] = _pilot_row(at, jet, turns, factors)
    main_table = np.empty((len(mains), at.openings.size))
    row = 0
    for slide, hung in product(drawer.slides, drawer.needles):
        for clip in range(1, hung.needle.clips + 1):
            setting = fitted.with_(cutaway=slide.cutaway, needle=hung.needle, clip=clip)
            ring = model.annulus(at, setting)
            count = len(drawer.mains)
            kernels.main_rows(
                main_table[row : row + count], at.states, slide.cutaway,
                np.array([jet.bore for jet in drawer.mains]), ring, factors, at.fixed, at.air,
            )  # fmt: skip
            row += count
    wanted = np.log(target.at(at.openings)) - bias(at, taste)
    # lambda = air / (ratio fuel) e^d; r = fuel over the fuel wanted.
    scale = at.air[4] / at.states[:, 1] * np.exp(wanted - carried.mean)
    pilot_cost, pilot_bowl = _pilot_costs(drawer, fitted, pilots, taste)
    main_cost, main_bowl = _main_costs(drawer, fitted, mains, taste)
    bowl = BOWL_OFF_MINUTES * drawer.carburettors * taste.minute
    return screening.screen(
        pilot_table * scale,
        main_table * scale,
        lean_weights(at, taste),
        pilot_cost,
        main_cost,
        pilot_bowl,
        main_bowl,
        bowl,
    )


@dataclass(frozen=True, slots=True)
class _Listed:
    settings: list[Setting]
    looked_at: int


def _axes(
    drawer: Drawer,
) -> tuple[list[tuple[float, float]], list[tuple[float, object, int, float]]]:
    pilots = [(jet.bore, turns) for jet in drawer.pilots for turns in drawer.screw_turns]
    mains = [
        (slide.cutaway, hung, clip, jet.bore)
        for slide, hung in product(drawer.slides, drawer.needles)
        for clip in range(1, hung.needle.clips + 1)
        for jet in drawer.mains
    ]
    return pilots, mains  # type: ignore[return-value]


def _candidates(
    posterior: Posterior, at: Points, drawer: Drawer, fitted: Setting, target: Target,
    taste: Taste, carried: Transfer,
) -> _Listed:  # fmt: skip
    losses = screen_all(posterior, at, drawer, fitted, target, taste, carried)
    pilots, mains = _axes(drawer)
    keep = min(taste.shortlist, losses.size)
    flat = np.argpartition(losses.ravel(), keep - 1)[:keep]
    settings = []
    for index in np.sort(flat[losses.ravel()[flat] < _NOT_TO_BE_HAD]):
        (jet, turns), (cutaway, hung, clip, main) = (
            pilots[index // len(mains)],
            mains[index % len(mains)],
        )
        settings.append(Setting(jet, turns, cutaway, hung.needle, clip, main))
    return _Listed(settings, losses.size)


def _pilot_row(at: Points, jet: float, turns: float, factors: Floats) -> Floats:
    from tickover.physics.carburettor import kernels

    out = np.empty(at.openings.size)
    kernels.pilot_points(out, at.states, jet, turns, factors[0], at.fixed, at.air)
    return out


def _pilot_costs(
    drawer: Drawer, fitted: Setting, pilots: list[tuple[float, float]], taste: Taste
) -> tuple[Floats, Floats]:
    cost, bowl = np.zeros(len(pilots)), np.zeros(len(pilots))
    price = {jet.bore: _price(jet.price, jet.owned, drawer, taste) for jet in drawer.pilots}
    for i, (jet, turns) in enumerate(pilots):
        cost[i] = price[jet]
        if turns != fitted.screw_turns:
            cost[i] += taste.minute * SCREW_MINUTES * drawer.carburettors
        bowl[i] = float(jet != fitted.pilot_jet)
    return cost, bowl


def _main_costs(
    drawer: Drawer, fitted: Setting, mains: list[tuple[float, object, int, float]], taste: Taste
) -> tuple[Floats, Floats]:
    cost, bowl = np.zeros(len(mains)), np.zeros(len(mains))
    price = {jet.bore: _price(jet.price, jet.owned, drawer, taste) for jet in drawer.mains}
    slides = {s.cutaway: _price(s.price, s.owned, drawer, taste) for s in drawer.slides}
    for j, (cutaway, hung, clip, jet) in enumerate(mains):
        needle_cost = _price(hung.price, hung.owned, drawer, taste)  # type: ignore[attr-defined]
        cost[j] = price[jet] + slides[cutaway] + needle_cost
        same = (cutaway, hung.needle, clip) == (  # type: ignore[attr-defined]
            fitted.cutaway, fitted.needle, fitted.clip,
        )  # fmt: skip
        if not same:
            cost[j] += taste.minute * SLIDE_OUT_MINUTES * drawer.carburettors
        bowl[j] = float(jet != fitted.main_jet)
    return cost, bowl


def _price(price: float, owned: int, drawer: Drawer, taste: Taste) -> float:
    """Loss for what has to be bought of one size."""
    missing = max(drawer.carburettors - owned, 0)
    if missing and not drawer.may_buy:
        return 10.0 * _NOT_TO_BE_HAD
    return taste.money * price * missing


def _at_end(
    posterior: Posterior, at: Points, drawer: Drawer, fitted: Setting, best: Choice,
    target: Target, taste: Taste, carried: Transfer,
) -> tuple[str, ...]:  # fmt: skip
    """Adjusters at the end of their range for which one more step would still help.

    What lies beyond the end is made up (one more size, half a turn, one more groove) and scored
    like the rest, without its price.
    """
    setting = best.setting
    free = replace(taste, money=0.0, minute=0.0)
    trials: list[tuple[str, Setting]] = []
    for name, series, bore in (
        ("pilot jet", drawer.pilots, setting.pilot_jet),
        ("main jet", drawer.mains, setting.main_jet),
    ):
        field = "pilot_jet" if name == "pilot jet" else "main_jet"
        if bore == series[0].bore:
            trials.append((f"{name}, smaller", setting.with_(**{field: bore * 0.95})))
        if bore == series[-1].bore:
            trials.append((f"{name}, larger", setting.with_(**{field: bore * 1.05})))
    if setting.screw_turns == min(drawer.screw_turns):
        trials.append(
            ("screw, further in", setting.with_(screw_turns=max(setting.screw_turns - 0.4, 0.05)))
        )
    if setting.screw_turns == max(drawer.screw_turns):
        trials.append(("screw, further out", setting.with_(screw_turns=setting.screw_turns + 0.5)))
    needle = setting.needle
    step = needle.clip_step
    if setting.clip == 1:
        shifted = replace(needle, jet_below_clip=needle.jet_below_clip - step)
        trials.append(("needle, lower than its top groove", setting.with_(needle=shifted)))
    if setting.clip == needle.clips:
        shifted = replace(needle, jet_below_clip=needle.jet_below_clip + step)
        trials.append(("needle, higher than its last groove", setting.with_(needle=shifted)))
    if not trials:
        return ()
    base = score(posterior, at, drawer, setting, [setting], target, free, carried)[0].loss
    found = []
    for name, trial in trials:
        renamed = trial
        if trial.needle != needle:
            renamed = trial.with_(needle=replace(trial.needle, name=f"{needle.name} beyond"))
        loss = score(posterior, at, drawer, setting, [renamed], target, free, carried)[0].loss
        if loss < base * 0.97:
            found.append(name)
    return tuple(found)
