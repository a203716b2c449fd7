"""Bodies as JSON and back: one canonical text for each body, so that equal content hashes equal."""

from __future__ import annotations

import dataclasses
import difflib
import json
from collections.abc import Mapping
from typing import Any, NoReturn

from tickover.book.bodies import KINDS, Body, Unknown
from tickover.book.fields import Facts
from tickover.errors import InputError

_FIELDS: dict[type[Any], tuple[str, ...]] = {
    body: tuple(field.name for field in dataclasses.fields(body)) for body in KINDS.values()
}
_REQUIRED: dict[type[Any], frozenset[str]] = {
    body: frozenset(f.name for f in dataclasses.fields(body) if f.default is dataclasses.MISSING)
    for body in KINDS.values()
}


def canonical_json(value: Any) -> str:
    """JSON with sorted keys, no blanks, text as it is: the same content, the same characters.

    Parameters
    ----------
    value : object
        Text, finite numbers, yes/no, None, lists and mappings of these.

    Raises
    ------
    InputError
        Infinite or not a number, or something JSON does not know.

    Examples
    --------
    >>> canonical_json({"b": 0.15, "a": (1, None)})
    '{"a":[1,null],"b":0.15}'
    """
    try:
        return _ENCODER.encode(value)
    except (ValueError, TypeError, RecursionError) as error:
        raise InputError(f"This cannot be kept as JSON ({error})") from error


def _open_mapping(value: object) -> dict[str, Any]:
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"a {type(value).__name__}")


# One encoder, made once: json.dumps with options builds a new one for every call.
_ENCODER = json.JSONEncoder(
    sort_keys=True,
    separators=(",", ":"),
    ensure_ascii=False,
    allow_nan=False,
    default=_open_mapping,
)


def parse_json(text: str, where: str = "") -> Any:
    """JSON read strictly: no infinities, no 'not a number', no endless nesting.

    Raises
    ------
    InputError
        Not JSON; says where.
    """
    try:
        return _DECODER.decode(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"This is not JSON ({error})", given=text, where=where) from error


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


_DECODER = json.JSONDecoder(parse_constant=_refuse_constant)


def body_to_plain(body: Body) -> dict[str, Any]:
    """The fields of a body as a plain mapping, ready for JSON."""
    if isinstance(body, Unknown):
        return dict(body.data)
    return {name: getattr(body, name) for name in _FIELDS[type(body)]}


def body_to_json(body: Body) -> str:
    """The canonical JSON of a body, without its kind.

    Examples
    --------
    >>> from tickover.book.bodies import Note
    >>> body_to_json(Note("rag in inlet 2", "in2"))
    '{"place":"in2","text":"rag in inlet 2"}'
    """
    return canonical_json(body_to_plain(body))


def body_from_plain(kind: str, data: object) -> Body:
    """A body from its kind and its fields.

    Parameters
    ----------
    kind : str
        'reading', 'work', ...; a kind not known here gives `Unknown`, whole.
    data : Mapping
        Its fields.

    Raises
    ------
    InputError
        A field is missing, not known, or holds a bad value; names kind and field.
    """
    if not isinstance(data, Mapping):
        raise InputError("An entry's body is a mapping of fields", given=str(data), where=kind)
    body = KINDS.get(kind)
    if body is None:
        return Unknown(kind, data)
    known = _FIELDS[body]
    for name in data:
        if name not in known:
            near = difflib.get_close_matches(str(name), known, n=1)
            raise InputError(
                "This field is not known",
                given=str(name),
                allowed=", ".join(known),
                instead=f"'{near[0]}'" if near else "",
                where=kind,
            )
    missing = sorted(_REQUIRED[body] - data.keys())
    if missing:
        raise InputError(f"The field '{missing[0]}' is missing", where=kind)
    try:
        made: Body = body(**data)
    except InputError as error:
        raise InputError(
            error.problem,
            given=error.given,
            allowed=error.allowed,
            instead=error.instead,
            where=f"{kind}, {error.where}" if error.where else kind,
        ) from error
    return made


def body_from_json(kind: str, text: str) -> Body:
    """A body from its kind and JSON text; errors as in `body_from_plain`."""
    return body_from_plain(kind, parse_json(text, where=kind))


def body_as_kept(kind: str, text: str) -> Body:
    """A body from text this book wrote itself and whose checksum holds.

    It was checked when it was kept, so it is only put together again: three times as quick as
    `body_from_json`, and equal to it. Whatever looks unfamiliar takes the long way.
    """
    body = KINDS.get(kind)
    data = parse_json(text, where=kind)
    if body is None or type(data) is not dict or tuple(data) != _SORTED[body]:
        return body_from_plain(kind, data)
    made: Body = _make(body)
    for name, value in data.items():
        if type(value) is dict:
            value = Facts.as_kept(value)
        elif type(value) is list:
            value = tuple(value)
        _put(made, name, value)
    return made


_make = object.__new__
_put = object.__setattr__
_SORTED = {body: tuple(sorted(names)) for body, names in _FIELDS.items()}
