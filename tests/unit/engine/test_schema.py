"""The schema for editors: published as it is, and of one mind with the loader."""

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema  # type: ignore[import-untyped]  # no stubs in the lock
import pytest

from tickover.engine.schema import PUBLISHED, engine_file_schema, publish, schema_text

EXAMPLES = sorted((Path(__file__).parents[3] / "examples" / "engines").glob("*.toml"))
VALIDATOR = jsonschema.Draft202012Validator(json.loads(PUBLISHED.read_text(encoding="utf-8")))


def test_the_published_schema_is_up_to_date() -> None:
    assert PUBLISHED.read_text(encoding="utf-8") == schema_text()


def test_it_is_sound_draft_2020_12() -> None:
    jsonschema.Draft202012Validator.check_schema(engine_file_schema())
    assert engine_file_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_publishing_writes_it(tmp_path: Path) -> None:
    assert publish(tmp_path / "s.json").read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_is_valid(path: Path) -> None:
    VALIDATOR.validate(tomllib.loads(path.read_text(encoding="utf-8")))


def test_every_key_is_described() -> None:
    def walk(node: dict[str, Any], at: str) -> None:
        for key, each in node.get("properties", {}).items():
            assert each.get("description"), f"{at}.{key}"

    schema = engine_file_schema()
    walk(schema, "")
    for name, table in schema["$defs"].items():
        walk(table, name)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('bore = "61 mm"', "bore = 61"),
        ('bore = "61 mm"', 'bore = "mm"'),
        ('bore = "61 mm"', 'boer = "61 mm"'),
        ('layout = "inline"', 'layout = "parallel"\nlayuot = 1'),
        ('layout = "inline"', 'layout = "star"'),
        ("cylinders = 3", "cylinders = 0"),
        ("cylinders = 3", 'cylinders = "3"'),
        ("firing_angles = [0, 240, 480]", "firing_angles = [0, 240, 720]"),
        ("firing_order = [1, 3, 2]", 'firing_order = "132"'),
        ('opens = "22 deg BTDC"', 'opens = "22 deg"'),
        ('opens = "22 deg BTDC"', 'opens = "22 deg BBDC"'),
        (', closes = "54 deg ABDC"', ""),
        ('adjustment = "shim over bucket"', 'adjustment = "hammer"'),
        ("price = 8.0", "price = -1"),
        ("[valves]", "[valvse]"),
        ('name = "Invented 539 triple"', 'name = ""'),
        ("compression_ratio = 9.4", "compression_ratio = 92"),
    ],
)
def test_broken_files_are_not_valid(old: str, new: str) -> None:
    text = next(path for path in EXAMPLES if path.stem == "triple-240").read_text(encoding="utf-8")
    assert old in text
    assert VALIDATOR.is_valid(tomllib.loads(text))
    assert not VALIDATOR.is_valid(tomllib.loads(text.replace(old, new, 1)))
