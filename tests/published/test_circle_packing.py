"""Bundles against the smallest circles round equal circles, which geometry knows exactly."""

from __future__ import annotations

import math

import pytest

from tickover.physics.wire_bundle import bundle_diameter

# Diameter of the smallest circle round n equal circles of diameter 1, from the geometry of the
# regular polygon (n = 3, 4, 5), and of the hexagon with its middle (6 and 7).
EXACT = {1: 1.0, 2: 2.0, 3: 1.0 + 2.0 / math.sqrt(3.0), 4: 1.0 + math.sqrt(2.0),
         5: 1.0 + 1.0 / math.sin(math.pi / 5.0), 6: 3.0, 7: 3.0}  # fmt: skip


@pytest.mark.parametrize("n", EXACT)
def test_the_known_circle_lies_in_the_band(n: int) -> None:
    band = bundle_diameter([0.002] * n)
    assert band.low <= 0.002 * EXACT[n] * (1 + 1e-12)
    # Hand-laid is never thinner than the best packing, save for three wires, by 0.4 %.
    assert band.high >= 0.002 * EXACT[n] * 0.995


def test_a_thin_wire_beside_a_thick_one_counts_whole() -> None:
    assert bundle_diameter([0.004, 0.001]).high == pytest.approx(0.005)
