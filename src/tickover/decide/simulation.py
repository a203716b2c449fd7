"""Many simulated failures gone through with a policy, to compare ways of looking for a fault.

Failures that have seen the same answers so far stand at the same node and take the same next
step, so every policy is asked once per node and not once per failure. All chance is drawn before
the first step: two policies run with equal seeds meet the same failures, the same answers and the
same luck with remedies.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tickover.decide.fault_model import Model, tables
from tickover.decide.troubleshoot import Done, Observation, Step, next_step, quick_step
from tickover.errors import InputError

Floats = NDArray[np.float64]
Policy = Callable[[Model, tuple[Observation, ...], tuple[Done, ...]], Step]


@dataclass(frozen=True, slots=True, eq=False)
class Simulation:
    """What happened to the simulated failures.

    Parameters
    ----------
    minutes : array, shape (n,)
        Time until the trouble was gone, service included where it was called [min]
    steps : int array, shape (n,)
        Questions, actions and service calls.
    cause : int array, shape (n,)
        The true cause; the number of listed causes stands for 'unlisted'.
    serviced : bool array, shape (n,)
        True where service had to be called.
    nodes : int
        Different situations the policy was asked about.
    """

    minutes: Floats
    steps: NDArray[np.int64]
    cause: NDArray[np.int64]
    serviced: NDArray[np.bool_]
    nodes: int


def simulate(model: Model, rng: np.random.Generator, n: int, policy: Policy) -> Simulation:
    """Go through n failures drawn from a model with a policy.

    Parameters
    ----------
    model : Model
        Both the world the failures are drawn from and what the policy is told.
    rng : numpy.random.Generator
    n : int
        Number of failures.
    policy : callable
        (model, observations, done) -> Step.

    Returns
    -------
    Simulation

    Raises
    ------
    InputError
        If the policy repeats a question or an action.

    Examples
    --------
    >>> from tickover.decide.troubleshoot import Action
    >>> fix = (Action("mend a", 10.0, [1, 0]), Action("mend b", 10.0, [0, 1]))
    >>> model = Model(("a", "b"), [3, 1], (), fix, 600.0, unlisted=0.0)
    >>> runs = simulate(model, np.random.default_rng(1), 4000, checklist([1, 0]))
    >>> print(f"{runs.minutes.mean():.1f}")
    17.5
    """
    table = tables(model)
    questions, actions = len(table.ask), len(table.act)
    cause = rng.choice(len(table.prior), size=n, p=table.prior)
    luck = rng.random((n, actions))
    said = np.zeros((n, questions), dtype=np.int64)
    for q in range(questions):
        steps = np.cumsum(table.answers[q], axis=0)[:, cause]
        drawn = (rng.random(n) >= steps).sum(axis=0)
        said[:, q] = np.minimum(drawn, table.outcomes[q] - 1)
    settled = luck < table.finds.T[cause]
    minutes, taken = np.zeros(n), np.zeros(n, dtype=np.int64)
    serviced = np.zeros(n, dtype=np.bool_)
    nodes = 0
    waiting: list[tuple[NDArray[np.int64], tuple[Observation, ...], tuple[Done, ...]]] = []
    if n:
        waiting.append((np.arange(n), (), ()))
    while waiting:
        who, seen, done = waiting.pop()
        step = policy(model, seen, done)
        nodes += 1
        taken[who] += 1
        if step.kind == "service":
            minutes[who] += table.service
            serviced[who] = True
        elif step.kind == "act":
            if any(tried.action == step.index for tried in done):
                raise InputError("The policy repeats an action", given=str(step.index))
            minutes[who] += table.act[step.index]
            left = who[~settled[who, step.index]]
            if len(left):
                waiting.append((left, seen, (*done, Done(step.index))))
        else:
            if any(asked.question == step.index for asked in seen):
                raise InputError("The policy repeats a question", given=str(step.index))
            minutes[who] += table.ask[step.index]
            for outcome in range(table.outcomes[step.index]):
                some = who[said[who, step.index] == outcome]
                if len(some):
                    answer = Observation(step.index, outcome)
                    waiting.append((some, (*seen, answer), done))
    return Simulation(minutes, taken, cause, serviced, nodes)


def checklist(order: Sequence[int]) -> Policy:
    """A fixed list of actions, the same for every failure, then service.

    Parameters
    ----------
    order : sequence of int
        Actions.

    Returns
    -------
    callable
        A policy for `simulate`.

    Examples
    --------
    >>> checklist([2, 0])(Model((), [], (), (), 1.0), (), ())
    Step(kind='act', index=2)
    """

    def policy(model: Model, observations: tuple[Observation, ...], done: tuple[Done, ...]) -> Step:
        tried = {each.action for each in done}
        left = [action for action in order if action not in tried]
        return Step("act", left[0]) if left else Step("service")

    return policy


def advised(model: Model, observations: tuple[Observation, ...], done: tuple[Done, ...]) -> Step:
    """The policy that does what `next_step` says, one step ahead (fast enough for thousands).

    Parameters
    ----------
    model, observations, done
        As `next_step`.

    Returns
    -------
    Step
    """
    return quick_step(model, observations, done)


def advised_two_ahead(
    model: Model, observations: tuple[Observation, ...], done: tuple[Done, ...]
) -> Step:
    """The policy that does what `next_step` says, two steps ahead (its default).

    Parameters
    ----------
    model, observations, done
        As `next_step`.

    Returns
    -------
    Step
    """
    return next_step(model, observations, done, depth=2).step
