"""Compile an inner loop to machine code, and keep what was compiled.

The one place that knows how: every loop is compiled the same way, with nan and infinity left
alone, the interpreter lock released (so that two threads may share the work), and the result
kept in the user's cache folder instead of beside the source, which may be read-only.

The kept code is renewed when the file that holds the function changes, not when a file it calls
into changes. Keep a loop and the compiled functions it calls in one module.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])


def cache_folder() -> Path:
    """Folder that holds compiled code: NUMBA_CACHE_DIR where set, else the user's cache."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen)
    import platformdirs

    return Path(platformdirs.user_cache_dir("tickover", appauthor=False)) / "compiled"


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
    os.environ.setdefault("NUMBA_CACHE_DIR", str(cache_folder()))
    import numba

    # Numba reads the variable when it is imported, which somebody may have done before us.
    config = cast(Any, numba.config)
    if not config.CACHE_DIR:
        config.CACHE_DIR = str(cache_folder())
    on_disk = Path(function.__code__.co_filename).is_file()  # a doctest has no file to key on
    return cast(F, numba.njit(cache=on_disk, nogil=True, error_model="numpy")(function))
