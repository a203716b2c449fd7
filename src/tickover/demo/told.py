"""What the story of the build that runs tells beside its lines: loom and recordings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from tickover.book.bodies import Answer, Body, Note, Work
from tickover.book.state import State
from tickover.demo import lane, recordings
from tickover.engine import EngineFile
from tickover.tasks.listen.in_book import answer_entry, reference_entry
from tickover.tasks.listen.in_book import recordings as kept
from tickover.tasks.listen.plain import listening_of, waterfall_of
from tickover.tasks.wiring.in_book import wire_reading
from tickover.tasks.wiring.loom import lay_loom

if TYPE_CHECKING:
    from tickover.book.store import Store

METER = "meter"
Teller = Callable[["Store", EngineFile, State], list[Body]]


def _tail_read(store: Store, engine: EngineFile, state: State) -> list[Body]:
    return _wires(engine, lane.TAIL_OHM)


def _loom_read(store: Store, engine: EngineFile, state: State) -> list[Body]:
    numbers = [run.number for run in lay_loom(engine).runs]
    return _wires(engine, dict(zip(numbers, lane.LOOM_OHM.split(), strict=True)))


def _wires(engine: EngineFile, ohm: Mapping[str, str]) -> list[Body]:
    """End to end as given; to earth no path, where a wire is not itself a way back."""
    read: list[Body] = []
    for run in lay_loom(engine).runs:
        if run.number not in ohm:
            continue
        read.append(wire_reading(run, "end to end", ohm[run.number], METER))
        if run.side != "earth":
            read.append(wire_reading(run, "to earth", "open", METER))
    return read


def _pins_seated(store: Store, engine: EngineFile, state: State) -> list[Body]:
    return [Note("Tail plug: two pins were pushed back; seated anew."), Work("connector changed")]


def _heard_weak(store: Store, engine: EngineFile, state: State) -> list[Body]:
    return [_heard(store, recordings.BEFORE)]


def _heard_even(store: Store, engine: EngineFile, state: State) -> list[Body]:
    return [_heard(store, recordings.AFTER)]


def _heard(store: Store, made: recordings.Made) -> Answer:
    """The sound goes into the book, what was heard in it comes from beside it."""
    sha256 = store.put_blob(recordings.sound_of(made))
    found = recordings.heard_in(made)
    heard, fall = listening_of(found["heard"]), waterfall_of(found["waterfall"])
    return answer_entry(heard, sha256, made.file, synthetic=True, fall=fall)


def _rag(store: Store, engine: EngineFile, state: State) -> list[Body]:
    return [reference_entry(engine, kept(state)[-1], "2", "wet rag")]


def _cap_changed(store: Store, engine: EngineFile, state: State) -> list[Body]:
    said = Note("Cap of plug 2 sparked across to the head in the dark; another one is on.", "plug2")
    return [said, Work("leads off", ("plug2",))]


TOLD: Mapping[str, Teller] = {
    lane.TAIL_READ: _tail_read,
    lane.PINS_SEATED: _pins_seated,
    lane.LOOM_READ: _loom_read,
    lane.HEARD_WEAK: _heard_weak,
    lane.RAG: _rag,
    lane.CAP_CHANGED: _cap_changed,
    lane.HEARD_EVEN: _heard_even,
}
"""Words of the story to the entries they stand for."""
