"""Every form of every page, filled in as a mechanic would and sent without a script."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.routing import Route
from support_forms import UntoldError, filled, open_builds
from support_walk import Reading, WebForm, path_kind, walk

from tickover.book.store import Store
from tickover.demo import open_demo, open_running_demo
from tickover.web.app import create_app
from tickover.web.routes import routes

Client = Any
Bench = tuple[Client, Store, list[str]]
HERE = {"origin": "http://localhost"}

WRITES_NOTHING = {
    "/theme": "kept in a cookie",
    "/builds/{build}/quick": "says what a line means; the next form keeps it",
    "/builds/{build}/speed/track": "shows the stretches of a track; the next form keeps them",
}
MAY_WRITE_NOTHING = {
    "/builds/{build}/guide": "a step left as it stands changes no engine file",
}
SHOWS = set(WRITES_NOTHING) - {"/theme"}
"""Answer with a page at once: nothing was written that a second press could double."""
NOT_ON_A_PAGE_HERE = {
    "/pair": "only a phone that is not let in yet gets it; test_web_phones",
    "/phones/code": "only where phones are served; test_web_phones",
    "/phones/revoke": "only where phones are served; test_web_phones",
    "/import": "takes an export; test_web_build brings one back",
    "/builds/{build}/observations": "sent by a script; test_web_stopwatch",
    "/builds/{build}/valves/fitted": "needs a plan that asks for a shim; test_web_valves",
    "/builds/{build}/mixture/buy": "needs a plan that asks for a jet; test_web_mixture",
    "/builds/{build}/listen/weak": "needs a weak cylinder heard; test_web_listen",
}


@pytest.fixture
def bench(tmp_path: Path, client_for: Callable[..., Client]) -> Iterator[Bench]:
    """A client on a book with a demo build that runs, a new build and one with a loom."""
    with Store.open(tmp_path / "forms.book") as store:
        homes = open_builds(store)
        yield client_for(create_app(store, open_demo=open_demo)), store, homes


def written(store: Store) -> int:
    """Entries in all builds."""
    return sum(1 + row.last_number for row in store.builds())


REFUSED = re.compile(r"<p><b>(.*?)</p>|<li><b>((?:Line|The file).*?)</li>", re.DOTALL)


def told(answer: Any) -> str:
    """How a form is refused."""
    said = "; ".join(" ".join(each) for each in REFUSED.findall(answer.text))
    return f"answers {answer.status_code}: {said}"


def new_forms(pages: dict[str, Reading], tried: set[tuple[str, ...]]) -> list[tuple[str, WebForm]]:
    found = []
    for at, page in pages.items():
        for form in page.forms:
            if form.kind not in tried:
                tried.add(form.kind)
                found.append((at, form))
    return found


def send(client: Client, store: Store, at: str, form: WebForm) -> tuple[str, dict[str, Reading]]:
    """What is wrong with how a form is taken, and the page it leads to."""
    if path_kind(form.action) in NOT_ON_A_PAGE_HERE:
        return "", {}
    # what was sent since may have changed what it asks for
    same = [f for f in Reading(client.get(at).text).forms if f.kind == form.kind]
    if not same:
        return "", {}
    form = same[0]
    try:
        data, files = filled(form)
    except UntoldError as untold:
        return f"{at}: {untold}", {}
    before = written(store)
    action = form.action.split("#")[0]
    if form.method == "get":
        answer = client.get(action, params=data)
        return f"{at}: {form.kind}: {told(answer)}" if answer.status_code != 200 else "", {}
    answer = client.post(action, data=data, files=files or None, headers=HERE)
    leads_on = path_kind(action) not in SHOWS
    fault = told(answer) if answer.status_code != (303 if leads_on else 200) else ""
    landed = at
    for _ in range(2):  # an address may lead on once more
        if answer.status_code == 303:
            landed = answer.headers["location"].split("#")[0]
            answer = client.get(landed)
    fault = fault or (f"leads to {answer.status_code}" if answer.status_code != 200 else "")
    kept, kind = written(store) > before, path_kind(action)
    if not fault and kept == (kind in WRITES_NOTHING) and kind not in MAY_WRITE_NOTHING:
        fault = "something is in the book" if kept else "nothing is in the book"
    return fault and f"{at}: {form.kind}: {fault}", {landed: Reading(answer.text)}


def test_every_form_of_every_page_is_taken_without_a_script_and_kept(
    bench: Bench,
) -> None:
    client, store, homes = bench
    tried: set[tuple[str, ...]] = set()
    wrong: list[str] = []
    for home in homes:
        starts = ["/", "/new", "/phones", home, f"{home}/quick"]
        # a form kept brings others to its page: to strike out, to close, to say more
        for _ in range(2):
            forms = new_forms(walk(client, starts, home), tried)
            while forms:
                at, form = forms.pop(0)
                fault, after = send(client, store, at, form)
                wrong += [fault] if fault else []
                forms += new_forms(after, tried)
    assert wrong == [], "\n".join(wrong)
    # no address that takes a form is left out without a reason
    takes = {r.path for r in routes() if isinstance(r, Route) and "POST" in (r.methods or ())}
    left = takes - {kind[0] for kind in tried}
    assert left == set(NOT_ON_A_PAGE_HERE) & left, sorted(left - set(NOT_ON_A_PAGE_HERE))


REACHED = """() => {
  document.querySelectorAll('details').forEach(d => { d.open = true; });
  return Array.from(document.querySelectorAll('form')).flatMap(form => {
    const parts = Array.from(form.elements)
      .filter(e => e.type !== 'hidden' && e.tagName !== 'FIELDSET');
    const hidden = parts.filter(e => !e.checkVisibility({ checkVisibilityCSS: true }));
    return [...hidden.map(e => e.name || e.textContent),
      ...(form.querySelector('button') ? [] : ['no button: ' + form.action])];
  });
}"""
"""What of the forms of a page nobody can reach without a script, with every fold opened."""


def test_every_field_can_be_reached_without_a_script(
    browser: Any, site: Any, client_for: Callable[..., Client]
) -> None:
    build = open_running_demo(site.store)
    home = f"/builds/{build}"
    client = client_for(create_app(site.store, clock=site.clock))
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 800})
    page, wrong = context.new_page(), []
    for at in walk(client, ["/", "/new", home, f"{home}/quick"], home):
        page.goto(site.at(at))
        wrong += [f"{at}: {name}" for name in page.evaluate(REACHED)]
    context.close()
    assert wrong == []
