"""`tickover wiring` and the loom's sheets: words, JSON, exit codes, bad input."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from support_loom import TWIN

from tickover.cli import main

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: Any, tmp_path: Path) -> Run:
    def call(*arguments: str, table: str = "", engine: str = "") -> tuple[int, str, str]:
        given = [*arguments]
        if table:
            (tmp_path / "r.csv").write_text(table, encoding="utf-8")
            given += ["--continuity", str(tmp_path / "r.csv")]
        if engine:
            (tmp_path / "e.toml").write_text(engine, encoding="utf-8")
            given += ["--engine", str(tmp_path / "e.toml")]
        with pytest.raises(SystemExit) as stopped:
            main(given)
        out = capsys.readouterr()
        code = stopped.value.code
        assert isinstance(code, int)
        return code, out.out, out.err

    return call


def test_words_name_size_limit_fuse_and_cautions(run: Run, tmp_path: Path) -> None:
    board = tmp_path / "board.svg"
    code, out, _ = run("wiring", "--engine", str(TWIN), "--board", str(board))
    assert code == 1  # nothing is read yet
    for words in ("sizes and fuses go together", "fuse 7.5 A", "To cut and to buy",
                  "At idle it gives 4.5 A", "Battery disconnected"):  # fmt: skip
        assert words in out
    assert 'mm" height="' in board.read_text(encoding="utf-8")[:400]


def test_json_has_the_promised_fields(run: Run) -> None:
    table = "wire,end_to_end,to_earth\n11,open,open\n16,open,open\n12,0.2,open\n"
    code, out, _ = run("wiring", "--engine", str(TWIN), "--json", "--lamp", "tail lamp = 1 W",
                       table=table)  # fmt: skip
    assert code == 1
    data = json.loads(out)
    assert data["wiring"]["circuits"][0]["fuse"] == "7.5 A"
    assert data["wiring"]["lower"][0].startswith("tail lamp 5 to 1 W")
    wire = data["loom"]["wires"][0]
    assert (wire["number"], wire["colour"], wire["tracer"]) == ("1", "RD", "")
    assert wire["limit"] in ("drop", "current", "fuse", "least size", "as it is lying")
    assert sum(line["count"] for line in data["loom"]["cutting"]) == len(data["loom"]["wires"])
    assert "tail plug" in data["test"]["opens"][0]["what"]


def test_a_loom_that_is_all_good_is_exit_code_0(run: Run) -> None:
    rows = "".join(f"{n},ok,open\n" for n in range(1, 46))
    code, out, _ = run("wiring", "--engine", str(TWIN), table="wire,end_to_end,to_earth\n" + rows)
    assert code == 0
    assert "Every wire leads where it should" in out


@pytest.mark.parametrize(
    ("arguments", "how", "words"),
    [
        (("--lamp", "moon = 3 W"), {}, "names no load"),
        (("--lamp", "tail lamp = 3 A"), {}, "W"),
        ((), {"table": "wire,end_to_end\n99,1\n"}, "line 2: There is no such wire"),
        ((), {"table": "wire,end_to_end\n9,lots\n"}, "line 2"),
        ((), {"table": "what,ever\n1,2\n"}, "wire"),
    ],
)
def test_bad_input_is_one_clear_sentence(
    run: Run, arguments: tuple[str, ...], how: dict[str, str], words: str
) -> None:
    code, _, err = run("wiring", "--engine", str(TWIN), *arguments, **how)
    assert code == 2
    assert words in err
    assert "Traceback" not in err


def test_readings_of_a_table_are_kept_in_the_book(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TICKOVER_BOOK", str(tmp_path / "b.sqlite"))
    assert run("new", "--engine", str(TWIN))[0] == 0
    table = "wire,end_to_end,to_earth\n1,0.2,open\n4,0.3,touches 8\n45,ok,\n"
    code, out, err = run("wiring", "--keep", table=table)
    assert code == 1
    assert "5 readings are in the book" in err
    code, out, _ = run("wiring", "--json")
    lines = {line["number"]: line for line in json.loads(out)["test"]["lines"]}
    assert (lines["4"]["end_to_end"], lines["4"]["to_earth"]) == ("0.3 ohm", "touches 8")
    assert (lines["8"]["state"], lines["45"]["state"]) == ("out", "good")
    code, _, err = run("wiring", "--engine", str(TWIN), "--keep")
    assert code == 2
    assert "without --engine" in err


def test_a_machine_without_a_loom_is_told_what_to_write(run: Run) -> None:
    code, _, err = run("wiring", engine='[engine]\nname = "a"\nlayout = "single"\n')
    assert code == 2
    assert "no loom yet" in err
    text = TWIN.read_text("utf-8")
    line = text[: text.index('"OG"')].count("\n") + 1
    code, _, err = run("wiring", engine=text.replace('"OG"', '"XX"', 1))
    assert code == 2
    assert f"line {line}, circuits[3].colour" in err


def test_board_sheets_are_as_many_as_their_index_says(run: Run, tmp_path: Path) -> None:
    for name, paper in (("loom-board", "letter"), ("loom-schedule", "a4"), ("loom-test", "a4")):
        out = tmp_path / f"{name}.pdf"
        with pytest.raises(SystemExit) as stopped:
            main(["sheet", name, "--engine", str(TWIN), "--paper", paper, "--out", str(out)])
        assert stopped.value.code == 0
        pdf = out.read_bytes()
        assert pdf.startswith(b"%PDF")
        if name == "loom-board":
            from tickover.engine import load_engine_file
            from tickover.pages.drawing.loom_board import tiles
            from tickover.pages.loom import loom_page

            sheets, _, _ = tiles(loom_page(load_engine_file(TWIN)).board, "letter")
            assert len(PdfReader(out).pages) == len(sheets) + 1
