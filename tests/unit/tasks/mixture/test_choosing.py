"""The search: every setting counted, the best really best, effort and money, ends of ranges."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
from support_mixture import blind

from tickover.physics.carburettor import model
from tickover.physics.carburettor.parts import Air, Setting
from tickover.tasks.mixture.choosing import screen_all, search
from tickover.tasks.mixture.drawer import minutes_for, prices
from tickover.tasks.mixture.posterior import Round, fit, transfer
from tickover.tasks.mixture.readings import Reading
from tickover.tasks.mixture.scoring import Taste, bias, chance_of_lean, lean_weights, score
from tickover.tasks.mixture.target import Target

BENCH = blind.bench(np.random.default_rng(8))
TARGET = Target()
AT = model.points(
    BENCH.carburettor, BENCH.engine, Air(), blind.MAP_OPENINGS[::3], blind.MAP_SPEEDS[::3]
)
SMALL = replace(
    BENCH.drawer, pilots=BENCH.drawer.pilots[2:5], mains=BENCH.drawer.mains[5:10],
    needles=BENCH.drawer.needles[:2], slides=BENCH.drawer.slides[:2],
    screw_turns=(1.0, 1.75, 2.5),
)  # fmt: skip
FITTED = Setting(
    SMALL.pilots[1].bore, 1.75, SMALL.slides[1].cutaway, SMALL.needles[1].needle, 3,
    SMALL.mains[4].bore,
)  # fmt: skip


def posterior(setting=FITTED):
    lams = BENCH.truth.lambdas(setting, AT.openings, AT.speeds_rpm)
    rows = tuple(
        Reading(float(o), float(s), lam=float(x))
        for o, s, x in zip(AT.openings, AT.speeds_rpm, lams, strict=True)
    )
    anchor = model.anchor(AT, setting, np.log(TARGET.at(AT.openings)))
    return fit(BENCH.carburettor, BENCH.engine, [Round(setting, rows)], TARGET, anchor)


POST = posterior()


def every_setting():
    for jet, turns, slide, hung in product(
        SMALL.pilots, SMALL.screw_turns, SMALL.slides, SMALL.needles
    ):
        for clip, main in product(range(1, hung.needle.clips + 1), SMALL.mains):
            yield Setting(jet.bore, turns, slide.cutaway, hung.needle, clip, main.bore)


def test_the_first_pass_says_of_each_setting_what_the_model_says():
    taste = Taste()
    carried = transfer(POST, AT, None)
    table = screen_all(POST, AT, SMALL, FITTED, TARGET, taste, carried)
    settings = list(every_setting())
    assert table.size == len(settings) == 3 * 3 * 2 * 2 * 5 * 5
    rng = np.random.default_rng(0)
    mains = table.shape[1]
    for pilot, screw, rest in zip(
        rng.integers(0, 3, 20), rng.integers(0, 3, 20), rng.integers(0, mains, 20), strict=True
    ):
        slide, left = divmod(int(rest), 2 * 5 * 5)
        needle, left = divmod(left, 5 * 5)
        clip, main = divmod(left, 5)
        setting = Setting(
            SMALL.pilots[pilot].bore, SMALL.screw_turns[screw], SMALL.slides[slide].cutaway,
            SMALL.needles[needle].needle, clip + 1, SMALL.mains[main].bore,
        )  # fmt: skip
        error = model.ln_lambda(AT, setting, POST.factors) + carried.mean
        error = error - np.log(TARGET.at(AT.openings)) + bias(AT, taste)
        loss = error**2 * np.where(error > 0, lean_weights(AT, taste), 1.0)
        full = loss.mean() + taste.minute * minutes_for(SMALL, FITTED, setting)
        full += taste.money * prices(SMALL).of(setting)
        # The first pass takes a fraction for the logarithm: 3 % of the loss is its worst here.
        assert abs(table[pilot * 3 + screw, rest] - full) < 0.03 * full + 2e-5


def test_the_setting_found_is_the_best_of_all_by_the_full_score():
    taste = Taste()
    carried = transfer(POST, AT, None)
    settings = list(every_setting())
    everything = score(POST, AT, SMALL, FITTED, settings, TARGET, taste, carried)
    least = min(everything, key=lambda c: c.loss)
    found = search(POST, AT, SMALL, FITTED, TARGET, taste)
    assert found.looked_at == len(settings)
    assert found.best.loss <= least.loss + 1e-9


def test_closed_form_loss_is_what_draws_from_the_posterior_give():
    taste = replace(Taste(), minute=0.0, money=0.0, chance_weight=0.0)
    carried = transfer(POST, AT, None)
    choice = score(POST, AT, SMALL, FITTED, [FITTED.with_(main_jet=SMALL.mains[2].bore)], TARGET,
                   taste, carried)[0]  # fmt: skip
    from tickover.tasks.mixture.posterior import predict

    told = predict(POST, AT, choice.setting, carried)
    rng = np.random.default_rng(2)
    draws = told.mean + told.spread * rng.standard_normal((60000, AT.openings.size))
    error = draws - np.log(TARGET.at(AT.openings)) + bias(AT, taste)
    loss = (error**2 * np.where(error > 0, lean_weights(AT, taste), 1.0)).mean()
    # 60000 draws of a squared normal: a percent.
    assert abs(choice.loss - loss) < 0.015 * loss


def test_a_screw_is_turned_before_a_jet_is_changed_when_both_would_do():
    """Right everywhere but rich at idle: the screw, or a smaller pilot jet."""
    grid = model.points(
        BENCH.carburettor, BENCH.engine, Air(), blind.MAP_OPENINGS, blind.MAP_SPEEDS
    )
    wanted = TARGET.at(grid.openings) * np.where(grid.openings >= 0.5, 0.965, 1.0)
    rows = tuple(
        Reading(float(o), float(s), lam=float(w * (0.88 if o == 0.0 else 1.0)), spread=0.005)
        for o, s, w in zip(grid.openings, grid.speeds_rpm, wanted, strict=True)
    )
    anchor = model.anchor(grid, FITTED, np.log(wanted))
    post = fit(BENCH.carburettor, BENCH.engine, [Round(FITTED, rows)], TARGET, anchor)
    fine = replace(SMALL, screw_turns=tuple(0.25 * k for k in range(2, 16)))
    best = search(post, grid, fine, FITTED, TARGET).best
    assert best.setting == FITTED.with_(screw_turns=best.setting.screw_turns)
    assert best.setting.screw_turns < FITTED.screw_turns
    assert best.minutes == 2.0


def test_what_is_not_owned_and_may_not_be_bought_is_not_advised():
    poor = replace(
        SMALL, may_buy=False,
        mains=tuple(replace(j, owned=int(j.bore == FITTED.main_jet)) for j in SMALL.mains),
        pilots=tuple(replace(j, owned=int(j.bore == FITTED.pilot_jet)) for j in SMALL.pilots),
        needles=tuple(replace(n, owned=int(n.needle == FITTED.needle)) for n in SMALL.needles),
        slides=tuple(replace(s, owned=int(s.cutaway == FITTED.cutaway)) for s in SMALL.slides),
    )  # fmt: skip
    best = search(POST, AT, poor, FITTED, TARGET).best.setting
    assert (best.main_jet, best.pilot_jet, best.needle, best.cutaway) == (
        FITTED.main_jet, FITTED.pilot_jet, FITTED.needle, FITTED.cutaway,
    )  # fmt: skip


def test_money_is_counted_for_every_carburettor():
    four = replace(SMALL, carburettors=4)
    jet = SMALL.mains[0]
    setting = FITTED.with_(main_jet=jet.bore)
    was = (4 - SMALL.mains[4].owned) * SMALL.mains[4].price
    assert prices(four).of(setting) - prices(four).of(FITTED) == (4 - jet.owned) * jet.price - was


def test_a_best_answer_at_the_end_of_a_short_series_is_called_out():
    rich_only = replace(SMALL, mains=BENCH.drawer.mains[-2:])
    setting = FITTED.with_(main_jet=rich_only.mains[-1].bore)
    found = search(posterior(setting), AT, rich_only, setting, TARGET)
    assert any(name.startswith("main jet, smaller") for name in found.at_end)


def test_a_range_that_is_wide_enough_is_not_called_out():
    found = search(POST, AT, BENCH.drawer, FITTED, TARGET)
    assert not any(name.startswith("main jet") for name in found.at_end)


def two_readings():
    """A rich machine known by two readings only: what a first evening brings."""
    rich = FITTED
    picked = [5, 8]
    rows = tuple(
        Reading(float(t), float(s), lam=float(0.88 * TARGET.at(np.array([t]))[0]))
        for t, s in zip(AT.openings[picked], AT.speeds_rpm[picked], strict=True)
    )
    anchor = model.anchor(AT, rich, np.log(0.9 * TARGET.at(AT.openings)))
    return fit(BENCH.carburettor, BENCH.engine, [Round(rich, rows)], TARGET, anchor), rich


def test_a_setting_too_likely_lean_is_set_aside_for_a_richer_one():
    """Rich first, then step down: common practice, no source."""
    little, rich = two_readings()
    free = search(little, AT, BENCH.drawer, rich, TARGET, Taste(lean_cap=1.0))
    assert free.set_aside is None
    cap = 0.95 * free.lean_best
    assert free.lean_now < cap < free.lean_best  # the change is what makes it likely
    capped = search(little, AT, BENCH.drawer, rich, TARGET, Taste(lean_cap=cap))
    assert capped.set_aside is not None
    assert capped.set_aside.setting == free.best.setting
    assert capped.lean_aside == free.lean_best
    assert capped.lean_best <= cap
    assert capped.lean_best == chance_of_lean(little, AT, capped.best.setting, TARGET)
    high = AT.openings >= 0.5
    leaner = model.ln_lambda(AT, free.best.setting, little.factors)[high].mean()
    assert model.ln_lambda(AT, capped.best.setting, little.factors)[high].mean() < leaner


def test_where_nothing_is_safe_enough_the_least_lean_of_the_steps_is_taken():
    little, rich = two_readings()
    free = search(little, AT, BENCH.drawer, rich, TARGET, Taste(lean_cap=1.0))
    found = search(little, AT, BENCH.drawer, rich, TARGET, Taste(lean_cap=0.0))
    assert 0.0 < found.lean_best < free.lean_best
    assert found.set_aside is not None
