"""A build's own page: where are we, what next, what stops us."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.check_line import CheckLine, blocker_line, check_line
from tickover.pages.checks import CheckRow, ChecksPage
from tickover.pages.fitness import answer_sentence
from tickover.pages.head import Head
from tickover.pages.wording import count_words
from tickover.plan.fit import LOOSE_END, Fitness

TALLY = ("out", "undecided", "stale", "open", "good", "accepted")
"""States in the order they are told."""
_WORST = ("out", "undecided", "stale", "open", "accepted", "good")


@dataclass(frozen=True, slots=True)
class PartLine:
    """How a part stands over all its checks, and the check its touch leads to."""

    state: str
    label: str
    check: str
    more: str


@dataclass(frozen=True, slots=True)
class BuildPage:
    """Everything the build page shows."""

    head: Head
    machine: str
    layout: str
    answer: str
    fit: bool
    tally: tuple[tuple[str, int], ...]
    """How many of what is required stand how; what stops the start is counted here and no more."""
    ready: tuple[CheckRow, ...]
    """What can be done now, in order."""
    troubles: tuple[CheckLine, ...]
    """What stands in the way for a reason: out, undecided, void, or left open on purpose."""
    undone: tuple[CheckLine, ...]
    """What stands in the way only because nobody did it yet."""
    accepted: tuple[CheckLine, ...]
    keys: frozenset[tuple[str, str]]
    """Name and place of every check there is."""
    parts: dict[str, PartLine]
    """By place, for the drawing: valves, cylinders, plugs and carburettors."""
    fallen_away: tuple[str, ...]
    engine: EngineFile


def build_page(engine: EngineFile, fit: Fitness, checks: ChecksPage) -> BuildPage:
    """The page over all checks of a build.

    Parameters
    ----------
    engine : EngineFile
    fit : Fitness
        The answer before the first start.
    checks : ChecksPage
        Every check, and the steps up to the first start.
    """
    blockers = tuple(blocker_line(b) for b in fit.blockers)
    undone = tuple(b for b in blockers if b.state == "open" and b.name != LOOSE_END)
    required = [item.state for item in fit.states if fit.stage in item.check.required]
    rows = [row for group in checks.groups for row in group.rows]
    return BuildPage(
        head=checks.head,
        machine=engine.engine.name,
        layout=f"{engine.engine.layout}, {count_words(engine.engine.cylinders)} "
        + ("cylinder" if engine.engine.cylinders == 1 else "cylinders"),
        answer=answer_sentence(fit),
        fit=fit.yes,
        tally=tuple((word, required.count(word)) for word in TALLY if word in required),
        ready=tuple(step.row for step in checks.next_steps if not step.waits_for),
        troubles=tuple(b for b in blockers if b not in undone),
        undone=undone,
        accepted=tuple(check_line(item) for item in fit.accepted),
        keys=frozenset(item.check.key for item in fit.states),
        parts=_parts(rows, fit.stage),
        fallen_away=checks.fallen_away,
        engine=engine,
    )


def _parts(rows: Iterable[CheckRow], stage: str) -> dict[str, PartLine]:
    """Every part that something is proved at, by what stands worst there and is wanted first."""
    at: dict[str, list[CheckRow]] = {}
    for row in rows:
        if row.place.rstrip("abcdefghijklmnopqrstuvwxyz").rstrip("0123456789") in (
            "in", "ex", "cyl", "plug", "carb",
        ):  # fmt: skip
            at.setdefault(row.place, []).append(row)
    return {place: _part(found, stage) for place, found in at.items()}


def _part(rows: list[CheckRow], stage: str) -> PartLine:
    first = min(rows, key=lambda row: (row.settled, stage not in row.required))
    worst = min((row.state for row in rows), key=_WORST.index)
    label = first.text if first.name == "valve clearance" else ""
    others = [f"{row.name} {row.state_words}" for row in rows if row.name != "valve clearance"]
    return PartLine(worst, label, first.name, ", ".join(others))
