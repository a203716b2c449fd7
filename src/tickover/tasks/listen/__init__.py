"""Listen: idle speed, steadiness and a weak cylinder from a recording.

Turns samples and firing angles into a `Listening`, or refuses with a reason and what to do.
Reads recordings through soundfile; knows nothing of pages. It never says which cylinder is
weak: a recording only numbers the firings, and a mechanic with a wet rag names them.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from tickover.tasks.listen.listening import CAUTIONS, Listening, Refusal, Slot

if TYPE_CHECKING:
    from tickover.tasks.listen.analysis import analyse
    from tickover.tasks.listen.comparison import Comparison, compare

__all__ = ["CAUTIONS", "Comparison", "Listening", "Refusal", "Slot", "analyse", "compare"]

# The signal processing behind these takes a second to load; the book only asks what was heard.
_LATER = {"analyse": "analysis", "Comparison": "comparison", "compare": "comparison"}


def __getattr__(name: str) -> Any:
    """The functions that listen, loaded when they are first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_LATER[name]}"), name)
