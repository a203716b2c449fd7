"""The recorded answer: fit to start as it was said, void as soon as anything under it changes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass

from tickover.book.bodies import Answer
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.plan.fit import LOOSE_END, Fitness
from tickover.tasks.finding import Stage


def question(stage: Stage) -> str:
    """The question an answer of this stage is kept under."""
    return {"first start": "fit to start", "riding": "fit to ride"}.get(stage, f"fit for {stage}")


def rests_on(fit: Fitness, state: State) -> str:
    """Hash of all an answer rests on.

    The engine file, every required check with its state, proof, voiding work and acceptance, and
    every open loose end with its acceptance. Any of it changing changes the hash.
    """
    engine = state.engine_file
    foundation = {
        "stage": fit.stage,
        "engine file": hashlib.sha256(state.engine_text.encode()).hexdigest() if engine else "",
        "checks": [
            [
                item.check.name,
                item.check.place,
                item.state,
                item.finding.proof if item.finding else 0,
                item.void.entry.id if item.void else "",
                item.acceptance.id if item.acceptance else "",
            ]
            for item in fit.states
            if fit.stage in item.check.required
        ],
        "loose ends": [
            [end.id, acceptance.id if (acceptance := state.acceptance(LOOSE_END, end.id)) else ""]
            for end in state.open_loose_ends
        ],
    }
    text = json.dumps(foundation, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def answer_body(fit: Fitness, state: State) -> Answer:
    """The entry that records this answer now."""
    return Answer(
        question(fit.stage),
        "yes" if fit.yes else "no",
        rests_on(fit, state),
        {
            "required": sum(fit.stage in item.check.required for item in fit.states),
            "accepted": [f"{item.check.name} {item.check.place}".strip() for item in fit.accepted],
            "in the way": [f"{b.check} {b.place}: {b.text}".strip() for b in fit.blockers][:40],
        },
    )


@dataclass(frozen=True, slots=True)
class RecordedAnswer:
    """The latest recorded answer and whether what it rested on still stands."""

    entry: Entry[Answer]
    holds: bool


def recorded_answer(fit: Fitness, state: State) -> RecordedAnswer | None:
    """The latest answer to this stage's question, or None when none was recorded."""
    entry = state.answer(question(fit.stage))
    if entry is None:
        return None
    same = entry.body.rests_on == rests_on(fit, state)
    return RecordedAnswer(entry, same and entry.body.answer == ("yes" if fit.yes else "no"))
