"""The page of outside checks is in step with the checks: each file, in its own words."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]


def maker() -> ModuleType:
    """The program that writes the page."""
    spec = importlib.util.spec_from_file_location("maker", ROOT / "docs" / "make_validation.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_each_published_check_has_its_row_with_source_and_command() -> None:
    made = maker()
    rows = [line for line in made.TARGET.read_text().splitlines() if "tests/published/" in line]
    openings = {made.opening(path) for path in made.PUBLISHED.glob("test_*.py")}
    missing = {start for start in openings if not any(row.startswith(start) for row in rows)}
    assert missing == set(), "run: .venv/bin/python docs/make_validation.py"
    assert len(rows) == len(openings), "a row of a check that is gone"


def test_every_row_says_how_many_checks_passed() -> None:
    for row in maker().TARGET.read_text().splitlines():
        if row.startswith("| ") and "tests/published/" in row:
            assert int(row.split(" | ")[2]) > 0, row
