"""Changing single keys of an engine file's text; everything else, comments too, stays as it is."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from tickover.errors import InputError

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

Form = Literal["words", "value", "whole", "list", "ratios", "pairs", "groups", "yes", "sizes"]
"""How what is typed becomes TOML: text; a number or a quantity; a count; numbers one after the
other; numbers or words one after the other; pairs; groups; yes or no; sizes with semicolons."""
KeyPath = tuple[str, ...]

_NUMBER = re.compile(r"[+-]?[0-9]{1,15}(?:[.,][0-9]{1,15})?")
_BETWEEN = re.compile(r"[\s,;>-]+")


def changed_text(text: str, changes: Mapping[KeyPath, Any]) -> str:
    """The text with some keys set, or taken out where the value is None.

    Parameters
    ----------
    text : str
        TOML; may be empty.
    changes : mapping of tuple of str to value
        ('cams', 'inlet', 'opens') to what TOML can hold.

    Returns
    -------
    str
        A table that only held keys taken out here goes with them.

    Raises
    ------
    InputError
        The text is not TOML, or something else stands where a table must.

    Examples
    --------
    >>> print(changed_text('[engine]  # mine\\nbore = "61 mm"  # worn\\n',
    ...                    {("engine", "bore"): "61.5 mm", ("valves", "inlet"): 2}))
    [engine]  # mine
    bore = "61.5 mm"  # worn
    <BLANKLINE>
    [valves]
    inlet = 2
    <BLANKLINE>
    """
    document = _document(text)
    for path, value in changes.items():
        if value is None:
            _take_out(document, path)
        else:
            _put_in(document, path, value)
    return document.as_string()


def with_tables(text: str, name: str, tables: Sequence[Mapping[str, Any]]) -> str:
    """The text with further [[name]] tables at its end; one of the same name is changed in place.

    Raises
    ------
    InputError
        The text is not TOML, or `name` stands in it in another way.
    """
    import tomlkit

    document = _document(text)
    if name not in document:
        document.append(name, tomlkit.aot())
    there = document[name]
    if not isinstance(there, list):
        raise InputError(f"[{name}] may stand several times, so it is written in double brackets",
                         instead=f"[[{name}]]", where=name)  # fmt: skip
    for table in tables:
        same = next((each for each in there if each.get("name") == table.get("name")), None)
        target = tomlkit.table() if same is None else same
        for key, value in table.items():
            target[key] = value
        if same is None:
            there.append(target)
    return _set_apart(document.as_string(), f"[[{name}]]")


def value_of(text: str) -> dict[str, Any]:
    """Everything the text holds, as plain data.

    Raises
    ------
    InputError
        It is not TOML.
    """
    data: dict[str, Any] = _document(text).unwrap()
    return data


def at_path(data: Mapping[str, Any], path: KeyPath) -> Any:
    """What stands at a path; None where nothing does.

    >>> at_path({"cams": {"inlet": {"opens": "22 deg BTDC"}}}, ("cams", "inlet", "opens"))
    '22 deg BTDC'
    """
    found: Any = data
    for key in path:
        if not isinstance(found, Mapping) or key not in found:
            return None
        found = found[key]
    return found


def toml_value(typed: str, form: Form) -> Any:
    """What somebody typed, as TOML holds it; None where nothing is typed.

    Parameters
    ----------
    typed : str
    form : Form

    Raises
    ------
    InputError
        It cannot be that; says how to write it.

    Examples
    --------
    >>> toml_value("1-3-4-2", "list"), toml_value("9,4", "value"), toml_value("61 mm", "value")
    ([1, 3, 4, 2], 9.4, '61 mm')
    >>> toml_value("1500 10, 3000 34", "pairs"), toml_value("1-4, 2-3", "groups")
    ([[1500, 10], [3000, 34]], [[1, 4], [2, 3]])
    """
    words = " ".join(typed.split())
    if not words:
        return None
    if form == "words":
        return words
    if form == "yes":
        return _yes(words)
    if form == "sizes":
        parts = [part.strip() for part in words.split(";") if part.strip()]
        return parts[0] if len(parts) == 1 else parts
    if form in ("value", "whole"):
        return _number(words) if _NUMBER.fullmatch(words) else words
    if form == "ratios":
        return [_number(w) if _NUMBER.fullmatch(w) else w for w in re.split(r"[\s,;]+", words) if w]
    if form == "list":
        return _numbers(words)
    return [_numbers(part) for part in re.split(r"[,;]", words) if part.strip()]


def typed_value(value: Any, form: Form) -> str:
    """What stands in the file, as somebody would type it; the reverse of `toml_value`.

    >>> typed_value([1, 3, 2], "list"), typed_value([[1, 4], [2, 3]], "groups")
    ('1-3-2', '1-4, 2-3')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        if form == "sizes":
            return "; ".join(str(each) for each in value)
        if form in ("pairs", "groups"):
            mark = " " if form == "pairs" else "-"
            return ", ".join(
                mark.join(str(n) for n in each) if isinstance(each, list) else str(each)
                for each in value
            )
        return ("-" if form == "list" else " ").join(str(each) for each in value)
    return str(value)


def _set_apart(text: str, header: str) -> str:
    """One empty line round such tables; a comment that stands on a header stays with it."""
    lines: list[str] = []
    inside = False
    for line in text.split("\n"):
        before, inside = inside, line.startswith(header) if line.startswith("[") else inside
        if line.startswith("[") and (inside or before) and lines:
            while len(lines) > 1 and not lines[-1].strip() and not lines[-2].strip():
                lines.pop()
            if lines[-1].strip() and not lines[-1].lstrip().startswith("#"):
                lines.append("")
        lines.append(line)
    spaced = "\n".join(lines)
    # a header inside a text of several lines is no header: then the spacing is left alone
    return spaced if tomllib.loads(spaced) == tomllib.loads(text) else text


def _yes(words: str) -> bool:
    if words.casefold() in ("yes", "true"):
        return True
    if words.casefold() in ("no", "false"):
        return False
    raise InputError("This is answered by yes or no", given=words, instead="yes or no")


def _number(words: str) -> int | float:
    plain = words.replace(",", ".")
    return float(plain) if "." in plain else int(plain)


def _numbers(words: str) -> list[int | float]:
    found = [part for part in _BETWEEN.split(words.strip()) if part]
    strange = next((part for part in found if not _NUMBER.fullmatch(part)), None)
    if strange is not None or not found:
        raise InputError("Numbers are wanted, one after the other", given=words,
                         instead="1-3-2, or 0 240 480")  # fmt: skip
    return [_number(part) for part in found]


def _document(text: str) -> TOMLDocument:
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        return tomlkit.parse(text.removeprefix("\ufeff"))
    except (TOMLKitError, ValueError, RecursionError) as error:
        raise InputError("The engine file cannot be read as it stands",
                         instead="it right on its own page first") from error  # fmt: skip


def _put_in(document: Any, path: KeyPath, value: Any) -> None:
    import tomlkit

    table = document
    for depth, key in enumerate(path[:-1]):
        if key not in table:
            # inside a table a group of keys reads best on one line: inlet = { opens = ... }
            table[key] = tomlkit.table() if depth == 0 else tomlkit.inline_table()
            if depth == 0 and len(document.as_string()) > 0:
                _blank_line_before(document, key)
        table = table[key]
        if not isinstance(table, dict):
            raise InputError(f"[{'.'.join(path[: depth + 1])}] should be a table",
                             given=str(table), where=".".join(path))  # fmt: skip
    table[path[-1]] = value


def _blank_line_before(document: Any, key: str) -> None:
    if document.as_string().lstrip().startswith(f"[{key}]"):
        return
    document[key].trivia.indent = "\n"


def _take_out(document: Any, path: KeyPath) -> None:
    tables = [document]
    for key in path[:-1]:
        if key not in tables[-1]:
            return
        tables.append(tables[-1][key])
        if not isinstance(tables[-1], dict):
            return
    if path[-1] not in tables[-1]:
        return
    tables[-1].remove(path[-1])
    for depth in range(len(path) - 1, 0, -1):
        if len(tables[depth]):
            return
        tables[depth - 1].remove(path[depth - 1])
