"""Make docs/tables/mixture-blind.md: the advice on invented carburettors nobody described.

Run with `python bench/blind_mixture.py [trials [minutes]]`; 200 take some five minutes of one core,
and no more than the minutes given (20) in any case: trials that do not fit are left out and the
table says how many were run. The engines, what is hidden in them and the slow crank-resolved truth
stand in tests/support_mixture.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "docs" / "tables" / "mixture-blind.md"
SEED = 81817
sys.path.insert(0, str(ROOT / "tests"))

from support_mixture import blind  # noqa: E402

from tickover.tasks.mixture.scoring import Taste  # noqa: E402

NO_CAP = Taste(lean_cap=1.0)
KINDS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("12 numbers a round", {}),
    ("the same, no cap", {"taste": NO_CAP}),
    ("12 words a round", {"seen_as": "words"}),
    ("the same, no cap", {"seen_as": "words", "taste": NO_CAP}),
    ("2 numbers a round", {"reads": blind.FEW}),
    ("the same, no cap", {"reads": blind.FEW, "taste": NO_CAP}),
)
"""What is read in a round, and whether a setting too likely lean is set aside for a richer one."""


def trial(number: int, how: Mapping[str, Any]) -> blind.Outcome:
    """One invented machine, three rounds."""
    rng = np.random.default_rng([SEED, number])
    return blind.run(blind.bench(rng), rng, **how)


def lines(outcomes: list[blind.Outcome], what: str) -> list[str]:
    """The rows of one kind of reading."""
    rms = np.array([o.rms for o in outcomes])
    lean = np.array([o.leanest_high for o in outcomes])
    in68 = np.array([o.inside_68 for o in outcomes])
    in90 = np.array([o.inside_90 for o in outcomes])
    told = np.array([o.told_lean for o in outcomes])
    rows = []
    for turn in range(rms.shape[1]):
        beside = ("", "", "") if turn == 0 else (
            f"{100 * told[:, turn - 1].mean():.0f}", f"{100 * in68[:, turn - 1].mean():.0f}",
            f"{100 * in90[:, turn - 1].mean():.0f}",
        )  # fmt: skip
        rows.append(
            f"| {what} | {len(outcomes)} | {turn} "
            f"| {100 * np.sqrt((rms[:, turn] ** 2).mean()):.1f} "
            f"| {100 * np.median(rms[:, turn]):.1f} | {100 * np.quantile(rms[:, turn], 0.9):.1f} "
            f"| {100 * np.mean(lean[:, turn] > 0.05):.1f} | {beside[0]} "
            f"| {100 * np.quantile(lean[:, turn], 0.98):+.1f} | {beside[1]} | {beside[2]} |"
        )
    return rows


def trials_of(count: int, how: Mapping[str, Any], until: float) -> list[blind.Outcome]:
    """As many trials as fit before `until`, with a line of progress every ten seconds."""
    done: list[blind.Outcome] = []
    told = time.monotonic()
    for number in range(count):
        now = time.monotonic()
        if now > until and len(done) >= 2:
            break
        if now - told > 10.0:
            told = now
            print(f"{number} of {count}", file=sys.stderr)
        done.append(trial(number, how))
    return done


def main(trials: int, minutes: float) -> None:
    """Run the trials, at most for so many minutes, and write the table."""
    begun = time.monotonic()
    rows, counts = [], []
    for n, (what, how) in enumerate(KINDS, 1):
        found = trials_of(trials, how, begun + 60.0 * minutes * n / len(KINDS))
        counts.append(len(found))
        rows += lines(found, what)
    run = f"{min(counts)}" if min(counts) == max(counts) else f"{min(counts)} to {max(counts)}"
    text = "\n".join([
        "# Mixture advice on carburettors nobody described",
        "",
        f"Made by `python bench/blind_mixture.py {trials}` in {time.monotonic() - begun:.0f} s on "
        f"one core, seed {SEED}. Synthetic: all machines are invented, no real carburettor was "
        "measured.",
        "",
        f"{run} machines of each kind, the same ones in every kind, of 90 "
        "to 250 cm3 a cylinder. The truth is crank-resolved (air with "
        "inertia, port, valves, fuel column, jets that lose discharge at low Reynolds number, "
        "emulsion, worn needle); the fit is the mean-value model with its four factors. Jets at "
        "random from the drawer; each round reads 12 (or 2) of the 31 points of the map with a "
        "sensor of 1.5 % noise and 1.2 % offset of its own, or by an eye of 4 % and 2 %, takes the "
        "advice, and changes. Jets with which it would not run at all (lambda under 0.60 or over "
        "1.40) are drawn again. Error: "
        "ln of lambda over target, over every point of the map that means something. Lean: some "
        "point from half throttle up more than 5 % over the target.",
        "",
        "| reading | machines | after round | rms error % (pooled) | median % | worst tenth from % "
        "| trials with a lean point % | told % | 98 of 100 stay below % | in 68 % | in 90 % |",
        "|-|-|-|-|-|-|-|-|-|-|-|",
        *rows,
        "",
        "Round 0 is before any advice. 'In 68 %' and 'in 90 %': how often the true mixture at a "
        "point lay in the interval told for the jets just advised, before they were read. 'Told': "
        "the mean chance of a lean point told with the advice; how well it is met stands in "
        "[mixture-chance.md](mixture-chance.md). 'No cap': without the rule that a setting is set "
        f"aside for a richer one while that chance is above {100 * Taste().lean_cap:.0f} %.",
        "",
    ])  # fmt: skip
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text(text, encoding="utf-8", newline="\n")
    print(text)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 200,
        float(sys.argv[2]) if len(sys.argv) > 2 else 20.0,
    )
