"""What an entry can say: one frozen dataclass for each kind.

A body that exists is valid: each checks its own fields when it is made. Limits here may be raised
later but never lowered, because books already kept must stay readable.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from tickover.book import fields
from tickover.book.fields import LINE, LONG, NO_FACTS, SHORT, WHOLE_FILE
from tickover.errors import InputError

_SHA256 = re.compile(r"[0-9a-f]{64}")
_MEDIA_TYPE = re.compile(r"[a-z]+/[a-z0-9.+-]+")


def _name(body: object, *field_names: str, empty: bool = False) -> None:
    for field in field_names:
        fields.text(getattr(body, field), field, limit=SHORT, empty=empty, lines=False)


def _set(body: object, field: str, value: object) -> None:
    object.__setattr__(body, field, value)  # the one moment a frozen body may still change


@dataclass(frozen=True, slots=True)
class Reading:
    """Something measured: a value or an interval, at a place.

    Parameters
    ----------
    what, place : str
        'clearance' at 'in4'; place may be empty for the whole machine.
    low, high : float or None
        Ends of the interval in `unit` [SI]; equal for a single value. None: not bounded on
        that side (no blade went: low None).
    unit : str
        SI unit of low and high: 'm', 'Pa', 'K', 'ohm', 'V', 'rad', '1'; 'yes' for 1.0 or 0.0.
    typed : str
        As it was typed.
    instrument : str
        What it was measured with.
    conditions : Mapping
        What else held: {'engine': 'cold'}.

    Raises
    ------
    InputError
        No end at all, low above high, a value that is not finite; names the field.
    """

    kind: ClassVar[str] = "reading"
    what: str
    place: str
    low: float | None
    high: float | None
    unit: str
    typed: str
    instrument: str = ""
    conditions: Mapping[str, Any] = NO_FACTS

    def __post_init__(self) -> None:
        _name(self, "what", "unit")
        _name(self, "place", "instrument", empty=True)
        fields.text(self.typed, "typed", limit=LINE, empty=True)
        low = fields.number_or_none(self.low, "low")
        high = fields.number_or_none(self.high, "high")
        if low is None and high is None:
            raise InputError("A reading needs a value", where="low", allowed="low, high or both")
        if low is not None and high is not None and low > high:
            raise InputError(
                "The lower end is above the upper end", given=f"{low} .. {high}", where="low"
            )
        _set(self, "low", low)
        _set(self, "high", high)
        _set(self, "conditions", fields.facts(self.conditions, "conditions"))


@dataclass(frozen=True, slots=True)
class Work:
    """Something done: shims changed, head off, jets changed, at some places."""

    kind: ClassVar[str] = "work"
    what: str
    places: tuple[str, ...] = ()
    detail: Mapping[str, Any] = NO_FACTS

    def __post_init__(self) -> None:
        _name(self, "what")
        _set(self, "places", fields.names(self.places, "places"))
        _set(self, "detail", fields.facts(self.detail, "detail"))


@dataclass(frozen=True, slots=True)
class LooseEndOpened:
    """Something left off, open or bypassed on purpose; picture is a sha256 or empty."""

    kind: ClassVar[str] = "loose end opened"
    label: str
    place: str = ""
    picture: str = ""

    def __post_init__(self) -> None:
        fields.text(self.label, "label", limit=LINE, lines=False)
        _name(self, "place", empty=True)
        if self.picture:
            _picture_name(self.picture, "picture")


@dataclass(frozen=True, slots=True)
class LooseEndClosed:
    """A loose end put back; entry is the id of the entry that opened it."""

    kind: ClassVar[str] = "loose end closed"
    entry: str

    def __post_init__(self) -> None:
        _name(self, "entry")


@dataclass(frozen=True, slots=True)
class StartAttempt:
    """The button was pressed: 'fired', 'ran', 'coughed', 'nothing' ..., and what was seen."""

    kind: ClassVar[str] = "start attempt"
    outcome: str
    detail: Mapping[str, Any] = NO_FACTS

    def __post_init__(self) -> None:
        _name(self, "outcome")
        _set(self, "detail", fields.facts(self.detail, "detail"))


@dataclass(frozen=True, slots=True)
class Note:
    """Words to remember, at a place or for the whole build."""

    kind: ClassVar[str] = "note"
    text: str
    place: str = ""

    def __post_init__(self) -> None:
        fields.text(self.text, "text", limit=LONG)
        _name(self, "place", empty=True)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture kept in the book by its content; about is an entry id, a place or empty."""

    kind: ClassVar[str] = "picture"
    sha256: str
    media_type: str
    caption: str = ""
    about: str = ""

    def __post_init__(self) -> None:
        _picture_name(self.sha256, "sha256")
        _name(self, "media_type")
        if not _MEDIA_TYPE.fullmatch(self.media_type):
            raise InputError(
                "This is not a media type",
                given=self.media_type,
                instead="one like image/jpeg",
                where="media_type",
            )
        fields.text(self.caption, "caption", limit=LONG, empty=True)
        _name(self, "about", empty=True)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A person takes responsibility for a check that is not good, and says why."""

    kind: ClassVar[str] = "acceptance"
    check: str
    place: str
    reason: str

    def __post_init__(self) -> None:
        _name(self, "check")
        _name(self, "place", empty=True)
        _reason(self.reason, "Accepting needs a reason")


@dataclass(frozen=True, slots=True)
class StrikeOut:
    """An earlier entry counts for nothing from here on; entry is its id."""

    kind: ClassVar[str] = "strike-out"
    entry: str
    reason: str

    def __post_init__(self) -> None:
        _name(self, "entry")
        _reason(self.reason, "Striking out needs a reason")


@dataclass(frozen=True, slots=True)
class EngineFileKept:
    """The engine file as it stood, whole; name is the file it came from."""

    kind: ClassVar[str] = "engine file"
    text: str
    name: str = "engine.toml"

    def __post_init__(self) -> None:
        fields.text(self.text, "text", limit=WHOLE_FILE)
        _name(self, "name")


@dataclass(frozen=True, slots=True)
class StockChanged:
    """Something went into the drawer or out of it.

    Parameters
    ----------
    item : str
        'shim', 'main jet', 'head gasket'.
    size : float or None
        [SI unit given in `unit`]; None where the item has no size.
    unit : str
        'm' for lengths, empty for numbers stamped on jets.
    change : int
        +3 put in, -1 taken out, 0 only to note a price.
    price : float or None
        What one more costs to buy [money]; None where not known.
    known_by : str
        How the size is known: 'micrometer', 'mark' or empty.
    note : str
        Anything else.
    """

    kind: ClassVar[str] = "stock"
    item: str
    size: float | None
    unit: str
    change: int
    price: float | None = None
    known_by: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _name(self, "item")
        _name(self, "unit", "known_by", empty=True)
        _set(self, "size", fields.number_or_none(self.size, "size"))
        fields.whole(self.change, "change")
        price = fields.number_or_none(self.price, "price")
        if price is not None and price < 0:
            raise InputError("A price cannot be negative", given=str(price), where="price")
        _set(self, "price", price)
        fields.text(self.note, "note", limit=LONG, empty=True)


@dataclass(frozen=True, slots=True)
class Answer:
    """What Tickover or a person answered, and a hash of all it rested on ('fit to start')."""

    kind: ClassVar[str] = "answer"
    question: str
    answer: str
    rests_on: str = ""
    detail: Mapping[str, Any] = NO_FACTS

    def __post_init__(self) -> None:
        _name(self, "question")
        fields.text(self.answer, "answer", limit=LONG)
        _name(self, "rests_on", empty=True)
        _set(self, "detail", fields.facts(self.detail, "detail"))


@dataclass(frozen=True, slots=True)
class Unknown:
    """An entry of a kind only a newer Tickover knows: kept and shown whole, counts for nothing."""

    kind: str
    data: Mapping[str, Any] = NO_FACTS

    def __post_init__(self) -> None:
        _name(self, "kind")
        if self.kind in KINDS:
            raise InputError(
                f"An entry of kind '{self.kind}' is known here", where="kind", instead="its fields"
            )
        _set(self, "data", fields.facts(self.data, "data"))


def _reason(reason: object, problem: str) -> None:
    if isinstance(reason, str) and not reason.strip():
        raise InputError(problem, allowed="one word or more", where="reason")
    fields.text(reason, "reason", limit=LONG)


def _picture_name(value: str, field: str) -> None:
    fields.text(value, field, limit=64, lines=False)
    if not _SHA256.fullmatch(value):
        raise InputError(
            "A picture is named by the sha256 of its content",
            given=value,
            allowed="64 digits and letters a to f",
            where=field,
        )


Body = (
    Reading
    | Work
    | LooseEndOpened
    | LooseEndClosed
    | StartAttempt
    | Note
    | Picture
    | Acceptance
    | StrikeOut
    | EngineFileKept
    | StockChanged
    | Answer
    | Unknown
)

KINDS: dict[str, type[Any]] = {
    body.kind: body
    for body in (
        Reading,
        Work,
        LooseEndOpened,
        LooseEndClosed,
        StartAttempt,
        Note,
        Picture,
        Acceptance,
        StrikeOut,
        EngineFileKept,
        StockChanged,
        Answer,
    )
}
