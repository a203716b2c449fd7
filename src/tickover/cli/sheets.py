"""`tickover sheet`: bench sheets and reports as PDF."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli.marks import heading, wrapped
from tickover.cli.opening import chosen_build, now
from tickover.cli.options import build_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.sheet_list import SheetsPage


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
    """Print a sheet as PDF; without a NAME, list those for the machine in working order."""
    from tickover.pages.sheet_list import SHEET_LINES

    if not name:
        _list(_listed(engine_path, build_name, where))
        return
    from tickover.paper.sheets import print_blank, print_sheet

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
    click.echo(f"{target}: {SHEET_LINES[name].title}")


def _listed(engine_path: Path | None, build_name: str, where: str | None) -> SheetsPage:
    """The sheets of an engine file, of a build, or of any machine where there is no build yet."""
    from tickover.pages.building import sheets_page_of
    from tickover.pages.sheet_list import sheets_page

    if engine_path is not None:
        from tickover.engine import load_engine_file
        from tickover.paper.sheets import BLANK

        return sheets_page(load_engine_file(engine_path), blank=BLANK)
    try:
        with chosen_build(where, build_name) as bench:
            return sheets_page_of(bench.build, bench.state)
    except InputError:
        if build_name:
            raise
        return sheets_page(None)


def _list(page: SheetsPage) -> None:
    click.secho(page.title, bold=True)
    click.echo(page.verdict)
    for title, lines in page.groups:
        heading(title)
        for line in lines:
            click.echo(f"  {line.name:18} {line.title}: {line.use}")
    if page.missing:
        heading("Not for this machine")
        for line, needs in page.missing:
            wrapped(f"{line.name:18} needs {needs}", "  ")
