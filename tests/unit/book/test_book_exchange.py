"""Export and import: the identical build, or a sentence why not."""

import io
import json
import stat
import zipfile

import pytest

from tickover.book.archive import sha256_of
from tickover.book.entries import Note, Picture, Reading, Unknown, Work
from tickover.book.exchange import export_build, import_build
from tickover.book.store import Store
from tickover.errors import BookUnwritable, FileError, InputError

AT = "2031-04-05T18:30:00Z"
ENGINE = '[engine]\nname = "Invented 539 triple"\n'
PICTURE = b"\x89PNG not really a picture"


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "first.sqlite") as store:
        yield store


@pytest.fixture
def other(tmp_path):
    with Store.open(tmp_path / "second.sqlite") as store:
        yield store


@pytest.fixture
def build(store):
    build = store.create_build("Invented triple", ENGINE, AT, "Ada").id
    sha = store.put_blob(PICTURE)
    sound = store.put_blob(b"a recording")
    store.put_blob(b"of another build")
    store.append(
        build,
        [
            Reading("clearance", "in1", 1e-4, 1.1e-4, "m", "0,10 / 0,11 mm"),
            Picture(sha, "image/png", "µ and 二"),
            Work("sound recorded", (), {"recording": sound}),
            Unknown("sound heard", {"rpm": 900}),
        ],
        at=AT,
        by="Bo",
    )
    return build


def exported(store, build):
    out = io.BytesIO()
    export_build(store, build, out)
    return out.getvalue()


def rebuilt(data, change):
    """The zip with its parts changed by a function, checksums in the manifest made right."""
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        parts = {name: zipped.read(name) for name in zipped.namelist()}
    manifest = json.loads(parts.pop("manifest.json"))
    change(manifest, parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        zipped.writestr("manifest.json", json.dumps(manifest))
        for name, part in parts.items():
            zipped.writestr(name, part)
    return out.getvalue()


def test_import_gives_back_the_identical_build(store, other, build, tmp_path):
    path = tmp_path / "triple.zip"
    export_build(store, build, path)
    row = import_build(other, path)
    assert row == store.build(build)
    assert other.entries(build) == store.entries(build)
    assert other.state(build) == store.state(build)
    assert other.get_blob(sha256_of(PICTURE)) == PICTURE
    assert other.has_blob(sha256_of(b"a recording"))
    assert not other.has_blob(sha256_of(b"of another build"))
    assert exported(other, build) == path.read_bytes(), "the same build, the same bytes"
    assert sorted(p.suffix for p in tmp_path.iterdir()) == [".sqlite", ".sqlite", ".zip"]


def test_the_zip_reads_as_documented(store, build):
    with zipfile.ZipFile(io.BytesIO(exported(store, build))) as zipped:
        assert zipped.namelist()[:3] == ["manifest.json", "engine.toml", "entries.jsonl"]
        assert zipped.read("engine.toml").decode() == ENGINE
        lines = zipped.read("entries.jsonl").decode().splitlines()
        assert [json.loads(line)["number"] for line in lines] == [1, 2, 3, 4, 5]
        manifest = json.loads(zipped.read("manifest.json"))
        assert manifest["format"] == "tickover build"
        for name, checksum in manifest["parts"].items():
            assert sha256_of(zipped.read(name)) == checksum


def test_a_build_without_entries_travels_too(store, other):
    empty = store.create_build("Empty", "", AT, "Ada").id
    assert import_build(other, exported(store, empty)) == store.build(empty)
    assert other.entries(empty) == ()


def test_a_second_import_is_refused_with_choices(store, build):
    with pytest.raises(InputError, match=r"already in this book.*'copy'.*'continue'"):
        import_build(store, exported(store, build))


def test_a_copy_stands_beside_and_goes_its_own_way(store, build):
    data = exported(store, build)
    first, second = (import_build(store, data, "copy").id for _ in range(2))
    assert first == f"{build}-copy"
    assert second == f"{build}-copy-2"
    assert store.entries(first) == store.entries(build)
    store.append(first, Note("only here"), at=AT, by="Ada")
    assert store.last_number(build) == 5
    assert store.verify() > 0


def test_a_continuation_adds_what_is_missing(store, other, build):
    import_build(other, exported(store, build))
    store.append(build, [Note("later"), Note("still later")], at=AT, by="Ada")
    row = import_build(other, exported(store, build), "continue")
    assert row == store.build(build)
    assert other.entries(build) == store.entries(build)
    assert import_build(other, exported(store, build), "continue") == row, "nothing to add"


def test_an_older_export_changes_nothing_when_continued(store, build):
    old = exported(store, build)
    store.append(build, Note("later"), at=AT, by="Ada")
    assert import_build(store, old, "continue") == store.build(build)
    assert store.last_number(build) == 6


def test_two_that_went_different_ways_are_not_mixed(store, other, build):
    import_build(other, exported(store, build))
    other.append(build, Note("here"), at=AT, by="Ada")
    store.append(build, [Note("there"), Note("and there")], at=AT, by="Bo")
    with pytest.raises(InputError, match="different ways at entry 6"):
        import_build(other, exported(store, build), "continue")
    assert other.last_number(build) == 6


def test_a_changed_entry_is_noticed_even_with_its_checksum_made_right(store, other, build):
    def change(manifest, parts):
        parts["entries.jsonl"] = parts["entries.jsonl"].replace(b"0,10", b"0,20")
        manifest["parts"]["entries.jsonl"] = sha256_of(parts["entries.jsonl"])

    with pytest.raises(FileError, match="not those the manifest was written for"):
        import_build(other, rebuilt(exported(store, build), change))
    assert other.builds() == ()


def _drop(name):
    def change(manifest, parts):
        for part in [part for part in parts if part.startswith(name)]:
            del parts[part]

    return change


def _set(**fields):
    def change(manifest, parts):
        manifest.update(fields)

    return change


def _entries(text):
    def change(manifest, parts):
        parts["entries.jsonl"] = text
        manifest["parts"]["entries.jsonl"] = sha256_of(text)

    return change


def _add(name):
    def change(manifest, parts):
        parts[name] = b"x"

    return change


def _corrupt(name):
    def change(manifest, parts):
        for part in parts:
            if part.startswith(name):
                parts[part] += b"\n"

    return change


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_drop("entries.jsonl"), "'entries.jsonl' is missing"),
        (_drop("engine.toml"), "'engine.toml' is missing"),
        (_drop("blobs/"), "is missing"),
        (_corrupt("entries.jsonl"), "checksum differs"),
        (_corrupt("engine.toml"), "checksum differs"),
        (_corrupt("blobs/"), "checksum differs"),
        (_set(format="somebody else's"), "not an export"),
        (_set(version=2), "newer Tickover"),
        (_set(version="1"), "no version"),
        (_set(parts=[]), "no checksums"),
        (_set(build=None), "names no build"),
        (_set(build={"id": "x"}), "does not describe a build"),
        (_entries(b""), "not those the manifest"),
        (_entries(b"{}\n"), "line 1: This line is not an entry"),
        (_entries(b"[1, 2\n"), "line 1: This line is not an entry"),
        (_entries(b"\xff\xfe\n"), "not text"),
        (_add("../climbs.txt"), "climb out"),
        (_add("blobs/../../climbs.txt"), "climb out"),
        (_add("..\\climbs.txt"), "climb out"),
        (_add("/etc/absolute"), "place of its own choosing"),
        (_add("C:\\absolute"), "place of its own choosing"),
        (_add("readme.txt"), "no business"),
        (_add("blobs/" + "0" * 64), "not in the manifest"),
    ],
)
def test_an_export_that_is_none_is_refused_whole(store, other, build, change, says):
    with pytest.raises(FileError, match=says):
        import_build(other, rebuilt(exported(store, build), change))
    assert other.builds() == ()
    assert not other.has_blob(sha256_of(PICTURE)), "all or nothing"


def test_a_link_is_refused(store, other, build):
    data = io.BytesIO(exported(store, build))
    with zipfile.ZipFile(data, "a") as zipped:
        info = zipfile.ZipInfo("blobs/" + "1" * 64)
        info.create_system = 3
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        zipped.writestr(info, "/etc/passwd")
    with pytest.raises(FileError, match="link"):
        import_build(other, data)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_part_that_stands_there_twice_is_refused(store, other, build):
    data = io.BytesIO(exported(store, build))
    with zipfile.ZipFile(data, "a") as zipped:
        zipped.writestr("engine.toml", "other = 1")
    with pytest.raises(FileError, match="twice"):
        import_build(other, data)


def test_a_build_that_packs_very_small_still_travels(store, other):
    build = store.create_build("b", "x = '" + "y" * 900_000 + "'", AT, "Ada").id
    store.append(build, [Work("log", (), {"x": "z" * 900_000})] * 3, at=AT, by="Ada")
    data = exported(store, build)
    assert len(data) < 50_000
    assert import_build(other, data) == store.build(build)


def test_a_bomb_is_refused_before_it_unpacks(store, other, build):
    bomb = b"\n" * 100_000_000
    data = rebuilt(exported(store, build), _entries(bomb))
    assert len(data) < 200_000
    with pytest.raises(FileError, match="far more than it may"):
        import_build(other, data)


def test_a_bomb_that_lies_about_its_size_is_refused(store, other, build):
    data = bytearray(rebuilt(exported(store, build), _entries(b"\n" * 30_000_000)))
    true, lie = (30_000_000).to_bytes(4, "little"), (1_000).to_bytes(4, "little")
    assert data.count(true) == 2
    with pytest.raises(FileError):
        import_build(other, bytes(data.replace(true, lie)))


def test_a_zip_with_a_password_flag_is_refused(store, other, build):
    data = bytearray(exported(store, build))
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    with pytest.raises(FileError, match="password"):
        import_build(other, bytes(data))


@pytest.mark.parametrize("cut", [0, 1, 22, 100, -1, -30])
def test_half_a_zip_is_refused(store, other, build, cut):
    with pytest.raises(FileError):
        import_build(other, exported(store, build)[:cut])


def test_a_file_that_is_not_there_is_said_so(other, tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        import_build(other, tmp_path / "nothing.zip")


def test_a_folder_entry_some_packers_add_does_no_harm(store, other, build):
    data = io.BytesIO(exported(store, build))
    with zipfile.ZipFile(data, "a") as zipped:
        zipped.writestr("blobs/", b"")
    assert import_build(other, data).id == build


def test_an_export_that_cannot_be_written_leaves_the_old_one(store, build, tmp_path):
    with pytest.raises(BookUnwritable, match="cannot be written"):
        export_build(store, build, tmp_path / "no folder" / "x.zip")
    path = tmp_path / "x.zip"
    path.write_bytes(b"old")
    with pytest.raises(InputError):
        export_build(store, "no-such-build", path)
    assert path.read_bytes() == b"old"
