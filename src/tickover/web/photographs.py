"""A photograph sent with a form: made ready, put into the book, and named by an entry."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tickover.book.bodies import Picture
from tickover.book.photographs import kept_picture, smaller_picture
from tickover.errors import InputError
from tickover.web.forms import Form
from tickover.web.opened import Opened

if TYPE_CHECKING:
    from tickover.book.store import Store

FIELD = "picture"
_SMALL_KEPT = 128


def sent_picture(form: Form) -> bytes:
    """The photograph of a form, ready to keep; empty where none was sent.

    Raises
    ------
    InputError
        What was sent is no photograph that can be kept.
    """
    sent = form.files.get(FIELD)
    return kept_picture(sent.data, sent.name) if sent is not None else b""


def picture_body(opened: Opened, data: bytes, caption: str, about: str = "") -> Picture:
    """The entry that names a photograph, its bytes kept first.

    Raises
    ------
    InputError
        The caption cannot be kept; then the photograph is not kept either.
    """
    Picture("0" * 64, "image/jpeg", caption, about)  # words first
    return Picture(opened.bench.store.put_blob(data), "image/jpeg", caption, about)


@lru_cache(maxsize=_SMALL_KEPT)
def small_picture(store: Store, sha256: str) -> bytes:
    """A kept picture for a list; its content never changes, so it is made once.

    Raises
    ------
    InputError
        The book does not hold it, or it is no picture.
    """
    return smaller_picture(store.get_blob(sha256))


def needs_one(data: bytes) -> None:
    """Refuse a form for a picture that came without one.

    Raises
    ------
    InputError
        Nothing was sent.
    """
    if not data:
        raise InputError("No picture was chosen", instead="one as JPEG, PNG or HEIC")
