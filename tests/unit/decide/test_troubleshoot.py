"""Belief, conflicts and advice on models small enough to work out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tickover.decide.fault_model import tables
from tickover.decide.lookahead import View
from tickover.decide.simulation import advised, advised_two_ahead, checklist, simulate
from tickover.decide.troubleshoot import (
    Action,
    Done,
    Model,
    Observation,
    Question,
    Step,
    believe,
    next_step,
    quick_step,
)
from tickover.errors import InputError

FIRST = Question("first", 2.0, ("yes", "no"), [[0.9, 0.2, 0.5], [0.1, 0.8, 0.5]])
SECOND = Question("second", 3.0, ("yes", "no"), [[0.3, 0.3, 0.9], [0.7, 0.7, 0.1]])
ACTIONS = (
    Action("do a", 10.0, [1, 0, 0]),
    Action("do b", 20.0, [0, 1, 0]),
    Action("do c", 5.0, [0, 0, 0.5]),
)


def model(unlisted: float = 0.1, slip: float = 0.0, **changes: object) -> Model:
    given: dict[str, object] = {
        "causes": ("a", "b", "c"),
        "priors": [5, 3, 2],
        "questions": (FIRST, SECOND),
        "actions": ACTIONS,
        "service_minutes": 200.0,
        "unlisted": unlisted,
        "slip": slip,
    }
    return Model(**(given | changes))  # type: ignore[arg-type]


def test_posterior_is_prior_times_likelihood() -> None:
    weights = np.array([0.5 * 0.9, 0.3 * 0.2, 0.2 * 0.5]) * 0.9
    other = 0.1 * weights.sum() / 0.9  # unlisted answers like the average listed cause
    belief = believe(model(), [Observation(0, 0)])
    assert belief.probabilities == pytest.approx(weights / (weights.sum() + other))
    assert belief.unlisted == pytest.approx(0.1)


def test_unlisted_rises_when_the_answers_fit_no_listed_cause() -> None:
    # 'second: yes' says c, 'first: no' says b.
    sharp = [
        Question("p", 1.0, ("yes", "no"), [[0.01, 0.99, 0.5], [0.99, 0.01, 0.5]]),
        Question("q", 1.0, ("yes", "no"), [[0.5, 0.01, 0.02], [0.5, 0.99, 0.98]]),
    ]
    belief = believe(model(questions=tuple(sharp)), [Observation(0, 0), Observation(1, 0)])
    assert belief.unlisted > 0.1


def test_stale_answer_moves_the_probabilities_its_share_of_the_way() -> None:
    before = np.array(believe(model()).probabilities)
    fresh = np.array(believe(model(), [Observation(0, 0)]).probabilities)
    for strength in (0.0, 0.3, 1.0):
        stale = np.array(believe(model(), [Observation(0, 0, strength)]).probabilities)
        assert stale == pytest.approx(before + strength * (fresh - before))


def test_stale_proof_excludes_nothing_outright() -> None:
    sure = Question("sure", 1.0, ("yes", "no"), [[0.0, 1.0, 1.0], [1.0, 0.0, 0.0]])
    belief = believe(model(questions=(sure,)), [Observation(0, 0, 0.99)])
    assert 0.0 < belief.probabilities[0] < 0.01
    assert believe(model(questions=(sure,)), [Observation(0, 0)]).probabilities[0] == 0.0


def test_slip_keeps_a_misread_answer_from_excluding_a_cause() -> None:
    sure = Question("sure", 1.0, ("yes", "no"), [[0.0, 1.0, 1.0], [1.0, 0.0, 0.0]])
    belief = believe(model(questions=(sure,), slip=0.02), [Observation(0, 0)])
    assert belief.probabilities[0] > 0.0


def test_action_without_success_speaks_against_its_cause() -> None:
    belief = believe(model(unlisted=0.0), (), [Done(2)])
    assert belief.probabilities == pytest.approx(np.array([0.5, 0.3, 0.1]) / 0.9)


def test_agreeing_answers_are_consistent() -> None:
    belief = believe(model(), [Observation(0, 0), Observation(1, 1)])
    assert belief.status == "consistent"
    assert belief.conflicts == ()


def test_opposite_answers_to_one_question_are_reported_with_their_size() -> None:
    belief = believe(model(), [Observation(0, 0), Observation(1, 0), Observation(0, 1)])
    assert belief.status == "contradictory"
    (conflict,) = [c for c in belief.conflicts if c.same_question]
    assert (conflict.first, conflict.second) == (0, 2)
    prior = tables(model()).prior
    yes, no = tables(model()).answers[0]
    expected = math.log2((yes @ prior) * (no @ prior) / ((yes * no) @ prior))
    assert conflict.bits == pytest.approx(expected)


def test_answers_that_point_to_different_causes_are_reported() -> None:
    sharp = (
        Question("p", 1.0, ("yes", "no"), [[0.99, 0.01, 0.01], [0.01, 0.99, 0.99]]),
        Question("q", 1.0, ("yes", "no"), [[0.01, 0.99, 0.01], [0.99, 0.01, 0.99]]),
    )
    plain = model(unlisted=0.0, questions=sharp)
    belief = believe(plain, [Observation(0, 0), Observation(1, 0)])
    assert belief.status == "contradictory"
    assert belief.conflicts[0].bits > 2.0
    assert not belief.conflicts[0].same_question
    assert belief.surprise_bits == pytest.approx(belief.conflicts[0].bits)


def test_evidence_no_cause_allows_is_impossible_not_an_exception() -> None:
    sure = Question("sure", 1.0, ("yes", "no"), [[1.0, 1.0, 1.0], [0.0, 0.0, 0.0]])
    never = believe(model(questions=(sure,)), [Observation(0, 1)])
    assert never.status == "impossible"
    assert sum(never.probabilities) + never.unlisted == pytest.approx(1.0)
    slipped = believe(model(questions=(sure,), slip=0.01), [Observation(0, 1)])
    assert slipped.status == "consistent"  # one answer alone contradicts nothing


def test_plan_goes_by_probability_over_minutes() -> None:
    advice = next_step(model(questions=()))
    # 0.45/10, 0.27/20, 0.5*0.18/5
    assert advice.plan == (0, 2, 1)
    left = [1.0, 0.55, 0.46, 0.19]
    assert advice.plan_minutes == pytest.approx(
        10 * left[0] + 5 * left[1] + 20 * left[2] + 200 * left[3]
    )
    assert advice.step == Step("act", 0)
    assert advice.expected_minutes == pytest.approx(advice.plan_minutes)


def test_cheap_service_comes_before_long_shots() -> None:
    advice = next_step(model(questions=(), service_minutes=15.0))
    assert advice.plan == ()
    assert advice.step == Step("service")
    assert advice.expected_minutes == pytest.approx(15.0)


def test_question_is_worth_the_minutes_it_saves() -> None:
    sure = Question("sure", 1.0, ("a", "b"), [[1.0, 0.0], [0.0, 1.0]])
    two = Model(
        ("a", "b"),
        [1, 1],
        (sure,),
        (Action("do a", 30.0, [1, 0]), Action("do b", 30.0, [0, 1])),
        600.0,
        unlisted=0.0,
        slip=0.0,
    )
    (value,) = next_step(two).questions
    assert value.bits == pytest.approx(1.0)
    assert value.bits_per_minute == pytest.approx(1.0)
    assert value.saves_minutes == pytest.approx(45.0 - 31.0)


def test_what_is_settled_is_not_proposed_again_but_stale_is() -> None:
    done = [Done(0), Done(1), Done(2)]
    answered = [Observation(0, 0), Observation(1, 0)]
    settled = next_step(model(), answered, done)
    assert settled.step == Step("service")
    assert settled.questions == ()
    stale = next_step(model(), [Observation(0, 0, 0.5), Observation(1, 0)], [Done(0, 0.5)])
    assert [value.question for value in stale.questions] == [0]
    assert set(stale.plan) == {0, 1, 2}


def test_actions_that_share_causes_are_planned_by_what_is_left() -> None:
    # After 'both', neither 'a' nor 'b' alone is worth anything.
    shared = (
        Action("both", 12.0, [1, 1, 0]),
        Action("a", 10.0, [1, 0, 0]),
        Action("c", 10.0, [0, 0, 1]),
    )
    advice = next_step(model(questions=(), actions=shared, unlisted=0.0))
    assert advice.plan == (0, 2)


def test_quick_step_is_the_myopic_step() -> None:
    plain = model()
    for seen in ((), (Observation(0, 1),), (Observation(1, 0), Observation(0, 0))):
        assert quick_step(plain, seen) == next_step(plain, seen, depth=1).step


def test_unknown_indices_and_strengths_are_refused() -> None:
    with pytest.raises(InputError):
        believe(model(), [Observation(7, 0)])
    with pytest.raises(InputError):
        believe(model(), [Observation(0, 2)])
    with pytest.raises(InputError):
        believe(model(), [Observation(0, -1)])
    with pytest.raises(InputError):
        believe(model(), [Observation(0, 0, 1.5)])
    with pytest.raises(InputError):
        believe(model(), (), [Done(3)])


@pytest.mark.parametrize(
    "changes",
    [
        {"priors": [1, 2]},
        {"unlisted": 1.0},
        {"service_minutes": 0.0},
        {"actions": (Action("x", 1.0, [1, 0]),)},
        {"actions": (Action("x", 1.0, [1, 0, 2]),)},
        {"actions": (Action("x", -1.0, [1, 0, 0]),)},
        {"questions": (Question("x", 1.0, ("y",), [[0.9, 0.9, 0.9]]),)},
        {"questions": (Question("x", 1.0, ("y", "n"), [[1, 1, 1]]),)},
    ],
)
def test_models_that_do_not_add_up_are_refused(changes: dict[str, object]) -> None:
    with pytest.raises(InputError):
        tables(model(**changes))  # type: ignore[arg-type]


def test_equal_seeds_give_equal_failures_to_every_policy() -> None:
    plain = model()
    first = simulate(plain, np.random.default_rng(5), 300, checklist([0, 1, 2]))
    second = simulate(plain, np.random.default_rng(5), 300, advised)
    assert (first.cause == second.cause).all()
    again = simulate(plain, np.random.default_rng(5), 300, advised)
    assert (again.minutes == second.minutes).all()


def test_checklist_costs_what_its_formula_says() -> None:
    plain = model(questions=())
    runs = simulate(plain, np.random.default_rng(2), 40_000, checklist([1, 0, 2]))
    exact = 20 * 1 + 10 * 0.73 + 5 * 0.28 + 200 * 0.19
    assert runs.minutes.mean() == pytest.approx(exact, abs=4 * runs.minutes.std() / 200)
    assert runs.serviced.mean() == pytest.approx(0.19, abs=4 * math.sqrt(0.19 * 0.81 / 40_000))
    assert runs.nodes == 4


def test_policy_that_repeats_itself_is_refused() -> None:
    with pytest.raises(InputError, match="repeats"):
        simulate(model(), np.random.default_rng(1), 50, lambda *_: Step("ask", 0))
    with pytest.raises(InputError, match="repeats"):
        simulate(model(), np.random.default_rng(1), 50, lambda *_: Step("act", 2))


def test_no_failures_take_no_time() -> None:
    assert simulate(model(), np.random.default_rng(1), 0, advised_two_ahead).nodes == 0


@pytest.mark.parametrize("shared", [False, True])
def test_many_states_at_once_are_planned_like_one_at_a_time(shared: bool) -> None:
    """With actions that share no cause the sorted and the greedy path are the same plan too."""
    rng = np.random.default_rng(31)
    finds = np.diag(rng.uniform(0.5, 1.0, 6))
    if shared:
        finds = finds + 0.5 * np.roll(np.diag(rng.uniform(0.0, 1.0, 6)), 2, axis=1)
    actions = tuple(Action(f"do {i}", float(rng.lognormal(2, 1)), finds[i]) for i in range(6))
    table = tables(Model(tuple("abcdef"), np.ones(6), (), actions, 80.0))
    view = View(table, np.arange(0), np.arange(6))
    assert view.apart is not shared
    states = rng.dirichlet(np.ones(7), 50)
    together = view.planned(states)
    for state, minutes in zip(states, together, strict=True):
        assert view.plan(state)[1] == pytest.approx(float(minutes))
    assert view._greedy(states)[0] == pytest.approx(together)
    banned = view.planned(states, np.full(50, 2))
    fewer = View(table, np.arange(0), np.delete(np.arange(6), 2))
    assert banned == pytest.approx(fewer.planned(states))
