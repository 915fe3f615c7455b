"""Help fits a screen of 24 lines, and shows how a command is used."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import pytest

from loomleaf.cli import _parser
from loomleaf.completion import known_commands

COMMANDS = [command.name for command in known_commands(_parser())]


def told(*words: str) -> str:
    env = {**os.environ, "COLUMNS": "100", "PYTHONUTF8": "1"}
    done = subprocess.run([sys.executable, "-m", "loomleaf", *words], capture_output=True, text=True, env=env)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_first_help_fits_and_names_every_command() -> None:
    text = told("--help")
    assert len(text.splitlines()) <= 24
    assert [name for name in COMMANDS if not re.search(rf"^    {name}\b", text, re.MULTILINE)] == []
    assert "example: loomleaf " in text


@pytest.mark.parametrize("command", COMMANDS)
def test_the_help_of_each_command_fits_and_shows_an_example(command: str) -> None:
    text = told(command, "--help")
    assert len(text.splitlines()) <= 24
    assert re.search(rf"^example: .*loomleaf {command}\b", text, re.MULTILINE)
