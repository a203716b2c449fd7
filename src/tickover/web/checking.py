"""Where a check is entered, what was typed for it, and what comes after it."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar
from urllib.parse import urlencode

from tickover.errors import InputError
from tickover.pages.building import checks_page_of, states_of
from tickover.pages.checks import find_check
from tickover.plan.next import STAGES
from tickover.tasks.answers import check_entries
from tickover.tasks.fit_line import fit_entry, understand_fit
from tickover.web.refusals import MissingError

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.pages.check_line import CheckLine
    from tickover.pages.checks import CheckRow
    from tickover.plan.checks import CheckState
    from tickover.tasks.finding import Check, Stage
    from tickover.web.forms import Form
    from tickover.web.opened import Opened

Named = TypeVar("Named", "CheckRow", "CheckLine")
VALVES = "valve clearance"
FITS = "fits"


def check_href(home: str, name: str, place: str = "", **more: str) -> str:
    """Address of one check: its own page, or the page it is entered on.

    >>> check_href("/builds/b", "spark", "plug1")
    '/builds/b/check?name=spark&place=plug1'
    >>> check_href("/builds/b", "valve clearance", "in1")
    '/builds/b/valves?at=in1#enter'
    """
    more = {key: value for key, value in more.items() if value}
    if name == VALVES and place:
        return f"{home}/valves?{urlencode({'at': place, **more})}#enter"
    here = {"name": name, "place": place} if place else {"name": name}
    return f"{home}/check?{urlencode({**here, **more})}"


def entry_href(home: str, page: str, name: str, place: str) -> str:
    """Address of the page that a check of form 'page' is entered on; '' where there is none."""
    if page == "valves":
        return check_href(home, VALVES, place)
    if page == "fits":
        return f"{home}/fits?{urlencode({'name': name, 'place': place})}#enter"
    if page == "fasteners":
        return f"{home}/fasteners"
    if page == "wiring":
        return f"{home}/wiring/test#enter"
    if page in ("compression", "ratio", "cam-timing", "mixture", "balance", "listen", "noise"):
        return f"{home}/{page}"
    return ""


def check_of(opened: Opened, name: str, place: str) -> CheckState:
    """The check an address or a form names.

    Raises
    ------
    MissingError
        There is none.
    """
    try:
        return find_check(states_of(opened.state), name, place)
    except InputError as error:
        raise MissingError(f"{error}".rstrip(".")) from error


def by_name(rows: tuple[Named, ...]) -> list[tuple[Named, ...]]:
    """Rows of one name together: the same check at its places."""
    names = dict.fromkeys(row.name for row in rows)
    return [tuple(row for row in rows if row.name == name) for name in names]


def stage_of(text: str) -> Stage:
    """The stage an address names; the first start where it names none."""
    return next((stage for stage in STAGES if stage == text), STAGES[0])


def typed_bodies(opened: Opened, check: Check, form: Form) -> tuple[Body, ...]:
    """The entries to keep for what was typed.

    Raises
    ------
    InputError
        As `check_entries`; for a build measurement as `understand_fit`.
    """
    typed, instrument = form.get("typed"), form.get("instrument")
    if check.group != FITS:
        return check_entries(opened.engine_file, opened.state, check, typed, instrument)
    if not typed:
        raise InputError(f"'{check.title}' is good only by its reading",
                         instead=f"'{check.wanted.prompt} ...' with what you read")  # fmt: skip
    line = typed
    if check.wanted.form == "value":
        line = f"{check.wanted.prompt} {typed}"
    body = fit_entry(understand_fit(opened.engine_file, line.removeprefix("fit ")), instrument)
    if (body.what, body.place) != check.key:
        raise InputError("This line is about another measurement", given=typed,
                         instead=f"a line that begins with '{check.wanted.prompt}'")  # fmt: skip
    return (body,)


def after(opened: Opened, check: Check, stage: Stage, kept: str) -> str:
    """Where to go when a check was answered: the next thing to do, or back when it is not settled.

    Parameters
    ----------
    opened : Opened
        As it is after the answer.
    check : Check
        The one answered.
    stage : str
        Up to which the steps reach.
    kept : str
        Id of the entry.
    """
    more = {"kept": kept, "stage": "" if stage == STAGES[0] else stage}
    if not check_of(opened, check.name, check.place).settled:
        return check_href(opened.home, check.name, check.place, **more)
    for step in checks_page_of(opened.row, opened.state, stage).next_steps:
        row = step.row
        if not step.waits_for and (row.name, row.place) != check.key:
            return check_href(opened.home, row.name, row.place, **more)
    return f"{opened.home}/checks?{urlencode({k: v for k, v in more.items() if v})}"
