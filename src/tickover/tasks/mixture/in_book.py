"""The mixture task and the book: rounds from entries, and the entries it writes.

A change of jets, needle or screw, or of what the engine breathes through, begins a new round; the
readings after it belong to it. What is struck out is not there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from tickover.book.bodies import Reading as ReadingBody
from tickover.book.bodies import Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.physics.atmosphere import pressure_at_altitude
from tickover.physics.carburettor.parts import Setting
from tickover.quantities import parse
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.listen.in_book import heard_idle
from tickover.tasks.mixture.advice import Advice, Machine, advise, mark_of
from tickover.tasks.mixture.from_file import (
    FromFile,
    has_mixture,
    machine_from_file,
    setting_changed,
)
from tickover.tasks.mixture.posterior import Round
from tickover.tasks.mixture.readings import SIGNS, Reading, reading_from_row
from tickover.tasks.mixture.stops import Stop, stop_in
from tickover.tasks.mixture.target import FULL_THROTTLE, Target
from tickover.tasks.mixture.trim import Trim, air_of

MIXTURE = "mixture"
CHECK = "mixture at full throttle"
JETS, NEEDLE, SCREW = "jets changed", "needle moved", "mixture screw set"
FILTER, BAFFLES, HEIGHT = "air filter changed", "baffles changed", "height changed"
SETTING_WORK = (JETS, NEEDLE, SCREW)
TRIM_WORK = (FILTER, BAFFLES, HEIGHT)
_KEYS = {JETS: ("pilot", "main"), NEEDLE: ("needle", "clip", "cutaway"), SCREW: ("screw",)}

CAUTIONS = (
    "Lean at full throttle holes pistons: start rich, step down, short loaded runs, stop on knock.",
    "Petrol is drained when jets are changed: cold engine, no flame, no lamp with a bare bulb.",
    "Carbon monoxide: run it in the open, or with the exhaust led out; a fan is not enough.",
    "On a rolling road or a stand: strapped down, clear of wheel and chain, ears covered.",
    "The road is no test bench: the law and other people come first; read the log afterwards.",
)
HOW = (
    "Engine hot, air leaks, float level, ignition and clearances proved first; hold each opening "
    "for some seconds at a steady speed, then read; mark the grip with tape at each opening."
)


@dataclass(frozen=True, slots=True)
class MixtureBook:
    """What the book says about the mixture.

    `numbers` are the entry numbers of the readings, round by round; `proof` is that of the latest
    reading of the last round at full throttle, 0 where there is none.
    """

    file: FromFile
    rounds: tuple[Round, ...]
    trims: tuple[Trim, ...]
    numbers: tuple[tuple[int, ...], ...]
    setting: Setting
    trim: Trim
    proof: int

    @property
    def machine(self) -> Machine:
        """The machine of the engine file."""
        return self.file.machine


def reading_entry(reading: Reading, typed: str = "", instrument: str = "") -> ReadingBody:
    """The book's entry for one mixture reading."""
    beside: dict[str, Any] = {
        "opening": round(reading.opening, 6),
        "speed_rpm": round(reading.speed_rpm, 3),
    }
    if reading.note:
        beside["note"] = reading.note
    if reading.sign is not None:
        beside["word"] = reading.sign.word
    if reading.lam is None:
        return ReadingBody(MIXTURE, "", 1.0, 1.0, "yes", typed, instrument, beside)
    return ReadingBody(MIXTURE, "", reading.lam, reading.lam, "1", typed, instrument, beside)


def reading_of(entry: Entry[ReadingBody]) -> Reading:
    """A mixture reading from its entry."""
    body = entry.body
    word = str(body.conditions.get("word", ""))
    sign = next((s for s in SIGNS if s.word == word), None)
    return Reading(
        opening=float(body.conditions.get("opening", 0.0)),
        speed_rpm=float(body.conditions.get("speed_rpm", 3000.0)),
        lam=body.low if body.unit == "1" else None,
        sign=sign,
        note=str(body.conditions.get("note", "")),
        where=f"entry {entry.number}",
    )


def setting_entries(book: MixtureBook, changes: dict[str, str]) -> tuple[tuple[Work, ...], Setting]:
    """The entries of a change of jets, needle or screw, and the setting after it.

    Parameters
    ----------
    book : MixtureBook
    changes : dict
        As for `setting_changed`.

    Returns
    -------
    tuple of (tuple of Work, Setting)
        One entry for each kind of work, so that each makes void what it should.

    Raises
    ------
    InputError
        If something is not listed, or nothing is changed.
    """
    said = {key: text.strip() for key, text in changes.items() if text.strip()}
    after = setting_changed(book.setting, book.machine.drawer, said)
    before_plain, after_plain = _plain(book, book.setting), _plain(book, after)
    works = []
    for what, keys in _KEYS.items():
        changed = {k: after_plain[k] for k in keys if after_plain[k] != before_plain[k]}
        if changed:
            works.append(Work(what, (), changed))
    if not works:
        raise InputError(
            "Nothing is different from what is in",
            given=", ".join(f"{k} {v}" for k, v in said.items()) or "nothing",
            allowed="another jet, groove, needle, slide or turn",
            instead="what was really changed",
        )
    return tuple(works), after


def trim_entry(what: str, typed: str) -> Work:
    """The entry of a change of filter, baffles or height.

    Parameters
    ----------
    what : str
        "air filter changed", "baffles changed" or "height changed"
    typed : str
        Depression in the box ("5 cmH2O", or "open"), "in" or "out", or the height ("600 m").

    Raises
    ------
    InputError
        If it is none of these.
    """
    text = typed.strip().casefold()
    if what == FILTER:
        none = text in ("open", "off", "none", "0")
        depression = 0.0 if none else parse(text, "pressure", None, "The depression").value_si
        return Work(FILTER, (), {"box_depression_pa": depression})
    if what == BAFFLES:
        if text not in ("in", "out"):
            raise InputError("Baffles are in or out", given=typed, allowed="in, out",
                             instead="'out'")  # fmt: skip
        return Work(BAFFLES, (), {"baffles": text})
    if what == HEIGHT:
        metres = parse(text, "length", None, "The height").value_si
        pressure_at_altitude(metres)  # refuses a height no workshop stands at
        return Work(HEIGHT, (), {"altitude_m": metres})
    raise InputError("This changes nothing the engine breathes", given=what,
                     allowed=", ".join(TRIM_WORK))  # fmt: skip


def mixture_book(engine: EngineFile, state: State) -> MixtureBook:
    """Rounds, trims and the set-up as they are now.

    Parameters
    ----------
    engine : EngineFile
    state : State

    Returns
    -------
    MixtureBook

    Raises
    ------
    InputError
        If the engine file says too little.
    """
    file = _idling_as_heard(machine_from_file(engine), state)
    setting = file.fitted
    trim = _first_trim(engine, file)
    events: list[Entry[Any]] = [
        *state.readings(MIXTURE),
        *(e for what in (*SETTING_WORK, *TRIM_WORK) for e in state.works(what)),
    ]
    rounds: list[Round] = []
    trims: list[Trim] = []
    numbers: list[tuple[int, ...]] = []
    here: list[Reading] = []
    seen: list[int] = []
    proof = 0

    def close() -> None:
        if here:
            air = air_of(trim, file.machine.carburettor, file.machine.engine,
                         file.machine.top_speed_rpm)  # fmt: skip
            rounds.append(Round(setting, tuple(here), air))
            trims.append(trim)
            numbers.append(tuple(seen))
            here.clear()
            seen.clear()

    for entry in sorted(events, key=lambda e: e.number):
        body = entry.body
        if isinstance(body, ReadingBody):
            reading = reading_of(entry)
            here.append(reading)
            seen.append(entry.number)
            if reading.opening >= FULL_THROTTLE:
                proof = entry.number
            continue
        close()
        if body.what in SETTING_WORK:
            said = {k: str(v) for k, v in body.detail.items() if k in sum(_KEYS.values(), ())}
            setting = setting_changed(setting, file.machine.drawer, said)
        else:
            trim = _trim_after(trim, body)
    close()
    return MixtureBook(file, tuple(rounds), tuple(trims), tuple(numbers), setting, trim, proof)


def _idling_as_heard(file: FromFile, state: State) -> FromFile:
    """The machine at the idle speed last read off a recording, where nothing has moved it since."""
    idle = heard_idle(state)
    if idle is None or idle.overtaken:
        return file
    return replace(file, machine=replace(file.machine, idle_rpm=idle.rpm))


def book_advice(book: MixtureBook, target: Target | None = None) -> Advice:
    """What to do next, from the rounds of the book.

    Raises
    ------
    InputError
        If there is no reading, or readings contradict each other.
    """
    machine = book.machine
    good = None
    if book.file.known_good is not None:
        setting, trim = book.file.known_good
        good = setting, air_of(trim, machine.carburettor, machine.engine, machine.top_speed_rpm)
    air = air_of(book.trim, machine.carburettor, machine.engine, machine.top_speed_rpm)
    return advise(machine, _rounds_with_now(book, air), target, good, air=air)


def book_stop(book: MixtureBook, target: Target | None = None) -> Stop | None:
    """Whether the readings say stop, asked of the readings alone.

    Parameters
    ----------
    book : MixtureBook
    target : Target, optional

    Returns
    -------
    Stop or None
        Also where readings contradict each other, so that no advice can be worked out.
    """
    return stop_in(_rounds_with_now(book, None), target or Target())


def _rounds_with_now(book: MixtureBook, air: Any) -> tuple[Round, ...]:
    """The rounds, and an empty one at the end where the jets were changed and not read yet."""
    if book.rounds and book.rounds[-1].setting == book.setting:
        return book.rounds
    now = Round(book.setting, ()) if air is None else Round(book.setting, (), air)
    return (*book.rounds, now)


def _plain(book: MixtureBook, setting: Setting) -> dict[str, str]:
    drawer = book.machine.drawer
    return {
        "pilot": mark_of(drawer, "pilot", setting.pilot_jet),
        "main": mark_of(drawer, "main", setting.main_jet),
        "needle": setting.needle.name,
        "clip": str(setting.clip),
        "cutaway": f"{1e3 * setting.cutaway:g} mm",
        "screw": f"{setting.screw_turns:g}",
    }


def setting_words(book: MixtureBook, setting: Setting) -> str:
    """A setting in one line."""
    plain = _plain(book, setting)
    return (
        f"pilot {plain['pilot']}, screw {plain['screw']} turns, needle {plain['needle']} in groove "
        f"{plain['clip']}, main {plain['main']}, cutaway {plain['cutaway']}"
    )


def _first_trim(engine: EngineFile, file: FromFile) -> Trim:
    """Before anything is written down: the height of the known set-up, filters as they are."""
    good = file.known_good[1] if file.known_good is not None else Trim()
    baffles = engine.exhaust is None or engine.exhaust.silencers != "open"
    return Trim("now", good.altitude, 293.15, 0.5, good.box_depression, baffles)


def _trim_after(trim: Trim, body: Work) -> Trim:
    detail = body.detail
    if body.what == FILTER:
        return replace(trim, box_depression=float(detail.get("box_depression_pa", 0.0)))
    if body.what == BAFFLES:
        return replace(trim, baffles=detail.get("baffles") != "out")
    return replace(trim, altitude=float(detail.get("altitude_m", trim.altitude)))


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """Full throttle is not lean: to be proved before hand-over, where the build takes part."""
    if not has_mixture(engine):
        return ()
    return (
        Check(
            CHECK, "", "Mixture at full throttle",
            "that it does not run lean where lean holes pistons", HOW,
            frozenset({"hand-over"}),
            needs=("intake clamps", "air leaks", "float height", "static timing",
                   "valve clearance"),
            cautions=CAUTIONS, minutes=30.0, risk=3, group="mixture",
            wanted=Wanted("page", page="mixture"),
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the readings say of full throttle."""
    if not has_mixture(engine) or not state.readings(MIXTURE):
        return ()
    try:
        book = mixture_book(engine, state)
        stop = book_stop(book)
        if stop is not None:  # pinking anywhere, read at full throttle or not
            latest = max(e.number for e in state.readings(MIXTURE))
            return (Finding(CHECK, "", "out", stop.why, book.proof or latest, 0.0),)
        if not book.proof:
            return ()
        advice = book_advice(book)
    except InputError as error:
        latest = max(e.number for e in state.readings(MIXTURE))
        return (Finding(CHECK, "", "undecided", str(error), latest),)
    chance = advice.lean_before
    words = f"lean somewhere above half throttle: {100 * chance:.0f} in 100"
    state_word = "good" if chance < 0.10 else "out" if chance > 0.5 else "undecided"
    return (
        Finding(CHECK, "", state_word, words, book.proof, 1.0 - chance),  # type: ignore[arg-type]
    )


def mixture_line(engine: EngineFile, text: str) -> tuple[ReadingBody, str]:
    """The entry a short line means: '1/4 5200 0.93', 'full pinking', 'idle rich, sooty'.

    Parameters
    ----------
    engine : EngineFile
    text : str
        Opening, speed where known, then lambda ('0.93', '13.5 AFR') or a word.

    Returns
    -------
    tuple of (Reading, str)
        The entry, and the words to show before it is kept.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    example = "'mixture 1/4 5200 0.93' or 'mixture full pinking'"
    parts = text.replace(" %", "%").split()
    if len(parts) < 2:
        raise InputError("A mixture reading needs an opening and what was seen", given=text,
                         instead=example)  # fmt: skip
    opening, rest = parts[0], parts[1:]
    speed = ""
    if (
        len(rest) > 1
        and re.fullmatch(r"[0-9]{3,6}(\.[0-9]*)?", rest[0])
        and float(rest[0]) >= 300.0
    ):
        speed, rest = rest[0], rest[1:]
        if rest and rest[0].casefold() == "rpm" and len(rest) > 1:
            rest = rest[1:]
    said = " ".join(rest)
    row = {"opening": opening, "speed": speed}
    row["lambda" if said[:1].isdigit() or said[:1] in ".," else "word"] = said
    reading = reading_from_row(row, "this line")
    what = f"lambda {reading.lam:.3f}" if reading.lam is not None else said.casefold()
    words = f"mixture, {reading.opening:.0%} open, {reading.speed_rpm:.0f} rpm: {what}"
    return reading_entry(reading, text), words
