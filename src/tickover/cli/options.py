"""What many commands ask for in the same words."""

from __future__ import annotations

from pathlib import Path

import click

where_option = click.option("--where", default=None, help="The book, when not the usual one.")
build_option = click.option("--build", "build_name", default="", help="Build, by id or name.")
engine_option = click.option(
    "--engine", "engine_path", type=click.Path(path_type=Path),
    help="Engine file (TOML); with it no book is needed.",
)  # fmt: skip
json_option = click.option("--json", "as_json", is_flag=True, help="JSON instead of words.")
