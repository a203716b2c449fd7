"""Answers worked out before, kept in the user's cache folder from one run to the next.

A command in the terminal is a new process: without this it would crank the cylinder model some
thousand times to say again what it said a minute ago. An answer is found again by everything it
depends on: the arguments to the last digit, the program's own source and the libraries that do the
sums. Change any of them and it is worked out anew. A kept answer that is damaged, or a folder that
cannot be written, costs time and nothing else.
"""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import importlib.util
import io
import os
import pickle
import sys
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Generic, ParamSpec, TypeVar

import numpy as np

from tickover.cache.folders import make_room, user_folder

P = ParamSpec("P")
R = TypeVar("R")

SWITCH = "TICKOVER_ANSWERS"
"""Environment variable: another folder for kept answers, or 'off' to keep none."""

MOST_KEPT = 400
"""Files; when there are more, half as many go, the oldest first."""

_ENDS = (".answer", ".part")
"""How the names of kept answers end, and of those that somebody did not finish writing."""

_IN_MEMORY = 32
_SUM = 32  # bytes of a sha256, before the answer itself
_LIBRARIES = ("numpy", "scipy", "numba")
_SOURCES = ("cache", "quantities", "engine", "physics", "decide", "book", "tasks", "plan")


def kept_folder() -> Path | None:
    """Folder of kept answers; None where none are to be kept."""
    chosen = os.environ.get(SWITCH, "")
    if chosen == "off":
        return None
    if chosen:
        return Path(chosen)
    return user_folder("answers")


class Remembered(Generic[P, R]):
    """A pure function whose answers are kept, in memory and on disk."""

    def __init__(self, function: Callable[P, R], unless: Callable[[R], bool] | None) -> None:
        functools.update_wrapper(self, function)
        self._function = function
        self._unless = unless
        self._name = f"{function.__module__}.{function.__qualname__}"
        self._on_disk = function.__module__.startswith("tickover.")  # a doctest's changes unseen
        self._memory: OrderedDict[str, R] = OrderedDict()
        self._lock = threading.Lock()  # a server asks from several threads

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """The answer: from memory, from disk, or worked out."""
        key = digest(self._name, args, kwargs)
        with self._lock:
            if key in self._memory:
                self._memory.move_to_end(key)
                return self._memory[key]
        folder = kept_folder() if self._on_disk else None
        place = None if folder is None else folder / f"{digest(program(), key)}{_ENDS[0]}"
        found = _read(place)
        if found is None:
            found = (self._function(*args, **kwargs),)
            if self._unless is not None and self._unless(found[0]):
                return found[0]
            _write(place, found)
        with self._lock:
            self._memory[key] = found[0]
            if len(self._memory) > _IN_MEMORY:
                self._memory.popitem(last=False)
        return found[0]

    def cache_clear(self) -> None:
        """Forget what is in memory; what is on disk stays."""
        with self._lock:
            self._memory.clear()


def remembered(
    function: Callable[P, R], unless: Callable[[R], bool] | None = None
) -> Remembered[P, R]:
    """Keep what a pure function answers; use as a decorator.

    Parameters
    ----------
    function : callable
        Of numbers, texts, arrays, and tuples, lists, dicts and dataclasses of such; its answer
        depends on nothing else and is never changed by who gets it.
    unless : callable, optional
        Tells of an answer that it is not to be kept, such as one that ran out of time.

    Returns
    -------
    callable
        Same signature. An exception is not kept.

    Examples
    --------
    >>> @remembered
    ... def doubled(x: float) -> float:
    ...     return 2.0 * x
    >>> doubled(2.5)
    5.0
    """
    return Remembered(function, unless)


def digest(*values: Any) -> str:
    """Sha256 of values, the same in every run.

    Raises
    ------
    TypeError
        If a value is of a kind whose content cannot be told for certain.
    """
    told = hashlib.sha256()
    _tell(values, told.update)
    return told.hexdigest()


def _tell(value: Any, say: Callable[[bytes], None]) -> None:
    """Say a value so that two different ones are never said alike."""
    kind = type(value)
    if value is None or kind in (bool, int, float, str, bytes, complex):
        text = value if kind is bytes else repr(value).encode()
        say(f"{kind.__name__} {len(text)} ".encode() + text)
    elif isinstance(value, np.ndarray | np.generic):
        array = np.asarray(value)
        if array.dtype.hasobject:
            raise TypeError("An array of objects cannot be told")
        say(f"array {array.dtype.str} {array.shape} ".encode() + array.tobytes())
    elif isinstance(value, tuple | list):
        say(f"{kind.__name__} {len(value)} ".encode())
        for each in value:
            _tell(each, say)
    elif kind is frozenset:  # in no order: by what each member says
        _tell(sorted(digest(each) for each in value), say)
    elif isinstance(value, Mapping):
        say(f"mapping {len(value)} ".encode())
        for pair in value.items():  # the order is part of what a dict says
            _tell(pair, say)
    elif dataclasses.is_dataclass(value):
        say(f"{kind.__module__}.{kind.__qualname__} ".encode())
        for field in dataclasses.fields(value):
            _tell(getattr(value, field.name), say)
    else:
        raise TypeError(f"An answer cannot be kept by a {kind.__name__}")


@functools.lru_cache(maxsize=1)
def program() -> str:
    """The program that answers: its sources and its libraries by size and time."""
    here = Path(__file__).resolve().parents[1]
    said = [sys.version, sys.platform]
    for library in _LIBRARIES:
        found = importlib.util.find_spec(library)
        if found is not None and found.origin:
            about = os.stat(found.origin)
            said.append(f"{found.origin} {about.st_size} {about.st_mtime_ns}")
    for part in _SOURCES:
        for folder, _, names in sorted(os.walk(here / part)):
            for name in sorted(names):
                if name.endswith((".py", ".toml", ".csv", ".json")):
                    about = os.stat(os.path.join(folder, name))
                    said.append(f"{folder}/{name} {about.st_size} {about.st_mtime_ns}")
    return digest(said)


class _Reader(pickle.Unpickler):
    """Reads answers only: our own classes, numbers and arrays, and nothing that acts."""

    def find_class(self, module: str, name: str) -> Any:
        found = super().find_class(module, name)
        ours = module.startswith("tickover.") and isinstance(found, type)
        arrays = module.startswith("numpy") and name in (
            "ndarray", "dtype", "_reconstruct", "_frombuffer", "scalar",
        )  # fmt: skip
        if not (ours or arrays):
            raise pickle.UnpicklingError(f"No answer holds a {module}.{name}")
        return found


def _read(place: Path | None) -> tuple[Any] | None:
    """The answer kept there, alone in a tuple; None where there is none that is whole."""
    if place is None:
        return None
    try:
        content = place.read_bytes()
        if hashlib.sha256(content[_SUM:]).digest() != content[:_SUM]:
            return None
        found = _Reader(io.BytesIO(content[_SUM:])).load()
    except (OSError, pickle.UnpicklingError, AttributeError, ImportError, EOFError):
        return None
    return found if isinstance(found, tuple) and len(found) == 1 else None


def _write(place: Path | None, answer: tuple[Any]) -> None:
    if place is None:
        return
    content = pickle.dumps(answer, protocol=5)
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        make_room(place.parent, lambda name: name.endswith(_ENDS), MOST_KEPT)
        handle, fresh = tempfile.mkstemp(dir=place.parent, suffix=_ENDS[1])
        with open(handle, "wb") as file:
            file.write(hashlib.sha256(content).digest() + content)
        os.replace(fresh, place)  # whole or not at all, whoever writes beside us
    except OSError:
        return
