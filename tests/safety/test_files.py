"""Files that somebody else has put into a shop's folder: each attack, and what exactly comes of it."""

from __future__ import annotations

import os
import resource
import sys
import time
from pathlib import Path

import pytest

from loomleaf.cli import main
from loomleaf.source.nodes import MAX_BYTES

from .shops import alter, copied, errors, files_below, read


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return copied(tmp_path / "shop")


BOMB = "a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join('*' + before for _ in range(10))}]\n"
    for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)
KEYS_BOMB = "a: &a {x: 1, y: 2}\n" + "".join(
    f"{name}: &{name} {{p: *{before}, q: *{before}, r: *{before}, s: *{before}}}\n"
    for before, name in zip("abcdefghijklmno", "bcdefghijklmnop", strict=True)
)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (BOMB.encode(), "too-many-values"),  # a thousand million values out of a few hundred bytes
        (KEYS_BOMB.encode(), "too-many-values"),
        (b"a: &a [*a]\n", "unknown-alias"),  # an alias inside what it names
        (b"[" * 100_000, "too-deep"),
        (b"a: " + b"{b: " * 50_000, "too-deep"),
        (("".join("  " * n + "a:\n" for n in range(500))).encode(), "too-deep"),
        (b"- " * 50_000, "too-deep"),
        (b"? " * 50_000, "too-deep"),
        (b"!!python/object/apply:os.system ['touch owned']\n", "wrong-shape"),
        (b"job: !!python/name:os.system x\n", "missing-key"),
        (b"job: \x00\n", "control-character"),
        (b"\x00" * 1000, "control-character"),
        ("job: 1\u202e7\n".encode(), "control-character"),
        ("job: a\u2066b\n".encode(), "control-character"),
        (b"job: \x1b[31m\n", "control-character"),
        (b"\xff\xfe" + "job: 1\n".encode("utf-16-le"), "bad-encoding"),
        (b"job: \xed\xa0\x80\n", "bad-encoding"),  # half of a pair
        (b"%YAML 9.9\n---\na: 1\n", "bad-yaml"),
        (b"\t" * 10_000 + b"a: 1\n", "tab-indent"),
        (b"a: |\n  " + b"x" * (MAX_BYTES - 10), "missing-key"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_hostile_file_is_a_problem(shop: Path, data: bytes, code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shop)
    (shop / "jobs/9.yaml").write_bytes(data)
    start = time.process_time()
    found = [c for c, file in errors(shop) if file == "jobs/9.yaml"]
    assert code in found
    assert time.process_time() - start < 20  # it ends; how fast is measured elsewhere
    assert not (shop / "owned").exists()


def test_a_huge_file_is_not_read(shop: Path) -> None:
    with open(shop / "jobs/9.yaml", "wb") as handle:
        handle.truncate(100_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert errors(shop) == [("file-too-large", "jobs/9.yaml")]
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 60_000  # KiB: less than the file has


@pytest.mark.parametrize("target", ["/etc/passwd", "../../secret.yaml", "/dev/zero", "/proc/self/environ", "."])
def test_a_link_out_of_the_shop_is_not_followed(shop: Path, tmp_path: Path, target: str) -> None:
    (tmp_path / "secret.yaml").write_text("job: secret\n")
    (shop / "jobs/9.yaml").symlink_to(target)
    code = "cannot-read" if target == "." else "link-outside"
    loaded, _ = read(shop)
    assert errors(shop) == [(code, "jobs/9.yaml")]
    assert "secret" not in "".join(document.text for document in loaded.tree.documents)


@pytest.mark.parametrize("name", ["jobs", "leads", "handbook", "reference"])
def test_a_folder_that_leads_out_is_not_followed(shop: Path, tmp_path: Path, name: str) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "secret.yaml").write_text("job: secret\n")
    (outside / "secret.md").write_text("secret\n")
    if (shop / name).exists():
        (shop / name).rename(shop / "moved")
    (shop / name).symlink_to(outside)
    loaded, problems = read(shop)
    ending = "md" if name == "handbook" else "yaml"
    assert ("link-outside", f"{name}/secret.{ending}") in [(p.code, p.location.file) for p in problems]
    assert all("secret" not in chapter.text for chapter in loaded.tree.chapters)
    assert "secret" not in "".join(document.text for document in loaded.tree.documents)


def test_links_in_a_ring_end(shop: Path) -> None:
    (shop / "jobs/8.yaml").symlink_to("9.yaml")
    (shop / "jobs/9.yaml").symlink_to("8.yaml")
    assert errors(shop) == [("cannot-read", "jobs/8.yaml"), ("cannot-read", "jobs/9.yaml")]


def test_a_pipe_is_not_waited_for(shop: Path) -> None:
    os.mkfifo(shop / "jobs/9.yaml")
    assert errors(shop) == [("cannot-read", "jobs/9.yaml")]


@pytest.mark.parametrize(
    ("name", "shown"),
    [(b"jobs/9\n9.yaml", "jobs/9?9.yaml"), (b"jobs/\x1b[2J.yaml", "jobs/?[2J.yaml"), (b"jobs/\xff.yaml", "jobs/?.yaml")],
)
def test_a_name_with_hidden_characters_is_not_read(shop: Path, name: bytes, shown: str) -> None:
    with open(os.path.join(os.fsencode(shop), name), "w") as handle:
        handle.write("job: x\n")
    assert errors(shop) == [("bad-file-name", shown)]


@pytest.mark.parametrize("number", ["../../../x", "/etc/x", "..", "a/b", "x\\y", "con.", "a:b", "x" * 300, "-rf", " ", "*"])
def test_a_job_number_never_leads_anywhere(
    shop: Path, tmp_path: Path, number: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever a job is called, nothing is written outside its own folder of the output."""
    alter(shop / "jobs/1.yaml", 'job: "1"', f'job: "{number}"'.replace("\\", "\\\\"))
    before = set(files_below(tmp_path))
    code = main(["print", "summary", "--shop", str(shop), "--out", str(tmp_path / "out"), "--processes", "1"])
    written = set(files_below(tmp_path)) - before
    assert code == 1
    assert written - {"out/.loomleaf/record.json"} == set()
    assert "error[" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("vehicles/corvane-plover.yaml", "vehicle: corvane-plover", "vehicle: ../../x", "bad-id"),
        ("leads/dash.yaml", "lead: dash", "lead: ../dash", "bad-id"),
        ("leads/dash.yaml", "lead: dash", "lead: __class__", "bad-id"),
        ("leads/dash.yaml", "lead: dash", "lead: A", "bad-id"),
        ("leads/dash.yaml", "lead: dash", f"lead: {'x' * 65}", "bad-id"),
        ("jobs/1.yaml", "vehicle: corvane-plover", "vehicle: ../vehicles/corvane-plover", "bad-id"),
    ],
)
def test_an_id_is_a_plain_word(shop: Path, file: str, old: str, new: str, code: str) -> None:
    alter(shop / file, old, new)
    assert (code, file) in errors(shop)


def test_a_file_name_decides_nothing(shop: Path) -> None:
    (shop / "jobs/1.yaml").rename(shop / "jobs/....yaml")
    assert errors(shop) == []  # a name that begins with a point is hidden and not read
    (shop / "jobs/....yaml").rename(shop / "jobs/any name; rm -rf %2e%2e.yaml")
    loaded, _ = read(shop)
    assert errors(shop) == [] and list(loaded.library.jobs) == ["1"]


@pytest.mark.skipif(not sys.platform.startswith("linux") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_nobody_may_read_is_told(shop: Path) -> None:
    (shop / "jobs/9.yaml").write_text("job: x\n")
    (shop / "jobs/9.yaml").chmod(0)
    assert errors(shop) == [("cannot-read", "jobs/9.yaml")]
