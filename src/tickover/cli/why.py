"""`tickover why`: will not start, or runs but not as it should: what to look at next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tickover.cli import echo_json
from tickover.cli.entries import keep
from tickover.cli.marks import heading, wrapped
from tickover.cli.opening import chosen_build
from tickover.cli.options import build_option, json_option, where_option
from tickover.errors import InputError
from tickover.quantities import whole_number

if TYPE_CHECKING:
    from tickover.book.bodies import Body
    from tickover.pages.faults import FaultPage, ThingLine
    from tickover.plan.faultfinding import Knowledge

_BAR = 24


@click.command()
@click.option("--symptom", default="will not start", show_default=True,
              help="'will not start' or 'runs, but'.")  # fmt: skip
@click.option("--begin", is_flag=True, help="Begin anew; earlier answers count no more.")
@click.option("--answer", nargs=2, default=None, metavar="QUESTION OUTCOME",
              help="Answer a question; both in words or by number.")  # fmt: skip
@click.option("--looked", default="", metavar="CAUSE", help="You looked at this cause.")
@click.option("--found/--not-found", default=None, help="Whether it was the one.")
@click.option("--all", "every", is_flag=True, help="Every question with its number, every cause.")
@json_option
@build_option
@where_option
def why(
    symptom: str, begin: bool, answer: tuple[str, str] | None, looked: str, found: bool | None,
    every: bool, as_json: bool, build_name: str, where: str | None,
) -> None:  # fmt: skip
    """What to look at next, given everything the book has proved."""
    from dataclasses import asdict

    from tickover.pages.building import fault_page_of
    from tickover.plan.faultfinding import begin_entry, knowledge, session_of

    known = knowledge(symptom)
    if (found is None) == bool(looked):
        raise InputError(
            "A look needs its cause and what came of it", instead="--looked CAUSE --not-found"
        )
    said: list[Body] = _said(known, answer, looked, bool(found))
    with chosen_build(where, build_name) as bench:
        under_way = session_of(known, bench.state).under_way
        if begin or (said and not under_way):
            said.insert(0, begin_entry(known))
        if said:
            keep(bench, *said, quiet=as_json)
        page = fault_page_of(bench.build, bench.state, symptom)
    if as_json:
        echo_json(asdict(page))
    else:
        print_faults(page, every)


def _said(known: Knowledge, answer: tuple[str, str] | None, looked: str, found: bool) -> list[Body]:
    from tickover.plan.faultfinding import answer_entry, looked_entry

    said: list[Body] = []
    if answer is not None:
        question = _chosen(answer[0], tuple(q.words for q in known.questions), "question")
        outcomes = known.questions[known.question_index(question)].outcomes
        said.append(answer_entry(known, question, _chosen(answer[1], outcomes, "outcome")))
    if looked:
        said.append(looked_entry(known, looked, found))
    return said


def _chosen(typed: str, words: tuple[str, ...], what: str) -> str:
    """One of the words, by number or by itself."""
    number = whole_number(typed)
    if number is None:
        return typed
    if not 1 <= number <= len(words):
        raise InputError(f"There is no {what} of this number", given=typed,
                         allowed=f"1 to {len(words)}")  # fmt: skip
    return words[number - 1]


def print_faults(page: FaultPage, every: bool = False) -> None:
    """The fault page in the terminal."""
    click.secho(page.title, bold=True)
    if page.weight_problem:
        wrapped(f"! {page.weight_problem}")
    for words in page.contradictions:
        wrapped(f"! {words}")
    wrapped(page.sentence)
    if not page.found:
        _thing(page.next)
    if page.begun:
        click.echo(f"  {page.begun}")
    for line in (*page.answers, *page.looked):
        click.echo(f"  {line.number:4} {line.asked} {line.said}")
    heading("Causes")
    for cause in page.causes if every else page.causes[:8]:
        bar = "█" * round(cause.share * _BAR) or "▏"
        note = f" ({cause.looked})" if cause.looked else ""
        click.echo(f"  {cause.chance:>9} {bar:{_BAR}} {cause.words}{note}")
    click.echo(f"  {page.unlisted.chance:>9} {'':{_BAR}} {page.unlisted.words}")
    if page.proved:
        heading("The book says")
        for words in page.proved:
            click.echo(f"  {words}")
    heading("Every question" if every else "Also possible")
    for thing in page.questions if every else page.also:
        _thing(thing)
    click.echo()
    for words in page.cautions:
        wrapped(f"! {words}")
    wrapped(page.source)


def _thing(thing: ThingLine) -> None:
    number = f"({thing.number}) " if thing.number else ""
    click.secho(f"  {number}{thing.title} [{thing.minutes}]", bold=True)
    if thing.outcomes:
        click.echo("      " + ", ".join(f"{n} {o}" for n, o in enumerate(thing.outcomes, 1)))
    if thing.how:
        wrapped(thing.how, "      ")
    if thing.caution:
        wrapped(f"! {thing.caution}", "      ")
