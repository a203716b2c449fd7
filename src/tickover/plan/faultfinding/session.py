"""A fault-finding session in the book: when it began, what was answered, what was looked at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tickover.book.bodies import Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.errors import InputError
from tickover.plan.faultfinding.knowledge import Knowledge

BEGUN = "fault finding begun"
LOOKED = "fault finding look"


@dataclass(frozen=True, slots=True)
class Session:
    """The session under way, or none.

    `answers` holds (question, outcome, entry) in book order, contradictions included; `looked`
    (cause, found, entry). `found` is the cause that was found, '' while none was.
    """

    begun: Entry[Any] | None
    answers: tuple[tuple[int, int, Entry[Reading]], ...]
    looked: tuple[tuple[int, bool, Entry[Work]], ...]
    found: str

    @property
    def under_way(self) -> bool:
        """Whether somebody is looking for the fault now."""
        return self.begun is not None and not self.found


def session_of(known: Knowledge, state: State) -> Session:
    """The latest session about a symptom."""
    begun = next(
        (
            work
            for work in reversed(state.works(BEGUN))
            if work.body.detail.get("symptom") == known.symptom
        ),
        None,
    )
    if begun is None:
        return Session(None, (), (), "")
    answers = []
    for index, question in enumerate(known.questions):
        for entry in state.readings(_what(known, question.words)):
            outcome = int(entry.body.low) if entry.body.low is not None else -1
            if entry.number > begun.number and 0 <= outcome < len(question.outcomes):
                answers.append((index, outcome, entry))
    looked, found = [], ""
    words = {cause.words: i for i, cause in enumerate(known.causes)}
    for work in state.works(LOOKED):
        cause = str(work.body.detail.get("cause", ""))
        same = work.body.detail.get("symptom") == known.symptom
        if work.number > begun.number and same and cause in words:
            hit = bool(work.body.detail.get("found"))
            looked.append((words[cause], hit, work))
            found = cause if hit else found
    answers.sort(key=lambda row: row[2].number)
    return Session(begun, tuple(answers), tuple(looked), found)


def _what(known: Knowledge, question: str) -> str:
    return f"{known.symptom}: {question}"


def begin_entry(known: Knowledge) -> Work:
    """The entry that begins a session; earlier answers count no more."""
    return Work(BEGUN, (), {"symptom": known.symptom})


def answer_entry(known: Knowledge, question: str, outcome: str) -> Reading:
    """The entry for an answer.

    Raises
    ------
    InputError
        Unknown question or outcome.
    """
    info = known.questions[known.question_index(question)]
    if outcome not in info.outcomes:
        raise InputError(
            f"'{question}' is not answered like that", given=outcome,
            allowed="; ".join(info.outcomes),
        )  # fmt: skip
    index = float(info.outcomes.index(outcome))
    return Reading(_what(known, info.words), "", index, index, "1", outcome)


def looked_entry(known: Knowledge, cause: str, found: bool) -> Work:
    """The entry for having looked at a cause."""
    words = known.causes[known.cause_index(cause)].words
    return Work(LOOKED, (), {"symptom": known.symptom, "cause": words, "found": found})
