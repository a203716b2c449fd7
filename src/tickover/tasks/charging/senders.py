"""Fuel and temperature senders: resistance at each mark, and what makes several of them wrong."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.contacts import Sender
from tickover.tasks import proving
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.simple import low_or, simple_finding

RESISTANCE = "sender resistance"
_OPEN_OHM = 1e5  # beyond this nothing is connected: our assumption
_HOW = {
    "fuel": "Sender out of the tank, outdoors, dry and wiped; float held at the mark.",
    "temperature": "Sender out, in water with a thermometer, stirred; held clear of the bottom.",
    "other": "Plug apart, meter from the sender's pin to its body.",
}


@dataclass(frozen=True, slots=True)
class SenderDiagnosis:
    """What the readings of one sender say: (words, probability), the likeliest first."""

    sender: str
    causes: tuple[tuple[str, float], ...]


def sender_place(sender: Sender, mark: str) -> str:
    """The place of one reading: 'fuel sender, half'."""
    return f"{sender.name}, {mark}"


def sender_checks(engine: EngineFile) -> tuple[Check, ...]:
    """One check for each mark of each sender."""
    return tuple(
        Check(
            RESISTANCE, sender_place(sender, mark), f"{sender.name} at {mark}",
            "that the gauge is told the truth", _HOW[sender.kind], proving.HAND_OVER,
            cautions=(proving.FUEL,) if sender.kind == "fuel" else (proving.HOT,),
            minutes=4.0, group="switches and senders",
            wanted=Wanted("value", "resistance", low, high, 0.1),
        )
        for sender in engine.senders
        for mark, low, high in sender.marks
    )  # fmt: skip


def sender_findings(engine: EngineFile, state: State) -> tuple[Finding, ...]:
    """Each mark that was read; one that reads like another mark says so."""
    made = []
    checks = {check.place: check for check in sender_checks(engine)}
    for sender in engine.senders:
        for mark, _, _ in sender.marks:
            check = checks[sender_place(sender, mark)]
            found = simple_finding(engine, check, state)
            entry = state.latest(check.name, check.place)
            if found is None or entry is None:
                continue
            value = low_or(entry.body.low, 0.0)
            like = [m for m, low, high in sender.marks if m != mark and low <= value <= high]
            if found.state == "out" and like:
                found = Finding(found.name, found.place, found.state,
                                f"{found.text}; reads like {like[0]}", found.proof)  # fmt: skip
            made.append(found)
    return tuple(made)


def diagnose_sender(engine: EngineFile, state: State, sender: Sender) -> SenderDiagnosis | None:
    """What makes the marks of a sender wrong together; None before one was read.

    Parameters
    ----------
    engine : EngineFile
    state : State
    sender : Sender

    Returns
    -------
    SenderDiagnosis or None

    Notes
    -----
    `decide.explain`: each mark by itself (a worn spot, a bent arm), or one resistance in series
    with all of them (a bad earth or pin) as the background.
    """
    import numpy as np

    from tickover.decide.explain import Cause, Seen, Shift, explain

    rows = []
    for mark, low, high in sender.marks:
        entry = state.latest(RESISTANCE, sender_place(sender, mark))
        if entry is not None and entry.body.unit == "ohm":
            rows.append((mark, low, high, low_or(entry.body.low, 0.0), entry.body.high))
    if not rows:
        return None
    if all(row[3] >= _OPEN_OHM or row[4] is None for row in rows):
        return SenderDiagnosis(
            sender.name, (("open at every mark: wire off, winding broken or no earth", 1.0),)
        )
    span = max(high for _, _, high, _, _ in rows)
    good = [row for row in rows if row[4] is not None]
    if len(good) > 1 and span > 5.0 and all(row[3] < 0.02 * span for row in good):
        return SenderDiagnosis(
            sender.name, (("near nothing at every mark: its wire touches metal", 1.0),)
        )
    mean = np.array([0.5 * (low + high) for _, low, high, _, _ in good])
    spread = np.array([max(0.05, 0.25 * (high - low)) for _, low, high, _, _ in good])
    read = np.array([value for _, _, _, value, _ in good])
    noise = float(max(0.05, 0.002 * span))
    seen = Seen(mean, spread, read - noise, read + noise, noise)
    causes = [
        Cause(f"wrong at {row[0]} alone: a worn spot, or the mark was missed", (k,), 0.05,
              Shift.normal(0.0, 0.3 * span))
        for k, row in enumerate(good)
    ]  # fmt: skip
    common = "the same amount too much everywhere: a bad earth or pin, or the meter's leads"
    background = Cause(common, tuple(range(len(good))), 0.1, Shift.one_sided(0.15 * span))
    told = explain(seen, causes, background, step=max(noise, span / 800.0))
    found = [("nothing wrong", told.nothing), (common, told.background)]
    found += [(cause.label, float(p)) for cause, p in zip(causes, told.probability, strict=True)]
    kept = [(words, chance) for words, chance in found if chance > 0.02]
    return SenderDiagnosis(sender.name, tuple(sorted(kept, key=lambda each: -each[1])[:5]))
