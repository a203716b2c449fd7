"""The [carburettors] table: what is kept, and every way it cannot be meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from tickover.engine import EngineFile, load_engine_file, parse_engine_file
from tickover.errors import EngineFileError

TRIPLE = Path(__file__).parents[3] / "examples" / "engines" / "triple-240.toml"
TEXT = TRIPLE.read_text(encoding="utf-8")


def test_the_example_is_read_in_si() -> None:
    table = load_engine_file(TRIPLE).carburettors
    assert table is not None
    assert table.bore_m == pytest.approx(0.028)
    assert table.mains is not None
    assert table.mains.sizes[0] == "88"
    assert dict(table.mains.owned)["108"] == 3
    assert table.needles[0].profile[-1] == (pytest.approx(0.052), pytest.approx(0.0016))
    assert table.known_good is not None
    assert table.known_good.box_depression_pa == pytest.approx(2 * 98.0665)
    assert table.rack == (("carb2", "carb1"), ("carb2", "carb3"))


def test_it_is_written_back_and_read_the_same() -> None:
    first = load_engine_file(TRIPLE).carburettors
    assert first is not None
    plain = first.model_dump(mode="json", by_alias=True, exclude_none=True)
    assert type(first).model_validate(plain) == first


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("clip = 3\nmain = 108", "clip = 6\nmain = 108", "1 (top, leanest) to 5 (richest)"),
        ("main = 108", "main = 107", "108, or 107 among the sizes"),
        ("pilot = 38", "pilot = 39", "This jet is not in the series"),
        ('needle = "N1"\nclip = 3\nmain = 108', 'needle = "N9"\nclip = 3\nmain = 108',
         "N1, N2"),
        ("sizes = [32, 35, 38", "sizes = [35, 32, 38", "must rise"),
        ('"98" = 3', '"99" = 3', "owned is not among the sizes"),
        ('["34 mm", "2.64 mm"], ["41', '["34 mm", "2.64 mm"], ["31', "down from the top groove"),
        ('["29 mm", "2.69 mm"]', '["29 mm", "2.90 mm"]', "does not pass its jet"),
        ('[["carb2", "carb1"], ["carb2", "carb3"]]', '[["carb2", "carb1"]]', "no tree"),
        ('["carb2", "carb3"]]', '["carb2", "carb4"]]', "no carburettor of this engine"),
        ('bore = "28 mm"\nneedle_jet', 'bore = "280 mm"\nneedle_jet', '"28 mm"'),
        ("price = 5.0\nowned = { \"38\"", "marked = \"flow\"\nowned = { \"38\"",
         "measured_mark"),
        ("screw = \"mixture\"", "screw = \"wood\"", "mixture"),
        ("screw_turns = 1.5\ncutaway = \"2.5 mm\"\nneedle = \"N1\"\nclip = 3\nmain = 108",
         "screw_turns = 1.5\ncutaway = \"3.0 mm\"\nneedle = \"N1\"\nclip = 3\nmain = 108",
         "No slide with this cutaway"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_to_write(old: str, new: str, says: str) -> None:
    assert old in TEXT
    with pytest.raises(EngineFileError) as caught:
        parse_engine_file(TEXT.replace(old, new, 1), "t.toml")
    assert says in str(caught.value)


def test_jets_by_flow_with_a_measured_pair_are_taken() -> None:
    text = TEXT.replace(
        'price = 5.0\nowned = { "98"',
        'marked = "flow"\nmeasured_mark = 98\nmeasured_bore = "0.92 mm"\nowned = { "98"',
    )
    table = parse_engine_file(text, "t.toml").carburettors
    assert table is not None
    assert table.mains is not None
    assert table.mains.marked == "flow"


def test_the_number_comes_from_fuel_or_the_cylinders() -> None:
    base = '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 4\n'
    two = parse_engine_file(base + "[fuel]\ncarburettors = 2\n[carburettors]\n", "t")
    four = parse_engine_file(base + "[carburettors]\n", "t")
    said = parse_engine_file(base + "[carburettors]\nnumber = 1\n", "t")
    assert [_count(e) for e in (two, four, said)] == [2, 4, 1]


def _count(engine: EngineFile) -> int:
    assert engine.carburettors is not None
    return engine.carburettors.count(engine)


def test_an_empty_table_says_what_falls_away() -> None:
    base = '[engine]\nname = "a"\nlayout = "single"\n[carburettors]\n'
    away = {str(each) for each in parse_engine_file(base, "t").fallen_away()}
    assert "Mixture advice: [carburettors] bore is left out" in away
