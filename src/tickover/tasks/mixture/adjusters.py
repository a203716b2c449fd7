"""What each adjuster does to the mixture over the throttle, on this carburettor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.carburettor import model
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Setting
from tickover.tasks.mixture.readings import road_speed_rpm

Floats = NDArray[np.float64]

MARKS = (0.0, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 3 / 4, 1.0)
"""Openings at which influence is told."""

MARK_NAMES = ("idle", "1/16", "1/8", "1/4", "1/2", "3/4", "full")

RULE_OF_THUMB = (
    ("pilot jet and screw", 0.0, 0.25),
    ("cutaway", 0.125, 0.25),
    ("needle", 0.25, 0.75),
    ("main jet", 0.75, 1.0),
)
"""The trade's rule, as (adjuster, from opening, to opening): common practice, no source."""


@dataclass(frozen=True, slots=True)
class Influence:
    """What one step of an adjuster does.

    Parameters
    ----------
    adjuster : str
    step : str
        The step, in the mechanic's words.
    openings : tuple of float
        Opening at the grip [-]
    lift_shares : tuple of float
        Lift of slide or piston over the bore there [-]
    percent : tuple of float
        Change of lambda; negative is richer [%]
    """

    adjuster: str
    step: str
    openings: tuple[float, ...]
    lift_shares: tuple[float, ...]
    percent: tuple[float, ...]


def influence(
    carburettor: Carburettor,
    engine: Breathing,
    setting: Setting,
    air: Air | None = None,
    factors: Floats | None = None,
    top_speed_rpm: float = 9000.0,
) -> tuple[Influence, ...]:
    """Change of lambda for a step of each adjuster, at road speeds.

    Parameters
    ----------
    carburettor : Carburettor
    engine : Breathing
    setting : Setting
        Where the steps start from.
    air : Air, optional
    factors : array, shape (4,), optional
        ln-factors, where a fit has them [-]
    top_speed_rpm : float
        Speed at full throttle on the road [rpm]

    Returns
    -------
    tuple of Influence
        Pilot jet, screw, cutaway, needle, main jet.
    """
    ln_factors = np.zeros(4) if factors is None else factors
    openings = np.array(MARKS)
    speeds = np.array([road_speed_rpm(t) for t in MARKS])
    speeds[1:] *= top_speed_rpm / road_speed_rpm(1.0)
    at = model.points(carburettor, engine, air or Air(), openings, speeds)
    base = model.ln_lambda(at, setting, ln_factors)
    half_turn = 0.5 if carburettor.screw == "mixture" else -0.5
    turns = setting.screw_turns + half_turn
    if turns < 0.0:
        turns = setting.screw_turns - half_turn
    raised = setting.clip < setting.needle.clips
    steps = [
        ("pilot jet", "5 % more bore", setting.with_(pilot_jet=1.05 * setting.pilot_jet)),
        ("screw", f"half a turn {'out' if turns > setting.screw_turns else 'in'}",
         setting.with_(screw_turns=turns)),
        ("cutaway", "0.5 mm more", setting.with_(cutaway=setting.cutaway + 0.5e-3)),
        ("needle", "one groove up" if raised else "one groove down",
         setting.with_(clip=setting.clip + (1 if raised else -1))),
        ("main jet", "2.5 % more bore", setting.with_(main_jet=1.025 * setting.main_jet)),
    ]  # fmt: skip
    found = []
    for name, words, moved in steps:
        if moved.clip == setting.clip and name == "needle":
            continue
        change = 100.0 * np.expm1(model.ln_lambda(at, moved, ln_factors) - base)
        found.append(
            Influence(name, words, MARKS, tuple(at.lift_share.tolist()), tuple(change.tolist()))
        )
    return tuple(found)


def weights(found: tuple[Influence, ...]) -> dict[str, tuple[float, ...]]:
    """Share each adjuster has in what can be moved at each opening.

    Parameters
    ----------
    found : tuple of Influence

    Returns
    -------
    dict
        Adjuster to shares over the openings; pilot jet and screw are one, the shares of an
        opening add up to 1 [-]
    """
    groups = {"pilot": ("pilot jet", "screw"), "cutaway": ("cutaway",), "needle": ("needle",),
              "main": ("main jet",)}  # fmt: skip
    size = {
        name: np.array(
            [max(abs(i.percent[k]) for i in found if i.adjuster in parts) for k in range(7)]
        )
        for name, parts in groups.items()
        if any(i.adjuster in parts for i in found)
    }
    total = np.maximum(sum(size.values()), 1e-12)
    return {name: tuple((value / total).tolist()) for name, value in size.items()}
