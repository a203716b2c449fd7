"""All checks of a build, and one of them: what it proves, how, what it needs, what it says now."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tickover.book.bodies import Reading
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError
from tickover.pages.check_line import check_line
from tickover.pages.head import Head
from tickover.pages.wording import (
    STATE_WORDS,
    count_words,
    listed,
    minutes_words,
    percent,
    sentence,
)
from tickover.plan.checks import CheckState
from tickover.plan.fit import Fitness, way_out
from tickover.plan.next import STAGES, next_steps
from tickover.plan.staleness import Rule, rules_of
from tickover.quantities import kind_of, show_reading
from tickover.tasks.finding import Check, Stage
from tickover.tasks.simple import DONE_RIGHT, limit_words


@dataclass(frozen=True, slots=True)
class NeedLine:
    """A check that comes first, and how it stands; `place` is '' where there are several."""

    name: str
    place: str
    title: str
    state: str
    state_words: str


@dataclass(frozen=True, slots=True)
class StaleLine:
    """Work that makes a check void: the work, where it reaches to, and why."""

    work: str
    reach: str
    why: str


@dataclass(frozen=True, slots=True)
class WantedLine:
    """What a check asks for.

    `form` is 'yes', 'value' or 'page'. `limits` is in words, '' without any; `unit` the one a
    bare number is taken in; `page` the page the check is entered on ('valves').
    """

    form: str
    prompt: str
    limits: str
    unit: str
    quantity: str
    page: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check in the list of all."""

    name: str
    place: str
    title: str
    state: str
    state_words: str
    text: str
    way_out: str
    required: tuple[str, ...]
    needs: tuple[NeedLine, ...]
    stale_by: tuple[StaleLine, ...]
    effort: str
    risk: str
    wanted: WantedLine
    settled: bool


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """Checks of one kind of work; `line` counts what is settled."""

    title: str
    line: str
    rows: tuple[CheckRow, ...]


@dataclass(frozen=True, slots=True)
class NextLine:
    """One thing to do, in order; `waits_for` is '' when it can be done now."""

    row: CheckRow
    waits_for: str


@dataclass(frozen=True, slots=True)
class ChecksPage:
    """Everything the page of all checks shows."""

    head: Head
    title: str
    sentence: str
    groups: tuple[CheckGroup, ...]
    next_steps: tuple[NextLine, ...]
    work_kinds: tuple[str, ...]
    """Work that makes some check of this machine void, to pick when it is written down."""
    fallen_away: tuple[str, ...]
    conflicts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckReading:
    """A reading of a check.

    `standing` is 'counts', 'earlier', 'void', 'struck out' or 'does not answer' (a yes where a
    value is asked for).
    """

    number: int
    id: str
    at: str
    by: str
    words: str
    typed: str
    instrument: str
    standing: str
    note: str


@dataclass(frozen=True, slots=True)
class AcceptedLine:
    """Who took responsibility, when and why; `counts` is false when something came after it."""

    id: str
    number: int
    by: str
    at: str
    reason: str
    counts: bool


@dataclass(frozen=True, slots=True)
class CheckPage:
    """Everything the page of one check shows."""

    head: Head
    name: str
    place: str
    title: str
    state: str
    state_words: str
    sentence: str
    chance: str
    proves: str
    how: str
    cautions: tuple[str, ...]
    required: tuple[str, ...]
    needs: tuple[NeedLine, ...]
    stale_by: tuple[StaleLine, ...]
    wanted: WantedLine
    effort: str
    risk: str
    readings: tuple[CheckReading, ...]
    accepted: AcceptedLine | None
    can_accept: bool
    others: tuple[NeedLine, ...]
    """The same check at its other places."""
    conflicts: tuple[str, ...]


_REACH = {
    "same place": "at the same place",
    "same cylinder": "in the same cylinder",
    "everywhere": "everywhere",
}
_RISK = (
    "nothing is lost by it", "can cost a part", "can stop the day", "can wreck the engine",
)  # fmt: skip
_GROUPS = {"fits": "build measurements", "fasteners": "tightening"}
_PAGE_FORMS = {"value": "a reading", "yes": "tried and found right, or not", "page": ""}


def checks_page(
    engine: EngineFile, fit: Fitness, state: State, head: Head, stage: Stage = "first start"
) -> ChecksPage:
    """All checks in their groups, and what to do next.

    Parameters
    ----------
    engine : EngineFile
    fit : Fitness
        Holds every check as it stands.
    state : State
    head : Head
    stage : str
        Up to which the next steps reach.
    """
    by_name = _by_name(fit.states)
    rows = {item.check.key: _row(engine, item, by_name) for item in fit.states}
    grouped: dict[str, list[CheckRow]] = {}
    for item in fit.states:
        grouped.setdefault(item.check.group or "other", []).append(rows[item.check.key])
    settled = sum(row.settled for row in rows.values())
    names = {name for item in fit.states for name in _families(item.check)}
    steps = next_steps(fit.states, stage)
    return ChecksPage(
        head=head,
        title="Checks",
        sentence=_settled_words(settled, len(rows)),
        groups=tuple(
            CheckGroup(
                _GROUPS.get(title, title),
                _settled_words(sum(row.settled for row in found), len(found)),
                tuple(found),
            )
            for title, found in grouped.items()
        ),
        next_steps=tuple(
            NextLine(rows[step.item.check.key], listed(step.waits_for)) for step in steps
        ),
        work_kinds=tuple(
            dict.fromkeys(rule.work for rule in rules_of(engine) if rule.check in names)
        ),
        fallen_away=tuple(str(item) for item in engine.fallen_away()),
        conflicts=tuple(conflict.text for conflict in state.conflicts),
    )  # fmt: skip


def check_page(
    engine: EngineFile, states: tuple[CheckState, ...], state: State, head: Head, name: str,
    place: str = "",
) -> CheckPage:  # fmt: skip
    """One check with all its readings, what made it void, and who accepted it.

    Raises
    ------
    InputError
        There is no such check; says the nearest.
    """
    item = find_check(states, name, place)
    by_name = _by_name(states)
    row = _row(engine, item, by_name)
    check = item.check
    found = item.finding
    return CheckPage(
        head=head,
        name=name,
        place=place,
        title=row.title,
        state=item.state,
        state_words=row.state_words,
        sentence=sentence(f"{row.state_words}: {row.text}" if row.text else row.state_words),
        chance=percent(found.probability) if found and found.probability is not None else "",
        proves=check.proves,
        how=check.how,
        cautions=check.cautions,
        required=row.required,
        needs=row.needs,
        stale_by=row.stale_by,
        wanted=row.wanted,
        effort=row.effort,
        risk=row.risk,
        readings=_readings(engine, item, state),
        accepted=_accepted(item, state),
        can_accept=item.state not in ("good", "accepted"),
        others=tuple(_need(o) for o in by_name[name] if o.check.place != place),
        conflicts=tuple(
            conflict.text
            for conflict in state.conflicts
            if getattr(conflict.entry.body, "what", "") == name
        ),
    )


def find_check(states: tuple[CheckState, ...], name: str, place: str = "") -> CheckState:
    """The check of this name at this place.

    Raises
    ------
    InputError
        There is none; says the nearest.
    """
    for item in states:
        if item.check.key == (name, place):
            return item
    names = sorted({item.check.name for item in states})
    places = [item.check.place for item in states if item.check.name == name]
    if places:
        raise InputError(
            f"'{name}' is not checked there", given=place, allowed=", ".join(places) or "no place"
        )
    near = nearest_word(name, names)
    raise InputError(
        "There is no such check on this machine", given=name, allowed="; ".join(names),
        instead=f"'{near}' (did you mean that?)" if near else "",
    )  # fmt: skip


def _by_name(states: tuple[CheckState, ...]) -> dict[str, list[CheckState]]:
    found: dict[str, list[CheckState]] = {}
    for item in states:
        found.setdefault(item.check.name, []).append(item)
    return found


def _row(engine: EngineFile, item: CheckState, by_name: dict[str, list[CheckState]]) -> CheckRow:
    check = item.check
    line = check_line(item)
    return CheckRow(
        name=check.name,
        place=check.place,
        title=line.title,
        state=item.state,
        state_words=line.state_words,
        text=line.text,
        way_out="" if item.settled else way_out(item),
        required=tuple(stage for stage in STAGES if stage in check.required),
        needs=tuple(_worst(by_name[need]) for need in check.needs if need in by_name),
        stale_by=tuple(
            StaleLine(rule.work, _REACH[rule.scope], rule.why) for rule in _rules(engine, check)
        ),
        effort=minutes_words(check.minutes),
        risk=_RISK[min(max(round(check.risk), 0), len(_RISK) - 1)],
        wanted=wanted_of(engine, check),
        settled=item.settled,
    )


def _families(check: Check) -> tuple[str, str]:
    """What a rule may call a check: its name, or what stands before the colon."""
    return check.name, check.name.partition(": ")[0]


def _rules(engine: EngineFile, check: Check) -> list[Rule]:
    return [rule for rule in rules_of(engine) if rule.check in _families(check)]


def _need(item: CheckState) -> NeedLine:
    line = check_line(item)
    return NeedLine(
        item.check.name, item.check.place, line.title, item.state, STATE_WORDS[item.state]
    )


def _worst(items: list[CheckState]) -> NeedLine:
    """One line for a check at several places: the first that is not settled speaks for all."""
    waiting = [item for item in items if not item.settled]
    worst = (waiting or items)[0]
    if len(items) == 1:
        return _need(worst)
    done = len(items) - len(waiting)
    words = f"{STATE_WORDS[worst.state]}, {done} of {len(items)} settled"
    return NeedLine(worst.check.name, "", worst.check.name, worst.state, words)


def wanted_of(engine: EngineFile, check: Check) -> WantedLine:
    """What a check asks for, its limits in words."""
    wanted = check.wanted
    unit = engine.show.unit(wanted.quantity) if wanted.quantity else ""
    return WantedLine(
        wanted.form,
        wanted.prompt or _PAGE_FORMS[wanted.form],
        limit_words(engine, replace(check, wanted=replace(wanted, form="value")))
        if wanted.quantity
        else "",
        unit,
        wanted.quantity,
        wanted.page,
    )


def _readings(engine: EngineFile, item: CheckState, state: State) -> tuple[CheckReading, ...]:
    check = item.check
    lines = []
    proof = item.finding.proof if item.finding else 0
    for entry in reversed(state.entries):
        body = entry.body
        if not isinstance(body, Reading) or (body.what, body.place) != check.key:
            continue
        struck = state.struck_by(entry.id)
        standing, note = "earlier", ""
        if struck:
            standing = "struck out"
            note = f"{struck[0].body.reason} ({struck[0].by})"
        elif item.void is not None and entry.number < item.void.entry.number:
            standing = "void"
            note = f"{item.void.why} (entry {item.void.entry.number})"
        elif entry.number == proof:
            standing = "counts"
        elif entry.number > proof and check.wanted.form != "page":
            standing, note = "does not answer", "kept, but it is not what this check asks for"
        lines.append(
            CheckReading(
                entry.number, entry.id, entry.at, entry.by, _said(engine, check, body), body.typed,
                body.instrument, standing, note,
            )
        )  # fmt: skip
    return tuple(lines)


def _said(engine: EngineFile, check: Check, body: Reading) -> str:
    quantity = check.wanted.quantity
    if body.unit == "yes":
        return DONE_RIGHT if body.low == body.high == 1.0 else "found wrong"
    if quantity and kind_of(quantity).si == body.unit:
        return show_reading(body.low, body.high, body.typed, engine.show.unit(quantity), quantity)
    return body.typed or f"{body.low} to {body.high} {body.unit}"


def _accepted(item: CheckState, state: State) -> AcceptedLine | None:
    entry = state.acceptance(item.check.name, item.check.place)
    if entry is None:
        return None
    return AcceptedLine(
        entry.id, entry.number, entry.by, entry.at, entry.body.reason, item.acceptance is not None
    )


def _settled_words(settled: int, count: int) -> str:
    if count == 0:
        return "The engine file gives nothing that could be checked."
    if settled == count:
        return f"All {count_words(count)} settled." if count > 1 else "Settled."
    return sentence(f"{count_words(settled)} of {count_words(count)} settled")
