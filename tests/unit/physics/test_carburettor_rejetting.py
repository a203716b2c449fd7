"""The air box comes off: the formula by hand, and the vent that cannot be."""

from __future__ import annotations

import math

import pytest

from tickover.errors import InputError
from tickover.physics.carburettor.rejetting import main_for_open_inlet


def test_the_steady_change_worked_by_hand():
    # E = (6e-4/5e-7)^2/(2*740) = 973 Pa; E' = 773 Pa; r = sqrt(973/773) = 1.1219;
    # a_m before 0.51640e-6, after 1/sqrt(1/(0.56097e-6)^2 - 1/(2e-6)^2) = 0.58443e-6.
    wanted = main_for_open_inlet(6.0e-4, 5.0e-7, 2.0e-6, 740.0, 200.0)
    steady = 0.58443 / 0.51640 - 1.0
    assert wanted.area_factor == pytest.approx(1 + 1.4 * steady, abs=2e-4)
    assert wanted.area_factor_low == pytest.approx(1 + 1.3 * steady, abs=2e-4)
    assert wanted.area_factor_high == pytest.approx(1 + 1.8 * steady, abs=2e-4)
    assert wanted.head == pytest.approx(972.97, abs=0.01)


def test_no_depression_wants_no_change():
    assert main_for_open_inlet(6e-4, 5e-7, 2e-6, 740.0, 0.0).area_factor == pytest.approx(1.0)


def test_more_air_wants_more_jet_in_proportion_when_the_needle_is_far_out():
    wanted = main_for_open_inlet(6e-4, 5e-7, 1e-3, 740.0, 0.0, air_factor=1.05)
    assert wanted.area_factor == pytest.approx(1 + 1.4 * 0.05, rel=1e-4)


def test_a_box_that_pulls_the_whole_head_means_the_vent_is_not_where_it_was_said():
    with pytest.raises(InputError, match="vent hose"):
        main_for_open_inlet(6e-4, 5e-7, 2e-6, 740.0, 970.0)


def test_no_main_jet_helps_where_the_needle_is_the_narrow_place():
    with pytest.raises(InputError, match="larger needle jet"):
        main_for_open_inlet(6e-4, 5e-7, 5.2e-7, 740.0, 300.0)


def test_depression_and_root_law_agree_for_a_small_pull():
    small = main_for_open_inlet(6e-4, 5e-7, 1e-3, 740.0, 10.0)
    head = (6e-4 / 5e-7) ** 2 / (2 * 740.0)
    steady = math.sqrt(head / (head - 10.0)) - 1
    assert small.area_factor == pytest.approx(1 + 1.4 * steady, rel=1e-6)
