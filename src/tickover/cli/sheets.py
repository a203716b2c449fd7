"""`tickover sheet`: bench sheets and reports as PDF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli.builds import where_option
from tickover.cli.entries import build_option
from tickover.cli.opening import chosen_build, now
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.chain import BuildRow
    from tickover.book.state import State


def sheet_words() -> dict[str, str]:
    """Name of every sheet and what it is for."""
    from tickover.paper.sheets import SHEETS

    return {name: item.words for name, item in SHEETS.items()}


def printed_now(
    name: str, build: BuildRow, state: State, picture_of: Callable[[str], bytes]
) -> bytes:
    """A sheet as PDF, dated now; for the web face, which has no clock of its own."""
    from tickover.paper.sheets import print_sheet

    return print_sheet(name, build, state, picture_of, printed_at=now())


@click.command()
@click.argument("name", default="")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; NAME.pdf otherwise.")
@click.option("--engine", "engine_path", type=click.Path(path_type=Path),
              help="Print blank from an engine file, without a book.")  # fmt: skip
@click.option("--paper", default="a4", show_default=True, help="a4 or letter.")
@build_option
@where_option
def sheet(
    name: str,
    out: Path | None,
    engine_path: Path | None,
    paper: str,
    build_name: str,
    where: str | None,
) -> None:
    """Print a sheet as PDF; without a NAME, list the sheets there are."""
    from tickover.paper.sheets import SHEETS, print_blank, print_sheet

    if not name:
        for key, item in SHEETS.items():
            click.echo(f"  {key:16} {item.words}")
        return
    target = out or Path(f"{name}.pdf")
    if engine_path is not None:
        from tickover.engine import load_engine_file

        engine = load_engine_file(engine_path)
        pdf = print_blank(name, engine, paper=paper, printed_at=now())
    else:
        with chosen_build(where, build_name) as bench:
            pdf = print_sheet(
                name, bench.build, bench.state, bench.store.get_blob, paper=paper, printed_at=now()
            )
    try:
        target.write_bytes(pdf)
    except OSError as error:
        raise InputError("The file cannot be written", given=str(target),
                         allowed=error.strerror or "a writable place") from None  # fmt: skip
    click.echo(f"{target}: {SHEETS[name].words}")
