"""The charging page: what was read, what is behind it, what to read next; switches and senders."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.pages.drawing.charge_plot import ChargePoint, charge_plot
from tickover.pages.head import Head
from tickover.pages.proving import (
    ProvingLine,
    TruthLine,
    lines_of,
    states_for,
    truth_lines,
    verdict_words,
)
from tickover.pages.why import Why
from tickover.pages.wording import count_words, listed, percent, sentence
from tickover.physics.charging import line_voltage_needed
from tickover.plan.checks import CheckState
from tickover.tasks import charging as task
from tickover.tasks.charging import names
from tickover.tasks.charging.causes import Causes, charging_causes
from tickover.tasks.charging.contacts import CONTACTS, contact_readings, diagnose
from tickover.tasks.charging.senders import RESISTANCE, diagnose_sender
from tickover.tasks.charging.verdicts import evenness_of, open_wire
from tickover.tasks.starting import AT_REST, CRANKING

_TOLD = 0.03  # causes below this are not listed
_SURE = 0.85


@dataclass(frozen=True, slots=True)
class ChargingCause:
    """One cause: words, chance in words and number, remedy."""

    words: str
    chance: str
    probability: float
    remedy: str


@dataclass(frozen=True, slots=True)
class NextLine:
    """A check to do next: the check, effort, what it tells, what each outcome would mean."""

    name: str
    words: str
    effort: str
    bits: float
    outcomes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EvenLine:
    """Three pairs of wires beside each other."""

    what: str
    words: str
    state: str
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SwitchLine:
    """One switch: its rows, and what is behind the wrong ones."""

    name: str
    rows: tuple[TruthLine, ...]
    verdict: str
    causes: tuple[str, ...]
    alike: str
    next_tick: str


@dataclass(frozen=True, slots=True)
class SenderLine:
    """One sender: its marks, and what is behind the wrong ones."""

    name: str
    rows: tuple[ProvingLine, ...]
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChargingPage:
    """Everything the charging page shows."""

    title: str
    verdict: str
    causes: tuple[ChargingCause, ...]
    causes_note: str
    alike: str
    next_checks: tuple[NextLine, ...]
    points: tuple[ChargePoint, ...]
    window: tuple[float, float]
    charges_from_rpm: float
    rest_v: float | None
    even: tuple[EvenLine, ...]
    facts: tuple[tuple[str, str], ...]
    checks: tuple[ProvingLine, ...]
    switches: tuple[SwitchLine, ...]
    senders: tuple[SenderLine, ...]
    whys: tuple[Why, ...]
    cautions: tuple[str, ...]
    missing: tuple[str, ...]
    all_good: bool
    head: Head | None = None


def charging_page(
    engine: EngineFile, state: State | None = None, head: Head | None = None
) -> ChargingPage:
    """The page of charging, switches and senders.

    Parameters
    ----------
    engine : EngineFile
    state : State, optional
        Without one everything is open.
    head : Head, optional
    """
    known = state if state is not None else State()
    states = states_for(engine, known)
    void = frozenset(item.check.key for item in states if item.void is not None)
    mine = (AT_REST, CRANKING, *names.NAMES) if engine.charging is not None else ()
    lines = lines_of(engine, states, mine)
    found = charging_causes(engine, known, void) if engine.charging is not None else None
    window = names.regulator_window(engine)[1]
    switches = tuple(_switch(engine, known, states, k) for k in range(len(engine.contacts)))
    senders = tuple(_sender(engine, known, states, k) for k in range(len(engine.senders)))
    every = [item for item in states if item.check.name in (*mine, CONTACTS, RESISTANCE)
             and item.check.name != names.LEADS]  # fmt: skip
    return ChargingPage(
        title="Charging",
        verdict=_verdict(states, mine, found),
        causes=_causes(found),
        causes_note=_note(found),
        alike=_alike(found),
        next_checks=_next(found),
        points=_points(engine, known, states),
        window=(round(window.low, 2), round(window.high, 2)),
        charges_from_rpm=60.0 * engine.charging.charges_from_hz if engine.charging else 0.0,
        rest_v=_rest(known, void),
        even=_even(engine, known),
        facts=_facts(engine),
        checks=lines,
        switches=switches,
        senders=senders,
        whys=(WHY_WINDOW, WHY_WINDING, WHY_CAUSES) if engine.charging else (),
        cautions=task.CAUTIONS,
        missing=_missing(engine),
        all_good=bool(every) and all(item.settled for item in every),
        head=head,
    )


def _verdict(states: tuple[CheckState, ...], mine: tuple[str, ...], found: Causes | None) -> str:
    if found is None:
        return "The engine file has no [charging] table: nothing about it can be judged."
    if found.readings == 0:
        return "Nothing was read yet: begin with the battery at rest, then its voltage at speed."
    read = [item.state for item in states if item.check.name in mine and item.finding is not None]
    first = found.first
    if first.key == "none":
        if all(word == "good" for word in read):
            return f"Nothing speaks for a fault so far. {verdict_words(states, mine)}"
        return f"No fault stands out yet. {verdict_words(states, mine)}"
    if found.unlisted > first.probability:
        return "These readings fit none of the usual causes: two faults at once, or a slip."
    if first.probability > _SURE:
        return sentence(f"{first.words} ({percent(first.probability)})")
    second = found.lines[1]
    if first.probability > 0.5:
        return sentence(f"likely: {first.words} ({percent(first.probability)})")
    return sentence(
        f"not told yet: {first.words} ({percent(first.probability)}), or {second.words} "
        f"({percent(second.probability)})"
    )


def _causes(found: Causes | None) -> tuple[ChargingCause, ...]:
    if found is None or found.readings == 0:
        return ()
    made = [
        ChargingCause(line.words, percent(line.probability), line.probability, line.remedy)
        for line in found.lines
        if line.probability >= _TOLD
    ]
    if found.unlisted >= _TOLD:
        made.append(
            ChargingCause("none of these, or two at once", percent(found.unlisted),
                          found.unlisted, "the odd readings once more")
        )  # fmt: skip
    return tuple(made)


def _note(found: Causes | None) -> str:
    if found is None or found.readings == 0:
        return ""
    count = count_words(found.readings)
    return (
        f"From {count} reading{'s' if found.readings != 1 else ''}, against simulated machines; "
        "how often each cause is met is our assumption, from memory."
    )


def _alike(found: Causes | None) -> str:
    if found is None or not found.alike:
        return ""
    names_ = [found.first.words, *found.alike]
    return sentence(f"cannot be told apart by what was read: {listed(names_, 'or')}")


def _next(found: Causes | None) -> tuple[NextLine, ...]:
    if found is None:
        return ()
    return tuple(
        NextLine(
            each.name, each.words, f"{each.minutes:.0f} min", round(each.bits, 3),
            tuple(f"{outcome}: then {cause}" for outcome, cause in each.outcomes),
        )
        for each in found.next_checks
    )  # fmt: skip


def _points(
    engine: EngineFile, state: State, states: tuple[CheckState, ...]
) -> tuple[ChargePoint, ...]:
    made = []
    for item in states:
        entry = state.latest(item.check.name, item.check.place)
        speed = names.place_speed(item.check.place)
        if item.check.name == names.CHARGE and entry is not None and speed is not None:
            low, high = entry.body.low, entry.body.high
            if low is not None and high is not None:
                made.append(ChargePoint(60.0 * speed, round(0.5 * (low + high), 2), item.state))
    return tuple(sorted(made, key=lambda point: point.rpm))


def _rest(state: State, void: frozenset[tuple[str, str]]) -> float | None:
    entry = state.latest(AT_REST, "")
    if entry is None or entry.body.unit != "V" or (AT_REST, "") in void:
        return None
    return entry.body.low


def _even(engine: EngineFile, state: State) -> tuple[EvenLine, ...]:
    if engine.charging is None:
        return ()
    made = []
    for name in (names.VOLTS, names.WINDING):
        found = evenness_of(engine.charging, state, name)
        opened = open_wire(engine.charging, state) if name == names.WINDING else ""
        if opened:
            made.append(EvenLine(name, opened, "out", ()))
        if found is not None:
            causes = tuple(
                f"{words}, {percent(chance)}" for words, chance in found.causes
            ) if found.state != "good" else ()  # fmt: skip
            made.append(EvenLine(name, found.words, found.state, causes))
    return tuple(made)


def _facts(engine: EngineFile) -> tuple[tuple[str, str], ...]:
    table = engine.charging
    if table is None:
        return ()
    window = names.regulator_window(engine)[0]
    known = "engine file" if table.regulator_v else "common practice"
    ideal = line_voltage_needed(window.low, 0.7, table.phases)
    drain = 1e3 * names.drain_limit_a(engine)
    made = [
        ("on charge", f"{window.low:.1f} to {window.high:.1f} V at the battery, 25 °C ({known})"),
        ("AC it takes", f"{ideal:.1f} V between two wires, ideal bridge, two diodes of 0.7 V"),
        ("at rest", f"at most {drain:.1f} mA with everything off"),
    ]
    if table.ac_volts_v and table.ac_speed_hz:
        speed = ideal / (sum(table.ac_volts_v) / 2.0) * table.ac_speed_hz
        made.append(("so it charges from", f"about {60.0 * speed:.0f} rpm at the earliest"))
    return tuple(made)


def _switch(engine: EngineFile, state: State, states: tuple[CheckState, ...], k: int) -> SwitchLine:
    switch = engine.contacts[k]
    rows = tuple(
        replace(row, tried=row.place.removeprefix(f"{switch.name}, "))
        for row in truth_lines(states, CONTACTS)
        if row.place.startswith(f"{switch.name}, ")
    )
    found = diagnose(switch, contact_readings(engine, state, switch))
    if found is None:
        return SwitchLine(switch.name, rows, "Nothing ticked yet.", (), "", "")
    causes = tuple(f"{words}, {percent(chance)}" for words, chance in found.causes)
    verdict = sentence(found.causes[0][0]) if found.wrong else "As it must be, as far as ticked."
    alike = sentence(f"what was ticked cannot tell it from: {listed(found.alike, 'or')}")
    return SwitchLine(
        switch.name, rows, verdict, causes, alike if found.alike and found.wrong else "",
        found.next_tick,
    )  # fmt: skip


def _sender(engine: EngineFile, state: State, states: tuple[CheckState, ...], k: int) -> SenderLine:
    sender = engine.senders[k]
    rows = tuple(
        line for line in lines_of(engine, states, (RESISTANCE,))
        if line.place.startswith(f"{sender.name}, ")
    )  # fmt: skip
    found = diagnose_sender(engine, state, sender)
    causes = tuple(f"{w}, {percent(c)}" for w, c in found.causes) if found is not None else ()
    return SenderLine(sender.name, rows, causes)


def _missing(engine: EngineFile) -> tuple[str, ...]:
    table = engine.charging
    wants = (
        ("Everything about charging: [charging]", table is not None),
        ("Height of the AC voltage: [charging] ac_volts, ac_speed", table and table.ac_volts_v),
        ("Resistance of the windings: [charging] winding", table and table.winding_ohm),
        ("Switches as truth tables: [[contacts]]", engine.contacts),
        ("Senders by their marks: [[senders]]", engine.senders),
    )
    return tuple(words for words, there in wants if not there)


def page_plot(page: ChargingPage, *, width: float = 328.0, embedded: bool = False) -> str:
    """The voltage against speed; '' before the first reading."""
    if not page.points:
        return ""
    return charge_plot(page.points, page.window, page.charges_from_rpm, page.rest_v,
                       width=width, embedded=embedded)  # fmt: skip


def charging_json(page: ChargingPage) -> dict[str, Any]:
    """The page as plain data."""
    return asdict(page)


WHY_WINDOW = Why(
    "Where the charging voltage should be",
    ("the regulator's voltage at 25 °C, the battery's temperature",),
    "U = U25 - 3 mV x cells x (t - 25 °C)",
    "13.7 to 14.7 V and -3 mV: third party, common practice; the engine file goes before",
    "where the file does not say whether the regulator follows temperature, both must agree; "
    "meter 0.05 V (our assumption)",
)
WHY_WINDING = Why(
    "Resistance of a winding at 20 °C",
    ("what the meter showed, what its leads show, the winding's temperature",),
    "R20 = (R - leads) / (1 + 0.00393 (t - 20 °C))",
    "IEC 60028, copper; ideal bridge 3 sqrt(2)/pi times the volts between two wires",
    "leads not read: 0 to 0.5 ohm; no temperature: 5 to 40 °C (our assumptions)",
)
WHY_CAUSES = Why(
    "How likely each cause is",
    ("every reading that still holds", "6000 simulated machines for each cause"),
    "P(cause | readings) = P(readings | cause) P(cause) / P(readings)",
    "Bayes' rule; output I sqrt(1 - (n0/n)^2), a textbook first harmonic",
    "how often each cause is met and how machines differ: our assumptions, from memory; "
    "trials on otherwise simulated machines in docs/tables/charging-blind.md",
)
