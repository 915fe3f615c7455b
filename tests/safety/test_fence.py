"""No network, no other program, and nothing written outside the output folder, whatever the command."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

FENCED = Path(__file__).with_name("fenced.py")


def fenced(place: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "TMPDIR": str(place)}
    command = [sys.executable, str(FENCED), str(place), *words]
    return subprocess.run(command, capture_output=True, text=True, cwd=place, env=env)


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("check", "--json", "--processes", "1"),
        ("plan", "2038", "--json"),
        ("print", "all", "2049", "--processes", "1"),
        ("print", "bench", "2038", "2049", "--processes", "2"),
        ("publish", "--site-only"),
        ("report",),
        ("reckon", "drop", "--size", "0.75 mm2", "--length-m", "2.5", "--current-a", "4"),
    ],
    ids=lambda words: " ".join(words)[:24],
)
def test_a_command_stays_inside_its_fence(root: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    shop = [] if words[0] == "reckon" else ["--shop", str(root / "content")]
    out = ["--out", str(tmp_path / "out")] if words[0] in ("print", "publish") else []
    done = fenced(tmp_path, *words, *shop, *out)
    assert "Fenced" not in done.stderr
    assert done.returncode == 0, done.stderr


def test_commands_that_write_into_a_shop_stay_inside_it(root: Path, tmp_path: Path) -> None:
    """A shop is begun, gets a job, readings and a report; its job is compared with itself: nothing leaves the folder."""
    place = tmp_path / "place"
    place.mkdir()
    shutil.copytree(root / "content", place / "shop")
    for words in (
        ("begin", "shop", "new"),
        ("collect", "--blank", "2041", "--shop", "shop"),
        ("report", "--out", "out", "--shop", "shop"),
        ("check", "--schemas", "schemas"),
        ("compare", "shop/jobs/2041.yaml", "shop/jobs/2041.yaml", "--shop", "shop"),
        ("completion", "bash"),
        ("begin", "job", "corvane-heron-2016", "--shop", "shop"),  # last: it leaves gaps to fill in
    ):
        done = fenced(place, *words)
        assert "Fenced" not in done.stderr, words
        assert done.returncode == 0, (words, done.stderr)
    assert {path.name for path in place.iterdir()} == {"shop", "new", "out", "schemas", ".loomleaf"}
    assert (place / "out/report/report.pdf").is_file() and (place / "new/shop.yaml").is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["place"]


@pytest.mark.parametrize(
    "code",
    [
        "import socket; socket.create_connection(('127.0.0.1', 9))",
        "import urllib.request; urllib.request.urlopen('http://127.0.0.1:9/')",
        "import socket; socket.getaddrinfo('example.invalid', 80)",
        "import subprocess; subprocess.run(['true'])",
        "import os; os.system('true')",
        "open('/tmp/fence-test', 'w')",
        "import os; os.mkdir('/tmp/fence-test')",
        "import os; os.rename('a', '/tmp/fence-test')",
    ],
)
def test_the_fence_holds(tmp_path: Path, code: str) -> None:
    (tmp_path / "a").touch()
    done = fenced(tmp_path, "--try", code)
    assert done.returncode == 1 and "Fenced" in done.stderr
