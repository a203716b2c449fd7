"""Reading an engine file: every slip named with its line, and never anything but a clear error."""

import os
from pathlib import Path

import pytest

from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import EngineFileError, InputError, Problem

TRIPLE = """\
[engine]
name = "Invented 539 triple"
layout = "inline"                 # single, inline, V, flat
cylinders = 3
firing_order = [1, 3, 2]
firing_angles = [0, 240, 480]
bore = "61 mm"
stroke = "61.5 mm"
rod = "118 mm"
compression_ratio = 9.4
[cams]
inlet = { opens = "22 deg BTDC", closes = "54 deg ABDC" }
exhaust = { opens = "56 deg BBDC", closes = "20 deg ATDC" }
ramp = "30 deg"
timing_at = "seat"
arrangement = "two camshafts"
[valves]
inlet = 1
exhaust = 1
adjustment = "shim over bucket"
inlet_clearance = "0.08..0.13 mm"
exhaust_clearance = "0.13..0.18 mm"
[shims]
sizes = "2.00..3.20 mm step 0.05 mm"
price = 8.0
[show]
clearance = "thou"
"""


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(EngineFileError) as caught:
        parse_engine_file(text, "E.toml")
    return caught.value.problems


def only_problem(text: str) -> Problem:
    found = problems(text)
    assert len(found) == 1, [str(problem) for problem in found]
    return found[0]


def changed(old: str, new: str) -> str:
    assert TRIPLE.count(old) == 1
    return TRIPLE.replace(old, new)


def test_the_example_gives_si_numbers_and_plain_words() -> None:
    ef = parse_engine_file(TRIPLE, "E.toml")
    assert ef.engine.bore_m == 0.061
    assert ef.engine.stroke_m == 0.0615
    assert ef.engine.rod_m == 0.118
    assert ef.engine.compression_ratio == 9.4
    assert ef.engine.firing_order == (1, 3, 2)
    assert ef.engine.firing_angles_deg == (0.0, 240.0, 480.0)
    assert ef.cams is not None
    assert ef.cams.inlet is not None
    assert ef.cams.exhaust is not None
    assert (ef.cams.inlet.opens_deg, ef.cams.inlet.closes_deg) == (22.0, 54.0)
    assert (ef.cams.exhaust.opens_deg, ef.cams.exhaust.closes_deg) == (56.0, 20.0)
    assert (ef.cams.ramp_deg, ef.cams.timing_at_m) == (30.0, 0.0)
    assert ef.limits_m("in2") == (0.00008, 0.00013)
    assert ef.limits_m("ex3") == (0.00013, 0.00018)
    assert ef.shims is not None
    assert len(ef.shims.sizes_m) == 25
    assert (ef.shims.sizes_m[0], ef.shims.sizes_m[-1], ef.shims.price) == (0.002, 0.0032, 8.0)
    assert ef.show.unit("clearance") == "thou"
    assert ef.show.unit("shim") == "mm"


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "given", "in_instead"),
    [
        ('"61 mm"', '"6.4 m"', 7, "engine.bore", "6.4 m", '"64 mm" (did you mean that?)'),
        ('"61 mm"', '"64 in"', 7, "engine.bore", "64 in", '"64 mm" (did you mean that?)'),
        ('"61 mm"', "61", 7, "engine.bore", "61", '"65 mm"'),
        ('"61 mm"', '"61"', 7, "engine.bore", "61", "mm"),
        ('"61.5 mm"', '"615 mm"', 8, "engine.stroke", "615 mm", '"61.5 mm" (did you mean'),
        ("9.4", "92", 10, "engine.compression_ratio", "92", "9.2 (did you mean that?)"),
        ("9.4", "nan", 10, "engine.compression_ratio", "nan", ""),
        ('"inline" ', '"parallell"', 3, "engine.layout", "parallell", '"inline" (did you mean'),
        ("[1, 3, 2]", "[3, 2, 1]", 5, "engine.firing_order", "[3, 2, 1]", "[1, 3, 2]"),
        ('closes = "54 deg ABDC"', 'closes = "54"', 12, "cams.inlet.closes", "54", '"54 deg ABDC"'),
        ('"20 deg ATDC"', '"20 deg ABDC"', 13, "cams.exhaust.closes", "20 deg ABDC", "20 deg ATDC"),
        ('"20 deg ATDC"', '"-20 deg ATDC"', 13, "cams.exhaust.closes", "-20 deg ATDC",
         "20 deg BTDC"),
        ('"seat"', '"valve"', 15, "cams.timing_at", "valve", '"seat" or "1 mm"'),
        ('"two camshafts"', '"two camshaft"', 16, "cams.arrangement", "two camshaft",
         '"two camshafts" (did you mean'),
        ('"0.08..0.13 mm"', '"0.13..0.08 mm"', 21, "valves.inlet_clearance", "0.13..0.08 mm",
         '"0.08..0.13 mm"'),
        ('"0.08..0.13 mm"', '"0.08..0.13 in"', 21, "valves.inlet_clearance", "0.08..0.13 in",
         '"0.08 mm..0.13 mm" (did you mean'),
        ('"0.08..0.13 mm"', '"0.1 m"', 21, "valves.inlet_clearance", "0.1 m", '"0.1 mm'),
        ('"0.13..0.18 mm"', '"0.13 mm"', 22, "valves.exhaust_clearance", "0.13 mm", ".."),
        ('"thou"', '"thuo"', 27, "show.clearance", "thuo", '"thou" (did you mean that?)'),
    ],
)  # fmt: skip
def test_one_slip_is_told_with_line_key_and_what_was_meant(
    old: str, new: str, line: int, key: str, given: str, in_instead: str
) -> None:
    problem = only_problem(changed(old, new))
    assert (problem.line, problem.key, problem.given) == (line, key, given)
    assert in_instead in problem.instead
    assert problem.allowed or problem.instead or given == "nan"
    assert str(problem.line) in str(problem)


def test_a_suggested_range_can_be_typed_as_it_stands() -> None:
    told = only_problem(changed('"0.08..0.13 mm"', '"0.08..0.13 in"')).instead
    meant = told.split('"')[1]
    ef = parse_engine_file(changed('"0.08..0.13 mm"', f'"{meant}"'))
    assert ef.limits_m("in1") == (0.00008, 0.00013)


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "words"),
    [
        ('"118 mm"', '"30 mm"', 9, "engine.rod", "not a size"),
        ('"118 mm"', '"0.118 mm"', 9, "engine.rod", "not a size"),
        ("[1, 3, 2]", "[1, 3, 3]", 5, "engine.firing_order", "every cylinder once"),
        ("[1, 3, 2]", "[1, 3]", 5, "engine.firing_order", "every cylinder once"),
        ("[1, 3, 2]", "[0, 1, 2]", 5, "engine.firing_order", "outside what is possible"),
        ("[1, 3, 2]", '"1-3-2"', 5, "engine.firing_order", "list"),
        ("[0, 240, 480]", "[0, 480, 240]", 6, "engine.firing_angles", "must rise"),
        ("[0, 240, 480]", "[0, 240, 240]", 6, "engine.firing_angles", "must rise"),
        ("[0, 240, 480]", "[0, 240, 720]", 6, "engine.firing_angles", "outside what is possible"),
        ("[0, 240, 480]", "[0, -240, 480]", 6, "engine.firing_angles", "outside what is possible"),
        ("[0, 240, 480]", "[10, 240, 480]", 6, "engine.firing_angles", "begin with 0"),
        ("[0, 240, 480]", "[0, 240]", 6, "engine.firing_angles", "one firing angle for each"),
        ("cylinders = 3", "cylinders = 13", 4, "engine.cylinders", "outside what is possible"),
        ("cylinders = 3", "cylinders = true", 4, "engine.cylinders", "whole number"),
        ("cylinders = 3", "cylinders = 3.0", 4, "engine.cylinders", "whole number"),
        ('"54 deg ABDC"', '"540 deg ABDC"', 12, "cams.inlet.closes", "never close"),
        ('"54 deg ABDC"', '"119 deg BBDC"', 12, "cams.inlet.closes", "before it has properly"),
        ('"30 deg"', '"95 deg"', 14, "cams.ramp", "outside what is possible"),
        ("sizes = \"2.00..3.20 mm step 0.05 mm\"", "sizes = \"2.00..3.20 mm step 0 mm\"", 24,
         "shims.sizes", "step above zero"),
        ('"2.00..3.20 mm step 0.05 mm"', '"2.00..3.20 mm"', 24, "shims.sizes", "no step"),
        ('"2.00..3.20 mm step 0.05 mm"', '"20..32 mm step 0.5 mm"', 24, "shims.sizes",
         "not a size"),
        ("price = 8.0", "price = -8.0", 25, "shims.price", "outside what is possible"),
        ("inlet = 1\n", "inlet = 4\n", 18, "valves.inlet", "outside what is possible"),
        ('name = "Invented 539 triple"', "name = 539", 2, "engine.name", "text in quotes"),
        ('name = "Invented 539 triple"', 'name = "  "', 2, "engine.name", "empty"),
        ('name = "Invented 539 triple"', 'name = "a\\u0007b"', 2, "engine.name", "printed"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(old: str, new: str, line: int, key: str, words: str) -> None:
    problem = only_problem(changed(old, new))
    assert problem.key.startswith(key)
    assert problem.line == line
    assert words in problem.problem


def test_a_rod_shorter_than_half_the_stroke_could_not_turn() -> None:
    text = changed('"61.5 mm"', '"120 mm"').replace('"118 mm"', '"59 mm"')
    problem = only_problem(text)
    assert (problem.line, problem.key) == (9, "engine.rod")
    assert "half the stroke" in problem.problem
    assert "60 mm" in problem.allowed


def test_three_inlet_and_three_exhaust_valves_are_too_many() -> None:
    text = changed("inlet = 1\n", "inlet = 3\n").replace("exhaust = 1\n", "exhaust = 3\n")
    assert "five valves" in only_problem(text).problem


def test_every_problem_is_told_at_once_in_the_order_of_the_file() -> None:
    text = TRIPLE
    for old, new in (
        ('"61 mm"', '"6.4 m"'),
        ("compression_ratio = 9.4", "compresion_ratio = 9.4"),
        ('"118 mm"', "118 mm"),
        ('"30 deg"', '"300 deg"'),
        ('"0.08..0.13 mm"', '"0.13..0.08 mm"'),
        ('clearance = "thou"', 'clearance = "thou"\n[marks]\ntdc = [1, 4]'),
    ):
        text = text.replace(old, new)
    found = problems(text)
    assert [(p.line, p.key) for p in found] == [
        (7, "engine.bore"),
        (9, "engine.rod"),
        (10, "engine.compresion_ratio"),
        (14, "cams.ramp"),
        (21, "valves.inlet_clearance"),
    ]
    # What contradicts the engine is told once the engine itself is sound.
    text = text.replace('"6.4 m"', '"64 mm"').replace("compresion", "compression")
    assert (29, "marks.tdc[1]") in [(p.line, p.key) for p in problems(text)]
    message = str(EngineFileError("E.toml", found))
    assert message.count("E.toml, line") == 5


def test_an_unknown_key_names_the_nearest_one() -> None:
    problem = only_problem(changed("ramp =", "rmap ="))
    assert (problem.line, problem.key, problem.given) == (14, "cams.rmap", "rmap")
    assert problem.instead == "ramp (did you mean that?)"
    assert "arrangement" in problem.allowed


def test_a_key_in_the_wrong_table_is_sent_home() -> None:
    problem = only_problem(changed("price = 8.0", "price = 8.0\nguard = 0"))
    assert problem.instead == "it under [valves] (did you mean that?)"


def test_an_unknown_table_names_the_nearest_one() -> None:
    problem = only_problem(changed("[show]", "[shows]"))
    assert (problem.line, problem.key) == (26, "shows")
    assert problem.instead == "[show] (did you mean that?)"


def test_a_key_above_its_table_is_sent_home() -> None:
    problem = only_problem("rod = '118 mm'\n" + changed('rod = "118 mm"\n', ""))
    assert (problem.line, problem.key) == (1, "rod")
    assert "[engine]" in problem.instead


@pytest.mark.parametrize("key", ["name", "layout"])
def test_a_missing_key_is_named_with_the_line_of_its_table(key: str) -> None:
    lines = [line for line in TRIPLE.split("\n") if not line.startswith(f"{key} =")]
    problem = only_problem("\n".join(lines))
    assert (problem.line, problem.key) == (1, f"engine.{key}")
    assert "missing" in problem.problem


def test_the_number_of_cylinders_is_asked_for_unless_it_is_a_single() -> None:
    problem = only_problem('[engine]\nname = "a"\nlayout = "inline"\n')
    assert "number of cylinders" in problem.problem
    assert parse_engine_file('[engine]\nname = "a"\nlayout = "single"\n').engine.cylinders == 1


def test_missing_half_of_a_lobe_is_named_with_the_line_of_the_lobe() -> None:
    problem = only_problem(changed(', closes = "54 deg ABDC"', ""))
    assert (problem.line, problem.key) == (12, "cams.inlet.closes")


def test_a_value_where_a_table_belongs() -> None:
    assert "table" in only_problem("cams = 3\n" + TRIPLE.split("[cams]")[0]).problem
    found = only_problem(changed('{ opens = "22 deg BTDC", closes = "54 deg ABDC" }', '"early"'))
    assert "opens" in found.instead


def test_no_engine_table() -> None:
    problem = only_problem("# nothing yet\n")
    assert (problem.line, problem.key) == (None, "engine")
    assert "[engine]" in problem.instead


# -- what is not TOML ------------------------------------------------------------------------


def test_forgotten_quotes_are_shown_put_right() -> None:
    problem = only_problem(changed('"61 mm"', "61 mm  # as measured"))
    assert (problem.line, problem.key) == (7, "engine.bore")
    assert problem.instead == 'bore = "61 mm"'


def test_a_decimal_comma_without_quotes_is_shown_put_right() -> None:
    problem = only_problem(changed("= 9.4", "= 9,4"))
    assert problem.instead == 'compression_ratio = "9,4"'
    assert parse_engine_file(changed("= 9.4", '= "9,4"')).engine.compression_ratio == 9.4


def test_a_key_given_twice_is_named() -> None:
    problem = only_problem(changed('rod = "118 mm"', 'rod = "118 mm"\nrod = "119 mm"'))
    assert (problem.line, problem.key) == (10, "engine.rod")
    assert "twice" in problem.problem


def test_a_table_given_twice_is_named() -> None:
    text = '[engine]\nname = "B"\nlayout = "single"\n[oil]\ngrade = "20W-50"\n[oil]\n'
    problem = only_problem(text)
    assert (problem.line, problem.given) == (6, "[oil]")
    assert "twice" in problem.problem
    assert problem.instead == "its keys under the first one"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[engine]\nname = \n", 2),
        ("[engine\n", 1),
        ('[engine]\nname = "open\n', 2),
        ("[engine]\nfiring_order = [1, 2\n\n\n", 2),
        ("\n\nthis is a letter to a friend\n", 3),
        ("= 3\n", 1),
        ("<html>\n", 1),
    ],
)
def test_what_is_not_toml_is_told_with_its_line(text: str, line: int) -> None:
    problem = problems(text)[0]
    assert problem.line == line
    assert "not TOML" in problem.problem


def test_a_number_of_five_thousand_digits() -> None:
    assert problems(f"[engine]\ncylinders = {'9' * 3999}\n")
    assert "too long" in problems(f"[engine]\ncylinders = {'9' * 5000}\n")[0].problem


def test_deep_nesting_is_refused_without_falling_over() -> None:
    deep = "a = " + "\n".join("[" * 100 for _ in range(100))
    assert "nested too deeply" in only_problem(deep).problem
    assert only_problem(TRIPLE + ".".join("a" * 200) + " = 1\n").line == TRIPLE.count("\n") + 1
    assert "too long" in only_problem(".".join("a" * 1900) + " = 1\n").problem


def test_thousands_of_unknown_keys_are_capped() -> None:
    many = "".join(f"k{n} = 1\n" for n in range(5000))
    found = problems(many)
    assert len(found) == 101
    assert "more problems" in found[-1].problem


def test_a_file_without_any_quotes_is_told_twenty_lines_and_that_there_may_be_more() -> None:
    found = problems("[engine]\n" + "".join(f"k{n} = 1 mm\n" for n in range(30)))
    assert [problem.line for problem in found] == [*range(2, 22), None]
    assert "more problems" in found[-1].problem


def test_more_lines_than_any_machine_needs() -> None:
    assert "too many" in only_problem("# line\n" * 20_001).problem


def test_carriage_returns_and_a_byte_order_mark_do_no_harm() -> None:
    windows = "\ufeff" + TRIPLE.replace("\n", "\r\n")
    assert parse_engine_file(windows) == parse_engine_file(TRIPLE)
    assert only_problem(windows.replace('"61 mm"', '"6.4 m"')).line == 7


@pytest.mark.parametrize("text", ["", "   \n\n", "\ufeff"])
def test_an_empty_file(text: str) -> None:
    assert "empty" in only_problem(text).problem


# -- files ----------------------------------------------------------------------------------


def file_problem(path: Path) -> str:
    with pytest.raises(EngineFileError) as caught:
        load_engine_file(path)
    assert str(path) in str(caught.value)
    assert isinstance(caught.value, InputError)
    return str(caught.value)


def test_a_good_file(tmp_path: Path) -> None:
    path = tmp_path / "E.toml"
    path.write_text(TRIPLE, encoding="utf-8")
    assert load_engine_file(path) == load_engine_file(str(path)) == parse_engine_file(TRIPLE)


def test_a_missing_file(tmp_path: Path) -> None:
    assert "no such file" in file_problem(tmp_path / "nowhere.toml")


def test_a_folder(tmp_path: Path) -> None:
    assert "folder" in file_problem(tmp_path)


def test_a_path_through_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("x")
    assert "cannot be opened" in file_problem(tmp_path / "a" / "b")


def test_a_name_with_a_zero_byte() -> None:
    with pytest.raises(EngineFileError, match="cannot be opened"):
        load_engine_file("a\0b")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this platform has no named pipes")
def test_a_pipe_nobody_writes_to(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "ordinary file" in file_problem(tmp_path / "pipe")


def test_fifty_megabytes_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    assert "50.0 MB" in file_problem(path)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\x7fELF\x00\x01\x02", "not a text file"),
        ("[engine]".encode("utf-16"), "UTF-16"),
        ('[engine]\nname = "Größe"'.encode("latin-1"), "line 2: This line holds a character"),
        (b"", "empty"),
        (b"PK\x03\x04zip", "not TOML"),
    ],
)
def test_what_is_no_text_gets_a_sentence(tmp_path: Path, raw: bytes, words: str) -> None:
    path = tmp_path / "odd.toml"
    path.write_bytes(raw)
    assert words in file_problem(path)
