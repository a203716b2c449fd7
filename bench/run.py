"""One table of every claim: ours and theirs, side by side in one run.

Run with `python3 do.py bench`, or with names of subjects: `python3 do.py bench decide book`.
`python3 do.py bench --quick` leaves out the subjects that take longest.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent

# Worked out in earnest: the rows that measure the keeping of answers set a folder of their own.
os.environ["TICKOVER_ANSWERS"] = "off"

LONG = ("compression", "feel", "listen")
"""Subjects left out by --quick: five sixths of the time."""


ONE = "--one-subject"
MISSED = 3  # [exit code] of one subject; Python's own 1 says that it broke off


def subjects() -> dict[str, Path]:
    """Subject to the module that measures it."""
    return {path.stem.removeprefix("bench_"): path for path in sorted(HERE.glob("bench_*.py"))}


def rows_of(path: Path) -> list[dict[str, Any]]:
    """The rows one module measures."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    rows: list[dict[str, Any]] = module.rows()
    return rows


def shown(value: object) -> str:
    """A cell."""
    if value is None:
        return ""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def main(wanted: list[str]) -> int:
    """Print the table; exit code 1 when a claim is not met."""
    known = subjects()
    if "--quick" in wanted:
        known = {name: path for name, path in known.items() if name not in LONG}
        wanted = [name for name in wanted if name != "--quick"]
    strange = [name for name in wanted if name not in known]
    if strange:
        print(f"No such subject: {', '.join(strange)}. There are: {', '.join(known)}.")
        return 2
    print(f"{'claim':62} {'ours':>10} {'theirs':>10} {'ratio':>9} {'limit':>22}  met", flush=True)
    missed = False
    for name in wanted or known:
        # a process each: neither memory nor what was compiled passes from one to the next
        code = subprocess.call([sys.executable, __file__, ONE, name])
        if code not in (0, MISSED):
            print(f"  ({name}: broke off, see above)", flush=True)
        missed = missed or code != 0
    return 1 if missed else 0


def measure(name: str) -> int:
    """Print the rows of one subject; exit code `MISSED` when a claim is not met."""
    started = time.perf_counter()
    missed = 0
    for row in rows_of(subjects()[name]):
        ours = row.get("ours", row.get("ours_ms"))
        theirs = row.get("other", row.get("other_ms"))
        met = row.get("met")
        missed += met is False
        word = {True: "yes", False: "NO", None: ""}[met]
        print(
            f"{row['claim'][:62]:62} {shown(ours):>10} {shown(theirs):>10} "
            f"{shown(row.get('ratio')):>9} {shown(row.get('limit')):>22}  {word}",
            flush=True,
        )
    print(f"  ({name}: {time.perf_counter() - started:.0f} s)", flush=True)
    return MISSED if missed else 0


if __name__ == "__main__":
    sys.exit(measure(sys.argv[2]) if sys.argv[1:2] == [ONE] else main(sys.argv[1:]))
