"""Make docs/tables/compression-blind.md: invented engines, their faults hidden, and what is found.

Run with `python bench/blind_compression.py [engines per row]`; 20 take most of an hour.
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


def _load():
    path = ROOT / "tests" / "references" / "blind_compression.py"
    spec = importlib.util.spec_from_file_location("blind_compression", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["blind_compression"] = module
    spec.loader.exec_module(module)
    return module


def told(found, truth) -> str:
    """What the finding says of the cylinder that is at fault, in a word."""
    if truth.cylinder is None:
        return found.engine[0].what
    return found.cylinders[truth.cylinder].causes[0].what


def row(blind, fault: str, engines: int, seed: int, *, slow: bool, full: bool):
    """Counts of what is said, of verdicts, and the probability given to the truth."""
    said, verdicts, right, ess = Counter(), Counter(), [], []
    alarms = 0
    for n in range(engines):
        rng = np.random.default_rng([seed, n])
        truth, day, readings = blind.make(fault, rng, slow=slow, full=full)
        other = None
        if fault == h.HELD_EXHAUST:
            place = f"cyl{truth.cylinder + 1}"
            other = OtherEvidence(tight_exhaust={place: 0.9})
        found = assess(blind.ENGINE, readings, day, other)
        ess.append(found.effective_sample_size)
        said[told(found, truth)] += 1
        name = h.RING if fault == "rings all round" else fault
        if truth.cylinder is None:
            odds = {c.what: c.probability for c in found.engine}
            words = [c.verdict for c in found.cylinders]
            verdict = "out" if "out" in words else "undecided" if "undecided" in words else "good"
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
    return said, verdicts, float(np.mean(right)), float(np.min(ess)), alarms


def main(engines: int) -> None:
    """Write the table."""
    blind = _load()
    lines = [
        "# Blind trials of the compression test",
        "",
        "Made by `python bench/blind_compression.py`; invented engines, no measured one in it.",
        "The readings come from the slow reference model with other heat laws (Woschni, Annand),",
        "oil that scatters in amount and in what it seals, rings that leak otherwise at rest, a",
        "wrong gauge and readings rounded to 1 psi. The inference knows none of it.",
        "",
        f"{2 * engines} healthy engines read dry, {engines} in every other row. 'Said' is the",
        "most probable cause of the guilty cylinder (of the whole engine where the fault is the",
        "engine's); 'alarms' counts innocent cylinders called out.",
        "",
        "| truth | readings | good / undecided / out | said | mean probability of the truth "
        "| alarms | least ESS |",
        "|---|---|---|---|---|---|---|",
    ]
    plan = [
        ("sound", False, False),
        ("sound", False, True),
        ("sound", True, False),
        *((fault, False, False) for fault in blind.LOCAL),
        *((fault, False, True) for fault in blind.LOCAL),
        *((fault, True, False) for fault in blind.WHOLE),
    ]
    for seed, (fault, slow, full) in enumerate(plan):
        begun = time.perf_counter()
        count = 2 * engines if seed == 0 else engines
        said, verdicts, right, ess, alarms = row(blind, fault, count, seed, slow=slow, full=full)
        kinds = "dry" + (", slow" if slow else "") + (", wet, leak-down, listened" if full else "")
        words = ", ".join(f"{name} {count}" for name, count in said.most_common(4))
        tally = " / ".join(str(verdicts[v]) for v in ("good", "undecided", "out"))
        lines.append(
            f"| {fault} | {kinds} | {tally} | {words} | {right:.2f} | {alarms} | {ess:.0f} |"
        )
        print(lines[-1], f"({time.perf_counter() - begun:.0f} s)", flush=True)
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text("\n".join([*lines, ""]), encoding="utf-8")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
