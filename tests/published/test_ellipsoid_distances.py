"""Distances on WGS 84 against GeographicLib 2.1, C. F. F. Karney's general-purpose library."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from tickover.errors import InputError
from tickover.physics.geodesy import distance

SERIES = 2e-4  # m: where the series of 1975 ends, over any distance
PRINT = 6e-4 + 4e-5


@pytest.mark.parametrize(
    ("points", "metres"),
    [((0, 0, 1, 0), 110574.389), ((0, 0, 0, 1), 111319.491), ((45, 0, 46, 0), 111141.549),
     ((45, 0, 45, 1), 78846.335), ((51.5, -0.1, 48.85, 2.35), 342761.941),
     ((52, 0, 52, 0.01), 686.780), ((52, 0, 52, 0.0004), 27.471)],
)  # fmt: skip
def test_tabled_distances(points, metres):
    assert float(distance(*points)) == pytest.approx(metres, abs=PRINT)


def test_thousands_of_pairs_near_and_far():
    rng = np.random.default_rng(7)
    lat1, lon1 = rng.uniform(-89, 89, 1500), rng.uniform(-180, 180, 1500)
    reach = 10 ** rng.uniform(-6, 1.8, 1500)
    lat2 = np.clip(lat1 + reach * rng.normal(size=1500), -90, 90)
    lon2 = lon1 + reach * rng.normal(size=1500)
    ours = distance(lat1, lon1, lat2, lon2)
    for row in range(1500):
        theirs = Geodesic.WGS84.Inverse(lat1[row], lon1[row], lat2[row], lon2[row])["s12"]
        assert ours[row] == pytest.approx(theirs, abs=SERIES)


def test_across_the_date_line_and_nowhere():
    assert float(distance(10, 179.9999, 10, -179.9999)) == pytest.approx(
        Geodesic.WGS84.Inverse(10, 179.9999, 10, -179.9999)["s12"], abs=1e-6
    )
    assert float(distance(52.0, 4.0, 52.0, 4.0)) == 0.0


@pytest.mark.parametrize(
    "points", [(-41.32, 174.81, 40.96, -5.50), (91, 0, 0, 0), (0, np.nan, 0, 0)]
)
def test_opposite_sides_and_no_places_are_refused(points):
    with pytest.raises(InputError):
        distance(*points)
