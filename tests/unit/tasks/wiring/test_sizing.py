"""Sizes and fuses: against trying every choice, and rule by rule."""

from __future__ import annotations

from itertools import product

import pytest
from support_loom import TWIN, random_loom

from tickover.engine import EngineFile, load_engine_file, parse_engine_file
from tickover.physics.wire import resistance, size_named, sizes
from tickover.physics.wire_current import ampacity, conductor_temperature
from tickover.tasks.wiring.power import power_balance, swap_words, swapped
from tickover.tasks.wiring.problems import loom_problems
from tickover.tasks.wiring.sizing import size_loom

SMALL = """
[engine]
name = "Small loom"
layout = "single"
[battery]
capacity = 10
[wiring]
battery = "box"
fuses = "box"
main_fuse = "15 A"
around = "70 C"
{wiring}
[[circuits]]
name = "lamps"
colour = "YE"
{circuit}
[[loads]]
name = "tail"
kind = "lamp"
circuit = "lamps"
at = "tail"
rated = "60 W"
{load}
[[branches]]
from = "box"
to = "tail"
length = "1 m"
{rest}
"""


def small(wiring: str = "", circuit: str = "", load: str = "", rest: str = "") -> EngineFile:
    return parse_engine_file(text_of(wiring, circuit, load, rest))


def text_of(wiring: str = "", circuit: str = "", load: str = "", rest: str = "") -> str:
    return SMALL.format(wiring=wiring, circuit=circuit, load=load, rest=rest)


def _drop(engine: EngineFile, run: object, size: object, bundled: int) -> float:
    """Volts lost on a wire of one size, worked out from the published pieces."""
    wiring = engine.wiring
    assert wiring is not None
    carries = ampacity(size, wiring.around_k, int(wiring.insulation), bundled, wiring.bundling)  # type: ignore[arg-type]
    hot = conductor_temperature(run.current, carries, wiring.around_k, int(wiring.insulation))  # type: ignore[attr-defined]
    return run.current * resistance(size, run.cut, min(hot, 523.15))  # type: ignore[attr-defined,arg-type]


@pytest.mark.parametrize("seed", range(12))
def test_no_choice_tried_out_of_all_holds_less_copper(seed: int) -> None:
    engine = random_loom(seed, points=4, circuits=1, loads=2, drop="0.25 V", most_a=4.0)
    sizing = size_loom(engine)
    options = sizes("metric")
    asked = [
        max(options.index(w.by_current), options.index(w.by_fuse))  # type: ignore[arg-type]
        if w.by_current and w.by_fuse else len(options) - 1
        for w in sizing.wires
    ]  # fmt: skip
    assert all(load.met for load in sizing.loads)  # as these seeds are chosen
    volts = [[_drop(engine, w.run, s, w.bundled) for s in options] for w in sizing.wires]
    best = min(
        sum(options[k].area * w.run.cut for k, w in zip(choice, sizing.wires, strict=True))
        for choice in product(*(range(a, min(a + 4, len(options))) for a in asked))
        if all(
            sum(volts[i][choice[i]] for i in chain) <= load.allowed
            for chain, load in zip(sizing.loom.chains, sizing.loads, strict=True)
        )
    )
    assert sizing.copper <= best * (1 + 1e-6)
    assert all(load.drop <= load.allowed * (1 + 1e-6) for load in sizing.loads)


def test_a_small_loom_by_hand() -> None:
    """60 W at 12 V are 5 A; 1.25 x 5 A asks for 7.5 A, which the table gives 1.5 mm² at 70 C."""
    sizing = size_loom(small(wiring='drop = "3 V"'))
    assert sizing.circuits[0].fuse == 7.5
    feed = next(w for w in sizing.wires if w.run.side == "feed")
    assert feed.size.words == "1.5 mm²"
    assert feed.limit == "fuse"
    assert feed.run.cut == pytest.approx(1.12)
    assert sum(w.drop for w in sizing.wires) == pytest.approx(sizing.loads[0].drop)


def test_a_tight_drop_decides_and_says_so() -> None:
    sizing = size_loom(small(wiring='drop = "0.12 V"'))
    assert sizing.loads[0].met
    assert "drop" in {w.limit for w in sizing.wires}


def test_the_way_back_carries_the_fuse_too() -> None:
    sizing = size_loom(small(circuit='fuse = "10 A"'))
    back = next(w for w in sizing.wires if w.run.side == "earth")
    assert back.ampacity >= 10.0


def test_a_shared_way_back_carries_the_greatest_of_its_fuses() -> None:
    second = """[[circuits]]
name = "horn"
colour = "BU"
fuse = "15 A"
[[loads]]
name = "horn"
circuit = "horn"
at = "tail"
real = "3 A"
[[joints]]
name = "stud"
at = "tail"
"""
    sizing = size_loom(small('earth = ["stud", "battery"]', 'fuse = "10 A"', rest=second))
    shared = next(w for w in sizing.wires if w.run.start == "stud")
    assert shared.fuse == 15.0
    assert shared.ampacity >= 15.0
    own = next(w for w in sizing.wires if w.run.start == "tail" and w.run.side == "earth")
    assert own.fuse == 10.0


def test_of_a_choice_only_one_side_counts() -> None:
    twin = size_loom(load_engine_file(TWIN))
    headlamp = next(c for c in twin.circuits if c.name == "headlamp")
    assert headlamp.current == pytest.approx(45.0 / 12.0)
    signals = next(c for c in twin.circuits if c.name == "signals")
    assert signals.current == pytest.approx(21 / 12 + 3.5 + 2 * 21 / 12)


def test_awg_is_sized_by_the_same_rules() -> None:
    sizing = size_loom(small(wiring='standard = "AWG"'))
    assert {w.size.standard for w in sizing.wires} == {"AWG"}


@pytest.mark.parametrize(
    ("more", "words", "key"),
    [
        ({"circuit": 'fuse = "20 A"\nsize = "0.75"'}, "fuse of lamps is above what wire", "fuse"),
        ({"circuit": 'fuse = "5 A"'}, "may melt with everything on", "fuse"),
        ({"circuit": 'size = "0.5"'}, "carries less than is asked of it", "size"),
        ({"wiring": 'drop = "0.02 V"'}, "loses more than is allowed", "loads"),
        ({"rest": '[[wires]]\nfrom = "tail"\nto = "moon"'}, "no such wire", "wires"),
        ({"rest": '[[circuits]]\nname = "spare"\ncolour = "BU"'}, "No load is on", "circuits"),
    ],
)
def test_what_does_not_go_together_is_told_with_its_line(
    more: dict[str, str], words: str, key: str
) -> None:
    text = text_of(**more)
    engine = parse_engine_file(text)
    found = loom_problems(engine, size_loom(engine), text)
    told = [p for p in found if words in p.problem]
    assert told
    assert told[0].line is not None
    near = text.splitlines()[told[0].line - 1]
    assert key in near


def test_a_current_beyond_every_size_is_told_and_the_rest_still_stands() -> None:
    text = text_of().replace('rated = "60 W"', 'rated = "420 W"').replace('"15 A"', '"40 A"')
    engine = parse_engine_file(text)
    sizing = size_loom(engine)
    found = [p for p in loom_problems(engine, sizing, text) if "No wire of this" in p.problem]
    assert len(found) == 3  # to the fuses, the circuit, the way back
    assert found[-1].line == text.splitlines().index("[[circuits]]") + 1
    assert all(w.size.words == "10 mm²" for w in sizing.wires)


def test_a_missing_main_fuse_is_told() -> None:
    text = text_of().replace('main_fuse = "15 A"\n', "")
    engine = parse_engine_file(text)
    assert "No main fuse" in loom_problems(engine, size_loom(engine), text)[0].problem


def test_balance_by_hand() -> None:
    """5 A for half a ride against 4 A and 10 A; 0.5 x 10 Ah over 5 A is one hour."""
    engine = small('generator_idle = "4 A"\ngenerator_road = "10 A"',
                   load='duty = "50 %"\nengine_off = true')  # fmt: skip
    found = power_balance(engine)
    assert found.riding == pytest.approx(2.5)
    assert (found.left_idle, found.left_road) == (pytest.approx(1.5), pytest.approx(7.5))
    assert found.reserve_h == pytest.approx(1.0)


def test_lower_lamps_say_what_they_save() -> None:
    engine = small()
    change = swapped(engine, swap_words(engine, ("tail = 12 W",)))
    assert change is not None
    assert change.before.riding - change.after.riding == pytest.approx(4.0)
    assert change.fuses == (("lamps", 7.5, 2.0),)
    assert swapped(engine) is None


def test_a_given_fuse_stays_when_lamps_change() -> None:
    engine = small(circuit='fuse = "10 A"')
    change = swapped(engine, {"tail": 12.0})
    assert change is not None
    assert change.fuses == ()


def test_thinner_than_the_least_size_is_never_fitted() -> None:
    engine = small(wiring='least_size = "2.5"')
    assert all(w.size.area >= size_named("2.5", "metric").area for w in size_loom(engine).wires)
