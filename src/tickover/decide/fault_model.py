"""What may be wrong and what can be done about it, as typed by people and as arrays."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tickover.decide.information import distribution, likelihood_table
from tickover.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """Something to look at or measure that tells causes apart but settles none.

    Parameters
    ----------
    name : str
    minutes : float
        Effort [min]
    outcomes : tuple of str
    table : array, shape (outcomes, causes) or (outcomes, causes + 1)
        P(outcome | cause); the extra column is for 'unlisted', which otherwise takes the average
        over the listed causes, so that one answer alone speaks neither for nor against it [1]
    """

    name: str
    minutes: float
    outcomes: tuple[str, ...]
    table: ArrayLike


@dataclass(frozen=True, slots=True, eq=False)
class Action:
    """Something to do that finds and settles causes.

    Parameters
    ----------
    name : str
    minutes : float
        Effort, the trial afterwards included [min]
    finds : array, shape (causes,)
        Probability of settling each cause if it is the one; below 1 for a doubtful remedy [1]
    """

    name: str
    minutes: float
    finds: ArrayLike


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """What may be wrong and what can be done about it.

    Parameters
    ----------
    causes : tuple of str
    priors : array, shape (causes,)
        Prior weights of the listed causes, scaled to share 1 - unlisted [1]
    questions : tuple of Question
    actions : tuple of Action
    service_minutes : float
        What it costs when nothing listed helps [min]
    unlisted : float
        Prior probability that the cause is not in the list, below 1 [1]
    slip : float
        Probability that an answer was misread or mistyped, then any outcome alike [1]
    """

    causes: tuple[str, ...]
    priors: ArrayLike
    questions: tuple[Question, ...]
    actions: tuple[Action, ...]
    service_minutes: float
    unlisted: float = 0.05
    slip: float = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """A model as arrays; the last column everywhere is 'unlisted'."""

    prior: Floats  # (causes + 1,)
    answers: Floats  # (questions, most outcomes, causes + 1), slips included
    outcomes: tuple[int, ...]  # outcomes of each question
    ask: Floats  # (questions,) [min]
    finds: Floats  # (actions, causes + 1)
    act: Floats  # (actions,) [min]
    service: float  # [min]


@lru_cache(maxsize=16)
def tables(model: Model) -> Tables:
    """Check a model and lay it out as arrays (kept for the next call with the same model).

    Parameters
    ----------
    model : Model

    Returns
    -------
    Tables

    Raises
    ------
    InputError
        If a table is not a table of distributions, an effort not above zero, a probability out
        of range, or a size wrong.
    """
    n = len(model.causes)
    weights = np.asarray(model.priors, dtype=np.float64)
    if weights.shape != (n,) or not 0.0 <= model.unlisted < 1.0 or not 0.0 <= model.slip < 1.0:
        raise InputError(
            "Priors, unlisted or slip do not fit",
            given=f"{weights.size} priors, unlisted {model.unlisted}, slip {model.slip}",
            allowed=f"{n} priors, the others from 0 to below 1",
        )
    listed = distribution(weights, "priors")
    prior = np.append(listed * (1.0 - model.unlisted), model.unlisted)
    minutes = [q.minutes for q in model.questions] + [a.minutes for a in model.actions]
    if not all(math.isfinite(m) and m > 0.0 for m in [*minutes, model.service_minutes]):
        raise InputError("Every effort must be above zero minutes", given=str(minutes))
    wide = max((len(q.outcomes) for q in model.questions), default=0)
    answers = np.zeros((len(model.questions), wide, n + 1))
    for i, question in enumerate(model.questions):
        table = np.atleast_1d(np.asarray(question.table, dtype=np.float64))
        if table.ndim == 2 and table.shape[1] == n:
            table = np.column_stack([table, table @ listed])
        if len(table) != len(question.outcomes):
            raise InputError(
                f"The outcomes of question '{question.name}' do not match its table",
                given=f"{len(question.outcomes)} outcomes",
                allowed=f"{len(table)}, one per row",
            )
        table = likelihood_table(table, n + 1, f"question '{question.name}'")
        slips = model.slip / len(table)  # misread: any outcome alike
        answers[i, : len(table)] = (1.0 - model.slip) * table + slips
    finds = np.zeros((len(model.actions), n + 1))
    for i, action in enumerate(model.actions):
        row = np.asarray(action.finds, dtype=np.float64)
        if row.shape != (n,) or not ((row >= 0.0) & (row <= 1.0)).all():
            raise InputError(
                f"What action '{action.name}' settles does not fit",
                given=str(row.tolist()),
                allowed=f"{n} numbers from 0 to 1",
            )
        finds[i, :n] = row
    return Tables(
        prior=prior,
        answers=answers,
        outcomes=tuple(len(q.outcomes) for q in model.questions),
        ask=np.array([q.minutes for q in model.questions], dtype=np.float64),
        finds=finds,
        act=np.array([a.minutes for a in model.actions], dtype=np.float64),
        service=model.service_minutes,
    )
