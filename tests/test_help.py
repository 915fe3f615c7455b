"""Help fits a screen of 24 lines of 80 characters, and shows how a command is used."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys

import pytest

from loomleaf.cli import _parser, main
from loomleaf.completion import known_commands
from loomleaf.reckon import EXAMPLES

COMMANDS = [command.name for command in known_commands(_parser())]


def told(*words: str) -> str:
    env = {**os.environ, "COLUMNS": "80", "PYTHONUTF8": "1"}
    done = subprocess.run([sys.executable, "-m", "loomleaf", *words], capture_output=True, text=True, env=env)
    assert done.returncode == 0, done.stderr
    return done.stdout


def fits(text: str) -> bool:
    lines = text.splitlines()
    return len(lines) <= 24 and max(map(len, lines)) <= 80


def test_the_first_help_fits_and_names_every_command() -> None:
    text = told("--help")
    assert fits(text), text
    assert [name for name in COMMANDS if not re.search(rf"^    {name}\s+[A-Z]", text, re.MULTILINE)] == []
    assert "example: loomleaf " in text


@pytest.mark.parametrize("command", COMMANDS)
def test_the_help_of_each_command_fits_and_shows_an_example(command: str) -> None:
    text = told(command, "--help")
    assert fits(text), text
    assert re.search(rf"^example: .*loomleaf {command}\b", text, re.MULTILINE)


@pytest.mark.parametrize("topic", EXAMPLES)
def test_the_help_of_each_calculation_fits_and_its_example_works(
    topic: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["reckon", topic, "--help"]) == 0
    text = capsys.readouterr().out
    assert fits(text), text
    example = text.partition("\nexample: loomleaf ")[2].replace("\\\n", "")
    assert main(shlex.split(example)) == 0, capsys.readouterr().err
    out = capsys.readouterr().out
    assert out.splitlines()[0] == topic and len(out.splitlines()) > 3
