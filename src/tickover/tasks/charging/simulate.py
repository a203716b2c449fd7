"""What a meter would show under each cause: many machines drawn from what is not known.

A first-harmonic alternator on a battery: current I sqrt(1 - (n0/n)^2) from the cut-in speed n0 on,
a regulator that holds its voltage as long as there is current, resistances in feed and earth, a
battery that takes current through a resistance of its own. Spreads are our assumptions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.engine import EngineFile
from tickover.engine.tables.charging import Charging
from tickover.physics.charging import PER_CELL_AND_KELVIN, REFERENCE_K
from tickover.tasks.charging import names

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Known:
    """What the engine file says of the electrics, in plain numbers."""

    volts: float
    phases: int
    star: bool
    window: tuple[float, float]
    cells: int
    compensated: bool | None
    winding: tuple[float, float] | None
    field: tuple[float, float] | None
    to_earth: float
    ac_per_hz: tuple[float, float] | None
    output: tuple[tuple[float, float], ...]
    load: float | None
    drain: float


def described_system(engine: EngineFile) -> Known:
    """The numbers of an engine file that the simulation needs."""
    table = engine.charging or Charging()
    window = names.regulator_window(engine)[0]
    per_hz = None
    if table.ac_volts_v is not None and table.ac_speed_hz:
        low, high = table.ac_volts_v
        per_hz = (low / table.ac_speed_hz, high / table.ac_speed_hz)
    return Known(
        engine.system_volts, table.phases, table.connection == "star",
        (window.low, window.high), names.battery_cells(engine), table.compensated,
        table.winding_ohm, table.field_ohm if table.rotor == "wound" else None,
        table.to_earth_ohm, per_hz, table.output, table.load_a, names.drain_limit_a(engine),
    )  # fmt: skip


class Machines:
    """Many machines with one cause: what each would show at any reading.

    Parameters
    ----------
    known : Known
    cause : str
        Key of the cause.
    rng : numpy.random.Generator
    n : int
        How many machines.
    """

    def __init__(self, known: Known, cause: str, rng: np.random.Generator, n: int) -> None:
        self.known, self.cause, self.n, self.rng = known, cause, n, rng
        self.scale = known.volts / 12.0
        self._battery()
        self._alternator()
        self._rest()

    def _uniform(self, low: float, high: float) -> Floats:
        return self.rng.uniform(low, high, self.n)

    def _log(self, low: float, high: float) -> Floats:
        return np.exp(self.rng.uniform(np.log(low), np.log(high), self.n))

    def _coin(self, share: float) -> NDArray[np.bool_]:
        return self.rng.random(self.n) < share

    def _battery(self) -> None:
        low, high = {
            "none": (0.72, 1.0), "regulator high": (0.6, 1.0), "battery low": (0.02, 0.65),
            "battery worn": (0.05, 0.9),
        }.get(self.cause, (0.1, 0.95))  # fmt: skip
        self.charge = self._uniform(low, high)
        steps, volts = (0.0, 0.25, 0.5, 0.75, 1.0), (11.7, 12.03, 12.22, 12.42, 12.66)
        rest = np.interp(self.charge, steps, volts) + self.rng.normal(0.0, 0.06, self.n)
        worn = self.cause == "battery worn"
        if worn:  # some cells gone: rests low, or rests well and has no strength
            rest = rest - np.where(self._coin(0.35), self._uniform(0.2, 2.1), 0.0)
        dip = self._uniform(0.8, 2.4) * (1.0 + 0.9 * (1.0 - self.charge))
        if worn:
            dip = self._uniform(2.6, 7.0)
        if self.cause == "earth":
            dip = dip * self._uniform(0.7, 1.0)  # the posts see less of the starter
        self.rest = rest * self.scale
        self.cranking = np.maximum(0.5, (rest - dip) * self.scale)
        # The nearer to full, the less it takes at the same voltage.
        full = 1.0 + 3.0 * np.clip((self.charge - 0.85) / 0.15, 0.0, 1.0) * self.rng.random(self.n)
        self.accepts = (self._log(0.35, 2.5) if worn else self._log(0.06, 0.3) * full) * self.scale

    def _alternator(self) -> None:
        k = self.known
        volts = 13.8 * self.scale
        factor = self._uniform(1.35, 1.42) if k.phases == 3 else self._uniform(1.1, 1.42)
        if k.ac_per_hz is not None:
            low, high = k.ac_per_hz
            self.ac_per_hz = self._uniform(low - 0.1 * (high - low), high + 0.1 * (high - low))
        else:
            self.ac_per_hz = (volts + 1.4) / factor / (self._log(700.0, 1900.0) / 60.0)
        self.cut_in = (volts + 1.4) / factor / self.ac_per_hz
        if k.output:
            speed, amperes = k.output[-1]
            rise = np.sqrt(np.maximum(0.04, 1.0 - (self.cut_in / speed) ** 2))
            self.most = amperes / rise * self._uniform(0.9, 1.15)
        else:
            self.most = self._log(9.0, 28.0)
        self.load = self._uniform(0.8, 1.2) * k.load if k.load else self._uniform(3.0, 8.0)
        self.pairs = 1.0 + self.rng.normal(0.0, 0.008, (3, self.n))
        ohm = self._uniform(*k.winding) if k.winding else self._log(0.1, 1.6)
        each = 1.0 if k.phases == 1 else 0.5 if k.star else 1.5
        self.windings = each * ohm * (1.0 + self.rng.normal(0.0, 0.01, (3, self.n)))
        self.to_earth = self._uniform(4.5, 8.0)
        self.odd = self.rng.integers(0, 3, self.n)
        self.share = np.ones(self.n)
        self._winding_faults()
        self.ohms = self._between_wires()

    def _winding_faults(self) -> None:
        """What the cause does to windings, output and cut-in speed."""
        cause = self.cause
        if cause == "rotor":
            weak = self._uniform(0.2, 0.85)
            self.pairs *= weak
            self.share = weak
            self.cut_in = self.cut_in / weak
        elif cause == "winding open":
            self._touch(self._uniform(0.0, 0.35), opened=True)
            self.share = self._uniform(0.4, 0.62) if self.known.phases == 3 else np.zeros(self.n)
        elif cause == "winding shorted":
            turns = self._uniform(0.08, 0.75)
            left = 1.0 - turns
            low = np.sqrt((left**2 + left + 1.0) / 3.0) if self.known.star else left
            self._touch(low * self._uniform(0.85, 1.0), turns=turns)
            self.pairs *= self._uniform(0.85, 1.0)  # the shorted turns work against the field
            self.share = 1.0 - turns * self._uniform(0.5, 1.0)
        elif cause == "winding to earth":
            self.to_earth = self._uniform(-1.5, 2.9)
            self.share = self._uniform(0.15, 0.75)
        elif cause == "diode open":
            self.share = self._uniform(0.5, 0.82)
        elif cause == "diode shorted":
            self.share = np.where(self._coin(0.4), 0.02, 1.0) * self._uniform(0.0, 0.6)
        elif cause == "regulator low":
            self.share = np.where(self._coin(0.45), 0.0, 1.0)

    def _touch(self, volts: Floats, opened: bool = False, turns: Floats | None = None) -> None:
        """Change the odd winding: AC voltage of its pairs by a factor, its own resistance."""
        column = np.arange(self.n)
        left = 1e7 if opened else 1.0 - (turns if turns is not None else 0.0)
        if self.known.phases == 1:
            self.pairs *= volts
            self.windings *= left
            return
        self.windings[self.odd, column] *= left
        star = self.known.star
        # In delta the two sound windings still span an open one: all volts stay.
        for pair in (self.odd, (self.odd + 2) % 3) if star else (self.odd,):
            if star or not opened:
                self.pairs[pair, column] *= volts

    def _between_wires(self) -> Floats:
        """What the windings read between the wires, shape (3, n) [ohm]."""
        a, b, c = self.windings
        if self.known.phases == 1:
            return self.windings
        if self.known.star:
            return np.stack([a + b, b + c, c + a])
        whole = a + b + c
        return np.stack([a * (b + c) / whole, b * (c + a) / whole, c * (a + b) / whole])

    def _rest(self) -> None:
        k, cause = self.known, self.cause
        low, high = k.window
        self.regulator = self._uniform(low, high)
        if cause == "regulator high":
            self.regulator = high + self._uniform(0.15, 3.5) * self.scale
        elif cause == "regulator low":
            self.regulator = low - self._uniform(0.15, 1.5) * self.scale
        if k.compensated is None:
            self.follows = self._uniform(0.0, 1.0)
        else:
            self.follows = np.full(self.n, 1.0 if k.compensated else 0.0)
        self.feed = self._log(0.05, 0.6) if cause == "feed" else self._log(0.003, 0.018)
        self.earth = self._log(0.05, 0.6) if cause == "earth" else self._log(0.003, 0.018)
        leak = self._log(1e-4, max(2e-4, 0.8 * k.drain))
        if cause == "battery low":  # it stood too long, or something draws
            leak = np.where(self._coin(0.7), self._log(1.2 * k.drain, 2.0), leak)
        elif cause in ("diode shorted", "regulator low", "regulator high"):
            leak = np.where(self._coin(0.15), self._log(k.drain, 2.0), leak)
        self.drain = np.log10(leak)
        diodes = {"diode open": 0.05, "diode shorted": 0.03}.get(cause, 0.97)
        self.diodes = np.full(self.n, diodes)
        span = k.field or (2.0, 6.0)
        self.field = self._uniform(*span)
        if cause == "rotor":
            gone = self._coin(0.5)
            self.field = np.where(gone, self.field * np.where(self._coin(0.5), 1e5, 0.3),
                                  self.field)  # fmt: skip

    def charging(self, speed: float, temperature: float | None) -> Floats:
        """Voltage at the posts, running, shape (n,) [V]."""
        return self._running(speed, temperature)[0]

    def drops(self, speed: float) -> tuple[Floats, Floats]:
        """Drops along feed and earth while charging, each shape (n,) [V]."""
        _, through = self._running(speed, None)
        return self.feed * through, self.earth * through

    def _running(self, speed: float, temperature: float | None) -> tuple[Floats, Floats]:
        rise = np.sqrt(np.maximum(0.0, 1.0 - (self.cut_in / max(speed, 1e-6)) ** 2))
        gives = self.share * self.most * rise
        wanted = self.regulator
        if temperature is not None:
            shift = PER_CELL_AND_KELVIN * self.known.cells * (temperature - REFERENCE_K)
            wanted = wanted + self.follows * shift
        inside = (12.55 + 0.65 * self.charge) * self.scale
        spare = gives - self.load
        free = inside + spare * self.accepts
        lost = self.feed + self.earth
        # The regulator holds its own terminals; what is lost on the way misses at the posts.
        held = (wanted - lost * self.load + lost * inside / self.accepts) / (
            1.0 + lost / self.accepts
        )
        flat = np.minimum(self.rest, inside) - 0.15 * self.scale + spare * 0.05 * self.scale
        posts = np.where(spare > 0.0, np.minimum(free, held), flat)
        into = np.clip((posts - inside) / self.accepts, 0.0, None)
        return posts, np.where(spare > 0.0, np.minimum(gives, self.load + into), gives)

    def alternating(self, pair: int, speed: float) -> Floats:
        """AC volts between two wires, plug apart, shape (n,) [V]."""
        return np.asarray(self.ac_per_hz * speed * self.pairs[pair])
