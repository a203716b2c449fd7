"""`tickover serve`: the pages on this machine, and for the phones that are let in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tickover.cli.options import where_option

if TYPE_CHECKING:
    from tickover.book.store import Store
    from tickover.web.phone.pairing import Pairing


def say_where(address: str) -> None:
    """Tell the address once the pages can be opened."""
    click.echo(f"Pages at {address} (on this machine only; stop with Ctrl-C)")


def say_pairing(pairing: Pairing) -> None:
    """Tell how a phone gets in, with the picture for its camera."""
    code = pairing.code.show()
    click.echo()
    click.echo(pairing.for_terminal())
    click.echo(f"Phone: open {pairing.address}pair and give the code {code[:4]} {code[4:]}")
    click.echo("The code lets in one phone within 10 minutes; the page 'Phones' shows the next.")
    click.echo("The line is not enciphered: use a network you trust.")


def phones_file(store: Store) -> Path:
    """Where the list of phones of a book lies: beside the book, or in the user's own folder."""
    from tickover.book.location import default_path, locate

    _, path, _ = locate(store.where)
    beside = path or default_path()
    return beside.with_name(f"{beside.name}.phones.json")


@click.command()
@click.option("--port", default=8539, show_default=True, help="Port to listen on.")
@click.option("--phone", is_flag=True, help="Also serve paired phones in the local network.")
@click.option("--address", default="", help="With --phone: this machine's address there.")
@where_option
def serve(port: int, phone: bool, address: str, where: str | None) -> None:
    """Serve the pages on loopback until stopped with Ctrl-C.

    With --phone also on this machine's address in the local network, to phones that were let in
    with the code shown; nobody else there sees anything.
    """
    from tickover.cli.opening import open_store
    from tickover.demo import open_demos
    from tickover.errors import InputError
    from tickover.web.phone.addresses import phone_address
    from tickover.web.phone.paired import PairedPhones
    from tickover.web.serve import serve as serve_pages

    if address and not phone:
        raise InputError("An address is for phones", given=address, instead="--phone as well")
    host = phone_address(address) if phone else ""
    with open_store(where) as store:
        serve_pages(
            store,
            port=port,
            open_demo=open_demos,
            phones=PairedPhones(phones_file(store)) if phone else None,
            phone_host=host,
            say=say_where,
            say_pairing=say_pairing,
        )
