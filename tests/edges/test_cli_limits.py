"""A table of limits taken in on the terminal: all rows, or none."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tickover.book.store import Store
from tickover.cli import group
from tickover.engine.limits_table import EXAMPLE
from tickover.errors import EngineFileError, InputError

TWIN = '# mine\n[engine]\nname = "Twin"\nlayout = "inline"\ncylinders = 2\n[valves]\ninlet = 1\n'


@pytest.fixture
def book(tmp_path: Path) -> str:
    where = str(tmp_path / "b.book")
    with Store.open(where) as store:
        store.create_build("Twin", TWIN, "2031-01-01T00:00:00+00:00", "t")
    return where


def run(book: str, *words: str) -> Result:
    return CliRunner().invoke(group, ["limits", *words, "--where", book])


def engine_text(book: str) -> str:
    with Store.open(book) as store:
        return store.state(store.builds()[0].id).engine_text


def test_the_example_it_shows_can_be_taken_in_once(book: str, tmp_path: Path) -> None:
    shown = run(book).output
    assert shown.startswith(EXAMPLE.rstrip())
    table = tmp_path / "limits.csv"
    table.write_text(EXAMPLE)
    said = run(book, str(table))
    assert said.exit_code == 0, said.output
    assert "cylinder: 61.00..61.02 mm, wear limit 61.10 mm" in said.output
    assert "Entry 2: 4 limits" in said.output
    assert engine_text(book).startswith("# mine\n[engine]\n")
    assert "already" in run(book, str(table)).output


def test_a_bad_row_or_a_bad_file_writes_nothing(book: str, tmp_path: Path) -> None:
    table = tmp_path / "limits.csv"
    table.write_text(EXAMPLE + "pin,journl,,16,16.1,mm,,,\n")
    refused = run(book, str(table))
    assert isinstance(refused.exception, EngineFileError)
    assert "line 6, kind" in str(refused.exception)
    table.write_bytes(b"\xff\xfe\0")
    assert isinstance(run(book, str(table)).exception, InputError)
    assert isinstance(run(book, str(tmp_path / "none.csv")).exception, InputError)
    assert engine_text(book) == TWIN
