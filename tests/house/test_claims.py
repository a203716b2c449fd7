"""Each claim of the README and of docs/trust.md names a command, and what it runs is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", "docs/trust.md")
COMMAND = re.compile(r"`([^`]*(?:do\.py|python) [^`]*)`")


def rows(page: str) -> list[str]:
    """The rows of the tables of claims: those whose last cell is a command or points to one."""
    lines = (ROOT / page).read_text().splitlines()
    heads = [n for n, line in enumerate(lines) if re.search(r"\|[^|]*again[^|]*\|$", line)]
    found = []
    for head in heads:
        for line in lines[head + 2 :]:
            if not line.startswith("|"):
                break
            found.append(line)
    return found


@pytest.mark.parametrize("page", PAGES)
def test_each_claim_has_a_command(page: str) -> None:
    found = rows(page)
    assert len(found) >= 20
    for row in found:
        last = row.rstrip("| ").rpartition("|")[2]
        assert COMMAND.search(last) or "the same" in last or "trust.md" in last, row


@pytest.mark.parametrize("page", PAGES)
def test_what_a_command_runs_is_there(page: str) -> None:
    commands = COMMAND.findall((ROOT / page).read_text())
    words = [word for each in commands for word in each.split()]
    paths = [word for word in words if "/" in word and not word.startswith(".venv/")]
    assert len(paths) > 15
    assert [path for path in paths if not (ROOT / path).exists()] == []
