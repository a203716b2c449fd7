"""Script in every text field of every page: shown as the text it is, on page, paper and in tables.

Likewise in the names of files that are sent, in addresses, and in the names an engine file gives.

The forms are found by walking the pages, so a new page is tried without being named here.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

import pytest
from edges.conftest import Client
from pypdf import PdfReader

import tickover.web.handlers
from tickover.book.entries import Reading
from tickover.book.store import Store
from tickover.demo import open_demo, open_running_demo
from tickover.errors import InputError
from tickover.paper.sheets import SHEETS, print_sheet
from tickover.web.app import create_app
from tickover.web.routes import routes

MARK = "zqx"
HOSTILE = f"=<script>alert('{MARK}')</script><img src=x onerror=alert(1)>\"' #panic($1$)"
AT = "2031-04-05T18:30:00Z"


@dataclass
class Form:
    """A form of a page: where it goes, and its fields with what they hold."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    texts: set[str] = field(default_factory=set)
    files: set[str] = field(default_factory=set)


class Page(HTMLParser):
    """Forms, links and everything that would run, as a browser reads them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: set[str] = set()
        self.runs: list[str] = []
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take note of a tag."""
        has = {name: value or "" for name, value in attrs}
        if any(name.startswith("on") for name in has) or (tag == "script" and "src" not in has):
            self.runs.append(f"{tag} {has}")
        if any(value.strip().lower().startswith("javascript:") for value in has.values()):
            self.runs.append(f"{tag} {has}")
        if tag == "a" and has.get("href", "").startswith("/"):
            self.links.add(has["href"].partition("#")[0])
        if tag == "form" and has.get("method") == "post":
            self.forms.append(Form(has["action"].partition("#")[0]))
        if not self.forms:
            return
        form, name = self.forms[-1], has.get("name", "")
        if tag == "textarea" or (tag == "input" and has.get("type", "text") == "text"):
            form.texts.add(name)
            form.fields.setdefault(name, "")
        elif tag == "input" and has.get("type") == "file":
            form.files.add(name)
        elif tag == "input" and has.get("type") in ("hidden", "radio", "checkbox"):
            form.fields.setdefault(name, has.get("value", ""))
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            form.fields.setdefault(self._select, has.get("value", ""))
        elif tag == "button" and name:
            form.fields.setdefault(name, has.get("value", ""))


@pytest.fixture
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Client, Store, str]]:
    with Store.open(tmp_path_factory.mktemp("hostile") / "book.sqlite") as store:
        build = open_demo(store)
        client = Client(create_app(store, clock=lambda: AT))
        yield client, store, build
        client.close()


def walk(client: Client, build: str) -> dict[str, str]:
    """Every page of the build that links lead to, by address."""
    seen: dict[str, str] = {}
    todo = [f"/builds/{build}"]
    while todo:
        at = todo.pop()
        plain = at.partition("?")[0]
        # one page of each kind is enough where an address asks for one of many parts
        if at in seen or sum(s.partition("?")[0] == plain for s in seen) > 2:
            continue
        answer = client.get(at)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        seen[at] = answer.text
        found = sorted(Page(answer.text).links)
        todo += [link for link in found if link.startswith(f"/builds/{build}")]
    return seen


SKIPPED = ("/engine", "/export", "/loose/close", "/strike", "/fitted")


def test_script_in_every_text_field_is_text_on_page_paper_and_in_tables(
    bench: tuple[Client, Store, str],
) -> None:
    client, store, build = bench
    pages = walk(client, build)
    assert len(pages) > 15
    sent = refused = kept = 0
    tried: set[tuple[str, str]] = set()
    for text in pages.values():
        for form in Page(text).forms:
            if not form.texts or not form.action.startswith("/builds/"):
                continue
            if form.action.endswith(SKIPPED):
                continue
            for each in sorted(form.texts):
                if (form.action, each) in tried:  # the quick line stands on every page
                    continue
                tried.add((form.action, each))
                typed = {n: v for n, v in form.fields.items() if n != "token"}
                typed |= dict.fromkeys(form.texts & {"reason", "what", "item"}, "plain")
                typed[each] = HOSTILE
                answer = client.send(form.action, typed)
                sent += 1
                assert answer.status_code in (200, 303, 404, 409, 413, 422), (form, answer.text)
                kept += answer.status_code == 303
                refused += answer.status_code == 422
                assert Page(answer.text).runs == [], form
    assert sent > 40
    assert refused > 10
    entries = [e for e in store.entries(build) if MARK in str(e.body)]
    assert len(entries) > 5  # kept as what it is: somebody may write about script
    for at, text in walk(client, build).items():
        assert Page(text).runs == [], at
        assert f"<script>alert('{MARK}" not in text, at
    on_paper(store, build)
    words = HOSTILE[:60]
    store.append(build, Reading("width", words, 1.0, 1.0, "m", words, words), at=AT, by=words)
    in_a_table(client, build)


FILE_NAMES = (
    "../../../escaped.txt",
    "/etc/passwd",
    "C:\\evil.exe",
    f"<img src={MARK} onerror=x>.wav",
)
JUNK = (b"\x00\xff" * 300, b"PK\x03\x04" + b"A" * 600, f"<script>{MARK}</script>".encode())


def test_files_of_any_name_and_content_are_refused_in_words_and_touch_no_disk(
    bench: tuple[Client, Store, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, store, build = bench
    monkeypatch.chdir(tmp_path)
    forms: dict[tuple[str, str], Form] = {}
    for text in [*walk(client, build).values(), client.get("/").text]:
        for form in Page(text).forms:
            forms |= {(form.action, each): form for each in form.files}
    assert len(forms) > 6, sorted(forms)
    before = store.last_number(build)
    for (action, each), form in sorted(forms.items(), key=lambda pair: pair[0]):
        typed = {n: v for n, v in form.fields.items() if n != "token"}
        for n, name in enumerate(FILE_NAMES):
            sent = {each: (name, JUNK[n % len(JUNK)], "text/html")}
            answer = client.send(action, typed, files=sent)
            assert answer.status_code in (404, 422), (action, each, name, answer.text)
            assert Page(answer.text).runs == [], (action, each, name)
            assert f"<img src={MARK}" not in answer.text
    assert store.last_number(build) == before
    assert list(tmp_path.iterdir()) == []
    assert not (tmp_path.parent / "escaped.txt").exists()


@pytest.mark.parametrize(
    "path",
    [
        "/static/x/%2e%2e/session.py",
        "/static/%2e%2e/%2e%2e/render.py",
        "/static/x/..%2f..%2fbench.py",
        "/static/x/%2fetc%2fpasswd",
        "/static/x/..%5c..%5cbench.py",
        "/static/x/base.css%00.js",
        "{home}/pictures/..%2f..%2fbook.sqlite",
        "{home}/pictures/%2e%2e",
        "{home}/sheets/..%2f..%2f..%2fetc%2fpasswd.pdf",
        "{home}/listen/..%2fbook.flac",
        "/builds/..%2f..%2fetc",
        "/builds/%00",
    ],
)
def test_an_address_that_climbs_out_finds_nothing(
    bench: tuple[Client, Store, str], path: str
) -> None:
    client, _, build = bench
    answer = client.get(path.replace("{home}", f"/builds/{build}"))
    assert answer.status_code == 404
    assert "root:" not in answer.text
    assert "import annotations" not in answer.text
    assert Page(answer.text).runs == []


def test_what_is_asked_behind_an_address_breaks_no_page(
    bench: tuple[Client, Store, str],
) -> None:
    client, store, _ = bench
    build = open_running_demo(store)
    handlers = Path(tickover.web.handlers.__file__).parent
    source = "".join(path.read_text() for path in sorted(handlers.glob("*.py")))
    asked = sorted(set(re.findall(r'(?:query_params|asked)\.get\(\s*"(\w+)"', source)))
    assert len(asked) > 12, asked
    kinds = {entry.kind: entry.id for entry in store.entries(build)}
    tried = 0
    for route in routes():
        path = getattr(route, "path", "")
        reads = "GET" in (getattr(route, "methods", None) or ())
        if not reads or not path.startswith("/builds/{build}") or path.count("{") > 1:
            continue
        if path.endswith((".pdf", ".zip", ".csv", ".html")):
            continue
        at = path.replace("{build}", build)
        queries = [{"kept": entry_id} for entry_id in kinds.values()]
        queries += [dict.fromkeys(asked, rubbish) for rubbish in (HOSTILE, "0", "-1", "x" * 900)]
        for query in queries:
            answer = client.get(at, params=query)
            assert answer.status_code in (200, 303, 404, 422), (at, query)
            assert Page(answer.text).runs == [], (at, query)
            tried += 1
    assert tried > 200


def test_hostile_names_in_an_engine_file_are_text_on_every_page(
    bench: tuple[Client, Store, str],
) -> None:
    client, store, _ = bench
    bad = json.dumps(f"=#panic($1$)<script>alert('{MARK}')</script>")
    examples = Path(__file__).parents[2] / "examples" / "engines"
    text = (examples / "triple-240.toml").read_text()
    text += f"""
[[checks]]
name = {bad}
how = {bad}
[[run_in]]
name = {bad}
days = 3
"""
    text = re.sub(r'^name = ".*"', f"name = {bad}", text, count=1, flags=re.MULTILINE)
    hostile = store.create_build(HOSTILE[:60], text, AT, HOSTILE[:40]).id
    pages = walk(client, hostile)
    assert len(pages) > 15
    for at, page in pages.items():
        assert Page(page).runs == [], at
        assert f"<script>alert('{MARK}" not in page, at
    assert sum(MARK in page for page in pages.values()) == len(pages)
    on_paper(store, hostile)


def on_paper(store: Store, build: str) -> None:
    row, state = store.build(build), store.state(build)
    printed = 0
    for name in SHEETS:
        try:
            pdf = print_sheet(name, row, state, store.get_blob, printed_at=AT)
        except InputError:  # a sheet of what this machine does not have: no loom, no sheet
            continue
        text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
        printed += "#panic($1$)" in text
    assert printed > 0  # markup of the typesetter is text there


def in_a_table(client: Client, build: str) -> None:
    text = client.get(f"/builds/{build}/readings.csv").text
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    spoilt = [cell for cell in cells if MARK in cell]
    assert spoilt
    assert [cell for cell in spoilt if cell[:1] in "=+-@\t\r"] == []
