"""State marks for a terminal: word and shape, never colour alone."""

from __future__ import annotations

import re
import textwrap

import click

_HELD = "\N{NO-BREAK SPACE}"
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


def wrapped(text: str, indent: str = "", after: str = "", *, bold: bool = False) -> None:
    """A paragraph folded to the width of a plain terminal; a command in it stays on one line.

    `indent` goes before its first line, `after` before the others; the same where it is not given.
    """
    held = re.sub("`[^`]*`", lambda command: command[0].replace(" ", _HELD), text)
    folded = textwrap.fill(
        held, 80, initial_indent=indent, subsequent_indent=after or indent,
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
    click.secho(folded.replace(_HELD, " "), bold=bold)
