"""Where things are kept, and what goes when there are too many."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path


def user_folder(name: str) -> Path:
    """A folder of that name in the user's cache."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("tickover", appauthor=False)) / name


def make_room(folder: Path, kept: Callable[[str], bool], most: int) -> None:
    """Of more than so many things we keep in a folder, leave out half as many, the oldest first.

    Parameters
    ----------
    folder : Path
        It may be one that somebody chose, with things of others in it.
    kept : callable
        Tells by its name whether a thing is one of ours; nothing else is touched.
    most : int
    """
    try:
        ours = [each for each in folder.iterdir() if kept(each.name)]
        ours.sort(key=lambda each: each.stat().st_mtime)
    except OSError:  # there is none, or another process is at it
        return
    for old in ours[: most // 2] if len(ours) > most else ():
        if old.is_dir():
            shutil.rmtree(old, ignore_errors=True)
        else:
            old.unlink(missing_ok=True)
