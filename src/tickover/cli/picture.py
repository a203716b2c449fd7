"""`tickover picture`: keep a photograph in the book."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli.opening import TerminalBench, chosen_build, now, writer
from tickover.cli.options import build_option, where_option
from tickover.errors import InputError
from tickover.quantities import whole_number


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--caption", default="", help="What it shows.")
@click.option("--about", default="", help="A place, a check ('spark plug1') or an entry's number.")
@build_option
@where_option
def picture(file: Path, caption: str, about: str, build_name: str, where: str | None) -> None:
    """Keep a photograph (JPEG, PNG, HEIC): upright, made small, without place, time or camera."""
    from tickover.book.bodies import Picture
    from tickover.book.photographs import LARGEST_SENT, kept_picture

    try:
        with file.open("rb") as sent:
            data = kept_picture(sent.read(LARGEST_SENT + 1), file.name)
    except OSError as error:
        raise InputError("The file cannot be read", given=str(file),
                         allowed=error.strerror or "a photograph") from None  # fmt: skip
    with chosen_build(where, build_name) as bench:
        subject = _subject(bench, about)
        Picture("0" * 64, "image/jpeg", caption, subject)  # words first: refused, nothing is kept
        name = bench.store.put_blob(data)
        body = Picture(name, "image/jpeg", caption, subject)
        entry = bench.store.append(bench.build.id, body, at=now(), by=writer())[0]
    click.echo(f"Entry {entry.number}: picture kept, {len(data) / 1000:.0f} kB")


def _subject(bench: TerminalBench, about: str) -> str:
    """The id of an entry given by its number; anything else as it was typed.

    Raises
    ------
    InputError
        There is no entry of this number.
    """
    number = whole_number(about)
    if number is None:
        return about.strip()
    entries = bench.state.entries
    if not 0 < number <= len(entries):
        raise InputError("There is no such entry", given=about, allowed=f"1 to {len(entries)}")
    return entries[number - 1].id
