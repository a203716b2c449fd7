"""The JSON Schema of the engine file, for editors that check and complete while one writes.

It describes the TOML as a person writes it: quantities are strings with their unit. What needs
two keys at once (a rod longer than half the stroke, firing angles that the crank can give) is left
to the loader. `python -m tickover.engine.schema` writes the published file anew.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from tickover.engine.model import EngineFile

PUBLISHED = Path(__file__).with_name("engine-file.schema.json")
DIALECT = GenerateJsonSchema.schema_dialect


def engine_file_schema() -> dict[str, Any]:
    """The schema as a dict, draft 2020-12.

    Returns
    -------
    dict

    Examples
    --------
    >>> engine_file_schema()["required"]
    ['engine']
    """
    schema = EngineFile.model_json_schema(by_alias=True)
    schema = _as_written(schema)
    schema["title"] = "Engine file"
    return {"$schema": DIALECT, "$id": "urn:tickover:engine-file", **schema}


def schema_text() -> str:
    """The schema as it is published."""
    return json.dumps(engine_file_schema(), indent=1, ensure_ascii=False) + "\n"


def publish(path: Path = PUBLISHED) -> Path:
    """Write the schema file and return its path."""
    path.write_text(schema_text(), encoding="utf-8")
    return path


def _as_written(node: Any) -> Any:
    """Without what TOML has no word for: null, defaults in SI, titles of the model's own."""
    if isinstance(node, list):
        return [_as_written(each) for each in node]
    if not isinstance(node, dict):
        return node
    options = node.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        node = {**node, "anyOf": [each for each in options if each != {"type": "null"}]}
        if len(node["anyOf"]) == 1:
            node = {**{k: v for k, v in node.items() if k != "anyOf"}, **node["anyOf"][0]}
    return {
        key: {name: _as_written(each) for name, each in value.items()}
        if key in ("properties", "$defs")
        else _as_written(value)
        for key, value in node.items()
        if key != "default" and not (key == "title" and isinstance(value, str))
    }


if __name__ == "__main__":
    print(publish())
