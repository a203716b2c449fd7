"""The build that runs: proved before its start, stopped only by the battery that tired since."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tickover.book.store import Store
from tickover.demo import lane, open_demos, open_running_demo
from tickover.pages.building import fit_page_of
from tickover.pages.fitness import FitPage
from tickover.tasks.finding import Stage


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    where: Path = tmp_path_factory.mktemp("demo") / "d.tickover"
    with Store.open(where) as opened:
        open_running_demo(opened)
        yield opened


def answer(store: Store, stage: Stage) -> FitPage:
    build = store.build(open_running_demo(store))
    return fit_page_of(build, store.state(build.id), stage)


def test_only_the_tired_battery_stops_the_next_start(store: Store) -> None:
    page = answer(store, "first start")
    assert [(line.title, line.state) for line in page.blockers] == [("battery at rest", "out")]


def test_what_is_left_before_riding_is_charging_and_the_head(store: Store) -> None:
    left = {line.title.split(",")[0] for line in answer(store, "riding").blockers}
    assert {"tightened again", "charging voltage", "alternator winding"} <= left
    assert not left & {"valve clearance", "throttle free play", "oil pressure", "interlocks"}


def test_nothing_is_left_off_after_the_oil_flow_was_watched(store: Store) -> None:
    state = store.state(open_running_demo(store))
    assert not state.open_loose_ends
    assert any("off for the oil flow check" in entry.body.label
               for entry in state.entries if entry.kind == "loose end opened")  # fmt: skip


def test_it_says_that_it_is_invented_and_is_written_once(store: Store) -> None:
    before = [build.id for build in store.builds()]
    build = open_running_demo(store)
    assert [each.id for each in store.builds()] == before
    first_note = next(e for e in store.state(build).entries if e.kind == "note")
    assert "invented" in first_note.body.text
    assert "invented" in lane.NAME


def test_days_of_the_story_run_forward() -> None:
    days = [at for at, _ in lane.STORY]
    assert days == sorted(set(days))
    assert lane.STARTED in days


def test_both_demo_builds_come_together(tmp_path: Path) -> None:
    with Store.open(tmp_path / "b.tickover") as store:
        standing = open_demos(store)
        assert {build.name for build in store.builds()} >= {lane.NAME, store.build(standing).name}
