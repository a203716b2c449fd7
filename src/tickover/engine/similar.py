"""Engine files to begin from: the invented examples that come with Tickover."""

from __future__ import annotations

from functools import cache
from pathlib import Path

_PACKED = Path(__file__).parent / "examples"
_BESIDE = Path(__file__).parents[3] / "examples" / "engines"


@cache
def examples() -> dict[str, str]:
    """Name of each example to the text of its engine file; empty where none came along.

    Installed they lie in the package, in a working copy beside it.
    """
    folder = _PACKED if _PACKED.is_dir() else _BESIDE
    if not folder.is_dir():
        return {}
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml"))}
