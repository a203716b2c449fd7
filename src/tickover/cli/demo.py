"""`tickover demo`: the demo build's whole story in the terminal, then its pages."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.book.bodies import Answer, Note, Work
from tickover.cli.build import print_build
from tickover.cli.marks import heading, wrapped
from tickover.cli.serve import say_where
from tickover.cli.valves import print_valves

if TYPE_CHECKING:
    from tickover.book.state import State


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
    from tickover.demo import open_demos, open_running_demo
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
        running = store.build(open_running_demo(store))
        heading(f"The other build, which runs: {running.name}")
        _told(store.state(running.id))
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


def _told(state: State) -> None:
    """What was noted, done and heard; its many readings are on its pages."""
    from tickover.pages.book import entry_words

    for entry in state.live:
        if isinstance(entry.body, Note | Work | Answer):
            wrapped(f"{entry.number:3}  {entry_words(entry, state)}", "  ")
