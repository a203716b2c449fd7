"""Lines of keys, held against the standard reader's idea of which keys there are."""

import tomllib
from typing import Any

from tickover.engine.source import DEEPEST, Path, key_lines

TRICKY = '''\
# a comment with [brackets] and "quotes"
top = 1
[a]
plain = "x = 1"          # [not.a.table]
"quoted key" = 'lit'
dotted.key.path = 3
inline = { one = 1, two = { deep = [1, 2] } }
list = [
  "first",   # with a comment, and ] inside
  'second',
  { name = "third", n = 3 },
]
long = """
[fake]
key = 1
"""
quotes = """ends in two ""\\"""""
literal = \'\'\'
it's ''fine\'\'\'
when = 1979-05-27 07:32:00
[[parts]]
name = "one"
[[parts]]
name = "two"
[parts.inner]
deep = true
[[parts.bolts]]
size = 6
["odd [name]".'x.y']
z = {}
empty = []
'''


def paths_of(value: Any, at: Path = ()) -> set[Path]:
    """All paths the standard reader sees."""
    found: set[Path] = {at} if at else set()
    if isinstance(value, dict):
        for key, each in value.items():
            found |= paths_of(each, (*at, key))
    elif isinstance(value, list):
        for i, each in enumerate(value):
            found |= paths_of(each, (*at, i))
    return found


def test_exactly_the_keys_of_the_standard_reader_get_a_line() -> None:
    assert set(key_lines(TRICKY)) == paths_of(tomllib.loads(TRICKY))


def test_lines_are_those_a_person_would_point_at() -> None:
    lines = key_lines(TRICKY)
    text = TRICKY.split("\n")
    for path, word in {
        ("top",): "top =",
        ("a",): "[a]",
        ("a", "dotted", "key", "path"): "dotted.key",
        ("a", "inline", "two", "deep", 1): "inline",
        ("a", "list", 1): "'second'",
        ("a", "list", 2, "n"): "third",
        ("a", "when"): "when",
        ("parts", 1, "name"): '"two"',
        ("parts", 1, "inner", "deep"): "deep = true",
        ("parts", 1, "bolts", 0, "size"): "size",
        ("odd [name]", "x.y", "z"): "z =",
    }.items():
        assert word in text[lines[path] - 1], path


def test_text_that_is_not_toml_gives_what_was_found() -> None:
    assert key_lines("[a]\nb = 1\n]]] c") == {("a",): 1, ("a", "b"): 2}
    assert key_lines('x = [1, "open') == {("x",): 1, ("x", 0): 1, ("x", 1): 1}


def test_what_lies_deeper_than_any_machine_gets_the_line_above() -> None:
    lines = key_lines("x = 1\n" + ".".join("a" * 300) + " = 1\n")
    assert max(len(path) for path in lines) == DEEPEST
    assert lines[("a",) * DEEPEST] == 2
