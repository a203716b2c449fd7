"""`tickover charging` and its sheet: works, bad input, and every line of its guide."""

import json
from pathlib import Path

import pytest

from tickover.cli import main

ROOT = Path(__file__).parents[2]
TRIPLE = str(ROOT / "examples" / "engines" / "triple-240.toml")
BARE = str(ROOT / "examples" / "engines" / "twin-360.toml")
READINGS = str(ROOT / "examples" / "readings" / "charging-triple.csv")


@pytest.fixture
def run(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as stopped:
            main([*arguments])
        out = capsys.readouterr()
        return stopped.value.code or 0, out.out, out.err

    return call


def test_readings_of_a_file_get_causes_and_what_to_read_next(run) -> None:
    code, out, err = run("charging", "--engine", TRIPLE, "--readings", READINGS)
    assert code == 1
    assert "Causes" in out
    assert "Read next" in out
    assert "licensed people" in out
    assert not err


def test_json_says_the_same_as_words(run) -> None:
    code, out, _ = run("charging", "--engine", TRIPLE, "--readings", READINGS, "--json")
    page = json.loads(out)
    assert code == 1
    words = run("charging", "--engine", TRIPLE, "--readings", READINGS)[1]
    assert page["verdict"] in " ".join(words.split())
    assert sum(cause["probability"] for cause in page["causes"]) <= 1.0 + 1e-9
    assert [round(point["rpm"]) for point in page["points"]] == [1200, 3000, 5000]
    assert {point["state"] for point in page["points"]} == {"good", "out"}


def test_an_engine_file_alone_says_what_to_expect(run) -> None:
    code, out, _ = run("charging", "--engine", TRIPLE)
    assert code == 1
    assert "13.8 to 14.6 V at the battery" in out
    assert "park, battery to tail: a path" in out
    assert "fuel sender at half: 28 to 36" in out


def test_a_machine_without_the_table_is_told_what_is_missing(run) -> None:
    code, out, _ = run("charging", "--engine", BARE)
    assert code == 1
    assert "[charging]" in out


def test_a_whole_sound_machine_ends_with_code_0(run, tmp_path) -> None:
    pairs = ("1-2", "2-3", "3-1")
    rows = [
        "reading,place,value,speed,temperature",
        "battery at rest,,12.7 V,,", "cranking voltage,,10.8 V,,", "drain at rest,,1 mA,,",
        "meter leads,,0.2 ohm,,", "winding to earth,,open,,", "rectifier diodes,,yes,,",
        *(f"alternator winding,{p},0.65 ohm,,25" for p in pairs),
        *(f"alternator volts,{p},45 V,3000," for p in pairs),
        "charging voltage,,13.4 V,1200,25", "charging voltage,,14.2 V,3000,25",
        "charging voltage,,14.3 V,5000,25", "charging feed drop,,0.05 V,,",
        "charging earth drop,,0.04 V,,",
    ]  # fmt: skip
    table = tmp_path / "r.csv"
    table.write_text("\n".join(rows))
    engine = tmp_path / "e.toml"
    text = Path(TRIPLE).read_text()
    start, end = text.index("[[contacts]]"), text.index("[starter]")
    engine.write_text(text[:start] + text[end:])
    code, out, _ = run("charging", "--engine", str(engine), "--readings", str(table))
    assert "Nothing speaks for a fault" in out
    assert code == 0


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ("charging voltage,,28 V,3000,", "volts = 24"),
        ("drain at rest,,35 A,,", "35 mA"),
        ("drain at rest,,55 W,,", "watts over volts"),
        ("charging voltage,,minus,3000,", "line 2"),
        ("oil pressure,,4 bar,3000,", "There is no such reading"),
    ],
)
def test_bad_readings_end_with_code_2_and_one_clear_line(run, tmp_path, rows, says) -> None:
    table = tmp_path / "r.csv"
    table.write_text(f"reading,place,value,speed,temperature\n{rows}\n")
    code, out, err = run("charging", "--engine", TRIPLE, "--readings", str(table))
    assert code == 2
    assert says in err
    assert not out


def test_readings_without_their_machine_are_refused(run) -> None:
    code, _, err = run("charging", "--readings", READINGS)
    assert code == 2
    assert "--engine" in err
