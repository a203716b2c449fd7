"""What the pages of oil, ignition, fuel and starting share: checks as lines, truth tables."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.wording import STATE_WORDS, count_words, sentence
from tickover.plan.checks import CheckState, check_states
from tickover.tasks.simple import limit_words


@dataclass(frozen=True, slots=True)
class ProvingLine:
    """One check on a page of its task: what it asks, how, and what was found."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    limits: str
    prompt: str
    how: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TruthLine:
    """One row of a truth table: the state tried, what must happen, and whether it did."""

    name: str
    place: str
    tried: str
    must: str
    state: str
    state_words: str
    text: str


def states_for(engine: EngineFile, state: State | None) -> tuple[CheckState, ...]:
    """All checks as they stand; without a book every one of them is open."""
    return check_states(engine, state if state is not None else State())


def lines_of(
    engine: EngineFile, states: Iterable[CheckState], names: Iterable[str]
) -> tuple[ProvingLine, ...]:
    """The checks of these names, in the order of the names, then of the engine."""
    every = tuple(states)
    return tuple(_line(engine, item) for name in names for item in every if item.check.name == name)


def _line(engine: EngineFile, item: CheckState) -> ProvingLine:
    check = item.check
    return ProvingLine(
        check.name, check.place, check.title, item.state, STATE_WORDS[item.state], _said(item),
        limit_words(engine, check), check.wanted.prompt, check.how, check.cautions,
    )  # fmt: skip


def _said(item: CheckState) -> str:
    text = item.finding.text if item.finding is not None else ""
    if item.void is not None:
        return f"was {text}, void since {item.void.why}"
    if item.acceptance is not None:
        return f"{text or 'not done'}; accepted: {item.acceptance.body.reason}"
    return text


def truth_lines(states: Iterable[CheckState], name: str) -> tuple[TruthLine, ...]:
    """The truth table of a check that is tried in each state.

    Titles read 'state: what must happen'.
    """
    made = []
    for item in states:
        if item.check.name != name:
            continue
        _, _, must = item.check.title.rpartition(": ")
        made.append(
            TruthLine(
                name, item.check.place, item.check.place, must, item.state,
                STATE_WORDS[item.state], _said(item),
            )
        )  # fmt: skip
    return tuple(made)


def verdict_words(states: Iterable[CheckState], names: Iterable[str]) -> str:
    """How many of these checks are settled, and which come first of the rest."""
    wanted = set(names)
    mine = [item for item in states if item.check.name in wanted]
    left = [item for item in mine if not item.settled]
    if not mine:
        return "The engine file says nothing that could be checked here."
    if not left:
        return sentence(f"all {count_words(len(mine))} checks are settled")
    out = [item.check.title for item in left if item.state == "out"]
    words = f"{count_words(len(mine) - len(left))} of {count_words(len(mine))} checks settled"
    return sentence(f"{words}; out: {', '.join(out)}" if out else words)


def cautions_of(lines: Iterable[ProvingLine]) -> tuple[str, ...]:
    """Every caution of these checks, each once."""
    return tuple(dict.fromkeys(words for line in lines for words in line.cautions))
