"""The trade's rule of thumb: pilot to a quarter, needle to three quarters, main above.

Common practice, no source.
"""

from __future__ import annotations

import numpy as np
from support_mixture import blind

from tickover.tasks.mixture.adjusters import MARKS, influence, weights


def shares():
    found = []
    for number in range(6):
        bench = blind.bench(np.random.default_rng([11, number]))
        middle = bench.fitted.with_(
            needle=bench.drawer.needles[1].needle, clip=3,
            pilot_jet=bench.drawer.pilots[3].bore, main_jet=bench.drawer.mains[9].bore,
            screw_turns=1.75,
        )  # fmt: skip
        found.append(weights(influence(bench.carburettor, bench.engine, middle)))
    return {name: np.mean([f[name] for f in found], axis=0) for name in found[0]}


def test_each_adjuster_has_its_say_where_the_trade_says():
    share = shares()
    leader = [max(share, key=lambda name: share[name][k]) for k in range(len(MARKS))]
    assert leader[0] == "pilot"
    assert leader[MARKS.index(0.25)] in ("needle", "cutaway")
    assert leader[-1] == "main"


def test_pilot_fades_and_main_grows_all_the_way():
    share = shares()
    # Once it is below a hundredth the pilot's share may wander with the speed of the point.
    assert np.all(np.diff(np.maximum(share["pilot"], 0.01)) <= 0.0)
    assert np.all(np.diff(share["main"]) >= 0.0)


def test_the_ranges_overlap_as_weights_and_not_as_steps():
    share = shares()
    half = MARKS.index(0.5)
    assert share["needle"][half] > 0.15
    assert share["main"][half] > 0.15
