"""`tickover shopping`: one list over all tasks, ticked off as things arrive."""

from __future__ import annotations

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import wrapped
from tickover.cli.opening import chosen_build
from tickover.cli.options import build_option, json_option, where_option
from tickover.errors import InputError


@click.command()
@click.option("--add", default="", metavar="ITEM", help="Put something on the list.")
@click.option("--arrived", default="", metavar="ITEM", help="Tick off what came, by its words.")
@click.option("--count", type=int, default=1, show_default=True, help="How many.")
@click.option("--price", type=float, default=None, help="Of one.")
@click.option("--for", "why", default="", help="What it is for.")
@json_option
@build_option
@where_option
def shopping(
    add: str, arrived: str, count: int, price: float | None, why: str, as_json: bool,
    build_name: str, where: str | None,
) -> None:  # fmt: skip
    """One shopping list over all tasks of a build."""
    from dataclasses import asdict

    from tickover.pages.building import shopping_of, shopping_page_of
    from tickover.pages.shopping import find_want
    from tickover.plan.shopping import arrived_entry, want_entry

    if add and arrived:
        raise InputError("One thing at a time", allowed="--add or --arrived")
    with chosen_build(where, build_name) as bench:
        if add:
            keep(bench, want_entry(add, count, price=price, why=why), quiet=as_json)
        if arrived:
            want = find_want(shopping_of(bench.state), arrived)
            keep(bench, arrived_entry(want, count, price), quiet=as_json)
        page = shopping_page_of(bench.build, bench.state)
    if as_json:
        echo_json(asdict(page))
        return
    click.secho(page.sentence, bold=True)
    for line in page.to_buy:
        came = f" ({line.arrived} of {line.count} arrived)" if line.arrived else ""
        what = f"{line.still} x {line.item} {line.size}".rstrip()
        reason = f", for {line.why}" if line.why else ""
        wrapped(f"☐ {what}{came}: {line.total or line.price}{reason}", "  ", "    ")
    for line in page.settled:
        wrapped(f"☑ {line.arrived} x {line.item} {line.size}".rstrip(), "  ", "    ")
    if page.total:
        click.echo(f"Together {page.total}")
    for words in (*page.notes, *(f"! {text}" for text in page.conflicts)):
        wrapped(words, after="  ")
