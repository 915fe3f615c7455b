"""Several shops beside each other: each folder alone, spread over two processes by xargs, one exit code each."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SHOPS = ("harbour", "mill", "quay")
SPREAD = """
printf '%s\\n' chain/* | xargs -P 2 -n 1 sh -c '
  name=${1#chain/}
  "$PYTHON" -m loomleaf print summary --shop "$1" --out "built/$name" --processes 1 >"said/$name" 2>&1
  echo "$? $name"
' sh
"""


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def place(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three shops of their own names; the job of one calls for a vehicle that it does not have."""
    place = tmp_path_factory.mktemp("place")
    for name in SHOPS:
        shutil.copytree(root / "tests/shops/minimal", place / "chain" / name)
        (place / "chain" / name / "shop.yaml").write_text(f"name: {name.title()} Car Sound\n")
    job = place / "chain/mill/jobs/1.yaml"
    text = job.read_text()
    assert "vehicle: corvane-plover" in text
    job.write_text(text.replace("vehicle: corvane-plover", "vehicle: corvane-dotterel"))
    (place / "said").mkdir()
    return place


@pytest.fixture(scope="module")
def before(place: Path) -> dict[str, bytes]:
    return tree(place / "chain")


@pytest.fixture(scope="module")
def exits(place: Path, before: dict[str, bytes]) -> dict[str, int]:
    """What the runner said: an exit code a shop."""
    env = {**os.environ, "PYTHON": sys.executable, "PYTHONUTF8": "1"}
    done = subprocess.run(["sh", "-c", SPREAD], cwd=place, env=env, capture_output=True, text=True, timeout=300)
    assert (done.returncode, done.stderr) == (0, "")
    return {name: int(code) for code, name in (line.split() for line in done.stdout.splitlines())}


def test_each_shop_has_an_exit_code_of_its_own(exits: dict[str, int]) -> None:
    assert exits == {"harbour": 0, "mill": 1, "quay": 0}


def test_a_shop_with_an_error_keeps_no_other_from_its_sheets(place: Path, exits: dict[str, int]) -> None:
    printed = {name: sorted(path.name for path in (place / "built" / name).rglob("*.pdf")) for name in SHOPS}
    assert printed == {"harbour": ["1-summary.pdf"], "mill": [], "quay": ["1-summary.pdf"]}
    assert "jobs/1.yaml" in (place / "said/mill").read_text() and "corvane-dotterel" in (place / "said/mill").read_text()
    for name in ("harbour", "quay"):
        assert (place / "said" / name).read_text().splitlines()[0] == f"built/{name}/job-1/1-summary.pdf"


def test_content_is_only_read(place: Path, before: dict[str, bytes], exits: dict[str, int]) -> None:
    assert tree(place / "chain") == before


def test_a_shop_printed_alone_gives_the_same_bytes(place: Path, exits: dict[str, int]) -> None:
    alone = place / "alone"
    command = [sys.executable, "-m", "loomleaf", "print", "summary", "--shop", "chain/quay", "--out", str(alone)]
    assert subprocess.run(command, cwd=place, capture_output=True).returncode == 0
    sheet = (place / "built/quay/job-1/1-summary.pdf").read_bytes()
    assert (alone / "job-1/1-summary.pdf").read_bytes() == sheet
    assert (place / "built/harbour/job-1/1-summary.pdf").read_bytes() != sheet  # each has its own shop's name
