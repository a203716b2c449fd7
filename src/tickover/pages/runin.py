"""After the first start: what to do again and when, dated from how the machine is used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.wording import count_words, listed, sentence
from tickover.plan.runin import PRACTICE, PlannedStep, RunInPlan
from tickover.quantities import show

_ADVICE = (
    "First runs short, then cold through: each is one heat cycle.",
    "Load and speed rise by steps; neither full throttle nor labouring low down on new parts.",
    "Each ride ends with a look: oil, leaks, nuts, plugs.",
)
_CAUTIONS = (
    "The engine's own service manual comes first; gaskets and bolts that must not be touched "
    "again are named there.",
    "Re-torque cold, never on a hot head.",
    "Brakes, tyres and road legality belong to licensed people.",
)


@dataclass(frozen=True, slots=True)
class RunInLine:
    """One step. `state` is 'done', 'due' or 'later'; `on` is None when the use never reaches it."""

    key: str
    name: str
    marks: str
    state: str
    state_words: str
    on: date | None
    when: str
    because: str
    source: str
    how: str
    done: str


@dataclass(frozen=True, slots=True)
class RunInPage:
    """Everything the running-in page, its sheet and its calendar file show."""

    head: Head
    title: str
    sentence: str
    started: date | None
    reached: tuple[str, ...]
    use: str
    use_given: bool
    due: tuple[RunInLine, ...]
    later: tuple[RunInLine, ...]
    done: tuple[RunInLine, ...]
    advice: tuple[str, ...]
    source: str
    """Whose the steps and the advice are where all are of one source, said once; else ''."""
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    conflicts: tuple[str, ...]

    @property
    def lines(self) -> tuple[RunInLine, ...]:
        """Every step: due, later, done."""
        return (*self.due, *self.later, *self.done)


def run_in_page(engine: EngineFile, found: RunInPlan, head: Head) -> RunInPage:
    """The plan in words and dates."""
    lines = [_line(engine, item, found.today) for item in found.steps]
    due = tuple(line for line in lines if line.state == "due")
    later = tuple(line for line in lines if line.state == "later")
    done = tuple(line for line in lines if line.state == "done")
    if found.started is None:
        said = "The engine has not run yet, so nothing is dated."
    elif due:
        said = sentence(f"{count_words(len(due))} {'is' if len(due) == 1 else 'are'} due now")
    elif later:
        first = later[0]
        said = sentence(f"Nothing is due. Next: {first.name}, {first.when}")
    else:
        said = "Everything is done."
    sources = {line.source for line in lines}
    source = PRACTICE if sources == {PRACTICE} else ""
    return RunInPage(
        head=head,
        title="Running in",
        sentence=said,
        started=found.started,
        reached=_reached(engine, found),
        use=_use(engine, found),
        use_given=found.use_given,
        due=due,
        later=later,
        done=done,
        advice=_ADVICE
        if source == PRACTICE
        else tuple(f"{words[:-1]} ({PRACTICE})." for words in _ADVICE),
        source=source,
        cautions=_CAUTIONS,
        notes=(*found.notes, *_past(later, found.today)),
        conflicts=found.conflicts,
    )


def _line(engine: EngineFile, item: PlannedStep, today: date) -> RunInLine:
    known = item.known
    when = ""
    if item.state == "due":
        when = "due now"
    elif item.state == "later":
        if item.on is None:
            when = "not reached by this use" if item.because else "dated once it has run"
        elif item.on < today:
            when = f"expected {item.on.isoformat()}, which is past"
        else:
            when = f"about {item.on.isoformat()}"
    done = ""
    if item.done:
        first = item.done[0]
        done = f"done by {first.by} on {first.at[:10]} (entry {first.number})"
    return RunInLine(
        key=known.step.name,
        name=known.step.name,
        marks=_marks(engine, item),
        state=item.state,
        state_words={"due": "due now", "later": "later", "done": "done"}[item.state],
        on=item.on,
        when=when,
        because=item.because,
        source=known.source,
        how=known.how,
        done=done,
    )


def _marks(engine: EngineFile, item: PlannedStep) -> str:
    step = item.known.step
    marks = []
    if step.heat_cycles is not None:
        word = "heat cycle" if step.heat_cycles == 1 else "heat cycles"
        marks.append(f"{count_words(step.heat_cycles)} {word}")
    if step.distance is not None:
        marks.append(show(step.distance, engine.show.unit("distance"), "distance"))
    if step.engine_time is not None:
        marks.append(f"{step.engine_time / 3600:g} h running")
    if step.days is not None:
        marks.append("1 day" if step.days == 1 else f"{step.days} days")
    return listed(marks, "or")


def _reached(engine: EngineFile, found: RunInPlan) -> tuple[str, ...]:
    if found.started is None:
        return ()
    reached = found.reached
    unit = engine.show.unit("distance")
    return (
        f"first start {found.started.isoformat()}",
        show(reached.distance, unit, "distance"),
        f"{reached.engine_time / 3600:.1f} h running",
        f"{count_words(reached.heat_cycles) if reached.heat_cycles else 'no'} heat "
        + ("cycle" if reached.heat_cycles == 1 else "cycles"),
    )


def _past(later: tuple[RunInLine, ...], today: date) -> tuple[str, ...]:
    count = sum(line.on is not None and line.on < today for line in later)
    if not count:
        return ()
    word = "step" if count == 1 else "steps"
    return (
        sentence(
            f"by the expected use {count_words(count)} {word} should have been reached, but no "
            "distance, running time or heat cycle in the book says so; keep what it has run"
        ),
    )


def _use(engine: EngineFile, found: RunInPlan) -> str:
    use = found.use
    distance = show(use.distance, engine.show.unit("distance"), "distance")
    words = f"{distance}, {use.engine_time / 3600:g} h and {use.heat_cycles:g} heat cycles a week"
    return words if found.use_given else f"{words} (our assumption until you say otherwise)"
