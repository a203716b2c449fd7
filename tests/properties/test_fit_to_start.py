"""No sequence of entries makes 'fit to start: yes' while something required is not settled.

The oracle below reads the entries by itself, the plain way, with its own small table of what makes
what void; it shares no code with the plan. It is also held the other way round: where it says yes,
the plan must too, so that the property is not kept by always saying no.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_book import more, state_of
from support_proving import twin

from tickover.book.bodies import (
    Acceptance,
    LooseEndClosed,
    LooseEndOpened,
    Reading,
    StrikeOut,
    Work,
)
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.plan.checks import check_states
from tickover.plan.fit import LOOSE_END, fitness

ENGINE = twin(
    "[oil]\nfilter = false",
    '[battery]\nat_rest = "12.5 V"\nearth_drop = "0.2 V"',
    '[starter]\nkind = "kick"',
    '[[checks]]\nname = "chain"\nkind = "length"\nleast = "20 mm"\nmost = "30 mm"\n'
    'stale_after = ["rear wheel out"]',
)
# What the machine above must have proved before its first start: key to a good, an out and an
# undecided reading, None where the check is a yes and cannot be undecided.
YES = ((1.0, 1.0), (0.0, 0.0), None, "yes")
REQUIRED = {
    ("battery at rest", ""): ((12.8, 12.8), (11.9, 11.9), (12.4, 12.7), "V"),
    ("earths", ""): YES,  # without a starter motor nothing is measured along them
    ("stop switch", "run"): YES,
    ("stop switch", "off"): YES,
    ("lead order", ""): YES,
    ("spark", "plug1"): YES,
    ("spark", "plug2"): YES,
    ("oil quantity", ""): YES,
    ("oil primed", ""): YES,
    ("oil flow", ""): YES,
    ("intake clamps", ""): YES,
    ("exhaust joints", ""): YES,
    ("fuel lines", ""): YES,
    ("fuel drips", ""): YES,
    ("chain", ""): ((0.025, 0.025), (0.04, 0.04), (0.028, 0.032), "m"),
}
KEYS = tuple(REQUIRED)
VOIDS = {
    "plug changed": {"spark"},  # of that cylinder only, where a place is named
    "leads off": {"lead order", "spark"},
    "oil drained": {"oil quantity", "oil primed"},
    "head off": {"oil primed", "lead order", "spark", "intake clamps", "exhaust joints"},
    "tank off": {"fuel lines", "fuel drips"},
    "battery charged": {"battery at rest"},
    "loom opened": {"earths", "stop switch", "spark"},
    "rear wheel out": {"chain"},
    "washed": set(),
}


@dataclass(frozen=True)
class Step:
    """One entry to be made: what, about which key or earlier entry, and how it turns out."""

    what: str
    which: int
    how: int


def bodies_of(step: Step, state: State) -> list[Any]:
    """What is kept at a step; 'mend' measures all that is not settled and closes what is open.

    Without it a chance sequence hardly ever leads back to yes.
    """
    if step.what == "mend":
        entries = live(state.entries)
        return [
            *(LooseEndClosed(end.id) for end in state.open_loose_ends),
            *(
                Reading(*key, *row[0], row[3], "")
                for key, row in REQUIRED.items()
                if not settled(key, entries)
            ),
        ]
    return [body_of(step, state)]


def body_of(step: Step, state: State) -> Any:
    key = KEYS[step.which % len(KEYS)]
    if step.what == "reading":
        good, out, doubt, unit = REQUIRED[key]
        low, high = (good, out, doubt or out)[step.how % 3]
        return Reading(*key, low, high, unit, "")
    if step.what == "work":
        work = tuple(VOIDS)[step.which % len(VOIDS)]
        places = ((), ("plug1",), ("plug2",))[step.how % 3] if work == "plug changed" else ()
        return Work(work, places)
    if step.what == "accept":
        ends = state.loose_ends
        if step.how % 3 == 0 and ends:
            return Acceptance(LOOSE_END, ends[step.which % len(ends)].id, "known")
        return Acceptance(*key, "seen and taken on")
    if step.what == "loose":
        return LooseEndOpened("oil line off")
    if step.what == "close" and state.loose_ends:
        return LooseEndClosed(state.loose_ends[step.which % len(state.loose_ends)].id)
    if step.what == "strike" and state.entries:
        return StrikeOut(state.entries[step.which % len(state.entries)].id, "a slip")
    return LooseEndOpened("silencer off")


def live(entries: tuple[Entry[Any], ...]) -> list[Entry[Any]]:
    """Entries that count: struck out by nothing that itself counts."""
    dead: set[str] = set()
    for entry in reversed(entries):
        if isinstance(entry.body, StrikeOut) and entry.id not in dead:
            dead.add(entry.body.entry)
    return [entry for entry in entries if entry.id not in dead]


def settled(key: tuple[str, str], entries: list[Entry[Any]]) -> bool:
    good = REQUIRED[key][0]
    proved, accepted = False, False
    for entry in entries:
        body = entry.body
        if isinstance(body, Reading) and (body.what, body.place) == key:
            proved, accepted = (body.low, body.high) == good, False
        elif isinstance(body, Work) and key[0] in VOIDS[body.what]:
            if body.what != "plug changed" or not body.places or key[1] in body.places:
                proved, accepted = False, False
        elif isinstance(body, Acceptance) and (body.check, body.place) == key:
            accepted = True
    return proved or accepted


def nothing_loose(entries: list[Entry[Any]]) -> bool:
    for entry in entries:
        if not isinstance(entry.body, LooseEndOpened):
            continue
        closed = any(
            isinstance(e.body, LooseEndClosed) and e.body.entry == entry.id for e in entries
        )
        accepted = any(
            isinstance(e.body, Acceptance) and (e.body.check, e.body.place) == (LOOSE_END, entry.id)
            for e in entries
        )
        if not (closed or accepted):
            return False
    return True


def all_good() -> State:
    return state_of([Reading(*key, *row[0], row[3], "") for key, row in REQUIRED.items()])


steps = st.lists(
    st.builds(
        Step,
        st.sampled_from(["reading", "work", "accept", "loose", "close", "strike", "mend"]),
        st.integers(0, 60),
        st.integers(0, 5),
    ),
    max_size=14,
)


def test_the_oracle_knows_every_required_check_of_the_machine() -> None:
    required = {
        item.check.key
        for item in check_states(ENGINE, state_of([]))
        if "first start" in item.check.required
    }
    assert required == set(REQUIRED)


def test_all_good_is_yes_so_the_property_is_not_kept_by_always_saying_no() -> None:
    assert fitness(ENGINE, all_good()).yes
    assert not fitness(ENGINE, state_of([])).yes


@settings(max_examples=150)
@given(from_good=st.booleans(), plan=steps)
def test_yes_only_when_everything_required_is_settled_and_nothing_is_loose(
    from_good: bool, plan: list[Step]
) -> None:
    state = all_good() if from_good else state_of([])
    for step in plan:
        state = more(state, *bodies_of(step, state))
        entries = live(state.entries)
        wanted = all(settled(key, entries) for key in KEYS) and nothing_loose(entries)
        assert fitness(ENGINE, state).yes == wanted


@settings(max_examples=60)
@given(plan=steps)
def test_each_check_in_the_way_is_one_line_with_a_way_out(plan: list[Step]) -> None:
    state = all_good()
    for step in plan:
        state = more(state, *bodies_of(step, state))
    fit = fitness(ENGINE, state)
    assert fit.yes == (not fit.blockers)
    entries = live(state.entries)
    named = {(b.check, b.place) for b in fit.blockers if b.check != LOOSE_END}
    assert named == {key for key in KEYS if not settled(key, entries)}
    assert all(b.text and b.way_out for b in fit.blockers)


WORK_FOR = {key: [w for w, names in VOIDS.items() if key[0] in names] for key in KEYS}
CASES = [
    (key, kind)
    for key in KEYS
    for kind in ("open", "out", "undecided", "stale")
    # A yes is never undecided; nothing in the small table makes the oil flow void.
    if not (kind == "undecided" and REQUIRED[key][2] is None)
    and not (kind == "stale" and not WORK_FOR[key])
]


@pytest.mark.parametrize(
    ("key", "kind"), CASES, ids=lambda v: v if isinstance(v, str) else " ".join(v).strip()
)
def test_one_check_not_settled_is_enough_for_no(key: tuple[str, str], kind: str) -> None:
    good, out, doubt, unit = REQUIRED[key]
    rest = [Reading(*k, *row[0], row[3], "") for k, row in REQUIRED.items() if k != key]
    proof = Reading(*key, *good, unit, "")
    if kind == "open":
        state = state_of(rest)
    elif kind == "out":
        state = state_of([*rest, Reading(*key, *out, unit, "")])
    elif kind == "undecided":
        state = state_of([*rest, Reading(*key, *doubt, unit, "")])
    else:
        state = more(state_of([*rest, proof]), Work(WORK_FOR[key][0]))
    fit = fitness(ENGINE, state)
    assert not fit.yes
    assert {(b.check, b.place) for b in fit.blockers} >= {key}
