"""The next thing to look at, from the priors, the answers and everything the book has proved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tickover.book.state import State
from tickover.decide.troubleshoot import Belief, Done, Observation, next_step
from tickover.engine import EngineFile
from tickover.plan.checks import CheckState, check_states
from tickover.plan.faultfinding.knowledge import Knowledge, fault_model
from tickover.plan.faultfinding.session import Session, session_of

STALE_STRENGTH = 0.4
"""What a proof still says after work that made it void: something, but less (our assumption)."""

_STRENGTH = {"good": 1.0, "stale": STALE_STRENGTH, "out": 1.0}


@dataclass(frozen=True, slots=True)
class NextThing:
    """One thing to do: 'ask' a question, 'check' again what is stale, 'look' at a cause, 'stop'."""

    kind: str
    words: str
    minutes: float
    how: str
    outcomes: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True)
class FaultAdvice:
    """Causes with their probabilities, the next thing, and how long it is expected to take."""

    known: Knowledge
    session: Session
    causes: tuple[tuple[str, float], ...]
    unlisted: float
    next: NextThing
    also: tuple[NextThing, ...]
    expected_minutes: float
    contradictions: tuple[str, ...]
    proved: tuple[str, ...]
    """What the book has proved, in words, stale proofs named as such."""


def fault_advice(
    engine: EngineFile,
    state: State,
    known: Knowledge,
    weights: tuple[tuple[str, float], ...] = (),
    states: Sequence[CheckState] | None = None,
) -> FaultAdvice:
    """What to look at next.

    Parameters
    ----------
    engine : EngineFile
    state : State
    known : Knowledge
        About the symptom.
    weights : tuple of (cause, weight)
        Changed weights.
    states : sequence of CheckState, optional
        The checks as they stand, if the caller has them already.
    """
    session = session_of(known, state)
    evidence = _proofs(known, check_states(engine, state) if states is None else states)
    model = fault_model(known, tuple((name, minutes) for name, _, _, minutes in evidence), weights)
    own = len(known.questions)
    observations = [Observation(q, o) for q, o, _ in session.answers]
    observations += [
        Observation(own + i, 0 if word != "out" else 1, _STRENGTH[word])
        for i, (_, word, _, _) in enumerate(evidence)
    ]
    done = [Done(cause) for cause, found, _ in session.looked if not found]
    advice = next_step(model, observations, done)
    belief = advice.belief
    ranked = sorted(
        zip((c.words for c in known.causes), belief.probabilities, strict=True),
        key=lambda row: -row[1],
    )
    also = [_thing(known, evidence, "ask", v.question) for v in advice.questions[:4]]
    also += [_thing(known, evidence, "act", action) for action in advice.plan[:4]]
    following = _thing(known, evidence, advice.step.kind, advice.step.index)
    return FaultAdvice(
        known=known,
        session=session,
        causes=tuple(ranked),
        unlisted=belief.unlisted,
        next=following,
        also=tuple(thing for thing in also if thing.words != following.words),
        expected_minutes=advice.expected_minutes,
        contradictions=_contradictions(known, evidence, belief, observations),
        proved=tuple(words for _, _, words, _ in evidence),
    )


def _proofs(known: Knowledge, states: Sequence[CheckState]) -> list[tuple[str, str, str, float]]:
    """(check, worst state word, words, minutes) for every proof the book holds."""
    grouped: dict[str, list[CheckState]] = {}
    for item in states:
        if item.check.name in known.proofs:
            grouped.setdefault(item.check.name, []).append(item)
    found = []
    for name, items in grouped.items():
        words = [item.state for item in items]
        if "out" in words:
            worst = "out"
        elif all(word == "good" for word in words):
            worst = "good"
        elif all(word in ("good", "stale") for word in words):
            worst = "stale"
        else:
            continue  # open, undecided or accepted: nothing is proved either way
        said = {"good": "proved good", "stale": "was good, void since", "out": "out of its limits"}[
            worst
        ]
        found.append((name, worst, f"{name}: {said}", sum(i.check.minutes for i in items)))
    return found


def _thing(
    known: Knowledge, evidence: list[tuple[str, str, str, float]], kind: str, index: int
) -> NextThing:
    own = len(known.questions)
    if kind == "ask" and index < own:
        question = known.questions[index]
        return NextThing(
            "ask", question.words, question.minutes, "", question.outcomes, question.caution
        )
    if kind == "ask":
        name, _, words, minutes = evidence[index - own]
        return NextThing("check", name, minutes, f"{words}; prove it again.", (), "")
    if kind == "act":
        cause = known.causes[index]
        return NextThing("look", cause.words, cause.look_minutes, cause.how, (), "")
    return NextThing(
        "stop", "nothing listed here fits", known.service_minutes,
        "Begin again from spark, fuel, air and compression, or ask somebody who knows the engine.",
        (), "",
    )  # fmt: skip


def _contradictions(
    known: Knowledge,
    evidence: list[tuple[str, str, str, float]],
    belief: Belief,
    observations: list[Observation],
) -> tuple[str, ...]:
    own = len(known.questions)

    def words(position: int) -> str:
        seen = observations[position]
        if seen.question < own:
            info = known.questions[seen.question]
            return f"'{info.words}' answered '{info.outcomes[seen.outcome]}'"
        return evidence[seen.question - own][2]

    said = [f"{words(c.first)} and {words(c.second)} do not go together" for c in belief.conflicts]
    if not said and belief.status == "impossible":
        said = ["The answers cannot all be true for any cause in the list"]
    elif not said and belief.status == "contradictory":
        said = ["The answers taken together are surprising; look again at the quickest of them"]
    return tuple(said)
