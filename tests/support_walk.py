"""Every page a build leads to, found by its own links, and the forms that stand on them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

NO_PAGE = re.compile(r"\.(pdf|zip|csv|svg|ics|flac|html|js)$|/pictures/[0-9a-f]|/static/")
"""Files, not pages: nothing to walk in them."""


@dataclass
class WebForm:
    """One form as it is sent without a script."""

    method: str
    action: str
    hidden: dict[str, str] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    """Fields for words, with what stands in them."""
    choices: dict[str, list[str]] = field(default_factory=dict)
    """Radio buttons, selections and ticks: what each can send."""
    chosen: dict[str, str] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    @property
    def kind(self) -> tuple[str, ...]:
        """What tells forms apart: where they go and which fields they have."""
        names = {
            *self.typed,
            *self.choices,
            *self.files,
            *(name for name, _ in self.buttons if name),
        }
        return (path_kind(self.action), *sorted(names))


def path_kind(address: str) -> str:
    """An address without what differs between builds and parts of one.

    >>> path_kind("/builds/0f3a/valves/in1/shim?at=in1#enter")
    '/builds/{build}/valves/{place}/shim'
    """
    path = re.split(r"[?#]", address)[0]
    path = re.sub(r"^/builds/[^/]+", "/builds/{build}", path)
    return re.sub(r"(/valves)/(?!all\b|fitted\b)[^/]+", r"\1/{place}", path)


class Reading(HTMLParser):
    """Links and forms of one page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.forms: list[WebForm] = []
        self._form: WebForm | None = None
        self._select: str | None = None
        self._option = False
        self._area: str | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note links, forms and fields."""
        told = {name: value or "" for name, value in attrs}
        if tag == "a" and told.get("href", "").startswith("/"):
            self.links.append(told["href"].split("#")[0])
        if tag == "form":
            self._form = WebForm(told.get("method", "get").lower(), told.get("action", ""))
            self.forms.append(self._form)
        if self._form is None:
            return
        name = told.get("name", "")
        if tag == "input":
            self._input(self._form, name, told)
        elif tag == "button":
            self._form.buttons.append((name, told.get("value", "")))
        elif tag == "select":
            self._select = name
            self._form.choices[name] = []
        elif tag == "option" and self._select:
            self._option = "value" not in told
            self._form.choices[self._select].append(told.get("value", ""))
            if "selected" in told:
                self._form.chosen[self._select] = told.get("value", "")
        elif tag == "textarea":
            self._area = name
            self._form.typed[name] = ""

    def _input(self, form: WebForm, name: str, told: dict[str, str]) -> None:
        kind, value = told.get("type", "text"), told.get("value", "")
        if kind == "hidden":
            form.hidden[name] = value
        elif kind in ("radio", "checkbox"):
            form.choices.setdefault(name, []).append(value)
            if "checked" in told:
                form.chosen[name] = value
        elif kind == "file":
            form.files.append(name)
        else:
            form.typed[name] = value

    def handle_endtag(self, tag: str) -> None:
        """The end of a form, a selection, a box of text."""
        if tag == "form":
            self._form = None
        elif tag in ("select", "option"):
            self._option, self._select = False, None if tag == "select" else self._select
        elif tag == "textarea":
            self._area = None

    def handle_data(self, data: str) -> None:
        """What stands in a box of text or an option; a box's first line break is markup."""
        if self._form is not None and self._select is not None and self._option:
            self._form.choices[self._select][-1] += data
        if self._form is not None and self._area is not None:
            self._form.typed[self._area] += data.removeprefix("\n")


def walk(client: Any, starts: list[str], inside: str) -> dict[str, Reading]:
    """Pages by address, one for each path: from the starts by links that begin with `inside`."""
    todo, found = list(starts), {}
    seen = set()
    while todo:
        at = todo.pop(0)
        plain = at.partition("?")[0]
        # one page of each kind is enough where an address asks for one of many parts
        if plain in seen or NO_PAGE.search(plain):
            continue
        seen.add(plain)
        answer = client.get(at)
        assert answer.status_code == 200, f"{at} answers {answer.status_code}"
        assert "text/html" in answer.headers["content-type"], at
        found[at] = Reading(answer.text)
        todo += [link for link in found[at].links if link.startswith(inside)]
    return found
