"""Fit to start, to ride, for hand-over: the answer, what is in the way, what was recorded."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import LooseEnd, State
from tickover.engine import EngineFile
from tickover.pages.check_line import CheckLine, blocker_line, check_line
from tickover.pages.head import Head
from tickover.pages.wording import count_words, sentence
from tickover.plan.answer import recorded_answer
from tickover.plan.fit import LOOSE_END, Fitness
from tickover.tasks.finding import Stage

CAUTION = (
    "Yes means that everything required was proved or accepted by a person, no more. "
    "It does not say that nothing can happen."
)


@dataclass(frozen=True, slots=True)
class RecordedLine:
    """The answer kept last: what it said, by whom and when, and whether it still holds."""

    id: str
    number: int
    answer: str
    by: str
    at: str
    holds: bool
    words: str


@dataclass(frozen=True, slots=True)
class FitPage:
    """Everything the fit-to-start page shows.

    `stage` is 'first start', 'riding' or 'hand-over'. A blocker whose name is 'loose end' has the
    id of the loose end in `loose_ids`, in the same order as `blockers` ('' for checks).
    """

    head: Head
    stage: str
    title: str
    yes: bool
    answer: str
    blockers: tuple[CheckLine, ...]
    loose_ids: tuple[str, ...]
    accepted: tuple[CheckLine, ...]
    proved: str
    recorded: RecordedLine | None
    not_checked: tuple[str, ...]
    stages: tuple[tuple[str, str], ...]
    """Every stage with its title, to choose between."""
    caution: str


STAGE_TITLES: dict[Stage, str] = {
    "first start": "Fit to start",
    "riding": "Fit to ride",
    "hand-over": "Fit for hand-over",
}


def answer_sentence(fit: Fitness) -> str:
    """The answer of a stage in one line."""
    title = STAGE_TITLES[fit.stage]
    if fit.yes:
        accepted = len(fit.accepted) + len(fit.left_open)
        if accepted:
            return sentence(f"{title}: yes, with {count_words(accepted)} accepted by a person")
        return f"{title}: yes. Everything required is proved."
    if fit.nothing_required:
        return f"{title}: no. The engine file gives nothing that could be checked."
    count = len(fit.blockers)
    word = "thing stands" if count == 1 else "things stand"
    return f"{title}: no. {sentence(f'{count_words(count)} {word} in the way')}"


def fit_page(engine: EngineFile, fit: Fitness, state: State, head: Head) -> FitPage:
    """The answer over all checks of a stage, and the one that was recorded."""
    required = [item for item in fit.states if fit.stage in item.check.required]
    good = sum(item.state == "good" for item in required)
    return FitPage(
        head=head,
        stage=fit.stage,
        title=STAGE_TITLES[fit.stage],
        yes=fit.yes,
        answer=answer_sentence(fit),
        blockers=tuple(blocker_line(b) for b in fit.blockers),
        loose_ids=tuple(
            b.id if b.check == LOOSE_END else "" for b in fit.blockers
        ),
        accepted=(
            *(check_line(item) for item in fit.accepted),
            *(_accepted_end(end, state) for end in fit.left_open),
        ),
        proved=sentence(f"{count_words(good)} of {count_words(len(required))} proved good")
        if required
        else "Nothing is asked for, so nothing is proved.",
        recorded=_recorded(fit, state),
        not_checked=tuple(str(item) for item in engine.fallen_away()),
        stages=tuple(STAGE_TITLES.items()),
        caution=CAUTION,
    )  # fmt: skip


def _accepted_end(end: LooseEnd, state: State) -> CheckLine:
    entry = state.acceptance(LOOSE_END, end.id)
    assert entry is not None
    label = end.opened.body.label
    text = f"left open; accepted by {entry.by}: {entry.body.reason}"
    return CheckLine(LOOSE_END, end.opened.body.place, label, "accepted", "accepted", text, "")


def _recorded(fit: Fitness, state: State) -> RecordedLine | None:
    found = recorded_answer(fit, state)
    if found is None:
        return None
    entry = found.entry
    said = f"{entry.body.answer}, recorded by {entry.by} on {entry.at[:10]} (entry {entry.number})"
    words = f"{said}; it still holds" if found.holds else (
        f"{said}; void, because something it rested on has changed since"
    )  # fmt: skip
    return RecordedLine(
        entry.id, entry.number, entry.body.answer, entry.by, entry.at, found.holds, sentence(words)
    )
