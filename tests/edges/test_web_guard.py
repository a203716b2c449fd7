"""What the fences of the web face let through, and what they do not."""

from __future__ import annotations

import hashlib
import re
import signal
import socket
import subprocess
import sys
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal

from tickover.book.store import Store
from tickover.errors import InputError
from tickover.web.app import create_app
from tickover.web.assets import FOLDER
from tickover.web.serve import bind

Client = Any  # conftest's Client, as its fixture makes it
SMALL = 200_000
ENGINE = '[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n'


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "guard.book") as store:
        yield store


@pytest.fixture
def client(store: Store, client_for: Callable[..., Client]) -> Client:
    clock = "2031-03-01T10:00:00+00:00"
    return client_for(create_app(store, clock=lambda: clock, largest_body=SMALL))


def token(client: Client) -> str:
    return client.token()


def post(client: Client, path: str, data: dict[str, str], **headers: str) -> httpx.Response:
    return client.post(path, data=data, headers={"origin": "http://localhost", **headers})


def test_a_form_of_our_own_page_is_taken(client: Client, store: Store) -> None:
    answer = post(client, "/builds", {"token": token(client), "engine_file": ENGINE})
    assert answer.status_code == 303
    assert [build.name for build in store.builds()] == ["Shed twin"]


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "https://localhost",
        "http://localhost:8080",
        "http://localhost.evil.example",
        "null",
        "",
    ],
)
def test_a_write_from_another_site_is_refused(client: Client, store: Store, origin: str) -> None:
    answer = client.post(
        "/builds",
        data={"token": token(client), "engine_file": ENGINE},
        headers={"origin": origin} if origin else {},
    )
    assert answer.status_code == 403
    assert "Nothing was written" in answer.text
    assert store.builds() == ()


def test_a_browser_saying_cross_site_is_refused_whatever_the_origin(client: Client) -> None:
    data = {"token": token(client), "engine_file": ENGINE}
    answer = post(client, "/builds", data, **{"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403


@pytest.mark.parametrize("wrong", ["", "0" * 64, "x", "0" * 10_000, "é"])
def test_a_write_without_the_token_of_its_session_is_refused(
    client: Client, store: Store, wrong: str
) -> None:
    token(client)  # the session's cookie is there
    answer = post(client, "/builds", {"token": wrong, "engine_file": ENGINE})
    assert answer.status_code == 403
    assert "load the page again" in answer.text
    assert store.builds() == ()


def test_the_token_of_one_session_is_no_good_in_another(client: Client, store: Store) -> None:
    stolen = token(client)
    client.cookies.clear()
    token(client)
    assert post(client, "/builds", {"token": stolen, "engine_file": ENGINE}).status_code == 403
    assert store.builds() == ()


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200),
        ("localhost:8539", 200),
        ("LOCALHOST", 200),
        ("127.0.0.1:1", 200),
        ("[::1]:8539", 200),
        ("evil.example", 421),
        ("localhost.evil.example", 421),
        ("127.0.0.1.evil.example", 421),
        ("192.168.1.5", 421),
        ("", 421),
    ],
)
def test_only_names_of_this_bench_are_answered(client: Client, host: str, status: int) -> None:
    assert client.get("/", headers={"host": host}).status_code == status


def test_a_configured_name_is_answered(store: Store, client_for: Callable[..., Client]) -> None:
    client = client_for(create_app(store, hosts=["bench.lan"]), "http://bench.lan")
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("path", ["/", "/nothing", "/static/x/base.css"])
def test_every_answer_carries_the_policy(client: Client, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "style-src 'self';" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"


def test_the_session_cookie_is_strict_and_hidden_from_scripts(client: Client) -> None:
    cookie = client.get("/").headers["set-cookie"].lower()
    assert "samesite=strict" in cookie
    assert "httponly" in cookie


@pytest.mark.parametrize(
    ("method", "path", "status", "words"),
    [
        ("GET", "/nothing", 404, "leads nowhere"),
        ("GET", "/builds/none-here", 404, "none-here"),
        ("DELETE", "/", 405, "not for that"),
        ("GET", "/theme", 405, "not for that"),
        ("PUT", "/builds", 405, "not for that"),
    ],
)
def test_wrong_addresses_and_methods_get_a_page_that_says_so(
    client: Client, method: str, path: str, status: int, words: str
) -> None:
    answer = client.request(method, path, headers={"origin": "http://localhost"})
    assert answer.status_code == status
    assert words in answer.text
    assert "<h1>" in answer.text


def test_a_wrong_address_inside_a_build_leads_back_to_it(client: Client, store: Store) -> None:
    text = (Path(__file__).parents[2] / "examples" / "engines" / "triple-240.toml").read_text()
    build = store.create_build("Shed <triple>", text, "2031-03-01T10:00:00+00:00", "t").id
    for path in (f"/builds/{build}/nothing", f"/builds/{build}/valves/in99"):
        answer = client.get(path)
        assert answer.status_code == 404
        assert f'<a class="button" href="/builds/{build}">To Shed &lt;triple&gt;</a>' in answer.text
    assert 'class="button"' not in client.get("/builds/none-here/valves").text


def test_what_is_no_form_is_refused(client: Client) -> None:
    headers = {"origin": "http://localhost", "content-type": "application/json"}
    answer = client.post("/builds", content=b"{}", headers=headers)
    assert answer.status_code == 415


def test_a_body_over_the_limit_is_refused_with_the_limit(client: Client, store: Store) -> None:
    data = {"token": token(client), "engine_file": "x" * (SMALL + 1)}
    answer = post(client, "/builds", data)
    assert answer.status_code == 413
    assert "0.2 MB" in answer.text
    assert store.builds() == ()


def test_a_body_that_says_it_is_too_large_is_refused_before_it_is_read(store: Store) -> None:
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        raise AssertionError("the body was read")

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "POST",
        "path": "/builds",
        "query_string": b"",
        "scheme": "http",
        "headers": [
            (b"host", b"localhost"),
            (b"origin", b"http://localhost"),
            (b"content-type", b"application/x-www-form-urlencoded"),
            (b"content-length", b"50000000"),
        ],
    }
    with start_blocking_portal() as portal:
        portal.call(create_app(store, largest_body=SMALL), scope, receive, send)
    assert sent[0]["status"] == 413


def test_a_body_that_hides_its_length_is_cut_off(client: Client, store: Store) -> None:
    form_token = token(client)

    async def endless() -> AsyncIterator[bytes]:
        yield f"token={form_token}&engine_file=".encode()
        for _ in range(30):
            yield b"x" * 10_000

    answer = client.post(
        "/builds",
        content=endless(),
        headers={
            "origin": "http://localhost",
            "content-type": "application/x-www-form-urlencoded",
        },
    )
    assert answer.status_code == 413
    assert store.builds() == ()


def test_a_broken_upload_gets_a_page(client: Client) -> None:
    headers = {"origin": "http://localhost", "content-type": "multipart/form-data; boundary=x"}
    answer = client.post("/builds", content=b"--x\r\ngarbage", headers=headers)
    assert answer.status_code in (400, 403)
    assert "Nothing was written" in answer.text


@pytest.mark.parametrize(
    "back", ["//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_going_back_never_leaves_this_site(client: Client, back: str) -> None:
    answer = post(client, "/theme", {"token": token(client), "theme": "dark", "back": back})
    assert answer.headers["location"] == "/"


def test_the_theme_is_kept_and_shown(client: Client) -> None:
    page = client.get("/").text
    assert "prefers-color-scheme: dark" in page
    data = {"token": token(client), "theme": "dark", "back": "/"}
    assert post(client, "/theme", data).headers["location"] == "/"
    page = client.get("/").text
    assert 'theme-dark.css" media="screen"' in page
    assert post(client, "/theme", {**data, "theme": "pink"}).status_code == 422


def test_assets_are_kept_by_content_and_old_addresses_are_not(client: Client) -> None:
    page = client.get("/").text
    address = re.search(r'href="(/static/[0-9a-f]{16}/base\.css)"', page)
    assert address is not None
    kept = client.get(address.group(1))
    assert kept.headers["cache-control"] == "public, max-age=31536000, immutable"
    old = client.get("/static/0123456789abcdef/base.css")
    assert old.text == kept.text
    assert old.headers["cache-control"] == "no-cache"
    assert client.get("/static/x/../../app.py").status_code == 404
    assert client.get("/static/x/..%2f..%2fapp.py").status_code == 404


def test_vendored_files_are_the_ones_written_down() -> None:
    rows = re.findall(
        r"^\| `([^`]+)` \|.*`([0-9a-f]{64})` \|$", (FOLDER / "VENDORED.md").read_text(), re.M
    )
    assert len(rows) == 3
    for name, expected in rows:
        assert hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() == expected, name


def test_no_template_has_inline_style_or_script_or_outside_address() -> None:
    templates = FOLDER.parent / "templates"
    found = list(templates.rglob("*.html"))
    assert len(found) > 3
    for path in found:
        text = path.read_text()
        assert not re.search(r"\sstyle\s*=", text), path
        assert not re.search(r"\son[a-z]+\s*=", text), path
        assert not re.search(r"<script(?![^>]*\ssrc=)", text), path
        assert not re.search(r"(href|src|action)=\"(https?:)?//", text), path
        assert "<style" not in text, path
        assert "| safe" not in text, path


def test_a_taken_port_gives_the_next_free_one() -> None:
    with bind("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        with bind("127.0.0.1", port) as second:
            assert port < second.getsockname()[1] < port + 20


def test_an_address_that_is_not_ours_is_refused_with_advice() -> None:
    with pytest.raises(InputError, match="free port of this machine"):
        bind("203.0.113.7", 8539)  # a documentation address (RFC 5737), nobody has it


def test_serving_prints_its_address_answers_and_ends_cleanly_on_ctrl_c(tmp_path: Path) -> None:
    program = (
        "from tickover.book.store import Store\n"
        "from tickover.web.serve import serve\n"
        f"with Store.open({str(tmp_path / 's.book')!r}) as store:\n"
        "    serve(store, port=0, say=lambda a: print(a, flush=True))\n"
        "print('closed')\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        url = process.stdout.readline().strip()
        assert url.startswith("http://127.0.0.1:")
        assert httpx.get(url, timeout=300).status_code == 200
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=300)
    finally:
        process.kill()
    assert process.returncode == 0, err
    assert out.strip() == "closed"
    assert "Traceback" not in err
    with socket.socket() as probe, pytest.raises(OSError, match="refused"):
        probe.connect(("127.0.0.1", int(url.rsplit(":", 1)[1].strip("/"))))


def test_who_leaves_while_sending_is_no_fault_of_ours_and_writes_nothing(store: Store) -> None:
    build = store.create_build("Twin", ENGINE, "2031-03-01T10:00:00+00:00", "tester").id
    app, answers = create_app(store), []
    arriving = [{"type": "http.request", "body": b"token=", "more_body": True}]

    async def receive() -> dict[str, Any]:
        return arriving.pop() if arriving else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        answers.append(message)

    scope = {
        "type": "http", "method": "POST", "path": f"/builds/{build}/note", "raw_path": b"",
        "query_string": b"", "scheme": "http", "root_path": "", "client": ("127.0.0.1", 5),
        "headers": [
            (b"host", b"localhost"), (b"origin", b"http://localhost"), (b"content-length", b"90"),
            (b"content-type", b"application/x-www-form-urlencoded"),
        ],
    }  # fmt: skip
    with start_blocking_portal() as portal:
        portal.call(app, scope, receive, send)  # raises where it is taken for a fault
    assert answers[0]["status"] == 400
    assert store.state(build).last_number == 1
