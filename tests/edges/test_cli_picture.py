"""A photograph kept from the terminal: with an entry, with a check, refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from tickover.book.bodies import Note, Picture
from tickover.book.store import Store
from tickover.cli import group
from tickover.errors import InputError

TEXT = '[engine]\nname = "Single"\nlayout = "single"\n'
AT = "2031-01-01T00:00:00+00:00"


@pytest.fixture
def book(tmp_path: Path) -> str:
    where = str(tmp_path / "b.book")
    with Store.open(where) as store:
        build = store.create_build("Single", TEXT, AT, "t")
        store.append(build.id, Note("cracked boss"), at=AT, by="t")
    return where


@pytest.fixture
def shot(tmp_path: Path) -> Path:
    path = tmp_path / "shot.png"
    Image.new("RGB", (60, 40), "red").save(path)
    return path


def keep(book: str, *more: str) -> Result:
    return CliRunner().invoke(group, ["picture", *more, "--where", book])


def kept(book: str) -> list[Picture]:
    with Store.open(book) as store:
        state = store.state(store.builds()[0].id)
        for entry in state.pictures():
            assert store.get_blob(entry.body.sha256).startswith(b"\xff\xd8\xff")
        return [entry.body for entry in state.pictures()]


def test_a_picture_of_an_entry_and_of_a_check(book: str, shot: Path) -> None:
    said = keep(book, str(shot), "--about", "2", "--caption", "the crack")
    assert said.exit_code == 0, said.output
    assert said.output.startswith("Entry 3: picture kept")
    assert keep(book, str(shot), "--about", "spark plug1").exit_code == 0
    with Store.open(book) as store:
        note = store.state(store.builds()[0].id).notes()[0]
    assert [(p.caption, p.about) for p in kept(book)] == [
        ("the crack", note.id), ("", "spark plug1"),
    ]  # fmt: skip


@pytest.mark.parametrize(("about", "said"), [("9", "no such entry"), ("0", "no such entry"),
                                             ("x" * 500, "about")])  # fmt: skip
def test_what_it_cannot_be_about_is_refused_and_nothing_is_kept(
    book: str, shot: Path, about: str, said: str
) -> None:
    result = keep(book, str(shot), "--about", about)
    assert isinstance(result.exception, InputError)
    assert said in str(result.exception)
    assert kept(book) == []


def test_a_file_that_is_none_or_no_picture_is_refused(book: str, tmp_path: Path) -> None:
    text = tmp_path / "a.jpg"
    text.write_text("hello")
    for path in (tmp_path / "missing.jpg", tmp_path, text):
        assert isinstance(keep(book, str(path)).exception, InputError)
    assert kept(book) == []
