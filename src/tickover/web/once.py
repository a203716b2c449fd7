"""A press of a button is kept once, however often it arrives.

Every form carries a number made for it as it is drawn. The number and what was typed beside it
make the press; the press makes the ids of the entries it writes. So the book itself tells what it
has already: of a button pressed twice, and of a form a phone sends again because it heard no
answer, also after the server was killed between keeping and answering. The same number with
other words typed is another press, and nothing typed is lost.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, cast

from starlette.requests import Request
from starlette.responses import Response

from tickover.book import fields
from tickover.book.entries import Draft, new_id
from tickover.errors import InputError
from tickover.web.forms import Form
from tickover.web.refusals import MissingError
from tickover.web.render import see

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.book.chain import BuildRow
    from tickover.book.entries import Entry
    from tickover.book.state import State
    from tickover.book.store import Store

FIELD = "once"
WRITTEN = "written"
"""When it was written, in a form a phone kept and sends later; ISO 8601 with a zone."""
_WELL_FORMED = re.compile(r"[0-9a-f]{32}")


class Press:
    """One press of one button.

    Parameters
    ----------
    name : str
        What is the same when it arrives again, and differs for everything else.
    written : str
        When it was written on a phone; '' where it comes straight from the button.
    """

    def __init__(self, name: str, written: str = "") -> None:
        self.name = name
        self.written = written
        self._appends = 0

    @property
    def first_id(self) -> str:
        """The id of the first entry it writes."""
        return self.entry_id(1, 0)

    def entry_id(self, append: int, index: int) -> str:
        """The id of an entry it writes.

        Parameters
        ----------
        append, index : int
            Which append of the press, counted from 1, and which entry of it, counted from 0.

        Examples
        --------
        >>> press = Press("oil level done")
        >>> press.entry_id(1, 0) == Press("oil level done").entry_id(1, 0) != press.entry_id(1, 1)
        True
        """
        return hashlib.sha256(f"{self.name}\0{append}\0{index}".encode()).hexdigest()[:32]

    def next_append(self) -> int:
        """Count one more append of this press."""
        self._appends += 1
        return self._appends

    def kept(self, state: State, append: int = 1) -> tuple[Entry, ...]:
        """What an append of it has written already; nothing where it has not arrived before."""
        found: list[Entry] = []
        while (entry := state.entry(self.entry_id(append, len(found)))) is not None:
            found.append(entry)
        return tuple(found)


def press_of(form: Form) -> Press | None:
    """The press a form stands for; None where it carries no number, or none worth the name.

    >>> one = press_of(Form({"once": "0" * 32, "note": "clamps"}))
    >>> again = press_of(Form({"once": "0" * 32, "note": "clamps", "written": "2031-03-01T07:00Z"}))
    >>> one.name == again.name != press_of(Form({"once": "0" * 32, "note": "hose"})).name
    True
    >>> press_of(Form({"note": "clamps"})) is None
    True
    """
    if not _WELL_FORMED.fullmatch(form.get(FIELD)):
        return None
    typed = {name: value.strip() for name, value in form.typed.items() if name != WRITTEN}
    files = {name: hashlib.sha256(sent.data).hexdigest() for name, sent in form.files.items()}
    try:
        written = fields.moment(form.get(WRITTEN), "at") if form.get(WRITTEN) else ""
    except InputError:  # a phone with a broken clock: then it counts as written when it arrives
        written = ""
    return Press(json.dumps([typed, files], sort_keys=True), written)


def this_press(request: Request) -> Press | None:
    """The press a request stands for."""
    return getattr(request.state, "press", None)


def first_id(request: Request) -> str:
    """The id the first entry of this request will bear, for an entry that names it."""
    press = this_press(request)
    return press.first_id if press is not None else new_id()


def answer_once(
    request: Request, form: Form, handler: Callable[[Request, Form], Response]
) -> Response:
    """Let a handler take a form in; a press that was kept is never told that it was not.

    What changed since may make the handler refuse what it took before: then the book is shown at
    the entry that was kept.
    """
    press = request.state.press = press_of(form)
    if press is None:
        return handler(request, form)
    if press.written and kept_already(request) is not None:
        return Response(status_code=204)  # a phone's second sending: nobody looks at a page
    try:
        answer = handler(request, form)
    except (InputError, MissingError):
        kept = kept_already(request)
        if kept is None:
            raise
    else:
        kept = kept_already(request) if answer.status_code >= 400 else None
        if kept is None:
            return answer
    build = request.path_params["build"]
    return see(f"/builds/{build}/book?entry={kept.number}#entry-{kept.number}")


def kept_already(request: Request) -> Entry | None:
    """The first entry the press of this request wrote; None where it has written nothing yet."""
    press = this_press(request)
    if press is None:
        return None
    try:
        state = request.app.state.bench.store.state(request.path_params["build"])
    except (KeyError, InputError):  # of no build, or of one that is not there
        return None
    return state.entry(press.first_id)  # type: ignore[no-any-return]


def keeping_once(store: Store, press: Press) -> Store:
    """A store that gives the entries appended through it the ids of their press.

    What an append of this press wrote before is the answer, whatever it would be now: its words
    may hang on the time or on what the press itself changed.
    """
    return cast("Store", _OnceStore(store, press))


class _OnceStore:
    def __init__(self, store: Store, press: Press) -> None:
        self._store = store
        self._press = press

    def create_build(self, name: str, engine_text: str, at: str, by: str, **how: Any) -> BuildRow:
        """As the store's own; the build this press began before, where there is one."""
        named = self._press.entry_id(self._press.next_append(), 0)
        for row in self._store.builds():
            if row.name == name and self._store.state(row.id).entry(named) is not None:
                return row
        return self._store.create_build(name, engine_text, at, by, first_id=named, **how)

    def append(
        self, build_id: str, bodies: Iterable[Body | Draft] | Body | Draft, **how: Any
    ) -> tuple[Entry, ...]:
        """As the store's own, with ids."""
        append = self._press.next_append()
        before = self._press.kept(self._store.state(build_id), append)
        if before:
            return before
        given = [bodies] if isinstance(bodies, Draft) or hasattr(bodies, "kind") else bodies
        named = [self._named(append, n, each) for n, each in enumerate(given)]  # type: ignore[arg-type]
        return self._store.append(build_id, named, **how)

    def forget_blob(self, build_id: str, sha256: str, saying: Body | Draft, **how: Any) -> Entry:
        """As the store's own, with an id."""
        append = self._press.next_append()
        before = self._press.kept(self._store.state(build_id), append)
        if before:
            return before[0]
        named = self._named(append, 0, saying)
        return self._store.forget_blob(build_id, sha256, named, **how)

    def _named(self, append: int, index: int, body: Body | Draft) -> Draft:
        draft = body if isinstance(body, Draft) else Draft(body)
        named = draft.id or self._press.entry_id(append, index)
        return Draft(draft.body, named, draft.at or self._press.written, draft.by)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)
