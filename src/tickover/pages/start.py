"""The start card: what to have at hand, what to switch in which order, when to stop."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line of the card and where it comes from: 'engine file', a standard, or practice."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class KillLine:
    """One reason to stop at once: what is seen, the figure, and where the figure comes from."""

    sign: str
    limit: str
    act: str
    source: str


@dataclass(frozen=True, slots=True)
class AttemptLine:
    """One press of the button: what came of it, what was seen when, what contradicts."""

    number: int
    at: str
    by: str
    outcome: str
    seen: tuple[str, ...]
    note: str
    contradictions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StartCard:
    """Everything the start card shows, on paper, full screen and in the terminal."""

    head: Head
    title: str
    machine: str
    fit: bool
    answer: str
    in_the_way: tuple[str, ...]
    cautions: tuple[CardLine, ...]
    at_hand: tuple[CardLine, ...]
    positions: tuple[CardLine, ...]
    cranking: CardLine
    crank_s: float
    rest_s: float
    oil_within_s: float
    first_run_s: float
    kill: tuple[KillLine, ...]
    watch: tuple[CardLine, ...]
    to_note: tuple[str, ...]
    attempts: tuple[AttemptLine, ...]
    says: str
    """What the card does not say: it proves nothing by itself."""
