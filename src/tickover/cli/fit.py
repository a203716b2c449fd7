"""`tickover fit`: fit to start, yes or no."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.builds import where_option
from tickover.cli.entries import build_option
from tickover.cli.marks import mark, wrapped
from tickover.cli.opening import chosen_build

if TYPE_CHECKING:
    from tickover.pages.build import BuildPage


@click.command()
@click.option("--json", "as_json", is_flag=True, help="JSON instead of words.")
@build_option
@where_option
def fit(as_json: bool, build_name: str, where: str | None) -> None:
    """Fit to start: yes, or no and exactly why. Exit code 0 for yes, 1 for no."""
    from dataclasses import asdict

    from tickover.pages.building import build_page_of

    with chosen_build(where, build_name) as bench:
        page = build_page_of(bench.build, bench.state)
    if as_json:
        echo_json(
            {
                "fit_to_start": page.fit,
                "answer": page.answer,
                "blockers": [asdict(line) for line in page.blockers],
                "accepted": [asdict(line) for line in page.accepted],
            }
        )
    else:
        print_build(page)
    raise click.exceptions.Exit(0 if page.fit else 1)


def print_build(page: BuildPage) -> None:
    """What stops the start, in the terminal."""
    click.secho(page.answer, bold=True)
    for line in page.blockers:
        click.echo(f"  {mark(line.state)} {line.title}: {line.text}; {line.way_out}")
    for line in page.accepted:
        click.echo(f"  {mark('accepted')} {line.title}: {line.text}")
    for words in page.fallen_away:
        wrapped(f"not checked: {words}", "  ")
