"""`tickover export` and `import`."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli.builds import where_option
from tickover.cli.entries import build_option
from tickover.cli.opening import chosen_build, open_store


@click.command("export")
@click.argument("file", type=click.Path(path_type=Path))
@build_option
@where_option
def export_(file: Path, build_name: str, where: str | None) -> None:
    """Write a build with all its entries to one zip."""
    from tickover.book.exchange import export_build

    with chosen_build(where, build_name) as bench:
        export_build(bench.store, bench.build.id, file)
        click.echo(f"{bench.build.id}: {bench.state.last_number} entries written to {file}")


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@where_option
def import_(file: Path, where: str | None) -> None:
    """Read a build back from a zip; it comes back identical."""
    from tickover.book.exchange import import_build

    with open_store(where) as store:
        build = import_build(store, file)
        click.echo(f"{build.id}: {build.name}, {build.last_number} entries")
