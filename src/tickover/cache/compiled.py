"""Compile an inner loop to machine code, and keep what was compiled.

The one place that knows how: every loop is compiled the same way, with nan and infinity left
alone, the interpreter lock released (so that two threads may share the work), and the result
kept in the user's cache folder instead of beside the source, which may be read-only.

Nothing is compiled, and the compiler is not even loaded, before a loop is called. The loop that is
called becomes an entry: callable from Python, kept on disk. The compiled functions it calls become
parts of it: no way in from Python, nothing kept of them alone, which halves the time of the first
call. What is called both ways is compiled for both.

What is kept is found again by what the entry and every loop it calls say, wherever they stand, down
to the numbers they take from their modules: change any of it and it is compiled anew.
"""

from __future__ import annotations

import functools
import hashlib
import os
import threading
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryFile
from types import CodeType, FunctionType, ModuleType
from typing import Any, TypeVar, cast

from tickover.cache.folders import make_room, user_folder

F = TypeVar("F", bound=Callable[..., Any])

MOST_KEPT = 100
"""Entries; when there are more, half as many go, those unused for longest first."""

_OURS = "loop-"
_COMPILING = threading.Lock()


def cache_folder() -> Path:
    """Folder that holds compiled code: NUMBA_CACHE_DIR where set, else the user's cache."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen)
    return user_folder("compiled")


def can_keep() -> bool:
    """Whether the cache folder can be written; without it every process compiles for itself."""
    try:
        cache_folder().mkdir(parents=True, exist_ok=True)
        with TemporaryFile(dir=cache_folder()):
            return True
    except OSError:
        return False


def compiled(function: F) -> F:
    """Compile a numeric function at its first call; use as a decorator.

    Parameters
    ----------
    function : callable
        Numbers, arrays and tuples only, no objects.

    Returns
    -------
    callable
        Same signature; division by zero gives infinity or nan as in NumPy.

    Examples
    --------
    >>> @compiled
    ... def twice(x: float) -> float:
    ...     return 2.0 * x
    >>> twice(2.5)
    5.0
    """
    return cast(F, _Loop(cast(FunctionType, function)))


class _Loop:
    """A loop that is compiled when it is first called."""

    def __init__(self, function: FunctionType) -> None:
        functools.update_wrapper(self, function)
        self._function = function
        self._entry: Callable[..., Any] | None = None
        self._part: Callable[..., Any] | None = None

    def __call__(self, *arguments: Any) -> Any:
        """What the loop gives for these arguments, compiled for their types."""
        if self._entry is None:
            self._entry = self._compiled_entry()
        return self._entry(*arguments)

    def _compiled_entry(self) -> Callable[..., Any]:
        import numba

        on_disk = Path(self._function.__code__.co_filename).is_file()  # a doctest has none
        kept = on_disk and can_keep()
        # Numba looks at the file of the entry only: a folder by what is said covers the others.
        with _COMPILING:
            if kept:
                cast(Any, numba.config).CACHE_DIR = str(_room_for(self.fingerprint()))
            made = numba.njit(cache=kept, nogil=True, error_model="numpy")(self._linked())
        return cast(Callable[..., Any], made)

    def fingerprint(self) -> str:
        """Sha256 of all that decides the machine code: this loop, those it calls, their numbers."""
        told = hashlib.sha256()
        for part in _said(self._function.__code__):
            told.update(f"{part!r};".encode())
        names = self._function.__globals__
        for name in self._function.__code__.co_names:
            value = names.get(name)
            if isinstance(value, _Loop):
                told.update(f"{name} {value.fingerprint()};".encode())
            elif not callable(value) and not isinstance(value, ModuleType):
                told.update(f"{name} {value!r};".encode())
        told.update(repr(self._function.__defaults__).encode())
        return told.hexdigest()

    def _as_part(self) -> Callable[..., Any]:
        if self._part is None:
            import numba

            self._part = cast(Any, numba).njit(
                nogil=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True
            )(self._linked())
        return cast(Callable[..., Any], self._part)

    def _linked(self) -> FunctionType:
        """The function with the loops it calls as parts, in a room of names of its own."""
        names = self._function.__globals__
        called = {
            name: names[name]._as_part()
            for name in self._function.__code__.co_names
            if isinstance(names.get(name), _Loop)
        }
        linked = FunctionType(
            self._function.__code__,
            {**names, **called},
            self._function.__name__,
            self._function.__defaults__,
            self._function.__closure__,
        )
        functools.update_wrapper(linked, self._function)
        return linked


def _said(code: CodeType) -> list[Any]:
    """What a function says, less where it stands and how it is written."""
    said: list[Any] = [code.co_code, code.co_names, code.co_varnames]
    for constant in code.co_consts:
        said += _said(constant) if isinstance(constant, CodeType) else [constant]
    return said


def _room_for(fingerprint: str) -> Path:
    """The folder of an entry in the cache folder, marked as used; old ones make room for it."""
    folder = cache_folder() / f"{_OURS}{fingerprint[:20]}"
    if not folder.exists():
        make_room(cache_folder(), lambda name: name.startswith(_OURS), MOST_KEPT)
        folder.mkdir(exist_ok=True)
    os.utime(folder)
    return folder
