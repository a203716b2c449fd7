"""Keys changed one by one: what was meant is written, everything else stays to the letter."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tickover.engine.editing import changed_text, toml_value, typed_value, value_of, with_tables
from tickover.errors import InputError

TRIPLE = (Path(__file__).parents[3] / "examples" / "engines" / "triple-240.toml").read_text()


def lines_changed(before: str, after: str) -> list[tuple[str, str]]:
    pairs = zip(before.splitlines(), after.splitlines(), strict=True)
    return [(old, new) for old, new in pairs if old != new]


def test_a_changed_key_keeps_its_comment_and_every_other_line() -> None:
    after = changed_text(
        TRIPLE, {("valves", "inlet"): 2, ("cams", "inlet", "opens"): "20 deg BTDC"}
    )
    assert lines_changed(TRIPLE, after) == [
        ('inlet = { opens = "22 deg BTDC", closes = "54 deg ABDC" }',
         'inlet = { opens = "20 deg BTDC", closes = "54 deg ABDC" }'),
        ("inlet = 1                         # per cylinder",
         "inlet = 2                         # per cylinder"),
    ]  # fmt: skip


def test_nothing_changed_is_the_same_text() -> None:
    assert changed_text(TRIPLE, {}) == TRIPLE
    assert changed_text(TRIPLE, {("valves", "guard"): None}) == TRIPLE


def test_a_table_goes_with_its_last_key_and_no_earlier() -> None:
    text = '[engine]\nname = "a"\n\n[exhaust]\nsilencers = "open"\nnote = "x"\n'
    once = changed_text(text, {("exhaust", "note"): None})
    assert value_of(once)["exhaust"] == {"silencers": "open"}
    assert "exhaust" not in value_of(changed_text(once, {("exhaust", "silencers"): None}))


def test_words_from_a_person_cannot_leave_their_quotes() -> None:
    hostile = '"\n[evil]\nx = 1 # \\'
    text = changed_text("", {("engine", "name"): hostile})
    assert tomllib.loads(text) == {"engine": {"name": hostile}}


def test_lists_of_tables_grow_at_their_place_and_change_by_name() -> None:
    new = [{"name": "top ring", "kind": "ring gap", "limits": "0.2..0.4 mm"},
           {"name": "cam lobe", "kind": "length", "limits": "1 mm"}]  # fmt: skip
    data, before = value_of(with_tables(TRIPLE, "fits", new)), value_of(TRIPLE)
    assert [f["name"] for f in data["fits"]] == [*(f["name"] for f in before["fits"]), "cam lobe"]
    ring = next(f for f in data["fits"] if f["name"] == "top ring")
    assert (ring["limits"], ring["wear_limit"]) == ("0.2..0.4 mm", "0.60 mm")
    assert {k: v for k, v in data.items() if k != "fits"} == {
        k: v for k, v in before.items() if k != "fits"
    }


def test_a_header_inside_a_text_of_several_lines_is_left_alone() -> None:
    text = 'note = """\na\n[[fits]]\n"""\n'
    assert value_of(with_tables(text, "fits", [{"name": "a"}]))["note"] == "a\n[[fits]]\n"


@pytest.mark.parametrize(("text", "change"), [
    ("[engine\n", {("engine", "name"): "a"}),
    ('engine = "a"\n', {("engine", "name"): "a"}),
])  # fmt: skip
def test_what_cannot_be_changed_is_refused_in_words(text: str, change: dict) -> None:
    with pytest.raises(InputError):
        changed_text(text, change)


def test_one_table_where_several_are_wanted_is_refused() -> None:
    with pytest.raises(InputError, match="double brackets"):
        with_tables('[fits]\nname = "a"\n', "fits", [{"name": "b"}])


@pytest.mark.parametrize(("typed", "form", "held"), [
    ("  ", "value", None),
    ("61 mm", "value", "61 mm"),
    ("8,5", "value", 8.5),
    ("125", "words", "125"),
    ("3", "whole", 3),
    ("1-3-2", "list", [1, 3, 2]),
    ("0, 240, 480", "list", [0, 240, 480]),
    ("1500 10, 3000 34", "pairs", [[1500, 10], [3000, 34]]),
    ("1-4; 2-3", "groups", [[1, 4], [2, 3]]),
    ("38/14 34/18 1.0", "ratios", ["38/14", "34/18", 1.0]),
    ("yes", "yes", True),
    ("2.00..3.20 mm step 0.05 mm", "sizes", "2.00..3.20 mm step 0.05 mm"),
    ("2 mm; 2.1 mm", "sizes", ["2 mm", "2.1 mm"]),
])  # fmt: skip
def test_what_is_typed_becomes_what_the_file_holds_and_back(typed, form, held) -> None:
    assert toml_value(typed, form) == held
    assert toml_value(typed_value(held, form), form) == held


@pytest.mark.parametrize(("typed", "form"), [("perhaps", "yes"), ("1-x-2", "list"),
                                             ("a b", "pairs"), ("-", "list")])  # fmt: skip
def test_what_cannot_be_that_says_how_to_write_it(typed: str, form) -> None:
    with pytest.raises(InputError) as refused:
        toml_value(typed, form)
    assert refused.value.instead
