"""What stands beside the package, bench and makers of documents, still finds what it imports.

Nothing else in this suite runs all of it: a name given up in the package broke a bench unseen.
"""

from __future__ import annotations

import ast
import importlib
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOOLS = sorted([*(ROOT / "bench").glob("*.py"), *(ROOT / "docs").glob("*.py")])
OURS = ("tickover", "support", "bench")


def _wanted(path: Path) -> list[tuple[str, str]]:
    """Module and name of every import of ours, those inside functions too."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(OURS)
        for alias in node.names
    ]


def _there(module: str, name: str) -> bool:
    if hasattr(importlib.import_module(module), name):
        return True
    try:
        importlib.import_module(f"{module}.{name}")
    except ModuleNotFoundError:
        return False
    return True


@pytest.mark.parametrize("path", TOOLS, ids=lambda path: path.stem)
def test_every_name_a_tool_imports_is_there(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "path", [str(ROOT / "bench"), str(ROOT / "tests"), *sys.path])
    assert [each for each in _wanted(path) if not _there(*each)] == []


def test_the_tools_are_found() -> None:
    assert len(TOOLS) > 10
    assert any(_wanted(path) for path in TOOLS)
