"""Which cause goes with the readings, what cannot be told apart, and which check tells most."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.tasks.charging.evidence import charging_evidence, log_likelihood
from tickover.tasks.charging.faults import FAULTS, UNLISTED
from tickover.tasks.charging.next_check import NextCheck, next_checks
from tickover.tasks.charging.simulate import Known, Machines, described_system

Floats = NDArray[np.float64]

MACHINES = 6000
"""Simulated machines for each cause."""
_SEED = 20_480_317
_ALIKE = float(np.log(2.5))  # readings less than this apart in log odds tell nothing apart
_WORTH_NAMING = 0.03


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One cause with its probability, and what would put it right."""

    key: str
    words: str
    probability: float
    remedy: str


@dataclass(frozen=True, slots=True)
class Causes:
    """What the readings say together.

    `alike` are causes the readings made so far speak for equally; `next_checks` the best first.
    """

    lines: tuple[CauseLine, ...]
    unlisted: float
    alike: tuple[str, ...]
    next_checks: tuple[NextCheck, ...]
    readings: int

    @property
    def first(self) -> CauseLine:
        """The likeliest."""
        return self.lines[0]


def charging_causes(
    engine: EngineFile,
    state: State,
    void: frozenset[tuple[str, str]] = frozenset(),
    seed: int = _SEED,
) -> Causes:
    """The causes behind the readings of a book or a file.

    Parameters
    ----------
    engine : EngineFile
    state : State
    void : frozenset of (name, place)
        Readings that later work made void.
    seed : int
        Of the simulated machines: the same readings always get the same answer.

    Returns
    -------
    Causes
        With no readings: how often each cause is met, by our assumption.

    Notes
    -----
    Bayes' rule; the likelihood of a cause is the mean over its simulated machines of the product
    over the readings. None of the causes: the product of what all of them together would show.
    Next check: expected information for its minutes (`decide.information`).
    """
    known = described_system(engine)
    machines = _machines(known, seed)
    items = charging_evidence(engine, state, void)
    fits = [
        np.array([log_likelihood(each, item) for item in items]).reshape(len(items), MACHINES)
        for each in machines
    ]
    logs = [fit.sum(axis=0) if len(items) else np.zeros(MACHINES) for fit in fits]
    weight = np.array([fault.weight for fault in FAULTS])
    prior = np.append(weight / weight.sum() * (1.0 - UNLISTED), UNLISTED)
    evidence = np.array([_log_mean(log) for log in logs])
    single = np.array([[_log_mean(fit[k]) for fit in fits] for k in range(len(items))])
    mixed = [_log_mean(row + np.log(prior[:-1] / prior[:-1].sum() * len(row))) for row in single]
    evidence = np.append(evidence, float(np.sum(mixed)))
    log_posterior = np.log(prior) + evidence
    posterior = np.exp(log_posterior - log_posterior.max())
    posterior /= posterior.sum()
    order = np.argsort(-posterior[:-1], kind="stable")
    best = int(order[0])
    alike = tuple(
        FAULTS[k].words
        for k in order[1:]
        if posterior[k] > _WORTH_NAMING and abs(evidence[k] - evidence[best]) < _ALIKE
    )
    return Causes(
        tuple(
            CauseLine(FAULTS[k].key, FAULTS[k].words, float(posterior[k]), FAULTS[k].remedy)
            for k in order
        ),
        float(posterior[-1]),
        alike if items else (),
        next_checks(engine, known, machines, logs, posterior, items),
        sum(not item.kind.endswith("beside") for item in items),
    )  # fmt: skip


@lru_cache(maxsize=8)
def _machines(known: Known, seed: int) -> tuple[Machines, ...]:
    rng = np.random.default_rng(seed)
    return tuple(Machines(known, fault.key, rng, MACHINES) for fault in FAULTS)


def _log_mean(logs: Floats) -> float:
    top = float(logs.max())
    return top + float(np.log(np.exp(logs - top).mean()))
