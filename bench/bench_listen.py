"""Listening: a minute at 48 kHz, its time and memory, beside librosa's pYIN on the same minute.

Times are of the processor, all threads together, so that other work on the machine counts not.

`python bench/bench_listen.py keep` writes what pYIN answers on the two recordings of
tests/published/test_speed_against_pyin.py, which the tests read instead of running it.
"""

from __future__ import annotations

import csv
import subprocess
import sys
import time
import warnings
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

KEPT = ROOT / "tests" / "published" / "sources" / "pyin_speeds.csv"
MOST_S, MOST_MB, TIMES_QUICKER = 1.0, 250.0, 5.0
FOUR = (0.0, 180.0, 360.0, 540.0)
GRID_STEP = 0.006  # of pYIN: a tenth of a semitone

MEMORY = """
import pathlib, re, numpy as np
from tickover.physics.sound.synthesise import synthesise
from tickover.tasks.listen import analyse

def held(what):
    return int(re.search(what + r":\\s+(\\d+)", pathlib.Path("/proc/self/status").read_text())[1])

angles = (0.0, 180.0, 360.0, 540.0)
short = synthesise(angles, duration_s=5.0, rate=48000, seed=1)
analyse(short.samples, 48000, angles, about_rpm=1100)
minute = np.tile(short.samples, 12)
pathlib.Path("/proc/self/clear_refs").write_text("5")  # Linux: forget the highest so far
before = held("VmRSS")
analyse(minute, 48000, angles, about_rpm=1100)
print((held("VmHWM") - before) / 1024.0)
"""


def rows() -> list[dict[str, Any]]:
    """The rows of this subject."""
    from support_sound.pitch import pyin_speed
    from support_sound.second_engine import second_engine

    from tickover.tasks.listen import analyse

    made = second_engine(FOUR, speed=1150.0, duration_s=60.0, rate=48_000, seed=34)
    short = second_engine(FOUR, speed=1150.0, duration_s=5.0, rate=48_000, seed=33)
    analyse(short.samples, short.rate, FOUR, about_rpm=1100.0)  # compiled and warm
    times = []
    for _ in range(5):
        start = time.process_time()
        heard = analyse(made.samples, made.rate, FOUR, about_rpm=1100.0)
        times.append(time.process_time() - start)
    assert heard.refused is None
    best = min(times)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pyin_speed(short)
        start = time.process_time()
        pyin_speed(made)
        theirs = time.process_time() - start
        off = _kept_and_fresh()
    used = float(
        subprocess.run(
            [sys.executable, "-c", MEMORY], check=True, capture_output=True, text=True
        ).stdout
    )
    return [
        {"claim": "60 s at 48 kHz heard, warm, processor time [s]", "ours": best, "other": theirs,
         "limit": f"< {MOST_S:g} s", "met": best < MOST_S},
        {"claim": "as many times quicker than pYIN", "ratio": theirs / best,
         "limit": f">= {TIMES_QUICKER:g}", "met": theirs / best >= TIMES_QUICKER},
        {"claim": "memory on top of the recording itself [MB]", "ours": used,
         "limit": f"< {MOST_MB:g} MB", "met": used < MOST_MB},
        {"claim": "pYIN kept for the tests against fresh, median", "ours": off,
         "limit": f"< {GRID_STEP:g}", "met": off < GRID_STEP},
    ]  # fmt: skip


def _kept_and_fresh() -> float:
    """Median relative difference of the kept answers from fresh ones."""
    from support_sound.pitch import HELD, IDLING, pyin_speed

    with KEPT.open(encoding="utf-8", newline="") as file:
        kept = list(csv.DictReader(line for line in file if not line.startswith("#")))
    off = []
    for name, make in (("held", HELD), ("idling", IDLING)):
        when, rpm = pyin_speed(make())
        rows_kept = np.asarray([[float(r["s"]), float(r["rpm"])] for r in kept
                                if r["recording"] == name])  # fmt: skip
        off.append(np.abs(np.interp(rows_kept[:, 0], when, rpm) / rows_kept[:, 1] - 1.0))
    return float(np.median(np.concatenate(off)))


def keep() -> None:
    """Write what pYIN answers."""
    import librosa
    from support_sound.pitch import HELD, IDLING, pyin_speed

    with KEPT.open("w", encoding="utf-8", newline="") as file:
        file.write(f"# Answers of librosa {librosa.__version__} pyin, ISC licence, voiced frames,\n"
                   "# on the two recordings of tests/support_sound/pitch.py.\n"
                   "# Written by: python bench/bench_listen.py keep\n")  # fmt: skip
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["recording", "s", "rpm"])
        for name, make in (("held", HELD), ("idling", IDLING)):
            for when, rpm in zip(*pyin_speed(make()), strict=True):
                table.writerow([name, f"{when:.4f}", f"{rpm:.2f}"])


if __name__ == "__main__":
    if sys.argv[1:] == ["keep"]:
        keep()
    else:
        for each in rows():
            print(each)
