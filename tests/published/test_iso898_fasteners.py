"""ISO 898-1:2013 proof stress, proof loads and breaking loads, from published tables."""

import pytest

from tickover.physics import fastener
from tickover.physics.thread import thread

PROOF_MPA = {
    "4.6": 225, "4.8": 310, "5.6": 280, "5.8": 380, "6.8": 440, "8.8": 580, "9.8": 650,
    "10.9": 830, "12.9": 970,
}  # fmt: skip
TENSILE_MPA = {
    "4.6": 400, "4.8": 420, "5.6": 500, "5.8": 520, "6.8": 600, "8.8": 800, "9.8": 900,
    "10.9": 1040, "12.9": 1220,
}  # fmt: skip
# stress area of the table times proof stress [N]
PROOF_N = {
    "M5": {"4.6": 3195, "5.8": 5396, "8.8": 8236, "10.9": 11786, "12.9": 13774},
    "M6": {"4.6": 4522.5, "5.8": 7638, "8.8": 11658, "10.9": 16683, "12.9": 19497},
    "M7": {"4.6": 6502.5, "5.8": 10982, "8.8": 16762, "10.9": 23987, "12.9": 28033},
    "M8": {"4.6": 8235, "5.8": 13908, "8.8": 21228, "10.9": 30378, "12.9": 35502},
    "M10": {"4.6": 13050, "5.8": 22040, "8.8": 33640, "10.9": 48140, "12.9": 56260},
    "M12": {"4.6": 18967.5, "5.8": 32034, "8.8": 48894, "10.9": 69969, "12.9": 81771},
}
BREAKING_N = {
    ("M6", "8.8"): 16100,
    ("M8", "8.8"): 29200,
    ("M10", "8.8"): 46400,
    ("M6", "10.9"): 20900,
    ("M8", "10.9"): 38100,
    ("M10", "10.9"): 60300,
}
# The tables multiply stress areas rounded to three figures and round the product again.
THREE_FIGURES = 0.005


@pytest.mark.parametrize("grade", PROOF_MPA)
def test_stresses(grade):
    assert fastener.proof_stress(grade, 0.010) == PROOF_MPA[grade] * 1e6
    assert fastener.tensile_strength(grade, 0.010) == TENSILE_MPA[grade] * 1e6


def test_class_8_8_is_stronger_above_m16():
    assert fastener.proof_stress("8.8", 0.016) == 580e6
    assert fastener.proof_stress("8.8", 0.018) == 600e6
    assert fastener.tensile_strength("8.8", 0.018) == 830e6


@pytest.mark.parametrize(
    ("name", "grade", "load"), [(n, g, f) for n, row in PROOF_N.items() for g, f in row.items()]
)
def test_proof_loads(name, grade, load):
    assert fastener.proof_load(thread(name), grade) == pytest.approx(load, rel=THREE_FIGURES)


@pytest.mark.parametrize(("key", "load"), BREAKING_N.items())
def test_least_breaking_loads(key, load):
    name, grade = key
    assert fastener.breaking_load(thread(name), grade) == pytest.approx(load, rel=THREE_FIGURES)
