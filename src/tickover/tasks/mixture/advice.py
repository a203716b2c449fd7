"""From readings to advice: what to change now, what to expect, what to read next.

`advise` is the whole task on plain inputs. A stop comes first and silences the rest: no setting is
recommended for an engine that pinks, or runs lean at full throttle, before the causes that are no
jets have been looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tickover.cache.remembered import remembered
from tickover.errors import InputError
from tickover.physics.carburettor import model
from tickover.physics.carburettor.model import Points
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Setting
from tickover.tasks.mixture.adjusters import MARKS, Influence, influence
from tickover.tasks.mixture.choosing import Searched, search
from tickover.tasks.mixture.drawer import Drawer
from tickover.tasks.mixture.likelihood import probability_below
from tickover.tasks.mixture.posterior import Posterior, Prior, Round, fit, predict, start_from
from tickover.tasks.mixture.readings import Reading, road_speed_rpm
from tickover.tasks.mixture.scoring import Taste
from tickover.tasks.mixture.stops import Stop, stop_in
from tickover.tasks.mixture.target import LEAN_MARGIN, Target

Floats = NDArray[np.float64]

_MAP_OPENINGS = (0.0, 1 / 16, 1 / 8, 1 / 4, 3 / 8, 1 / 2, 3 / 4, 1.0)
_MAP_SPEEDS = (0.35, 0.47, 0.59, 0.71, 0.82, 0.94)
_SIDES = 1.6449  # 90 % interval
_KNOWN_GOOD_SPREAD = 0.06


@dataclass(frozen=True, slots=True)
class Machine:
    """An engine with its carburettors, as the task needs it.

    Parameters
    ----------
    carburettor : Carburettor
    engine : Breathing
    drawer : Drawer
    idle_rpm, top_speed_rpm : float
        [rpm]
    """

    carburettor: Carburettor
    engine: Breathing
    drawer: Drawer
    idle_rpm: float = 1200.0
    top_speed_rpm: float = 8500.0


@dataclass(frozen=True, slots=True)
class MapCell:
    """The mixture expected at one point, with its 90 % interval."""

    opening: float
    speed_rpm: float
    lam: float
    low: float
    high: float
    target: float
    probability_lean: float
    means_something: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to change."""

    what: str
    was: str
    to: str


@dataclass(frozen=True, slots=True)
class NextReading:
    """Where the next reading tells most."""

    opening: float
    speed_rpm: float
    narrows: float
    """Share of the uncertainty over the map that it takes away [-]"""


@dataclass(frozen=True, slots=True)
class Advice:
    """What `advise` concludes.

    Parameters
    ----------
    stop : Stop or None
        When given, it comes first and `steps` is empty.
    steps : tuple of Step
        In the order of least work: screw, clip, jet.
    richer : tuple of Step
        With a stop: the rich setting to start from once everything else has been looked at.
    rich_first : str
        Why a setting that promises more was set aside for a richer one; '' where none was.
    before, after : tuple of MapCell
        Over the map, with what is in and with the steps done.
    road_before, road_after : tuple of MapCell
        Along the road line, idle to full.
    lean_before, lean_after : float
        Probability of any point above half throttle more than 5 % lean [-]
    """

    stop: Stop | None
    steps: tuple[Step, ...]
    richer: tuple[Step, ...]
    rich_first: str
    influence: tuple[Influence, ...]
    before: tuple[MapCell, ...]
    after: tuple[MapCell, ...]
    road_before: tuple[MapCell, ...]
    road_after: tuple[MapCell, ...]
    lean_before: float
    lean_after: float
    error_before: float
    error_after: float
    minutes: float
    money: float
    next_reading: NextReading | None
    notes: tuple[str, ...]
    posterior: Posterior
    setting: Setting
    looked_at: int


@remembered
def advise(
    machine: Machine,
    rounds: Sequence[Round],
    target: Target | None = None,
    known_good: tuple[Setting, Air] | None = None,
    prior: Prior | None = None,
    taste: Taste | None = None,
    air: Air | None = None,
) -> Advice:
    """Fit all rounds and say what to do next.

    Parameters
    ----------
    machine : Machine
    rounds : sequence of Round
        In the order they were run; the last one is what is in now. Struck-out readings are
        simply not there.
    target : Target, optional
    known_good : (Setting, Air), optional
        A set-up that ran right, in its air: everything is predicted as a change from it.
    prior : Prior, optional
    taste : Taste, optional
    air : Air, optional
        The air to set up for; that of the last round when not given.

    Returns
    -------
    Advice

    Raises
    ------
    InputError
        If there is no reading, or readings of a round contradict each other.
    """
    aim = target or Target()
    if not rounds or (known_good is None and not any(one.readings for one in rounds)):
        raise InputError(
            "There are no mixture readings yet",
            allowed="one reading or more",
            instead="a first reading, such as '3/4, 8000, , about right,'",
        )
    fitted = rounds[-1].setting
    here = air or rounds[-1].air
    grid = map_points(machine, here)
    keep = model.meaningful(grid)
    useful = _only(grid, keep)
    road = _road_points(machine, here)
    anchor, all_rounds = _start(machine, rounds, aim, known_good)
    posterior = fit(machine.carburettor, machine.engine, all_rounds, aim, anchor, prior)
    weights = taste or Taste()
    found = search(posterior, useful, machine.drawer, fitted, aim, weights)
    stop = stop_in(rounds, aim)
    setting = found.best.setting if stop is None else fitted
    rich = _richer(posterior, useful, machine.drawer, fitted, aim, weights) if stop else ()
    notes = _notes(found, machine, stop)
    return Advice(
        stop=stop,
        steps=steps_between(machine.drawer, fitted, setting),
        richer=rich,
        rich_first=_rich_first(found, machine, fitted) if stop is None else "",
        influence=influence(
            machine.carburettor, machine.engine, fitted, here, posterior.factors,
            machine.top_speed_rpm,
        ),
        before=_cells(posterior, grid, keep, fitted, aim),
        after=_cells(posterior, grid, keep, setting, aim),
        road_before=_cells(posterior, road, np.ones(len(MARKS), dtype=bool), fitted, aim),
        road_after=_cells(posterior, road, np.ones(len(MARKS), dtype=bool), setting, aim),
        lean_before=found.lean_now,
        lean_after=found.lean_best if stop is None else found.lean_now,
        error_before=found.now.error,
        error_after=found.best.error if stop is None else found.now.error,
        minutes=found.best.minutes if stop is None else 0.0,
        money=found.best.money if stop is None else 0.0,
        next_reading=next_reading(posterior, useful, setting),
        notes=notes,
        posterior=posterior,
        setting=setting,
        looked_at=found.looked_at,
    )  # fmt: skip


def map_points(
    machine: Machine,
    air: Air,
    openings: Sequence[float] = _MAP_OPENINGS,
    speed_shares: Sequence[float] = _MAP_SPEEDS,
) -> Points:
    """Points of the map: idle at idle speed, every other opening at shares of the top speed.

    Parameters
    ----------
    machine : Machine
    air : Air
    openings : sequence of float
        [-]
    speed_shares : sequence of float
        Of the top speed [-]

    Returns
    -------
    Points
    """
    idle = [(0.0, machine.idle_rpm)] if 0.0 in openings else []
    rest = [(t, s * machine.top_speed_rpm) for t in openings if t > 0.0 for s in speed_shares]
    pairs = np.array(idle + rest)
    return model.points(machine.carburettor, machine.engine, air, pairs[:, 0], pairs[:, 1])


def next_reading(posterior: Posterior, at: Points, setting: Setting) -> NextReading:
    """The point of the map whose reading narrows the whole map most.

    Parameters
    ----------
    posterior : Posterior
    at : Points
        Points that mean something.
    setting : Setting
        The jets it would be read with.

    Returns
    -------
    NextReading

    Notes
    -----
    A reading at t takes cov(t, c)^2 / (var_t + s^2) from the variance at c; the sum over c is
    largest at the point proposed.
    """
    told = predict(posterior, at, setting)
    noise = 0.02**2 + posterior.prior.sensor_offset**2
    gain = (told.covariance**2).sum(axis=1) / (np.diag(told.covariance) + noise)
    best = int(np.argmax(gain))
    return NextReading(
        float(at.openings[best]),
        float(at.speeds_rpm[best]),
        float(gain[best] / max(np.trace(told.covariance), 1e-12)),
    )


def steps_between(drawer: Drawer, before: Setting, after: Setting) -> tuple[Step, ...]:
    """What differs between two settings, least work first.

    Parameters
    ----------
    drawer : Drawer
        Knows the marks of the jets.
    before, after : Setting

    Returns
    -------
    tuple of Step
    """
    steps = []
    if before.screw_turns != after.screw_turns:
        steps.append(Step("screw", f"{before.screw_turns:g} turns out",
                          f"{after.screw_turns:g} turns out"))  # fmt: skip
    if before.needle != after.needle:
        steps.append(Step("needle", before.needle.name, after.needle.name))
    if before.clip != after.clip:
        steps.append(Step("clip", f"groove {before.clip}", f"groove {after.clip}"))
    if before.main_jet != after.main_jet:
        steps.append(Step("main jet", mark_of(drawer, "main", before.main_jet),
                          mark_of(drawer, "main", after.main_jet)))  # fmt: skip
    if before.pilot_jet != after.pilot_jet:
        steps.append(Step("pilot jet", mark_of(drawer, "pilot", before.pilot_jet),
                          mark_of(drawer, "pilot", after.pilot_jet)))  # fmt: skip
    if before.cutaway != after.cutaway:
        steps.append(Step("slide", f"cutaway {1000 * before.cutaway:.1f} mm",
                          f"cutaway {1000 * after.cutaway:.1f} mm"))  # fmt: skip
    return tuple(steps)


def mark_of(drawer: Drawer, which: str, bore: float) -> str:
    """The stamped mark of a jet by its bore; the bore itself where it is in no series."""
    series = drawer.mains if which == "main" else drawer.pilots
    for jet in series:
        if abs(jet.bore - bore) < 1e-7:
            return jet.mark
    return f"{1000 * bore:.3f} mm"


def known_good_round(setting: Setting, air: Air, target: Target, machine: Machine) -> Round:
    """A set-up that ran right, as a round of readings nobody took with a sensor."""
    scale = machine.top_speed_rpm / road_speed_rpm(1.0)
    readings = tuple(
        Reading(
            t,
            machine.idle_rpm if t == 0.0 else scale * road_speed_rpm(t),
            lam=float(target.at(np.array([t]))[0]),
            spread=_KNOWN_GOOD_SPREAD,
            where="known good",
        )
        for t in MARKS
    )
    return Round(setting, readings, air)


def _start(
    machine: Machine, rounds: Sequence[Round], target: Target,
    known_good: tuple[Setting, Air] | None,
) -> tuple[Floats, list[Round]]:  # fmt: skip
    first, air = known_good or (rounds[0].setting, rounds[0].air)
    road = _road_points(machine, air)
    anchor = start_from(road, first, target, known_good is not None)
    before = [] if known_good is None else [known_good_round(first, air, target, machine)]
    return anchor, [*before, *rounds]


def _road_points(machine: Machine, air: Air) -> Points:
    scale = machine.top_speed_rpm / road_speed_rpm(1.0)
    openings = np.array(MARKS)
    speeds = np.array([scale * road_speed_rpm(t) for t in MARKS])
    speeds[0] = machine.idle_rpm
    return model.points(machine.carburettor, machine.engine, air, openings, speeds)


def _only(at: Points, keep: NDArray[np.bool_]) -> Points:
    return replace(
        at, openings=at.openings[keep], speeds_rpm=at.speeds_rpm[keep], states=at.states[keep]
    )


def _cells(
    posterior: Posterior, at: Points, keep: NDArray[np.bool_], setting: Setting, target: Target
) -> tuple[MapCell, ...]:
    told = predict(posterior, at, setting)
    wanted = target.at(at.openings)
    sd = told.spread
    lean = 1.0 - probability_below(told.mean, sd, 0.0 + np.log(wanted * (1.0 + LEAN_MARGIN)))
    return tuple(
        MapCell(
            float(at.openings[i]),
            float(at.speeds_rpm[i]),
            float(np.exp(told.mean[i])),
            float(np.exp(told.mean[i] - _SIDES * sd[i])),
            float(np.exp(told.mean[i] + _SIDES * sd[i])),
            float(wanted[i]),
            float(lean[i]),
            bool(keep[i]),
        )
        for i in range(at.openings.size)
    )


def _richer(
    posterior: Posterior, at: Points, drawer: Drawer, fitted: Setting, target: Target, taste: Taste
) -> tuple[Step, ...]:
    """A rich setting to start again from: main jet up two sizes at least, nothing leaner."""
    careful = replace(taste, rich_bias=0.07, lean_weight=10.0)
    found = search(posterior, at, drawer, fitted, target, careful).best.setting
    larger = [jet.bore for jet in drawer.mains if jet.bore > fitted.main_jet + 1e-8]
    least = larger[min(1, len(larger) - 1)] if larger else fitted.main_jet
    richer = fitted.with_(main_jet=max(found.main_jet, least))
    if found.needle == fitted.needle:
        richer = richer.with_(clip=max(found.clip, fitted.clip))
    return steps_between(drawer, fitted, richer)


def _rich_first(found: Searched, machine: Machine, fitted: Setting) -> str:
    """Why a setting that promises more was set aside for a richer one; '' where none was."""
    if found.set_aside is None:
        return ""
    words = ", ".join(
        f"{step.what} {step.to}"
        for step in steps_between(machine.drawer, fitted, found.set_aside.setting)
    )
    kept = found.best.setting == found.now.setting
    return (
        f"Rich side first, then step down (common practice, no source): {words} promises a little "
        f"more, but with a {100 * found.lean_aside:.0f} % chance of a lean point above half "
        f"throttle; {'what is in' if kept else 'this'} has {100 * found.lean_best:.0f} %. Read "
        "again before going leaner."
    )


def _notes(found: Searched, machine: Machine, stop: Stop | None) -> tuple[str, ...]:
    notes = []
    kept = found.best.setting == found.now.setting
    if stop is None and kept and found.set_aside is None:
        notes.append("Nothing in the drawer or the list is expected to do better than what is in.")
    if found.at_end:
        parts = " and ".join(found.at_end)
        notes.append(
            f"The best answer sits at the end of what there is ({parts}): that is no optimum, it "
            f"says {_wrong_part(found.at_end)}."
        )
    if machine.carburettor.kind == "constant velocity":
        notes.append(
            "Needle and main jet go by the lift of the piston, not by the grip: a wide open grip "
            "at low speed still runs on the needle."
        )
    return tuple(notes)


def _wrong_part(at_end: Sequence[str]) -> str:
    words = []
    if any(name.startswith("needle") for name in at_end):
        words.append("this is the wrong needle (or the needle jet is worn)")
    if any(name.startswith(("pilot", "screw")) for name in at_end):
        words.append("this is the wrong series of pilot jets (or air leaks in at idle)")
    if any(name.startswith("main") for name in at_end):
        words.append(
            "the series of main jets does not reach far enough (or the float level is off)"
        )
    return ", and ".join(words)
