"""Make docs/tables/compression-blind.md: invented engines, their faults hidden, and what is found.

Run with `python bench/blind_compression.py [engines per row] [seed]`; 40 take some ten minutes of
one core. Seed 0 served to try things out; the table is made with another.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

from tickover.tasks.compression import OtherEvidence, assess
from tickover.tasks.compression import hypotheses as h

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "docs" / "tables" / "compression-blind.md"

HOW = """**All of it is synthetic: invented engines, no measured one among them.** It shows what the
reckoning makes of readings it has not seen, not how it fares in your workshop. The readings come
from the slow reference model with other heat laws (Woschni, Annand), oil that scatters in amount
and in what it seals, rings that leak otherwise at rest, a gauge that is wrong, and rounding to
1 psi. The inference knows none of it. Cylinder, valves and gauge are described as the inference
describes them, which is kinder than a real engine.
"""
COLUMNS = """'Said' is the likeliest cause of the guilty cylinder (of the whole engine where the
fault is the engine's), with how often; 'first three' counts where the truth was among the three
likeliest; 'innocents out' are cylinders without a fault called out.

| truth | readings | engines | good / undecided / out | said | first three | mean probability of \
the truth | innocents out | least effective sample size |
|---|---|---|---|---|---|---|---|---|"""
READ = """\
What it says. A leak in one cylinder is found whenever it is of the size tried; which leak it is, a
dry reading alone does not tell (the likeliest is named, with its probability), oil and listening
mostly do. Inlet and exhaust valve are told apart by the ear alone, which is made to be wrong about
one time in eight. What moves all four cylinders alike (cam a tooth late, slow cranking, a gauge
that is wrong by a quarter) is seldom seen in the readings alone and often passes as good: nobody
knows the level of a sound engine well enough. A degree wheel, the cranking speed and a second
gauge tell them.
"""


def _load():
    path = ROOT / "tests" / "references" / "blind_compression.py"
    spec = importlib.util.spec_from_file_location("blind_compression", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["blind_compression"] = module
    spec.loader.exec_module(module)
    return module


def told(found, truth) -> str:
    """Causes of the cylinder that is at fault, or of the whole engine, likeliest first."""
    if truth.cylinder is None:
        return [c.what for c in found.engine]
    return [c.what for c in found.cylinders[truth.cylinder].causes]


def row(blind, fault: str, engines: int, seed: tuple[int, int], *, slow: bool, full: bool):
    """Counts of what is said and of verdicts, how the truth fares, and innocents called out."""
    said, verdicts, right, ess = Counter(), Counter(), [], []
    alarms, among = 0, 0
    for n in range(engines):
        rng = np.random.default_rng([*seed, n])
        truth, day, readings = blind.make(fault, rng, slow=slow, full=full)
        other = None
        if fault == h.HELD_EXHAUST:
            place = f"cyl{truth.cylinder + 1}"
            other = OtherEvidence(tight_exhaust={place: 0.9})
        found = assess(blind.ENGINE, readings, day, other)
        ess.append(found.effective_sample_size)
        causes = told(found, truth)
        said[causes[0]] += 1
        name = h.RING if fault == "rings all round" else fault
        among += name in causes[:3]
        if truth.cylinder is None:
            odds = {c.what: c.probability for c in found.engine}
            words = [c.verdict for c in found.cylinders]
            verdict = "out" if "out" in words else "undecided" if "undecided" in words else "good"
            alarms += words.count("out") if fault == h.SOUND else 0
        else:
            finding = found.cylinders[truth.cylinder]
            odds = {c.what: c.probability for c in finding.causes}
            verdict = finding.verdict
            innocent = set(range(4)) - {truth.cylinder}
            if fault == h.GASKET:
                innocent.discard(truth.cylinder + 1)
            alarms += sum(found.cylinders[i].verdict == "out" for i in innocent)
        verdicts[verdict] += 1
        right.append(odds.get(name, 0.0))
    return said, verdicts, float(np.mean(right)), among, float(np.min(ess)), alarms


def main(engines: int, seed: int) -> None:
    """Write the table."""
    blind = _load()
    plan = [
        ("sound", False, False),
        ("sound", False, True),
        ("sound", True, False),
        *((fault, False, False) for fault in blind.LOCAL),
        *((fault, False, True) for fault in blind.LOCAL),
        *((fault, True, False) for fault in blind.WHOLE),
    ]
    rows = []
    healthy, called, cylinders = 0, 0, 0
    for number, (fault, slow, full) in enumerate(plan):
        begun = time.perf_counter()
        count = 2 * engines if fault == h.SOUND else engines
        said, verdicts, right, among, ess, alarms = row(
            blind, fault, count, (seed, number), slow=slow, full=full
        )
        if fault == h.SOUND:
            healthy, called, cylinders = (
                healthy + count,
                called + verdicts["out"],
                cylinders + alarms,
            )
        kinds = "dry" + (", slow" if slow else "") + (", wet, leak-down, listened" if full else "")
        words = ", ".join(f"{name} {n}" for name, n in said.most_common(4))
        tally = " / ".join(str(verdicts[v]) for v in ("good", "undecided", "out"))
        rows.append(
            f"| {fault} | {kinds} | {count} | {tally} | {words} | {among} | {right:.2f} "
            f"| {alarms} | {ess:.0f} |"
        )
        print(rows[-1], f"({time.perf_counter() - begun:.0f} s)", flush=True)
    share = 100.0 * called / healthy
    lines = [
        "# Blind trials of the compression test",
        "",
        f"Made by `python bench/blind_compression.py {engines} {seed}`.",
        "",
        HOW,
        f"Healthy engines with a cylinder called out: {called} of {healthy} ({share:.1f} percent; "
        f"{cylinders} of {4 * healthy} cylinders).",
        "",
        COLUMNS,
        *rows,
        "",
        READ,
    ]
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 40, int(sys.argv[2]) if len(sys.argv) > 2 else 0
    )
