"""`tickover mixture`, `balance` and `strobe` on files: work, bad input, exit codes, JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from tickover.cli import group
from tickover.errors import InputError

ENGINE = str(Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml")
GOOD = (
    "opening,speed,lambda,word,note\nidle,1150,0.86,,\n1/4,5000,0.85,,\n1/2,6500,0.80,,\n"
    "3/4,7200,0.77,,\nfull,7800,0.75,,\nfull,4500,0.78,,\n"
)


def run(*arguments: str):
    return CliRunner().invoke(group, list(arguments), standalone_mode=False)


@pytest.fixture
def csv(tmp_path: Path):
    def write(text: str) -> str:
        path = tmp_path / "r.csv"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def test_json_has_what_it_promises(csv):
    out = run("mixture", "--engine", ENGINE, "--readings", csv(GOOD), "--json")
    data = json.loads(out.output)
    assert data["stop"] is None
    assert data["advice"]
    assert set(data["advice"][0]) == {"what", "from", "to"}
    for key in ("influence", "map", "lambda_before", "lambda_after", "probability_lean",
                "next_reading"):  # fmt: skip
        assert data[key]
    cell = next(c for c in data["map"] if c["means_something"])
    assert cell["low"] < cell["lambda"] < cell["high"]
    assert any(not c["means_something"] and c["lambda"] is None for c in data["map"])


def test_pinking_stops_first(csv):
    path = csv("opening,speed,word\nfull,7800,pinking\n")
    out = run("mixture", "--engine", ENGINE, "--readings", path)
    lines = out.output.splitlines()
    assert "Stop. Pinking" in lines[1]
    data = json.loads(run("mixture", "--engine", ENGINE, "--readings", path, "--json").output)
    assert next(iter(data)) == "stop"
    assert data["advice"] == []


def test_a_contradiction_never_hides_pinking(csv):
    path = csv("opening,speed,word\nfull,7000,pinking\nfull,7000,rich\n")
    out = run("mixture", "--engine", ENGINE, "--readings", path)
    assert "Stop. Pinking" in out.output.splitlines()[1]
    assert "contradict" in out.output
    data = json.loads(run("mixture", "--engine", ENGINE, "--readings", path, "--json").output)
    assert "Pinking" in data["stop"]
    assert data["advice"] == []


def test_states_to_be_ready_for_are_priced():
    out = run("mixture", "--engine", ENGINE, "--ready", "height 2000 m, 5 C", "--json")
    ready = json.loads(out.output)["have_ready"]
    assert [s["state"] for s in ready["states"]] == ["as it is now", "height 2000 m, 5 C"]
    assert ready["cost"] == sum(5.0 * b["count"] for b in ready["buy"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("opening,speed,lambda\n1/4,5000,13.2\n", "13.2 AFR"),
        ("opening,speed,lambda\n120 %,5000,0.9\n", "further than full"),
        ("opening,lambda\n" + "".join(f"{k}/9,0.9\n" for k in range(1, 10)), "equal"),
        ("opening,speed,word\n1/2,6000,rich\n1/2,6000,lean\n", "contradict"),
        ("speed,lambda\n5000,0.9\n", "opening"),
    ],
)
def test_bad_readings_say_what_to_write(csv, text, says):
    out = run("mixture", "--engine", ENGINE, "--readings", csv(text))
    assert isinstance(out.exception, InputError)
    assert says in str(out.exception)


@pytest.mark.parametrize(
    ("said", "says"),
    [("clip 9", "1 (top, leanest) to 5"), ("main 107", "108"), ("main", "needs its value")],
)
def test_settings_nobody_can_fit_are_refused(said, says):
    out = run("mixture", "--engine", ENGINE, "--set", said)
    assert isinstance(out.exception, InputError)
    assert says in str(out.exception)


def test_balance_names_screw_and_turns(csv):
    path = csv("place,vacuum,unit,at\ncarb1,20,cmHg,\ncarb2,25,cmHg,\ncarb3,25,cmHg,\n")
    out = json.loads(run("balance", "--engine", ENGINE, "--readings", path, "--json").output)
    assert out["screw"] == "screw 2-1"
    assert out["turns"] < 0.0


def test_balance_with_a_gauge_missing_asks_for_it(csv):
    path = csv("place,vacuum,unit,at\ncarb1,20,cmHg,\n")
    out = run("balance", "--engine", ENGINE, "--readings", path)
    assert "Read carburettor 2 and carburettor 3 too" in out.output


def test_strobe_tells_degrees_plate_and_drop():
    out = run("strobe", "--engine", ENGINE, "1200:8", "4000:31", "--radius", "35 mm", "--json")
    data = json.loads(out.output)
    assert data["correction_crank_deg"] == pytest.approx(2.5)
    assert data["plate_mm"] == pytest.approx(35.0 * 0.0218166, rel=1e-3)


def test_strobe_refuses_what_is_no_reading():
    assert isinstance(run("strobe", "--engine", ENGINE, "fast").exception, InputError)
