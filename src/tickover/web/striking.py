"""Striking out an entry from the page that shows it."""

from __future__ import annotations

from collections.abc import Collection

from tickover.book.bodies import StrikeOut
from tickover.errors import InputError
from tickover.web.forms import Form
from tickover.web.opened import Opened
from tickover.web.refusals import MissingError


def strike_out(opened: Opened, form: Form, shown: Collection[str]) -> None:
    """Strike out the entry a form names, with the reason it gives.

    Parameters
    ----------
    opened : Opened
    form : Form
        `entry` and `reason`.
    shown : collection of str
        Ids of the entries the page offers; no other is struck from it.

    Raises
    ------
    MissingError
        The entry is not one of them.
    InputError
        No reason.
    """
    wanted = form.get("entry")
    if wanted not in shown:
        raise MissingError("This entry is not on the page any more")
    if opened.state.is_struck(wanted):
        raise InputError("This entry is struck out already")
    body = StrikeOut(wanted, form.get("reason"))
    opened.keep(body)
