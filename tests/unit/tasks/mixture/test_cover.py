"""Which jets to buy before the start: exact cover, height, open filters."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tickover.errors import InputError
from tickover.physics.carburettor.parts import Breathing, Carburettor, Needle, Setting
from tickover.tasks.mixture.cover import _stab, cheapest_cover, wanted_mains
from tickover.tasks.mixture.drawer import Drawer, HungNeedle, Jet, Slide
from tickover.tasks.mixture.target import Target
from tickover.tasks.mixture.trim import Trim

NEEDLE = Needle("N", (0.0, 0.030, 0.034, 0.050, 0.060), (2.49e-3, 2.49e-3, 2.44e-3, 2.1e-3, 1.5e-3))
CARB = Carburettor(bore=26e-3, needle_jet=2.6e-3)
ENGINE = Breathing(100e-6)
GOOD = Setting(0.38e-3, 1.5, 2.5e-3, NEEDLE, 3, 0.95e-3)
SIZES = sorted([95, *range(80, 140, 2)])
MAINS = tuple(Jet(f"{k}", k * 1e-5, price=5.0, owned=4 if k == 95 else 0) for k in SIZES)
DRAWER = Drawer((Jet("38", 0.38e-3, 5.0, 4),), MAINS, (HungNeedle(NEEDLE, 0.0, 4),),
                (Slide(2.5e-3, 0.0, 4),), carburettors=4)  # fmt: skip


def want(*trims, carb=CARB, good=None):
    return wanted_mains(carb, ENGINE, GOOD, good or Trim(), trims, Target(), 9000.0)


@given(
    st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)).map(sorted), max_size=7),
    st.lists(st.integers(0, 9), min_size=8, max_size=8),
)
def test_the_cover_is_the_cheapest_there_is(spans, costs):
    spans = [tuple(s) for s in spans]
    found = _stab(spans, costs)

    def covers(places):
        return all(any(a <= p <= b for p in places) for a, b in spans)

    assert covers(found)
    least = min(
        (sum(costs[p] for p in places), len(places))
        for count in range(9)
        for places in combinations(range(8), count)
        if covers(places)
    )
    assert (sum(costs[p] for p in found), len(found)) == least


def test_the_state_it_was_right_in_wants_the_jet_it_was_right_with():
    same = want(Trim())[0]
    assert same.bore == pytest.approx(GOOD.main_jet, rel=1e-3)
    assert same.low < same.bore < same.high


def test_height_wants_smaller_jets_by_about_the_fourth_root_law():
    # 2000 m at the same temperature: -5.9 % of bore by the law; series needle and bleed make
    # the jet do less, so it has to change a little more.
    high = want(Trim("pass", altitude=2000.0))[0]
    assert -0.095 < high.bore / GOOD.main_jet - 1.0 < -0.055
    assert high.high - high.low > want(Trim())[0].high - want(Trim())[0].low


def test_cold_air_wants_larger_jets():
    assert want(Trim("frost", temperature=263.15))[0].bore > GOOD.main_jet * 1.02


def test_open_filters_on_a_bowl_open_to_the_room_want_much_larger_jets_with_a_wide_interval():
    opened = want(Trim("open"), good=Trim(box_depression=500.0))[0]
    assert opened.bore > 1.05 * GOOD.main_jet
    assert opened.high / opened.low > 1.08
    assert any("pulsating" in why for why in opened.uncertain)


def test_open_filters_on_a_bowl_vented_into_the_box_hardly_matter():
    vented = Carburettor(bore=26e-3, needle_jet=2.6e-3, bowl_vent="box")
    opened = want(Trim("open"), carb=vented, good=Trim(box_depression=981.0))[0]
    # 0.5 to 1 % of area for 10 cm of water, so up to half a percent of bore.
    assert abs(opened.bore / GOOD.main_jet - 1.0) < 0.012


def test_baffles_out_widen_the_interval_and_move_nothing():
    with_, without = want(Trim(), Trim("loud", baffles=False))
    assert without.bore == pytest.approx(with_.bore, rel=1e-9)
    assert without.high - without.low > 2.0 * (with_.high - with_.low)


def test_what_is_owned_is_used_before_anything_is_bought():
    cover = cheapest_cover(DRAWER, MAINS, want(Trim()))
    assert [jet.mark for jet in cover.use] == ["95"]
    assert cover.cost == 0.0
    assert cover.buy == ()


def test_a_range_of_states_is_covered_and_priced_for_all_carburettors():
    wants = want(Trim(), Trim("pass", altitude=2000.0), Trim("frost", temperature=263.15))
    cover = cheapest_cover(DRAWER, MAINS, wants)
    assert not cover.uncovered
    assert cover.cost == sum(4 * jet.price for jet in cover.use if jet.mark != "95")
    for one in wants:
        served = [j for j in cover.use if one.bore * 0.985 <= j.bore <= one.bore * 1.03]
        assert served, one.trim.name


def test_a_state_beyond_the_series_is_named():
    few = MAINS[:4]
    cover = cheapest_cover(DRAWER, few, want(Trim()))
    assert [w.trim.name for w in cover.uncovered] == ["today"]


def test_impossible_weather_and_boxes_are_refused():
    with pytest.raises(InputError, match="50 percent"):
        Trim(humidity=50.0)
    with pytest.raises(InputError, match="10 cmH2O"):
        Trim(box_depression=20000.0)
    assert np.isfinite(want(Trim(humidity=1.0))[0].bore)
