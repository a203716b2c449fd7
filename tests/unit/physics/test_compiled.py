"""Compiling: nothing before a loop is called, kept where it can be, and the same numbers."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tickover.physics.carburettor import kernels
from tickover.physics.compiled import can_keep, compiled

LOOPS = """
import sys
sys.path.insert(0, {folder!r})
import loops
assert 'numba' not in sys.modules, 'the compiler was loaded before it was needed'
print(loops.cubed(3.0), loops.squared(3.0))
"""
SOURCE = """
from tickover.physics.compiled import compiled
GROWS = 1.0

@compiled
def squared(x: float) -> float:
    return GROWS * x * x

@compiled
def cubed(x: float) -> float:
    return x * squared(x)
"""


def _run(folder: Path, cache: Path) -> str:
    (folder / "loops.py").write_text(SOURCE)
    out = subprocess.run(
        [sys.executable, "-c", LOOPS.format(folder=str(folder))],
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache)},
        capture_output=True,
        text=True,
        check=True,
    )
    return out.stdout.strip()


def test_an_entry_and_its_part_are_compiled_when_called_and_kept(tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    assert _run(tmp_path, cache) == "27.0 9.0"
    kept = {path.name.split("-")[0] for path in cache.rglob("*.nbi")}
    assert kept == {"loops.cubed", "loops.squared"}
    before = {path: path.stat().st_mtime_ns for path in cache.rglob("*.nbc")}
    assert _run(tmp_path, cache) == "27.0 9.0"
    assert {path: path.stat().st_mtime_ns for path in cache.rglob("*.nbc")} == before


def test_a_folder_that_cannot_be_written_costs_time_only(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("no folder")
    assert _run(tmp_path, in_the_way) == "27.0 9.0"


def test_can_keep_tells(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "new"))
    assert can_keep()
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file"))
    assert not can_keep()


def test_compiled_gives_what_python_gives() -> None:
    plain = kernels.segment_share.__wrapped__  # type: ignore[attr-defined]
    for share in (0.0, 0.1, 0.5, 0.9, 1.0):
        assert kernels.segment_share(share) == pytest.approx(plain(share), rel=1e-15)


def test_division_by_zero_is_infinity() -> None:
    @compiled
    def over(x: float) -> float:
        return 1.0 / x

    assert over(0.0) == float("inf")
