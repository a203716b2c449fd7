"""Compile every inner loop before somebody waits for it: `python -m tickover.web.warming`.

The first compression reading, the first jet and the first recording each need a loop that is
compiled once on a machine and then kept. Here each task is asked something small, so that the
compiled code is there when it is asked in earnest.
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from tickover.cache.compiled import cache_folder, can_keep
from tickover.cache.remembered import program

_STAMP = "all-compiled-"
_CARBURETTED = "triple-240"
"""The example whose engine file describes its carburettors."""


def compile_all() -> None:
    """Ask each task that has inner loops something small, and note that it was done."""
    _compression()
    _mixture()
    _logs()
    _listening()
    if can_keep():
        for old in cache_folder().glob(f"{_STAMP}*"):
            old.unlink(missing_ok=True)
        _stamp().touch()


def all_compiled() -> bool:
    """Whether every loop of this program was compiled before and what was compiled is kept."""
    return _stamp().exists()


def compile_all_beside() -> subprocess.Popen[bytes] | None:
    """The same in a process of its own that gives way to all others.

    Returns
    -------
    Popen or None
        None when everything is compiled already, or nothing compiled could be kept.
    """
    if all_compiled() or not can_keep():
        return None
    package = Path(__file__).resolve().parents[2]
    paths = [str(package), *filter(None, [os.environ.get("PYTHONPATH")])]
    return subprocess.Popen(
        [sys.executable, "-m", "tickover.web.warming"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def _stamp() -> Path:
    return cache_folder() / f"{_STAMP}{program()}"


def _compression() -> None:
    import numpy as np

    from tickover.physics.cylinder import CrankTest, Cylinder, crank_many
    from tickover.physics.valveflow import Valve

    inlet = Valve(opens_deg=340, closes_deg=585, lift=7.5e-3, seat_diameter=26e-3)
    exhaust = Valve(opens_deg=135, closes_deg=380, lift=7e-3, seat_diameter=22e-3)
    row = CrankTest(Cylinder(0.056, 0.056, 0.110, 9.2, inlet, exhaust)).row()
    crank_many(row[np.newaxis], 1)


def _mixture() -> None:
    import numpy as np

    from tickover.engine import parse_engine_file
    from tickover.engine.similar import examples
    from tickover.physics.carburettor import model
    from tickover.tasks.mixture.advice import advise
    from tickover.tasks.mixture.from_file import machine_from_file
    from tickover.tasks.mixture.posterior import Round
    from tickover.tasks.mixture.readings import Reading

    example = parse_engine_file(examples()[_CARBURETTED], _CARBURETTED)
    file = machine_from_file(example)
    round_ = Round(file.fitted, (Reading(0.5, 5000.0, 0.9), Reading(1.0, 7000.0, 0.88)))
    # The small change makes the question new, so that it is worked out and not remembered.
    machine = replace(file.machine, idle_rpm=file.machine.idle_rpm + 1e-6 * os.getpid())
    advise(machine, (round_,))
    for kind in ("slide", "constant velocity"):
        carburettor = replace(machine.carburettor, kind=kind)
        at = model.points(
            carburettor, machine.engine, round_.air, np.ones(1), np.array([6000.0])
        )  # fmt: skip
        model.fuel_flows(at, file.fitted, np.zeros(4))


def _logs() -> None:
    from tickover.tasks.mixture.logclean import clean
    from tickover.tasks.mixture.logfile import read_log

    rows = "".join(f"{n / 10},3000,20,{0.9 + 0.001 * (n % 50)}\n" for n in range(2000))
    clean(read_log(f"time,rpm,throttle,lambda\n{rows}".encode(), "warming"))


def _listening() -> None:
    from tickover.physics.sound.synthesise import synthesise
    from tickover.tasks.listen import analyse

    angles = (0.0, 240.0, 480.0)
    sound = synthesise(angles, duration_s=6.0, rate=16_000)
    analyse(sound.samples, sound.rate, angles, about_rpm=1100.0)


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(19)
    compile_all()
