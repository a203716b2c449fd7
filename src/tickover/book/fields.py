"""What may stand in one field of an entry, and the frozen mapping free details are kept in.

Every check answers with the value as it will be kept, or with an `InputError` naming the field.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

from tickover.errors import InputError

SHORT = 120  # names, places, instruments
LINE = 500  # a caption, a value as typed
LONG = 20_000  # a note, a reason
WHOLE_FILE = 1_000_000  # an engine file
DEPTH = 12  # lists inside lists of free details
DETAIL_VALUES = 50_000  # values in free details: a recorded curve fits, a recording does not
LARGEST_WHOLE = 2**53  # the largest whole number every reader of JSON keeps exactly

# Control characters would break paper, pages and other databases; lone surrogates are not text.
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_NOT_LINE = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")


class Facts(Mapping[str, Any]):
    """Free details of an entry: a mapping that cannot be changed and can be hashed.

    Lists become tuples, mappings inside become `Facts`; equal to any mapping with equal items.

    Parameters
    ----------
    items : Mapping
        Text keys; values are text, finite numbers, yes/no, None, lists and mappings of these.

    Examples
    --------
    >>> Facts({"sizes": [2.0, 2.05]})["sizes"]
    (2.0, 2.05)
    """

    __slots__ = ("_items",)

    def __init__(self, items: Mapping[str, Any] | None = None, *, field: str = "detail") -> None:
        counter = [0]
        self._items: dict[str, Any] = {
            _key(key, field): _frozen(value, field, 1, counter)
            for key, value in (items or {}).items()
        }

    def __getitem__(self, key: str) -> Any:
        return self._items[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __hash__(self) -> int:
        return hash(frozenset(self._items.items()))

    def __repr__(self) -> str:
        return f"Facts({self._items!r})"

    @classmethod
    def _of(cls, items: dict[str, Any]) -> Facts:
        made = cls.__new__(cls)
        made._items = items
        return made

    @classmethod
    def as_kept(cls, items: dict[str, Any]) -> Facts:
        """Facts that were checked before they were kept: frozen again, not checked again."""
        return cls._of({key: _refrozen(value) for key, value in items.items()})


NO_FACTS = Facts()


def _key(key: object, field: str) -> str:
    if not isinstance(key, str):
        raise InputError("A detail needs a name in letters", given=repr(key), where=field)
    return text(key, f"{field}, name of a detail", limit=SHORT)


def _frozen(value: object, field: str, depth: int, counter: list[int]) -> Any:
    counter[0] += 1 + (len(value) // 100 if isinstance(value, str) else 0)  # long texts count too
    if counter[0] > DETAIL_VALUES:
        raise InputError(
            "Too many values", allowed=f"{DETAIL_VALUES} values in one entry", where=field
        )
    if depth > DEPTH:
        raise InputError("Nested too deep", allowed=f"{DEPTH} levels", where=field)
    if value is None or value is True or value is False:
        return value
    if isinstance(value, str):
        return text(value, field, limit=WHOLE_FILE, empty=True)
    if isinstance(value, int):
        return whole(value, field)
    if isinstance(value, float):
        return number(value, field)
    if isinstance(value, Mapping):
        return Facts._of(
            {_key(k, field): _frozen(v, field, depth + 1, counter) for k, v in value.items()}
        )
    if isinstance(value, list | tuple):
        return tuple(_frozen(item, field, depth + 1, counter) for item in value)
    raise InputError(
        f"A {type(value).__name__} cannot be kept in the book",
        allowed="text, numbers, yes or no, lists and mappings of these",
        where=field,
    )


def _refrozen(value: Any) -> Any:
    if type(value) is dict:
        return Facts.as_kept(value)
    if type(value) is list:
        return tuple([_refrozen(item) for item in value])
    return value


def facts(value: object, field: str) -> Facts:
    """The free details, checked and frozen.

    Raises
    ------
    InputError
        Not a mapping, or something inside cannot be kept; names the field.
    """
    if isinstance(value, Facts):
        return value
    if value == {}:
        return NO_FACTS
    if not isinstance(value, Mapping):
        raise InputError("Details are named values", given=repr(value), where=field)
    return Facts(value, field=field)


def text(value: object, field: str, *, limit: int, empty: bool = False, lines: bool = True) -> str:
    """The text as it is kept, unchanged.

    Parameters
    ----------
    value : object
        What was given.
    field : str
        Name of the field, for the message.
    limit : int
        Most characters allowed.
    empty : bool
        Whether nothing (or blanks only) is allowed.
    lines : bool
        Whether line ends and tabs are allowed.

    Raises
    ------
    InputError
        Not text, too long, empty, or with characters that no page or paper can show.
    """
    if type(value) is str:  # the common case, quickly: ten thousand entries are read at a start
        if not value:
            if empty:
                return value
        elif len(value) <= limit and value.isprintable() and (empty or not value.isspace()):
            return value
    if not isinstance(value, str):
        raise InputError("Text is wanted here", given=repr(value), where=field)
    if len(value) > limit:
        raise InputError(
            f"The text is too long, {len(value)} characters",
            given=value,
            allowed=f"{limit} characters",
            instead="it shorter, or the rest as a second entry",
            where=field,
        )
    if not empty and not value.strip():
        raise InputError("Nothing is written here", where=field, allowed="one word or more")
    bad = (_NOT_TEXT if lines else _NOT_LINE).search(value)
    if bad:
        raise InputError(
            f"Character {bad.start() + 1} cannot be kept (code {ord(bad.group()):#06x})",
            allowed="letters, digits, signs" + (" and line ends" if lines else " on one line"),
            where=field,
        )
    return value


def number(value: object, field: str) -> float:
    """A finite number as float.

    Raises
    ------
    InputError
        Not a number, or infinite, or not a number at all (nan).
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError("A number is wanted here", given=repr(value), where=field)
    try:
        kept = float(value)
    except OverflowError:
        kept = math.inf
    if not math.isfinite(kept):
        raise InputError(
            "The number is not finite", given=str(kept), allowed="a finite number", where=field
        )
    return kept


def number_or_none(value: object, field: str) -> float | None:
    """A finite number, or None for 'not known'."""
    return None if value is None else number(value, field)


def whole(value: object, field: str) -> int:
    """A whole number.

    Raises
    ------
    InputError
        Not whole, or beyond 2**53.
    """
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError("A whole number is wanted here", given=repr(value), where=field)
    if abs(value) > LARGEST_WHOLE:
        raise InputError("The number is too large", allowed=f"up to {LARGEST_WHOLE}", where=field)
    return value


def names(value: object, field: str) -> tuple[str, ...]:
    """Several names (places, entries) as a tuple."""
    if isinstance(value, str) or not isinstance(value, Iterable):
        raise InputError("A list of names is wanted here", given=repr(value), where=field)
    kept = tuple(text(item, field, limit=SHORT, lines=False) for item in value)
    if len(kept) > 1000:
        raise InputError("Too many names", allowed="1000 names", where=field)
    return kept


def moment(value: object, field: str) -> str:
    """A moment in coordinated universal time, to the second, as it is kept.

    Parameters
    ----------
    value : str
        ISO 8601 with 'Z' or '+00:00'; parts of a second are dropped, the book orders by number.

    Raises
    ------
    InputError
        Not a moment, or not in universal time.

    Examples
    --------
    >>> moment("2031-04-05T18:30:00.250+00:00", "at")
    '2031-04-05T18:30:00Z'
    """
    if isinstance(value, str):
        try:
            if _MOMENT.fullmatch(value):  # already as kept: only see that the date exists
                datetime.fromisoformat(value[:-1])
                return value
            read = datetime.fromisoformat(value)
        except ValueError:
            read = None
        if read is not None and read.utcoffset() is not None:
            try:
                universal = read.astimezone(UTC).replace(tzinfo=None)
                return universal.isoformat(timespec="seconds") + "Z"
            except OverflowError:
                pass  # year 1 or 9999 pushed over the edge by its offset: refused below
    raise InputError(
        "This is not a moment in universal time",
        given=str(value),
        instead="it like 2031-04-05T18:30:00Z",
        where=field,
    )
