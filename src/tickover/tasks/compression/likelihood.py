"""How well the readings go with a draw of what is shared, cylinder by cylinder.

A cylinder's own leaks are summed over a grid: what the dial shows depends on the whole leak only,
so it is worked out once over a row of leaks (`NODES`), and every combination of ring and seat
leak takes the nearest. Faults that are no leak (another ratio, a slide that stays shut) are worked
out beside it, the rings being sound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.physics.leakdown import leak_area_of_percent
from tickover.tasks.compression import hypotheses as h
from tickover.tasks.compression import shared as s
from tickover.tasks.compression.described import (
    PSI,
    Conditions,
    CylinderReadings,
    CylinderSpec,
    OtherEvidence,
)
from tickover.tasks.compression.emulator import Emulator

Floats = NDArray[np.float64]

#: Grid of whole leaks, 10 percent apart [mm2 of a 138 cc cylinder].
_FIRST, _STEP, _COUNT = 0.08, 0.10, 56
NODES = _FIRST * np.exp(_STEP * np.arange(_COUNT))

# A cylinder's own scatter and the noise of reading (judgement, no source).
RINGS_APART = 0.18  # log, between sound cylinders of one engine
READING_SD = 2.0 * PSI
READING_SHARE = 0.012  # of the absolute reading: repeatability, chambers not quite alike
FIRST_SD, FIRST_SHARE = 6.0 * PSI, 0.08  # the first stroke starts from rest
WET_SD = 7.0 * PSI  # where the oil runs, beyond how much of it there is
OIL_APART = 0.30  # log, amount from cylinder to cylinder
SEALED = ((0.12, 0.25), (0.30, 0.50), (0.60, 0.25))  # what of a ring leak oil leaves, and odds
LEAK_RINGS, LEAK_SEATS, LEAK_READING = 0.50, 0.20, 0.12  # log: rest against cranking; the tester
ANYTHING = 260.0 * PSI  # an unlisted cause spreads readings evenly over this

_SPREAD = (-math.sqrt(3.0), 0.0, math.sqrt(3.0))
SPREAD_ODDS = np.array([1.0, 4.0, 1.0]) / 6.0  # three-point rule for a normal spread

KINDS = ("dry", "slow", "wet", "first")


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Combinations of a cylinder's own leaks.

    Parameters
    ----------
    ring_extra, seat : arrays, shape (k,)
        Added to the sound rings' leak; past the valves or gasket [scaled mm2]
    spread : array, shape (k,)
        Node of the sound rings' scatter
    sound, ring, seats : slice
        Combinations by kind
    """

    ring_extra: Floats
    seat: Floats
    spread: Floats
    sound: slice
    ring: slice
    seats: slice


def _grid() -> Grid:
    k, r, v = len(_SPREAD), h.RING_SIZES.size, h.SEAT_SIZES.size
    ring_extra = np.concatenate((np.zeros(k), h.RING_SIZES, np.zeros(v)))
    seat = np.concatenate((np.zeros(k + r), h.SEAT_SIZES))
    spread = np.concatenate((_SPREAD, np.zeros(r + v)))
    return Grid(ring_extra, seat, spread, slice(0, k), slice(k, k + r), slice(k + r, k + r + v))


GRID = _grid()
_RING_ODDS = h.size_weights(h.RING, h.RING_SIZES)
_SEAT_ODDS = np.column_stack([h.size_weights(c, h.SEAT_SIZES) for c in h.LEAKS_PAST_SEAT])
GASKET_ODDS = h.size_weights(h.GASKET, h.SEAT_SIZES)
_RATIOS = np.concatenate((-h.RATIO_STEPS, h.RATIO_STEPS))
_SOUND_SCATTER = 0.035  # of the absolute reading: what the sound rings' scatter makes of it


@dataclass(frozen=True, slots=True, eq=False)
class Predicted:
    """What the dial would show for each draw.

    Parameters
    ----------
    rings : array, shape (n,)
        Leak of sound rings [scaled mm2]
    nodes : dict of kind to array, shape (n, NODES)
        [Pa gauge]
    spreads : dict of kind to array, shape (n, NODES)
        Standard deviations of readings about `nodes` [Pa]
    at : array of int, shape (n, combinations)
        Node of every combination's whole leak
    soaked : list of the same, one for each of SEALED
        The same in the wet test; empty without it
    others : dict of kind to array, shape (n, 15)
        Lower ratios, higher ratios, shut slides, rings sound [Pa gauge]
    """

    rings: Floats
    nodes: dict[str, Floats]
    spreads: dict[str, Floats]
    at: NDArray[np.intp]
    soaked: list[NDArray[np.intp]]
    others: dict[str, Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Likelihoods:
    """Of one batch of draws; lists run over the cylinders.

    Parameters
    ----------
    log_total : array, shape (n,)
        Of all readings together, own faults summed over
    causes : list of arrays, shape (n, LOCAL)
    gaskets : list of arrays, shape (n, SEAT_SIZES)
    combos : list of arrays, shape (n, combinations)
    alone : list of arrays, shape (n,)
        Own faults summed over, no gasket
    pairs : list of arrays, shape (n,)
        Of each pair of neighbours: gasket over no gasket
    """

    log_total: Floats
    causes: list[Floats]
    gaskets: list[Floats]
    combos: list[Floats]
    alone: list[Floats]
    pairs: list[Floats]


class Problem:
    """Readings, prior and emulator put together, ready to be asked for likelihoods."""

    def __init__(
        self,
        spec: CylinderSpec,
        day: Conditions,
        readings: tuple[CylinderReadings, ...],
        other: OtherEvidence,
        emulator: Emulator,
    ) -> None:
        self.spec, self.day, self.readings, self.emulator = spec, day, readings, emulator
        self.prior = s.prior_of(spec, day)
        self.scale = spec.displacement / 138e-6
        self.air = day.air_pressure
        self.kinds = tuple(k for k in KINDS if any(getattr(r, k) is not None for r in readings))
        self.local_prior = np.array([h.local_prior(r.place, other, day) for r in readings])
        self.gasket_prior = h.GASKET_PRIOR
        index = {r.place: i for i, r in enumerate(readings)}
        self.pairs = tuple(
            (index[f"cyl{a}"], index[f"cyl{b}"])
            for a, b in spec.neighbours
            if f"cyl{a}" in index and f"cyl{b}" in index
        )
        self.leak_seen = [self._leak_seen(r) for r in readings]
        self.heard = np.array([[h.heard_likelihood(c, r.heard) for c in h.LOCAL] for r in readings])
        self.heard_gasket = np.array([h.heard_likelihood(h.GASKET, r.heard) for r in readings])

    def _leak_seen(self, reading: CylinderReadings) -> float | None:
        """ln of the leak-down area, scaled; None when the tester says nothing usable."""
        percent = reading.leak_percent
        if percent is None or percent >= 99.5:
            return None
        area = leak_area_of_percent(
            max(percent, 1.0), self.day.supply_pressure, self.day.jet_area, self.air
        )
        return math.log(area * 1e6 / self.scale)

    # -- what the dial would show -------------------------------------------------------------

    def moved(self, draws: Floats, fault: h.WholeEngine, size: Floats) -> Floats:
        """Draws with an engine-wide fault put in."""
        moved = draws.copy()
        column = {
            h.LATE_CAM: s.CAM,
            h.EARLY_CAM: s.CAM,
            h.SLOW_CRANKING: s.SPEED,
            h.LOW_RATIO: s.RATIO,
            h.HIGH_RATIO: s.RATIO,
            h.RING: s.RINGS,
        }.get(fault.name)
        if column is not None:
            moved[:, column] += size
        return moved

    def _changed(self, moved: Floats, kind: str) -> Floats:
        """Draws as they are in the slow or the wet test."""
        if kind not in ("slow", "wet"):
            return moved
        changed = moved.copy()
        if kind == "slow":
            changed[:, s.SPEED] += moved[:, s.SLOWER]
        else:
            swept = self.spec.displacement
            clearance = swept / (moved[:, s.RATIO] - 1.0)
            oil = np.minimum(np.exp(moved[:, s.OIL]) * 1e-6, 0.5 * clearance)
            changed[:, s.RATIO] = 1.0 + swept / (clearance - oil)
        return changed

    def shown(
        self,
        moved: Floats,
        leaks: Floats,
        fault: h.WholeEngine,
        size: Floats,
        kind: str,
        slides: Floats | None = None,
    ) -> Floats:
        """What the dial shows in a kind of test [Pa gauge].

        Shape of leaks [scaled mm2]; with slides (areas, scaled mm2), leaks has one column and the
        result one for each slide.
        """
        draws = self._changed(moved, kind)
        log_p = self.emulator.log_pressure(draws, leaks * self.scale, int(kind == "first"))
        shut = size[:, None] if fault.name == h.SLIDE else None
        if slides is not None:
            shut = np.log(slides)[None, :]
        if shut is not None:
            # The area is scaled to 300 rpm: slower cranking lets more through.
            speed = draws[:, s.SPEED] - self.prior.mean[s.SPEED]
            loss = self.emulator.throttle_loss(draws, leaks * self.scale, shut - speed[:, None])
            log_p = np.maximum(log_p - loss, 0.0)
        dial = self.air * np.expm1(log_p)
        if fault.name == h.GAUGE:
            dial = dial * (1.0 + size[:, None])
        shown: Floats = np.maximum(dial + moved[:, s.DIAL][:, None], 0.0)
        return shown

    def predict(
        self,
        draws: Floats,
        fault: h.WholeEngine,
        size: Floats,
        kinds: tuple[str, ...],
        *,
        others: bool = True,
    ) -> Predicted:
        """What the dial would show in several kinds of test, over NODES and for other faults."""
        moved = self.moved(draws, fault, size)
        rings = np.exp(moved[:, s.RINGS]) / self.scale
        leaks = np.broadcast_to(NODES, (len(draws), _COUNT))
        nodes = {k: self.shown(moved, leaks, fault, size, k) for k in kinds}
        spreads = {k: self._sd(k, nodes[k]) for k in kinds}
        ring = ring_leaks(rings)
        soaked = []
        if "wet" in kinds:
            soaked = [node(left * ring + GRID.seat) for left, _ in SEALED]
            more = moved.copy()
            more[:, s.OIL] += 0.2
            slope = (self.shown(more, leaks, fault, size, "wet") - nodes["wet"]) / 0.2
            spreads["wet"] = np.hypot(spreads["wet"], OIL_APART * slope)
        beside: dict[str, Floats] = {}
        if others:
            changed = np.repeat(moved, _RATIOS.size, axis=0)
            changed[:, s.RATIO] += np.tile(_RATIOS, len(moved))
            sizes = np.repeat(size, _RATIOS.size)
            for kind in kinds:
                at = (0.3 if kind == "wet" else 1.0) * rings[:, None]
                many = np.repeat(at, _RATIOS.size, axis=0)
                ratios = self.shown(changed, many, fault, sizes, kind).reshape(-1, _RATIOS.size)
                slides = self.shown(moved, at, fault, size, kind, h.SLIDE_AREAS)
                beside[kind] = np.hstack((ratios, slides))
        return Predicted(rings, nodes, spreads, node(ring + GRID.seat), soaked, beside)

    def _sd(self, kind: str, shown: Floats) -> Floats:
        rough = math.hypot(READING_SHARE, self.emulator.rms)
        spread: Floats = np.hypot(READING_SD, rough * (shown + self.air))
        if kind == "first":
            spread = np.hypot(FIRST_SD, FIRST_SHARE * (shown + self.air))
        elif kind == "wet":
            spread = np.hypot(spread, WET_SD)
        return spread

    # -- likelihoods ------------------------------------------------------------------------

    def of_leakdown(self, i: int, rings: Floats, seats: Floats) -> Floats | float:
        """Likelihood of the leak-down figure of cylinder i, given ring and seat leaks."""
        seen = self.leak_seen[i]
        if seen is None:
            return 1.0
        whole = rings + seats
        share = ((LEAK_RINGS * rings) ** 2 + (LEAK_SEATS * seats) ** 2) / whole**2
        return _normal(seen, np.log(whole), np.sqrt(LEAK_READING**2 + share))

    def _combos(self, i: int, predicted: Predicted) -> Floats:
        """Likelihood of each combination of own leaks of cylinder i."""
        reading = self.readings[i]
        like = np.ones((len(predicted.rings), _COUNT))
        for kind in ("dry", "slow", "first"):
            value = getattr(reading, kind)
            if value is not None:
                like = like * _normal(value, predicted.nodes[kind], predicted.spreads[kind])
        ring = ring_leaks(predicted.rings)
        combos = np.take_along_axis(like, predicted.at, axis=1)
        if reading.wet is not None:
            wet = _normal(reading.wet, predicted.nodes["wet"], predicted.spreads["wet"])
            soaked = np.zeros_like(combos)
            for at, (_, odds) in zip(predicted.soaked, SEALED, strict=True):
                soaked += odds * np.take_along_axis(wet, at, axis=1)
            combos = combos * soaked
        found: Floats = combos * self.of_leakdown(i, ring, np.broadcast_to(GRID.seat, ring.shape))
        return found

    def _others(self, i: int, predicted: Predicted) -> Floats:
        """Likelihood of lower ratio, higher ratio and a shut slide, shape (n, 3)."""
        reading = self.readings[i]
        like = np.ones((len(predicted.rings), _RATIOS.size + h.SLIDE_AREAS.size))
        for kind in self.kinds:
            value = getattr(reading, kind)
            if value is None:
                continue
            shown = predicted.others[kind]
            scatter = _SOUND_SCATTER * (shown + self.air)
            sd = np.hypot(self._sd(kind, shown), scatter)
            if kind == "wet":
                sd = np.hypot(sd, WET_SD)
            like = like * _normal(value, shown, sd)
        at = predicted.rings[:, None]
        like = like * self.of_leakdown(i, at, np.zeros_like(at))
        steps = h.RATIO_STEPS.size
        return np.column_stack(
            [part.mean(axis=1) for part in (like[:, :steps], like[:, steps : 2 * steps],
                                            like[:, 2 * steps :])]
        )  # fmt: skip

    def _anything(self, i: int) -> float:
        reading = self.readings[i]
        density = 1.0
        for kind in KINDS:
            if getattr(reading, kind) is not None:
                density /= ANYTHING
        return density / (5.0 if self.leak_seen[i] is not None else 1.0)  # ln area, 5 units wide

    def _level(self, i: int, level: Floats) -> Floats:
        """An unlisted engine-wide cause: any level [psi], alike on all cylinders."""
        reading = self.readings[i]
        density = np.full(len(level), 0.2 if self.leak_seen[i] is not None else 1.0)
        if reading.dry is not None:
            density = density * _normal(reading.dry, level * PSI, np.full(len(level), 6.0 * PSI))
        for kind in ("slow", "wet", "first"):
            if getattr(reading, kind) is not None:
                density = density / ANYTHING
        return density

    def of_draws(self, draws: Floats, fault: h.WholeEngine, size: Floats) -> Likelihoods:
        """Likelihood of all readings for each draw, and its parts.

        Parameters
        ----------
        draws : array, shape (n, 11)
        fault : WholeEngine
        size : array, shape (n,)
            Of the engine-wide fault

        Returns
        -------
        Likelihoods
        """
        n = len(draws)
        causes: list[Floats] = []
        gaskets: list[Floats] = []
        combos: list[Floats] = []
        predicted = None if fault.name == h.OTHER else self.predict(draws, fault, size, self.kinds)
        for i in range(len(self.readings)):
            by_cause = np.empty((n, len(h.LOCAL)))
            if predicted is None:
                by_cause[:] = self._level(i, size)[:, None]
                combos.append(np.ones((n, GRID.seat.size)) * by_cause[:, :1])
                gaskets.append(np.zeros((n, h.SEAT_SIZES.size)))
            else:
                combo = self._combos(i, predicted)
                by_cause[:, 0] = combo[:, GRID.sound] @ SPREAD_ODDS
                by_cause[:, 1] = combo[:, GRID.ring] @ _RING_ODDS
                by_cause[:, 2:6] = combo[:, GRID.seats] @ _SEAT_ODDS
                by_cause[:, 6:9] = self._others(i, predicted)
                by_cause[:, 9] = self._anything(i)
                combos.append(combo)
                gaskets.append(combo[:, GRID.seats] * self.heard_gasket[i])
            causes.append(by_cause * self.heard[i])
        alone = [np.maximum(c @ p, 1e-300) for c, p in zip(causes, self.local_prior, strict=True)]
        total = np.sum([np.log(a) for a in alone], axis=0)
        pairs = [
            self.gasket_prior * ((gaskets[i] * gaskets[j]) @ GASKET_ODDS) / alone[i] / alone[j]
            for i, j in self.pairs
        ]
        joined = np.log(1.0 + np.sum(pairs, axis=0)) if pairs else 0.0
        return Likelihoods(total + joined, causes, gaskets, combos, alone, pairs)


def _normal(value: float, middle: Floats, sd: Floats) -> Floats:
    z = (value - middle) / sd
    density: Floats = np.exp(-0.5 * z * z) / (sd * math.sqrt(2.0 * math.pi))
    return density


def node(leak: Floats) -> NDArray[np.intp]:
    """Index of the nearest of NODES."""
    at = np.rint(np.log(np.maximum(leak, _FIRST) / _FIRST) / _STEP)
    return np.minimum(at, _COUNT - 1).astype(np.intp)


def ring_leaks(rings: Floats) -> Floats:
    """Ring leak of every combination of the grid, shape (n, combinations) [scaled mm2]."""
    leaks: Floats = rings[:, None] * np.exp(RINGS_APART * GRID.spread) + GRID.ring_extra
    return leaks
