"""`tickover demo`: the demo build's whole story in the terminal, then its pages."""

from __future__ import annotations

import tempfile
from pathlib import Path

import click

from tickover.cli.build import print_build
from tickover.cli.marks import heading
from tickover.cli.serve import say_where
from tickover.cli.valves import print_valves


@click.command()
@click.option("--no-serve", is_flag=True, help="Stop after printing.")
@click.option("--port", default=8539, show_default=True, help="Port on loopback.")
@click.option("--where", default=None,
              help="Put the demo into this book instead of one of its own.")  # fmt: skip
def demo(no_serve: bool, port: int, where: str | None) -> None:
    """Print the demo build's story, then serve its pages on loopback.

    The demo lives in a book of its own in a temporary folder, unless you say where.
    """
    with tempfile.TemporaryDirectory(prefix="tickover-demo-") as folder:
        _run(where or str(Path(folder) / "demo.tickover"), no_serve, port)


def _run(where: str, no_serve: bool, port: int) -> None:
    from tickover.book.store import Store
    from tickover.demo import open_demos
    from tickover.pages.building import book_page_of, build_page_of, valves_page_of

    with Store.open(where) as store:
        build = store.build(open_demos(store))
        state = store.state(build.id)
        heading(build.name)
        click.echo("Machine, readings and prices are invented.")
        click.echo()
        print_valves(valves_page_of(build, state))
        click.echo()
        print_build(build_page_of(build, state))
        heading("The book, newest first")
        for line in book_page_of(build, state).entries[:12]:
            click.echo(f"  {line.number:3}  {line.words}")
        click.echo()
        if no_serve:
            return
        from tickover.web.serve import serve

        serve(
            store,
            port=port,
            open_demo=open_demos,
            say=say_where,
        )
