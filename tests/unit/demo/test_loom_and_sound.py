"""Loom and sound of the build that runs: what is shipped is what is told, and says what it is.

The sounds are the synthesiser's own, so nothing here says how well listening works; it says that
the demo ships what its script makes, with what listening finds in it, and labels both.
"""

from __future__ import annotations

import json
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from tickover.book.store import Store
from tickover.demo import lane, open_running_demo, recordings, running_text
from tickover.engine import EngineFile, parse_engine_file
from tickover.pages.hearing import kept_page
from tickover.tasks.listen.in_book import recordings as kept_in
from tickover.tasks.listen.keeping import says_synthetic
from tickover.tasks.listen.reading import read_bytes
from tickover.tasks.wiring import in_book
from tickover.tasks.wiring.continuity import WireTest, explain_loom, ohms
from tickover.tasks.wiring.problems import loom_problems
from tickover.tasks.wiring.sizing import size_loom

MADE = (recordings.BEFORE, recordings.AFTER)


@pytest.fixture(scope="module")
def engine() -> EngineFile:
    return parse_engine_file(running_text(), "lane.toml")


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    where: Path = tmp_path_factory.mktemp("demo") / "d.tickover"
    with Store.open(where) as opened:
        open_running_demo(opened)
        yield opened


@pytest.mark.parametrize("made", MADE)
def test_the_sound_shipped_is_what_its_script_makes(made: recordings.Made) -> None:
    shipped = read_bytes(recordings.sound_of(made), made.file)
    assert shipped.rate == recordings.RATE_HZ
    anew = recordings.computed(made).samples
    # 16 bits in the file, and the last bit may fall otherwise on another machine.
    assert shipped.samples.shape == anew.shape
    assert float(np.max(np.abs(shipped.samples - anew))) <= 2.0 / 32768.0


@pytest.mark.parametrize("made", MADE)
def test_what_is_told_of_it_is_what_listening_finds(made: recordings.Made) -> None:
    told = recordings.heard_in(made)
    found = json.loads(json.dumps(recordings.listened_to(recordings.sound_of(made))))
    assert found["heard"]["idle_rpm"]["median"] == pytest.approx(
        told["heard"]["idle_rpm"]["median"], rel=1e-4
    )
    strength = [slot["strength"] for slot in found["heard"]["slots"]]
    assert strength == pytest.approx([s["strength"] for s in told["heard"]["slots"]], abs=1e-3)
    assert found["heard"]["weak_slot"] == told["heard"]["weak_slot"]
    assert found.keys() == told.keys()
    assert found["heard"].keys() == told["heard"].keys()


def test_it_is_labelled_in_the_file_in_the_book_and_in_the_name(store: Store) -> None:
    for made in MADE:
        assert says_synthetic(recordings.sound_of(made))
        assert "synthetic" in made.file
    state = store.state(open_running_demo(store))
    said = [e.body.answer for e in state.answers("what a recording says")]
    assert len(said) == 2
    assert all(words.startswith("synthetic, proves nothing") for words in said)
    assert sum(len(recordings.sound_of(made)) for made in MADE) < 400_000


def test_the_weak_cylinder_is_the_one_whose_cap_was_changed(store: Store) -> None:
    build = store.build(open_running_demo(store))
    state = store.state(build.id)
    first, second = (kept_page(build, state, kept) for kept in kept_in(state))
    assert (first.heard.weak_slot, second.heard.weak_slot) == (2, None)
    assert [line.name for line in first.slots if line.weak] == ["cylinder 2"]
    assert "leads off" in second.since


def test_the_loom_is_sound_and_every_wire_is_read(store: Store, engine: EngineFile) -> None:
    assert loom_problems(engine, size_loom(engine), running_text()) == ()
    state = store.state(open_running_demo(store))
    found = {f.name: f.state for f in in_book.findings(engine, state)}
    assert found == dict.fromkeys(in_book.NAMES, "good")


def test_what_was_read_first_points_at_the_pins_of_the_tail_plug(engine: EngineFile) -> None:
    read = {
        number: WireTest(ohms(typed, "end to end"), 1e9) for number, typed in lane.TAIL_OHM.items()
    }
    likeliest = explain_loom(engine, size_loom(engine), read).opens[0]
    assert (likeliest.kind, likeliest.name) == ("pins", "tail plug")


def test_opening_the_demo_neither_computes_nor_listens(tmp_path: Path) -> None:
    program = textwrap.dedent(f"""
        import sys
        from tickover.book.store import Store
        from tickover.demo import open_demos
        with Store.open({str(tmp_path / "d.tickover")!r}) as store:
            open_demos(store)
        print([name for name in ("numba", "scipy", "soundfile") if name in sys.modules])
    """)
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=300
    )
    assert done.stdout.strip() == "[]"
