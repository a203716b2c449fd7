"""Killed for good in the middle of writing: nothing acknowledged is lost, nothing is half there.

TICKOVER_KILLS sets how many writers are killed (40 unless told).
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tickover.book.store import Store

PROGRAMS = Path(__file__).parent / "programs"
KILLS = int(os.environ.get("TICKOVER_KILLS", "40"))
AT = "2031-04-05T18:30:00Z"

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")


def run(program, *arguments):
    done = subprocess.run(
        [sys.executable, PROGRAMS / program, *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_nothing_acknowledged_is_lost_when_writers_are_killed(tmp_path):
    book = tmp_path / "book.sqlite"
    with Store.open(book) as store:
        build = store.create_build("b", "a = 1", AT, "Ada").id
    kills, acknowledged, kept = map(int, run("killed_writers.py", book, build, KILLS, 1))
    print(f"{kills} writers killed, {acknowledged} entries acknowledged, {kept} in the book")
    assert kills == KILLS
    assert acknowledged >= kills, "killed too early to prove anything"
    assert kept >= acknowledged


def test_a_maker_killed_half_way_leaves_no_half_book(tmp_path):
    kills, made = map(int, run("killed_makers.py", tmp_path, max(10, KILLS // 4), 2))
    assert 0 < made < kills, "killed always too early or always too late to prove anything"


def test_processes_that_write_at_once_get_numbers_without_gaps(tmp_path):
    book = tmp_path / "book.sqlite"
    with Store.open(book) as store:
        build = store.create_build("b", "", AT, "Ada").id
    run("many_writers.py", book, build, 5, 12)
    with Store.open(book) as store:
        entries = store.entries(build)
        assert [e.number for e in entries] == list(range(1, 121))
        assert len({e.body.text for e in entries}) == 120
        for process in range(5):
            mine = [e.body.text.split()[1] for e in entries if e.by == f"process {process}"]
            assert mine == sorted(mine, key=int), "each writer's entries stay in its order"
