"""Heat transfer at cranking speed against the formulas of the literature, evaluated apart.

Hohenberg, SAE 790825 (1979): 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8, p in bar (the exponent of V
from memory). Woschni, SAE 670931 (1967), in the textbook form with T^-0.55 and 2.28 Sp. No
correlation was fitted at cranking speed; they differ by more than a factor of three there, which
is why Tickover carries the heat as something nobody knows."""

import importlib.util
import math
from pathlib import Path

import pytest

from tickover.physics.cylinder import CrankTest, Cylinder, Valve, speed_from_rpm
from tickover.physics.cylinder_gas import film_coefficient
from tickover.physics.cylinder_row import SPEED

_path = Path(__file__).parents[1] / "references" / "slow_cylinder.py"
_spec = importlib.util.spec_from_file_location("slow_cylinder", _path)
slow_cylinder = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(slow_cylinder)

PRINTED = 6e-4  # half of the last digit given, and a little [W/(m2 K)]

# speed [rpm], p [Pa], T [K], V [m3], Hohenberg, Woschni [W/(m2 K)], stroke 56 mm
POINTS = [
    (400.0, 1500e3, 600.0, 1.622688e-5, 313.584, 91.479),
    (400.0, 500e3, 450.0, 4.597616e-5, 137.244, 44.498),
    (3000.0, 1500e3, 650.0, 1.622688e-5, 781.835, 438.782),
]


@pytest.mark.parametrize(("rpm", "p", "t", "v", "hohenberg", "woschni"), POINTS)
def test_film_coefficients_at_the_evaluated_points(rpm, p, t, v, hohenberg, woschni):
    engine = Cylinder(
        0.056, 0.056, 0.110, 9.5, Valve(340, 585, 7.5e-3, 26e-3), Valve(135, 380, 7e-3, 22e-3)
    )
    row = CrankTest(engine).row()
    row[SPEED] = speed_from_rpm(rpm)
    assert film_coefficient(p, t, v, row) == pytest.approx(hohenberg, abs=PRINTED)
    speed = 0.056 * speed_from_rpm(rpm) / math.pi
    assert slow_cylinder.hohenberg(p, t, v, 0.056, speed) == pytest.approx(hohenberg, abs=PRINTED)
    assert slow_cylinder.woschni(p, t, v, 0.056, speed) == pytest.approx(woschni, abs=PRINTED)
