"""Every command the guide shows is a command that works, on a book and files like those it names.

The commands of one document run in its order on one book. A command may find something wrong with
the machine (exit code 1); one that is not understood (2), or breaks, is a fault of the guide.
"""

from __future__ import annotations

import doctest
import re
import shlex
import shutil
from pathlib import Path

import pytest
from PIL import Image

from tickover.book.store import Store
from tickover.cli import main

ROOT = Path(__file__).parents[2]
ENGINES = ROOT / "examples" / "engines"
GUIDES = sorted([*(ROOT / "docs").glob("*.md"), ROOT / "README.md"])
STAYS = ("serve", "demo")  # these go on until they are stopped; they have tests of their own

FILES = {
    "R.csv": "place,kind,value,unit,note\nin1,clearance,0.13,mm,\nex1,clearance,0.18,mm,\n",
    "readings.csv": "place,kind,value,unit,note\ncyl1,dry,150,psi,\ncyl2,dry,128,psi,\n",
    "S.csv": "size,unit,count,price\n2.60,mm,2,8\n2.65,mm,1,8\n",
    "loom.csv": "wire,end_to_end,to_earth\n11,open,open\n12,0.2,open\n23,0.2,touches 25\n",
    "evening.txt": "fit cyl2 top ring 0.20-0.25 mm\n",
}


def commands(path: Path) -> list[str]:
    """The commands of a document: lines of its blocks, and whole commands in a line of text."""
    text = path.read_text(encoding="utf-8")
    found: list[str] = []
    for block, inline in re.findall(
        r"```[a-z]*\n(.*?)```|`(tickover [^`\n]+)`", text, flags=re.DOTALL
    ):
        lines = block.splitlines() if block else [inline]
        lines += re.findall(r"(?m)^ {4}(tickover .*)$", text) if not found and not block else []
        for line in lines:
            bare = line.strip().removeprefix("$ ").removeprefix(".venv/bin/")
            if bare.startswith("tickover "):
                found.append(bare.partition("  #")[0].strip())
    return list(dict.fromkeys(found))


def can_run(command: str) -> bool:
    """Whether a line is a command as typed, not the form of one."""
    words = shlex.split(command)
    return len(words) > 1 and words[1] not in STAYS and not re.search(r"[\[\]…]|\.\.\.$", command)


def files(path: Path) -> dict[str, str]:
    """The files a document gives: a name in a line of its own, and its block."""
    text = path.read_text(encoding="utf-8")
    return dict(re.findall(r"(?m)^`([\w.-]+)`:\n\n```[a-z]+\n(.*?)^```", text, flags=re.DOTALL))


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    shutil.copy(ENGINES / "triple-240.toml", tmp_path / "E.toml")
    shutil.copy(ENGINES / "inline-four.toml", tmp_path / "four.toml")
    for name, text in FILES.items():
        (tmp_path / name).write_text(text)
    Image.new("RGB", (80, 60), "grey").save(tmp_path / "crack.jpg")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TICKOVER_BOOK", str(tmp_path / "book.sqlite"))
    with Store.open(tmp_path / "book.sqlite") as store:
        text = (tmp_path / "E.toml").read_text()
        store.create_build("Shed triple", text, "2031-03-01T10:00:00+00:00", "tester")
    return tmp_path


@pytest.mark.parametrize("path", [p for p in GUIDES if commands(p)], ids=lambda p: p.name)
def test_every_command_of_the_guide_is_understood(
    path: Path, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = []
    for name, text in files(path).items():
        (bench / name).write_text(text)
    if any(command.startswith("tickover new ") for command in commands(path)):
        (bench / "book.sqlite").unlink()
    for command in commands(path):
        if not can_run(command):
            continue
        with pytest.raises(SystemExit) as ended:
            main(shlex.split(command)[1:])
        said = capsys.readouterr()
        if ended.value.code not in (0, 1) or "Traceback" in said.err:
            wrong.append(f"{command}\n    {said.err.strip()[:300]}")
    assert wrong == []


def test_the_guide_has_commands_to_try() -> None:
    assert sum(can_run(c) for p in GUIDES for c in commands(p)) > 40


def test_the_python_of_the_guide_gives_what_it_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    found = doctest.testfile(str(ROOT / "docs" / "python.md"), module_relative=False)
    assert found.attempted > 15
    assert found.failed == 0
