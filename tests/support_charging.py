"""Charging systems simulated by the time-stepped reference, read with a meter a little off."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tickover.book.state import State
from tickover.engine import EngineFile, parse_engine_file
from tickover.tasks.charging.causes import Causes, charging_causes
from tickover.tasks.charging.tables import row_reading
from tickover.tasks.scratch import scratch_state

sys.path.insert(0, str(Path(__file__).parent / "references"))
import charging_truth as truth

TWIN = """[engine]
name = "Invented 650 twin"
layout = "inline"
cylinders = 2
crank = "360 deg"

[battery]
capacity = 12

[charging]
winding = "0.3..0.6 ohm"
ac_volts = "38..52 V"
ac_speed = "3000 rpm"
regulator = "13.9..14.6 V"
compensated = false
output = [[1500, 4], [5000, 14]]
load = "5.5 A"
"""
SPEEDS = (1200.0, 3000.0, 5000.0)
SURE = 0.85
MOST_CHECKS = 6


def twin(*more: str) -> EngineFile:
    """A twin with a three-phase alternator, and further tables."""
    return parse_engine_file(TWIN + "\n".join(more), "twin.toml")


def readings(engine: EngineFile, *rows: str) -> State:
    """The state of rows 'reading,place,value,speed,temperature'."""
    bodies = []
    for row in rows:
        cells = [*row.split(","), "", "", "", ""][:5]
        named = dict(
            zip(("reading", "place", "value", "speed", "temperature"), cells, strict=True), unit=""
        )
        bodies.append(row_reading(engine, named))
    return scratch_state(bodies)


@dataclass
class Trial:
    """One machine of the fleet: its cause and every row a meter could give."""

    cause: str
    rows: dict[str, tuple[str, ...]]


def trials(seed: int, each: int) -> list[Trial]:
    """A fleet with all its readings."""
    rng = np.random.default_rng(seed)
    fleet = truth.fleet(rng, each)
    n = len(fleet.cause)
    wide = truth.Fleet(**{
        name: value * len(SPEEDS) if isinstance(value, list) else np.tile(value, len(SPEEDS))
        for name, value in vars(fleet).items()
    })  # fmt: skip
    posts, through = truth.run(wide, np.repeat(SPEEDS, n) / 60.0)
    posts, through = posts.reshape(-1, n), through.reshape(-1, n)
    volts, ohms = truth.ac_pairs(fleet, 50.0), truth.pair_ohms(fleet)
    off = lambda sd: rng.normal(0.0, sd)  # noqa: E731
    made = []
    for k in range(n):
        pairs = ("1-2", "2-3", "3-1")
        diodes = fleet.cause[k] not in ("diode open", "diode shorted")
        read_right = diodes is (rng.random() > 0.02)
        leak = fleet.to_earth[k]
        made.append(Trial(fleet.cause[k], {
            "start": (
                f"battery at rest,,{fleet.rest[k] + off(0.02):.2f} V",
                *(f"charging voltage,,{max(7.3, posts[s, k] + off(0.03)):.2f} V,{rpm:.0f},25"
                  for s, rpm in enumerate(SPEEDS)),
            ),
            "cranking voltage": (f"cranking voltage,,{fleet.cranking[k] + off(0.1):.1f} V",),
            "drain at rest": (f"drain at rest,,{1e3 * fleet.drain[k]:.2f} mA",),
            "alternator volts": tuple(
                f"alternator volts,{p},{abs(volts[j, k] * (1 + off(0.01))):.1f} V,3000"
                for j, p in enumerate(pairs)
            ),
            "alternator winding": ("meter leads,,0.2 ohm", *(
                f"alternator winding,{p},open,,25" if ohms[j, k] > 1e3 else
                f"alternator winding,{p},{0.2 + 1.0197 * ohms[j, k] + off(0.01):.2f} ohm,,25"
                for j, p in enumerate(pairs)
            )),
            "winding to earth": (
                "winding to earth,,open" if leak > 2e3 else f"winding to earth,,{leak:.2f} ohm",
            ),
            "rectifier diodes": (f"rectifier diodes,,{'yes' if read_right else 'no'}",),
            "charging feed drop": (
                f"charging feed drop,,{abs(fleet.feed[k] * through[1, k] + off(0.005)):.3f} V",),
            "charging earth drop": (
                f"charging earth drop,,{abs(fleet.earth[k] * through[1, k] + off(0.005)):.3f} V",),
        }))  # fmt: skip
    return made


def follow(engine: EngineFile, trial: Trial) -> tuple[Causes, int]:
    """Readings in the order the tool asks for them, until it is sure; and how many it asked for."""
    rows = list(trial.rows["start"])
    asked = 0
    while True:
        found = charging_causes(engine, readings(engine, *rows))
        nexts = [c.name for c in found.next_checks if c.name in trial.rows]
        done = found.first.probability >= SURE or asked >= MOST_CHECKS or not nexts
        if done:
            return found, asked
        rows += trial.rows[nexts[0]]
        asked += 1


def blind(seed: int, each: int, progress: Callable[[str], None] = lambda _: None
          ) -> list[tuple[str, Causes, int]]:  # fmt: skip
    """Every trial followed to its end: (true cause, what was found, checks asked for)."""
    engine = twin()
    found = []
    for trial in trials(seed, each):
        found.append((trial.cause, *follow(engine, trial)))
        progress(trial.cause)
    return found
