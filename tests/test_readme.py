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


TRANSCRIPTS = tuple(transcripts(README.read_text("utf-8")))
MADE_BEFORE = ("trial-shop", "my-shop")
"""Folders that one command makes and later ones change."""


class Walk:
    """The commands of the README in a folder that looks like the checkout: what they could write into is a copy.

    Tests may be spread over several processes, each with a walk of its own. A command on a folder that earlier ones make and
    change is preceded by those, wherever they were run before.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.said: dict[int, str] = {}
        shutil.copytree(ROOT / "content", folder / "content")
        shutil.copytree(ROOT / "tests" / "broken", folder / "tests" / "broken")
        command = folder / "bin" / "loomleaf"
        command.parent.mkdir()
        command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m loomleaf "$@"\n')
        command.chmod(0o755)

    def printed(self, index: int) -> str:
        """What a command prints, once everything is done that it builds on."""
        wanted = [name for name in MADE_BEFORE if name in TRANSCRIPTS[index][0]]
        before = [i for i in range(index) if any(name in TRANSCRIPTS[i][0] for name in wanted)]
        for step in (*before, index):
            if step not in self.said:
                self.said[step] = self._run(TRANSCRIPTS[step][0])
        return self.said[index]

    def _run(self, command: str) -> str:
        env = {**os.environ, "PATH": f"{self.folder / 'bin'}{os.pathsep}{os.environ['PATH']}", "PYTHONUTF8": "1"}
        env["PYTHONPATH"] = str(ROOT / "generator")
        done = subprocess.run(
            ["sh", "-c", command],
            cwd=self.folder,
            env=env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            timeout=300,
        )
        return done.stdout


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Walk:
    return Walk(tmp_path_factory.mktemp("readme"))


@pytest.mark.parametrize("index", range(len(TRANSCRIPTS)), ids=[command[:40] for command, _ in TRANSCRIPTS])
def test_a_transcript_is_what_the_command_prints(walk: Walk, index: int) -> None:
    printed = walk.printed(index).splitlines()
    assert "Traceback (most recent call last):" not in printed
    assert agrees(TRANSCRIPTS[index][1], printed), "\n".join(printed)


def test_a_command_that_builds_on_earlier_ones_is_true_by_itself(tmp_path: Path) -> None:
    last = max(i for i, (command, _) in enumerate(TRANSCRIPTS) if "trial-shop" in command)
    assert agrees(TRANSCRIPTS[last][1], Walk(tmp_path / "alone").printed(last).splitlines())


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
