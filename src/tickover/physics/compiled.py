"""Compile an inner loop to machine code, and keep what was compiled.

The one place that knows how: every loop is compiled the same way, with nan and infinity left
alone, the interpreter lock released (so that two threads may share the work), and the result
kept in the user's cache folder instead of beside the source, which may be read-only.

Nothing is compiled, and the compiler is not even loaded, before a loop is called. The loop that is
called becomes an entry: callable from Python, kept on disk. The compiled functions it calls become
parts of it: no way in from Python, nothing kept of them alone, which halves the time of the first
call. What is called both ways is compiled for both.

The kept code is renewed when the file that holds the entry changes, not when a file it calls
into changes. Keep a loop and the compiled functions it calls in one module.
"""

from __future__ import annotations

import functools
import os
import threading
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryFile
from types import FunctionType
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

_COMPILING = threading.Lock()


def cache_folder() -> Path:
    """Folder that holds compiled code: NUMBA_CACHE_DIR where set, else the user's cache."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen)
    import platformdirs

    return Path(platformdirs.user_cache_dir("tickover", appauthor=False)) / "compiled"


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
        os.environ.setdefault("NUMBA_CACHE_DIR", str(cache_folder()))
        import numba

        # Numba reads the variable when it is imported, which somebody may have done before us.
        config = cast(Any, numba.config)
        if not config.CACHE_DIR:
            config.CACHE_DIR = str(cache_folder())
        on_disk = Path(self._function.__code__.co_filename).is_file()  # a doctest has none
        kept = on_disk and can_keep()
        with _COMPILING:
            made = numba.njit(cache=kept, nogil=True, error_model="numpy")(self._linked())
        return cast(Callable[..., Any], made)

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
