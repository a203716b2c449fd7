"""`tickover build`: where we are, what next, what stops us."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.fit import say_not_checked
from tickover.cli.marks import heading, mark, wrapped
from tickover.cli.opening import chosen_build
from tickover.cli.options import build_option, json_option, where_option

if TYPE_CHECKING:
    from tickover.pages.build import BuildPage

_NEXT = 3  # steps shown


@click.command()
@json_option
@build_option
@where_option
def build(as_json: bool, build_name: str, where: str | None) -> None:
    """Where we are, what next, what stops us. Exit code 0: fit to start. 1: not yet."""
    from dataclasses import asdict

    from tickover.pages.building import build_page_of

    with chosen_build(where, build_name) as bench:
        page = build_page_of(bench.build, bench.state)
    if as_json:
        echo_json(
            {
                "build": asdict(page.head),
                "machine": page.machine,
                "layout": page.layout,
                "answer": page.answer,
                "fit_to_start": page.fit,
                "tally": dict(page.tally),
                "next": [asdict(row) for row in page.ready],
                "troubles": [asdict(line) for line in page.troubles],
                "not_done": [asdict(line) for line in page.undone],
                "accepted": [asdict(line) for line in page.accepted],
                "not_checked": list(page.fallen_away),
            }
        )
    else:
        wrapped(f"{page.head.name}: {page.machine}, {page.layout}, {page.head.stage}")
        click.echo()
        print_build(page)
    raise click.exceptions.Exit(0 if page.fit else 1)


def print_build(page: BuildPage) -> None:
    """The page in the terminal."""
    wrapped(page.answer, bold=True)
    if page.tally:
        click.echo("  " + "   ".join(f"{mark(word)} {count} {word}" for word, count in page.tally))
    if page.ready:
        heading("What next")
        for row in page.ready[:_NEXT]:
            wrapped(f"{row.title}: takes {row.effort}; left out, it {row.risk}", "  ")
        if len(page.ready) > _NEXT:
            click.echo(f"  {len(page.ready) - _NEXT} more can be done now")
    if page.troubles or page.undone:
        heading("What stops us")
    for line in page.troubles:
        wrapped(f"{mark(line.state)} {line.title}: {line.text}; {line.way_out}", "  ", "    ")
    if page.undone:
        counts = Counter(line.name for line in page.undone)
        names = "; ".join(f"{name} ({n})" if n > 1 else name for name, n in counts.items())
        wrapped(f"{mark('open')} {len(page.undone)} not done yet: {names}", "  ")
    for line in page.accepted:
        wrapped(f"{mark('accepted')} {line.title}: {line.text}", "  ", "    ")
    say_not_checked(page.fallen_away)
