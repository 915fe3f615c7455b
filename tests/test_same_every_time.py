"""The same content gives the same bytes: another folder, another time zone, another locale, hash seed and process count."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

JOBS = ("2031", "2049")
SKIPPED = {".loomleaf"}


def shop_in(place: Path, root: Path) -> Path:
    """The demo shop with a few jobs, in a folder of its own, its files in another order on the disk."""
    shop = place / "shop"
    shop.mkdir(parents=True)
    names = [path.relative_to(root / "content").as_posix() for path in (root / "content").rglob("*") if path.is_file()]
    for name in sorted(names, key=lambda name: hashlib.sha256((place.name + name).encode()).digest()):
        if name.startswith(("jobs/", "readings/", "issued/")) and Path(name).stem.split("-")[0] not in JOBS:
            continue
        (shop / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(root / "content" / name, shop / name)
    return shop


def run(words: list[str], cwd: Path, env: dict[str, str]) -> str:
    command = [sys.executable, "-m", "loomleaf", *words]
    done = subprocess.run(command, cwd=cwd, env={**os.environ, **env}, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def everything(place: Path, root: Path, env: dict[str, str], processes: str) -> dict[str, str]:
    """Digests of all that the program writes or says of the shop, by name."""
    shop = shop_in(place, root)
    run(["print", "all", "--shop", str(shop), "--out", "built", "--processes", processes], place, env)
    run(["publish", "--shop", str(shop), "--out", "built"], place, env)
    run(["report", "--shop", str(shop), "--out", "built"], place, env)
    run(["check", "--schemas", "built/schemas"], place, env)
    out = place / "built"
    digests = {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.relative_to(out).parts[0] not in SKIPPED
    }
    said = {f"plan {job}": run(["plan", job, "--json", "--shop", str(shop)], place, env) for job in JOBS}
    said |= {f"plan {job} in words": run(["plan", job, "--shop", str(shop)], place, env) for job in JOBS}
    said["report"] = run(["report", "--json", "--shop", str(shop)], place, env)
    said["compare"] = run(["compare", *[str(shop / "jobs/2031.yaml")] * 2, "--json", "--shop", str(shop)], place, env).replace(
        str(shop), "SHOP"
    )
    said["check"] = run(["check", "--json", "--shop", str(shop), "--processes", processes], place, env)
    said["reckon"] = run(["reckon", "--json", "drop", "--size", "0.75 mm2", "--length-m", "2.5", "--current-a", "4"], place, env)
    return {**digests, **{name: hashlib.sha256(text.encode()).hexdigest() for name, text in said.items()}}


def other_locale() -> str:
    """A locale other than C that this system has, C.UTF-8 at least."""
    listed = subprocess.run(["locale", "-a"], capture_output=True, text=True).stdout.split() if shutil.which("locale") else []
    return next((name for name in listed if re.match(r"(de|fr|tr|ar|fa)_", name)), "C.UTF-8")


@pytest.fixture(scope="module")
def two(root: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, str], dict[str, str]]:
    one = {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "PYTHONHASHSEED": "1", "PYTHONUTF8": "1"}
    other = {
        "TZ": "Pacific/Pago_Pago",
        "LC_ALL": other_locale(),
        "PYTHONHASHSEED": "4242",
        "COLUMNS": "40",
        "HOME": "/nonexistent",
        "USER": "somebody",
        "PYTHONUTF8": "1",
    }
    first = everything(tmp_path_factory.mktemp("a"), root, one, "1")
    second = everything(tmp_path_factory.mktemp("another-longer-name") / "deep er", root, other, "2")
    return first, second


def test_every_file_has_the_same_bytes(two: tuple[dict[str, str], dict[str, str]]) -> None:
    first, second = two
    assert sorted(first) == sorted(second)
    assert [name for name in first if first[name] != second[name]] == []


def test_all_kinds_of_files_were_compared(two: tuple[dict[str, str], dict[str, str]]) -> None:
    endings = {Path(name).suffix for name in two[0]}
    assert {".pdf", ".html", ".json", ".csv", ".css", ".js", ".sha256"} <= endings
    assert {"report/report.pdf", "report/to-order.csv", "handbook/index.html"} <= set(two[0])
    assert len(two[0]) > 100


def test_no_file_tells_where_or_when_it_was_made(root: Path, tmp_path: Path) -> None:
    """Neither the folder nor today's date is in the PDF's own data: its dates are the job's date of issue."""
    shop = shop_in(tmp_path / "place-that-shows", root)
    run(["print", "summary", "2031", "--shop", str(shop), "--out", str(tmp_path / "out")], tmp_path, {})
    data = (tmp_path / "out/job-2031/2031-summary.pdf").read_bytes()
    assert b"place-that-shows" not in data
    dates = re.findall(rb"\(D:(\d{8})", data)
    issued = re.search(r"^issued: (\S+)", (shop / "jobs/2031.yaml").read_text(), re.MULTILINE)
    assert issued is not None
    assert {date.decode() for date in dates} <= {issued[1].replace("-", "")}
