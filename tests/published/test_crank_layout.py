"""Which pistons rise together, and which valves are closed when one of them is at the top.

Common practice, no source: what a person sees with the plugs out and the cam cover off.
"""

from pathlib import Path

import pytest

from tickover.engine import (
    base_circle_arcs,
    load_engine_file,
    parse_engine_file,
    tdc_events,
)
from tickover.engine.model import EngineFile

EXAMPLES = Path(__file__).parents[2] / "examples" / "engines"


def engine(keys: str) -> EngineFile:
    return parse_engine_file(
        f'[engine]\nname = "Invented"\n{keys}\n[valves]\n[cams]\nramp = "30 deg"\n'
        'inlet = { opens = "22 deg BTDC", closes = "54 deg ABDC" }\n'
        'exhaust = { opens = "56 deg BBDC", closes = "20 deg ATDC" }\n'
    )


def rising_together(ef: EngineFile) -> set[frozenset[int]]:
    by_angle: dict[float, set[int]] = {}
    for event in tdc_events(ef):
        by_angle.setdefault(event.crank_deg % 360, set()).add(event.cylinder)
    return {frozenset(cylinders) for cylinders in by_angle.values()}


def closed_at(ef: EngineFile, crank_deg: float) -> set[str]:
    """The valves on their base circle at a crank angle."""
    return {
        place
        for place, (start, end) in base_circle_arcs(ef).items()
        if (crank_deg - start) % 720 <= end - start
    }


@pytest.mark.parametrize(
    ("keys", "together"),
    [
        ('layout = "inline"\ncylinders = 2\ncrank = "360 deg"', [{1, 2}]),
        ('layout = "inline"\ncylinders = 2\ncrank = "180 deg"', [{1}, {2}]),
        ('layout = "flat"\ncylinders = 2', [{1, 2}]),
        ('layout = "inline"\ncylinders = 3\nfiring_order = [1, 3, 2]', [{1}, {2}, {3}]),
        ('layout = "inline"\ncylinders = 4\nfiring_order = [1, 3, 4, 2]', [{1, 4}, {2, 3}]),
        ('layout = "inline"\ncylinders = 4\nfiring_order = [1, 2, 4, 3]', [{1, 4}, {2, 3}]),
        ('layout = "flat"\ncylinders = 4\nfiring_order = [1, 3, 2, 4]', [{1, 2}, {3, 4}]),
        ('layout = "inline"\ncylinders = 6\nfiring_order = [1, 5, 3, 6, 2, 4]',
         [{1, 6}, {2, 5}, {3, 4}]),
    ],
)  # fmt: skip
def test_pistons_that_rise_together(keys: str, together: list[set[int]]) -> None:
    assert rising_together(engine(keys)) == {frozenset(each) for each in together}


def test_a_four_at_firing_top_of_cylinder_1_gives_half_its_valves() -> None:
    ef = engine('layout = "inline"\ncylinders = 4\nfiring_order = [1, 3, 4, 2]')
    assert closed_at(ef, 0) == {"in1", "in2", "ex1", "ex3"}
    assert closed_at(ef, 360) == {"in3", "in4", "ex2", "ex4"}


def test_the_other_firing_order_exchanges_cylinders_2_and_3() -> None:
    ef = engine('layout = "inline"\ncylinders = 4\nfiring_order = [1, 2, 4, 3]')
    assert closed_at(ef, 0) == {"in1", "in3", "ex1", "ex2"}
    assert closed_at(ef, 360) == {"in2", "in4", "ex3", "ex4"}


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_at_firing_top_both_valves_of_that_cylinder_are_closed_and_at_overlap_neither(
    path: Path,
) -> None:
    ef = load_engine_file(path)
    assert tdc_events(ef)
    for event in tdc_events(ef):
        own = {place.name for place in ef.places() if place.cylinder == event.cylinder}
        closed = closed_at(ef, event.crank_deg) & own
        assert closed == (own if event.top == "firing" else set())
