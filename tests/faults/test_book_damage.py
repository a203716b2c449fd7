"""Damaged files: either everything reads exactly as it was kept, or the damage is told.

TICKOVER_EVERY_BYTE=1 flips every byte of the small book instead of a sample.
"""

import io
import os
import random
import shutil
import sqlite3

import pytest

from tickover.book.entries import Note, Picture, Reading, StrikeOut
from tickover.book.exchange import export_build, import_build
from tickover.book.store import Store
from tickover.errors import BookDamaged, BookError, FileError, InputError

AT = "2031-04-05T18:30:00Z"
EVERY_BYTE = bool(os.environ.get("TICKOVER_EVERY_BYTE"))
SAMPLE = 300


@pytest.fixture(scope="module")
def original(tmp_path_factory):
    """A small book, what it holds, and an export of it."""
    path = tmp_path_factory.mktemp("original") / "book.sqlite"
    with Store.open(path) as store:
        build = store.create_build("Invented triple", "a = 1", AT, "Ada").id
        sha = store.put_blob(b"\x89PNG" + bytes(range(200)))
        kept = store.append(
            build,
            [
                Reading("clearance", "in1", 1e-4, 1.1e-4, "m", "4-5 thou"),
                Picture(sha, "image/png"),
                *(Note(f"note {n}") for n in range(6)),
            ],
            at=AT,
            by="Ada",
        )
        store.append(build, StrikeOut(kept[0].id, "wrong valve"), at=AT, by="Bo")
        export = io.BytesIO()
        export_build(store, build, export)
        return path, store.builds(), store.entries(build), store.get_blob(sha), export.getvalue()


def look(path, original):
    """'whole' when all reads as kept, else the kind of error; anything else fails the test."""
    _, builds, entries, blob, _ = original
    try:
        with Store.open(path, patience_s=0.5) as store:
            store.verify()
            assert store.builds() == builds
            assert store.entries(builds[0].id) == entries
            assert store.state(builds[0].id).entries == entries
            assert store.get_blob(entries[2].body.sha256) == blob
            return "whole"
    except BookError as error:
        return type(error).__name__ if str(path) in str(error) else f"no path: {error}"


def test_the_undamaged_book_is_whole(original, tmp_path):
    copy = shutil.copy(original[0], tmp_path / "book.sqlite")
    assert look(copy, original) == "whole"


@pytest.mark.parametrize("mask", [0xFF, 0x01])
def test_flipped_bytes_are_noticed_or_harmless(original, tmp_path, mask):
    content = original[0].read_bytes()
    path = tmp_path / "book.sqlite"
    places = list(range(len(content)))
    if not EVERY_BYTE:
        telling = [at for at in places if content[at]]
        choose = random.Random(mask)
        places = sorted({*range(100), *choose.sample(telling, SAMPLE), *choose.sample(places, 50)})
    results = dict.fromkeys(("whole", "BookDamaged"), 0)
    for at in places:
        damaged = bytearray(content)
        damaged[at] ^= mask
        path.write_bytes(damaged)
        result = look(path, original)
        results[result] = results.get(result, 0) + 1
        unchanged = path.read_bytes() == damaged  # compared here: showing the difference is slow
        assert unchanged, f"looking changed a file damaged at byte {at}"
    print(f"{len(places)} bytes flipped by {mask:#04x}: {results}")
    assert results["BookDamaged"] > sum(content[at] > 0 for at in places) / 3
    assert set(results) <= {"whole", "BookDamaged", "BookNewer"}


def test_every_text_of_an_entry_is_covered_by_its_checksum(original, tmp_path):
    path = tmp_path / "book.sqlite"
    columns = ("id", "kind", "at", "kept_at", "by", "body", "checksum")
    for column in columns:
        shutil.copy(original[0], path)
        raw = sqlite3.connect(path)
        (value,) = raw.execute(f'SELECT "{column}" FROM entries WHERE number = 4').fetchone()
        other = value[:-2] + ("0" if value[-2] != "0" else "1") + value[-1]
        raw.execute(f'UPDATE entries SET "{column}" = ? WHERE number = 4', (other,))
        raw.commit()
        raw.close()
        with Store.open(path) as store, pytest.raises(BookDamaged, match=r"entry [45]"):
            store.entries(original[1][0].id)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("DELETE FROM entries WHERE number = 5", "entry 5 is missing"),
        ("DELETE FROM entries WHERE number = 10", "entry 10 is missing"),
        ("UPDATE entries SET number = 77 WHERE number = 5", "entry 5 is missing"),
        ("UPDATE builds SET name = 'another'", "entry 1 is not what was written"),
        ("UPDATE builds SET head = 'x'", "does not end with entry 10"),
        ("UPDATE builds SET last_number = 9", "does not end with entry 9"),
        ("UPDATE builds SET last_number = 'ten'", "list of builds"),
        ("UPDATE builds SET last_number = -11", "list of builds"),
        ("UPDATE entries SET body = 5 WHERE number = 3", "entry 3 "),
        ("UPDATE entries SET body = x'ff' WHERE number = 3", "entry 3 does not hold"),
        ("UPDATE blobs SET data = x'00'", "picture .* is not what was written"),
        ("UPDATE blobs SET data = 5", "picture .* is not what was written"),
        ("DROP TABLE blobs", "no such table"),
        ("DELETE FROM migrations", "how old the book is"),
        ("UPDATE migrations SET number = 0", "breaks off at step 1"),
        ("UPDATE migrations SET name = 'x'", "breaks off at step 1"),
        ("DROP TABLE migrations", "how old the book is"),
        ("PRAGMA application_id = 0", "something else"),
    ],
)
def test_what_somebody_changed_behind_our_back_is_named(original, tmp_path, statement, says):
    path = shutil.copy(original[0], tmp_path / "book.sqlite")
    raw = sqlite3.connect(path)
    raw.execute(statement)
    raw.commit()
    raw.close()
    with (
        pytest.raises(BookDamaged, match=f"(?s){says}.*(import|export)"),
        Store.open(path) as store,
    ):
        store.verify()


def test_nothing_is_written_on_a_broken_end(original, tmp_path):
    path = shutil.copy(original[0], tmp_path / "book.sqlite")
    raw = sqlite3.connect(path)
    raw.execute("DELETE FROM entries WHERE number = 10")
    raw.commit()
    raw.close()
    with Store.open(path) as store, pytest.raises(BookDamaged, match="entry 10"):
        store.append(original[1][0].id, Note("x"), at=AT, by="Ada")


def test_files_cut_short_are_noticed(original, tmp_path):
    content = original[0].read_bytes()
    path = tmp_path / "book.sqlite"
    for length in (
        0,
        1,
        15,
        16,
        99,
        100,
        512,
        4095,
        4096,
        8192,
        len(content) - 4096,
        len(content) - 1,
    ):
        path.write_bytes(content[:length])
        assert look(path, original) == "BookDamaged", length
        assert path.read_bytes() == content[:length]


@pytest.mark.parametrize(
    "content", [b"not a database at all, only a letter", b"PK\x03\x04" * 100, bytes(8192)]
)
def test_other_files_are_no_book(tmp_path, content):
    path = tmp_path / "book.sqlite"
    path.write_bytes(content)
    with pytest.raises(BookDamaged, match="not a book"):
        Store.open(path)
    assert path.read_bytes() == content


def test_another_programs_database_is_no_book(tmp_path):
    path = tmp_path / "book.sqlite"
    raw = sqlite3.connect(path)
    raw.execute("CREATE TABLE builds (id TEXT)")
    raw.commit()
    raw.close()
    with pytest.raises(BookDamaged, match="something else"):
        Store.open(path)


def test_every_byte_of_an_export_flipped_is_noticed_or_harmless(original):
    """Against the book it came from: each part is read and compared, nothing has to be written."""
    path, builds, entries, _, export = original
    refused = 0
    with Store.open(path) as store:
        for at in range(len(export)):
            damaged = bytearray(export)
            damaged[at] ^= 0xFF
            try:
                assert import_build(store, bytes(damaged), "continue") == builds[0]
            except FileError:
                refused += 1
        assert store.entries(builds[0].id) == entries
    print(f"{len(export)} bytes flipped, {refused} refused, the others dates and the like")
    assert refused > len(export) * 0.8


def test_an_export_of_a_damaged_build_is_refused_and_leaves_nothing(original, tmp_path):
    path = shutil.copy(original[0], tmp_path / "book.sqlite")
    raw = sqlite3.connect(path)
    raw.execute("UPDATE entries SET body = '{}' WHERE number = 3")
    raw.commit()
    raw.close()
    with Store.open(path) as store:
        with pytest.raises(BookDamaged):
            export_build(store, original[1][0].id, tmp_path / "x.zip")
        with pytest.raises(InputError):
            export_build(store, "no-such", tmp_path / "x.zip")
    assert [p.name for p in tmp_path.iterdir()] == ["book.sqlite"]
