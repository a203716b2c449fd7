"""The stopwatch of the first minutes: one touch for each thing seen, and the entry it keeps."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head
from tickover.pages.start import AttemptLine, KillLine


@dataclass(frozen=True, slots=True)
class Button:
    """One touch. `kind` is 'outcome' (what came of the attempt) or 'sign' (something seen).

    `key` is what a phone sends as `what`; `words` stand on the button and become the outcome of
    the entry. With `stop` the engine is stopped first and the button touched afterwards.
    """

    key: str
    words: str
    kind: str
    stop: bool
    then: str


@dataclass(frozen=True, slots=True)
class StopwatchPage:
    """Everything the stopwatch page shows; works from here on without a connection."""

    head: Head
    title: str
    buttons: tuple[Button, ...]
    crank_s: float
    rest_s: float
    oil_within_s: float
    first_run_s: float
    kill: tuple[KillLine, ...]
    attempts: tuple[AttemptLine, ...]
    cautions: tuple[str, ...]
