"""Finding one fault for the least expected time: what is likely, and what to do next.

Causes have prior odds and one of them is 'unlisted'. Questions tell causes apart; actions find
and settle causes; whoever runs out of both calls for service, which always settles it. Evidence
is never thrown away: old proof counts less, contradictions are reported with their size.

Source: D. Heckerman, J. S. Breese and K. Rommelse, 'Decision-theoretic troubleshooting',
Communications of the ACM 38(3) (1995) 49-57: actions by probability over cost, questions by one
step of lookahead, service as the last resort. Beyond it, `next_step` looks two steps ahead along
the most promising questions and actions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tickover.decide.fault_model import Action, Model, Question, Tables, tables
from tickover.decide.information import information
from tickover.decide.lookahead import StepKind, View
from tickover.errors import InputError

__all__ = [
    "SURPRISE_BITS",
    "Action",
    "Advice",
    "Belief",
    "Conflict",
    "Done",
    "Model",
    "Observation",
    "Question",
    "QuestionValue",
    "Step",
    "believe",
    "next_step",
    "quick_step",
]

Floats = NDArray[np.float64]

SURPRISE_BITS = 2.0  # two pieces of evidence four times less likely together than apart


@dataclass(frozen=True, slots=True)
class Observation:
    """The answer to a question.

    Parameters
    ----------
    question, outcome : int
        Indices.
    strength : float
        Probability that the answer still holds: 1 fresh, less if things may have changed since.
        The likelihood is mixed with 'says nothing' (the outcome's prior probability for every
        cause): on its own such an answer moves the probabilities this share of the way. It is
        not tempered (raised to a power), because zero to any power still excludes a cause
        outright, and stale proof must not [1]
    """

    question: int
    outcome: int
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Done:
    """An action that was carried out and did not settle the trouble.

    Parameters
    ----------
    action : int
    strength : float
        Probability that this still holds, as for `Observation` [1]
    """

    action: int
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two pieces of evidence that do not go together.

    Parameters
    ----------
    first, second : int
        Positions in the evidence: observations first, then done actions.
    bits : float
        log2 of how many times less likely they are together than apart [bit]
    same_question : bool
        True if they are different answers to one question.
    """

    first: int
    second: int
    bits: float
    same_question: bool


@dataclass(frozen=True, slots=True)
class Belief:
    """How likely each cause is, and whether the evidence hangs together.

    Parameters
    ----------
    probabilities : tuple of float, shape (causes,)
        [1]
    unlisted : float
        [1]
    status : {'consistent', 'contradictory', 'impossible'}
        'contradictory' if the surprise exceeds SURPRISE_BITS or any conflict stands; then the
        probabilities are given all the same, but the evidence wants checking first. 'impossible'
        if no cause at all allows the evidence (only with slip = 0): the probabilities are then
        the priors.
    surprise_bits : float
        log2 of how many times less likely all the evidence is together than apart; negative when
        the pieces support each other [bit]
    conflicts : tuple of Conflict
        The worst first.
    """

    probabilities: tuple[float, ...]
    unlisted: float
    status: Literal["consistent", "contradictory", "impossible"]
    surprise_bits: float
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """What to do: ask a question, carry out an action, or call for service (index -1)."""

    kind: StepKind
    index: int = -1


@dataclass(frozen=True, slots=True)
class QuestionValue:
    """What asking a question next would do.

    Parameters
    ----------
    question : int
    bits : float
        Expected information [bit]
    bits_per_minute : float
        [bit/min]
    saves_minutes : float
        Expected time saved against going through the actions without it; negative if it costs
        more than it saves [min]
    """

    question: int
    bits: float
    bits_per_minute: float
    saves_minutes: float


@dataclass(frozen=True, slots=True)
class Advice:
    """The next step and what lies behind it.

    Parameters
    ----------
    step : Step
    expected_minutes : float
        Expected time to find it, from here, with that step; an upper bound on what perfect play
        would need [min]
    plan : tuple of int
        Actions in the best order if nothing more were asked; service after them.
    plan_minutes : float
        Expected time of that plan [min]
    questions : tuple of QuestionValue
        Questions still open, the most bits per minute first.
    belief : Belief
    """

    step: Step
    expected_minutes: float
    plan: tuple[int, ...]
    plan_minutes: float
    questions: tuple[QuestionValue, ...]
    belief: Belief


def believe(
    model: Model, observations: Sequence[Observation] = (), done: Sequence[Done] = ()
) -> Belief:
    """Posterior probabilities of the causes, and how well the evidence hangs together.

    Parameters
    ----------
    model : Model
    observations : sequence of Observation
        All count, in any order; two answers to one question count as two, so give only the
        latest unless both are meant.
    done : sequence of Done
        Actions carried out without success.

    Returns
    -------
    Belief

    Raises
    ------
    InputError
        If an index is unknown or a strength outside 0..1.

    Notes
    -----
    Surprise: sum of log2 P(e_i) - log2 P(all e), the conflict measure of F. V. Jensen, B.
    Chamberlain, T. Nordahl and F. Jensen, 'Analysis in HUGIN of data conflict', UAI 1990.
    Checked in tests/unit/decide/test_troubleshoot.py.

    Examples
    --------
    >>> light = Question("light?", 1.0, ("on", "off"), [[0.9, 0.1], [0.1, 0.9]])
    >>> model = Model(("a", "b"), [1, 1], (light,), (), 60.0, unlisted=0.0, slip=0.0)
    >>> [round(p, 3) for p in believe(model, [Observation(0, 0)]).probabilities]
    [0.9, 0.1]
    """
    table = tables(model)
    evidence = _evidence(table, observations, done)
    posterior, bits = _posterior(table.prior, evidence)
    conflicts = _conflicts(table.prior, evidence, observations)
    apart = evidence @ table.prior
    surprise = float(np.log2(apart).sum()) - bits if bits > -math.inf else math.inf
    status: Literal["consistent", "contradictory", "impossible"] = "consistent"
    if math.isinf(surprise):
        status = "impossible"
    elif conflicts or surprise > SURPRISE_BITS:
        status = "contradictory"
    return Belief(
        tuple(posterior[:-1].tolist()), float(posterior[-1]), status, surprise + 0.0, conflicts
    )


def next_step(
    model: Model,
    observations: Sequence[Observation] = (),
    done: Sequence[Done] = (),
    depth: Literal[1, 2] = 2,
) -> Advice:
    """What to do next, and how long finding the fault is expected to take from here.

    Parameters
    ----------
    model : Model
    observations, done : as `believe`
        Questions answered and actions done with full strength are not proposed again.
    depth : {1, 2}
        1: the best question is asked if that is expected to save time against the plan without
        questions (myopic, as in the source). 2: the most promising questions and actions are
        followed by one more such decision each; slower, closer to the optimum.

    Returns
    -------
    Advice

    Raises
    ------
    InputError
        As `believe`.

    Notes
    -----
    The gap to exact dynamic programming is measured in
    tests/published/test_troubleshooting_order.py.

    Examples
    --------
    >>> light = Question("light?", 1.0, ("on", "off"), [[1.0, 0.0], [0.0, 1.0]])
    >>> fix = (Action("mend a", 30.0, [1, 0]), Action("mend b", 30.0, [0, 1]))
    >>> model = Model(("a", "b"), [1, 1], (light,), fix, 600.0, unlisted=0.0, slip=0.0)
    >>> advice = next_step(model)
    >>> advice.step, round(advice.expected_minutes, 3), round(advice.plan_minutes, 3)
    (Step(kind='ask', index=0), 31.0, 45.0)
    """
    table = tables(model)
    belief = believe(model, observations, done)
    now = np.array([*belief.probabilities, belief.unlisted])
    view = _view(table, observations, done)
    plan, plan_minutes = view.plan(now)
    asking = view.outlook(now[None, :])[0][0]
    step, minutes = view.decide(now, depth, (asking, plan_minutes))
    bits = information(now, view.answers) if len(view.questions) else np.zeros(0)
    values = [
        QuestionValue(int(q), float(b), float(b / table.ask[q]), float(plan_minutes - a))
        for q, b, a in zip(view.questions, bits, asking, strict=True)
    ]
    values.sort(key=lambda value: -value.bits_per_minute)
    return Advice(Step(*step), minutes, plan, plan_minutes, tuple(values), belief)


def quick_step(
    model: Model, observations: Sequence[Observation] = (), done: Sequence[Done] = ()
) -> Step:
    """The step of `next_step` with depth 1 and nothing else, for simulating thousands.

    Parameters
    ----------
    model, observations, done
        As `next_step`.

    Returns
    -------
    Step
    """
    table = tables(model)
    now, _ = _posterior(table.prior, _evidence(table, observations, done))
    step, _ = _view(table, observations, done).decide(now, 1)
    return Step(*step)


def _view(table: Tables, observations: Sequence[Observation], done: Sequence[Done]) -> View:
    """What is still open: all but the questions and actions settled at full strength."""
    questions = np.ones(len(table.ask), dtype=np.bool_)
    actions = np.ones(len(table.act), dtype=np.bool_)
    for seen in observations:
        questions[seen.question] &= seen.strength < 1.0
    for tried in done:
        actions[tried.action] &= tried.strength < 1.0
    return View(table, np.flatnonzero(questions), np.flatnonzero(actions))


def _evidence(table: Tables, observations: Sequence[Observation], done: Sequence[Done]) -> Floats:
    """Likelihood of each piece of evidence under each cause, shape (pieces, causes + 1)."""
    rows: list[Floats] = []
    for seen in observations:
        known = 0 <= seen.question < len(table.ask)
        if not known or not 0 <= seen.outcome < table.outcomes[seen.question]:
            raise InputError(
                "An observation names an unknown question or outcome",
                given=f"question {seen.question}, outcome {seen.outcome}",
            )
        holds = table.answers[seen.question, seen.outcome]
        rows.append(_mixed(holds, float(holds @ table.prior), seen.strength))
    for tried in done:
        if not 0 <= tried.action < len(table.act):
            raise InputError("An unknown action was done", given=str(tried.action))
        failed = 1.0 - table.finds[tried.action]
        rows.append(_mixed(failed, float(failed @ table.prior), tried.strength))
    return np.array(rows).reshape(len(rows), len(table.prior))


def _mixed(holds: Floats, nothing: float, strength: float) -> Floats:
    if not 0.0 <= strength <= 1.0:
        raise InputError("A strength is out of range", given=str(strength), allowed="0 to 1")
    mixed: Floats = strength * holds + (1.0 - strength) * nothing
    return mixed


def _posterior(prior: Floats, evidence: Floats) -> tuple[Floats, float]:
    """Posterior and log2 of the probability of all the evidence; the prior if impossible."""
    with np.errstate(divide="ignore"):
        logs = np.log2(prior) + np.log2(evidence).sum(axis=0)
    top = logs.max()
    if top == -math.inf:
        return prior, -math.inf
    weights = np.exp2(logs - top)
    return weights / weights.sum(), float(top + np.log2(weights.sum()))


def _conflicts(
    prior: Floats, evidence: Floats, observations: Sequence[Observation]
) -> tuple[Conflict, ...]:
    apart = evidence @ prior
    together = (evidence * prior) @ evidence.T
    with np.errstate(divide="ignore", invalid="ignore"):
        bits = np.log2(np.outer(apart, apart)) - np.log2(together)
    found: list[Conflict] = []
    for j in range(len(evidence)):
        for i in range(j):
            same = (
                j < len(observations)
                and observations[i].question == observations[j].question
                and observations[i].outcome != observations[j].outcome
            )
            if same or bits[i, j] > SURPRISE_BITS:
                found.append(Conflict(i, j, float(bits[i, j]), same))
    return tuple(sorted(found, key=lambda c: -c.bits))
