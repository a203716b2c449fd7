"""Write docs/validation.md: every check against the outside, its source, how far off we are.

    .venv/bin/python docs/make_validation.py

Runs tests/published and looks on where values are compared. A line says how many comparisons of
numbers were made, the largest relative difference, and how much of the allowed difference it used.
Comparisons written as plain inequalities, or of words, are counted as checks only.
"""

from __future__ import annotations

import ast
import math
import subprocess
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
PUBLISHED = ROOT / "tests" / "published"
TARGET = ROOT / "docs" / "validation.md"
NOUGHT = 1e-12
PAGE = """# Checked against the outside

What Tickover computes, held against standards, handbooks, worked examples, facts of the trade and
other libraries. Each file's own words say where its values are from, which were seen printed and
which not; values from memory never decide.

{total} checks in {files} files passed in {seconds} s, with {compared} comparisons of numbers{passed_over}.
'Furthest off' is the largest relative difference in a file; 'of the allowed' is the largest share
of an allowed difference that was used. A dash: only words, whole numbers or bounds are compared.

Made by `.venv/bin/python docs/make_validation.py`, which runs them. The same checks are part of
`python3 do.py test`; blind trials stand in [tables](tables).

| source, in the words of the check | again | checks | numbers | furthest off | of the allowed |
|---|---|---:|---:|---:|---:|
{rows}
"""  # noqa: E501


class Watch:
    """A pytest plugin that notes what compared numbers differ by, for each file."""

    def __init__(self) -> None:
        self.compared: dict[str, list[tuple[float, float]]] = defaultdict(list)
        self.passed: dict[str, int] = defaultdict(int)
        self.other: dict[str, int] = defaultdict(int)
        self.now = ""

    def pytest_runtest_setup(self, item: Any) -> None:
        """Which file is being tried."""
        self.now = Path(item.fspath).name

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Count what passed, and what did not."""
        if report.when == "call":
            name = Path(report.fspath).name
            (self.passed if report.passed else self.other)[name] += 1

    def note(self, ours: object, theirs: object, allowed: object) -> None:
        """One comparison."""
        try:
            a, b, tolerance = float(ours), float(theirs), float(allowed)  # type: ignore[arg-type]
        except (TypeError, ValueError):
            return
        if not (math.isfinite(a) and math.isfinite(b)):
            return
        off = abs(a - b)
        relative = off / abs(b) if abs(b) > NOUGHT else math.nan
        self.compared[self.now].append((relative, off / tolerance if tolerance > 0 else math.nan))


def watch_approx(watch: Watch) -> None:
    """Look on at pytest.approx and numpy.testing.assert_allclose."""
    import numpy as np
    import pytest

    scalar: Any = next(c for c in type(pytest.approx(1.0)).__mro__ if c.__name__ == "ApproxScalar")
    plain = scalar.__eq__

    def looked_on(self: Any, actual: object) -> bool:
        if np.ndim(actual) == 0:
            watch.note(actual, self.expected, self.tolerance)
        return bool(plain(self, actual))

    scalar.__eq__ = looked_on
    allclose = np.testing.assert_allclose

    def looked_on_all(
        actual: Any, desired: Any, rtol: float = 1e-7, atol: float = 0.0, **how: Any
    ) -> None:
        for a, b in zip(
            *(np.broadcast_arrays(actual, desired)[k].ravel() for k in (0, 1)), strict=True
        ):
            watch.note(a, b, atol + rtol * abs(b))
        allclose(actual, desired, rtol=rtol, atol=atol, **how)

    np.testing.assert_allclose = looked_on_all  # type: ignore[assignment]


def source_of(path: Path) -> str:
    """The file's own words on where its values are from."""
    return " ".join((ast.get_docstring(ast.parse(path.read_text())) or "").split())


def opening(path: Path) -> str:
    """How the row of a file begins: source, and the command that tries it again."""
    words = source_of(path).replace("|", "/")
    name = f"tests/published/{path.name}"
    return f"| {words} | [`python3 do.py test {name}`](../{name})"


def percent(value: float) -> str:
    """A share as a person reads it."""
    if math.isnan(value):
        return "-"
    if value == 0:
        return "0"
    return f"{100 * value:.0f} %" if value >= 0.095 else f"{100 * value:.2g} %"


def line(name: str, watch: Watch) -> str:
    """One row of the table."""
    found = watch.compared.get(name, [])
    relative = max((r for r, _ in found if not math.isnan(r)), default=math.nan)
    used = max((u for _, u in found if not math.isnan(u)), default=math.nan)
    return (
        f"{opening(PUBLISHED / name)} | {watch.passed[name]} "
        f"| {len(found) or '-'} | {percent(relative)} | {percent(used)} |"
    )


def main() -> int:
    """Run the published checks and write what they say."""
    sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]
    import pytest

    watch = Watch()
    watch_approx(watch)
    started = time.perf_counter()
    code = pytest.main(["-q", "-p", "no:cacheprovider", "-p", "no:xdist", str(PUBLISHED)], [watch])
    if code:
        print("A published check did not pass; nothing was written.")
        return int(code)
    files = sorted(path.name for path in PUBLISHED.glob("test_*.py"))
    rows = "\n".join(line(name, watch) for name in files)
    total = sum(watch.passed.values())
    compared = sum(len(found) for found in watch.compared.values())
    left = sum(watch.other.values())
    passed_over = f"; {left} were passed over because a tool is missing" if left else ""
    TARGET.write_text(
        PAGE.format(
            total=total,
            files=len(files),
            seconds=f"{time.perf_counter() - started:.0f}",
            compared=compared,
            passed_over=passed_over,
            rows=rows,
        )
    )
    return 0


if __name__ == "__main__":
    if "--inside" not in sys.argv:  # assertions must be rewritten afresh: a process of its own
        sys.exit(subprocess.call([sys.executable, __file__, "--inside"], cwd=ROOT))
    sys.exit(main())
