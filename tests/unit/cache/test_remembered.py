"""Kept answers: found again by everything they rest on, and never a wrong one."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from tickover.cache import remembered as kept
from tickover.tasks.mixture.trim import Trim

Asked = Callable[[float], tuple[float, Trim]]


def _fresh(asked: list[float]) -> Asked:
    """A function as a new process has it: nothing in memory, only what is on disk."""

    def doubled(x: float) -> tuple[float, Trim]:
        asked.append(x)
        return 2.0 * x, Trim("now")

    doubled.__module__ = "tickover.for_this_test"
    doubled.__qualname__ = "doubled"
    return kept.remembered(doubled)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(kept.SWITCH, str(tmp_path / "answers"))
    return tmp_path / "answers"


def test_the_next_process_finds_the_answer(folder: Path) -> None:
    asked: list[float] = []
    first = _fresh(asked)(0.1)
    assert _fresh(asked)(0.1) == first == (0.2, Trim("now"))
    assert asked == [0.1]
    assert _fresh(asked)(0.2)[0] == 0.4
    assert asked == [0.1, 0.2]


def test_another_program_answers_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    _fresh(asked)(1.0)
    monkeypatch.setattr(kept, "program", lambda: "another")
    _fresh(asked)(1.0)
    assert asked == [1.0, 1.0]


def test_a_changed_source_is_another_program(tmp_path: Path) -> None:
    script = (
        "import pathlib, sys; sys.path.insert(0, sys.argv[1])\n"
        "from tickover.cache.remembered import program; print(program())"
    )
    source = Path(kept.__file__).parents[2]
    copy = tmp_path / "tickover"
    for name in ("__init__.py", "cache/__init__.py", "cache/folders.py", "cache/remembered.py"):
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_bytes((source / "tickover" / name).read_bytes())
    (copy / "physics").mkdir()
    loop = copy / "physics" / "loop.py"
    loop.write_text("A = 1\n")

    def told() -> str:
        command = [sys.executable, "-I", "-c", script, str(tmp_path)]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout

    before = told()
    assert told() == before
    loop.write_text("A = 12\n")
    assert told() != before


@pytest.mark.parametrize(
    "spoil", [lambda b: b[:-1], lambda b: b[:40] + b"x" + b[41:], lambda b: b""]
)
def test_a_damaged_answer_is_worked_out_again(
    folder: Path, spoil: Callable[[bytes], bytes]
) -> None:
    asked: list[float] = []
    _fresh(asked)(1.0)
    (place,) = folder.iterdir()
    place.write_bytes(spoil(place.read_bytes()))
    assert _fresh(asked)(1.0)[0] == 2.0
    assert asked == [1.0, 1.0]
    assert _fresh(asked)(1.0)[0] == 2.0
    assert asked == [1.0, 1.0]


class _Acts:
    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.system, ("exit 1",)


def test_an_answer_that_acts_is_not_read(folder: Path) -> None:
    asked: list[float] = []
    _fresh(asked)(1.0)
    (place,) = folder.iterdir()
    import hashlib

    content = pickle.dumps((_Acts(),))
    place.write_bytes(hashlib.sha256(content).digest() + content)
    assert _fresh(asked)(1.0)[0] == 2.0
    assert asked == [1.0, 1.0]


def test_without_a_folder_to_write_it_still_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("no folder")
    monkeypatch.setenv(kept.SWITCH, str(in_the_way))
    assert _fresh([])(1.0)[0] == 2.0


def test_switched_off_nothing_is_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(kept.SWITCH, "off")
    asked: list[float] = []
    _fresh(asked)(1.0)
    _fresh(asked)(1.0)
    assert asked == [1.0, 1.0]
    assert not folder.exists()


def test_an_answer_that_ran_out_of_time_is_not_kept(folder: Path) -> None:
    asked: list[int] = []

    def hurried(x: int) -> int:
        asked.append(x)
        return x

    hurried.__module__ = "tickover.for_this_test"
    ask = kept.remembered(hurried, unless=lambda found: found > 5)
    assert [ask(3), ask(3), ask(7), ask(7)] == [3, 3, 7, 7]
    assert asked == [3, 7, 7]


def test_the_oldest_make_room(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "MOST_KEPT", 6)
    folder.mkdir(exist_ok=True)
    theirs = [folder / f"letter {n}.txt" for n in range(9)]
    for letter in theirs:
        letter.write_text("not ours")
    for n in range(20):
        _fresh([])(float(n))
        for age, place in enumerate(sorted(folder.iterdir(), key=lambda p: p.stat().st_mtime)):
            os.utime(place, (age, age))
    assert len([place for place in folder.iterdir() if place not in theirs]) <= 7
    assert all(letter.exists() for letter in theirs)
    asked: list[float] = []
    _fresh(asked)(19.0)
    assert asked == []


@dataclass(frozen=True)
class _One:
    a: float


@dataclass(frozen=True)
class _Two:
    a: float


def test_what_differs_is_told_apart() -> None:
    values = [
        1, 1.0, True, "1", b"1", None, (), [], (1,), [1], ((1,), 2), (1, (2,)), (1, 2), {"a": 1},
        {"b": 1}, {"a": 1.0}, frozenset({1}), frozenset({1, 2}), _One(1.0), _Two(1.0), _One(1.1),
        np.zeros(2), np.zeros((2, 1)), np.zeros(2, dtype=np.float32), np.zeros(3), 0.1,
        np.nextafter(0.1, 1.0), 0.0, -0.0,
    ]  # fmt: skip
    assert len({kept.digest(value) for value in values}) == len(values)
    assert kept.digest(frozenset("abcdef")) == kept.digest(frozenset("fedcba"))


def test_what_cannot_be_told_is_refused() -> None:
    for value in (object(), {1, 2}, np.array([None]), lambda: 1):
        with pytest.raises(TypeError, match="cannot be"):
            kept.digest(value)
