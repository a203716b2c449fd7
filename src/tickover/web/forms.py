"""Forms as they arrive: read once, checked for their token, plain text from there on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from tickover.errors import FileError, InputError
from tickover.web.session import FIELD, token_fits

_LARGEST_FIELD = 2_000_000  # an engine file pasted into a box [bytes]
_MOST_FIELDS = 400


@dataclass(frozen=True, slots=True)
class Sent:
    """An uploaded file.

    Parameters
    ----------
    name : str
        As the sender calls it; never used as a path.
    data : bytes
    """

    name: str
    data: bytes

    def text(self) -> str:
        """The file as text; a byte-order mark is dropped.

        Raises
        ------
        FileError
            If it is not UTF-8.
        """
        try:
            return self.data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise FileError(
                "This is not a text file",
                given=self.name,
                allowed="text in UTF-8",
                instead="the file again, saved as UTF-8 in a text editor",
            ) from error


@dataclass(frozen=True, slots=True)
class Form:
    """What was typed and sent.

    Parameters
    ----------
    typed : mapping of str to str
        Fields as typed; the last one wins where a name comes twice.
    files : mapping of str to Sent
        Files that hold something.
    """

    typed: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, Sent] = field(default_factory=dict)

    def get(self, name: str) -> str:
        """A field without spaces around it; empty when it was not sent."""
        return self.typed.get(name, "").strip()


def at_fault(told: str, error: InputError | None, form: Form | None, name: str) -> str:
    """The id of the words that tell what is wrong, for a field that may be the one at fault.

    Where several fields are refused together, the one that holds what the refusal quotes is at
    fault; where it quotes none of them, each may be.

    Parameters
    ----------
    told : str
        Id of the words; '' where nothing of these fields was refused.
    error : InputError or None
    form : Form or None
    name : str
        The field.

    Returns
    -------
    str
        `told`, or '' for a field that is not at fault.

    Examples
    --------
    >>> wrong = InputError("How many is a whole number", given="three")
    >>> typed = Form({"item": "main jet", "count": " three"})
    >>> [at_fault("add-wrong", wrong, typed, name) for name in ("item", "count")]
    ['', 'add-wrong']
    """
    if error is None or form is None or not error.given:
        return told
    quoted = {field for field in form.typed if form.get(field) == error.given}
    return told if not quoted or name in quoted else ""


class TokenMissingError(Exception):
    """A form without the token of its session."""


async def read_form(request: Request) -> Form:
    """Read a form and check its token.

    Raises
    ------
    TokenMissingError
        If the token is not the one of this session.
    HTTPException
        415 for something that is not a form, 400 for a broken one.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise HTTPException(415)
    typed: dict[str, str] = {}
    files: dict[str, Sent] = {}
    async with request.form(
        max_files=4, max_fields=_MOST_FIELDS, max_part_size=_LARGEST_FIELD
    ) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                data = await value.read()
                if data:
                    files[name] = Sent(value.filename or "file", data)
            else:
                typed[name] = value.replace("\r\n", "\n")
    if not token_fits(request, typed.pop(FIELD, "")):
        raise TokenMissingError
    return Form(typed, files)
