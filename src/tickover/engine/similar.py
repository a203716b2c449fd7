"""Engine files to begin from: the invented examples that come with Tickover."""

from __future__ import annotations

from functools import cache
from pathlib import Path

_HERE = Path(__file__).parent
_BESIDE = Path(__file__).parents[3] / "examples"


@cache
def examples() -> dict[str, str]:
    """Name of each example to the text of its engine file; empty where none came along.

    Installed they lie in the package, in a working copy beside it.
    """
    return _texts(_HERE / "examples", _BESIDE / "engines")


@cache
def example_looms() -> dict[str, str]:
    """Name of each example with a whole loom to the text of its engine file."""
    return _texts(_HERE / "looms", _BESIDE / "looms")


def _texts(packed: Path, beside: Path) -> dict[str, str]:
    folder = packed if packed.is_dir() else beside
    if not folder.is_dir():
        return {}
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml"))}
