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
_ALONE = 2**18  # multiplications up to which a matrix product stays on one thread


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

    def planned(self, weights: Floats, banned: Indices | None = None) -> Floats:
        """Least expected minutes by actions then service alone; weights (n, causes + 1) -> (n,).

        `banned` is the position of one action per row that may not be used, -1 for none.
        """
        mass = weights.sum(axis=1)
        if not len(self.actions):
            unplanned: Floats = self.table.service * mass
            return unplanned
        if not self.apart:
            return self._greedy(weights, banned)[0]
        gain = _product(weights, self.finds.T)
        if banned is not None:
            gain[banned >= 0, banned[banned >= 0]] = 0.0
        order = np.argsort(-gain / self.act, axis=1)
        found = np.take_along_axis(gain, order, axis=1)
        left = mass[:, None] - np.cumsum(found, axis=1)
        spent = np.cumsum(self.act[order] * (left + found), axis=1)
        total = spent + self.table.service * left
        best: Floats = np.minimum(total.min(axis=1), self.table.service * mass)
        return best

    def _greedy(
        self, weights: Floats, banned: Indices | None = None
    ) -> tuple[Floats, Indices, Indices]:
        """Best of all prefixes of the order 'most settled per minute of what is left'."""
        left, rows = weights.copy(), np.arange(len(weights))
        usable = np.ones((len(weights), len(self.actions)), dtype=np.bool_)
        if banned is not None:
            usable[banned >= 0, banned[banned >= 0]] = False
        mass = left.sum(axis=1)
        spent = np.zeros(len(weights))
        best = self.table.service * mass
        length = np.zeros(len(weights), dtype=np.int64)
        order = np.zeros((len(weights), len(self.actions)), dtype=np.int64)
        per_minute, missed = (self.finds / self.act[:, None]).T, 1.0 - self.finds
        for number in range(len(self.actions)):
            merit = _product(left, per_minute) * usable
            chosen = merit.argmax(axis=1)
            useful = merit[rows, chosen] > 0.0
            if not useful.any():
                break
            spent = spent + np.where(useful, self.act[chosen] * mass, 0.0)
            left = left * np.where(useful[:, None], missed[chosen], 1.0)
            mass = left.sum(axis=1)
            usable[rows, chosen] = False
            order[:, number] = chosen
            total = spent + self.table.service * mass
            length = np.where(useful & (total < best), number + 1, length)
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

    def outlook(self, weights: Floats, banned: Indices | None = None) -> tuple[Floats, Floats]:
        """Expected minutes of asking each question and then following the plan, and of the plan.

        weights (n, causes + 1) -> ((n, questions), (n,)), in one pass, which makes it quick.
        """
        n, wide = weights.shape
        joint = (weights[:, None, None, :] * self.answers).reshape(-1, wide)
        states = np.concatenate([weights, joint])
        if banned is not None:
            banned = np.concatenate([banned, np.repeat(banned, len(joint) // max(n, 1))])
        minutes = self.planned(states, banned)
        after = minutes[n:].reshape(n, *self.answers.shape[:2]).sum(axis=2)
        asked: Floats = self.ask * weights.sum(axis=1)[:, None] + after
        return asked, minutes[:n]

    def decide(
        self, weights: Floats, depth: int, known: tuple[Floats, float] | None = None
    ) -> tuple[tuple[StepKind, int], float]:
        """The step with the least expected minutes: ((kind, index), minutes).

        `known` is the outlook of these weights where it is known already.
        """
        if known is None:
            each, both = self.outlook(weights[None, :])
            known = each[0], float(both[0])
        asked, minutes = known
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
        near = View(
            self.table,
            self.questions[np.argsort(asked, kind="stable")[:_SECOND]],
            self.actions,
        )
        followed = min(_QUESTIONS, len(near.questions))
        merit = (self.finds @ weights) / self.act
        tried = np.argsort(-merit, kind="stable")[:_ACTIONS]
        answers = near.answers.shape[1]
        asks = (weights * near.answers[:followed]).reshape(-1, len(weights))
        states = np.concatenate([asks, weights * (1.0 - self.finds[tried])])
        closed = np.append(np.repeat(np.arange(followed), answers), np.full(len(tried), -1))
        banned = np.append(np.full(len(asks), -1), tried)
        later, without = near.outlook(states, banned)
        later[closed >= 0, closed[closed >= 0]] = np.inf  # not asked twice
        two = np.minimum(without, later.min(axis=1, initial=np.inf))
        options: list[tuple[tuple[StepKind, int], float]] = []
        for k in range(followed):
            spent = float(near.ask[k] * weights.sum() + two[k * answers : (k + 1) * answers].sum())
            options.append((("ask", int(near.questions[k])), spent))
        for k, position in enumerate(tried):
            spent = float(self.act[position] * weights.sum() + two[len(asks) + k])
            options.append((("act", int(self.actions[position])), spent))
        # Strict improvements only, so that equal worth falls to the simpler step.
        for step, spent in options:
            if spent < minutes - _TIE:
                best, minutes = step, spent
        return best, minutes


def _product(weights: Floats, table: Floats) -> Floats:
    """weights @ table in blocks small enough for one thread.

    Products this small gain nothing from a second thread, and on a busy machine waiting for one
    made a step several times slower.
    """
    block = max(1, _ALONE // max(table.size, 1))
    if len(weights) <= block:
        whole: Floats = weights @ table
        return whole
    parts = [weights[i : i + block] @ table for i in range(0, len(weights), block)]
    return np.concatenate(parts)
