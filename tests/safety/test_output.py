"""Nothing lost: whatever happens to a printing command, the output that was there stays whole, and the next run tidies up."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomleaf.output.manifest import MANIFEST, digest, read_manifest
from loomleaf.output.write import RECORD, WORK

from .shops import alter, copied

KILLS = 50


def command(*words: str) -> list[str]:
    return [sys.executable, "-m", "loomleaf", *words]


def printing(shop: Path, out: Path, *more: str) -> list[str]:
    return command("print", "summary", "--shop", str(shop), "--out", str(out), *more)


def run(words: list[str], **options: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(words, capture_output=True, text=True, timeout=120, **options)  # type: ignore[call-overload,no-any-return]


def several(shop: Path, jobs: int) -> None:
    """More jobs like the first, so that more than one process has work."""
    text = (shop / "jobs/1.yaml").read_text()
    for number in range(2, jobs + 1):
        (shop / f"jobs/{number}.yaml").write_text(text.replace('job: "1"', f'job: "{number}"').replace("ONE", f"{number}"))


def whole_areas(out: Path) -> dict[str, dict[str, str]]:
    """Every area with its manifest; fails when a manifest is not true of what stands there."""
    areas = {}
    for area in sorted(out.glob("job-*")):
        recorded = read_manifest((area / MANIFEST).read_bytes())
        files = [path for path in area.rglob("*") if path.is_file() and path.name != MANIFEST]
        found = {path.relative_to(area).as_posix(): digest(path.read_bytes()) for path in files}
        assert recorded == found, area
        areas[area.name] = found
    return areas


def tidy(out: Path) -> bool:
    return {path.name for path in (out / WORK).iterdir()} <= {RECORD}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop of three jobs, and its first output."""
    place = tmp_path_factory.mktemp("made")
    several(copied(place / "shop"), 3)
    done = run(printing(place / "shop", place / "out"))
    assert done.returncode == 0, done.stderr
    return place


@pytest.fixture
def place(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path / "p")
    return tmp_path / "p"


def test_killed_at_any_moment_every_job_is_old_or_new(place: Path, tmp_path: Path) -> None:
    """The command with its two processes is killed fifty times, at moments spread over its whole life."""
    temporary = tmp_path / "tmp"
    temporary.mkdir()
    old = whole_areas(place / "out")
    alter(place / "shop/shop.yaml", "Pebble Corner Radio", "Pebble Lane Radio")
    shutil.copytree(place / "out", tmp_path / "new")
    assert run(printing(place / "shop", tmp_path / "new")).returncode == 0
    new = whole_areas(tmp_path / "new")
    assert all(old[area] != new[area] for area in old)
    words = printing(place / "shop", place / "out", "--afresh", "--processes", "2")[3:]
    helper = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("killed.py")), *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(temporary)},
    )
    assert helper.stdin and helper.stdout
    takes_s = float(helper.stdout.readline())
    shutil.rmtree(place / "out")
    shutil.copytree(tmp_path / "new", place / "out")
    moments = random.Random(7)
    killed = 0
    for count in range(KILLS):
        title = ("Pebble Corner Radio", "Pebble Lane Radio")
        alter(place / "shop/shop.yaml", title[(count + 1) % 2], title[count % 2])
        print(moments.uniform(0.05, 0.95) * takes_s, file=helper.stdin, flush=True)
        killed += helper.stdout.readline() == "killed\n"
        now = whole_areas(place / "out")
        assert set(now) == set(old)
        assert all(now[area] in (old[area], new[area]) for area in now)
    helper.stdin.close()
    assert helper.wait(30) == 0
    helper.stdout.close()
    assert killed >= KILLS // 2
    assert_gone(place)
    done = run(printing(place / "shop", place / "out"), env={**os.environ, "TMPDIR": str(temporary)})
    assert done.returncode == 0, done.stderr
    assert whole_areas(place / "out") == new
    assert tidy(place / "out")
    assert list(temporary.iterdir()) == []


def assert_gone(place: Path) -> None:
    """No process that works on the place is left."""
    until = time.monotonic() + 10
    while left := [pid for pid in os.listdir("/proc") if pid.isdigit() and str(place) in command_line(pid)]:
        assert time.monotonic() < until, left
        time.sleep(0.1)


def command_line(pid: str) -> str:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
    except OSError:
        return ""


def test_stopped_from_the_keyboard(place: Path) -> None:
    several(place / "shop", 12)
    words = printing(place / "shop", place / "out", "--processes", "2")
    running = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)
    until = time.monotonic() + 60
    while len(child_pids(running.pid)) < 2:
        assert time.monotonic() < until and running.poll() is None
        time.sleep(0.02)
    time.sleep(0.3)
    os.killpg(running.pid, signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert (running.returncode, out, err) == (1, "", "loomleaf: stopped\n")
    whole_areas(place / "out")
    assert run(printing(place / "shop", place / "out")).returncode == 0
    assert len(whole_areas(place / "out")) == 12 and tidy(place / "out")


def test_a_process_that_is_killed_is_told(place: Path) -> None:
    """One of the two is killed, as the system does when memory runs out."""
    several(place / "shop", 12)
    words = printing(place / "shop", place / "out", "--processes", "2")
    running = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    until = time.monotonic() + 60
    while len(children := child_pids(running.pid)) < 2:
        assert time.monotonic() < until and running.poll() is None
        time.sleep(0.02)
    os.kill(children[0], signal.SIGKILL)
    _, err = running.communicate(timeout=60)
    assert running.returncode == 1
    assert "error[worker-lost]" in err and "Traceback" not in err
    whole_areas(place / "out")
    assert run(printing(place / "shop", place / "out")).returncode == 0
    assert len(whole_areas(place / "out")) == 12 and tidy(place / "out")


def child_pids(pid: int) -> list[int]:
    try:
        return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except OSError:
        return []


def test_two_prints_at_once_both_end_well(place: Path) -> None:
    alter(place / "shop/shop.yaml", "Pebble Corner Radio", "Pebble Lane Radio")
    words = printing(place / "shop", place / "out", "--afresh")
    both = [subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    results = [one.communicate(timeout=120) for one in both]
    assert [one.returncode for one in both] == [0, 0], results
    assert results[0][0] == results[1][0]
    assert len(whole_areas(place / "out")) == 3 and tidy(place / "out")


# Disks that cannot be written


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 4 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    if subprocess.run([mount, "-t", "tmpfs", "-o", "size=4m", "tmpfs", folder], capture_output=True).returncode:
        pytest.skip("this system lets no small disk be mounted")
    yield folder
    subprocess.run(["umount", folder], check=True)


def test_a_full_disk_keeps_what_was_there(small_disk: Path, place: Path) -> None:
    shop, out = place / "shop", small_disk / "out"
    first = run(printing(shop, out, "--processes", "1", "1"))
    assert first.returncode == 0, first.stderr
    before = whole_areas(out)
    alter(shop / "shop.yaml", "Pebble Corner Radio", "Pebble Lane Radio")
    free = shutil.disk_usage(small_disk).free
    (small_disk / "filler").write_bytes(b"x" * max(0, free - 20_000))
    done = run(printing(shop, out, "--processes", "1", "1"))
    assert done.returncode == 1 and done.stdout == ""
    lines = [line for line in done.stderr.splitlines() if "error[" in line]
    assert len(lines) == 1, done.stderr
    assert "no space left on device" in lines[0]
    assert "Traceback" not in done.stderr
    assert whole_areas(out) == before
    (small_disk / "filler").unlink()
    assert run(printing(shop, out, "--processes", "1", "1")).returncode == 0
    assert whole_areas(out) != before and tidy(out)


@pytest.fixture
def read_only(tmp_path: Path, place: Path) -> Iterator[Path]:
    """The output folder on a file system that lets nothing be written."""
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        pytest.skip("only root may mount a folder read-only")
    folder = tmp_path / "ro"
    folder.mkdir()
    if subprocess.run([mount, "--bind", place / "out", folder], capture_output=True).returncode:
        pytest.skip("this system lets no folder be mounted a second time")
    subprocess.run([mount, "-o", "remount,ro,bind", folder], check=True)
    yield folder
    subprocess.run(["umount", folder], check=True)


def test_a_read_only_folder_is_one_clear_line(read_only: Path, place: Path) -> None:
    before = whole_areas(read_only)
    alter(place / "shop/shop.yaml", "Pebble Corner Radio", "Pebble Lane Radio")
    done = run(printing(place / "shop", read_only))
    assert done.returncode == 1 and done.stdout == ""
    lines = [line for line in done.stderr.splitlines() if "error[" in line]
    assert len(lines) == 1 and "error[cannot-write]" in lines[0]
    assert "choose a folder you may write to with --out" in done.stderr
    assert whole_areas(read_only) == before


def test_a_file_where_the_folder_should_be(place: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    done = run(printing(place / "shop", tmp_path / "out"))
    assert done.returncode == 1 and "error[cannot-write]" in done.stderr and "Traceback" not in done.stderr
    assert (tmp_path / "out").read_text() == "mine"


def test_a_link_in_place_of_a_jobs_folder_is_not_followed(place: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.rmtree(place / "out/job-1")
    (place / "out/job-1").symlink_to(elsewhere)
    done = run(printing(place / "shop", place / "out"))
    assert done.returncode == 1 and "error[output-link]" in done.stderr
    assert list(elsewhere.iterdir()) == []
