"""Describing a machine step by step: what is asked now, what stands already, what comes next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tickover.engine import EngineFile, parse_engine_file
from tickover.engine.editing import at_path, changed_text, toml_value, typed_value, value_of
from tickover.engine.guided import STEPS, GuideStep, Question, applies, guide_step
from tickover.errors import EngineFileError, InputError, Problem
from tickover.pages.head import Head

LIMITS = "limits"
"""The step after the questions: a whole table at once."""


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step in the list: how many of its questions have an answer."""

    key: str
    title: str
    filled: int
    of: int


@dataclass(frozen=True, slots=True)
class AskedLine:
    """One question as shown, with what stands in the file."""

    name: str
    label: str
    value: str
    example: str
    meaning: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GuidePage:
    """Everything one step shows."""

    head: Head
    key: str
    title: str
    why: str
    number: int
    of: int
    asked: tuple[AskedLine, ...]
    steps: tuple[StepLine, ...]
    next_key: str
    next_title: str
    falls_away: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a step was not kept: beside its questions by name, and the rest with its own step."""

    errors: Mapping[str, InputError]
    others: tuple[tuple[Problem, str], ...]


def guide_page(engine: EngineFile, text: str, key: str, head: Head) -> GuidePage:
    """One step of the guide.

    Raises
    ------
    InputError
        There is no such step, or the text is no TOML.
    """
    step = guide_step(key)
    data = value_of(text)
    at = STEPS.index(step)
    after = STEPS[at + 1] if at + 1 < len(STEPS) else None
    tables = {question.path[0] for question in step.questions}
    return GuidePage(
        head=head,
        key=key,
        title=step.title,
        why=step.why,
        number=at + 1,
        of=len(STEPS),
        asked=tuple(
            AskedLine(q.name, q.label, _squeezed(_typed(data, q)), q.example, q.meaning, q.choices)
            for q in _asked(step, engine, data)
        ),
        steps=tuple(
            StepLine(s.key, s.title, sum(bool(_typed(data, q)) for q in s.questions),
                     len(_asked(s, engine, data)))
            for s in STEPS
        ),
        next_key=after.key if after else LIMITS,
        next_title=after.title if after else "limits from a table",
        falls_away=tuple(
            str(item) for item in engine.fallen_away() if _table(item.because) in tables
        ),
        text=text,
    )  # fmt: skip


def _asked(step: GuideStep, engine: EngineFile, data: Mapping[str, object]) -> list[Question]:
    """The questions that mean something here; what is written already is shown in any case."""
    return [q for q in step.questions if applies(q, engine) or _typed(data, q)]


def answered(text: str, key: str, typed: Mapping[str, str]) -> str | Refused:
    """The engine file with the answers of one step in it, or why it was not changed.

    Parameters
    ----------
    text : str
        As it stands.
    key : str
        Of the step.
    typed : mapping of str to str
        Question by name to what was typed; what is not there is not touched, what is empty is
        taken out.

    Raises
    ------
    InputError
        There is no such step, or the text is no TOML.
    """
    step = guide_step(key)
    data = value_of(text)
    changes = {}
    errors: dict[str, InputError] = {}
    for question in step.questions:
        words = _squeezed(typed.get(question.name, ""))
        if question.name not in typed or words in _as_sent_back(_typed(data, question)):
            continue
        try:
            changes[question.path] = toml_value(words, question.form)
        except InputError as error:
            errors[question.name] = error
    if errors:
        return Refused(errors, ())
    changed = changed_text(text, changes)
    try:
        parse_engine_file(changed)
    except EngineFileError as error:
        return _refused(step, error)
    return changed


def _refused(step: GuideStep, error: EngineFileError) -> Refused:
    """Each problem beside the question it belongs to."""
    errors: dict[str, InputError] = {}
    others: list[tuple[Problem, str]] = []
    for problem in error.problems:
        question = _asked_for(problem.key, step.questions)
        if question is not None and question.name not in errors:
            errors[question.name] = InputError(
                problem.problem, given=problem.given, allowed=problem.allowed,
                instead=problem.instead,
            )  # fmt: skip
        else:
            others.append((problem, _step_of(problem.key)))
    return Refused(errors, tuple(others))


def _asked_for(key: str, questions: tuple[Question, ...]) -> Question | None:
    return next((q for q in questions if key == q.name or key.startswith(f"{q.name}[")), None)


def _step_of(key: str) -> str:
    return next((s.key for s in STEPS if _asked_for(key, s.questions) is not None), "")


def _typed(data: Mapping[str, object], question: Question) -> str:
    return typed_value(at_path(data, question.path), question.form)


def _squeezed(words: str) -> str:
    return " ".join(words.split())


def _as_sent_back(value: str) -> tuple[str, str]:
    """How a browser may send a value it was given: in one line, breaks as spaces or dropped."""
    return _squeezed(value), _squeezed(value.replace("\n", ""))


def _table(because: str) -> str:
    """The table a missing key stands in: 'valves' of 'valves.inlet_clearance' or '[valves]'."""
    return because.replace("[", "").replace("]", ".").replace(" ", "").split(".")[0]
