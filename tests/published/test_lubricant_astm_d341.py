"""ASTM D341 (Walther): one published worked oil, and four computed independently."""

import pytest

from tickover.physics import viscosity

# (KV40, KV100), A, B, {C: mm2/s}; computed apart from this package with T = t + 273.15.
OILS = [
    (
        (32.0, 5.4),
        9.530815,
        3.746578,
        {0: 335.9996, 20: 86.2779, 60: 15.1859, 80: 8.5332, 120: 3.7239},
    ),
    (
        (90.0, 14.0),
        7.652559,
        2.949345,
        {0: 849.185, 20: 238.230, 80: 22.918, 120: 9.3166, 150: 5.6915},
    ),
    ((68.0, 10.4), 8.290801, 3.216145, {0: 708.704, 20: 186.083, 80: 16.999, 120: 6.9514}),
    ((150.0, 18.5), 7.869881, 3.017848, {0: 1949.06, 20: 454.446, 80: 32.0645, 120: 11.7803}),
]
MM2 = 1e-6


def line_of(pair, zero=273.15):
    return viscosity.walther_line(40 + zero, pair[0] * MM2, 100 + zero, pair[1] * MM2)


@pytest.mark.parametrize(("pair", "a", "b", "table"), OILS)
def test_constants_and_curve(pair, a, b, table):
    line = line_of(pair)
    assert line.a == pytest.approx(a, abs=1e-6)
    assert line.b == pytest.approx(b, abs=1e-6)
    for celsius, kv in table.items():
        ours = viscosity.kinematic_viscosity(celsius + 273.15, line) / MM2
        assert ours == pytest.approx(kv, rel=1e-4)


def test_published_worked_oil():
    # Published worked example, 32 mm2/s at 40 C and 5.4 at 100 C with T = t + 273:
    # A 9.5259, B 3.7449, 8.5 mm2/s at 80 C.
    line = line_of((32.0, 5.4), zero=273.0)
    assert line.a == pytest.approx(9.5259, abs=6e-5)
    assert line.b == pytest.approx(3.7449, abs=6e-5)
    assert viscosity.kinematic_viscosity(353.0, line) / MM2 == pytest.approx(8.5, abs=0.05)
