"""`tickover read`, `work`, `fitted`, `loose`, `accept`, `strike`, `book`: writing and showing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.marks import wrapped
from tickover.cli.opening import TerminalBench, chosen_build, now, writer
from tickover.cli.options import build_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.book.bodies import Body


def keep(bench: TerminalBench, *bodies: Body, quiet: bool = False) -> None:
    """Keep entries and say their numbers; `quiet` says them beside the output, not in it."""
    for entry in bench.store.append(bench.build.id, bodies, at=now(), by=writer()):
        click.echo(f"kept as entry {entry.number}: {entry.kind}", err=quiet)


@click.command()
@click.argument("line", nargs=-1, required=True)
@click.option("--warm", is_flag=True, help="The engine was warm.")
@click.option("--cold", is_flag=True, help="The engine was cold.")
@build_option
@where_option
def read(line: tuple[str, ...], warm: bool, cold: bool, build_name: str, where: str | None) -> None:
    """Keep readings, several with ';' between: 'in4 .13 / .15 mm; ex4 no gap 1.5 thou'."""
    from tickover.tasks.quickline import understand_line

    if warm and cold:
        raise InputError("The engine cannot be both warm and cold", allowed="--warm or --cold")
    said = True if warm else (False if cold else None)
    with chosen_build(where, build_name) as bench:
        engine = bench.engine
        pieces = [piece for piece in " ".join(line).split(";") if piece.strip()]
        ends = bench.state.open_loose_ends
        understood = [understand_line(engine, piece, said, ends) for piece in pieces]
        for item in understood:
            click.echo(item.words)
        keep(bench, *(body for item in understood for body in (item.body, *item.more)))


@click.command()
@click.argument("what")
@click.argument("places", nargs=-1)
@build_option
@where_option
def work(what: str, places: tuple[str, ...], build_name: str, where: str | None) -> None:
    """Write down work done: 'valve or seat work' ex2; 'clearance set' in1; 'head off'."""
    from tickover.book.bodies import Work
    from tickover.plan.staleness import TABLE

    known = sorted({rule.work for rule in TABLE})
    with chosen_build(where, build_name) as bench:
        keep(bench, Work(what, places))
    if what not in known:
        click.echo(f"No check goes stale by '{what}'. Work that does: {', '.join(known)}.")


@click.command()
@click.argument("places", nargs=-1)
@build_option
@where_option
def fitted(places: tuple[str, ...], build_name: str, where: str | None) -> None:
    """Write the shim plan as done; with places, only that part of it."""
    from tickover.pages.building import valves_page_of
    from tickover.tasks.valves.in_book import fitted_entries, valve_book

    with chosen_build(where, build_name) as bench:
        state = bench.state
        page = valves_page_of(bench.build, state)
        changes = [line.change for line in page.plan]
        done = places or tuple(change.place for change in changes)
        known = valve_book(bench.engine, state)
        keep(bench, *fitted_entries(changes, done, known))
    click.echo("Read those valves again; their old readings are void.")


@click.command()
@click.argument("label", nargs=-1)
@click.option("--close", "close", default="", help="Close the one with these words.")
@build_option
@where_option
def loose(label: tuple[str, ...], close: str, build_name: str, where: str | None) -> None:
    """Open a loose end ('oil line off'), close one, or list them."""
    from tickover.book.bodies import LooseEndClosed, LooseEndOpened
    from tickover.tasks.loose_line import loose_end_meant

    with chosen_build(where, build_name) as bench:
        if close:
            keep(bench, LooseEndClosed(loose_end_meant(bench.state.open_loose_ends, close).id))
        elif label:
            keep(bench, LooseEndOpened(" ".join(label)))
        else:
            for end in bench.state.open_loose_ends:
                click.echo(f"  open since {end.opened.at[:10]}: {end.opened.body.label}")
            if not bench.state.open_loose_ends:
                click.echo("No loose end is open.")


@click.command()
@click.argument("check")
@click.argument("place", default="")
@click.option("--reason", required=True, help="Why it may stay as it is.")
@build_option
@where_option
def accept(check: str, place: str, reason: str, build_name: str, where: str | None) -> None:
    """Take responsibility for a check that is not good, with a reason."""
    from tickover.book.bodies import Acceptance
    from tickover.plan.checks import check_states
    from tickover.plan.fit import LOOSE_END

    with chosen_build(where, build_name) as bench:
        state = bench.state
        known = {item.check.key for item in check_states(bench.engine, state)}
        if check == LOOSE_END:
            fits = [e for e in state.open_loose_ends if e.opened.body.label.startswith(place)]
            if len(fits) != 1:
                raise InputError("No single open loose end begins like this", given=place)
            place = fits[0].id
        elif (check, place) not in known:
            shown = ", ".join(sorted({f"'{name}' {at}".strip() for name, at in known})[:20])
            raise InputError("There is no such check", given=f"{check} {place}", allowed=shown)
        keep(bench, Acceptance(check, place, reason))


@click.command()
@click.argument("number", type=int)
@click.option("--reason", required=True, help="Why it counts for nothing.")
@build_option
@where_option
def strike(number: int, reason: str, build_name: str, where: str | None) -> None:
    """Strike out entry NUMBER; it stays visible and counts for nothing."""
    from tickover.book.bodies import StrikeOut

    with chosen_build(where, build_name) as bench:
        entry = next((e for e in bench.state.entries if e.number == number), None)
        if entry is None:
            raise InputError("There is no such entry", given=str(number),
                             allowed=f"1 to {bench.state.last_number}")  # fmt: skip
        keep(bench, StrikeOut(entry.id, reason))


@click.command()
@click.option("--search", default="", help="Only entries with all these words.")
@json_option
@build_option
@where_option
def book(search: str, as_json: bool, build_name: str, where: str | None) -> None:
    """Show the entries of a build, newest first."""
    from dataclasses import asdict

    from tickover.pages.building import book_page_of

    with chosen_build(where, build_name) as bench:
        page = book_page_of(bench.build, bench.state, search)
    if as_json:
        echo_json([asdict(line) for line in page.entries])
        return
    who = max((len(line.by) for line in page.entries), default=0)
    for line in page.entries:
        struck = f"  (struck out: {line.struck_because})" if line.struck else ""
        before = f"{line.number:5} {line.at[:16]} {line.by:{who}} "
        wrapped(f"{line.words}{struck}", before, " " * min(len(before), 30))
    for text in page.conflicts:
        wrapped(f"! {text}", after="  ")
