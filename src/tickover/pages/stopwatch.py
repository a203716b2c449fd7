"""The stopwatch of the first minutes: one touch for each thing seen, and the entry it keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tickover.book.bodies import StartAttempt
from tickover.book.entries import Draft, check_id
from tickover.book.fields import LONG, text
from tickover.book.state import State
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError
from tickover.pages.head import Head
from tickover.pages.start import AttemptLine, KillLine, StartCard

LONGEST_S = 24 * 3600.0
"""A stopwatch that ran longer was forgotten, not watched."""
MOST = 500
"""Touches sent together; more is not what a hand can do."""


@dataclass(frozen=True, slots=True)
class Button:
    """One touch. `kind` is 'outcome' (what came of the attempt) or 'sign' (something seen).

    `key` is what a phone sends as `what`; `words` stand on the button and become the outcome of
    the entry. With `stop` the engine is stopped first and the button touched afterwards. `page`
    is where the cause is looked for: 'why' or 'charging'.
    """

    key: str
    words: str
    kind: str
    stop: bool
    then: str
    page: str = ""


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


BUTTONS: tuple[Button, ...] = (
    Button("fired", "fired", "outcome", False, "Watch the oil light."),
    Button("ran", "ran", "outcome", False, "Watch oil, drips and pipes."),
    Button("coughed", "coughed", "outcome", False, "Rest the starter.", "why"),
    Button("spat-back", "spat back", "outcome", False, "Look for flame; rest the starter.", "why"),
    Button("nothing", "nothing", "outcome", False, "Rest the starter.", "why"),
    Button("stalled", "stalled", "outcome", False, "Count it as the end of this attempt."),
    Button("stopped", "stopped", "outcome", False, "By your hand, nothing wrong seen."),
    Button("oil-out", "oil light out", "sign", False, "Good; go on watching."),
    Button("oil-on", "oil light stays on", "sign", True, "Stop."),
    Button("drip", "fuel drip", "sign", True, "Stop, tap shut, wipe dry."),
    Button("smoke", "smoke", "sign", True, "Stop, look where from."),
    Button("knock", "knock", "sign", True, "Stop at once."),
    Button("runaway", "speed runs away", "sign", True, "Stop; tap shut."),
    Button("hot", "too hot", "sign", True, "Stop, let it get cold."),
    Button("charges", "charges", "sign", False, "Note the voltage."),
    Button(
        "no-charge", "does not charge", "sign", True, "Stop; look before the next run.", "charging"
    ),
)
"""Every touch, outcomes first. `words` is the outcome of the entry it keeps."""


def button(word: str) -> Button:
    """The button with this key or these words.

    Raises
    ------
    InputError
        There is none; says the nearest.
    """
    wanted = word.strip().casefold()
    for each in BUTTONS:
        if wanted in (each.key, each.words):
            return each
    words = [each.words for each in BUTTONS]
    near = nearest_word(wanted, [*words, *(each.key for each in BUTTONS)])
    raise InputError(
        "Nothing is kept under this word", given=word, allowed=", ".join(words),
        instead=f"'{near}' (did you mean that?)" if near else "",
    )  # fmt: skip


def stopwatch_page(card: StartCard) -> StopwatchPage:
    """The stopwatch that goes with a start card."""
    return StopwatchPage(
        head=card.head,
        title="Stopwatch of the first minutes",
        buttons=BUTTONS,
        crank_s=card.crank_s,
        rest_s=card.rest_s,
        oil_within_s=card.oil_within_s,
        first_run_s=card.first_run_s,
        kill=card.kill,
        attempts=card.attempts,
        cautions=tuple(line.words for line in card.cautions[:3]),
    )


@dataclass(frozen=True, slots=True)
class Refused:
    """An observation that cannot be kept: its id as sent ('' where it has none), and why."""

    id: str
    error: InputError


@dataclass(frozen=True, slots=True)
class Sorted:
    """What a phone sent: drafts to keep, and what was refused. One bad touch loses no other."""

    drafts: tuple[Draft, ...]
    refused: tuple[Refused, ...]


def observation_drafts(posted: Any, state: State, by: str = "") -> Sorted:
    """The entries that touches sent by a phone stand for.

    Parameters
    ----------
    posted : list of dict
        Each {'id': 32 hex digits made by the phone, 'attempt': likewise, one for each press of
        the starter, 'what': key of a button, 'seconds': since the starter was pressed,
        'at': ISO 8601, 'note': words, if any}.
    state : State
        Of the build; a touch it holds already is given again and so not doubled.
    by : str
        Who touched; '' for whoever sends.

    Returns
    -------
    Sorted
        In the order sent.

    Raises
    ------
    InputError
        Not a list, or too many at once: then nothing of it can be told apart.
    """
    if not isinstance(posted, Sequence) or isinstance(posted, (str, bytes)):
        raise InputError("Touches are sent as a list", given=type(posted).__name__)
    if len(posted) > MOST:
        raise InputError("Too many touches at once", given=str(len(posted)),
                         allowed=f"up to {MOST}")  # fmt: skip
    drafts: dict[str, Draft] = {}
    refused = []
    for each in posted:
        sent = str(each.get("id", ""))[:64] if isinstance(each, dict) else ""
        try:
            draft = _draft(each, by)
            _not_other(draft, drafts.get(draft.id), state)
            drafts[draft.id] = draft
        except InputError as error:
            refused.append(Refused(sent, error))
    return Sorted(tuple(drafts.values()), tuple(refused))


def attempt_body(word: str, seconds: float | None = None, note: str = "", attempt: str = "",
                 ) -> StartAttempt:  # fmt: skip
    """The entry of one touch, or of an attempt written down by hand.

    Raises
    ------
    InputError
        A word nothing is kept under; seconds that are none; a note that is too long.
    """
    known = button(word)
    detail: dict[str, Any] = {}
    if seconds is not None:
        if isinstance(seconds, bool) or not isinstance(seconds, (int, float)):
            raise InputError("Seconds are a number", given=str(seconds), where="seconds")
        if not 0 <= seconds <= LONGEST_S:
            raise InputError(
                "Seconds since the starter was pressed cannot be that", given=str(seconds),
                allowed="0 to a day", where="seconds",
            )  # fmt: skip
        detail["seconds"] = round(float(seconds), 2)
    if note.strip():
        detail["note"] = text(note.strip(), "note", limit=LONG)
    if attempt:
        detail["attempt"] = attempt
    return StartAttempt(known.words, detail)


def _draft(each: Any, by: str) -> Draft:
    if not isinstance(each, dict):
        raise InputError("A touch is a table of named values", given=str(each)[:40])
    strange = sorted(set(each) - {"id", "attempt", "what", "seconds", "at", "note"}, key=str)
    if strange:
        raise InputError("A touch has no such part", given=str(strange[0])[:40],
                         allowed="id, attempt, what, seconds, at, note")  # fmt: skip
    words = {name: each.get(name, "") for name in ("id", "attempt", "what", "at", "note")}
    wrong = next((name for name, value in words.items() if not isinstance(value, str)), None)
    if wrong is not None:
        raise InputError("This is no text", given=str(words[wrong])[:40], where=wrong)
    if each.get("seconds") is None:
        raise InputError("A touch needs its seconds", allowed="0 to a day", where="seconds")
    attempt = check_id(words["attempt"]) if words["attempt"] else ""
    body = attempt_body(words["what"], each["seconds"], words["note"], attempt)
    return Draft(body, check_id(words["id"]), words["at"], by)


def _not_other(draft: Draft, sent: Draft | None, state: State) -> None:
    kept = state.entry(draft.id)
    if (kept is not None and kept.body != draft.body) or (sent is not None and sent != draft):
        raise InputError(
            "Another touch was sent under this id", given=draft.id, instead="a new id", where="id"
        )
