"""Make docs/tables/mixture-chance.md: is a chance of a lean point that is told at 30 % met in 30 %?

Run with `python bench/calibration_mixture.py [machines [minutes]]`; 150 machines take some six
minutes of one core, and no more than the minutes given (20). The machines are those of
`bench/blind_mixture.py`, drawn with another seed, and advised without the cap: the cap would hide
the upper half of the scale.
"""

from __future__ import annotations

import itertools
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import beta

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "docs" / "tables" / "mixture-chance.md"
SEED = 60617
sys.path.insert(0, str(ROOT / "tests"))

from support_mixture import blind  # noqa: E402

from tickover.tasks.mixture.scoring import Taste  # noqa: E402

KINDS: dict[str, dict[str, Any]] = {
    "12 numbers a round": {},
    "2 numbers a round": {"reads": blind.FEW},
    "12 words a round": {"seen_as": "words"},
    "a sensor's log": {"seen_as": "log"},
}
EDGES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.0001)
MOMENTS = {"now": "what is in, once read", "after": "jets advised", "other": "jets beside them"}


def interval(hits: int, count: int) -> tuple[float, float]:
    """Between which shares the truth lies nine times in ten (Clopper and Pearson, exact)."""
    low = 0.0 if hits == 0 else float(beta.ppf(0.05, hits, count - hits + 1))
    high = 1.0 if hits == count else float(beta.ppf(0.95, hits + 1, count - hits))
    return low, high


def row(name: str, told: list[blind.Told]) -> str:
    """One line: how many, told, seen with its interval, Brier score and that of the base rate."""
    chance = np.array([t.chance for t in told])
    lean = np.array([t.lean for t in told], dtype=float)
    low, high = interval(int(lean.sum()), lean.size)
    seen = lean.mean()
    return (
        f"| {name} | {lean.size} | {100 * chance.mean():.1f} | {100 * seen:.1f} "
        f"| {100 * low:.0f} to {100 * high:.0f} | {np.mean((chance - lean) ** 2):.3f} "
        f"| {seen * (1.0 - seen):.3f} |"
    )


def bins(told: list[blind.Told]) -> list[str]:
    """One line for each bin of the chance told."""
    rows = []
    for low, high in itertools.pairwise(EDGES):
        here = [t for t in told if low <= t.chance < high]
        if here:
            rows.append(row(f"{100 * low:.0f} to {100 * high:.0f} %", here))
    return rows


def measure(machines: int, until: float) -> dict[str, list[blind.Outcome]]:
    """All kinds of reading on as many machines as fit."""
    found: dict[str, list[blind.Outcome]] = {name: [] for name in KINDS}
    for number in range(machines):
        if number >= 2 and time.monotonic() > until:
            break
        if number % 10 == 0:
            print(f"{number} of {machines}", file=sys.stderr)
        one = blind.bench(np.random.default_rng([SEED, number]))
        for k, (name, how) in enumerate(KINDS.items()):
            rng = np.random.default_rng([SEED, number, k])
            found[name].append(blind.run(one, rng, taste=Taste(lean_cap=1.0), others=1, **how))
    return found


HEAD = ["| {} | cases | told % | seen % | seen, 9 in 10 % | Brier | Brier of the mean |",
        "|-|-|-|-|-|-|-|"]  # fmt: skip


def report(found: dict[str, list[blind.Outcome]]) -> list[str]:
    """The tables."""
    every = [t for outcomes in found.values() for o in outcomes for t in o.told]
    lines = ["## By the chance told", "", HEAD[0].format("told"), HEAD[1], *bins(every), ""]
    lines += ["The same for the jets advised alone, which nobody has read yet:", "",
              HEAD[0].format("told"), HEAD[1],
              *bins([t for t in every if t.moment == "after"]), ""]  # fmt: skip
    lines += ["## By evidence, round and what is asked", "", HEAD[0].format("asked"), HEAD[1]]
    for name, outcomes in found.items():
        told = [t for o in outcomes for t in o.told]
        for moment, words in MOMENTS.items():
            for turn in range(4):
                here = [t for t in told if t.moment == moment and t.turn == turn]
                if here:
                    lines.append(row(f"{name}, round {turn}: {words}", here))
    lines += ["", "## Intervals and the error told", "",
              "| reading | after round | in 68 % | in 90 % | in 68 %, half throttle up "
              "| in 90 %, half throttle up | rms error told % | rms error seen % |",
              "|-|-|-|-|-|-|-|-|"]  # fmt: skip
    for name, outcomes in found.items():
        for turn in range(3):
            held = (
                100 * np.mean([getattr(o, field)[turn] for o in outcomes])
                for field in ("inside_68", "inside_90", "high_68", "high_90")
            )
            errors = (
                100 * np.sqrt(np.mean([o.told_error[turn] ** 2 for o in outcomes])),
                100 * np.sqrt(np.mean([o.rms[turn + 1] ** 2 for o in outcomes])),
            )
            lines.append(
                f"| {name} | {turn + 1} | " + " | ".join(f"{h:.0f}" for h in held)
                + " | " + " | ".join(f"{e:.1f}" for e in errors) + " |"
            )  # fmt: skip
    return lines


def main(machines: int, minutes: float) -> None:
    """Run, write the table and print it."""
    begun = time.monotonic()
    found = measure(machines, begun + 60.0 * minutes)
    count = len(next(iter(found.values())))
    text = "\n".join([
        "# The chance of a lean point: told and seen",
        "",
        f"Made by `python bench/calibration_mixture.py {machines}` in "
        f"{time.monotonic() - begun:.0f} s, seed {SEED}. Synthetic: {count} invented machines as "
        "in [mixture-blind.md](mixture-blind.md), each with every kind of reading, three rounds; "
        "no real carburettor was measured.",
        "",
        "A point is lean where the true mixture is more than 5 % over the target at half throttle "
        "or above, anywhere on the map that means something; the chance told is the chance of one "
        "such point or more. Brier: mean squared difference of chance and outcome, less is better; "
        "beside it that of telling everybody the share seen.",
        "",
        *report(found),
        "",
    ])  # fmt: skip
    TABLE.write_text(text, encoding="utf-8", newline="\n")
    print(text)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 150,
        float(sys.argv[2]) if len(sys.argv) > 2 else 20.0,
    )
