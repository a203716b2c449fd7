"""Phones: let in by a code used once, turned away again, and nobody else sees anything."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from hypothesis import given
from hypothesis import strategies as st

from tickover.book.store import Store
from tickover.errors import BookDamaged, InputError
from tickover.web.app import create_app
from tickover.web.phone.addresses import phone_address
from tickover.web.phone.code import ALPHABET, LENGTH, LIFE_S, MOST_WRONG, OneTimeCode
from tickover.web.phone.gate import COOKIE
from tickover.web.phone.paired import MOST_PHONES, PairedPhones
from tickover.web.phone.pairing import Pairing

BENCH = "http://192.168.40.2:8539"
NOW = "2031-03-01T10:00:00+00:00"
ENGINE = '[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n'


class Device:
    """A browser at an address of its own, with its own cookies."""

    def __init__(self, app: Any, address: str, base: str = BENCH) -> None:
        transport = httpx.ASGITransport(
            app=app, raise_app_exceptions=False, client=(address, 50_000)
        )
        self._client = httpx.AsyncClient(transport=transport, base_url=base)
        self._base = base
        self.cookies = self._client.cookies

    def get(self, path: str) -> httpx.Response:
        """GET."""
        with start_blocking_portal() as portal:
            return portal.call(self._client.get, path)

    def send(self, path: str, typed: dict[str, str], page: str) -> httpx.Response:
        """A form of the page given."""
        found = re.search(r'name="token" value="([0-9a-f]{64})"', self.get(page).text)
        data = {"token": found.group(1) if found else "", **typed}

        async def post() -> httpx.Response:
            return await self._client.post(path, data=data, headers={"origin": self._base})

        with start_blocking_portal() as portal:
            return portal.call(post)

    def pair(self, code: str, name: str = "Bench phone") -> httpx.Response:
        """Ask to be let in."""
        return self.send("/pair", {"code": code, "name": name}, "/pair")


@pytest.fixture
def pairing(tmp_path: Path) -> Pairing:
    return Pairing(f"{BENCH}/", PairedPhones(tmp_path / "phones.json"), lambda: NOW)


@pytest.fixture
def app(tmp_path: Path, pairing: Pairing) -> Iterator[Any]:
    with Store.open(tmp_path / "phones.book") as store:
        store.create_build("Shed twin", ENGINE, NOW, "tester")
        yield create_app(store, clock=lambda: NOW, hosts=("192.168.40.2",), pairing=pairing)


@pytest.mark.parametrize(
    "path", ["/", "/phones", "/builds/shed-twin-aa", "/builds/shed-twin-aa/export.zip", "/nothing"]
)  # fmt: skip
def test_an_unpaired_device_is_shown_the_pairing_page_and_nothing_else(app: Any, path: str) -> None:
    answer = Device(app, "192.168.40.7").get(path)
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    assert "Shed" not in Device(app, "192.168.40.7").get("/pair").text


@pytest.mark.parametrize("path", ["/builds", "/import", "/demo", "/phones/revoke", "/theme"])
def test_an_unpaired_device_writes_nothing(app: Any, path: str) -> None:
    device = Device(app, "192.168.40.7")
    answer = device.send(path, {"engine_file": ENGINE}, "/pair")
    assert answer.status_code == 401
    assert len(app.state.bench.store.builds()) == 1


def test_an_unpaired_device_is_not_told_what_a_build_is_called(app: Any) -> None:
    (build,) = app.state.bench.store.builds()
    answer = Device(app, "192.168.40.7").send(f"/builds/{build.id}/nothing", {}, "/pair")
    assert answer.status_code == 401
    assert build.name not in answer.text


def test_a_phone_is_let_in_once_for_a_code(app: Any, pairing: Pairing) -> None:
    code = pairing.code.show()
    first, second = Device(app, "192.168.40.7"), Device(app, "192.168.40.8")
    assert first.pair(code.lower()).status_code == 303
    assert "Shed twin" in first.get("/").text
    refused = second.pair(code, "Other phone")
    assert refused.status_code == 422
    assert "not the code that counts now" in refused.text
    assert 'value="Other phone"' in refused.text  # nothing typed is lost
    assert second.get("/").status_code == 303


def test_a_name_that_cannot_be_used_does_not_cost_the_code(app: Any, pairing: Pairing) -> None:
    code, device = pairing.code.show(), Device(app, "192.168.40.7")
    assert device.pair(code, " ").status_code == 422
    assert device.pair(code, "x" * 41).status_code == 422
    assert device.pair(code, "Bench phone").status_code == 303


def test_looking_at_the_link_uses_nothing_up(app: Any, pairing: Pairing) -> None:
    path = pairing.link().removeprefix(BENCH)
    for _ in range(3):  # browsers fetch an address before it is opened
        assert pairing.code.show() in Device(app, "192.168.40.7").get(path).text
    assert Device(app, "192.168.40.7").pair(pairing.code.show()).status_code == 303


def test_what_a_paired_phone_writes_bears_its_name(app: Any, pairing: Pairing) -> None:
    device = Device(app, "192.168.40.7")
    device.pair(pairing.code.show(), "Bench phone")
    store = app.state.bench.store
    build = store.builds()[0].id
    answer = device.send(f"/builds/{build}/note", {"note": "gasket glued"}, f"/builds/{build}")
    assert answer.status_code == 303
    assert store.entries(build)[-1].by == "Bench phone (phone)"


def test_a_phone_turned_away_sees_nothing_more(app: Any, pairing: Pairing) -> None:
    device, bench = Device(app, "192.168.40.7"), Device(app, "127.0.0.1", "http://localhost")
    device.pair(pairing.code.show())
    assert device.get("/").status_code == 200
    phone = pairing.phones.all()[0]
    assert "Bench phone" in bench.get("/phones").text
    assert bench.send("/phones/revoke", {"phone": phone.id}, "/phones").status_code == 303
    assert device.get("/").status_code == 303
    assert "Bench phone" not in bench.get("/phones").text
    assert bench.send("/phones/revoke", {"phone": phone.id}, "/phones").status_code == 422


def test_a_paired_phone_lets_no_other_in(app: Any, pairing: Pairing) -> None:
    device = Device(app, "192.168.40.7")
    device.pair(pairing.code.show())
    assert device.get("/phones").status_code == 404
    assert device.send("/phones/code", {}, "/").status_code == 404


def test_this_machine_needs_no_pairing_and_shows_picture_and_code(
    app: Any, pairing: Pairing
) -> None:
    bench = Device(app, "127.0.0.1", "http://localhost")
    text = bench.get("/phones").text
    code = pairing.code.show()
    assert f"{code[:4]} {code[4:]}" in text
    assert "<svg" in text
    assert bench.send("/phones/code", {}, "/phones").status_code == 303
    assert pairing.code.show() != code


def test_without_phones_the_page_says_how(tmp_path: Path) -> None:
    with Store.open(tmp_path / "alone.book") as store:
        bench = Device(create_app(store), "127.0.0.1", "http://localhost")
        assert "tickover serve --phone" in bench.get("/phones").text
        assert "not served now" in bench.get("/pair").text
        assert bench.pair("23456789").status_code == 404


def test_the_pass_is_strict_hidden_from_scripts_and_not_kept(
    app: Any, pairing: Pairing, tmp_path: Path
) -> None:
    device = Device(app, "192.168.40.7")
    cookie = device.pair(pairing.code.show()).headers.get_list("set-cookie")
    mine = next(line for line in cookie if line.startswith(COOKIE))
    assert "HttpOnly" in mine
    assert "samesite=strict" in mine.lower()
    carried = mine.partition("=")[2].partition(";")[0]
    assert carried not in (tmp_path / "phones.json").read_text()


# -- the code --------------------------------------------------------------------------------


def test_a_code_ends_by_age_and_by_wrong_tries() -> None:
    now = [0.0]
    code = OneTimeCode(lambda: now[0])
    first = code.show()
    assert len(first) == LENGTH
    assert set(first) <= set(ALPHABET)
    now[0] = LIFE_S
    assert not code.use(first)
    second = code.show()
    for _ in range(MOST_WRONG):
        assert not code.use("22222222" if second != "22222222" else "33333333")
    assert code.show() != second
    assert not code.use(second)


@given(st.text(max_size=12))
def test_nothing_but_the_code_opens(typed: str) -> None:
    code = OneTimeCode()
    wanted = "".join(sign for sign in typed.upper() if sign.isalnum()) == code.show()
    assert code.use(typed) == wanted


# -- the list --------------------------------------------------------------------------------


def test_the_list_outlives_a_restart(tmp_path: Path) -> None:
    path = tmp_path / "phones.json"
    phone, carried = PairedPhones(path).add("Bench phone", NOW)
    again = PairedPhones(path)
    assert again.known(carried, lambda: NOW) == phone
    assert again.known(carried + "x", lambda: NOW) is None
    assert again.known("", lambda: NOW) is None
    assert again.last_seen(phone) == NOW


@pytest.mark.parametrize("text", ["{", "[1]", '[{"id": "x"}]', "[" * 100_000, "\0"])
def test_a_damaged_list_is_told_and_lets_nobody_in(tmp_path: Path, text: str) -> None:
    path = tmp_path / "phones.json"
    path.write_text(text)
    with pytest.raises(BookDamaged, match=r"phones\.json"):
        PairedPhones(path)


def test_names_are_told_apart_and_phones_are_counted(tmp_path: Path) -> None:
    phones = PairedPhones(tmp_path / "phones.json")
    for number in range(MOST_PHONES):
        phones.add(f"phone {number}", NOW)
    with pytest.raises(InputError, match="has this name"):
        phones.add("PHONE 1", NOW)
    with pytest.raises(InputError, match="Too many"):
        phones.add("one more", NOW)
    assert len(json.loads((tmp_path / "phones.json").read_text())) == MOST_PHONES


# -- the address -----------------------------------------------------------------------------


def test_phones_are_served_in_private_networks_only() -> None:
    assert phone_address("", ["127.0.1.1", "203.0.114.9", "192.168.40.2"]) == "192.168.40.2"
    assert phone_address("10.0.0.2", []) == "10.0.0.2"
    for asked in ("8.8.8.8", "127.0.0.1", "0.0.0.0", "bench.example"):
        with pytest.raises(InputError, match="local network only"):
            phone_address(asked, ["192.168.40.2"])
    with pytest.raises(InputError, match="no local network"):
        phone_address("", ["127.0.0.1"])


def test_the_picture_carries_the_link(pairing: Pairing) -> None:
    # the squares of the terminal picture, read back, are those of a picture of the same link
    import segno

    expected = segno.make(pairing.link(), error="m", micro=False)
    lines = pairing.for_terminal().splitlines()
    assert len(lines) == -(-(expected.symbol_size(border=2)[1]) // 2)
    assert pairing.code.show() in pairing.link()
    assert pairing.picture().startswith("<svg")


def test_a_command_line_that_cannot_be_meant_is_refused(client_for: Callable[..., Any]) -> None:
    from click.testing import CliRunner

    from tickover.cli.serve import serve

    found = CliRunner().invoke(serve, ["--address", "192.168.1.2"])
    assert isinstance(found.exception, InputError)
    assert "--phone as well" in str(found.exception)
