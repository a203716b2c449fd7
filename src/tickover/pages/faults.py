"""Will not start, and 'runs, but': the next thing to look at, the causes, what is proved."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class ThingLine:
    """One thing to do.

    `kind` is 'ask' (answer with one of `outcomes`), 'check' (prove a stale check again: `words`
    is its name), 'look' (at a cause: found or not found) or 'stop'. `number` is that of a
    question, from 1, or 0.
    """

    kind: str
    words: str
    title: str
    minutes: str
    how: str
    outcomes: tuple[str, ...]
    caution: str
    number: int


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One cause: its share from 0 to 1 for a bar, in percent words, and how to look for it.

    `looked` is '', 'looked at, not it' or 'found'. `weight` stands before the evidence;
    `weight_changed` says that the engine file gave it.
    """

    words: str
    share: float
    chance: str
    how: str
    minutes: str
    looked: str
    weight: float
    weight_changed: bool


@dataclass(frozen=True, slots=True)
class AnsweredLine:
    """An answer or a look kept in the book, to be struck out where it was wrong."""

    id: str
    number: int
    at: str
    by: str
    asked: str
    said: str


@dataclass(frozen=True, slots=True)
class FaultPage:
    """Everything the fault-finding page shows."""

    head: Head
    symptom: str
    title: str
    symptoms: tuple[tuple[str, str], ...]
    """Every symptom with its title, to choose between."""
    under_way: bool
    begun: str
    found: str
    sentence: str
    cautions: tuple[str, ...]
    next: ThingLine
    expected: str
    also: tuple[ThingLine, ...]
    questions: tuple[ThingLine, ...]
    """Every question, numbered, to answer out of turn."""
    causes: tuple[CauseLine, ...]
    unlisted: CauseLine
    proved: tuple[str, ...]
    contradictions: tuple[str, ...]
    answers: tuple[AnsweredLine, ...]
    looked: tuple[AnsweredLine, ...]
    weight_problem: str
    source: str
