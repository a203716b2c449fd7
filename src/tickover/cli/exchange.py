"""`tickover export` and `import`."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli.opening import chosen_build, now, open_store, writer
from tickover.cli.options import build_option, where_option
from tickover.errors import InputError


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


@click.command("readings")
@click.option("--out", type=click.Path(path_type=Path), help="Write all readings to this CSV.")
@click.option("--in", "source", type=click.Path(path_type=Path), help="Keep readings from it.")
@build_option
@where_option
def readings(out: Path | None, source: Path | None, build_name: str, where: str | None) -> None:
    """Readings of a build to a CSV, or from one."""
    from tickover.book.readings import readings_from_csv, readings_to_csv

    with chosen_build(where, build_name) as bench:
        if source is not None:
            drafts = readings_from_csv(source, str(source))
            kept = bench.store.append(bench.build.id, drafts, at=now(), by=writer())
            click.echo(f"{len(kept)} readings kept")
        text = readings_to_csv(bench.state.readings())
    if out is not None:
        try:
            out.write_text(text, encoding="utf-8", newline="")
        except OSError as error:
            raise InputError("The file cannot be written", given=str(out),
                             allowed=error.strerror or "a writable place") from None  # fmt: skip
        click.echo(f"readings written to {out}")
    elif source is None:
        click.echo(text, nl=False)
