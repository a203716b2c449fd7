"""The book on a real PostgreSQL server: the same promises, several benches, the server killed."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from support_server import PATIENCE_S, Server, programs, start_server

from tickover.book.entries import Draft, LooseEndOpened, Note, Picture, new_id
from tickover.book.exchange import export_build, import_build
from tickover.book.store import BookMovedOn, Store
from tickover.errors import BookBusy, BookDamaged, BookError, BookNewer, BookUnwritable, InputError

pytestmark = pytest.mark.skipif(programs() is None, reason="no PostgreSQL installed")
AT = "2031-04-05T18:30:00Z"
ENGINE = '[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n'


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with tempfile.TemporaryDirectory(prefix="tickover-server-") as folder:
        Path(folder).chmod(0o755)  # pytest's own folders are closed to the server's user
        started = start_server(Path(folder) / "cluster")
        yield started
        started.stop("immediate")


@pytest.fixture
def where(server: Server) -> str:
    """The address of an empty database."""
    name = f"book_{new_id()[:8]}"
    server.run(f"CREATE DATABASE {name}")
    return server.address(name)


def test_a_book_begins_is_written_and_read_again(where: str) -> None:
    with Store.open(where) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
        name = store.put_blob(b"\x00\xffpicture")
        draft = Draft(Note("café, 日本, \U0001f527"), id=new_id())
        first = store.append(build, [draft, Picture(name, "image/png", "crank")], at=AT, by="Ada")
        assert store.append(build, draft, at=AT, by="Ada") == first[:1]
        with pytest.raises(BookMovedOn):
            store.append(build, Note("late"), at=AT, by="Ada", expect_number=1)
        with pytest.raises(InputError, match="not in the book yet"):
            store.append(build, LooseEndOpened("cap", picture="0" * 64), at=AT, by="Ada")
    with Store.open(where) as again:
        assert [e.number for e in again.entries(build)] == [1, 2, 3]
        assert again.state(build).entry(draft.id) == first[0]
        assert again.get_blob(name) == b"\x00\xffpicture"
        assert again.verify() > 0


def test_the_same_numbered_steps_are_done_once_by_eight_who_start_together(where: str) -> None:
    problems: list[BaseException] = []
    together = threading.Barrier(8)

    def start() -> None:
        try:
            together.wait(120)
            with Store.open(where, patience_s=60.0) as store:
                store.builds()
        except Exception as error:  # noqa: BLE001 (a thread's error must reach the test)
            problems.append(error)

    threads = [threading.Thread(target=start) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert problems == []
    with Store.open(where) as store:
        assert store.builds() == ()


def test_two_benches_with_ten_clients_each_lose_and_double_nothing(where: str) -> None:
    problems: list[BaseException] = []
    with Store.open(where, patience_s=60.0) as one, Store.open(where, patience_s=60.0) as two:
        build = one.create_build("Shed twin", ENGINE, AT, "Ada").id

        def client(number: int) -> None:
            store = (one, two)[number % 2]
            try:
                for turn in range(5):
                    draft = Draft(Note(f"{number} {turn}"), id=new_id())
                    kept = store.append(build, draft, at=AT, by=f"client {number}")
                    assert store.append(build, draft, at=AT, by=f"client {number}") == kept
                    assert store.state(build).entry(draft.id) == kept[0]
            except Exception as error:  # noqa: BLE001 (a thread's error must reach the test)
                problems.append(error)

        threads = [threading.Thread(target=client, args=(n,)) for n in range(20)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert problems == []
        entries = two.entries(build)
        assert [e.number for e in entries] == list(range(1, 102))
        texts = sorted(e.body.text for e in entries[1:])
        assert texts == sorted(f"{n} {t}" for n in range(20) for t in range(5))
        assert one.state(build).last_number == two.state(build).last_number == 101


def exported(store: Store, build: str) -> dict[str, bytes]:
    out = io.BytesIO()
    export_build(store, build, out)
    with zipfile.ZipFile(out) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_build_goes_from_file_to_server_and_back_unchanged(where: str, tmp_path: Path) -> None:
    with Store.open(tmp_path / "one.sqlite") as file, Store.open(where) as server:
        build = file.create_build("Shed twin", ENGINE, AT, "Ada").id
        sha = file.put_blob(b"a picture")
        file.append(build, [Note("a"), Picture(sha, "image/png", "b")], at=AT, by="Ada")
        export_build(file, build, tmp_path / "there.zip")
        import_build(server, tmp_path / "there.zip")
        assert server.entries(build) == file.entries(build)
        assert exported(server, build) == exported(file, build)
        server.append(build, Note("on the server"), at=AT, by="Ben")
        export_build(server, build, tmp_path / "back.zip")
        import_build(file, tmp_path / "back.zip", existing="continue")
        assert file.entries(build) == server.entries(build)


def test_what_was_kept_outlives_a_server_that_is_cut_off(where: str, server: Server) -> None:
    acknowledged: list[str] = []
    refused: list[BookError] = []
    with Store.open(where) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
        cut = threading.Thread(target=server.stop, args=["immediate"])
        for n in range(1_000_000):
            if n == 50:
                cut.start()  # in the middle of the writing, however slow the machine
            try:
                acknowledged.append(store.append(build, Note(str(n)), at=AT, by="Ada")[0].id)
            except BookError as error:
                refused.append(error)
                break
        cut.join()
        server.start()
        kept = [entry.id for entry in store.entries(build)]  # the same store, reconnected
        assert len(acknowledged) >= 50
        assert refused
        assert set(acknowledged) <= set(kept)
        assert len(kept) - 1 - len(acknowledged) in (0, 1)  # kept, but the answer was lost
        assert store.append(build, Note("on"), at=AT, by="Ada")[0].number == len(kept) + 1
        store.verify()


def test_a_writer_that_holds_a_build_makes_others_wait_and_then_hear_it(
    where: str, server: Server
) -> None:
    import psycopg

    with Store.open(where, patience_s=0.5) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
        with psycopg.connect(where) as other:
            other.execute("SELECT * FROM builds FOR UPDATE")
            with pytest.raises(BookBusy):
                store.append(build, Note("late"), at=AT, by="Ada")
    with Store.open(where) as store:
        assert store.append(build, Note("now"), at=AT, by="Ada")[0].number == 2


def test_a_reader_without_rights_hears_that_nothing_was_kept(where: str, server: Server) -> None:
    with Store.open(where) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
    database = where.rsplit("/", 1)[1]
    role = f"looker_{database}"
    server.run(f"CREATE ROLE {role} LOGIN PASSWORD 'looking'", database)
    server.run(f"GRANT SELECT ON ALL TABLES IN SCHEMA public TO {role}", database)
    with Store.open(server.address(database, user=role, password="looking")) as store:
        assert len(store.entries(build)) == 1
        with pytest.raises(BookUnwritable, match="Nothing was kept"):
            store.append(build, Note("x"), at=AT, by="Eve")


def test_rows_changed_behind_the_books_back_are_noticed(where: str, server: Server) -> None:
    with Store.open(where) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
        store.append(build, [Note("a"), Note("b")], at=AT, by="Ada")
    server.run("UPDATE entries SET body = replace(body, 'a', 'c') WHERE number = 2",
               where.rsplit("/", 1)[1])  # fmt: skip
    with Store.open(where) as store, pytest.raises(BookDamaged, match="entry 2"):
        store.entries(build)


def test_a_newer_book_is_left_alone(where: str, server: Server) -> None:
    with Store.open(where):
        pass
    server.run("INSERT INTO migrations VALUES (2, 'from the future')", where.rsplit("/", 1)[1])
    with pytest.raises(BookNewer):
        Store.open(where)


@pytest.mark.parametrize("wrong", ["password", "database", "port"])
def test_a_wrong_address_is_told_without_its_password(server: Server, wrong: str) -> None:
    address: Any = server.address("none" if wrong == "database" else "postgres")
    if wrong == "password":
        address = address.replace("workshop", "guessed-secret")
    if wrong == "port":
        address = address.replace(str(server.port), "1")
    with pytest.raises(BookError) as told:
        Store.open(address, patience_s=2.0)
    assert "workshop" not in str(told.value)
    assert "guessed-secret" not in str(told.value)
    assert "Traceback" not in str(told.value)


@pytest.mark.parametrize(
    "address", ["postgresql://127.0.0.1", "mysql://127.0.0.1/x", "oracle://x/y", "postgresql://["]
)
def test_an_address_of_something_else_is_refused_with_the_right_form(address: str) -> None:
    with pytest.raises(InputError):
        Store.open(address)


def test_two_web_servers_on_one_database_show_each_others_entries(where: str) -> None:
    from edges.conftest import Client

    from tickover.web.app import create_app

    with Store.open(where) as one, Store.open(where) as two:
        build = one.create_build("Shed twin", ENGINE, AT, "Ada").id
        first, second = (Client(create_app(each, clock=lambda: AT)) for each in (one, two))
        try:
            assert first.send(f"/builds/{build}/note", {"note": "left bench"}).status_code == 303
            assert "Left bench" in second.get(f"/builds/{build}/book").text
            assert second.send(f"/builds/{build}/note", {"note": "right bench"}).status_code == 303
            assert "Right bench" in first.get(f"/builds/{build}/book").text
            assert first.get(f"/builds/{build}/last").json() == {"last": 3}
        finally:
            first.close()
            second.close()


class Bench:
    """`tickover serve` in a process of its own."""

    def __init__(self, where: str) -> None:
        command = [sys.executable, "-u", "-m", "tickover", "serve", "--port", "0", "--where", where]
        source = str(Path(__file__).parents[2] / "src")
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": source}
        )
        assert self.process.stdout is not None
        told = re.search(r"http://\S+", self.process.stdout.readline())
        assert told is not None
        self.url = told.group(0).rstrip("/")
        self.browser = httpx.Client(
            base_url=self.url, timeout=PATIENCE_S, headers={"origin": self.url}
        )
        token = re.search(r'name="token" value="([0-9a-f]{64})"', self.browser.get("/").text)
        assert token is not None
        self.token = token.group(1)

    def send(self, path: str, typed: dict[str, str]) -> int:
        """A form of its own pages; the status of the answer."""
        return self.browser.post(path, data={"token": self.token, **typed}).status_code

    def sees(self, path: str, words: str) -> bool:
        """Whether its page says the words now."""
        return words in self.browser.get(path).text

    def stop(self) -> int:
        """As Ctrl-C does; the exit code."""
        self.browser.close()
        self.process.send_signal(signal.SIGINT)
        code = self.process.wait(PATIENCE_S)
        assert self.process.stdout is not None
        self.process.stdout.close()
        return code


def test_two_server_processes_on_one_database_see_each_others_entries_at_once(
    where: str, tmp_path: Path
) -> None:
    with Store.open(where) as store:
        build = store.create_build("Shed twin", ENGINE, AT, "Ada").id
    left, right = Bench(where), Bench(where)
    alone = Bench(str(tmp_path / "alone.sqlite"))
    try:
        for writer, reader, words in ((left, right, "left bench"), (right, left, "right bench")):
            assert writer.send(f"/builds/{build}/note", {"note": words}) == 303
            assert reader.sees(f"/builds/{build}/book", words.capitalize())
        same = {"note": "pressed here, sent again there", "once": "7" * 32}
        assert [bench.send(f"/builds/{build}/note", same) for bench in (left, right)] == [303, 303]
        for bench in (left, right):
            assert bench.browser.get(f"/builds/{build}/last").json() == {"last": 4}
        packed = left.browser.get(f"/builds/{build}/export.zip").content
        answer = alone.browser.post(
            "/import", data={"token": alone.token}, files={"zip": ("build.zip", packed)}
        )
        assert answer.status_code == 303
        assert alone.sees(f"/builds/{build}/book", "Pressed here, sent again there")
    finally:
        codes = [bench.stop() for bench in (left, right, alone)]
    assert codes == [0, 0, 0]
    with Store.open(where) as server, Store.open(tmp_path / "alone.sqlite") as file:
        assert file.entries(build) == server.entries(build)
        assert [e.number for e in server.entries(build)] == [1, 2, 3, 4]
