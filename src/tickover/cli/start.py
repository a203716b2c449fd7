"""`tickover start`: the start card, and what came of pressing the button."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, wrapped
from tickover.cli.opening import chosen_build
from tickover.cli.options import build_option, json_option, where_option
from tickover.errors import InputError

if TYPE_CHECKING:
    from tickover.pages.start import CardLine, StartCard


@click.command()
@click.option("--attempt", default="", help="Keep what came of it: fired, ran, nothing ...")
@click.option("--seconds", type=float, default=None, help="Since the starter was pressed.")
@click.option("--note", default="", help="What was seen.")
@json_option
@build_option
@where_option
def start(
    attempt: str, seconds: float | None, note: str, as_json: bool, build_name: str,
    where: str | None,
) -> None:  # fmt: skip
    """Show the start card; with --attempt, keep what came of pressing the button."""
    from dataclasses import asdict

    from tickover.pages.building import start_card_of
    from tickover.pages.stopwatch import attempt_body, button

    if not attempt and (note or seconds is not None):
        raise InputError("A note or seconds belong to an attempt", instead="--attempt fired")
    with chosen_build(where, build_name) as bench:
        if attempt:
            body = attempt_body(attempt, seconds, note)
            keep(bench, body)
            click.echo(button(attempt).then)
            return
        card = start_card_of(bench.build, bench.state)
    if as_json:
        echo_json(asdict(card))
    else:
        print_card(card)


def print_card(card: StartCard) -> None:
    """The start card in the terminal."""
    click.secho(f"{card.title}: {card.machine}", bold=True)
    wrapped(card.answer)
    for words in card.in_the_way:
        wrapped(words, "  ")
    for end in card.head.loose_ends:
        click.echo(f"  ! loose end: {end.words} (since {end.since})")
    heading("Careful")
    for line in card.cautions:
        wrapped(f"! {line.words} [{line.source}]")
    heading("At hand")
    _lines(card.at_hand)
    heading("Positions, in this order")
    _lines(card.positions, numbered=True)
    click.echo()
    wrapped(card.cranking.words, bold=True)
    click.echo(f"[{card.cranking.source}]")
    heading("Stop the engine")
    for kill in card.kill:
        wrapped(f"{kill.sign}: {click.style(kill.limit, bold=True)} [{kill.source}]", "  ", "    ")
        wrapped(kill.act, "      ")
    heading("Watch")
    _lines(card.watch)
    heading("Note")
    for words in card.to_note:
        wrapped(words, "  ")
    if card.attempts:
        heading("Tries so far, newest first")
    for tried in card.attempts:
        click.echo(f"  {tried.number:4} {tried.at[:16]} {tried.outcome}: {', '.join(tried.seen)}")
        if tried.note:
            wrapped(tried.note, "       ")
        for words in tried.contradictions:
            wrapped(f"! {words}", "       ")
    click.echo()
    wrapped(card.says)


def _lines(lines: tuple[CardLine, ...], numbered: bool = False) -> None:
    for number, line in enumerate(lines, 1):
        wrapped(f"{number}. {line.words}" if numbered else line.words, "  ")
    click.echo(f"  [{', '.join(dict.fromkeys(line.source for line in lines))}]")
