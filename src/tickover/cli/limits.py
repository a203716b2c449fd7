"""`tickover limits`: a table of limits into the engine file of a build."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli.opening import chosen_build, now, writer
from tickover.cli.options import build_option, where_option
from tickover.errors import InputError


@click.command()
@click.argument("table", type=click.Path(path_type=Path), required=False)
@build_option
@where_option
def limits(table: Path | None, build_name: str, where: str | None) -> None:
    """Write the limits of a TABLE (CSV) into the engine file; without one, show how it looks.

    All rows are written or none. Comments and everything else in the engine file stay.
    """
    from tickover.engine.limits_table import COLUMNS, EXAMPLE, take_in_limits

    if table is None:
        click.echo(EXAMPLE.rstrip())
        click.echo(f"\nColumns: {', '.join(COLUMNS)}.")
        return
    from tickover.book.bodies import EngineFileKept
    from tickover.engine import decode_engine_file

    try:
        text = decode_engine_file(table.read_bytes(), table.name)
    except OSError as error:
        raise InputError("The table cannot be read", given=str(table),
                         allowed=error.strerror or "a CSV file") from None  # fmt: skip
    with chosen_build(where, build_name) as bench:
        before = bench.state.engine_text
        found = take_in_limits(before, text)
        if found.text == before:
            click.echo("The engine file says all of this already.")
            return
        body = EngineFileKept(found.text)
        entry = bench.store.append(bench.build.id, body, at=now(), by=writer())[0]
    for line in found.written:
        click.echo(f"  {line}")
    click.echo(f"Entry {entry.number}: {len(found.written)} limits in the engine file")
