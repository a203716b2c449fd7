"""Make docs/tables/listen-*.md: what listening gets right and wrong on sound it never saw.

Run with `python bench/listen_tables.py [recordings per row] [table ...]`; 24 take about a
quarter of an hour. Tables: speed octaves slots variation refusals real.

Real recordings: put them in a folder with a file `known.csv` beside them, columns
file,firing_angles_deg,idle_rpm,measured_with (angles separated by spaces), and run
`python bench/listen_tables.py real FOLDER`. They make docs/tables/listen-real.md and never leave
the folder.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
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
    "`python bench/listen_tables.py {count}`.\n"
)
LOUD, USUAL, NOISY = 20.0, 10.0, 3.0


def percent(part: float) -> str:
    """A share as the tables show it."""
    return f"{100.0 * part:.0f} %"


def write(name: str, title: str, count: int, head: list[str], rows: list[list[str]]) -> None:
    """One table, with the plain statement above it."""
    TABLES.mkdir(parents=True, exist_ok=True)
    lines = [f"# {title}", "", SYNTHETIC.format(count=count), "| " + " | ".join(head) + " |"]
    lines.append("|" + "---|" * len(head))
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    (TABLES / f"listen-{name}.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(*lines, sep="\n", flush=True)


def blip(idle: float, peak: float) -> tuple[tuple[float, float], ...]:
    """Idle, up in 0.5 s, back in 1.2 s, idle."""
    return ((0.0, idle), (5.0, idle), (5.5, peak), (5.8, peak), (7.0, idle), (12.0, idle))


def speed_table(count: int) -> None:
    """Error of speed, frame by frame."""
    rows = []
    cases = [("open air", USUAL, None), ("open air", LOUD, None), ("open air", NOISY, None)]
    cases += [("yard", USUAL, "yard"), ("shed", USUAL, "shed")]
    for layout in LAYOUTS:
        for place, noise, room in cases:
            some = [trial(layout, s, signal_to_noise_db=noise, room=room) for s in range(count)]
            rows.append(_speed_row(layout, f"steady, {place}", noise, some))
        some = [trial(layout, s, speed=blip(1100.0 + 10 * s, 4500.0)) for s in range(count)]
        rows.append(_speed_row(layout, "one blip to 4500", USUAL, some))
    head = ["engine", "recording", "signal to noise", "refused", "median error", "95th percentile",
            "frames over 5 % off", "recordings over 5 % off"]  # fmt: skip
    write("speed", "Listen: error of the speed", count, head, rows)


def _speed_row(layout: str, what: str, noise: float, some: list) -> list[str]:
    kept = [one for one in some if one.heard.refused is None]
    refused = Counter(one.heard.refused.code for one in some if one.heard.refused is not None)
    told = ", ".join(f"{number} {code}" for code, number in refused.items()) or "0"
    start = [layout, what, f"{noise:.0f} dB", told]
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
    for layout, angles in LAYOUTS.items():
        cells = []
        for about, weak in ((True, None), (False, None), (True, 0.0), (False, 0.0)):
            if weak is not None and len(angles) == 1:
                cells.append("")
                continue
            some = [trial(layout, 1000 + s, about=about, weak=weak) for s in range(2 * count)]
            kept = [one for one in some if one.heard.refused is None]
            gross = sum(one.gross for one in kept)
            cells.append(f"{gross} of {len(kept)}; {len(some) - len(kept)} refused")
        rows.append([layout, *cells])
    head = ["engine", "healthy, rough speed given", "healthy, nothing given",
            "one dead, rough speed given", "one dead, nothing given"]  # fmt: skip
    title = "Listen: recordings whose speed is more than 5 % off"
    write("octaves", title, count, head, rows)


def slot_table(count: int) -> None:
    """Confusion of the weak slot."""
    rows = []
    for layout in ("360 twin", "240 triple", "180 four", "270 twin, 90 V", "90 V four"):
        for spread in (0.1, 0.2):
            for name, weak in (("healthy", None), ("20 % weak", 0.8), ("50 % weak", 0.5),
                               ("dead", 0.0)):  # fmt: skip
                some = [
                    trial(layout, 2000 + s, weak=weak, pipe_spread=spread) for s in range(2 * count)
                ]
                heard = [one.heard for one in some]
                rows.append([layout, percent(spread), name, *_slot_cells(heard)])
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


def variation_table(count: int) -> None:
    """Cycle to cycle variation against the truth."""
    rows = []
    for layout in LAYOUTS:
        off, true, null = [], [], 0
        for seed in range(2 * count):
            one = trial(layout, 3000 + seed)
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
    """Things to refuse, each taken for five engines with and without a rough speed."""
    patterns = ("single", "360 twin", "270 twin, 90 V", "240 triple", "180 four")
    tried, passed, reasons = Counter(), Counter(), {}
    through = []
    for kind, name, sound in refuse.sounds():
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
                rows.append([line["file"], f"{true:.0f}", line["measured_with"], str(problem), ""])
                continue
            if heard.refused is not None or heard.idle_rpm is None:
                said = heard.refused.reason if heard.refused else heard.why["idle_rpm"]
                rows.append([line["file"], f"{true:.0f}", line["measured_with"], said, ""])
                continue
            found = heard.idle_rpm.median
            rows.append([line["file"], f"{true:.0f}", line["measured_with"], f"{found:.0f}",
                         f"{100 * (found / true - 1):+.2f} %"])  # fmt: skip
    TABLES.mkdir(parents=True, exist_ok=True)
    lines = ["# Listen: real recordings", "", "Recordings of real engines with an idle speed "
             "measured another way.", "", "| file | measured rpm | with | heard rpm | error |",
             "|---|---|---|---|---|"]  # fmt: skip
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    (TABLES / "listen-real.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(*lines, sep="\n")


TRIALS = {
    "speed": speed_table,
    "octaves": octave_table,
    "slots": slot_table,
    "variation": variation_table,
    "refusals": refusal_table,
}


def main(words: list[str]) -> None:
    """Tables asked for, or all."""
    if words and words[0] == "real":
        real_table(Path(words[1]))
        return
    count = int(words[0]) if words else 24
    for name in words[1:] or TRIALS:
        TRIALS[name](count)


if __name__ == "__main__":
    main(sys.argv[1:])
