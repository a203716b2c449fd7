"""The terminal face. Commands load what they need when they run, so that help is quick."""

from __future__ import annotations

import importlib
import os
import sys
from typing import Any

import click

from tickover import __version__
from tickover.errors import BookError, InputError

GROUPS: dict[str, dict[str, tuple[str, str]]] = {
    "The book": {
        "builds": ("tickover.cli.builds:builds", "List the builds in the book."),
        "new": ("tickover.cli.builds:new", "Start a build from an engine file."),
        "read": (
            "tickover.cli.entries:read",
            "Keep readings: 'in4 .13 / .15 mm', 'shim in4 2.65'.",
        ),
        "check": ("tickover.cli.proving:check", "Keep the answer to a check: 'spark plug1 yes'."),
        "work": ("tickover.cli.entries:work", "Write down work done at some places."),
        "fitted": ("tickover.cli.entries:fitted", "Write the shim plan, or part of it, as done."),
        "loose": ("tickover.cli.entries:loose", "Open, list and close loose ends."),
        "accept": (
            "tickover.cli.entries:accept",
            "Accept a check that is not good, with a reason.",
        ),
        "strike": ("tickover.cli.entries:strike", "Strike out an entry, with a reason."),
        "picture": (
            "tickover.cli.picture:picture",
            "Keep a photograph of a place, check or entry.",
        ),
        "book": ("tickover.cli.entries:book", "Show the entries of a build."),
    },
    "Where it stands": {
        "build": ("tickover.cli.build:build", "Where we are, what next, what stops us."),
        "fit": ("tickover.cli.fit:fit", "Fit to start: yes, or no and exactly why."),
        "shopping": ("tickover.cli.shopping:shopping", "One shopping list over all tasks."),
        "sheet": ("tickover.cli.sheets:sheet", "Bench sheets and reports as PDF."),
        "record": ("tickover.cli.record:record", "The build record, to hand over: PDF or HTML."),
    },
    "On the stand": {
        "valves": (
            "tickover.cli.valves:valves",
            "Clearances: order, verdicts, reasons, shim plan.",
        ),
        "fits": ("tickover.cli.fits:fits", "Build measurements: taper, clearance, wear, verdict."),
        "torque": (
            "tickover.cli.torque:torque",
            "Tightening: order, rounds, preload, what is done.",
        ),
        "cable": ("tickover.cli.fabrication:cable", "Cables to make: lengths, solder, proof pull."),
        "drill": ("tickover.cli.fabrication:drill", "Holes for a thread: drill, clearance, depth."),
        "solder": ("tickover.cli.fabrication:solder", "A silver-soldered joint: lap and gap."),
        "oil": ("tickover.cli.proving:oil", "Oil flow, pressure and switch: what to expect."),
        "timing": ("tickover.cli.proving:timing", "Timing in three forms, lead order, coils."),
        "fuel": ("tickover.cli.proving:fuel", "Fuel to fill and to flow; intake and exhaust."),
        "starting": ("tickover.cli.proving:starting", "Battery, earths, stop switch, interlocks."),
        "wiring": (
            "tickover.cli.wiring:wiring",
            "Wire sizes, fuses, the loom, what fails together.",
        ),
        "compression": (
            "tickover.cli.compression:compression",
            "Expected needle, causes, next check.",
        ),
        "leakdown": ("tickover.cli.compression:leakdown", "Leak-down as an area; compare testers."),
        "ratio": ("tickover.cli.measured:ratio", "Compression ratio by burette, for the needle."),
        "degree-wheel": ("tickover.cli.measured:degree_wheel", "Cam timing in degrees and teeth."),
    },
    "First start": {
        "start": (
            "tickover.cli.start:start",
            "The start card; keep what came of pressing the button.",
        ),
        "why": ("tickover.cli.why:why", "Will not start, or runs badly: what to look at next."),
    },
    "Running, and handed over": {
        "listen": ("tickover.cli.listen:listen", "Idle speed, steadiness, weak cylinder by ear."),
        "mixture": (
            "tickover.cli.mixture:mixture",
            "Jets, needle, screw: what to change, what next.",
        ),
        "balance": ("tickover.cli.balance:balance", "Carburettor balance: which screw, how far."),
        "strobe": ("tickover.cli.balance:strobe", "Timing against the curve, and the plate."),
        "charging": ("tickover.cli.charging:charging", "Battery and charging: causes, next check."),
        "speed": (
            "tickover.cli.speed:speed",
            "Gears, speedometer, and a position track against it.",
        ),
        "noise": (
            "tickover.cli.noise:noise",
            "Stationary noise against its limit, baffles compared.",
        ),
        "runin": (
            "tickover.cli.runin:runin",
            "After the first start: what is due, and a calendar.",
        ),
    },
    "Files and pages": {
        "export": ("tickover.cli.exchange:export_", "Write a build to one zip."),
        "import": ("tickover.cli.exchange:import_", "Read a build back from a zip."),
        "readings": (
            "tickover.cli.exchange:readings",
            "Readings of a build to a CSV, or from one.",
        ),
        "limits": ("tickover.cli.limits:limits", "Limits from a table into the engine file."),
        "schema": ("tickover.cli.builds:schema", "The engine file's JSON Schema, for editors."),
        "serve": ("tickover.cli.serve:serve", "Serve the pages on this machine."),
        "demo": ("tickover.cli.demo:demo", "The demo build's whole story, then its pages."),
    },
}
"""Heading to command to (where it lives, one line of help). The order is the order of help."""

COMMANDS = {name: row for rows in GROUPS.values() for name, row in rows.items()}
"""Command to (where it lives, one line of help)."""

WIDEST = max(map(len, COMMANDS))
BAD_INPUT = 2
BOOK_TROUBLE = 3


class LazyGroup(click.Group):
    """A group whose commands are imported when they are called, not when they are listed."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in their own order."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command itself, imported now."""
        if cmd_name not in COMMANDS:
            return None
        module, _, attribute = COMMANDS[cmd_name][0].partition(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands from the table above, without importing any."""
        for heading, rows in GROUPS.items():
            with formatter.section(heading):
                # one column for the names of all groups, so that the eye runs down one edge
                formatter.write_dl(
                    [(name.ljust(WIDEST), words) for name, (_, words) in rows.items()]
                )

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command asked for; what is none gets the nearest, or the way to keep a line."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            raise InputError("There is no such command", given=args[0], instead=_instead(args))
        return super().resolve_command(ctx, args)


def _instead(args: list[str]) -> str:
    """What to write instead of a word that is no command."""
    import difflib

    near = difflib.get_close_matches(args[0], COMMANDS, n=1, cutoff=0.6)
    if near:
        return f"tickover {near[0]}"
    if any(character.isdigit() for word in args for character in word) or " " in args[0]:
        return f"tickover read '{' '.join(args)}', if it is a line for the book"
    return "tickover --help, which lists them all"


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="tickover")
def group() -> None:
    """The build book that does the sums, for engines that are being put back together."""


def main(arguments: list[str] | None = None) -> None:
    """Run a command; what the user gave wrong becomes one sentence and exit code 2."""
    # Our matrices are small: on two cores a second thread costs more than it brings.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        code = group.main(args=arguments, prog_name="tickover", standalone_mode=False)
        sys.exit(code if isinstance(code, int) else 0)
    except InputError as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_INPUT)
    except BookError as error:
        click.echo(str(error), err=True)
        sys.exit(BOOK_TROUBLE)
    except click.Abort:
        click.echo("Stopped.", err=True)
        sys.exit(BAD_INPUT)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except BrokenPipeError:
        # The reader (a pager, `head`) has seen enough.
        sys.stderr.close()
        sys.exit(0)


def echo_json(data: Any) -> None:
    """Print data as JSON, one way for all commands."""
    import json

    click.echo(json.dumps(data, indent=2, ensure_ascii=False))
