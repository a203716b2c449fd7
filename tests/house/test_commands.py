"""Every command in the table exists, has help, and its line of help is true to it."""

from __future__ import annotations

import click
import pytest

from tickover.cli import COMMANDS, group


@pytest.mark.parametrize("name", list(COMMANDS))
def test_command_can_be_loaded_and_explains_itself(name: str) -> None:
    command = group.get_command(click.Context(group), name)
    assert command is not None
    assert command.name == name
    assert command.help
