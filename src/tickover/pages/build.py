"""A build's own page: where are we, what next, what stops us."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.wording import STATE_WORDS, count_words, place_words, sentence
from tickover.plan.checks import CheckState
from tickover.plan.fit import LOOSE_END, Blocker, Fitness
from tickover.tasks.finding import Stage


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check as shown, with what was found and why it does not count any more."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    way_out: str


@dataclass(frozen=True, slots=True)
class BuildPage:
    """Everything the build page shows."""

    head: Head
    machine: str
    layout: str
    answer: str
    fit: bool
    blockers: tuple[CheckLine, ...]
    next_line: str
    checks: tuple[CheckLine, ...]
    accepted: tuple[CheckLine, ...]
    valve_states: dict[str, tuple[str, str]]
    """Valve place to (state, reading in words), for the drawing."""
    fallen_away: tuple[str, ...]
    engine: EngineFile


def check_line(item: CheckState) -> CheckLine:
    """A check state in words."""
    title = f"{item.check.name}, {place_words(item.check.place)}" if item.check.place else (
        item.check.title
    )  # fmt: skip
    text = item.finding.text if item.finding else ""
    if item.void is not None:
        text = f"was {text}, void since {item.void.why} (entry {item.void.entry.number})"
    if item.acceptance is not None:
        text = f"{text or 'not done'}; accepted by {item.acceptance.by}: "
        text += item.acceptance.body.reason
    return CheckLine(
        item.check.name, item.check.place, title, item.state, STATE_WORDS[item.state], text, ""
    )


def blocker_line(blocker: Blocker) -> CheckLine:
    """One thing in the way, in words."""
    b = blocker
    title = f"{b.check}, {place_words(b.place)}" if b.place else b.check
    words = "still open" if b.check == LOOSE_END else STATE_WORDS[b.state]
    return CheckLine(b.check, b.place, title, b.state, words, b.text, b.way_out)


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


def build_page(engine: EngineFile, fit: Fitness, head: Head) -> BuildPage:
    """The page over all checks of a build."""
    blockers = tuple(blocker_line(b) for b in fit.blockers)
    first = blockers[0] if blockers else None
    return BuildPage(
        head=head,
        machine=engine.engine.name,
        layout=f"{engine.engine.layout}, {count_words(engine.engine.cylinders)} "
        + ("cylinder" if engine.engine.cylinders == 1 else "cylinders"),
        answer=answer_sentence(fit),
        fit=fit.yes,
        blockers=blockers,
        next_line=sentence(f"Next: {first.title}, {first.way_out}") if first else "",
        checks=tuple(check_line(item) for item in fit.states),
        accepted=tuple(check_line(item) for item in fit.accepted),
        valve_states={
            item.check.place: (item.state, item.finding.text if item.finding else "")
            for item in fit.states
            if item.check.name == "valve clearance"
        },
        fallen_away=tuple(str(item) for item in engine.fallen_away()),
        engine=engine,
    )
