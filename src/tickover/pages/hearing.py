"""From the bytes of a recording to its page and its entries: the one way every face takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import FileError, InputError
from tickover.pages.building import engine_of, head_for, states_of
from tickover.pages.head import Head
from tickover.pages.listen import ListenPage, listen_page
from tickover.tasks.listen.in_book import (
    KeptRecording,
    answer_entry,
    compared,
    earlier_than,
    firing_pattern,
    idle_entry,
    names_of,
    work_between,
)
from tickover.tasks.listen.listening import Listening
from tickover.tasks.listen.waterfall import Waterfall

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow
    from tickover.book.store import Store

_PAGES_KEPT = 32


@dataclass(frozen=True, slots=True)
class Heard:
    """A recording that was listened to: what was heard, and the sound as the book keeps it."""

    name: str
    listening: Listening
    waterfall: Waterfall | None
    synthetic: bool
    sound: bytes


def read_file(path: Path | None) -> tuple[str, bytes]:
    """Name and bytes of a file, within what is read at all.

    Raises
    ------
    FileError
        There is none, or it is too large.
    """
    from tickover.tasks.listen.reading import LARGEST_BYTES

    if path is None or not path.is_file():
        raise FileError("There is no such file", given=str(path or ""), where=str(path or ""))
    size = path.stat().st_size
    if size > LARGEST_BYTES:
        raise FileError(
            "The recording is too large", given=f"{size / 2**20:.0f} MB",
            allowed=f"up to {LARGEST_BYTES // 2**20} MB", instead="a piece of 20 to 60 s",
            where=path.name,
        )  # fmt: skip
    try:
        return path.name, path.read_bytes()
    except OSError as problem:
        raise FileError(
            f"This file cannot be read ({problem.strerror})", given=str(path), where=path.name
        ) from problem


def hear(
    engine: EngineFile, content: bytes, name: str, about_rpm: float | None, *, decoder: bool = False
) -> Heard:
    """Listen to the bytes of a recording.

    Parameters
    ----------
    engine : EngineFile
    content : bytes
        WAV, FLAC, OGG or MP3.
    name : str
        For messages, and to be kept beside it.
    about_rpm : float or None
        Rough idle speed [1/min]
    decoder : bool
        Whether a program of this machine may be asked to decode m4a. Only for files somebody gives
        in the terminal: what a network sends is never handed to another program.

    Returns
    -------
    Heard
        Its listening may be refused.

    Raises
    ------
    FileError, InputError
        Not a recording, too large, too long, or an engine file without firing angles.
    """
    from tickover.tasks.listen.analysis import analyse
    from tickover.tasks.listen.keeping import (
        is_telephone_file,
        kept_bytes,
        read_telephone_file,
        says_synthetic,
    )
    from tickover.tasks.listen.reading import read_bytes
    from tickover.tasks.listen.waterfall import waterfall

    angles = firing_pattern(engine)[1]
    if not content:
        raise FileError("The recording is empty", given=name, where=name)
    if decoder and is_telephone_file(content, name):
        recording, synthetic = read_telephone_file(content, name), False
    else:
        recording, synthetic = read_bytes(content, name), says_synthetic(content)
    heard = analyse(recording.samples, recording.rate, angles, about_rpm)
    if heard.refused is not None:
        return Heard(name, heard, None, synthetic, b"")
    fall = waterfall(recording.samples, recording.rate, heard)
    return Heard(name, heard, fall, synthetic, kept_bytes(recording, synthetic=synthetic))


def heard_page(
    engine: EngineFile,
    heard: Heard,
    before: Heard | None = None,
    state: State | None = None,
    head: Head | None = None,
) -> ListenPage:
    """The page of a recording that is not in the book, beside another one or the latest kept."""
    from tickover.tasks.listen.comparison import compare

    listening = heard.listening
    earlier, comparison = None, None
    since: tuple[str, ...] = ()
    if before is not None:
        comparison = compare(before.listening, listening)
    elif state is not None and listening.refused is None:
        earlier = earlier_than(state, listening, synthetic=heard.synthetic)
        if earlier is not None:
            comparison = compared(earlier, listening)
            since = work_between(state, earlier.entry.number, 0)
    return listen_page(
        engine, listening, name=heard.name, synthetic=heard.synthetic, waterfall=heard.waterfall,
        earlier=earlier, comparison=comparison, since=since, state=state,
        states=None if state is None else states_of(state), head=head,
        earlier_name="" if before is None else before.name,
    )  # fmt: skip


@lru_cache(maxsize=_PAGES_KEPT)
def _kept_page(build: BuildRow, state: State, entry_id: str) -> ListenPage:
    from tickover.tasks.listen.in_book import find_recording

    return recording_page(state, find_recording(state, entry_id), head_for(build, state))


def kept_page(build: BuildRow, state: State, kept: KeptRecording) -> ListenPage:
    """The page of a recording of the book, beside the one before it."""
    return _kept_page(build, state, kept.entry.id)


def recording_page(state: State, kept: KeptRecording, head: Head | None = None) -> ListenPage:
    """The page of a recording of the book without a build's row: for the record."""
    engine = engine_of(state)
    number = kept.entry.number
    earlier = earlier_than(state, kept.heard, number, synthetic=kept.synthetic)
    try:
        names = names_of(engine, kept)
    except InputError:
        names = ()
    return listen_page(
        engine, kept.heard, name=kept.name, synthetic=kept.synthetic, waterfall=kept.waterfall,
        earlier=earlier,
        comparison=compared(earlier, kept.heard) if earlier is not None else None,
        since=work_between(state, earlier.entry.number, number) if earlier is not None else (),
        names=names, state=state, states=states_of(state), head=head,
    )  # fmt: skip


def keep_heard(
    store: Store,
    build_id: str,
    heard: Heard,
    *,
    at: str,
    by: str,
) -> Entry:
    """Keep a recording with its build: the sound, what it says, and the idle speed it gives.

    Parameters
    ----------
    store : Store
    build_id : str
    heard : Heard
    at, by : str
        As for `Store.append`.

    Returns
    -------
    Entry
        Of the answer.

    Raises
    ------
    InputError
        It was refused, or the book refuses it.
    """
    listening, synthetic = heard.listening, heard.synthetic
    answer_entry(listening, "0" * 64, heard.name, synthetic=synthetic)  # words first
    sha256 = store.put_blob(heard.sound)
    bodies = [
        answer_entry(listening, sha256, heard.name, synthetic=synthetic, fall=heard.waterfall),
        idle_entry(listening, sha256, synthetic=synthetic),
    ]
    return store.append(build_id, [body for body in bodies if body], at=at, by=by)[0]
