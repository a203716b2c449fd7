"""Belief, information and intervals: what must hold whatever the numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tickover.decide.information import entropy, information, remedy_gain, stack
from tickover.decide.intervals import (
    judge,
    probability_below,
    probability_bounds,
    probability_inside,
)
from tickover.decide.troubleshoot import (
    Action,
    Done,
    Model,
    Observation,
    Question,
    believe,
    next_step,
)

seeds = st.integers(0, 2**32)
numbers = st.floats(-50.0, 50.0, allow_nan=False)


def random_model(rng: np.random.Generator) -> Model:
    causes = int(rng.integers(1, 7))
    questions = []
    for q in range(int(rng.integers(0, 5))):
        outcomes = int(rng.integers(1, 4))
        table = rng.dirichlet(np.full(outcomes, 0.3), causes).T
        questions.append(Question(f"q{q}", float(rng.uniform(1, 9)), ("x",) * outcomes, table))
    actions = [
        Action(f"a{a}", float(rng.uniform(1, 60)), rng.random(causes) * (rng.random(causes) < 0.5))
        for a in range(int(rng.integers(0, 6)))
    ]
    return Model(
        ("c",) * causes,
        rng.dirichlet(np.ones(causes)),
        tuple(questions),
        tuple(actions),
        float(rng.uniform(10, 500)),
        unlisted=float(rng.uniform(0.0, 0.3)),
        slip=float(rng.uniform(0.001, 0.05)),
    )


def random_evidence(model: Model, rng: np.random.Generator) -> tuple[list[Observation], list[Done]]:
    seen = [
        Observation(q, int(rng.integers(len(question.outcomes))), float(rng.random()))
        for q, question in enumerate(model.questions)
        if rng.random() < 0.7
    ]
    done = [Done(a, float(rng.random())) for a in range(len(model.actions)) if rng.random() < 0.4]
    return seen, done


@settings(max_examples=150, deadline=None)
@given(seeds)
def test_posterior_sums_to_one_and_does_not_depend_on_the_order(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    seen, done = random_evidence(model, rng)
    belief = believe(model, seen, done)
    assert sum(belief.probabilities) + belief.unlisted == pytest.approx(1.0)
    shuffled = believe(model, [seen[i] for i in rng.permutation(len(seen))], [*reversed(done)])
    assert shuffled.probabilities == pytest.approx(belief.probabilities, abs=1e-12)
    assert shuffled.surprise_bits == pytest.approx(belief.surprise_bits, abs=1e-9)
    assert shuffled.status == belief.status


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_evidence_of_no_strength_changes_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    seen, done = random_evidence(model, rng)
    empty = believe(
        model,
        [Observation(s.question, s.outcome, 0.0) for s in seen],
        [Done(d.action, 0.0) for d in done],
    )
    assert empty.probabilities == pytest.approx(believe(model).probabilities)
    assert empty.surprise_bits == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_advice_never_announces_more_than_its_plan_or_than_service(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = random_model(rng)
    seen, done = random_evidence(model, rng)
    deep, shallow = next_step(model, seen, done), next_step(model, seen, done, depth=1)
    assert deep.plan_minutes <= model.service_minutes + 1e-9
    assert shallow.expected_minutes <= shallow.plan_minutes + 1e-9
    assert deep.expected_minutes <= shallow.expected_minutes + 1e-9
    assert all(value.bits >= 0.0 for value in deep.questions)


@settings(max_examples=150, deadline=None)
@given(seeds)
def test_information_is_never_negative_nor_more_than_there_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 9))
    p = rng.dirichlet(np.full(n, 0.5))
    tables = [rng.dirichlet(np.full(int(rng.integers(1, 5)), 0.4), n).T for _ in range(5)]
    stacked = stack(tables, n)
    bits, gain = information(p, stacked), remedy_gain(p, stacked)
    assert (bits >= 0.0).all()
    assert (bits <= entropy(p) + 1e-9).all()
    assert (gain >= 0.0).all()
    assert (gain <= 1.0 - p.max() + 1e-9).all()


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_blurring_a_check_never_makes_it_more_informative(seed: int) -> None:
    """Data processing inequality (Cover and Thomas, 2nd ed., theorem 2.8.1)."""
    rng = np.random.default_rng(seed)
    n, outcomes = int(rng.integers(2, 7)), int(rng.integers(2, 5))
    p, table = rng.dirichlet(np.ones(n)), rng.dirichlet(np.ones(outcomes), n).T
    blurred = rng.dirichlet(np.ones(outcomes), outcomes).T @ table
    sharp, dull = information(p, stack([table, blurred], n))
    assert dull <= sharp + 1e-9


@settings(max_examples=200, deadline=None)
@given(numbers, numbers, st.floats(0.0, 20.0), st.floats(0.0, 5.0), st.floats(0.0, 20.0))
def test_probability_rises_with_the_limit_and_stays_within_bounds(
    limit: float, low: float, width: float, spread: float, more: float
) -> None:
    here = float(probability_below(limit, low, low + width, spread))
    there = float(probability_below(limit + more, low, low + width, spread))
    assert 0.0 <= here <= there + 1e-9
    assert there <= 1.0
    if spread > 0.0:  # seen from the other side, the rest is what is left
        mirrored = float(probability_below(-limit, -low - width, -low, spread))
        assert here + mirrored == pytest.approx(1.0, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(numbers, st.floats(0.0, 20.0), numbers, st.floats(0.01, 20.0), st.floats(0.0, 3.0))
def test_verdicts_agree_with_exact_probabilities(
    low: float, width: float, lower: float, window: float, guard: float
) -> None:
    high, upper = low + width, lower + window
    assume(2 * guard < window)
    verdict = judge(low, high, lower, upper, guard)
    inside = float(probability_inside(lower, upper, low, high))
    if verdict == "in":
        assert inside == 1.0
    elif verdict == "out":
        assert inside == 0.0
    least, most = probability_bounds(lower, upper, low, high)
    assert least - 1e-12 <= inside <= most + 1e-12
