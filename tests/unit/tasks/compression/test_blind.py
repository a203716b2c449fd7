"""Two invented engines whose readings come from the slow model with other heat laws. The long run,
with the confusion table, is bench/blind_compression.py."""

import importlib.util
import sys
from pathlib import Path

import numpy as np

from tickover.tasks.compression import assess
from tickover.tasks.compression import hypotheses as h

_path = Path(__file__).parents[3] / "references" / "blind_compression.py"
_spec = importlib.util.spec_from_file_location("blind_compression", _path)
blind = importlib.util.module_from_spec(_spec)
sys.modules["blind_compression"] = blind  # its dataclass looks itself up
_spec.loader.exec_module(blind)


def test_a_healthy_engine_raises_no_alarm():
    _, day, readings = blind.make("sound", np.random.default_rng(3))
    found = assess(blind.ENGINE, readings, day)
    assert {c.verdict for c in found.cylinders} == {"good"}


def test_a_leaking_exhaust_valve_is_found_and_only_there():
    truth, day, readings = blind.make(h.EXHAUST, np.random.default_rng(5), full=True)
    found = assess(blind.ENGINE, readings, day)
    guilty = found.cylinders[truth.cylinder]
    assert guilty.verdict == "out"
    assert guilty.causes[0].what == h.EXHAUST
    assert all(c.verdict != "out" for c in found.cylinders if c is not guilty)
