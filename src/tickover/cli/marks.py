"""State marks for a terminal: word and shape, never colour alone."""

from __future__ import annotations

import click

_SHAPES = {
    "good": ("●", "green"),
    "out": ("■", "red"),
    "undecided": ("◆", "yellow"),
    "open": ("○", None),
    "stale": ("◌", "yellow"),
    "accepted": ("◎", None),
}


def mark(state: str) -> str:
    """The shape of a state, coloured where the terminal can."""
    shape, colour = _SHAPES.get(state, ("?", None))
    return click.style(shape, fg=colour)


def heading(words: str) -> None:
    """A heading with a rule under it."""
    click.echo()
    click.secho(words, bold=True)
    click.echo("─" * max(len(words), 24))


def wrapped(text: str, indent: str = "") -> None:
    """A paragraph folded to a readable width."""
    click.echo(click.wrap_text(text, width=88, initial_indent=indent, subsequent_indent=indent))
