"""Changing keys of an engine file never changes another key, whatever is typed."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tickover.engine.editing import changed_text, toml_value
from tickover.engine.guided import STEPS
from tickover.engine.limits_table import COLUMNS, take_in_limits
from tickover.engine.tables.fits import KINDS
from tickover.errors import EngineFileError, InputError

TRIPLE = (Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml").read_text()
QUESTIONS = [question for step in STEPS for question in step.questions]
VALUES = st.one_of(
    st.none(), st.text(max_size=30), st.integers(-10**6, 10**6), st.booleans(),
    st.lists(st.integers(0, 9), max_size=4),
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(st.sampled_from([q.path for q in QUESTIONS]), VALUES, max_size=4))
def test_exactly_the_keys_asked_for_change(changes) -> None:
    wanted = tomllib.loads(TRIPLE)
    for path, value in changes.items():
        _set(wanted, path, value)
    assert _bare(tomllib.loads(changed_text(TRIPLE, changes))) == _bare(wanted)


def _set(data, path, value) -> None:
    for key in path[:-1]:
        data = data.setdefault(key, {})
    if value is None:
        data.pop(path[-1], None)
    else:
        data[path[-1]] = value


def _bare(data):
    """Without tables that hold nothing: one that lost its last key is taken out."""
    found = copy.deepcopy(data)
    for key in list(found):
        if isinstance(found[key], dict):
            found[key] = _bare(found[key])
            if not found[key]:
                del found[key]
    return found


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(QUESTIONS), st.text(max_size=40))
def test_whatever_is_typed_is_a_value_or_refused_in_words(question, typed: str) -> None:
    refusal = None
    value = None
    try:
        value = toml_value(typed, question.form)
    except InputError as error:
        refusal = error
    if refusal is not None:
        assert refusal.instead
    else:
        tomllib.loads(changed_text(TRIPLE, {question.path: value}))


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["", "0.1", "0,1", "mm", "Nm", "cyl1", "²", "1e9", "=1+1", "-5", "torque", "valves.inlet",
         "engine.name", *KINDS]
    ),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(CELLS, max_size=len(COLUMNS) + 1), max_size=4), st.sampled_from(",;\t"))
def test_whatever_a_table_holds_is_written_soundly_or_refused_in_words(rows, between) -> None:
    table = "\n".join(between.join(row) for row in [list(COLUMNS), *rows])
    try:
        taken = take_in_limits(TRIPLE, table)
    except EngineFileError as error:
        refused = error.problems
    else:
        refused = ()
        tomllib.loads(taken.text)
        assert taken.written
    assert all(problem.problem for problem in refused)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_text_that_is_no_table_is_refused_in_words(text: str) -> None:
    try:
        take_in_limits(TRIPLE, text)
    except EngineFileError as error:
        problems = error.problems
    else:
        problems = ("taken in",)
    assert problems
