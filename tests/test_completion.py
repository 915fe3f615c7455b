"""Completion is written from the parser, and works in the shells that are here."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from loomleaf.cli import _parser
from loomleaf.completion import SHELLS, known_commands, script
from tests.proof import need

REAL = known_commands(_parser())


def bash(words: str, cwd: Path) -> set[str]:
    """What bash offers for the last of the words."""
    code = (
        f"{script('bash', _parser(), ('drop', 'fuse'))}\n"
        f"COMP_WORDS=({words}); COMP_CWORD=$(( ${{#COMP_WORDS[@]}} - 1 ))\n"
        '_loomleaf; printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    done = subprocess.run(["bash", "-c", code], capture_output=True, text=True, cwd=cwd)
    assert done.stderr == ""
    return set(done.stdout.split())


@pytest.fixture
def place(tmp_path: Path) -> Path:
    for name in ("content/jobs/2041.yaml", "content/jobs/2038.yaml", "other/jobs/7.yaml"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    return tmp_path


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("loomleaf pu", {"publish"}),
        ("loomleaf print b", {"bench"}),
        ("loomleaf print --paper L", {"Letter"}),
        ("loomleaf print bench 20", {"2038", "2041"}),
        ("loomleaf print bench --shop other 7", {"7"}),
        ("loomleaf print --pa", {"--paper"}),
        ("loomleaf check --shop o", {"other"}),
        ("loomleaf completion f", {"fish"}),
        ("loomleaf reckon d", {"drop"}),
        ("loomleaf begin s", {"shop"}),
    ],
)
def test_bash_offers(place: Path, words: str, offered: set[str]) -> None:
    assert bash(words, place) == offered


@pytest.mark.parametrize("shell", SHELLS)
def test_every_command_and_option_is_in_every_script(shell: str) -> None:
    text = script(shell, _parser())
    for command in REAL:
        assert command.name in text
        for option in command.options:
            assert (option.removeprefix("--") if shell == "fish" else option) in text


@pytest.mark.parametrize("shell", SHELLS)
def test_the_shell_itself_can_read_it(shell: str) -> None:
    done = subprocess.run([need(shell, shell), "-n"], input=script(shell, _parser()), capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
