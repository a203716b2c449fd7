"""Compiling: nothing before a loop is called, kept where it can be, and the same numbers."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tickover.cache.compiled import MOST_KEPT, can_keep, compiled
from tickover.physics.carburettor import kernels

LOOPS = """
import sys
sys.path.insert(0, {folder!r})
import loops
assert 'numba' not in sys.modules, 'the compiler was loaded before it was needed'
print(loops.cubed(3.0), loops.squared(3.0))
"""
IMPORTS = "from tickover.cache.compiled import compiled"
SOURCE = f"""
{IMPORTS}
GROWS = 1.0

@compiled
def squared(x: float) -> float:
    return GROWS * x * x

@compiled
def cubed(x: float) -> float:
    return x * squared(x)
"""


def _run(folder: Path, cache: Path, source: str = SOURCE) -> str:
    (folder / "loops.py").write_text(source)
    out = subprocess.run(
        [sys.executable, "-c", LOOPS.format(folder=str(folder))],
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache), "PYTHONDONTWRITEBYTECODE": "1"},
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


def test_a_change_in_a_part_elsewhere_renews_the_entry_that_calls_it(tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    part, entry = SOURCE.split("@compiled\ndef cubed")
    (tmp_path / "parts.py").write_text(part)
    entry = f"{IMPORTS}\nfrom parts import squared\n\n@compiled\ndef cubed{entry}"
    assert _run(tmp_path, cache, entry) == "27.0 9.0"
    for change, answer in (
        (part.replace("GROWS = 1.0", "GROWS = 2.0"), "54.0 18.0"),
        (part.replace("* x * x", "* x + x"), "18.0 6.0"),
        (part.replace("* x * x", "+ x * 3"), "30.0 10.0"),
    ):
        (tmp_path / "parts.py").write_text(change)
        assert _run(tmp_path, cache, entry) == answer


def test_the_cache_does_not_grow_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    for number in range(MOST_KEPT):
        (tmp_path / f"loop-{number}").mkdir()
        os.utime(tmp_path / f"loop-{number}", (1e9 + number, 1e9 + number))
    _run(tmp_path / "loop-99", tmp_path)
    left = {path.name for path in tmp_path.iterdir() if path.is_dir()}
    assert "loop-99" in left
    assert "loop-0" not in left
    assert len(left) <= MOST_KEPT // 2 + 2


def test_what_others_keep_in_a_chosen_folder_is_left_alone(tmp_path: Path) -> None:
    for number in range(2 * MOST_KEPT):
        (tmp_path / f"theirs {number}").mkdir()
        os.utime(tmp_path / f"theirs {number}", (1e9, 1e9))
    before = {path.name for path in tmp_path.iterdir()}
    _run(tmp_path / "theirs 7", tmp_path)
    assert before <= {path.name for path in tmp_path.iterdir()}


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
