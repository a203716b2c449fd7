"""fits, torque, cable, drill, solder and their sheets in the terminal: works, and refuses."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pypdf
import pytest
from support_build import BORE_1, TWIN

from tickover.cli import main

OUT, BAD = 1, 2


class Said(str):
    """What a command printed; what it complained of, and its exit code, beside it."""

    code: int
    complaint: str


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Any:
    """Runs a command as a person would, with the twin's engine file where E stands."""
    engine = tmp_path / "twin.toml"
    engine.write_text(TWIN, encoding="utf-8")

    def one(*words: str) -> Said:
        given = [{"E": str(engine), "BOOK": str(tmp_path / "b.tickover")}.get(w, w) for w in words]
        with pytest.raises(SystemExit) as ended:
            main(given)
        caught = capsys.readouterr()
        said = Said(caught.out)
        said.code = int(ended.value.code or 0)
        said.complaint = caught.err
        assert "Traceback" not in caught.err
        return said

    return one


def test_fits_from_lines_on_an_engine_file(run: Any) -> None:
    lines = [line.removeprefix("fit ") for line in BORE_1]
    said = run("fits", "--engine", "E", *lines, "cyl1 piston 60.950 mm", "--json")
    assert said.code == OUT  # cylinder 2 is not measured
    found = {(f["name"], f["place"]): f for f in json.loads(said)["fits"]}
    assert found["cylinder", "cyl1"]["state"] == "good"
    assert found["cylinder", "cyl1"]["taper_mm"] == pytest.approx(0.003)
    assert found["piston in cylinder", "cyl1"]["mean_mm"] == pytest.approx(0.0595)
    assert found["cylinder", "cyl2"]["state"] == "open"


def test_fits_from_a_file_of_lines(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "r.txt"
    path.write_text("# evening one\ncyl1 top ring 0.9 mm\n\nfit crank 0.2 mm\n", encoding="utf-8")
    said = run("fits", "--engine", "E", "--readings", str(path))
    assert "too large" in said
    path.write_text("cyl1 top ring 0.2 mm\ncyl1 big ring 0.2 mm\n", encoding="utf-8")
    wrong = run("fits", "--engine", "E", "--readings", str(path))
    assert wrong.code == BAD
    assert "reading 2" in wrong.complaint
    assert run("fits", "--engine", "E", "--readings", str(tmp_path / "none.txt")).code == BAD


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (("--limits", "61.00..61.02 mm", "61.010", "61.012 mm"), 0),
        (("--limits", "61.00..61.02 mm", "61.050 mm"), OUT),
        (("--limits", "61.00..61.02 mm", "--wear", "61.10 mm", "61.050 mm"), 0),
        (("--limits", "61.00..61.02 mm"), BAD),
        (("--limits", "61.02..61.00 mm", "61.01"), BAD),
        (("--limits", "61.00..61.02 mm", "61 psi"), BAD),
        (("--wear", "61.10", "61.01"), BAD),
    ],
)
def test_fits_from_plain_options(run: Any, options: tuple[str, ...], code: int) -> None:
    assert run("fits", "--kind", "bore", *options).code == code


def test_fits_without_anything_says_what_it_needs(run: Any) -> None:
    assert "engine file or a kind" in run("fits", "61.01", "--where", "BOOK").complaint


def test_from_readings_to_the_page_through_the_book(run: Any) -> None:
    assert run("new", "--engine", "E", "--where", "BOOK").code == 0
    for line in (*BORE_1, "torque head bolts 11 Nm stage 1", "torque head bolts 22 Nm done"):
        assert run("read", line, "--where", "BOOK").code == 0
    assert run("read", "torque sump plug 18.4 lbf ft", "--where", "BOOK").code == 0
    torque = run("torque", "--where", "BOOK")
    assert torque.code == 0
    assert "stage 1 of 3" in torque
    assert "All two are tightened." in torque
    fits = json.loads(run("fits", "--where", "BOOK", "--json"))
    assert next(f for f in fits["fits"] if f["place"] == "cyl1")["state"] == "good"
    assert run("work", "head off", "--where", "BOOK").code == 0
    again = run("torque", "--where", "BOOK", "--json")
    assert again.code == OUT
    assert json.loads(again)["fasteners"][0]["state"] == "stale"


def test_torque_of_a_plain_thread(run: Any) -> None:
    fine = run("torque", "17 lbf ft", "--thread", "M8", "--class", "8.8", "--json")
    assert fine.code == 0
    found = json.loads(fine)
    assert found["torque"]["Nm"] == pytest.approx(23.0489, abs=1e-4)
    assert found["preload_low_n"] < found["preload_n"] < found["preload_high_n"]
    heavy = run("torque", "45 Nm", "--thread", "M8", "--class", "8.8")
    assert heavy.code == OUT
    assert "overloads" in heavy


@pytest.mark.parametrize(
    "words",
    [
        ("torque", "23"), ("torque", "0 Nm"), ("torque", "23 bar"),
        ("torque", "23 Nm", "--thread", "M99"), ("torque", "23 Nm", "--class", "8.8"),
        ("torque", "23 Nm", "--thread", "M8", "--class", "9"),
        ("torque", "23 Nm", "--thread", "M8", "--surface", "wet"),
        ("torque", "23 Nm", "--thread", "M8", "--into", "aluminium"),
        ("torque", "23 Nm", "--thread", "M8", "--factor", "x"),
        ("torque", "--thread", "M8"),
        ("drill", "M8", "--percent", "150"), ("drill", "eight"), ("drill", "M8", "--into", "wood"),
        ("drill", "M8", "--engaged", "0 mm"), ("drill", "M8", "--shear", "130"),
        ("cable", "--use", "brake"), ("cable", "--use", "front brake", "--route", "900 mm"),
        ("cable", "brake", "--engine", "E"), ("cable", "string", "--engine", "E"),
        ("cable", "--route", "900 mm"), ("cable", "--use", "clutch", "--route", "9 m"),
        ("solder", "--wall", "1 mm", "--strength", "400"),
        ("solder", "--wall", "1 mm", "--strength", "400 MPa", "--hole", "10 mm"),
        ("sheet", "valves", "--engine", "E"), ("sheet", "nothing", "--engine", "E"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence_and_exit_code_2(run: Any, words: tuple[str, ...]) -> None:
    said = run(*words)
    assert said.code == BAD
    assert said.complaint.strip()
    assert said == ""


def test_brake_cables_say_why(run: Any) -> None:
    assert "not made at home" in run("cable", "--use", "brake").complaint


def test_cable_from_options(run: Any) -> None:
    said = run(
        "cable", "--use", "clutch", "--route", "900 mm", "--caps", "16 mm", "--bare-at-lever",
        "30 mm", "--bare-at-far-end", "45 mm", "--travel", "12 mm", "--adjuster-out", "6 mm",
        "--json",
    )  # fmt: skip
    assert said.code == OUT  # loads from the makers are missing
    (found,) = json.loads(said)
    assert found["outer_mm"] == pytest.approx(878.0)
    assert found["inner_mm"] == pytest.approx(975.0)
    assert any("maker of the cable" in words for words in found["missing"])


def test_drill_and_solder(run: Any) -> None:
    found = json.loads(run("drill", "M8", "--json"))
    assert found["tapping_drill_mm"] == 6.8
    assert found["clearance_mm"]["medium"] == 9.0
    assert run("drill", "M8", "--engaged", "6 mm").code == OUT
    joint = ("solder", "--wall", "1 mm", "--strength", "400 MPa", "--hole", "10.1 mm", "--shaft")
    assert run(*joint, "10 mm").code == 0
    assert run(*joint, "9.5 mm").code == OUT


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("fits-bench", ("Cylinder, bore", "top along", "Worked out from the above")),
        ("torque-bench", ("Head bolts", "22 Nm", "11 Nm", "after the first heat cycles")),
        ("cable-bench", ("Clutch cable", "proof-pulled", "Brake cables are not made at home")),
    ],
)
def test_bench_sheets_print_blank_from_an_engine_file(
    run: Any, tmp_path: Path, name: str, words: tuple[str, ...]
) -> None:
    out = tmp_path / "sheet.pdf"
    assert run("sheet", name, "--engine", "E", "--out", str(out)).code == 0
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages
    )
    squeezed = " ".join(text.split())
    for each in words:
        assert each in squeezed
