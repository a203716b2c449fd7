"""Make docs/tables/listen-*.md: what listening gets right and wrong on sound it never saw.

Run with `python bench/listen_tables.py [recordings per row] [table ...]`; 8 take about ten
minutes on an idle core. Tables: speed octaves slots blips variation refusals.

Real recordings: put them in a folder with a file `known.csv` beside them, columns
file,firing_angles_deg,idle_rpm,measured_with (angles separated by spaces), and run
`python bench/listen_tables.py real FOLDER`. They make docs/tables/listen-real.md and never leave
the folder.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from support_sound import refuse  # noqa: E402
from support_sound.trials import LAYOUTS, trial  # noqa: E402

from tickover.errors import InputError  # noqa: E402
from tickover.tasks.listen import analyse  # noqa: E402
from tickover.tasks.listen.reading import read_recording  # noqa: E402

TABLES = ROOT / "docs" / "tables"
SYNTHETIC = (
    "All of this is synthetic: engines computed by the generator in "
    "`tests/support_sound/second_engine.py`, which differs from the package's own in pulse, pipe, "
    "noise and cause of unevenness. No real engine was recorded. Made by "
    "`python bench/listen_tables.py {count} {name}`.\n"
)
LOUD, USUAL, NOISY = 20.0, 10.0, 3.0
FRESH = 61_000  # first seed of the tables: no development and no test has used these
DRAW = 61  # of the things to refuse, likewise


def percent(part: float) -> str:
    """A share as the tables show it."""
    return f"{100.0 * part:.0f} %"


def write(name: str, title: str, count: int, head: list[str], rows: list[list[str]]) -> None:
    """One table, with the plain statement above it."""
    TABLES.mkdir(parents=True, exist_ok=True)
    lines = [
        f"# {title}",
        "",
        SYNTHETIC.format(count=count, name=name),
        "| " + " | ".join(head) + " |",
    ]
    lines.append("|" + "---|" * len(head))
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    (TABLES / f"listen-{name}.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(*lines, sep="\n", flush=True)


def speed_table(count: int) -> None:
    """Error of speed, frame by frame."""
    rows, usual = [], []
    cases = [("open air", LOUD, None), ("open air", NOISY, None)]
    cases += [("yard", USUAL, "yard"), ("shed", USUAL, "shed")]
    for layout in LAYOUTS:
        some = [trial(layout, FRESH + s) for s in range(2 * count)]
        usual += some
        rows.append(_speed_row(layout, "open air", USUAL, some))
    rows.append(_speed_row("all of these", "open air", USUAL, usual))
    for place, noise, room in cases:
        some = [
            trial(layout, FRESH + 500 + s, signal_to_noise_db=noise, room=room)
            for layout in LAYOUTS
            for s in range(max(1, count // 2))
        ]
        rows.append(_speed_row("all layouts", place, noise, some))
    head = ["engine", "place", "signal to noise", "recordings", "refused", "median error",
            "95th percentile", "frames over 5 % off", "recordings over 5 % off"]  # fmt: skip
    write("speed", "Listen: error of the speed, steady idle", count, head, rows)


def _speed_row(layout: str, what: str, noise: float, some: list) -> list[str]:
    kept = [one for one in some if one.heard.refused is None]
    refused = Counter(one.heard.refused.code for one in some if one.heard.refused is not None)
    told = ", ".join(f"{number} {code}" for code, number in refused.items()) or "0"
    start = [layout, what, f"{noise:.0f} dB", str(len(some)), told]
    if not kept:
        return [*start, "", "", "", ""]
    errors = np.concatenate([one.errors() for one in kept])
    gross = sum(one.gross for one in kept)
    return [
        *start,
        f"{100 * np.median(errors):.3f} %",
        f"{100 * np.percentile(errors, 95):.2f} %",
        percent(float(np.mean(errors > 0.05))),
        f"{gross} of {len(kept)}",
    ]


def octave_table(count: int) -> None:
    """Half, double and two thirds: with and without a rough speed, healthy and with one dead."""
    rows = []
    sums: dict[tuple[bool, float | None], list[int]] = {}
    for layout, angles in LAYOUTS.items():
        cells = []
        for about, weak in ((True, None), (False, None), (True, 0.0), (False, 0.0)):
            if weak is not None and len(angles) == 1:
                cells.append("")
                continue
            some = [trial(layout, FRESH + 1000 + s, about=about, weak=weak) for s in range(count)]
            kept = [one for one in some if one.heard.refused is None]
            gross = sum(one.gross for one in kept)
            cells.append(f"{gross} of {len(kept)}; {len(some) - len(kept)} refused")
            total = sums.setdefault((about, weak), [0, 0, 0])
            total[:] = [total[0] + gross, total[1] + len(kept), total[2] + len(some) - len(kept)]
        rows.append([layout, *cells])
    rows.append(["all", *(f"{wrong} of {n}; {no} refused" for wrong, n, no in sums.values())])
    head = ["engine", "healthy, rough speed given", "healthy, nothing given",
            "one dead, rough speed given", "one dead, nothing given"]  # fmt: skip
    title = "Listen: recordings whose speed is more than 5 % off"
    write("octaves", title, count, head, rows)


def slot_table(count: int) -> None:
    """Confusion of the weak slot."""
    rows = []
    for layout in ("180 four", "240 triple", "360 twin", "270 twin, 90 V", "90 V four"):
        for spread in (0.1, 0.2):
            for name, weak in (("healthy", None), ("20 % weak", 0.8), ("50 % weak", 0.5),
                               ("dead", 0.0)):  # fmt: skip
                asked = layout == "180 four" and spread == 0.2 and weak in (None, 0.5)
                some = [
                    trial(layout, FRESH + 2000 + s, weak=weak, pipe_spread=spread)
                    for s in range(25 * count if asked else max(4, count // 2))
                ]
                heard = [one.heard for one in some]
                rows.append([layout, percent(spread), name, *_slot_cells(heard)])
                print(rows[-1], flush=True)
    head = ["engine", "pipe spread", "truth", "recordings", "refused", "withheld", "weak slot told",
            "share of all", "depth, median"]  # fmt: skip
    write("slots", "Listen: is one slot weak?", count, head, rows)


def _slot_cells(heard: list) -> list[str]:
    refused = sum(one.refused is not None for one in heard)
    withheld = sum(one.refused is None and one.slots is None for one in heard)
    told = sum(one.weak_slot is not None for one in heard)
    depths = [one.weakest_depth for one in heard if one.weakest_depth is not None]
    middle = f"{np.median(depths):.2f}" if depths else ""
    cells = [str(len(heard)), str(refused), str(withheld), str(told)]
    return [*cells, percent(told / len(heard)), middle]


def blip_table(count: int) -> None:
    """Blips: found or not, and their times against what the throttle was told to do."""
    rows = []
    for layout in LAYOUTS:
        found = missed = wrong = refused = 0
        hanging = Counter()
        peaks, rises, falls = [], [], []
        for seed in range(2 * count):
            told = _blip(FRESH + 4000 + seed)
            one = trial(layout, FRESH + 4000 + seed, speed=told.corners, duration_s=14.0)
            refused += one.heard.refused is not None
            if one.heard.refused is not None:
                continue
            near = [b for b in one.heard.blips if abs(b.peak_s - told.peak_s) < 1.0]
            if len(one.heard.blips) != 1 or not near:
                missed += 1
                continue
            peak = near[0].peak_rpm / told.peak_rpm - 1.0
            if abs(peak) > 0.1:
                wrong += 1
                continue
            found += 1
            hanging[told.hangs, near[0].hanging] += 1
            peaks.append(abs(peak))
            rises.append(abs(near[0].rise_s - told.rise_s))
            if not told.hangs and near[0].fall_s is not None:
                falls.append(abs(near[0].fall_s - told.fall_s))
        hangs = hanging[True, True] + hanging[True, False]
        rows.append([layout, str(2 * count), str(refused), str(missed), str(wrong), str(found),
                     *(_middle(values, scale) for values, scale in
                       ((peaks, "%"), (rises, "s"), (falls, "s"))),
                     f"{hanging[True, True]} of {hangs}",
                     f"{hanging[False, True]} of {found - hangs}"])  # fmt: skip
    head = ["engine", "recordings", "refused", "missed or more than one", "peak over 10 % off",
            "found", "peak off, median", "rise off, median", "fall off, median",
            "hanging told", "hanging told wrongly"]  # fmt: skip
    write("blips", "Listen: one blip to 3000 to 6000 rpm, half of them hanging", count, head, rows)


@dataclass(frozen=True)
class Blip:
    """What the throttle was told to do."""

    corners: tuple[tuple[float, float], ...]
    peak_s: float
    peak_rpm: float
    rise_s: float
    fall_s: float
    hangs: bool


def _blip(seed: int) -> Blip:
    chance = np.random.default_rng(seed)
    idle, peak = chance.uniform(900.0, 1400.0), chance.uniform(3000.0, 6000.0)
    up, down = chance.uniform(0.2, 0.6), chance.uniform(0.6, 1.6)
    shut = 4.0 + up + chance.uniform(0.1, 0.6)
    corners = [(0.0, idle), (4.0, idle), (4.0 + up, peak), (shut, peak)]
    if seed % 2:
        level = idle * chance.uniform(1.35, 1.8)
        corners += [(shut + down, level), (shut + down + 2.5, level), (shut + down + 3.0, idle)]
    else:
        corners.append((shut + down, idle))
    corners.append((14.0, idle))
    # Rise is counted from a tenth to nine tenths, fall from nine tenths to three.
    return Blip(tuple(corners), 4.0 + up, peak, 0.8 * up, 0.6 * down, bool(seed % 2))


def _middle(values: list[float], unit: str) -> str:
    if not values:
        return ""
    middle = float(np.median(values))
    return f"{100 * middle:.1f} %" if unit == "%" else f"{middle:.2f} s"


def variation_table(count: int) -> None:
    """Cycle to cycle variation against the truth."""
    rows = []
    for layout in LAYOUTS:
        off, true, null = [], [], 0
        for seed in range(count):
            one = trial(layout, FRESH + 3000 + seed)
            if one.heard.variation_percent is None:
                null += 1
                continue
            true.append(100.0 * one.made.cycle_variation())
            off.append(one.heard.variation_percent - true[-1])
        rows.append([layout, str(len(off)), str(null), f"{min(true):.2f} to {max(true):.2f} %",
                     f"{np.median(off):+.2f}", f"{np.median(np.abs(off)):.2f}",
                     f"{np.max(np.abs(off)):.2f}"])  # fmt: skip
    head = ["engine", "told", "not told", "truth", "median of error (points)",
            "median size (points)", "worst (points)"]  # fmt: skip
    write("variation", "Listen: cycle to cycle variation", count, head, rows)


def refusal_table(count: int) -> None:
    """Things to refuse, each taken for three engines with and without a rough speed."""
    patterns = ("single", "180 twin", "180 four")
    tried, passed, reasons = Counter(), Counter(), {}
    through = []
    for kind, name, make in refuse.sounds(DRAW):
        sound = make()
        for layout in patterns:
            for about in (None, 1100.0):
                heard = analyse(sound, refuse.RATE, LAYOUTS[layout], about_rpm=about)
                tried[kind] += 1
                if heard.refused is None:
                    passed[kind] += 1
                    through.append(f"{name} as {layout}" + (" about 1100" if about else ""))
                else:
                    reasons.setdefault(kind, Counter())[heard.refused.code] += 1
    rows = [
        [kind, str(tried[kind]), str(passed[kind]), percent(passed[kind] / tried[kind]),
         ", ".join(f"{n} {code}" for code, n in reasons.get(kind, Counter()).most_common())]
        for kind in tried
    ]  # fmt: skip
    total, bad = sum(tried.values()), sum(passed.values())
    rows.append(["all", str(total), str(bad), f"{100 * bad / total:.1f} %", ""])
    head = ["kind", "trials", "wrongly accepted", "share", "reasons given"]
    write("refusals", "Listen: things to refuse", count, head, rows)
    with (TABLES / "listen-refusals.md").open("a", encoding="utf-8") as out:
        out.write("\nWrongly accepted: " + ("; ".join(through) or "none") + ".\n")


def real_table(folder: Path) -> None:
    """A user's own recordings with known idle speed."""
    rows = []
    with (folder / "known.csv").open(encoding="utf-8", newline="") as known:
        for line in csv.DictReader(known):
            angles = [float(angle) for angle in line["firing_angles_deg"].split()]
            true = float(line["idle_rpm"])
            try:
                sound = read_recording(folder / line["file"])
                heard = analyse(sound.samples, sound.rate, angles, about_rpm=true)
            except InputError as problem:
                rows.append([line["file"], f"{true:.0f}", line["measured_with"],
                             str(problem).replace(f"{folder}/", ""), ""])  # fmt: skip
                continue
            if heard.refused is not None or heard.idle_rpm is None:
                said = heard.refused.reason if heard.refused else heard.why["idle_rpm"]
                rows.append([line["file"], f"{true:.0f}", line["measured_with"], said, ""])
                continue
            found = heard.idle_rpm.median
            rows.append([line["file"], f"{true:.0f}", line["measured_with"], f"{found:.0f}",
                         f"{100 * (found / true - 1):+.2f} %"])  # fmt: skip
    TABLES.mkdir(parents=True, exist_ok=True)
    told = (
        "Recordings of real engines with an idle speed measured another way, which was also given "
        "as the rough speed."
    )
    lines = ["# Listen: real recordings", "", told, ""]
    lines += ["| file | measured rpm | with | heard rpm | error |", "|---|---|---|---|---|"]
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    (TABLES / "listen-real.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(*lines, sep="\n")


TRIALS = {
    "speed": speed_table,
    "octaves": octave_table,
    "slots": slot_table,
    "blips": blip_table,
    "variation": variation_table,
    "refusals": refusal_table,
}


def main(words: list[str]) -> None:
    """Tables asked for, or all."""
    if words and words[0] == "real":
        real_table(Path(words[1]))
        return
    count = int(words[0]) if words else 8
    for name in words[1:] or TRIALS:
        TRIALS[name](count)


if __name__ == "__main__":
    main(sys.argv[1:])
