"""What a part of the build record is made of: a few plain blocks, drawn alike on paper and screen.

A block says what it is, never how it looks. Text is plain text: whoever draws it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass
from typing import Any, ClassVar, Literal

from tickover.errors import InputError

STATES = ("open", "good", "out", "undecided", "stale", "accepted")


@dataclass(frozen=True, slots=True)
class Stated:
    """A table cell with the mark of a state and its word: `Stated("out", "out")`."""

    state: str
    words: str

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise InputError("No such state", given=self.state, allowed=", ".join(STATES))


Cell = str | Stated


@dataclass(frozen=True, slots=True)
class Paragraph:
    """One paragraph. `weight` 'strong' for a verdict, 'quiet' for where a number comes from."""

    kind: ClassVar[str] = "paragraph"
    text: str
    weight: Literal["plain", "strong", "quiet"] = "plain"


@dataclass(frozen=True, slots=True)
class Subhead:
    """A heading inside a part."""

    kind: ClassVar[str] = "subhead"
    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values, two columns; rows without a value are left out."""

    kind: ClassVar[str] = "facts"
    rows: tuple[tuple[str, str], ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "rows", tuple(row for row in self.rows if row[1]))


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a head.

    Parameters
    ----------
    heads : tuple of str
    rows : tuple of tuple of Cell
        Each as long as `heads`; the first cell names the row.
    caption : str
        What it is, read aloud before the table and printed above it.
    widths : tuple of float
        Shares of the line for each column; equal shares where left out.
    """

    kind: ClassVar[str] = "table"
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""
    widths: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        width = len(self.heads)
        if not width or any(len(row) != width for row in self.rows):
            raise InputError("Every row of a table is as long as its head", given=self.caption)
        if self.widths and len(self.widths) != width:
            raise InputError("A table has one width for each column", given=self.caption)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing or plot.

    Parameters
    ----------
    svg : str
        Complete and self-contained: drawn with `embedded=True`, or by vl-convert.
    alt : str
        What a person who does not see it must know; never empty.
    caption : str
        Printed below it.
    width : float
        Share of the line, 0 to 1.
    """

    kind: ClassVar[str] = "drawing"
    svg: str
    alt: str
    caption: str = ""
    width: float = 1.0

    def __post_init__(self) -> None:
        if not self.alt.strip():
            raise InputError("A drawing says in words what it shows", where="alt")


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture kept in the book, by the sha256 of its content."""

    kind: ClassVar[str] = "photograph"
    sha256: str
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """A list: 'plain', 'numbered' in working order, or 'boxes' to tick with a pencil."""

    kind: ClassVar[str] = "listing"
    items: tuple[str, ...]
    style: Literal["plain", "numbered", "boxes"] = "plain"


@dataclass(frozen=True, slots=True)
class Caution:
    """The usual cautions, one line each, framed."""

    kind: ClassVar[str] = "caution"
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Verbatim:
    """Text as it was typed, line by line: an engine file."""

    kind: ClassVar[str] = "verbatim"
    text: str


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign: what each signature stands for."""

    kind: ClassVar[str] = "signatures"
    lines: tuple[str, ...]


Block = (
    Paragraph | Subhead | Facts | Table | Drawing | Photograph | Listing | Caution | Verbatim
    | Signatures
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RecordPart:
    """One part of the record.

    Parameters
    ----------
    key : str
        Short, of its own, plain letters and dashes: the address of the part in the file.
    title : str
        As it stands in the table of contents.
    blocks : tuple of Block
    """

    key: str
    title: str
    blocks: tuple[Block, ...]


def as_data(thing: Any) -> Any:
    """Parts and blocks as plain data, each block with its kind; for templates and JSON.

    >>> as_data(Paragraph("Good.", "strong"))
    {'kind': 'paragraph', 'text': 'Good.', 'weight': 'strong'}
    """
    if is_dataclass(thing) and not isinstance(thing, type):
        data = {each.name: as_data(getattr(thing, each.name)) for each in fields(thing)}
        kind = getattr(type(thing), "kind", None)
        return {"kind": kind, **data} if isinstance(kind, str) else data
    if isinstance(thing, tuple | list):
        return [as_data(each) for each in thing]
    return thing
