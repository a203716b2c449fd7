"""The store: what is kept, what is refused, what two users of one book see."""

import ast
import os
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from sqlalchemy import ClauseElement
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg

import tickover.book
from tickover.book import migrations, statements, tables
from tickover.book.entries import Draft, LooseEndOpened, Note, Picture, Reading, Unknown, new_id
from tickover.book.location import default_path
from tickover.book.store import BookMovedOn, Store
from tickover.errors import (
    BookBusy,
    BookDamaged,
    BookError,
    BookNewer,
    BookUnwritable,
    InputError,
)

AT = "2031-04-05T18:30:00Z"
LATER = "2031-04-06T07:00:00Z"
ENGINE = '[engine]\nname = "Invented 539 triple"\n'
GAP = Reading("clearance", "in1", 1.0e-4, 1.1e-4, "m", "0.10 / 0.11 mm")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "book.sqlite"


@pytest.fixture
def store(path):
    with Store.open(path) as store:
        yield store


@pytest.fixture
def build(store):
    return store.create_build("Invented 539 Triple", ENGINE, AT, "Ada").id


def test_a_new_build_begins_with_its_engine_file(store, build):
    row = store.build(build)
    assert build.startswith("invented-539-triple-")
    assert (row.name, row.created_at, row.created_by) == ("Invented 539 Triple", AT, "Ada")
    assert row.last_number == 1
    assert store.state(build).engine_text == ENGINE
    assert store.builds() == (row,)


def test_build_ids_are_readable_and_never_the_same(store):
    ids = {store.create_build("Überholte Zwo", "", AT, "Ada").id for _ in range(5)}
    assert len(ids) == 5
    assert all(i.startswith("uberholte-zwo-") for i in ids)
    assert store.create_build("二気筒", "", AT, "Ada").id.startswith("build-")


def test_kept_entries_come_back_as_given(store, build):
    kept = store.append(build, [GAP, Note("x")], at=LATER, by="Bo")
    assert [e.number for e in kept] == [2, 3]
    assert [e.body for e in kept] == [GAP, Note("x")]
    assert {(e.at, e.kept_at, e.by) for e in kept} == {(LATER, LATER, "Bo")}
    assert store.entries(build, after=1) == kept
    assert store.entries(build)[1:] == kept
    assert store.entries(build, after=3) == ()
    assert store.entries(build, after=99) == ()
    assert store.append(build, [], at=LATER, by="Bo") == ()
    assert store.append(build, GAP, at=LATER, by="Bo")[0].number == 4


def test_a_draft_says_when_and_who(store, build):
    (kept,) = store.append(build, Draft(GAP, at=AT, by="Cy"), at=LATER, by="Bo")
    assert (kept.at, kept.kept_at, kept.by) == (AT, LATER, "Cy")


def test_an_entry_sent_again_is_kept_once(store, build):
    draft = Draft(GAP, id=new_id())
    first = store.append(build, draft, at=AT, by="Ada")
    store.append(build, Note("between"), at=AT, by="Ada")
    again = store.append(build, [draft, draft, Draft(Note("new"))], at=LATER, by="Ada")
    assert again[:2] == first * 2
    assert store.last_number(build) == 4
    assert store.append(build, draft, at=LATER, by="Ada", expect_number=2) == first


def test_the_same_id_with_other_content_is_refused_and_nothing_is_kept(store, build):
    draft = Draft(GAP, id=new_id(), at=AT)
    store.append(build, draft, at=AT, by="Ada")
    for other in (Draft(Note("other"), id=draft.id), Draft(GAP, id=draft.id, at=LATER)):
        with pytest.raises(InputError, match="other content"):
            store.append(build, [Note("first"), other], at=AT, by="Ada")
    assert store.last_number(build) == 2


def test_expect_number_refuses_when_somebody_was_quicker(store, build):
    store.append(build, GAP, at=AT, by="Ada", expect_number=1)
    with pytest.raises(BookMovedOn, match="Entry 2"):
        store.append(build, GAP, at=AT, by="Bo", expect_number=1)
    assert store.last_number(build) == 2


def test_unknown_builds_and_bad_fields_are_refused(store, build):
    for ask in (store.build, store.entries, store.state, store.last_number):
        with pytest.raises(InputError, match="no such build"):
            ask("nothing-here")
    with pytest.raises(InputError, match="no such build"):
        store.append("nothing-here", GAP, at=AT, by="Ada")
    with pytest.raises(InputError, match="universal time"):
        store.append(build, GAP, at="now", by="Ada")
    with pytest.raises(InputError, match="by"):
        store.append(build, GAP, at=AT, by="")
    with pytest.raises(InputError, match="name"):
        store.create_build(" ", ENGINE, AT, "Ada")
    assert store.last_number(build) == 1


def test_a_kind_of_a_newer_tickover_survives_the_store(store, build):
    body = Unknown("sound heard", {"rpm": 900, "list": [1, {"a": None}]})
    store.append(build, body, at=AT, by="Ada")
    assert store.entries(build, after=1)[0].body == body


def test_states_are_kept_and_grow_piece_by_piece(store, build):
    first = store.state(build)
    assert store.state(build) is first
    store.append(build, GAP, at=AT, by="Ada")
    second = store.state(build)
    assert second.last_number == 2
    assert first.last_number == 1
    with Store.open(store.where) as fresh:
        assert fresh.state(build) == second


def test_a_state_sees_what_another_process_kept(store, build):
    assert store.state(build).last_number == 1
    code = (
        "import sys\n"
        "from tickover.book.store import Store\n"
        "from tickover.book.entries import Note\n"
        "with Store.open(sys.argv[1]) as s: "
        f"s.append(sys.argv[2], Note('from afar'), at='{AT}', by='terminal')"
    )
    subprocess.run([sys.executable, "-c", code, store.where, build], check=True)
    assert store.state(build).notes()[0].body.text == "from afar"
    store.append(build, GAP, at=AT, by="web")
    assert [e.by for e in store.state(build).entries] == ["Ada", "terminal", "web"]


def test_pictures_are_kept_once_by_content(store, build):
    sha = store.put_blob(b"\x89PNG not really")
    assert store.put_blob(b"\x89PNG not really") == sha
    assert store.get_blob(sha) == b"\x89PNG not really"
    assert store.has_blob(sha)
    assert not store.has_blob("0" * 64)
    with pytest.raises(InputError, match="not in the book"):
        store.get_blob("0" * 64)
    store.append(build, [Picture(sha, "image/png"), LooseEndOpened("x", "", sha)], at=AT, by="A")
    for body in (Picture("0" * 64, "image/png"), LooseEndOpened("x", "", "0" * 64)):
        with pytest.raises(InputError, match="keep it first"):
            store.append(build, body, at=AT, by="A")
    with pytest.raises(InputError, match="too large"):
        store.put_blob(bytes(64_000_001))


def test_the_settings_that_make_an_entry_durable_are_on(store):
    raw = store._database.engine.raw_connection()
    try:
        ask = raw.cursor().execute
        found = {
            name: ask(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    finally:
        raw.close()
    assert found == {
        "journal_mode": "delete",
        "synchronous": 2,
        "foreign_keys": 1,
        "busy_timeout": 10_000,
    }


def test_the_place_is_the_argument_else_the_environment_else_the_platforms(tmp_path, monkeypatch):
    monkeypatch.setenv("TICKOVER_BOOK", str(tmp_path / "deep" / "er" / "mine.sqlite"))
    with Store.open() as store:
        assert store.where == str(tmp_path / "deep" / "er" / "mine.sqlite")
    with Store.open(f"sqlite:///{tmp_path}/url.sqlite") as store:
        assert store.where == str(tmp_path / "url.sqlite")
    monkeypatch.delenv("TICKOVER_BOOK")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert default_path().name == "book.sqlite"
    if sys.platform == "linux":
        assert default_path() == tmp_path / "data" / "tickover" / "book.sqlite"
        with Store.open() as store:
            assert store.where == str(default_path())


def test_places_nobody_can_use_are_refused(tmp_path):
    with pytest.raises(InputError, match="folder"):
        Store.open(tmp_path)
    with pytest.raises(InputError, match="file to lie in"):
        Store.open(":memory:")
    with pytest.raises(InputError, match="address"):
        Store.open("not an address://")


def test_a_new_book_appears_whole_or_not_at_all(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(BookUnwritable, match="No book can be made"):
        Store.open(tmp_path / "file" / "book.sqlite")
    Store.open(tmp_path / "book.sqlite").close()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["book.sqlite", "file"]


def test_many_who_open_a_new_book_at_once_share_one(path):
    barrier = threading.Barrier(8)
    names, problems = [], []

    def begin(number):
        try:
            barrier.wait()
            with Store.open(path, patience_s=60.0) as store:
                names.append(store.create_build(f"b{number}", "", AT, "Ada").id)
        except BookError as error:
            problems.append(error)

    threads = [threading.Thread(target=begin, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert problems == []
    with Store.open(path) as store:
        assert sorted(b.id for b in store.builds()) == sorted(names)


def test_a_newer_book_is_refused_and_left_alone(path, store, build):
    store.close()
    with sqlite3.connect(path) as raw:
        raw.execute("INSERT INTO migrations VALUES (2, 'of the future'), (3, 'further on')")
    raw.close()
    before = path.read_bytes()
    with pytest.raises(BookNewer, match="version 3"):
        Store.open(path)
    assert path.read_bytes() == before


def test_an_older_book_is_brought_up_step_by_step(path, store, build, monkeypatch):
    store.close()

    def add_table(connection):
        connection.exec_driver_sql("CREATE TABLE later (x INTEGER)")

    def fail(connection):
        connection.exec_driver_sql("CREATE TABLE half (x INTEGER)")
        raise InputError("this step fails")

    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, ("one", add_table), ("two", fail)))
    monkeypatch.setattr(migrations, "LATEST", 3)
    with pytest.raises(InputError, match="step fails"):
        Store.open(path)
    raw = sqlite3.connect(path)
    names = {row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type='table'")}
    assert names >= {"later", "builds"}
    assert "half" not in names, "a step that fails leaves nothing"
    assert raw.execute("SELECT max(number) FROM migrations").fetchone() == (2,)
    raw.close()
    monkeypatch.setattr(migrations, "LATEST", 2)
    with Store.open(path) as again:
        assert again.state(build).engine_text == ENGINE


def test_the_tables_are_those_the_migrations_make(store):
    raw = sqlite3.connect(store.where)
    for table in tables.metadata.sorted_tables:
        made = [row[1] for row in raw.execute(f"PRAGMA table_info({table.name})")]
        assert made == [column.name for column in table.columns]
    raw.close()


def test_a_book_locked_too_long_is_busy_and_keeps_nothing(path, build):
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with Store.open(path, patience_s=0.2) as store:
        with pytest.raises(BookBusy, match=r"more than 0\.2 s"):
            store.append(build, GAP, at=AT, by="Ada")
        assert store.last_number(build) == 1, "readers go on"
        other.execute("COMMIT")
        other.close()
        assert store.append(build, GAP, at=AT, by="Ada")[0].number == 2


@pytest.mark.skipif(sys.platform == "win32", reason="an open file cannot be replaced there")
def test_a_book_replaced_while_open_is_noticed_before_anything_is_lost(path, store, build):
    copy = path.with_name("copy.sqlite")
    copy.write_bytes(path.read_bytes())
    os.replace(copy, path)
    with pytest.raises(BookUnwritable, match="moved or replaced"):
        store.append(build, GAP, at=AT, by="Ada")


def test_a_closed_store_opens_its_book_again_when_asked(store, build):
    store.close()
    assert store.last_number(build) == 1


def test_verify_reads_everything(store, build):
    store.put_blob(b"x")
    store.append(build, [GAP] * 5, at=AT, by="Ada")
    assert store.verify() == 7


def test_every_statement_can_be_said_to_a_server():
    """Only their words; a real server is asked elsewhere."""
    said = {}
    for name, statement in vars(statements).items():
        if name.isupper() and isinstance(statement, ClauseElement):
            compiled = statement.compile(dialect=PGDialect_psycopg())
            assert getattr(compiled, "positiontup", None) is None
            said[name] = str(compiled)
    assert len(said) == 15
    assert said["LOCK_BUILD"].endswith("FOR UPDATE")
    assert "%(build_id)s" in said["ROWS"]
    assert said["NEW_ENTRY"].count("%(") == 9


def test_only_the_store_and_what_it_opens_know_of_a_database():
    allowed = {"store", "database", "tables", "statements", "migrations", "opening", "location"}
    folder = Path(tickover.book.__file__).parent
    knowing = set()
    for file in folder.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            if any(name.split(".")[0] in ("sqlalchemy", "sqlite3") for name in names):
                knowing.add(file.stem)
    assert "statements" in knowing, "the search finds what there is"
    assert knowing <= allowed


def test_entries_and_fold_are_light():
    code = (
        "import sys; import tickover.book.fold, tickover.book.entries\n"
        "heavy = {'sqlalchemy', 'sqlite3', 'pydantic', 'numpy', 'pint', 'uuid'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_damage_is_told_with_what_to_do(path, store, build):
    store.append(build, GAP, at=AT, by="Ada")
    store.close()
    raw = sqlite3.connect(path)
    raw.execute("UPDATE entries SET body = replace(body, '0.10', '0.20') WHERE number = 2")
    raw.commit()
    raw.close()
    with Store.open(path) as again:
        for ask in (again.entries, again.state):
            with pytest.raises(BookDamaged) as caught:
                ask(build)
        text = str(caught.value)
        assert build in text
        assert "entry 2" in text
        assert "import the latest export" in text
        assert again.entries(build, after=2) == ()
