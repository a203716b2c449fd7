"""Reading a compression test: what is good, what is out, and why."""

import json
from dataclasses import replace

import pytest

from tickover.errors import InputError
from tickover.physics.valveflow import Valve
from tickover.tasks.compression import (
    PSI,
    Conditions,
    CylinderReadings,
    CylinderSpec,
    OtherEvidence,
    as_json,
    assess,
    influences,
)
from tickover.tasks.compression import hypotheses as h

FOUR = CylinderSpec(
    "Invented 552 four", 4, 0.056, 0.056, 0.110, 9.2,
    Valve(340.0, 585.0, 7.5e-3, 26e-3), Valve(135.0, 380.0, 7e-3, 22e-3),
    neighbours=((1, 2), (2, 3), (3, 4)),
)  # fmt: skip
DAY = Conditions(throttle="open")


def readings(*dry, **more):
    made = []
    for i, value in enumerate(dry):
        extra = {}
        for name, values in more.items():
            each = values[i]
            if each is not None:
                extra[name] = each * PSI if name in ("wet", "slow", "first") else each
        place = f"cyl{i + 1}"
        made.append(CylinderReadings(place, dry=None if value is None else value * PSI, **extra))
    return made


def top(found, number):
    return found.cylinders[number - 1].causes[0].what


def odds(found, number, *causes):
    return sum(c.probability for c in found.cylinders[number - 1].causes if c.what in causes)


def test_even_and_as_expected_is_good():
    found = assess(FOUR, readings(155, 152, 157, 150), DAY)
    assert [c.verdict for c in found.cylinders] == ["good"] * 4
    assert found.even[0].holds
    assert found.all_good
    assert found.effective_sample_size > 50.0


def test_one_low_dry_reading_cannot_name_ring_or_valve():
    found = assess(FOUR, readings(152, 112, 151, 153), DAY)
    assert found.cylinders[1].verdict == "out"
    group = next(g for g in found.cannot_tell_apart if g.place == "cyl2")
    assert {h.RING, h.EXHAUST, h.INLET} <= set(group.causes)
    assert group.would_tell
    assert found.next_checks[0].place == "cyl2"


def test_oil_that_lifts_one_more_than_its_neighbours_means_rings():
    lifts = assess(FOUR, readings(152, 105, 151, 153, wet=(163, 148, 162, 164)), DAY)
    stays = assess(FOUR, readings(152, 105, 151, 153, wet=(163, 114, 162, 164)), DAY)
    valves = (h.INLET, h.EXHAUST, h.HELD_INLET, h.HELD_EXHAUST)
    assert odds(lifts, 2, h.RING) > odds(lifts, 2, *valves)
    assert odds(stays, 2, *valves) > 5.0 * odds(stays, 2, h.RING)


def test_air_in_the_exhaust_means_the_exhaust_valve_or_its_clearance():
    found = assess(
        FOUR,
        readings(
            152, 112, 151, 153, leak_percent=(6, 40, 5, 7), heard=(None, "exhaust", None, None)
        ),
        DAY,
    )
    assert odds(found, 2, h.EXHAUST, h.HELD_EXHAUST) > 0.9
    assert found.next_checks[0].what == "valve clearance of this cylinder"


def test_a_tight_clearance_on_that_cylinder_moves_the_odds():
    tight = OtherEvidence(tight_exhaust={"cyl2": 0.9})
    wide = OtherEvidence(tight_exhaust={"cyl2": 0.0}, tight_inlet={"cyl2": 0.0})
    low = readings(152, 118, 151, 153)
    assert top(assess(FOUR, low, DAY, tight), 2) == h.HELD_EXHAUST
    found = assess(FOUR, low, DAY, wide)
    assert odds(found, 2, h.HELD_EXHAUST, h.HELD_INLET) < 0.05


def test_work_done_since_moves_the_odds():
    low = readings(152, 118, 151, 153)
    lapped = OtherEvidence(odds={("cyl2", h.EXHAUST): 0.1, ("cyl2", h.INLET): 0.1})
    before, after = assess(FOUR, low, DAY), assess(FOUR, low, DAY, lapped)
    assert odds(after, 2, h.EXHAUST) < 0.3 * odds(before, 2, h.EXHAUST)


def test_two_neighbours_alike_low_mean_the_gasket_between_them():
    found = assess(FOUR, readings(152, 98, 100, 153), DAY)
    assert top(found, 2) == top(found, 3) == h.GASKET
    apart = assess(FOUR, readings(98, 152, 153, 100), DAY)
    assert h.GASKET not in {c.what for c in apart.cylinders[0].causes}


def test_pumping_better_when_slower_means_a_shut_throttle():
    said_nothing = Conditions()
    found = assess(FOUR, readings(110, 108, 112, 109, slow=(112, 111, 114, 111)), said_nothing)
    assert found.engine[0].what == h.SLIDE
    assert {c.verdict for c in found.cylinders} == {"undecided"}


def test_a_sound_engine_reads_a_tenth_less_at_two_thirds_of_the_speed():
    day = replace(DAY, speed_rpm=300.0, slow_rpm=200.0)
    found = assess(FOUR, readings(160, 158, 161, 159, slow=(142, 140, 143, 141)), day)
    assert {c.verdict for c in found.cylinders} == {"good"}
    leaky = assess(FOUR, readings(160, 128, 161, 159, slow=(142, 96, 143, 141)), day)
    assert leaky.cylinders[1].verdict == "out"
    assert top(leaky, 2) not in (h.LOW_RATIO, h.SLIDE)


def test_a_high_one_is_the_ratio_not_the_other_three():
    found = assess(FOUR, readings(152, 188, 151, 153), DAY)
    assert top(found, 2) == h.HIGH_RATIO
    assert found.cylinders[0].verdict == "good"


def test_all_low_names_no_single_cause_for_certain():
    found = assess(FOUR, readings(110, 108, 112, 109), Conditions())
    assert found.engine[0].probability < 0.7
    assert all(c.verdict != "good" for c in found.cylinders)
    assert {g.place for g in found.cannot_tell_apart} >= {"cyl1", "cyl4"}


def test_an_unlisted_cause_stays_possible():
    high = assess(FOUR, readings(152, 215, 151, 153), DAY)
    assert h.OTHER in {c.what for c in high.cylinders[1].causes}
    assert high.cylinders[1].verdict == "out"


def test_mountain_readings_are_judged_as_mountain_readings():
    sea = assess(FOUR, readings(152, 151, 153, 150), DAY)
    high = assess(FOUR, readings(125, 124, 126, 123), replace(DAY, altitude=1500.0))
    assert sea.all_good
    assert high.all_good
    assert high.cylinders[0].at_sea_level > 148 * PSI


def test_book_limit_is_compared_at_sea_level():
    strict = replace(FOUR, book_limit=(140 * PSI, 190 * PSI))
    low = assess(strict, readings(135, 136, 134, 135), DAY)
    high = assess(strict, readings(122, 121, 123, 122), replace(DAY, altitude=1500.0))
    assert low.cylinders[0].verdict == "out"
    assert low.cylinders[0].book == "below"
    assert high.cylinders[0].book == "within"


def test_same_seed_same_numbers():
    first, second = (assess(FOUR, readings(152, 128, 151, 153), DAY, seed=7) for _ in range(2))
    assert as_json(first) == as_json(second)


def test_json_has_what_the_terminal_promises():
    found = assess(FOUR, readings(152, 128, 151, None, leak_percent=(None, 30, None, None)), DAY)
    data = json.loads(json.dumps(as_json(found)))
    assert {"cylinders", "even", "cannot_tell_apart", "next_check", "effective_sample_size"} <= set(
        data
    )
    one = data["cylinders"][1]
    assert {"place", "expected_psi", "reading_psi", "verdict", "causes", "leak_area_mm2"} <= set(
        one
    )
    low, middle, high = one["expected_psi"]
    assert low < middle < high
    assert sum(c["probability"] for c in one["causes"]) == pytest.approx(1.0, abs=0.1)
    assert one["leak_area_mm2"][0] < one["leak_area_mm2"][1] < one["leak_area_mm2"][2]
    assert data["cylinders"][3]["verdict"] == "open"
    assert data["even"]["rule"]


def test_influences_have_the_right_sign_and_order_of_size():
    worth = {x.what: x.change / PSI for x in influences(FOUR, DAY)}
    assert -100.0 < worth["1 mm2 more leak"] < -40.0
    assert -20.0 > worth["an exhaust valve held open by 0.02 mm"] > -70.0
    assert -25.0 < worth["1000 m higher"] < -15.0
    assert worth["engine 60 K warmer"] > 0.0
    assert worth["1 cc of oil in the cylinder"] > 0.0
    assert worth["throttle or slides shut to 3 mm2"] < -20.0


# -- bad input ---------------------------------------------------------------------------------


def test_bar_typed_as_psi_is_caught():
    with pytest.raises(InputError, match="bar"):
        assess(FOUR, readings(1.5, 1.5, 1.4, 1.5), DAY)
    with pytest.raises(InputError, match=r"10\.5 bar"):
        assess(FOUR, readings(10.5, 10.4, 10.6, 10.5), DAY)


def test_one_low_value_among_good_ones_is_taken_but_remarked():
    found = assess(FOUR, readings(152, 1.5, 151, 153), DAY)
    assert found.cylinders[1].verdict == "out"
    assert any("next to nothing; was it 1.5 MPa?" in r for r in found.remarks)


def test_more_than_the_engine_could_make_is_refused_with_the_absolute_value_in_mind():
    with pytest.raises(InputError, match="absolute"):
        assess(FOUR, readings(410, 405, 400, 402), DAY)


def test_ratio_of_92_is_refused_with_what_was_meant():
    with pytest.raises(InputError, match=r"9\.2"):
        replace(FOUR, ratio=92.0)


def test_nothing_lost_and_everything_lost_are_no_certainty():
    found = assess(FOUR, readings(152, 128, 151, 153, leak_percent=(0.0, 100.0, 5.0, 5.0)), DAY)
    assert any("Not a leak figure" in r for r in found.remarks)
    assert any("zero both" in r for r in found.remarks)
    assert found.cylinders[1].causes[0].probability < 0.9
    only = assess(FOUR, readings(None, None, None, None, leak_percent=(100.0,) * 4), DAY)
    assert {c.verdict for c in only.cylinders} == {"open"}


def test_wet_without_dry_is_left_out_in_words():
    found = assess(FOUR, readings(152, None, 151, 153, wet=(None, 140, None, None)), DAY)
    assert found.cylinders[1].verdict == "open"
    assert any("without a dry one" in r for r in found.remarks)


def test_a_cylinder_missing_and_all_the_same_are_said():
    missing = assess(FOUR, readings(152, 150, 151), DAY)
    assert any("No dry reading of cyl4" in r for r in missing.remarks)
    same = assess(FOUR, readings(150, 150, 150, 150), DAY)
    assert any("same to the last digit" in r for r in same.remarks)


def test_cam_timing_that_never_closes_is_refused():
    with pytest.raises(InputError, match="cam timing"):
        replace(FOUR, inlet=Valve(300.0, 740.0, 7e-3, 26e-3))


def test_strange_places_and_percentages_are_refused():
    with pytest.raises(InputError, match="no such cylinder"):
        assess(FOUR, [CylinderReadings("cyl5", dry=150 * PSI)], DAY)
    with pytest.raises(InputError, match="percentage"):
        assess(FOUR, readings(150, 150, 150, 150, leak_percent=(120, None, None, None)), DAY)
    with pytest.raises(InputError, match="twice"):
        assess(FOUR, [CylinderReadings("cyl1"), CylinderReadings("cyl1")], DAY)


def test_nothing_read_is_open_not_an_error():
    found = assess(FOUR, [], DAY)
    assert {c.verdict for c in found.cylinders} == {"open"}
    assert found.next_checks == ()
    assert as_json(found)["next_check"] is None


def test_a_single_has_no_neighbours_and_no_evenness():
    single = replace(FOUR, cylinders=1, neighbours=())
    found = assess(single, readings(150), DAY)
    assert found.even == ()
    assert found.cylinders[0].verdict == "good"
