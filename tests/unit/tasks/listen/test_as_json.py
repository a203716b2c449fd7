"""The plain data is complete, plain, and the same as the frozen result."""

import json

import numpy as np

from tickover.physics.sound.synthesise import synthesise
from tickover.tasks.listen import analyse, compare
from tickover.tasks.listen.as_json import comparison_data, listening_data

TWIN = (0.0, 360.0)


def test_a_heard_recording() -> None:
    made = synthesise(TWIN, duration_s=8.0, rate=16_000, seed=2)
    heard = analyse(made.samples, made.rate, TWIN, about_rpm=1000)
    data = json.loads(json.dumps(listening_data(heard)))
    assert data["refused"] is None
    assert set(data["speed_rpm"]) == {"median", "low", "high"}
    assert len(data["track"]) == len(heard.track)
    assert all(len(row) == 3 for row in data["track"])
    assert data["variation_percent"] > 0
    assert [set(slot) for slot in data["slots"]] == [{"angle_deg", "strength", "interval"}] * 2
    assert [row["order"] for row in data["half_orders"]] == [0.5, 1.0, 1.5, 2.0]
    assert any("carbon monoxide" in line for line in data["cautions"])


def test_a_refused_recording_keeps_its_keys() -> None:
    refused = json.loads(json.dumps(listening_data(analyse(np.zeros(80_000), 8000, TWIN))))
    made = synthesise(TWIN, duration_s=6.0, rate=16_000, seed=2)
    heard = listening_data(analyse(made.samples, made.rate, TWIN, about_rpm=1000))
    assert set(refused) == set(heard)
    assert refused["refused"]["code"] == "silent"
    assert refused["refused"]["what_to_do"]
    assert refused["slots"] is None
    assert refused["speed_rpm"] is None


def test_a_comparison() -> None:
    made = synthesise(TWIN, duration_s=8.0, rate=16_000, seed=2)
    heard = analyse(made.samples, made.rate, TWIN, about_rpm=1000)
    data = json.loads(json.dumps(comparison_data(compare(heard, heard))))
    assert data["refused"] is None
    assert data["idle_rpm"]["difference"] == 0
    assert len(data["slots"]) == 2
