"""One list over all tasks: arrivals settle what was asked for before them, once."""

from __future__ import annotations

from pathlib import Path

import pytest
from support_book import more
from support_start import small

from tickover.book.bodies import StockChanged, StrikeOut
from tickover.book.store import Store
from tickover.demo import open_demo
from tickover.errors import InputError
from tickover.pages.building import engine_of, shopping_of, shopping_page_of
from tickover.pages.shopping import find_want, want_key
from tickover.plan.shopping import arrived_entry, shopping_list, want_entry


def listed(state):
    return shopping_list(engine_of(state), state)


def test_what_a_person_adds_is_ticked_off_as_it_arrives() -> None:
    state = small([want_entry("main jet 118", 3, price=4.5, why="all carburettors")])
    (line,) = listed(state).lines
    assert (line.still, listed(state).total) == (3, 13.5)
    came = more(state, arrived_entry(line.want, 2))
    (line,) = listed(came).lines
    assert (line.arrived, line.still, listed(came).total) == (2, 1, 4.5)
    assert not listed(came).surplus
    assert came.stock("main jet 118")[0].count == 2


def test_an_arrival_before_the_want_settles_nothing() -> None:
    want = want_entry("gasket")
    state = small([StockChanged("gasket", None, "", 1, note="arrived"), want])
    assert listed(state).lines[0].still == 1


def test_stock_put_in_without_having_arrived_settles_nothing() -> None:
    state = small([want_entry("gasket"), StockChanged("gasket", None, "", 1, note="found")])
    assert listed(state).lines[0].still == 1


def test_one_arrival_settles_the_older_of_two_wants_and_only_that() -> None:
    state = small([want_entry("gasket", why="left"), want_entry("gasket", why="right")])
    came = more(state, arrived_entry(listed(state).lines[0].want))
    assert [line.still for line in listed(came).lines] == [0, 1]


def test_another_size_is_another_thing() -> None:
    state = small([want_entry("main jet", size=118.0), want_entry("main jet", size=120.0)])
    came = more(state, arrived_entry(listed(state).lines[1].want))
    assert [line.still for line in listed(came).lines] == [1, 0]


def test_two_phones_that_note_one_arrival_are_told_and_both_kept() -> None:
    state = small([want_entry("gasket")])
    want = listed(state).lines[0].want
    twice = more(state, arrived_entry(want), arrived_entry(want))
    found = listed(twice)
    assert found.lines[0].still == 0
    assert [entry.number for entry in found.surplus] == [twice.last_number]
    struck = more(twice, StrikeOut(twice.entries[-1].id, "noted twice"))
    assert not listed(struck).surplus


def test_a_struck_want_is_off_the_list() -> None:
    state = small([want_entry("gasket")])
    assert not listed(more(state, StrikeOut(state.entries[-1].id, "had one"))).lines


def test_a_price_the_drawer_remembers_is_taken() -> None:
    state = small([StockChanged("gasket", None, "", 0, price=6.0), want_entry("gasket", 2)])
    assert listed(state).total == 12.0
    assert listed(small([want_entry("gasket")])).unpriced == 1


@pytest.mark.parametrize(
    ("item", "count", "price"), [("", 1, None), ("jet", 0, None), ("jet", 10_001, None),
                                 ("jet", 1, -1.0)],
)  # fmt: skip
def test_what_cannot_be_bought_is_refused(item: str, count: int, price: float | None) -> None:
    with pytest.raises(InputError):
        want_entry(item, count, price=price)


def test_shims_of_the_valve_plan_are_on_it_and_go_when_they_came(tmp_path: Path) -> None:
    with Store.open(tmp_path / "b") as store:
        build = store.build(open_demo(store))
        state = store.state(build.id)
        (line,) = [line for line in shopping_of(state).lines if line.want.task == "valves"]
        assert line.want.item == "shim"
        assert line.want.price == 8.0
        came = more(state, arrived_entry(line.want))
        assert not [line for line in shopping_of(came).lines if line.want.task == "valves"]
        page = shopping_page_of(build, came)
        assert [(row.item, row.arrived) for row in page.settled] == [("shim", 1)]
        assert not page.conflicts


def test_a_thing_is_found_by_its_key_or_its_first_words() -> None:
    state = small([want_entry("main jet", why="left"), want_entry("needle")])
    found = listed(state)
    first = found.lines[0].want
    assert find_want(found, want_key(first)) is first
    assert find_want(found, "NEED") is found.lines[1].want
    with pytest.raises(InputError, match="needle"):
        find_want(found, "oil")
    with pytest.raises(InputError):
        find_want(found, "")
