"""Output is written whole or not at all: after a kill, on a full disk, with two writers, through links."""

from __future__ import annotations

import errno
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from loomleaf.output import write, write_file, write_new_folder, write_tree
from loomleaf.output.manifest import MANIFEST, read_manifest
from loomleaf.output.write import SET_ASIDE, WORK
from loomleaf.problems import Severity

from .writer import tree

WRITER = Path(__file__).with_name("writer.py")


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, the manifest left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MANIFEST
    }


def assert_manifest_true(folder: Path) -> None:
    recorded = read_manifest((folder / MANIFEST).read_bytes())
    assert recorded == {name: hashlib.sha256(data).hexdigest() for name, data in contents(folder).items()}


def assert_tidy(out: Path) -> None:
    """Nothing unfinished is left."""
    assert list((out / WORK).iterdir()) == []


# Plain writing


def test_a_tree_is_written_with_its_manifest(tmp_path: Path) -> None:
    out = tmp_path / "build"
    assert write_tree(out, {"index.html": "Ω", "css/book.css": b"p{}"}, area="handbook") == ()
    assert contents(out / "handbook") == {"index.html": "Ω".encode(), "css/book.css": b"p{}"}
    assert_manifest_true(out / "handbook")
    assert_tidy(out)


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="sha256sum is not installed")
def test_the_manifest_is_read_by_sha256sum(tmp_path: Path) -> None:
    """GNU coreutils' own check is the judge of the manifest's format."""
    write_tree(tmp_path, {"a b.txt": b"1", "größe/ü.txt": b"2"}, area="x")
    done = subprocess.run(["sha256sum", "-c", "--strict", MANIFEST], cwd=tmp_path / "x", capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(": OK") == 2


def test_a_second_writing_replaces_the_first_whole(tmp_path: Path) -> None:
    write_tree(tmp_path, {"old.pdf": b"1", "both.pdf": b"1"}, area="2041")
    assert write_tree(tmp_path, {"new.pdf": b"2", "both.pdf": b"2"}, area="2041") == ()
    assert contents(tmp_path / "2041") == {"new.pdf": b"2", "both.pdf": b"2"}
    assert_tidy(tmp_path)


def test_the_same_bytes_are_not_written_again(tmp_path: Path) -> None:
    out = tmp_path / "build"
    write_tree(out, {"same.html": "Ω", "other.html": "old"}, area="handbook")
    for name in ("same.html", "other.html"):
        os.utime(out / "handbook" / name, (1, 1))
    assert write_tree(out, {"same.html": "Ω", "other.html": "new"}, area="handbook") == ()
    dates = {name: (out / "handbook" / name).stat().st_mtime for name in ("same.html", "other.html")}
    assert dates["same.html"] == 1 < dates["other.html"]
    assert contents(out / "handbook") == {"same.html": "Ω".encode(), "other.html": b"new"}
    assert (out / "handbook/same.html").stat().st_nlink == 1  # the old folder is gone
    assert_manifest_true(out / "handbook")
    assert_tidy(out)


def test_others_are_kept_when_asked(tmp_path: Path) -> None:
    write_tree(tmp_path, {"bench.pdf": b"1", "labels.pdf": b"1"}, area="2041")
    assert write_tree(tmp_path, {"bench.pdf": b"2"}, area="2041", keep_others=True) == ()
    assert contents(tmp_path / "2041") == {"bench.pdf": b"2", "labels.pdf": b"1"}
    assert_manifest_true(tmp_path / "2041")


def test_areas_do_not_touch_each_other(tmp_path: Path) -> None:
    write_tree(tmp_path, {"a": b"1"}, area="jobs/2041")
    write_tree(tmp_path, {"b": b"2"}, area="jobs/2042")
    assert contents(tmp_path / "jobs") == {"2041/a": b"1", "2042/b": b"2"}


# What a person put there


def test_a_filled_in_sheet_is_set_aside(tmp_path: Path) -> None:
    write_tree(tmp_path, {"bench.pdf": b"blank", "other.pdf": b"1"}, area="2041")
    (tmp_path / "2041/bench.pdf").write_bytes(b"filled in")
    (tmp_path / "2041/note.txt").write_bytes(b"mine")
    problems = write_tree(tmp_path, {"bench.pdf": b"blank 2", "other.pdf": b"1"}, area="2041")
    assert [(p.code, p.severity) for p in problems] == [("output-set-aside", Severity.WARNING)] * 2
    assert contents(tmp_path / "2041") == {"bench.pdf": b"blank 2", "other.pdf": b"1"}
    assert sorted(contents(tmp_path / SET_ASIDE).values()) == [b"filled in", b"mine"]
    assert write_tree(tmp_path, {"bench.pdf": b"blank 3"}, area="2041") == ()


def test_a_changed_file_that_is_kept_is_still_known_as_changed(tmp_path: Path) -> None:
    write_tree(tmp_path, {"bench.pdf": b"blank", "other.pdf": b"1"}, area="2041")
    (tmp_path / "2041/bench.pdf").write_bytes(b"filled in")
    assert write_tree(tmp_path, {"other.pdf": b"2"}, area="2041", keep_others=True) == ()
    assert contents(tmp_path / "2041") == {"bench.pdf": b"filled in", "other.pdf": b"2"}
    problems = write_tree(tmp_path, {"bench.pdf": b"blank 2"}, area="2041")
    assert [p.code for p in problems] == ["output-set-aside"]
    assert list(contents(tmp_path / SET_ASIDE).values()) == [b"filled in"]


def test_two_versions_set_aside_do_not_replace_each_other(tmp_path: Path) -> None:
    for filled in (b"first", b"second"):
        write_tree(tmp_path, {"bench.pdf": b"blank"}, area="2041")
        (tmp_path / "2041/bench.pdf").write_bytes(filled)
    write_tree(tmp_path, {"bench.pdf": b"blank"}, area="2041")
    assert sorted(contents(tmp_path / SET_ASIDE).values()) == [b"first", b"second"]


def test_a_folder_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "handbook").mkdir()
    (tmp_path / "handbook/thesis.txt").write_text("years of work")
    (problem,) = write_tree(tmp_path, {"index.html": b""}, area="handbook")
    assert problem.code == "output-not-ours"
    assert contents(tmp_path / "handbook") == {"thesis.txt": b"years of work"}


def test_a_damaged_manifest_counts_as_somebody_elses(tmp_path: Path) -> None:
    write_tree(tmp_path, {"a": b"1"}, area="x")
    (tmp_path / "x" / MANIFEST).write_text("not a manifest")
    assert [p.code for p in write_tree(tmp_path, {"a": b"2"}, area="x")] == ["output-not-ours"]
    assert (tmp_path / "x/a").read_bytes() == b"1"


# Names and links


@pytest.mark.parametrize("area", ["", "..", "../x", "/tmp/x", WORK, f"{WORK}/new", SET_ASIDE, "a//b"])
def test_an_area_outside_or_reserved_is_refused(tmp_path: Path, area: str) -> None:
    out = tmp_path / "build"
    assert [p.code for p in write_tree(out, {"a": b""}, area=area)] == ["bad-output-name"]
    assert not out.exists()


def test_a_bad_name_stops_the_whole_tree(tmp_path: Path) -> None:
    write_tree(tmp_path, {"a": b"1"}, area="x")
    assert [p.code for p in write_tree(tmp_path, {"a": b"2", "../b": b"2"}, area="x")] == ["bad-output-name"]
    assert contents(tmp_path / "x") == {"a": b"1"}
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("link", ["x", "x/y", WORK, SET_ASIDE])
def test_a_link_in_the_output_folder_is_not_followed(tmp_path: Path, link: str) -> None:
    out, elsewhere = tmp_path / "build", tmp_path / "elsewhere"
    elsewhere.mkdir()
    (out / link).parent.mkdir(parents=True)
    (out / link).symlink_to(elsewhere, target_is_directory=True)
    assert [p.code for p in write_tree(out, {"a": b"1"}, area="x/y")] == ["output-link"]
    assert list(elsewhere.iterdir()) == []


def test_a_link_inside_an_area_is_set_aside_as_a_link(tmp_path: Path) -> None:
    outside = tmp_path / "outside.txt"
    outside.write_text("keep me")
    out = tmp_path / "build"
    write_tree(out, {"a/one": b"1"}, area="x")
    (out / "x/a/link").symlink_to(outside)
    assert [p.code for p in write_tree(out, {"a/link": b"2"}, area="x")] == ["output-set-aside"]
    assert outside.read_text() == "keep me"
    assert (out / "x/a/link").read_bytes() == b"2"


# Bad disks


class Fails:
    """Stands in for one function of ``os`` and fails at its nth call."""

    def __init__(self, name: str, at: int, number: int) -> None:
        self.real, self.at, self.number, self.calls = getattr(os, name), at, number, 0

    def __call__(self, *args: object, **kwargs: object) -> object:
        self.calls += 1
        if self.calls == self.at:
            raise OSError(self.number, os.strerror(self.number))
        return self.real(*args, **kwargs)


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EIO])
@pytest.mark.parametrize("at", [1, 2, 3, 4])
def test_a_failing_disk_leaves_the_old_output(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, number: int
) -> None:
    """Two files, a manifest and a folder: four syncs before the swap, each of which may be the one that fails."""
    write_tree(tmp_path, {"a": b"1", "b": b"1"}, area="x")
    fails = Fails("fsync", at, number)
    monkeypatch.setattr(os, "fsync", fails)
    (problem,) = write_tree(tmp_path, {"a": b"2", "b": b"2"}, area="x")
    monkeypatch.undo()
    assert fails.calls == at
    assert problem.code == "cannot-write" and "nothing was written" in problem.message
    assert contents(tmp_path / "x") == {"a": b"1", "b": b"1"}
    assert_tidy(tmp_path)
    assert write_tree(tmp_path, {"a": b"3"}, area="x") == ()


@pytest.mark.parametrize("at", [1, 2])
def test_a_failing_rename_leaves_the_old_output(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int) -> None:
    """Where two folders cannot be exchanged in one call, two renames do it; either may fail."""
    monkeypatch.setattr(write, "_exchange", lambda one, other: False)
    write_tree(tmp_path, {"a": b"1"}, area="x")
    monkeypatch.setattr(os, "rename", Fails("rename", at, errno.EACCES))
    assert [p.code for p in write_tree(tmp_path, {"a": b"2"}, area="x")] == ["cannot-write"]
    assert contents(tmp_path / "x") == {"a": b"1"}
    assert write_tree(tmp_path, {"a": b"3"}, area="x") == ()
    assert contents(tmp_path / "x") == {"a": b"3"}
    assert_tidy(tmp_path)


def test_death_between_two_renames_is_mended_by_the_next_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Died(BaseException):
        pass

    def die(one: Path, other: Path) -> None:
        if Path(one).name == "new":
            raise Died
        os.replace(one, other)

    monkeypatch.setattr(write, "_exchange", lambda one, other: False)
    write_tree(tmp_path, {"a": b"1"}, area="x/y")
    monkeypatch.setattr(os, "rename", die)
    with pytest.raises(Died):
        write_tree(tmp_path, {"a": b"2"}, area="x/y")
    monkeypatch.undo()
    assert not (tmp_path / "x/y").exists()
    assert write_tree(tmp_path, {"b": b"3"}, area="other") == ()
    assert contents(tmp_path / "x/y") == {"a": b"1"}
    assert_tidy(tmp_path)


def test_a_read_only_folder_is_one_plain_problem(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may write everywhere; the failing-disk tests raise the same error by hand")
    tmp_path.chmod(0o555)
    try:
        (problem,) = write_tree(tmp_path / "build", {"a": b"1"}, area="x")
    finally:
        tmp_path.chmod(0o755)
    assert problem.code == "cannot-write" and "--out" in problem.hint


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full here")
def test_the_words_for_a_full_disk() -> None:
    """/dev/full gives the system's own error for a full disk."""
    with pytest.raises(OSError) as caught, open("/dev/full", "wb", buffering=0) as handle:
        handle.write(b"1")
    problem = write.cannot_write("build", caught.value)
    assert problem.line() == (
        "build: error[cannot-write]: nothing was written: no space left on device (free some space, then run again)"
    )


def test_a_file_where_the_output_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "build").write_text("a file")
    (problem,) = write_tree(tmp_path / "build", {"a": b"1"}, area="x")
    assert problem.code == "cannot-write"
    assert (tmp_path / "build").read_text() == "a file"


# Kills and company


def start(out: Path, *words: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.output.writer", str(out), *map(str, words)]
    root = Path(__file__).resolve().parents[2]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(root), str(root / "generator")])}
    running = subprocess.Popen(command, cwd=root, env=env, stdout=subprocess.PIPE, text=True)
    assert running.stdout is not None and running.stdout.readline() == "ready\n"
    return running


def test_a_kill_at_any_moment_leaves_one_whole_tree(tmp_path: Path) -> None:
    """Twenty kills at times drawn with a fixed seed; a tree of 40 files stays whole, and its manifest true."""
    moments = random.Random(2041)
    whole = [tree(mark, 40, 5000) for mark in "abc"]
    assert write_tree(tmp_path, whole[0], area="x/y") == ()
    unfinished = 0
    for _ in range(20):
        running = start(tmp_path, "x/y", 40, 5000, 10_000, "a", "b", "c")
        time.sleep(moments.uniform(0.0, 0.05))
        running.send_signal(signal.SIGKILL)
        assert running.wait() == -signal.SIGKILL
        assert running.stdout is not None
        running.stdout.close()
        unfinished += any((tmp_path / WORK).iterdir())
        assert contents(tmp_path / "x/y") in whole
        assert_manifest_true(tmp_path / "x/y")
    assert unfinished, "no kill came while something was being written: the test proves nothing"
    assert write_tree(tmp_path, {"a": b"1"}, area="z") == ()
    assert_tidy(tmp_path)


def test_two_writers_at_once_take_turns(tmp_path: Path) -> None:
    both = [start(tmp_path, "x", 20, 1000, 15, mark) for mark in "ab"]
    for running in both:
        said, _ = running.communicate(timeout=60)
        assert (running.returncode, said) == (0, "")
    assert contents(tmp_path / "x") in [tree(mark, 20, 1000) for mark in "ab"]
    assert_manifest_true(tmp_path / "x")
    assert_tidy(tmp_path)


def test_a_writer_that_waits_too_long_says_so_in_one_line(tmp_path: Path) -> None:
    write_tree(tmp_path, {"a": b"1"}, area="x")
    with write._locked(tmp_path / WORK, 1, shown=""):
        (problem,) = write_tree(tmp_path, {"a": b"2"}, area="x", wait_s=0.1)
    assert problem.code == "output-busy" and "\n" not in problem.line()
    assert contents(tmp_path / "x") == {"a": b"1"}


def test_a_writer_that_waits_long_enough_writes(tmp_path: Path) -> None:
    (tmp_path / WORK).mkdir()
    done: list[object] = []
    waiting = threading.Thread(target=lambda: done.append(write_tree(tmp_path, {"a": b"2"}, area="x", wait_s=20)))
    with write._locked(tmp_path / WORK, 1, shown=""):
        waiting.start()
        time.sleep(0.2)
        assert not (tmp_path / "x").exists()
    waiting.join(20)
    assert done == [()]
    assert contents(tmp_path / "x") == {"a": b"2"}


# Single files and new folders


def test_a_single_file_is_replaced_in_one_move(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "deep/bench.pdf"
    assert write_file(path, b"1") == ()
    monkeypatch.setattr(os, "replace", Fails("replace", 1, errno.ENOSPC))
    assert [p.code for p in write_file(path, b"2")] == ["cannot-write"]
    monkeypatch.undo()
    assert [p.name for p in path.parent.iterdir()] == ["bench.pdf"]
    assert path.read_bytes() == b"1"
    assert write_file(path, "Ω") == ()
    assert path.read_text("utf-8") == "Ω"


def test_a_file_that_must_be_new_is_never_replaced(tmp_path: Path) -> None:
    path = tmp_path / "2042.yaml"
    assert write_file(path, b"1", replace=False) == ()
    assert [p.code for p in write_file(path, b"2", replace=False)] == ["file-exists"]
    assert path.read_bytes() == b"1"


def test_a_dead_run_s_temporary_does_not_stop_the_next(tmp_path: Path) -> None:
    (tmp_path / ".a.yaml.new").write_bytes(b"half")
    assert write_file(tmp_path / "a.yaml", b"whole") == ()
    assert [p.name for p in tmp_path.iterdir()] == ["a.yaml"]


def test_a_new_folder_comes_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", Fails("fsync", 2, errno.ENOSPC))
    assert [p.code for p in write_new_folder(tmp_path / "shop", {"a": b"1", "b/c": b"2"})] == ["cannot-write"]
    monkeypatch.undo()
    assert list(tmp_path.iterdir()) == []
    assert write_new_folder(tmp_path / "shop", {"a": b"1", "b/c": b"2"}) == ()
    assert contents(tmp_path / "shop") == {"a": b"1", "b/c": b"2"}


def test_a_folder_in_use_is_refused_and_an_empty_one_is_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "used").mkdir()
    (tmp_path / "used/mine").write_text("1")
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    (tmp_path / "file").write_text("1")
    assert write_new_folder(tmp_path / "empty", {"a": b"1"}) == ()
    for name in ("used", "link", "file", "empty"):
        assert [p.code for p in write_new_folder(tmp_path / name, {"a": b"2"})] == ["folder-not-empty"], name
    assert contents(tmp_path / "used") == {"mine": b"1"}
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    assert [p.code for p in write_new_folder(tmp_path / "here", {"a": b"2"})] == ["folder-not-empty"]
