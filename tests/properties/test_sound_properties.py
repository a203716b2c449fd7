"""What must not change what is heard: gain, polarity, a turn of the firing list."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.physics.sound.orders import firing_fractions, firing_gaps, order_amplitudes
from tickover.physics.sound.slots import slot_strengths
from tickover.physics.sound.synthesise import synthesise
from tickover.tasks.listen import analyse

ROUNDING = 1e-3
"""Single precision samples: a thousandth of the value is far above their rounding."""

MADE = synthesise([0, 240, 480], duration_s=6.0, rate=8000, seed=9, strengths=[1, 0.6, 1])
HEARD = analyse(MADE.samples, MADE.rate, [0, 240, 480], about_rpm=1000)

angles = st.lists(st.integers(0, 71), min_size=1, max_size=6, unique=True).map(
    lambda tens: [10.0 * ten for ten in tens]
)


@settings(max_examples=8, deadline=None)
@given(st.floats(0.01, 50.0), st.sampled_from([1.0, -1.0]))
def test_gain_and_polarity_change_nothing(gain: float, sign: float) -> None:
    again = analyse(sign * gain * MADE.samples, MADE.rate, [0, 240, 480], about_rpm=1000)
    assert HEARD.speed_rpm is not None
    assert again.speed_rpm is not None
    assert again.speed_rpm.median == pytest.approx(HEARD.speed_rpm.median, rel=ROUNDING)
    assert again.slots is not None
    assert HEARD.slots is not None
    assert [s.strength for s in again.slots] == pytest.approx(
        [s.strength for s in HEARD.slots], rel=0.01
    )


@given(angles, st.randoms())
def test_order_of_the_firing_list_does_not_matter(some: list[float], chance) -> None:
    mixed = some[:]
    chance.shuffle(mixed)
    turned = [angle + 720.0 for angle in mixed]
    assert firing_fractions(turned) == pytest.approx(firing_fractions(some), abs=1e-12)
    assert np.sum(firing_gaps(firing_fractions(some))) == pytest.approx(1.0)


@given(angles, st.floats(0.0, 720.0))
def test_order_amplitudes_do_not_depend_on_where_the_cycle_begins(
    some: list[float], turn: float
) -> None:
    orders = [0.5, 1.0, 1.5, 2.0]
    shifted = [angle + turn for angle in some]
    assert order_amplitudes(orders, shifted) == pytest.approx(
        order_amplitudes(orders, some), abs=1e-9
    )
    assert np.all(order_amplitudes(orders, some) <= 1.0 + 1e-12)


@settings(deadline=None, max_examples=30)
@given(
    st.lists(st.floats(0.2, 2.0), min_size=2, max_size=4), st.floats(0.1, 10.0), st.integers(0, 99)
)
def test_strengths_follow_the_pulses_and_not_their_scale(
    truth: list[float], scale: float, seed: int
) -> None:
    pulse = np.random.default_rng(seed).standard_normal(30)
    windows = np.asarray(truth)[:, None, None] * np.tile(pulse, (len(truth), 30, 1))
    found = slot_strengths(scale * windows).strength
    middle = sorted(truth)[len(truth) // 2]
    assert found == pytest.approx(np.asarray(truth) / middle, rel=1e-6)
