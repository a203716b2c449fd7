"""The build record as a PDF and as one HTML file that needs nothing beside it."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from functools import cache, lru_cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tickover.book.photographs import smaller_picture
from tickover.errors import InputError
from tickover.pages.record.assembled import BuildRecord, build_record, record_data
from tickover.paper.typeset import SIZES, typeset

if TYPE_CHECKING:
    from jinja2 import Environment

    from tickover.book.chain import BuildRow
    from tickover.book.state import State

PictureOf = Callable[[str], bytes]
"""The bytes kept under a sha256; InputError where the book holds none."""

PRINTED_EDGE = 1200
"""Longest edge of a photograph on paper: 300 points to the inch at half a page wide [points]."""


def no_picture(sha256: str) -> bytes:
    """For sheets printed without a book at hand: there are no pictures.

    Raises
    ------
    InputError
        Always.
    """
    raise InputError("No book is at hand to take this picture from", given=sha256)


_ID = re.compile(r'(\bid="|url\(#|href="#)')


def record_pdf(
    build: BuildRow,
    state: State,
    picture_of: PictureOf,
    *,
    paper: str = "a4",
    printed_at: str = "",
) -> bytes:
    """The record of a build as a tagged PDF after PDF/UA-1.

    Parameters
    ----------
    build : BuildRow
    state : State
    picture_of : callable
        Gives the bytes of a picture by its sha256.
    paper : str
        'a4' or 'letter'.
    printed_at : str
        ISO 8601; printed in the foot and kept as the document's date.

    Raises
    ------
    InputError
        No such paper, or the build has no engine file.
    """
    record = build_record(build, state)
    files = {f"picture-{name}": data for name, data in _pictures(record, picture_of).items()}
    data = record_data(record) | {"held": [name.removeprefix("picture-") for name in files]}
    return typeset("build-record", data, paper=paper, printed_at=printed_at, files=files)


def record_html(
    build: BuildRow,
    state: State,
    picture_of: PictureOf,
    *,
    paper: str = "a4",
    printed_at: str = "",
) -> str:
    """The record of a build as one HTML file: typeface, drawings and pictures inside it.

    Parameters and errors as `record_pdf`; `paper` is the sheet it prints on.
    """
    if paper not in SIZES:
        raise InputError("No such paper size", given=paper, allowed=", ".join(SIZES))
    record = build_record(build, state)
    return _environment().get_template("build-record.html").render(
        record_data(record),
        printed=printed_at[:10],
        build_css=_css_text(record.head.name),
        paper={"a4": "A4", "letter": "letter"}[paper],
        photographs={
            name: f"data:image/jpeg;base64,{base64.b64encode(data).decode()}"
            for name, data in _pictures(record, picture_of).items()
        },
        faces=[(weight, _font(name)) for weight, name in ((400, "Regular"), (700, "Bold"))],
    )  # fmt: skip


def _pictures(record: BuildRecord, picture_of: PictureOf) -> dict[str, bytes]:
    """The pictures the book holds, no larger than print needs; one it lacks is told of there."""
    found = {}
    for sha256 in record.pictures:
        try:
            found[sha256] = _printable(picture_of(sha256))
        except InputError:
            continue
    return found


@lru_cache(maxsize=128)
def _printable(data: bytes) -> bytes:
    return smaller_picture(data, PRINTED_EDGE)


@cache
def _font(face: str) -> str:
    folder = Path(str(resources.files(__package__))) / "font"
    data = (folder / f"AtkinsonHyperlegibleNext-{face}.ttf").read_bytes()
    return base64.b64encode(data).decode()


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    folder = Path(str(resources.files(__package__))) / "templates"
    found = Environment(
        loader=FileSystemLoader(folder), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    found.filters["drawn"] = _drawn
    return found


def _css_text(text: str) -> Any:
    """Text made fit for a quoted string in a style sheet.

    >>> print(_css_text('</style> "a"'))
    \\3c \\2f style\\3e  \\22 a\\22
    """
    from markupsafe import Markup

    return Markup(re.sub(r"[^\w .,()-]", lambda sign: f"\\{ord(sign[0]):x} ", text))


def _drawn(svg: str, prefix: str = "") -> Any:
    """A drawing of ours inside the page, its ids made its own so that no two drawings share one.

    >>> print(_drawn('<svg><g id="a"/><use href="#a"/></svg>', "d1"))
    <svg><g id="d1a"/><use href="#d1a"/></svg>
    """
    from markupsafe import Markup

    return Markup(_ID.sub(rf"\g<1>{prefix}", svg) if prefix else svg)
