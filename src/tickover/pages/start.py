"""The start card: what to have at hand, what to switch in which order, when to stop."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.bodies import StartAttempt
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.fitness import answer_sentence
from tickover.pages.head import Head
from tickover.pages.wording import count_words, place_words, seconds_words
from tickover.physics.exposure import noise_minutes
from tickover.plan.fit import LOOSE_END, Fitness
from tickover.quantities import show

PRACTICE = "common practice, no source"
FROM_FILE = "engine file"
_IN_THE_WAY = 6


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line of the card and where it comes from: 'engine file', a standard, or practice."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class KillLine:
    """One reason to stop at once: what is seen, the figure, and where the figure comes from."""

    sign: str
    limit: str
    act: str
    source: str
    page: str = ""
    """Where the cause is looked for: 'charging'."""


@dataclass(frozen=True, slots=True)
class AttemptLine:
    """One press of the button: what came of it, what was seen when, what contradicts."""

    number: int
    at: str
    by: str
    outcome: str
    seen: tuple[str, ...]
    note: str
    contradictions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StartCard:
    """Everything the start card shows, on paper, full screen and in the terminal."""

    head: Head
    title: str
    machine: str
    fit: bool
    answer: str
    in_the_way: tuple[str, ...]
    cautions: tuple[CardLine, ...]
    at_hand: tuple[CardLine, ...]
    positions: tuple[CardLine, ...]
    cranking: CardLine
    crank_s: float
    rest_s: float
    oil_within_s: float
    first_run_s: float
    kill: tuple[KillLine, ...]
    watch: tuple[CardLine, ...]
    to_note: tuple[str, ...]
    attempts: tuple[AttemptLine, ...]
    says: str
    """What the card does not say: it proves nothing by itself."""


CAUTIONS: tuple[CardLine, ...] = (
    CardLine(
        "Outdoors, or an extraction hose on the pipe that leads outside. Carbon monoxide cannot "
        "be smelt and reaches dangerous levels within minutes, open doors or not. Limits: 35 ppm "
        "over 8 h, never above 200 ppm (NIOSH); 50 ppm over 8 h (OSHA).",
        "NIOSH 1972 and 96-118; 29 CFR 1910.1000",
    ),
    CardLine(
        "Petrol is fire class B and gives vapour that lights in any weather: an extinguisher "
        "marked B in reach, 15 m at most; never water. No flame, no hot lamp, no smoking.",
        "29 CFR 1910.157(d)",
    ),
    CardLine(
        "Ears: 85 dB(A) is the limit for 8 h and every 3 dB halve the time "
        f"({noise_minutes(100.0):.0f} minutes at 100 dB(A); NIOSH); OSHA counts 90 dB(A) and 5 dB. "
        "Open pipes are louder: ear protection on.",
        "NIOSH 98-126; 29 CFR 1910.95",
    ),
    CardLine(
        "Hands, sleeves and hair away from chain, sprockets, rotor and fan; pipes and head burn "
        "at a touch.",
        PRACTICE,
    ),
    CardLine(
        "A battery on charge gives hydrogen, which burns from 4.1 % of the air: clamps on before "
        "the charger is switched on, the last clamp on the frame.",
        "OSHA interpretation of 26 January 1976",
    ),
    CardLine(
        "The engine's own service manual and local law come first. Never alone.", PRACTICE
    ),
)  # fmt: skip

_AT_HAND = (
    "Extinguisher marked B, pin tried; a dry rag and a pan under the carburettors.",
    "A second person whose only task is to look for drips and smoke.",
    "Ear protection, gloves, a torch.",
    "Battery charged; a meter on it, where the voltage can be read.",
    "Spanner for every oil union and drain; a fan for an air-cooled engine.",
    "This card, a pencil, a watch or the stopwatch page.",
)
_WATCH = (
    "Oil light out, or oil seen to flow, before anything else.",
    "Every carburettor, hose and union: dry.",
    "Every pipe warms: a drop of water on each, never a finger.",
    "Filter, drain plug, unions and joints: dry, once more after it stopped.",
)
_TO_NOTE = (
    "Seconds to fire; how many tries.",
    "Throttle and cold-start position that it liked.",
    "Seconds until the oil light went out.",
    "Idle speed; voltage at idle and above.",
    "Which pipe stayed cold; any noise and where.",
    "Smoke: colour, and whether it faded.",
)
_SAYS = "This card says what was proved and what was not. It cannot say that nothing will happen."

_AGAINST = (
    ("nothing", ("coughed", "spat back", "fired", "ran")),
    ("oil light out", ("oil light stays on",)),
)


def start_card(engine: EngineFile, fit: Fitness, state: State, head: Head) -> StartCard:
    """The card for a machine: figures from its engine file, the rest from practice."""
    start = engine.start
    said = type(start).model_fields.keys() & start.model_fields_set
    cranking = (
        f"Crank {seconds_words(start.crank_s)} at most, then let the starter rest for "
        f"{seconds_words(start.rest_s)}. After five goes without a cough, stop and ask why."
    )
    return StartCard(
        head=head,
        title="Start card",
        machine=engine.engine.name,
        fit=fit.yes,
        answer=answer_sentence(fit),
        in_the_way=_in_the_way(fit),
        cautions=CAUTIONS,
        at_hand=tuple(CardLine(words, PRACTICE) for words in _AT_HAND),
        positions=_positions(engine),
        cranking=CardLine(cranking, _source(said, "crank_s", "rest_s")),
        crank_s=start.crank_s,
        rest_s=start.rest_s,
        oil_within_s=start.oil_within_s,
        first_run_s=start.first_run_s,
        kill=_kill(engine, said),
        watch=_watch(engine, said),
        to_note=_TO_NOTE,
        attempts=attempt_lines(state),
        says=_SAYS,
    )


def _in_the_way(fit: Fitness) -> tuple[str, ...]:
    """What stands in the way, alike things together; loose ends stand in the head already."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for blocker in fit.blockers:
        if blocker.check != LOOSE_END:
            grouped.setdefault((blocker.check, blocker.text), []).append(blocker.place)
    lines = []
    for (check, text), places in grouped.items():
        where = f" at {count_words(len(places))} places" if len(places) > 1 else ""
        at = f", {place_words(places[0])}" if len(places) == 1 and places[0] else ""
        lines.append(f"{check}{at}: {text}{where}")
    more = len(lines) - _IN_THE_WAY
    return (*lines[:_IN_THE_WAY], *([f"and {count_words(more)} kinds more"] if more > 0 else []))


def _source(said: set[str], *fields: str) -> str:
    if all(field in said for field in fields):
        return FROM_FILE
    if any(field in said for field in fields):
        return f"engine file in part, else {PRACTICE}"
    return PRACTICE


def _positions(engine: EngineFile) -> tuple[CardLine, ...]:
    controls = engine.controls
    lines = [
        "Side stand up, gearbox in neutral, rear wheel free to turn or off the ground.",
        "Read the loose ends aloud: all put back, or you know why not.",
        "Throttle: opened, let go, snaps shut at both bar ends.",
        "Fuel tap on (a vacuum tap to prime); wait for the bowls to fill, look for drips.",
    ]
    if controls is None or controls.cold_start:
        lines.append("Cold start on, seen to move at the carburettor; throttle shut.")
    else:
        lines.append("No cold-start device: throttle shut, or as the manual says.")
    lines.append("Stop switch to run, then ignition on: oil light on, neutral light on.")
    if controls is None or controls.hand_clutch:
        lines.append("Clutch in, a thumb on the stop switch, press.")
    else:
        lines.append("A thumb on the stop switch, press.")
    return tuple(CardLine(words, PRACTICE) for words in lines)


def _kill(engine: EngineFile, said: set[str]) -> tuple[KillLine, ...]:
    start, units = engine.start, engine.show
    oil = f"{seconds_words(start.oil_within_s)} after it fires"
    sign = "Oil light still on, no flow"
    if start.oil_pressure_pa is not None:
        sign = "Oil pressure under " + show(
            start.oil_pressure_pa, units.unit("pressure"), "pressure"
        )
    stop = "Stop switch at once."
    found = [
        KillLine(sign, oil, stop, _source(said, "oil_within_s")),
        KillLine("Knock, a dry rattle, a squeal", "at the first", stop, PRACTICE),
        KillLine(
            "Fuel drips or runs", "at the first drop",
            "Stop, tap shut, ignition off; wipe dry before anybody cranks again.", PRACTICE,
        ),
        KillLine(
            "Smoke or smell from wiring, clutch or joints", "at the first",
            "Stop, battery off; extinguisher in hand.", PRACTICE,
        ),
        KillLine(
            "Speed climbs by itself", "at once",
            "Stop switch; if it runs on: tap shut, stand clear.", PRACTICE,
        ),
    ]  # fmt: skip
    if start.stop_at_k is not None:
        hot = show(start.stop_at_k, units.unit("temperature"), "temperature")
        found.append(KillLine("Head or oil too hot", f"at {hot}", stop, FROM_FILE))
    if start.charge_v is not None:
        at = ""
        if start.charge_at_hz is not None:
            at = f" at {show(start.charge_at_hz, units.unit('speed'), 'speed')}"
        low = show(start.charge_v, units.unit("voltage"), "voltage")
        found.append(
            KillLine("It does not charge", f"under {low}{at}", "Stop; look before the next run.",
                     FROM_FILE, "charging")
        )  # fmt: skip
    else:
        found.append(
            KillLine("It does not charge", "voltage does not rise with speed",
                     "Stop; look before the next run.", PRACTICE, "charging")
        )  # fmt: skip
    found.append(
        KillLine("Time is up", f"after {seconds_words(start.first_run_s)}",
                 "Stop, let it get quite cold, look everywhere.", _source(said, "first_run_s"))
    )  # fmt: skip
    return tuple(found)


def _watch(engine: EngineFile, said: set[str]) -> tuple[CardLine, ...]:
    lines = [CardLine(words, PRACTICE) for words in _WATCH]
    start = engine.start
    idle = "As slow as it keeps running; no blipping, no long high idle on new parts."
    if start.idle_hz is not None:
        speed = show(start.idle_hz, engine.show.unit("speed"), "speed")
        lines.insert(3, CardLine(f"Idle towards {speed}, cold start off as soon as it lets you.",
                                 FROM_FILE))  # fmt: skip
    else:
        lines.insert(3, CardLine(idle, PRACTICE))
    return tuple(lines)


def attempt_lines(state: State) -> tuple[AttemptLine, ...]:
    """Every press of the button, the newest first, with what was seen put together.

    Touches of one attempt carry its name in their details; an entry without one stands alone.
    What contradicts within one attempt is said, and both stay.
    """
    grouped: dict[str, list[Entry[StartAttempt]]] = {}
    for entry in state.start_attempts():
        grouped.setdefault(str(entry.body.detail.get("attempt", entry.id)), []).append(entry)
    return tuple(_attempt(entries) for entries in reversed(grouped.values()))


def _attempt(entries: list[Entry[StartAttempt]]) -> AttemptLine:
    ordered = sorted(entries, key=lambda entry: (_seconds(entry) or 0.0, entry.number))
    seen = {entry.body.outcome: entry for entry in reversed(ordered)}
    main = next((w for w in _OUTCOMES if w in seen), ordered[0].body.outcome)
    notes = [str(e.body.detail["note"]) for e in ordered if e.body.detail.get("note")]
    return AttemptLine(
        number=ordered[0].number,
        at=min(entry.at for entry in ordered),
        by=ordered[0].by,
        outcome=main,
        seen=tuple(_touch(entry) for entry in ordered),
        note="; ".join(notes),
        contradictions=tuple(
            f"'{one}' (entry {seen[one].number}, {seen[one].by}) and '{other}' "
            f"(entry {seen[other].number}, {seen[other].by}) cannot both be; strike one out."
            for one, others in _AGAINST
            for other in others
            if one in seen and other in seen
        ),
    )


_OUTCOMES = ("ran", "fired", "coughed", "spat back", "nothing")
"""What an attempt is called after, the most first."""


def _seconds(entry: Entry[StartAttempt]) -> float | None:
    value = entry.body.detail.get("seconds")
    return float(value) if isinstance(value, (int, float)) else None


def _touch(entry: Entry[StartAttempt]) -> str:
    seconds = _seconds(entry)
    return entry.body.outcome if seconds is None else f"{seconds:.1f} s {entry.body.outcome}"
