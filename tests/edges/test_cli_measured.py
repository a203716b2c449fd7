"""`tickover ratio` and `tickover degree-wheel` as they are typed."""

import json
from pathlib import Path

import pytest

from tickover.cli import main

ENGINE = str(Path(__file__).parents[2] / "examples" / "engines" / "inline-four.toml")


@pytest.fixture
def run(capsys):
    def call(*words):
        with pytest.raises(SystemExit) as stopped:
            main(list(words))
        out = capsys.readouterr()
        return stopped.value.code, out.out, out.err

    return call


def test_the_ratio_by_burette_as_data(run):
    # Worked by hand: swept 159.186 cc (60 x 56.3 mm), 19.4 cc left: 159.186 / 19.4 + 1 = 9.2055.
    code, out, err = run("ratio", "--engine", ENGINE, "--chamber", "19.4 +- 0.2 cc", "--json")
    assert code == 0, err
    row = json.loads(out)["cylinders"][0]
    assert row["ratio"] == pytest.approx(9.2055, abs=2e-4)
    assert row["ratio_sd"] == pytest.approx(159.186 / 19.4**2 * 0.2, rel=0.01)
    assert row["verdict"] == "good"


def test_a_low_ratio_is_out_and_moves_the_needle(run):
    code, out, _ = run("ratio", "--engine", ENGINE, "--chamber", "23 cc", "--json")
    assert code == 1
    data = json.loads(out)
    assert data["cylinders"][0]["verdict"] == "out"
    assert data["expected_psi"]["measured"][1] < data["expected_psi"]["told"][1] - 15


def test_the_wheel_tells_teeth_overlap_and_centres(run, tmp_path):
    # The file's cams: 24/56 and 58/22; every event 20 degrees late, a tooth of 36.
    readings = tmp_path / "wheel.csv"
    readings.write_text(
        "place,kind,value,unit,note\n,inlet opens,4,,\n,inlet closes,76,,\n"
        ",exhaust opens,38,deg,\n,exhaust closes,42 deg ATDC,,\n",
        encoding="utf-8",
    )
    code, out, err = run(
        "degree-wheel", "--engine", ENGINE, "--readings", str(readings), "--teeth", "36", "--json"
    )
    assert code == 1, err
    data = json.loads(out)
    assert [c["teeth"] for c in data["cams"]] == [1, 1]
    assert data["late_deg"] == pytest.approx(20.0)
    assert data["overlap_deg"] == pytest.approx(46.0)
    assert data["cams"][0]["centre_deg"] == pytest.approx(126.0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("ratio", "--engine", ENGINE), "by burette"),
        (("ratio", "--engine", ENGINE, "--chamber", "lots"), "number"),
        (("ratio", "--engine", ENGINE, "--chamber", "90 cc"), "no petrol engine"),
        (("ratio", "--engine", ENGINE, "--chamber", "15 cc", "--dome", "16 cc"), "no room"),
        (("ratio", "--chamber", "15 cc"), "needs the engine file"),
        (("degree-wheel", "--engine", ENGINE), "no event"),
        (("degree-wheel", "--engine", ENGINE, "--inlet", "12", "x"), "dead centre"),
        (("degree-wheel", "--engine", ENGINE, "--inlet", "12", "999"), "degree wheel"),
        (("degree-wheel", "--inlet", "12", "48"), "needs the engine file"),
    ],
)
def test_bad_input_is_refused_in_words(run, words, said):
    code, _, err = run(*words)
    assert code == 2
    assert said in " ".join(err.split())
