"""Where things are kept, and what goes when there are too many."""

from __future__ import annotations

import shutil
from pathlib import Path


def user_folder(name: str) -> Path:
    """A folder of that name in the user's cache."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("tickover", appauthor=False)) / name


def make_room(folder: Path, most: int) -> None:
    """Of more than so many things in a folder, leave out half as many, the oldest first."""
    try:
        kept = sorted(folder.iterdir(), key=lambda each: each.stat().st_mtime)
    except OSError:  # there is none, or another process is at it
        return
    for old in kept[: most // 2] if len(kept) > most else ():
        if old.is_dir():
            shutil.rmtree(old, ignore_errors=True)
        else:
            old.unlink(missing_ok=True)
