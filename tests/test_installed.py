"""Installed as a user installs it: a wheel into a clean environment, used from another folder."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

CANNOT_FETCH = re.compile(
    r"No matching distribution|Could not find a version|ConnectionError|NewConnectionError|Temporary failure|timed out", re.I
)


@pytest.fixture(scope="module")
def command(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ``loomleaf`` command of a clean environment that has the wheel and what it names, and nothing else."""
    place = tmp_path_factory.mktemp("installed")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(place)]
    done = subprocess.run(build, cwd=root, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (wheel,) = place.glob("*.whl")
    subprocess.run([sys.executable, "-m", "venv", str(place / "env")], check=True)
    pip = [str(place / "env/bin/python"), "-m", "pip", "install", "-q", "--disable-pip-version-check", str(wheel)]
    done = subprocess.run(pip, capture_output=True, text=True, timeout=400)
    if done.returncode and CANNOT_FETCH.search(done.stdout + done.stderr):
        pytest.skip("the libraries cannot be fetched here")
    assert done.returncode == 0, done.stderr
    return place / "env/bin/loomleaf"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder far from the checkout."""
    return tmp_path_factory.mktemp("somewhere else")


def run(command: Path, place: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {"PATH": os.environ["PATH"], "HOME": str(place), "PYTHONUTF8": "1"}
    return subprocess.run([str(command), *words], cwd=place, env=env, capture_output=True, text=True, timeout=200)


def test_a_shop_is_begun_checked_printed_and_published(command: Path, place: Path) -> None:
    begun = run(command, place, "begin", "shop", "my shop")
    assert (begun.returncode, begun.stdout) == (0, "my shop\n"), begun.stderr
    checked = run(command, place, "check", "--shop", "my shop")
    assert checked.returncode == 0, checked.stderr
    (job,) = (place / "my shop/jobs").glob("*.yaml")
    printed = run(command, place, "print", "bench", "--shop", "my shop")
    assert printed.returncode == 0, printed.stderr
    (sheet,) = printed.stdout.splitlines()
    assert (place / sheet).read_bytes().startswith(b"%PDF-")
    again = run(command, place, "print", "bench", "--shop", "my shop")
    assert again.stdout == printed.stdout and "nothing has changed since" in again.stderr
    published = run(command, place, "publish", "--site-only", "--shop", "my shop")
    assert published.returncode == 0, published.stderr
    assert (place / "build/handbook/index.html").is_file()
    assert job.is_file()


def test_without_a_shop_the_demo_is_read(command: Path, place: Path) -> None:
    done = run(command, place, "check")
    assert done.returncode == 0 and "jobs looked at" in done.stderr


def test_it_is_the_installed_one(command: Path, root: Path) -> None:
    code = "import loomleaf; print(loomleaf.__file__)"
    python = command.with_name("python")
    done = subprocess.run([str(python), "-I", "-c", code], capture_output=True, text=True, check=True)
    assert str(root) not in done.stdout and "site-packages" in done.stdout
