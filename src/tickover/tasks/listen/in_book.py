"""Listening and the book: recordings kept with a build, what they proved, and deleting them.

One recording makes an answer (everything heard, and the sha256 of the sound it rests on) and,
where the engine idled, a reading of its idle speed. The sound itself can be deleted; then a piece
of work says so and the answer stays. A synthetic recording proves nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tickover.book.bodies import Answer, Reading, Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import whole_number
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.listen.listening import CAUTIONS, Listening
from tickover.tasks.listen.plain import (
    kept_listening,
    kept_waterfall,
    listening_of,
    waterfall_of,
)
from tickover.tasks.listen.waterfall import Waterfall

if TYPE_CHECKING:
    from tickover.tasks.listen.comparison import Comparison

QUESTION = "what a recording says"
IDLE = "idle speed"
CHECK = "firing heard even"
DELETED = "recording deleted"
REFERENCE = "weak slot named"

LEAST_UNCERTAINTY = 0.005
"""Standard uncertainty of a speed heard: half a percent until real engines have shown less."""
_TWO_SIDED = 1.96

WAYS: Mapping[str, str] = {
    "wet rag": "Engine cold; start it, and after half a minute touch each header once with a "
    "wetted rag on a stick: the one that does not hiss belongs to the weak cylinder.",
    "thermometer": "An infrared thermometer on each header at the same distance from the head, "
    "half a minute after a cold start: the coldest belongs to the weak cylinder.",
    "plug lead": "Engine off before a lead is touched. Ground the lead of one plug through a spare "
    "plug clamped to the head, start, listen, engine off again: the lead that changes nothing "
    "belongs to the weak cylinder. A lead left in the air wrecks coils and can hurt; leave this "
    "to somebody trained on electronic ignitions.",
}
"""How a cylinder is found out by hand, each with its cautions."""

REFERENCE_CAUTIONS = (
    "Headers burn skin within seconds and set rags, sleeves and fuel alight: rag on a stick, "
    "gloves, no fuel about.",
    "Ignition voltage can stop a heart: engine off before a lead is touched, insulated pliers.",
    "Hands and sleeves clear of chain, belts and fan while it runs; outdoors.",
)


@dataclass(frozen=True, slots=True)
class KeptRecording:
    """A recording of the book: what was heard, and what is known of the sound itself.

    `deleted` is the entry that says the sound was deleted. `cylinder` is the one somebody found to
    belong to the weak slot, 0 where nobody looked; `way` how.
    """

    entry: Entry[Answer]
    heard: Listening
    waterfall: Waterfall | None
    sha256: str
    name: str
    synthetic: bool
    deleted: Entry[Work] | None = None
    cylinder: int = 0
    way: str = ""


@dataclass(frozen=True, slots=True)
class HeardSpeed:
    """The idle speed of the latest recording: to stand in for a tachometer [1/min].

    `low` to `high` is the 95 % interval; `overtaken` what was done since that moves it, or ''.
    """

    rpm: float
    low: float
    high: float
    number: int
    at: str
    overtaken: str


_MOVES_IDLE = frozenset(
    {
        "jets changed", "needle moved", "mixture screw set", "air filter changed",
        "baffles changed", "exhaust changed", "carburettors off", "cables changed",
        "timing moved", "balance screw turned", "shim fitted", "clearance set", "head off",
        "engine opened", "throttle stop set",
    }
)  # fmt: skip


def firing_pattern(engine: EngineFile) -> tuple[tuple[int, ...], tuple[float, ...]]:
    """Cylinders in the order they fire, and the crank angle of each [deg].

    Raises
    ------
    InputError
        The engine file does not say when they fire.
    """
    crank = engine.engine.crank
    if crank is None:
        raise InputError(
            "The engine file does not say when the cylinders fire",
            allowed="firing_order, and firing_angles where they are not even",
            instead="firing_order = [1, 3, 4, 2] under [engine]",
            where="engine",
        )
    pairs = sorted((angle, number) for number, angle in enumerate(crank.firing_deg, 1))
    return tuple(number for _, number in pairs), tuple(float(angle) for angle, _ in pairs)


def answer_entry(
    heard: Listening, sha256: str, name: str, *, synthetic: bool, fall: Waterfall | None = None
) -> Answer:
    """The entry of a recording that was understood.

    Parameters
    ----------
    heard : Listening
    sha256 : str
        Of the sound kept with the build.
    name : str
        What the file was called.
    synthetic : bool
        Whether the file says that it was computed.
    fall : Waterfall, optional

    Raises
    ------
    InputError
        It was refused: there is nothing to keep.
    """
    if heard.refused is not None:
        raise InputError(heard.refused.reason.rstrip("."), instead=heard.refused.what_to_do)
    detail = {
        "name": name[-100:],
        "synthetic": synthetic,
        "heard": kept_listening(heard),
        "waterfall": kept_waterfall(fall),
    }
    return Answer(QUESTION, said_in_short(heard, synthetic=synthetic), sha256, detail)


def said_in_short(heard: Listening, *, synthetic: bool = False) -> str:
    """What a recording says, in one line for the book."""
    words = []
    if heard.idle_rpm is not None:
        words.append(f"idles at {heard.idle_rpm.median:.0f} rpm")
    elif heard.speed_rpm is not None:
        words.append(f"runs at {heard.speed_rpm.low:.0f} to {heard.speed_rpm.high:.0f} rpm")
    if heard.variation_percent is not None:
        words.append(f"cycles vary by {heard.variation_percent:.1f} %")
    if heard.weak_slot is not None and heard.weakest_depth is not None:
        words.append(f"one firing slot is {100 * heard.weakest_depth:.0f} % weaker")
    elif heard.slots is not None:
        words.append("no firing slot stands out as weak")
    return ("synthetic, proves nothing: " if synthetic else "") + ", ".join(words)


def idle_entry(heard: Listening, sha256: str, *, synthetic: bool) -> Reading | None:
    """The reading of the idle speed; None where it did not idle, or is synthetic."""
    if heard.idle_rpm is None or synthetic:
        return None
    low, high = speed_interval(heard)
    return Reading(
        IDLE, "", low / 60.0, high / 60.0, "Hz", f"{heard.idle_rpm.median:.0f} rpm, heard",
        "recording", {"recording": sha256, "rpm": round(heard.idle_rpm.median, 2)},
    )  # fmt: skip


def speed_interval(heard: Listening) -> tuple[float, float]:
    """95 % interval of the mean idle speed: what it wandered, and what hearing can be off [1/min].

    Raises
    ------
    InputError
        The engine does not idle in it.
    """
    idle = heard.idle_rpm
    if idle is None:
        raise InputError("The engine does not idle in this recording")
    # Nine tenths of the frames lie within low and high; their mean wanders about a third of that.
    half = ((idle.high - idle.low) / 6.0) ** 2
    half += (_TWO_SIDED * LEAST_UNCERTAINTY * idle.median) ** 2
    return idle.median - half**0.5, idle.median + half**0.5


def recordings(state: State) -> tuple[KeptRecording, ...]:
    """The recordings of a build that count, the earliest first."""
    gone: dict[str, Entry[Work]] = {
        str(work.body.detail.get("recording", "")): work for work in state.works(DELETED)
    }
    named: dict[str, tuple[int, str]] = {}
    for work in state.works(REFERENCE):
        detail = work.body.detail
        cylinder = detail.get("cylinder")
        if isinstance(cylinder, int):
            named[str(detail.get("entry", ""))] = (cylinder, str(detail.get("way", "")))
    found = []
    for entry in state.answers(QUESTION):
        detail = entry.body.detail
        try:
            heard = listening_of(detail["heard"])
            fall = waterfall_of(detail.get("waterfall"))
        except (KeyError, TypeError, ValueError):
            continue  # kept by another version in another form: told in the book, not used
        deleted = gone.get(entry.body.rests_on)
        if deleted is not None and deleted.number < entry.number:
            deleted = None  # the same sound was given again afterwards
        cylinder, way = named.get(entry.id, (0, ""))
        found.append(
            KeptRecording(
                entry, heard, fall, entry.body.rests_on, str(detail.get("name", "")),
                bool(detail.get("synthetic")), deleted, cylinder, way,
            )
        )  # fmt: skip
    return tuple(found)


def find_recording(state: State, entry_id: str) -> KeptRecording:
    """One recording by the id of its entry, or by its number.

    Raises
    ------
    InputError
        There is none.
    """
    every = recordings(state)
    for kept in every:
        if entry_id in (kept.entry.id, str(kept.entry.number)):
            return kept
    shown = ", ".join(str(kept.entry.number) for kept in every)
    raise InputError(
        "There is no such recording in this build", given=entry_id,
        allowed=f"entry {shown}" if shown else "none is kept yet",
    )  # fmt: skip


def earlier_than(
    state: State, heard: Listening, before: int = 0, *, synthetic: bool = False
) -> KeptRecording | None:
    """The latest recording of the same firing pattern before an entry (0: of all there are).

    A synthetic recording is only ever set beside another synthetic one.
    """
    for kept in reversed(recordings(state)):
        if before and kept.entry.number >= before:
            continue
        same = kept.heard.firing_angles_deg == heard.firing_angles_deg
        if same and kept.synthetic == synthetic:
            return kept
    return None


def compared(kept: KeptRecording, later: Listening) -> Comparison:
    """What changed from a kept recording to another."""
    from tickover.tasks.listen.comparison import compare  # loads the signal processing

    return compare(kept.heard, later)


def work_between(state: State, first: int, last: int) -> tuple[str, ...]:
    """Work written down between two entries, each kind once, in order (`last` 0: until now)."""
    words = [
        work.body.what
        for work in state.works()
        if work.number > first and (not last or work.number < last)
        and work.body.what not in (DELETED, REFERENCE)
    ]  # fmt: skip
    return tuple(dict.fromkeys(words))


def deleted_entry(kept: KeptRecording, reason: str) -> Work:
    """The entry that says the sound was deleted and the analysis stays.

    Raises
    ------
    InputError
        It is deleted already.
    """
    if kept.deleted is not None:
        raise InputError(
            "This recording is deleted already", given=f"entry {kept.entry.number}",
            allowed=f"entry {kept.deleted.number} says so",
        )  # fmt: skip
    detail = {"recording": kept.sha256, "of entry": kept.entry.number}
    return Work(DELETED, (), detail | ({"reason": reason.strip()} if reason.strip() else {}))


def reference_entry(engine: EngineFile, kept: KeptRecording, cylinder: str, way: str) -> Work:
    """The entry that names the weak slot after looking at the engine.

    Parameters
    ----------
    engine : EngineFile
    kept : KeptRecording
    cylinder : str
        '2', 'cylinder 2'
    way : str
        One of `WAYS`.

    Raises
    ------
    InputError
        No slot is weak, no such cylinder or way, or a cylinder that cannot be this slot.
    """
    if kept.heard.weak_slot is None:
        raise InputError(
            "No slot of this recording is weak, so no cylinder can be found by it",
            instead="a recording with the weakness in it",
        )
    number = whole_number(cylinder.strip().casefold().removeprefix("cyl").removeprefix("inder"))
    count = engine.engine.cylinders
    if number is None or not 1 <= number <= count:
        raise InputError("There is no such cylinder", given=cylinder, allowed=f"1 to {count}")
    if way not in WAYS:
        raise InputError("This is no way to find it", given=way, allowed=", ".join(WAYS))
    slot_names(engine, kept.heard, number)
    detail = {"entry": kept.entry.id, "slot": kept.heard.weak_slot, "cylinder": number}
    return Work(REFERENCE, (f"cyl{number}",), {**detail, "way": way})


def slot_names(engine: EngineFile, heard: Listening, weak_cylinder: int) -> tuple[int, ...]:
    """The cylinder of every slot, once it is known whose the weak one is.

    Parameters
    ----------
    engine : EngineFile
    heard : Listening
        With a weak slot.
    weak_cylinder : int

    Returns
    -------
    tuple of int
        One for each slot, in the order of the slots.

    Raises
    ------
    InputError
        The cylinder cannot be this slot: on an uneven pattern the gaps before and after it would
        be others.

    Examples
    --------
    A four that fires 1 3 4 2, second slot weak, cylinder 4 found cold: the slots are 3 4 2 1.
    """
    order, angles = firing_pattern(engine)
    weak = heard.weak_slot
    if weak is None or len(order) != len(heard.firing_angles_deg):
        raise InputError("This recording has no weak slot of this engine")
    size = len(order)
    shift = (order.index(weak_cylinder) - weak) % size
    gaps = [(angles[(i + 1) % size] - angles[i]) % 720.0 or 720.0 for i in range(size)]
    if any(abs(gaps[(i + shift) % size] - gaps[i]) > 1.0 for i in range(size)):
        possible = sorted(
            order[(weak + turn) % size]
            for turn in range(size)
            if all(abs(gaps[(i + turn) % size] - gaps[i]) <= 1.0 for i in range(size))
        )
        raise InputError(
            "By its place among the uneven gaps the weak slot cannot be this cylinder",
            given=f"cylinder {weak_cylinder}",
            allowed=", ".join(f"cylinder {number}" for number in possible),
            instead="look again, or record again",
        )
    return tuple(order[(slot + shift) % size] for slot in range(size))


def names_of(engine: EngineFile, kept: KeptRecording) -> tuple[int, ...]:
    """The cylinder of every slot of a kept recording; empty where nobody has found out."""
    if not kept.cylinder:
        return ()
    try:
        return slot_names(engine, kept.heard, kept.cylinder)
    except (InputError, ValueError):
        return ()  # the engine file was changed since: the finding of then no longer fits


def heard_idle(state: State) -> HeardSpeed | None:
    """The idle speed somebody last read off a recording, to stand in for a tachometer."""
    entry = state.latest(IDLE, "")
    if entry is None or entry.body.low is None or entry.body.high is None:
        return None
    since = next(
        (w.body.what for w in state.works()
         if w.number > entry.number and w.body.what in _MOVES_IDLE), "",
    )  # fmt: skip
    low, high = 60.0 * entry.body.low, 60.0 * entry.body.high
    return HeardSpeed(0.5 * (low + high), low, high, entry.number, entry.at, since)


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check, where there are two cylinders or more and it is known when they fire."""
    if engine.engine.cylinders < 2 or engine.engine.crank is None:
        return ()
    return (
        Check(
            CHECK, "", "Firing heard even", "that every cylinder pulls its weight at idle",
            "Record 20 seconds of warm idle outdoors, one to two metres beside the exhaust, and "
            "nobody talking.",
            frozenset(), cautions=CAUTIONS, minutes=3.0, risk=0, group="mixture",
            wanted=Wanted("page", page="listen"),
        ),
    )  # fmt: skip


def findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """What the latest recording with firing slots says; synthetic ones say nothing."""
    if engine.engine.cylinders < 2 or engine.engine.crank is None:
        return ()
    angles = firing_pattern(engine)[1]
    for kept in reversed(recordings(state)):
        heard = kept.heard
        if kept.synthetic or heard.slots is None or not _same_angles(heard, angles):
            continue
        if heard.weak_slot is None:
            text = "no firing slot stands out as weak"
            return (Finding(CHECK, "", "good", text, kept.entry.number),)
        names = names_of(engine, kept)
        which = f"cylinder {names[heard.weak_slot]}" if names else "one firing slot"
        depth = 100.0 * (heard.weakest_depth or 0.0)
        text = f"{which} is {depth:.0f} % weaker than the others"
        return (Finding(CHECK, "", "out", text, kept.entry.number),)
    return ()


def _same_angles(heard: Listening, angles: tuple[float, ...]) -> bool:
    there = heard.firing_angles_deg
    return len(there) == len(angles) and all(
        abs(a - b) < 0.5 for a, b in zip(there, angles, strict=True)
    )
