"""Expected time of plans and of asking first, for many states of belief at once.

All costs are linear in the (not necessarily normalised) weights of the causes, so the expected
time after an answer needs no division: the weights P(cause, answer) are planned for as they are,
and the sum over the answers is the expectation.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tickover.decide.fault_model import Tables

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
StepKind = Literal["ask", "act", "service"]

_QUESTIONS = 4  # questions followed two steps deep
_ACTIONS = 2  # actions followed two steps deep
_TIE = 1e-12  # minutes; rounding
_SECOND = 12  # questions considered as the second step, the best ones now


class View:
    """The questions and actions still open, as arrays.

    Parameters
    ----------
    table : Tables
    questions, actions : int arrays
        Indices of those still open.
    """

    def __init__(self, table: Tables, questions: Indices, actions: Indices) -> None:
        self.table = table
        self.questions = questions
        self.actions = actions
        self.answers = table.answers[questions]
        self.ask = table.ask[questions]
        self.finds = table.finds[actions]
        self.act = table.act[actions]
        # Actions that share no cause keep their merit whatever else was done before them.
        self.apart = bool(((self.finds > 0.0).sum(axis=0) <= 1).all())

    def without(self, question: int | None = None, action: int | None = None) -> View:
        """The same view after one more question (position) or action (position) is used up."""
        questions, actions = self.questions, self.actions
        if question is not None:
            questions = np.delete(questions, question)
        if action is not None:
            actions = np.delete(actions, action)
        return View(self.table, questions, actions)

    def planned(self, weights: Floats) -> Floats:
        """Least expected minutes by actions then service alone; weights (n, causes + 1) -> (n,)."""
        mass = weights.sum(axis=1)
        if not len(self.actions):
            unplanned: Floats = self.table.service * mass
            return unplanned
        if self.apart:
            gain = weights @ self.finds.T
            order = np.argsort(-gain / self.act, axis=1)
            found = np.take_along_axis(gain, order, axis=1)
            spent = self.act[order]
            left = mass[:, None] - np.cumsum(found, axis=1)
            before = left + found
            total = np.cumsum(spent * before, axis=1) + self.table.service * left
            best: Floats = np.minimum(total.min(axis=1), self.table.service * mass)
            return best
        return self._greedy(weights)[0]

    def _greedy(self, weights: Floats) -> tuple[Floats, Indices, Indices]:
        """Best of all prefixes of the order 'most settled per minute of what is left'."""
        left, rows = weights.copy(), np.arange(len(weights))
        usable = np.ones((len(weights), len(self.actions)), dtype=np.bool_)
        spent = np.zeros(len(weights))
        best = self.table.service * left.sum(axis=1)
        length = np.zeros(len(weights), dtype=np.int64)
        order = np.zeros((len(weights), len(self.actions)), dtype=np.int64)
        for number in range(len(self.actions)):
            merit = np.where(usable, left @ self.finds.T / self.act, -1.0)
            chosen = merit.argmax(axis=1)
            spent += self.act[chosen] * left.sum(axis=1)
            left = left * (1.0 - self.finds[chosen])
            usable[rows, chosen] = False
            order[:, number] = chosen
            total = spent + self.table.service * left.sum(axis=1)
            length = np.where(total < best, number + 1, length)
            best = np.minimum(best, total)
        return best, order, length

    def plan(self, weights: Floats) -> tuple[tuple[int, ...], float]:
        """The plan behind `planned` for one state: action indices, expected minutes."""
        if not self.apart:
            best, order, length = self._greedy(weights[None, :])
            return tuple(self.actions[order[0, : length[0]]].tolist()), float(best[0])
        gain, mass = self.finds @ weights, float(weights.sum())
        ranked = np.argsort(-gain / self.act)
        left = np.concatenate([[mass], mass - np.cumsum(gain[ranked])])
        spent = np.concatenate([[0.0], np.cumsum(self.act[ranked] * left[:-1])])
        total = spent + self.table.service * left
        cut = int(total.argmin())
        return tuple(self.actions[ranked[:cut]].tolist()), float(total[cut])

    def asking(self, weights: Floats) -> Floats:
        """Expected minutes when a question is asked, then the plan; (n, c) -> (n, questions)."""
        mass = weights.sum(axis=1)
        if not len(self.questions):
            return np.zeros((len(weights), 0))
        joint = weights[:, None, None, :] * self.answers
        after = self.planned(joint.reshape(-1, weights.shape[1])).reshape(joint.shape[:3])
        result: Floats = self.ask * mass[:, None] + after.sum(axis=2)
        return result

    def myopic(self, weights: Floats) -> Floats:
        """Expected minutes with at most one more question, asked now; (n, c) -> (n,)."""
        asked = self.asking(weights).min(axis=1, initial=np.inf)
        result: Floats = np.minimum(self.planned(weights), asked)
        return result

    def decide(
        self, weights: Floats, depth: int, asked: Floats | None = None
    ) -> tuple[tuple[StepKind, int], float]:
        """The step with the least expected minutes: ((kind, index), minutes).

        `asked` is `asking` of these weights where it is known already.
        """
        if asked is None:
            asked = self.asking(weights[None, :])[0]
        minutes = float(self.planned(weights[None, :])[0])
        best: tuple[StepKind, int] | None = None
        if len(asked) and asked.min() < minutes:
            position = int(asked.argmin())
            best, minutes = ("ask", int(self.questions[position])), float(asked[position])
        if depth > 1:
            best, minutes = self._two_ahead(weights, asked, best, minutes)
        if best is not None:
            return best, minutes
        plan, _ = self.plan(weights)
        return (("act", plan[0]) if plan else ("service", -1)), minutes

    def _two_ahead(
        self,
        weights: Floats,
        asked: Floats,
        best: tuple[StepKind, int] | None,
        minutes: float,
    ) -> tuple[tuple[StepKind, int] | None, float]:
        """Try each promising step followed by the best single decision after it."""
        promising = np.argsort(asked, kind="stable")[:_SECOND]
        near = View(self.table, self.questions[promising], self.actions)
        # Strict improvements only, so that equal worth falls to the simpler step.
        for position in range(min(_QUESTIONS, len(promising))):
            later = near.without(question=position)
            joint = weights * near.answers[position]
            two = float(near.ask[position] * weights.sum() + later.myopic(joint).sum())
            if two < minutes - _TIE:
                best, minutes = ("ask", int(near.questions[position])), two
        merit = (self.finds @ weights) / self.act
        for position in np.argsort(-merit, kind="stable")[:_ACTIONS]:
            later = near.without(action=int(position))
            left = weights * (1.0 - self.finds[position])
            two = float(self.act[position] * weights.sum() + later.myopic(left[None, :])[0])
            if two < minutes - _TIE:
                best, minutes = ("act", int(self.actions[position])), two
        return best, minutes
