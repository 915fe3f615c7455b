"""The README's transcripts are true: each command in it is run, and what it prints is compared line by line."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
LEFT_OUT = "…"  # a line of this alone stands for any number of lines


def transcripts(text: str) -> list[tuple[str, list[str]]]:
    """Each command of the ``console`` blocks with the lines that are said to follow it."""
    found: list[tuple[str, list[str]]] = []
    for indent, block in re.findall(r"^( *)```console\n(.*?)^\1```$", text, re.MULTILINE | re.DOTALL):
        for line in (line.removeprefix(indent) for line in block.splitlines()):
            if line.startswith("$ "):
                found.append((line[2:], []))
            else:
                found[-1][1].append(line)
    return found


def agrees(said: list[str], printed: list[str]) -> bool:
    """True when the printed lines are the said ones, any lines standing where lines are left out."""
    if not said:
        return not printed
    if said[0] == LEFT_OUT:
        return any(agrees(said[1:], printed[skip:]) for skip in range(len(printed) + 1))
    return bool(printed) and said[0] == printed[0] and agrees(said[1:], printed[1:])


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that looks like the checkout, where commands may write: what they could write into is a copy."""
    place = tmp_path_factory.mktemp("readme")
    shutil.copytree(ROOT / "content", place / "content")
    shutil.copytree(ROOT / "tests" / "broken", place / "tests" / "broken")
    command = place / "bin" / "loomleaf"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m loomleaf "$@"\n')
    command.chmod(0o755)
    return place


@pytest.mark.parametrize(("command", "said"), transcripts(README.read_text("utf-8")), ids=lambda value: str(value)[:40])
def test_a_transcript_is_what_the_command_prints(place: Path, command: str, said: list[str]) -> None:
    env = {**os.environ, "PATH": f"{place / 'bin'}{os.pathsep}{os.environ['PATH']}", "PYTHONUTF8": "1"}
    env["PYTHONPATH"] = str(ROOT / "generator")
    done = subprocess.run(
        ["sh", "-c", command],
        cwd=place,
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        timeout=300,
    )
    printed = done.stdout.splitlines()
    assert "Traceback (most recent call last):" not in printed
    assert agrees(said, printed), done.stdout


def test_one_of_the_transcripts_fails_and_says_so() -> None:
    assert any("exit 1" in said for _, said in transcripts(README.read_text("utf-8")))


def test_the_comparison_can_fail() -> None:
    assert agrees(["a", LEFT_OUT, "c"], ["a", "b", "b", "c"])
    assert not agrees(["a", LEFT_OUT, "c"], ["a", "b"])
    assert not agrees(["a"], ["a", "b"])
    assert not agrees([], ["a"])


def test_every_picture_and_file_it_names_exists() -> None:
    text = README.read_text("utf-8")
    named = re.findall(r"\]\(([^)#:]+)\)", text)
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_it_opens_with_the_job_then_the_two_commands_then_the_cautions() -> None:
    text = README.read_text("utf-8")
    places = [
        text.find(words)
        for words in ("# Loomleaf", "generator/setup.sh print", "generator/setup.sh test", "## Cautions")
    ]
    assert all(place >= 0 for place in places) and places == sorted(places)
    cautions = text[places[-1] :].split("\n## ")[0]
    for words in ("battery", "airbag", "vehicle maker", "local", "licensed"):
        assert words in cautions.lower()
