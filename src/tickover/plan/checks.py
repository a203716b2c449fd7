"""All checks of a machine with their state now, from every task, in one place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tickover.book.bodies import Acceptance
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.plan.staleness import Void, voided
from tickover.tasks import balance_book as balance
from tickover.tasks import (
    charging,
    controls,
    exhaust,
    fasteners,
    fits,
    fuel,
    ignition,
    noise,
    oil,
    own,
    speed,
    starting,
)
from tickover.tasks.compression import in_book as compression
from tickover.tasks.compression import measured_book
from tickover.tasks.finding import Check, Finding, StateWord
from tickover.tasks.listen import in_book as listen
from tickover.tasks.mixture import in_book as mixture
from tickover.tasks.valves import in_book as valves
from tickover.tasks.wiring import in_book as wiring


@dataclass(frozen=True, slots=True)
class Provider:
    """A task's part: which checks there are, and what the readings say of them."""

    checks: Callable[[EngineFile, State], tuple[Check, ...]]
    findings: Callable[[EngineFile, State], tuple[Finding, ...]]


PROVIDERS: tuple[Provider, ...] = (
    Provider(fits.checks, fits.findings),
    Provider(fasteners.checks, fasteners.findings),
    Provider(valves.checks, valves.findings),
    Provider(measured_book.checks, measured_book.findings),
    Provider(compression.checks, compression.findings),
    Provider(controls.checks, controls.findings),
    Provider(wiring.checks, wiring.findings),
    Provider(starting.checks, starting.findings),
    Provider(ignition.checks, ignition.findings),
    Provider(oil.checks, oil.findings),
    Provider(exhaust.checks, exhaust.findings),
    Provider(fuel.checks, fuel.findings),
    Provider(speed.checks, speed.findings),
    Provider(noise.checks, noise.findings),
    Provider(charging.checks, charging.findings),
    Provider(mixture.checks, mixture.findings),
    Provider(balance.checks, balance.findings),
    Provider(listen.checks, listen.findings),
    Provider(own.checks, own.findings),
)
"""Every task that has checks, in the order of the work."""


@dataclass(frozen=True, slots=True)
class CheckState:
    """A check as it stands: the state word, what was found, and what overrode it."""

    check: Check
    state: StateWord
    finding: Finding | None
    void: Void | None = None
    acceptance: Entry[Acceptance] | None = None

    @property
    def settled(self) -> bool:
        """Whether nothing more is asked of this check."""
        return self.state in ("good", "accepted")


def check_states(engine: EngineFile, state: State) -> tuple[CheckState, ...]:
    """Every check with its state: open, good, out, undecided, stale or accepted.

    A proof made void by later work is stale whatever it said. An acceptance counts as long as it
    is younger than the proof and than any work that makes such a proof void; it goes void by the
    same table, also where nothing was ever measured.
    """
    every: list[Check] = []
    found: dict[tuple[str, str], Finding] = {}
    for provider in PROVIDERS:
        every += provider.checks(engine, state)
        found.update({(f.name, f.place): f for f in provider.findings(engine, state)})
    proofs = {key: finding.proof for key, finding in found.items() if finding.proof}
    void = voided(engine, state, every, proofs)
    accepted = {
        check.key: acceptance.number
        for check in every
        if (acceptance := state.acceptance(check.name, check.place)) is not None
    }
    overtaken = voided(engine, state, every, accepted)
    return tuple(
        _now(check, found.get(check.key), void.get(check.key), state, check.key in overtaken)
        for check in every
    )


def _now(
    check: Check, finding: Finding | None, void: Void | None, state: State, overtaken: bool
) -> CheckState:
    word: StateWord = finding.state if finding is not None else "open"
    if void is not None:
        word = "stale"
    acceptance = state.acceptance(check.name, check.place)
    read_later = (
        finding is not None and acceptance is not None and (finding.proof > acceptance.number)
    )
    if acceptance is not None and word != "good" and not overtaken and not read_later:
        return CheckState(check, "accepted", finding, void, acceptance)
    return CheckState(check, word, finding, void)


def stale_places(states: tuple[CheckState, ...], name: str) -> frozenset[str]:
    """Places whose proof of this check is void."""
    return frozenset(
        item.check.place for item in states if item.check.name == name and item.void is not None
    )
