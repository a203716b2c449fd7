"""`tickover noise` and the newer ways of `tickover speed`: work, bad input, exit codes, JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from tickover.cli import group
from tickover.errors import InputError

NOISY = """
[engine]
name = "Invented twin"
layout = "inline"
cylinders = 2
[noise]
limit = "96 dB"
rated_power_speed = "8500 rpm"
"""
READINGS = "outlet,level,silencers,background,speed\n" + "".join(
    f"1,{level},baffled,62,4250 rpm\n" for level in (91.0, 91.4, 91.2)
)
TRIPLE = str(Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml")


def run(*arguments: str):
    return CliRunner().invoke(group, list(arguments))


@pytest.fixture
def files(tmp_path: Path):
    engine, readings = tmp_path / "E.toml", tmp_path / "R.csv"
    engine.write_text(NOISY, encoding="utf-8")
    readings.write_text(READINGS, encoding="utf-8")
    return str(engine), str(readings)


def test_noise_says_verdict_speed_and_cautions(files):
    engine, readings = files
    out = run("noise", "--engine", engine, "--readings", readings)
    assert out.exit_code == 0
    for said in ("Within 96 dB(A)", "4250 rpm", "third party", "Ear protection", "licensed"):
        assert said in out.output
    data = json.loads(run("noise", "--engine", engine, "--readings", readings, "--json").output)
    assert data["state"] == "good"
    assert data["lines"][0]["readings"]


def test_noise_without_readings_or_with_bad_ones(files, tmp_path):
    engine, _ = files
    assert run("noise", "--engine", engine).exit_code == 1
    bad = tmp_path / "bad.csv"
    bad.write_text("outlet,level\n1,loud\n", encoding="utf-8")
    out = run("noise", "--engine", engine, "--readings", str(bad))
    assert isinstance(out.exception, InputError)
    assert "line 2" in str(out.exception)
    assert isinstance(run("noise", "--readings", str(bad)).exception, InputError)


def test_a_timed_mile_is_judged_and_bad_ones_are_refused():
    good = run("speed", "--engine", TRIPLE, "--timed", "60 mph over 1 mi in 63 s", "--json")
    data = json.loads(good.output)
    assert good.exit_code == 0
    assert data["track"][0]["state"] == "good"
    bad = run("speed", "--engine", TRIPLE, "--timed", "60 mph over 1 km in 60 s")
    assert "do not go together" in str(bad.exception)
    keep = run("speed", "--engine", TRIPLE, "--timed", "60 mph over 1 mi in 63 s", "--keep")
    assert isinstance(keep.exception, InputError)


def test_other_tyres_and_sprockets_are_compared():
    out = run("speed", "--engine", TRIPLE, "--other-sprockets", "18/46", "--json")
    assert json.loads(out.output)["changes"]
    assert "exchanged" in str(
        run("speed", "--engine", TRIPLE, "--other-sprockets", "46/18").exception
    )
    assert "no style" in str(run("speed", "--engine", TRIPLE, "--other-rear", "fat one").exception)


def test_readings_are_kept_and_told_again(tmp_path):
    where = ["--where", str(tmp_path / "b.book")]
    assert run("new", "--engine", TRIPLE, *where).exception is None
    kept = run("speed", "--timed", "60 mph over 1 mi in 63 s", "--rolled", "rear 10.2 m in 5 turns",
               "--keep", *where)  # fmt: skip
    assert "kept as entry 3" in kept.output
    told = json.loads(run("speed", "--json", *where).output)
    assert told["kept"][0]["state"] == "good"
    assert "rolled out" in told["wheels"][-1]["how"]
