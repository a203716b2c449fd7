"""Points, advance curve, strobe, leads and windings: behaviour and refusals."""

import pytest

from tickover.errors import InputError
from tickover.physics import ignition, leads, winding
from tickover.physics.bands import Band

CURVE = ignition.AdvanceCurve((25.0, 50.0), (12.0, 38.0), 2.0)


def test_long_dwell_wants_a_wider_gap_and_fires_earlier():
    change = ignition.gap_for_dwell(58.0, Band(49.0, 55.0), 4)
    assert change.gap == "wider"
    assert change.timing_shift_crank_deg == pytest.approx(6.0)  # 6 cam deg, half of it, twice


def test_short_dwell_wants_a_narrower_gap_and_fires_later():
    change = ignition.gap_for_dwell(46.0, Band(49.0, 55.0), 4, cam_turns_per_crank_turn=1.0)
    assert change.gap == "narrower"
    assert change.timing_shift_crank_deg == pytest.approx(-3.0)


def test_dwell_within_limits_is_left():
    assert ignition.gap_for_dwell(52.0, Band(49.0, 55.0), 4) == ignition.GapChange("leave", 0.0)


def test_dwell_longer_than_between_two_lobes_is_refused():
    with pytest.raises(InputError, match="Dwell"):
        ignition.dwell_percent(95.0, 4)
    with pytest.raises(InputError, match="lobe"):
        ignition.dwell_percent(95.0, 0)


def test_curve_is_level_beyond_its_ends():
    assert ignition.expected_advance(CURVE, 5.0) == Band(10.0, 14.0)
    assert ignition.expected_advance(CURVE, 99.0) == Band(36.0, 40.0)


def test_uncertain_speed_widens_the_band_over_every_corner():
    bump = ignition.AdvanceCurve((20.0, 40.0, 60.0), (10.0, 30.0, 20.0))
    assert ignition.expected_advance(bump, Band(30.0, 50.0)) == Band(20.0, 30.0)


@pytest.mark.parametrize(
    ("speeds", "angles"), [((), ()), ((1.0,), (1.0, 2.0)), ((2.0, 2.0), (1.0, 2.0))]
)
def test_unusable_curves_are_refused(speeds, angles):
    with pytest.raises(InputError):
        ignition.AdvanceCurve(speeds, angles)


def test_slow_lamp_hides_advance():
    true = ignition.advance_from_strobe(34.0, 5000 / 60, Band(0.0, 50e-6))
    assert (true.low, true.high) == (34.0, pytest.approx(35.5))
    with pytest.raises(InputError, match="Delay"):
        ignition.advance_from_strobe(34.0, 50.0, -1e-6)


def test_tiny_gap_has_no_paschen_answer():
    with pytest.raises(InputError, match="too small"):
        ignition.spark_voltage(1e-6, 1e5)


def test_coil_share_must_be_a_share():
    with pytest.raises(InputError):
        ignition.coil_time_constant(4e-3, 1.0)


def test_right_leads():
    check = leads.check_leads((1, 3, 4, 2), (1, 3, 4, 2))
    assert check == leads.LeadCheck(True, (), 0, ())


def test_two_leads_exchanged():
    check = leads.check_leads((1, 3, 4, 2), (1, 4, 3, 2))
    assert not check.right
    assert check.moved == ((2, 3, 4), (3, 4, 3))
    assert {frozenset(pair) for pair in check.exchanges} == {frozenset((3, 4))}
    assert check.turned_by == 0


def test_whole_set_one_tower_round():
    check = leads.check_leads((1, 3, 4, 2), (3, 4, 2, 1))
    assert check.turned_by == 1
    assert len(check.moved) == 4
    assert len(check.exchanges) == 3


def test_leads_of_one_coil_may_be_exchanged():
    assert leads.check_leads((1, 3, 4, 2), (4, 3, 1, 2), [(1, 4)]).right
    assert not leads.check_leads((1, 3, 4, 2), (4, 3, 1, 2)).right


@pytest.mark.parametrize("found", [(1, 2, 3), (1, 1, 2, 3), (1, 2, 3, 5), ()])
def test_lists_that_do_not_match_are_refused(found):
    with pytest.raises(InputError, match="every cylinder once"):
        leads.check_leads((1, 3, 4, 2), found)


def test_coil_of_another_engine_is_refused():
    with pytest.raises(InputError, match="two cylinders"):
        leads.check_leads((1, 3, 4, 2), (1, 3, 4, 2), [(1, 5)])


def test_winding_refuses_unknown_forms_and_heat():
    with pytest.raises(InputError, match="form"):
        winding.resistance_at(4.0, 293.15, 300.0, "guess")
    with pytest.raises(InputError, match="Temperature"):
        winding.resistance_at(4.0, 20.0, 293.15)  # 20 C typed where K is meant
    with pytest.raises(InputError):
        winding.winding_temperature(0.6, 0.0, 293.15)


def test_reading_taken_at_20_stays():
    for form in ("coefficient", "inferred zero"):
        assert winding.resistance_at_20(4.2, 293.15, form) == pytest.approx(4.2, rel=1e-12)
