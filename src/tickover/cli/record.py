"""`tickover record`: the build record, as PDF, as one HTML file, or as JSON."""

from __future__ import annotations

from pathlib import Path

import click

from tickover.cli import echo_json
from tickover.cli.opening import chosen_build, now
from tickover.cli.options import where_option
from tickover.errors import InputError


@click.command()
@click.argument("build", default="")
@click.option("--html", "form", flag_value="html", help="One HTML file with everything in it.")
@click.option("--pdf", "form", flag_value="pdf", default="pdf", help="PDF to print; the usual.")
@click.option("--json", "form", flag_value="json", help="What stands in it, as JSON.")
@click.option("--paper", default="a4", show_default=True, help="a4 or letter.")
@click.option("--out", type=click.Path(path_type=Path), help="File to write; the build's id else.")
@where_option
def record(build: str, form: str, paper: str, out: Path | None, where: str | None) -> None:
    """Write the build record of a BUILD: what was measured, done, accepted and left open."""
    from tickover.pages.record.assembled import build_record, record_data
    from tickover.paper.record import record_html, record_pdf

    with chosen_build(where, build) as bench:
        row, state, picture_of = bench.build, bench.state, bench.store.get_blob
        if form == "json":
            echo_json(record_data(build_record(row, state)))
            return
        if form == "html":
            data = record_html(row, state, picture_of, paper=paper, printed_at=now()).encode()
        else:
            data = record_pdf(row, state, picture_of, paper=paper, printed_at=now())
    target = out or Path(f"{row.id}-record.{form}")
    try:
        target.write_bytes(data)
    except OSError as error:
        raise InputError("The file cannot be written", given=str(target),
                         allowed=error.strerror or "a writable place") from None  # fmt: skip
    click.echo(f"{target}: the build record of {row.name}")
