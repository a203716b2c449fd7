"""Volumes above the piston, by hand."""

import pytest

from tickover.errors import InputError
from tickover.physics.ratio import Chamber, clearance_volume, compression_ratio, dome_volume


def test_each_part_adds_or_takes_its_own_volume():
    plain = clearance_volume(Chamber(0.06, 0.05, 20e-6))
    deeper = clearance_volume(Chamber(0.06, 0.05, 20e-6, deck=1e-3))
    domed = clearance_volume(Chamber(0.06, 0.05, 20e-6, dome_volume=3e-6))
    gasket = clearance_volume(Chamber(0.06, 0.05, 20e-6, 1e-3, 0.062))
    assert plain == 20e-6
    assert deeper - plain == pytest.approx(2.8274e-6, rel=1e-4)
    assert plain - domed == pytest.approx(3e-6)
    assert gasket - plain == pytest.approx(3.0191e-6, rel=1e-4)


def test_dish_has_a_minus_sign():
    assert dome_volume(0.06, 0.0, 2e-6) == -2e-6
    assert dome_volume(0.06, 10e-3, 24.0e-6) == pytest.approx(4.274e-6, rel=1e-3)


def test_no_room_left_and_wrong_gasket_are_refused():
    with pytest.raises(InputError, match="no room"):
        compression_ratio(Chamber(0.06, 0.05, 20e-6, dome_volume=25e-6))
    with pytest.raises(InputError, match="gasket"):
        Chamber(0.06, 0.05, 20e-6, 1e-3, 0.03)
    with pytest.raises(InputError, match="Bore"):
        Chamber(6.0, 5.0, 20e-6)
