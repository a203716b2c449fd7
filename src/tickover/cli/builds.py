"""`tickover builds`, `new`, `schema`."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli import echo_json
from tickover.cli.opening import now, open_store, writer
from tickover.cli.options import json_option, where_option


@click.command()
@where_option
@json_option
def builds(where: str | None, as_json: bool) -> None:
    """List the builds in the book, the newest first."""
    with open_store(where) as store:
        rows = tuple(reversed(store.builds()))
        place = store.where
    if as_json:
        echo_json(
            [
                {"id": b.id, "name": b.name, "entries": b.last_number, "since": b.created_at}
                for b in rows
            ]
        )
        return
    click.echo(f"Book: {place}")
    if not rows:
        click.echo("No build yet. Begin one: tickover new --engine E.toml")
    for build in rows:
        click.echo(f"  {build.id:24} {build.name}  ({build.last_number} entries)")


@click.command()
@click.option("--engine", "engine_path", required=True, type=click.Path(path_type=Path),
              help="Engine file (TOML).")  # fmt: skip
@click.option("--name", default="", help="What to call the build; the engine's name otherwise.")
@where_option
def new(engine_path: Path, name: str, where: str | None) -> None:
    """Start a build from an engine file and print its id."""
    from tickover.engine import decode_engine_file, load_engine_file

    engine = load_engine_file(engine_path)
    text = decode_engine_file(engine_path.read_bytes(), engine_path.name)
    with open_store(where) as store:
        build = store.create_build(
            name or engine.engine.name, text, now(), writer(), engine_name=engine_path.name
        )
    click.echo(build.id)


@click.command()
def schema() -> None:
    """Print the JSON Schema of the engine file, for editors."""
    from tickover.engine.schema import engine_file_schema

    echo_json(engine_file_schema())
