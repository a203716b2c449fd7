"""`tickover compression` and `tickover leakdown`: words, JSON, exit codes, bad input."""

import json
from pathlib import Path

import pytest

from tickover.cli import main

ENGINE = str(Path(__file__).parents[2] / "examples" / "engines" / "inline-four.toml")
HEAD = "place,kind,value,unit,note\n"
GOOD = HEAD + "cyl1,dry,155,psi,\ncyl2,dry,153,psi,\ncyl3,dry,157,psi,\ncyl4,dry,152,psi,\n"
LOW = HEAD + (
    "cyl1,dry,152,psi,\ncyl2,dry,105,psi,\ncyl3,dry,151,psi,\ncyl4,dry,153,psi,\n"
    "cyl2,leakdown,60/80,psi,\ncyl2,air heard at,exhaust,,\n"
)


@pytest.fixture
def run(capsys, tmp_path):
    def call(*arguments, table=None):
        arguments = [*arguments]
        if table is not None:
            path = tmp_path / "r.csv"
            path.write_text(table, encoding="utf-8")
            arguments += ["--readings", str(path)]
        with pytest.raises(SystemExit) as stopped:
            main(arguments)
        out = capsys.readouterr()
        return stopped.value.code, out.out, out.err

    return call


def test_good_and_even_is_exit_code_0(run):
    code, out, _ = run("compression", "--engine", ENGINE, table=GOOD)
    assert code == 0
    assert "All are good and even" in out


def test_json_has_the_promised_fields(run):
    code, out, _ = run("compression", "--engine", ENGINE, "--json", table=LOW)
    assert code == 1
    data = json.loads(out)
    two = data["cylinders"][1]
    assert two["place"] == "cyl2"
    assert two["verdict"] == "out"
    assert two["reading_psi"] == 105.0
    assert len(two["expected_psi"]) == 3
    assert two["causes"][0]["what"] == "exhaust valve"
    assert len(two["leak_area_mm2"]) == 3
    assert data["even"]["rule"]
    assert data["even"]["holds"] is False
    assert data["effective_sample_size"] > 10
    assert data["cannot_tell_apart"]
    assert data["next_check"]["what"]


def test_altitude_lowers_what_is_expected(run):
    low = json.loads(run("compression", "--engine", ENGINE, "--json", table=GOOD)[1])
    high = json.loads(
        run("compression", "--engine", ENGINE, "--altitude", "2000 m", "--json", table=GOOD)[1]
    )
    assert high["cylinders"][0]["expected_psi"][1] < low["cylinders"][0]["expected_psi"][1] - 25


def test_without_readings_the_expected_reading_is_told(run):
    code, out, _ = run("compression", "--engine", ENGINE)
    assert code == 1
    assert "Nothing is measured yet" in out
    assert "A sound cylinder of this engine shows" in out


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (HEAD + "cyl9,dry,150,psi,\n", "no such cylinder"),
        (HEAD + "cyl1,dry,150,psia,\n", "dial shows"),
        (HEAD + "".join(f"cyl{n},dry,1.5,psi,\n" for n in range(1, 5)), "1.5 bar"),
        (HEAD + "cyl1,dry,420,psi,\n", "absolute"),
        ("place;value\ncyl1;3\n", "kind"),
    ],
)
def test_bad_readings_are_one_sentence_and_exit_code_2(run, table, words):
    code, _, err = run("compression", "--engine", ENGINE, table=table)
    assert code == 2
    assert words in err
    assert "Traceback" not in err


def test_bad_options_name_themselves(run):
    code, _, err = run("compression", "--engine", ENGINE, "--altitude", "tall")
    assert (code, "--altitude" in err) == (2, True)
    code, _, err = run("compression", table=GOOD)
    assert (code, "--engine" in err) == (2, True)


def test_one_leak_down_figure_as_an_area_and_on_another_tester(run):
    code, out, _ = run(
        "leakdown", "60/80 psi", "--master-jet", "0.040 in", "--supply", "80 psi",
        "--other-jet", "0.060 in", "--json",
    )  # fmt: skip
    data = json.loads(out)
    assert code == 0
    assert data["percent"] == 25.0
    assert data["area_mm2"][1] == pytest.approx(0.8 * 0.810732 * 1.058556, rel=1e-3)
    assert data["other_tester_percent"] < 10.0


def test_nothing_holds_is_said_not_computed(run):
    code, out, _ = run("leakdown", "100 %")
    assert code == 0
    assert "Not a leak figure" in out
    code, _, err = run("leakdown", "120 %")
    assert (code, "0 to 100" in err) == (2, True)


def test_leak_down_of_an_engine(run):
    code, out, _ = run("leakdown", "--engine", ENGINE, table=LOW)
    assert code == 1
    assert "25 % lost" in out
    code, _, err = run("leakdown", "--engine", ENGINE, table=GOOD)
    assert (code, "no leak-down reading" in err) == (2, True)
