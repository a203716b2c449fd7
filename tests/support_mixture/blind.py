"""Blind trials: a mechanic with a sensor follows the advice on carburettors nobody described.

Each trial draws an engine and a carburettor, hides a crank-resolved truth behind it, fits jets at
random from a drawer, and then goes round: read twelve points, take the advice, change, look at
what the mixture over the whole map really is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from support_mixture import crank_truth
from tickover.physics.carburettor import model
from tickover.physics.carburettor.parts import Air, Breathing, Carburettor, Needle, Setting
from tickover.tasks.mixture import posterior as fitting
from tickover.tasks.mixture.adjusters import MARKS
from tickover.tasks.mixture.choosing import search
from tickover.tasks.mixture.drawer import Drawer, HungNeedle, Jet, Slide
from tickover.tasks.mixture.likelihood import LEANEST, RICHEST
from tickover.tasks.mixture.logclean import clean, readings_of
from tickover.tasks.mixture.logfile import Log
from tickover.tasks.mixture.readings import Reading, parse_sign, road_speed_rpm
from tickover.tasks.mixture.scoring import Taste, chance_of_lean
from tickover.tasks.mixture.target import HALF_THROTTLE, LEAN_MARGIN, Target

_OPEN = np.array([1 / 16, 1 / 8, 1 / 4, 1 / 2, 3 / 4, 1.0])
_SPEED = np.array([4000.0, 5000, 6000, 7000, 8000])
MAP_OPENINGS = np.concatenate([[0.0], np.repeat(_OPEN, _SPEED.size)])
MAP_SPEEDS = np.concatenate([[1200.0], np.tile(_SPEED, _OPEN.size)])
# Twelve of them are read in a round, others in the next: nobody reads the whole map.
_READ = (
    (0, 1, 3, 7, 9, 12, 14, 16, 20, 22, 26, 29),
    (0, 2, 6, 8, 11, 13, 17, 19, 23, 25, 27, 30),
    (0, 1, 4, 7, 10, 13, 15, 18, 21, 24, 26, 28),
)
FEW = ((14, 24), (3, 29), (19, 9))
"""Two of them in a round: what a first evening brings."""
TARGET = Target()
MOST_DRAWS = 200
"""Sets of jets tried on a machine before another machine is drawn."""


@dataclass(frozen=True)
class Bench:
    """What is known of a machine, and the truth behind it."""

    carburettor: Carburettor
    engine: Breathing
    drawer: Drawer
    fitted: Setting
    truth: crank_truth.TruthCarburettor


@dataclass(frozen=True)
class Told:
    """One chance of a lean point above half throttle as it was told, and whether there was one."""

    turn: int
    moment: str
    """'now': of what is in, after reading it. 'after': of the jets advised, before reading them.
    'other': of jets a step or two aside, asked of the same readings."""
    chance: float
    lean: bool


@dataclass(frozen=True)
class Outcome:
    """What one trial came to; index 0 is before the first advice."""

    rms: tuple[float, ...]
    leanest_high: tuple[float, ...]
    inside_68: tuple[float, ...]
    inside_90: tuple[float, ...]
    high_68: tuple[float, ...]
    """The same from half throttle up only."""
    high_90: tuple[float, ...]
    told_lean: tuple[float, ...]
    """The chance of a lean point told for each advice."""
    told_error: tuple[float, ...]
    """The rms error told for each advice."""
    told: tuple[Told, ...]


def bench(rng: np.random.Generator) -> Bench:
    """Draw a machine."""
    swept = rng.uniform(90e-6, 250e-6)
    grow = (swept / 1e-4) ** 0.42
    bore = 26e-3 * grow * rng.uniform(0.94, 1.06)
    jet = 0.105 * bore
    carburettor = Carburettor(
        bore=bore,
        needle_jet=jet,
        idle_lift=0.5e-3 * grow,
        pilot_outlet=0.12e-6 * grow**2,
        screw_area=0.04e-6 * grow**2,
        pilot_air_jet=2.2e-3 * grow,
        main_air_jet=0.7e-3 * grow,
    )
    engine = Breathing(swept, rng.uniform(8.5, 10.5), rng.uniform(6500.0, 8500.0))
    truth = crank_truth.truth(carburettor, swept, rng)
    cutaway = 2.5e-3 * grow
    wanted = np.append(TARGET.at(np.append(crank_truth.LIFTS, 1.0)), 0.9)
    shipped = crank_truth.ship(truth.numbers, cutaway, wanted, rng)
    crank_truth.age(truth.numbers, rng)
    needles = tuple(_needle(name, shipped.needle_diameters, carburettor, dry, steep)
                    for name, dry, steep in (("A", 0.008, 1.0), ("B", 0.0, 1.0),
                    ("C", -0.008, 1.0), ("D", 0.0, 1.08), ("E", 0.0, 0.92)))  # fmt: skip
    middle = Setting(shipped.pilot_jet, 1.75, cutaway, needles[1], 3, shipped.main_jet)
    mains = tuple(
        Jet(f"{k}", middle.main_jet * 1.025 ** (k - 9), 6.0, 1 if abs(k - 9) < 4 else 0)
        for k in range(19)
    )
    pilots = tuple(
        Jet(f"{k}", middle.pilot_jet * 1.06 ** (k - 3), 6.0, 1 if k == 3 else 0) for k in range(7)
    )
    slides = tuple(Slide(middle.cutaway * f, 40.0, int(f == 1.0)) for f in (0.8, 1.0, 1.2))
    drawer = Drawer(
        pilots, mains, tuple(HungNeedle(n, 15.0, int(n.name == "B")) for n in needles), slides
    )
    for _ in range(MOST_DRAWS):
        fitted = Setting(
            rng.choice(pilots).bore,
            float(rng.choice(drawer.screw_turns[2:11])),
            middle.cutaway,
            needles[1],
            int(rng.integers(1, 6)),
            mains[int(rng.integers(6, 19))].bore,
        )
        if _runs(truth, fitted):
            return Bench(carburettor, engine, drawer, fitted, truth)
    return bench(rng)  # worn until hardly any jets run it: nobody would begin with the mixture


def _runs(truth: crank_truth.TruthCarburettor, fitted: Setting) -> bool:
    """Whether it runs at all with these jets, or nobody would have read it."""
    lams = truth.lambdas(
        fitted, np.array([0.0, 1 / 4, 1 / 2, 1.0]), np.array([1200.0, 5000.0, 6000.0, 7000.0])
    )
    return bool(lams.min() > RICHEST and lams.max() < LEANEST)


def _needle(
    name: str, shape: np.ndarray, carburettor: Carburettor, dry: float, steep: float
) -> Needle:
    thick = shape[0] - (shape[0] - shape) * steep + dry * carburettor.needle_jet
    rest = carburettor.idle_lift
    places = 25e-3 + 1.8e-3 + rest + (carburettor.bore - rest) * crank_truth.LIFTS
    diameters = np.clip(thick, 0.4 * carburettor.needle_jet, 0.993 * carburettor.needle_jet)
    return Needle(
        name,
        (0.0, *places.tolist(), float(places[-1] + 0.2 * carburettor.bore)),
        (float(diameters[0]), *diameters.tolist(), float(diameters[-1] * 0.92)),
    )


def road(one: Bench) -> model.Points:
    """The road line, as the task takes it where nothing is known to be right."""
    scale = 8500.0 / road_speed_rpm(1.0)
    speeds = np.array([1200.0] + [scale * road_speed_rpm(t) for t in MARKS[1:]])
    return model.points(one.carburettor, one.engine, Air(), np.array(MARKS), speeds)


def run(
    one: Bench, rng: np.random.Generator, rounds: int = 3, seen_as: str = "numbers",
    prior: fitting.Prior | None = None, taste: Taste | None = None,
    reads: tuple[tuple[int, ...], ...] = _READ, others: int = 0,
) -> Outcome:  # fmt: skip
    """Go round, reading and changing.

    `reads` are the points of the map read in each round; they are seen as "numbers" of a sensor,
    as "words", or with a "log" of a ride that holds twelve places. For `others` settings near the
    advised one the chance of a lean point is asked as well.
    """
    map_points = model.points(one.carburettor, one.engine, Air(), MAP_OPENINGS, MAP_SPEEDS)
    keep = model.meaningful(map_points)
    map_points = model.points(
        one.carburettor, one.engine, Air(), MAP_OPENINGS[keep], MAP_SPEEDS[keep]
    )
    wanted = np.log(TARGET.at(map_points.openings))
    high = map_points.openings >= HALF_THROTTLE
    anchor = fitting.start_from(road(one), one.fitted, TARGET, known_good=False)
    offset = rng.normal(0.0, OFFSET[seen_as])
    aside = np.random.default_rng(int(rng.integers(1 << 30)))
    setting = one.fitted
    done: list[fitting.Round] = []
    rms, leanest, told_lean, told_error, told = [], [], [], [], []
    inside: list[list[float]] = [[], [], [], []]

    def error(of: Setting) -> np.ndarray:
        return np.log(one.truth.lambdas(of, map_points.openings, map_points.speeds_rpm)) - wanted

    def ask(posterior: fitting.Posterior, turn: int, moment: str, of: Setting) -> None:
        chance = chance_of_lean(posterior, map_points, of, TARGET)
        lean = bool(error(of)[high].max() > math.log1p(LEAN_MARGIN))
        told.append(Told(turn, moment, chance, lean))

    def look(posterior: fitting.Posterior | None) -> None:
        off = error(setting)
        rms.append(float(np.sqrt(np.mean(off**2))))
        leanest.append(float(np.exp(off[high].max()) - 1.0))
        if posterior is not None:
            told = fitting.predict(posterior, map_points, setting)
            z = np.abs(off + wanted - told.mean) / told.spread
            for row, held in zip(inside, (z < 0.9945, z < 1.6449, z[high] < 0.9945,
                                          z[high] < 1.6449), strict=True):  # fmt: skip
                row.append(float(np.mean(held)))

    look(None)
    for turn in range(rounds):
        points_read = np.array(reads[turn % len(reads)])
        openings, speeds = MAP_OPENINGS[points_read], MAP_SPEEDS[points_read]
        lams = one.truth.lambdas(setting, openings, speeds) * math.exp(offset)
        readings = _readings(openings, speeds, lams, seen_as, rng)
        done.append(fitting.Round(setting, readings))
        posterior = fitting.fit(one.carburettor, one.engine, done, TARGET, anchor, prior)
        found = search(posterior, map_points, one.drawer, setting, TARGET, taste)
        ask(posterior, turn, "now", setting)
        setting = found.best.setting
        told_lean.append(found.lean_best)
        told_error.append(found.best.error)
        ask(posterior, turn + 1, "after", setting)
        for _ in range(others):
            ask(posterior, turn + 1, "other", _beside(one, setting, aside))
        look(posterior)
    return Outcome(
        tuple(rms), tuple(leanest), *(tuple(row) for row in inside), tuple(told_lean),
        tuple(told_error), tuple(told),
    )  # fmt: skip


def _beside(one: Bench, setting: Setting, rng: np.random.Generator) -> Setting:
    """Another main jet, and a groove aside or not."""
    mains = [jet.bore for jet in one.drawer.mains]
    place = int(np.argmin(np.abs(np.array(mains) - setting.main_jet))) + int(rng.integers(-3, 4))
    clip = int(np.clip(setting.clip + rng.integers(-1, 2), 1, setting.needle.clips))
    return setting.with_(main_jet=mains[min(max(place, 0), len(mains) - 1)], clip=clip)


OFFSET = {"numbers": 0.012, "log": 0.012, "words": 0.02}
"""How far a sensor, or the eye of one person, is off as a whole (standard deviation) [-]"""
_SENSOR_NOISE, _EYE_NOISE = 0.015, 0.04
"""Nobody tells the mixture of a plug to 2 percent, as a sensor does; no source."""


def _readings(
    openings: np.ndarray, speeds: np.ndarray, lams: np.ndarray, seen_as: str,
    rng: np.random.Generator,
) -> tuple[Reading, ...]:  # fmt: skip
    if seen_as == "log":
        return readings_of(clean(_ride(openings, speeds, lams, rng)), "ride")
    noise = _EYE_NOISE if seen_as == "words" else _SENSOR_NOISE
    seen = lams * np.exp(rng.normal(0.0, noise, lams.size))
    return tuple(
        _reading(o, s, lam, seen_as == "words")
        for o, s, lam in zip(openings, speeds, seen, strict=True)
    )


def _ride(
    openings: np.ndarray, speeds: np.ndarray, lams: np.ndarray, rng: np.random.Generator
) -> Log:
    """Each place held for four seconds at 25 Hz, half a second between, the sensor 0.3 s late."""
    hold, ramp, late = 100, 12, 8
    order = rng.permutation(openings.size)
    rows = []
    for values in (openings, speeds, lams):
        held = values[order]
        parts = []
        for here, there in zip(held, np.append(held[1:], held[-1]), strict=True):
            parts += [np.full(hold, here), np.linspace(here, there, ramp)]
        rows.append(np.concatenate(parts))
    opening, speed, lam = rows
    lam = np.concatenate([np.full(late, lam[0]), lam[:-late]])
    # The sensor wanders slowly, and each figure has some noise of its own.
    wander = np.repeat(rng.normal(0.0, _SENSOR_NOISE, lam.size // 50 + 1), 50)[: lam.size]
    lam = lam * np.exp(wander + rng.normal(0.0, 0.008, lam.size))
    return Log(np.arange(lam.size) / 25.0, speed, opening, lam, 0)


def _reading(opening: float, speed: float, lam: float, words: bool) -> Reading:
    if not words:
        return Reading(opening, speed, lam=float(lam), spread=0.018)
    e = math.log(lam / TARGET.at(np.array([opening]))[0])
    word = "rich" if e < -0.06 else "lean" if e > 0.06 else "about right"
    return Reading(opening, speed, sign=parse_sign(word))
