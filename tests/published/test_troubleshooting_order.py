"""Orders and next steps against brute-force expected cost on small models.

Heckerman, Breese and Rommelse, 'Decision-theoretic troubleshooting', CACM 38(3) (1995): for one
fault the order by probability over cost is optimal; questions are chosen by one step of
lookahead, which is not optimal. References here: all permutations, enumeration of all fault
states, and exact dynamic programming over all states of knowledge.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from tickover.decide.fault_model import tables
from tickover.decide.ordering import Faults, expected_minutes, repair_order
from tickover.decide.simulation import (
    Policy,
    advised,
    advised_two_ahead,
    checklist,
    simulate,
)
from tickover.decide.troubleshoot import (
    Action,
    Done,
    Model,
    Observation,
    Question,
    next_step,
)


def cost_by_states(
    order: tuple[int, ...], p: list[float], minutes: list[float], faults: Faults
) -> float:
    """Expected minutes, going through every possible state of the machine one by one."""
    n = len(p)
    total = weight = 0.0
    if faults == "single":
        states = [({i}, p[i]) for i in range(n)]
    else:
        states = [
            (
                {i for i in range(n) if bits >> i & 1},
                float(np.prod([p[i] if bits >> i & 1 else 1 - p[i] for i in range(n)])),
            )
            for bits in range(1, 2**n)
        ]
    for faulty, chance in states:
        spent, left = 0.0, set(faulty)
        for i in order:
            spent += minutes[i]
            left.discard(i)
            if not left:
                break
        total += chance * spent
        weight += chance
    return total / weight


@pytest.mark.parametrize("faults", ["single", "independent"])
def test_rule_beats_every_permutation(faults: Faults) -> None:
    """30 random models of 5 repairs, all 120 orders each."""
    rng = np.random.default_rng(21)
    for _ in range(30):
        p = rng.dirichlet(np.ones(5)) if faults == "single" else rng.uniform(0.02, 0.9, 5)
        minutes = rng.lognormal(2.0, 1.0, 5)
        chosen = repair_order(p, minutes, faults)
        assert expected_minutes(chosen, p, minutes, faults) == pytest.approx(
            cost_by_states(chosen, list(p), list(minutes), faults)
        )
        best = min(
            cost_by_states(order, list(p), list(minutes), faults)
            for order in itertools.permutations(range(5))
        )
        assert cost_by_states(chosen, list(p), list(minutes), faults) == pytest.approx(best)


def test_probability_alone_or_cost_alone_is_not_the_rule() -> None:
    """The check above can fail: both simpler orders lose on these numbers."""
    p, minutes = [0.5, 0.3, 0.2], [60.0, 10.0, 4.0]
    best = expected_minutes(repair_order(p, minutes), p, minutes)
    assert expected_minutes([0, 1, 2], p, minutes) > best
    p, minutes = [0.9, 0.1], [10.0, 9.0]
    best = expected_minutes(repair_order(p, minutes), p, minutes)
    assert expected_minutes([1, 0], p, minutes) > best


def test_plan_with_service_beats_every_order_of_every_subset() -> None:
    """Which repairs are worth trying before service, and in which order: 40 random models."""
    rng = np.random.default_rng(22)
    left_out = 0
    for _ in range(40):
        p = rng.dirichlet(np.ones(5))
        minutes = rng.lognormal(2.0, 1.0, 4)
        detection = rng.uniform(0.4, 1.0, 4)
        service = float(rng.uniform(10.0, 60.0))
        finds = np.diag(detection)
        actions = tuple(Action(f"do {i}", float(minutes[i]), finds[i]) for i in range(4))
        model = Model(tuple("abcd"), p[:4], (), actions, service, unlisted=float(p[4]))
        settled = p[:4] * detection
        best = min(
            expected_minutes(order, settled, minutes, service_minutes=service)
            for size in range(5)
            for order in itertools.permutations(range(4), size)
        )
        advice = next_step(model)
        left_out += len(advice.plan) < 4
        assert advice.plan_minutes == pytest.approx(best)
    assert left_out > 5  # the models do exercise leaving repairs out


def small_model(rng: np.random.Generator, shared: bool) -> Model:
    causes, questions = 4, 3
    asked = []
    for q in range(questions):
        outcomes = int(rng.integers(2, 4))
        table = rng.dirichlet(np.full(outcomes, 0.5), causes).T
        asked.append(Question(f"q{q}", float(rng.uniform(1, 4)), tuple("abc"[:outcomes]), table))
    actions = []
    for a in range(causes):
        finds = np.zeros(causes)
        if shared:
            finds[rng.choice(causes, 2, replace=False)] = rng.choice([0.6, 0.9, 1.0], 2)
        else:
            finds[a] = rng.choice([0.8, 1.0])
        actions.append(Action(f"a{a}", float(rng.lognormal(3.2, 0.8)), finds))
    prior = rng.dirichlet(np.full(causes, 0.7))
    return Model(tuple("abcd"), prior, tuple(asked), tuple(actions), 300.0, unlisted=0.05)


def exact_minutes(model: Model) -> float:
    """Least expected minutes of any policy whatever, by dynamic programming."""
    table = tables(model)

    @cache
    def value(seen: frozenset[tuple[int, int]], done: frozenset[int]) -> float:
        weights = table.prior.copy()
        for q, outcome in seen:
            weights = weights * table.answers[q, outcome]
        for a in done:
            weights = weights * (1.0 - table.finds[a])
        mass = float(weights.sum())
        options = [table.service * mass]
        options += [
            float(table.act[a]) * mass + value(seen, done | {a})
            for a in range(len(table.act))
            if a not in done
        ]
        answered = {q for q, _ in seen}
        options += [
            float(table.ask[q]) * mass
            + sum(value(seen | {(q, o)}, done) for o in range(table.outcomes[q]))
            for q in range(len(table.ask))
            if q not in answered
        ]
        return min(options)

    return value(frozenset(), frozenset())


def policy_minutes(model: Model, policy: Policy) -> float:
    """Expected minutes of a policy, going through every course it can take."""
    table = tables(model)

    def value(seen: tuple[Observation, ...], done: tuple[Done, ...]) -> float:
        weights = table.prior.copy()
        for each in seen:
            weights = weights * table.answers[each.question, each.outcome]
        for tried in done:
            weights = weights * (1.0 - table.finds[tried.action])
        mass = float(weights.sum())
        step = policy(model, seen, done)
        if step.kind == "service":
            return table.service * mass
        if step.kind == "act":
            return float(table.act[step.index]) * mass + value(seen, (*done, Done(step.index)))
        return float(table.ask[step.index]) * mass + sum(
            value((*seen, Observation(step.index, outcome)), done)
            for outcome in range(table.outcomes[step.index])
        )

    return value((), ())


@pytest.mark.parametrize("shared", [False, True])
def test_lookahead_against_exact_dynamic_programming(
    shared: bool, record_property: Callable[[str, object], None]
) -> None:
    """The gap to perfect play on 12 small models; it is recorded, and never negative.

    Seen on these models, one cause per action and shared: one step 0.62 and 0.51 % on average
    (worst 2.0 %), two steps 0.04 and 0.19 %, no questions 9.9 and 3.9 %. The bounds are tripwires
    at about twice that, not claims about other models.
    """
    rng = np.random.default_rng(23)
    one, two, none = [], [], []
    for _ in range(12):
        model = small_model(rng, shared)
        exact = exact_minutes(model)
        one.append(policy_minutes(model, advised) / exact - 1.0)
        two.append(policy_minutes(model, advised_two_ahead) / exact - 1.0)
        advice = next_step(model)
        none.append(advice.plan_minutes / exact - 1.0)
        # What is announced is what some real course costs at most, never less than perfect play.
        assert exact - 1e-9 <= advice.expected_minutes <= advice.plan_minutes + 1e-9
        assert policy_minutes(model, advised_two_ahead) >= exact - 1e-9
    record_property("gap_one_step_percent", 100 * float(np.mean(one)))
    record_property("gap_two_steps_percent", 100 * float(np.mean(two)))
    record_property("gap_without_questions_percent", 100 * float(np.mean(none)))
    assert -1e-12 <= np.mean(one) < 0.012
    assert max(one) < 0.04
    assert -1e-12 <= np.mean(two) < 0.004
    assert np.mean(two) <= np.mean(one) + 1e-12
    assert np.mean(none) > np.mean(one)


def test_simulated_failures_agree_with_the_exact_expectation() -> None:
    """3,000 failures; four standard errors of the mean."""
    model = small_model(np.random.default_rng(24), shared=True)
    runs = simulate(model, np.random.default_rng(1), 3000, advised)
    error = runs.minutes.std() / np.sqrt(3000)
    assert runs.minutes.mean() == pytest.approx(policy_minutes(model, advised), abs=4 * error)


def test_advice_finds_faults_in_at_most_70_percent_of_a_checklist() -> None:
    """1,000 simulated failures, 12 causes, 12 questions, against the list in its given order."""
    rng = np.random.default_rng(25)
    causes = 12
    asked = []
    for q in range(12):
        table = np.full((2, causes), 0.5)
        table[0] = np.where(rng.random(causes) < 0.4, 0.9, 0.1)
        table[1] = 1.0 - table[0]
        asked.append(Question(f"q{q}", float(rng.uniform(1, 6)), ("yes", "no"), table))
    actions = tuple(
        Action(f"a{a}", float(rng.lognormal(2.7, 0.7)), np.eye(causes)[a]) for a in range(causes)
    )
    prior = rng.dirichlet(np.ones(causes))
    model = Model(tuple("abcdefghijkl"), prior, tuple(asked), actions, 240.0)
    ours = simulate(model, np.random.default_rng(2), 1000, advised)
    listed = simulate(model, np.random.default_rng(2), 1000, checklist(range(causes)))
    assert ours.minutes.mean() < 0.7 * listed.minutes.mean()
