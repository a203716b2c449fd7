"""Every form of every page, filled with rubbish: refused in words, and what was typed stays."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from support_forms import open_builds
from support_walk import Reading, WebForm, walk

from tickover.book.store import Store
from tickover.demo import open_demo
from tickover.web.app import create_app

Client = Any
HERE = {"origin": "http://localhost"}
RUBBISH = "no <b>figure</b> & 'none'"
ODD = ("nan", "-1e999 mm", "9" * 400, "\x00\u0663", "1/0")
"""What reads as a number in one language or another, and is none to work with."""
WORDS = {
    "label", "reason", "note", "caption", "about", "name", "find", "instrument", "why", "item",
    "engine.name", "engine.notes",
}  # fmt: skip
"""Fields that take any words; the rest ask for something that can be wrong."""
ANY_WORDS = {
    "/builds/{build}/wiring": "the name of a point or a part is any word",
    "/builds/{build}/stopwatch": "the starter's button sends only its moment",
}


@pytest.fixture
def bench(tmp_path: Path, client_for: Callable[..., Client]) -> Iterator[tuple[Client, list[str]]]:
    with Store.open(tmp_path / "rubbish.book") as store:
        homes = open_builds(store)
        yield client_for(create_app(store, open_demo=open_demo)), homes


def every_form(client: Client, homes: list[str]) -> dict[tuple[str, ...], tuple[str, WebForm]]:
    """One form of each kind with the page it stands on."""
    found: dict[tuple[str, ...], tuple[str, WebForm]] = {}
    for home in homes:
        for at, page in walk(client, ["/", "/new", home, f"{home}/quick"], home).items():
            for form in page.forms:
                found.setdefault((form.method, *form.kind), (at, form))
    return found


def send(client: Client, form: WebForm, typed: str) -> Any:
    data = {**form.hidden, **{name: offered[0] for name, offered in form.choices.items()}}
    data |= form.chosen | dict.fromkeys(form.typed, typed)
    data |= dict([button for button in form.buttons if button[0]][:1])
    action = form.action.split("#")[0]
    if form.method == "get":
        return client.get(action, params=data)
    files = dict.fromkeys(form.files, ("x.bin", b"\x00\xff rubbish", "application/octet-stream"))
    return client.post(action, data=data, files=files or None, headers=HERE)


def what_is_lost(form: WebForm, answer: Any) -> list[str]:
    """Fields of the same form on the page that refuses it, where the words typed are gone."""
    same = [f for f in Reading(answer.text).forms if f.kind == form.kind]
    stands = [f for f in same if set(f.typed.values()) == {RUBBISH}]
    if stands:
        return []
    kept = max(same, key=lambda f: list(f.typed.values()).count(RUBBISH), default=None)
    return [name for name in form.typed if kept is None or kept.typed[name] != RUBBISH]


def test_rubbish_is_refused_in_words_and_stays_typed(bench: tuple[Client, list[str]]) -> None:
    client, homes = bench
    wrong, refused = [], 0
    for kind, (at, form) in every_form(client, homes).items():
        if not form.typed:
            continue
        # a form sent before may have changed what the page asks for
        fresh = Reading(client.get(at).text).forms
        form = next((f for f in fresh if f.kind == form.kind), form)
        answer = send(client, form, RUBBISH)
        if answer.status_code in (200, 303):
            may = set(form.typed) <= WORDS and not form.files
            if not may and form.kind[0] not in ANY_WORDS:
                wrong.append(f"{at}: {kind}: takes anything")
            continue
        refused += 1
        if not 400 <= answer.status_code < 500:
            wrong.append(f"{at}: {kind}: answers {answer.status_code}")
        lost = what_is_lost(form, answer)
        if lost:
            wrong.append(f"{at}: {kind}: lost {lost}")
        if 'class="wrong"' not in answer.text:
            wrong.append(f"{at}: {kind}: does not say what is wrong")
        if not any(words in answer.text for words in ("Allowed: ", "Write ")):
            wrong.append(f"{at}: {kind}: does not say what to write")
        if RUBBISH in answer.text:
            wrong.append(f"{at}: {kind}: what was typed is markup")
    assert wrong == [], "\n".join(wrong)
    assert refused > 30


def test_no_odd_number_is_a_fault_of_ours(bench: tuple[Client, list[str]]) -> None:
    client, homes = bench
    wrong = []
    for kind, (at, form) in every_form(client, homes).items():
        for odd in ODD if form.typed else ():
            answer = send(client, form, odd)
            if answer.status_code >= 500 or "Traceback" in answer.text:
                wrong.append(f"{at}: {kind}: {odd[:12]!r} answers {answer.status_code}")
    assert wrong == [], "\n".join(wrong)


def test_a_choice_nobody_offered_is_never_a_fault_of_ours(
    bench: tuple[Client, list[str]],
) -> None:
    client, homes = bench
    wrong = []
    for kind, (at, form) in every_form(client, homes).items():
        if form.method == "get":
            continue
        named = {*form.choices, *form.hidden, *(name for name, _ in form.buttons if name)}
        data = {**form.hidden, **dict.fromkeys(form.typed, "1")}
        data |= dict.fromkeys(named - {"token"}, "moon")
        answer = client.post(form.action.split("#")[0], data=data, headers=HERE)
        if answer.status_code >= 500 or "Traceback" in answer.text:
            wrong.append(f"{at}: {kind}: answers {answer.status_code}")
    assert wrong == [], "\n".join(wrong)
