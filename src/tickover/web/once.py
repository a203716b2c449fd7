"""A button pressed twice writes once: the form carries a number made for it, entries their id."""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

from tickover.book.entries import Draft, new_id
from tickover.web.forms import Form

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.book.entries import Entry
    from tickover.web.opened import Opened

FIELD = "once"
_WELL_FORMED = re.compile(r"[0-9a-f]{32}")

fresh = new_id
"""A number for the forms of one page as it is drawn."""


def entry_id(form: Form, *parts: str) -> str:
    """The id of the entry a form asks for; '' where the form carries no number.

    Parameters
    ----------
    form : Form
    *parts : str
        What tells this button from the others drawn on the same page.

    Examples
    --------
    >>> form = Form({"once": "0" * 32})
    >>> entry_id(form, "done", "oil level") == entry_id(form, "done", "oil level")
    True
    >>> entry_id(form, "done", "oil level") == entry_id(form, "done", "clamps")
    False
    >>> entry_id(Form(), "done", "oil level")
    ''
    """
    number = form.get(FIELD)
    if not _WELL_FORMED.fullmatch(number):
        return ""
    return hashlib.sha256("\0".join((number, *parts)).encode()).hexdigest()[:32]


def keep_once(opened: Opened, form: Form, body: Body, *parts: str) -> Entry:
    """Keep a body under the id of its button; the entry kept before where it was pressed already.

    Raises
    ------
    InputError
        The book refuses the entry.
    """
    named = entry_id(form, *parts)
    before = opened.state.entry(named) if named else None
    if before is not None:
        return before
    bench = opened.bench
    return bench.store.append(opened.row.id, Draft(body, named), at=bench.clock(), by=bench.by)[0]
