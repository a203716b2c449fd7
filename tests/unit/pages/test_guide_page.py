"""The guide: every question is a key of the engine file, and answers become that file."""

from __future__ import annotations

import pytest

from tickover.engine import parse_engine_file
from tickover.engine.editing import changed_text, toml_value
from tickover.engine.guided import STEPS
from tickover.engine.similar import examples
from tickover.errors import InputError
from tickover.pages.guide import Refused, answered, guide_page
from tickover.pages.head import Head

HEAD = Head("b", "Shed", "on the stand", ())
TWIN = '[engine]  # mine\nname = "Twin"\nlayout = "inline"\ncylinders = 2\n'


def test_every_example_shown_can_be_written_as_it_stands() -> None:
    """What is shown beside a field, typed into it, must be taken: single keys may need others."""
    for step in STEPS:
        for question in step.questions:
            assert question.meaning, question.name
            value = toml_value(question.example, question.form)
            assert value is not None, question.name
            if question.choices:
                assert question.example in question.choices, question.name


def test_all_examples_of_a_step_together_make_a_sound_file() -> None:
    triple = '[engine]\nname = "T"\nlayout = "inline"\ncylinders = 3\n'
    left_out = {"engine.name", "engine.layout", "engine.cylinders", "engine.v_angle",
                "engine.crank", "engine.crankpins", "ignition.coils", "marks.tdc"}  # fmt: skip
    text = triple
    for step in STEPS:
        typed = {q.name: q.example for q in step.questions if q.name not in left_out}
        result = answered(text, step.key, typed)
        assert not isinstance(result, Refused), (step.key, result)
        text = result
    engine = parse_engine_file(text)
    assert engine.engine.firing_order == (1, 3, 2)
    assert engine.oil is not None
    for step in STEPS:
        for line in guide_page(engine, text, step.key, HEAD).asked:
            if line.name not in left_out:
                assert line.value == line.example, line.name


def test_an_answer_is_written_and_the_comments_stay() -> None:
    text = answered(TWIN, "size", {"engine.bore": "61 mm", "engine.compression_ratio": "9,4"})
    assert text == TWIN + 'bore = "61 mm"\ncompression_ratio = 9.4\n'
    assert answered(str(text), "size", {"engine.bore": ""}) == TWIN + "compression_ratio = 9.4\n"


def test_what_is_not_in_the_form_is_not_touched() -> None:
    assert answered(TWIN, "machine", {}) == TWIN
    assert answered(TWIN, "machine", {"engine.name": " Twin "}) == TWIN


def test_a_note_of_several_lines_is_not_flattened_by_being_shown() -> None:
    text = TWIN + 'notes = """one\ntwo"""\n'
    for sent in ("one two", "onetwo"):
        assert answered(text, "machine", {"engine.notes": sent}) == text
    assert answered(text, "machine", {"engine.notes": "three"}) == TWIN + 'notes = "three"\n'


def test_a_refusal_stands_beside_its_question_and_writes_nothing() -> None:
    result = answered(TWIN, "size", {"engine.bore": "61", "engine.stroke": "7 m"})
    assert isinstance(result, Refused)
    assert set(result.errors) == {"engine.bore", "engine.stroke"}
    assert "unit" in result.errors["engine.bore"].problem


def test_a_refusal_that_belongs_to_another_step_says_which() -> None:
    text = TWIN.replace("cylinders = 2", "cylinders = 3") + "firing_order = [1, 3, 2]\n"
    result = answered(text, "machine", {"engine.cylinders": "2"})
    assert isinstance(result, Refused)
    assert [step for _, step in result.others] == ["firing"]


@pytest.mark.parametrize("typed", ["1-x", "1-1", "9"])
def test_a_firing_order_that_cannot_be_is_refused(typed: str) -> None:
    result = answered(TWIN, "firing", {"engine.firing_order": typed})
    assert isinstance(result, Refused)
    assert "engine.firing_order" in result.errors


def test_the_page_counts_what_is_given_and_says_what_is_not_checked() -> None:
    page = guide_page(parse_engine_file(TWIN), TWIN, "oil", HEAD)
    assert {(s.key, s.filled) for s in page.steps if s.filled} == {("machine", 3)}
    assert page.next_key == "fuel"
    assert any("Oil" in words or "oil" in words for words in page.falls_away)
    with pytest.raises(InputError, match="no such step"):
        guide_page(parse_engine_file(TWIN), TWIN, "soup", HEAD)


def test_every_example_machine_can_be_taken_over_under_a_new_name() -> None:
    assert len(examples()) >= 10
    for text in examples().values():
        changed = changed_text(text, {("engine", "name"): "Mine"})
        assert parse_engine_file(changed).engine.name == "Mine"
        assert changed.count("\n") == text.count("\n")


@pytest.mark.parametrize(
    ("layout", "cylinders", "asked"),
    [
        ("single", 1, set()),
        ("inline", 2, {"engine.firing_order", "engine.firing_angles", "engine.crank"}),
        ("inline", 3, {"engine.firing_order", "engine.firing_angles"}),
        ("V", 2, {"engine.firing_order", "engine.firing_angles", "engine.crankpins"}),
    ],
)
def test_only_what_means_something_for_the_layout_is_asked(
    layout: str, cylinders: int, asked: set[str]
) -> None:
    angle = 'v_angle = "60 deg"\n' if layout == "V" else ""
    text = f'[engine]\nname = "A"\nlayout = "{layout}"\ncylinders = {cylinders}\n{angle}'
    page = guide_page(parse_engine_file(text), text, "firing", HEAD)
    some = {
        "engine.firing_order", "engine.firing_angles", "engine.crank", "engine.crankpins",
    }  # fmt: skip
    assert {line.name for line in page.asked} & some == asked
    assert "engine.rotation" in {line.name for line in page.asked}


def test_what_is_written_already_is_shown_even_where_it_means_nothing() -> None:
    text = '[engine]\nname = "A"\nlayout = "single"\ncylinders = 1\nfiring_order = [1]\n'
    page = guide_page(parse_engine_file(text), text, "firing", HEAD)
    assert "engine.firing_order" in {line.name for line in page.asked}
