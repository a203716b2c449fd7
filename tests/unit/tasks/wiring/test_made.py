"""A wire from not made to remade: what list, loom page, test page and fit to start say each time.

The rules are our own, no source: what was read lies in the machine; what was read wrong is made
again, unless something it shares with others explains it; what is made anew is read again.
"""

from __future__ import annotations

from math import ceil

import pytest
from support_book import more
from support_loom import TWIN

from tickover.book.bodies import EngineFileKept, Reading, Work
from tickover.book.state import State
from tickover.engine import load_engine_file
from tickover.errors import InputError
from tickover.pages import loom
from tickover.pages.loom import loom_page, loom_test_page
from tickover.plan.checks import check_states
from tickover.plan.shopping import Line, arrived_entry, shopping_list
from tickover.tasks.wiring.in_book import wire_reading
from tickover.tasks.wiring.made import CONTINUITY, INSULATION, remade
from tickover.tasks.wiring.sizing import size_loom
from tickover.tasks.wiring.wire_line import wire_line

ENGINE = load_engine_file(TWIN)
SIZING = size_loom(ENGINE)
WIRES = {wire.run.number: wire for wire in SIZING.wires}
NUMBERS = set(WIRES)
BARE = more(State(), EngineFileKept(TWIN.read_text(encoding="utf-8")))
ONE = WIRES["11"]
RED = f"wire {ONE.size.words} {ONE.run.colour_words}, by the metre"
AGAIN = f"{RED}, for wire 11 again"


def _read(number: str, typed: str, test: str = "end to end") -> Reading:
    return wire_reading(WIRES[number].run, test, typed, "", NUMBERS)  # type: ignore[arg-type]


def _whole() -> State:
    """Every wire read good."""
    ends = [_read(number, "0.1") for number in WIRES]
    feeds = [n for n, wire in WIRES.items() if wire.run.side != "earth"]
    return more(BARE, *ends, *(_read(number, "open", "to earth") for number in feeds))


WHOLE = _whole()


def _lines(state: State) -> list[Line]:
    return [line for line in shopping_list(ENGINE, state).lines if line.want.task == "wiring"]


def _words(state: State) -> tuple[str, str]:
    found = {s.check.name: s.state for s in check_states(ENGINE, state)}
    return found[CONTINUITY], found[INSULATION]


def _at(state: State, number: str = "11") -> loom.TestLine:
    return next(x for x in loom_test_page(ENGINE, state).lines if x.number == number)


def test_not_made_it_is_to_buy_and_nothing_is_proved() -> None:
    assert any(line.want.item == RED for line in _lines(BARE))
    assert _words(BARE) == ("open", "open")
    assert _at(BARE).state == "open"
    assert loom_page(ENGINE, None, BARE).again == ()


def test_read_good_it_lies_in_the_machine() -> None:
    assert _lines(WHOLE) == []
    assert _words(WHOLE) == ("good", "good")
    assert loom_page(ENGINE, None, WHOLE).again == ()


def test_read_to_earth_alone_it_lies_there_too() -> None:
    feeds = [n for n, wire in WIRES.items() if wire.run.side != "earth"]
    state = more(BARE, *(_read(number, "open", "to earth") for number in feeds))
    colours = {line.want.item for line in _lines(state) if "by the metre" in line.want.item}
    assert RED not in colours
    assert colours  # those of the way back are not read


@pytest.mark.parametrize(
    ("typed", "test", "said", "check"),
    [
        ("7 ohm", "end to end", "7 ohm end to end", 0),
        ("open", "end to end", "no path end to end", 0),
        ("3", "to earth", "a path to earth, 3", 1),
    ],
)
def test_read_wrong_it_is_to_make_again(typed: str, test: str, said: str, check: int) -> None:
    state = more(WHOLE, _read("11", typed, test))
    wants = [line.want for line in _lines(state)]
    assert {want.why for want in wants} == {f"it read {said}; see its crimps first"}
    assert all(want.item.endswith(", for wire 11 again") for want in wants)
    assert not any(want.item.startswith(("fuse", "connector")) for want in wants)
    wire = [want.count for want in wants if want.item == AGAIN]
    ends_only = typed == "7 ohm"
    assert wire == ([] if ends_only else [ceil(ONE.run.cut * (1.0 + ENGINE.wiring.waste))])  # type: ignore[union-attr]
    assert _words(state)[check] == "out"
    assert _words(state)[1 - check] == "good"
    assert _at(state).state == "out"
    assert loom_page(ENGINE, None, state).again == (
        f"Wire 11 read {said}: {'its two ends' if ends_only else 'wire and ends'} are on the "
        "shopping list again.",
    )


def test_what_arrived_before_the_bad_reading_does_not_settle_it() -> None:
    first = next(line.want for line in _lines(BARE) if line.want.item == RED)
    state = more(BARE, arrived_entry(first, first.count))
    assert next(x for x in _lines(state) if x.want.item == RED).still == 0
    for entry in WHOLE.live:
        if isinstance(entry.body, Reading):
            state = more(state, entry.body)
    bad = more(state, _read("11", "open"))
    line = next(x for x in _lines(bad) if x.want.item == AGAIN)
    assert line.still == line.want.count > 0
    bought = more(bad, arrived_entry(line.want, line.want.count))
    twice = more(bought, _read("11", "open"))  # read once more before it is made anew
    for state in (bought, twice):
        assert next(x for x in _lines(state) if x.want.item == AGAIN).still == 0
    again = more(twice, remade(ONE.run), _read("11", "open"))  # the new one is no better
    assert next(x for x in _lines(again) if x.want.item == AGAIN).still > 0


def test_remade_it_alone_is_to_read_again() -> None:
    state = more(WHOLE, _read("11", "open"), remade(ONE.run))
    assert _lines(state) == []
    assert _words(state) == ("undecided", "undecided")
    found = next(s.finding for s in check_states(ENGINE, state) if s.check.name == CONTINUITY)
    assert found is not None
    assert found.text.endswith("made anew and to read again: 11")
    page = loom_test_page(ENGINE, state)
    assert (page.next_number, _at(state).state, _at(state).remade) == ("11", "open", True)
    once = more(state, _read("11", "0.1"))
    assert _words(once) == ("good", "undecided")
    assert _words(more(once, _read("11", "open", "to earth"))) == ("good", "good")
    out = more(state, _read("11", "open"))
    assert _words(out)[0] == "out"
    assert any(line.want.item == AGAIN for line in _lines(out))


def test_read_again_and_good_needs_no_word_of_making_it() -> None:
    state = more(WHOLE, _read("11", "open"), _read("11", "0.2"))
    assert _lines(state) == []
    assert _words(state) == ("good", "good")


def test_a_path_between_two_ends_with_either_of_them() -> None:
    state = more(WHOLE, _read("11", "touches 16", "to earth"))
    assert (_at(state).state, _at(state, "16").state) == ("out", "out")
    assert _at(state, "16").touched_by == ("11",)
    other = more(state, remade(WIRES["16"].run))
    assert _words(other)[1] == "undecided"
    assert (_at(other).state, _at(other, "16").state) == ("open", "open")
    lost = more(other, _read("11", "open", "to earth"), _read("16", "open", "to earth"),
                _read("16", "0.1"))  # fmt: skip
    assert _words(lost) == ("good", "good")


def test_a_plug_that_explains_it_is_looked_at_before_wire_is_bought() -> None:
    tail = next(i for i, branch in enumerate(ENGINE.branches) if branch.connector == "tail plug")
    through = [SIZING.loom.runs[i].number for i in SIZING.loom.through(tail)]
    state = more(WHOLE, *(_read(number, "open") for number in through))
    assert not [line for line in _lines(state) if "by the metre" in line.want.item]
    words = loom_page(ENGINE, None, state).again
    assert len(words) == len(through)
    assert all("first see whether tail plug is plugged home" in line for line in words)


def test_a_wire_that_has_other_ends_now_was_not_remade() -> None:
    other = Work("wire changed", ("wire 11",), {"from": "elsewhere", "to": "nowhere"})
    assert _words(more(WHOLE, other)) == ("good", "good")


def test_a_change_of_no_named_wire_voids_the_whole_loom() -> None:
    assert _words(more(WHOLE, Work("wire changed"))) == ("stale", "stale")


def test_the_short_line() -> None:
    for words in ("11 remade", "11 made anew", "11 Made again"):
        body, said = wire_line(ENGINE, words)
        assert body == remade(ONE.run)
        assert "read it again" in said
    with pytest.raises(InputError, match="no such wire"):
        wire_line(ENGINE, "99 remade")
    with pytest.raises(InputError):
        wire_line(ENGINE, "11 remake it")
