"""From what the model refuses to what a person reads: file, line, key, given, allowed, instead."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from pydantic import ValidationError

from tickover.engine.fields import written
from tickover.engine.model import EngineFile
from tickover.engine.source import Path
from tickover.engine.suggest import nearest_word
from tickover.engine.table import ClashError, Table
from tickover.errors import InputError, Problem

MOST_PROBLEMS = 100
"""Problems told at once; a file with more has one cause, not a hundred."""


def problems_in(wrong: ValidationError, lines: dict[Path, int]) -> list[Problem]:
    """Every problem pydantic found, with its line, in the order of the file.

    Parameters
    ----------
    wrong : ValidationError
        From validating EngineFile.
    lines : dict
        From `tickover.engine.source.key_lines`.

    Returns
    -------
    list of Problem
    """
    found: list[Problem] = []
    for error in wrong.errors(include_url=False)[: MOST_PROBLEMS + 1]:
        cause = error.get("ctx", {}).get("error")
        if isinstance(cause, ClashError):
            found += [_problem(clash.key, clash.error, lines) for clash in cause.clashes]
        else:
            found.append(_problem(error["loc"], _told(error), lines))
    return sorted(found, key=lambda problem: (problem.line or 0, problem.key))


def line_of(path: Path, lines: dict[Path, int]) -> int | None:
    """The line of a key, or of the nearest table round it that stands in the file."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def dotted(path: Path) -> str:
    """A path as it would be written: 'engine.firing_order[2]'.

    Examples
    --------
    >>> dotted(("engine", "firing_order", 2))
    'engine.firing_order[2]'
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += f".{part[:60]}" if text else part[:60]
    return text


@lru_cache(maxsize=1)
def known_keys() -> dict[tuple[str, ...], tuple[str, ...]]:
    """The keys of every table: its path to the keys that may stand in it."""
    found: dict[tuple[str, ...], tuple[str, ...]] = {}

    def walk(table: type[Table], path: tuple[str, ...]) -> None:
        found[path] = tuple(f.alias or name for name, f in table.model_fields.items())
        for name, field in table.model_fields.items():
            for inner in _tables_inside(field.annotation):
                walk(inner, (*path, field.alias or name))

    walk(EngineFile, ())
    return found


def _tables_inside(annotation: Any) -> list[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return [annotation]
    return [t for each in getattr(annotation, "__args__", ()) for t in _tables_inside(each)]


def _problem(path: Path, error: InputError, lines: dict[Path, int]) -> Problem:
    return Problem(
        line_of(path, lines), dotted(path), error.problem, error.given, error.allowed,
        error.instead,
    )  # fmt: skip


def _told(error: Any) -> InputError:
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, InputError):
        return cause
    path: Path = error["loc"]
    if error["type"] == "extra_forbidden":
        return _unknown(path)
    if error["type"] == "missing":
        return _missing(path)
    if error["type"] in ("model_type", "model_attributes_type"):
        instead = f"[{dotted(path)}] on a line of its own, with its keys below it"
        if len(path) > 1:
            instead = f"{path[-1]} = {{ opens = ..., closes = ... }}"
            keys = known_keys().get(tuple(str(part) for part in path))
            if keys:
                instead = f"{path[-1]} = {{ " + ", ".join(f"{key} = ..." for key in keys) + " }"
        return InputError("This should be a table", given=written(error["input"]), instead=instead)
    return InputError(f"This cannot be used ({error['msg']})", given=written(error["input"]))


def _unknown(path: Path) -> InputError:
    word = str(path[-1])
    table = tuple(str(part) for part in path[:-1] if not isinstance(part, int))
    here = known_keys().get(table, ())
    home = f"[{'.'.join(table)}]" if table else "an engine file"
    instead = ""
    near = nearest_word(word, here)
    elsewhere = [other for other, keys in known_keys().items() if other and word in keys]
    if elsewhere and not (near and near.lower() == word.lower()):
        instead = f"it under [{'.'.join(elsewhere[0])}] (did you mean that?)"
    elif near:
        instead = f"[{near}] (did you mean that?)" if not table else f"{near} (did you mean that?)"
    elif not table:
        for other, keys in known_keys().items():
            far = nearest_word(word, keys) if other else None
            if far:
                instead = f"{far} under [{'.'.join(other)}] (did you mean that?)"
                break
    return InputError(
        f"There is no such key in {home}", given=word, allowed=", ".join(here), instead=instead
    )


def _missing(path: Path) -> InputError:
    if len(path) == 1:
        return InputError(
            f"The table [{path[0]}] is missing", instead=f"[{path[0]}] and its keys below it"
        )
    return InputError(f"The key {path[-1]} is missing in [{dotted(path[:-1])}]")
