"""`tickover serve`: the pages on this machine."""

from __future__ import annotations

import click

from tickover.cli.builds import where_option
from tickover.cli.sheets import printed_now, sheet_words


def say_where(address: str) -> None:
    """Tell the address once the pages can be opened."""
    click.echo(f"Pages at {address} (on this machine only; stop with Ctrl-C)")


@click.command()
@click.option("--port", default=8539, show_default=True, help="Port on loopback.")
@where_option
def serve(port: int, where: str | None) -> None:
    """Serve the pages on loopback until stopped with Ctrl-C."""
    from tickover.cli.opening import open_store
    from tickover.demo import open_demo
    from tickover.web.serve import serve as serve_pages

    with open_store(where) as store:
        serve_pages(
            store,
            port=port,
            open_demo=open_demo,
            sheets=sheet_words(),
            print_sheet=printed_now,
            say=say_where,
        )
