"""`tickover fit`: fit to start, to ride or for hand-over, yes or no."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import click

from tickover.cli import echo_json
from tickover.cli.marks import mark, wrapped
from tickover.cli.opening import chosen_build, now, writer
from tickover.cli.options import build_option, json_option, where_option

if TYPE_CHECKING:
    from tickover.pages.fitness import FitPage
    from tickover.tasks.finding import Stage


@click.command()
@click.option("--stage", default="first start", show_default=True,
              type=click.Choice(["first start", "riding", "hand-over"]),
              help="Before what it is asked.")  # fmt: skip
@click.option("--record", is_flag=True,
              help="Keep the answer; it is void as soon as anything under it changes.")  # fmt: skip
@click.option("--left-out", "left_out", is_flag=True,
              help="Name all that the engine file leaves out.")  # fmt: skip
@json_option
@build_option
@where_option
def fit(
    stage: str, record: bool, left_out: bool, as_json: bool, build_name: str, where: str | None
) -> None:
    """Fit to start: yes, or no and exactly why. Exit code 0 for yes, 1 for no."""
    from dataclasses import asdict

    from tickover.pages.building import answer_of, fit_page_of

    asked = cast("Stage", stage)
    with chosen_build(where, build_name) as bench:
        if record:
            state = bench.state
            entry = bench.store.append(
                bench.build.id,
                answer_of(state, asked),
                at=now(),
                by=writer(),
                expect_number=state.last_number,
            )[0]
            click.echo(f"kept as entry {entry.number}: {entry.kind}", err=as_json)
        page = fit_page_of(bench.build, bench.state, asked)
    if as_json:
        echo_json(
            {
                "stage": page.stage,
                "fit_to_start" if stage == "first start" else "fit": page.yes,
                "answer": page.answer,
                "blockers": [asdict(line) for line in page.blockers],
                "accepted": [asdict(line) for line in page.accepted],
                "recorded": asdict(page.recorded) if page.recorded else None,
                "not_checked": list(page.not_checked),
            }
        )
    else:
        print_fit(page, left_out)
    raise click.exceptions.Exit(0 if page.yes else 1)


def print_fit(page: FitPage, left_out: bool = False) -> None:
    """The answer in the terminal."""
    click.secho(page.answer, bold=True)
    for line in page.blockers:
        wrapped(f"{mark(line.state)} {line.title}: {line.text}; {line.way_out}", "  ", "    ")
    for line in page.accepted:
        wrapped(f"{mark('accepted')} {line.title}: {line.text}", "  ", "    ")
    click.echo(page.proved)
    if page.recorded is not None:
        wrapped(f"Recorded: {page.recorded.words}")
    say_not_checked(page.not_checked, left_out)
    wrapped(page.caution)


FEW_LEFT_OUT = 5  # lines; more than these hide the answer above them


def say_not_checked(lines: tuple[str, ...], all_of_them: bool = False) -> None:
    """What was not checked: each by name while they are few or asked for, else how many."""
    if all_of_them or len(lines) <= FEW_LEFT_OUT:
        for words in lines:
            wrapped(f"not checked: {words}", "  ")
        return
    wrapped(
        f"Not checked: {len(lines)} things that the engine file leaves out. "
        "`tickover fit --left-out` names them."
    )
