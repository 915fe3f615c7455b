"""Commands used wrongly or on the wrong thing: one clear line, the right exit code, nothing written, and never a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.cli import main
from tests.safety.shops import copied

IN_THE_WAY = "error[cannot-write]: nothing was written: file exists"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small shop, from a folder that holds nothing else."""
    monkeypatch.chdir(tmp_path)
    return copied(tmp_path / "shop")


def said(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    code = main(words)
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("plan", "9"), "there is no job '9' (one of: 1)"),
        (("plan", "\x1b[2J1"), "there is no job '?[2J1'"),
        (("print", "bench", "1", "2"), "there is no job '2' (one of: 1)"),
        (("check", "9\n9"), "there is no job '9?9' (one of: 1)"),
        (("check", "--explain", "unknown-tial"), "there is no problem code 'unknown-tial' (did you mean 'unknown-tail'?)"),
        (("collect",), "name the sheets to read, or  --blank JOB  for an empty readings file"),
        (("collect", "none.pdf"), "cannot read none.pdf: No such file or directory"),
        (("collect", "shop"), "cannot read shop: Is a directory"),
        (("collect", "a\nb.pdf"), "cannot read a?b.pdf: No such file or directory"),
        (("compare", "shop/jobs/1.yaml", "none.yaml"), "cannot read none.yaml: No such file or directory"),
        (("begin", "shop", ""), "name the new folder, for example  loomleaf begin shop my-shop"),
        (("begin", "shop", "."), "name the new folder, for example  loomleaf begin shop my-shop"),
        (("begin", "shop", "/"), "name the new folder, for example  loomleaf begin shop my-shop"),
        (("begin", "shop", "new", "--job", "7"), "--job goes with  begin job"),
        (("begin", "job", "x", "--shop", "shop", "--job", "1"), "the number 1 is in use; without --job the"),
        (("report", "everything", "-x"), "not understood: everything -x"),
    ],
    ids=lambda value: ascii(" ".join(value))[:40] if isinstance(value, tuple) else "",
)
def test_used_wrongly(shop: Path, words: tuple[str, ...], line: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = sorted(shop.parent.rglob("*"))
    where = () if words[0] == "begin" else ("--shop", "shop")
    code, out, err = said((*words, *where), capsys)
    assert (code, out) == (2, "")
    assert err.startswith(f"loomleaf: {line}") and err.count("\n") == 1
    assert sorted(shop.parent.rglob("*")) == before


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("print", "sheets"), "argument SHEET: invalid choice: 'sheets'"),
        (("print", "bench", "--out", ""), "argument --out: the name of a folder is wanted"),
        (("check", "--shop", " "), "argument --shop: the name of a folder is wanted"),
        (("check", "--schemas", ""), "argument --schemas: the name of a folder is wanted"),
        (("check", "--processes", "0"), "argument --processes: a whole number from 1 to 64 is wanted"),
        (("check", "--processes", "²"), "argument --processes: a whole number from 1 to 64 is wanted"),
        (("print", "all", "--paper", "A5"), "argument --paper: invalid choice: 'A5'"),
        (("preview", "--port", "65536"), "argument --port: a port is a number from 0 to 65535"),
        (("begin", "car", "x"), "argument what: invalid choice: 'car'"),
        (("begin", "job", "x", "--job", "../7"), "argument --job: '../7' cannot be a job number"),
        (("plan",), "the following arguments are required: JOB"),
        (("frobnicate",), "argument COMMAND: invalid choice: 'frobnicate'"),
        (("reckon", "drop", "--size", "1 mm2"), "the following arguments are required: --length-m, --current-a"),
        (("reckon", "tape", "--bundle-mm", "wide"), "argument --bundle-mm: 'wide' is not a number"),
    ],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, tuple) else "",
)
def test_an_option_that_cannot_be(
    shop: Path, words: tuple[str, ...], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(words, capsys)
    assert (code, out) == (2, "")
    assert err.startswith("usage: loomleaf") and line in err.splitlines()[-1]


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        (("check", "--shop", "none"), ["none: error[no-shop]: there is no shop folder 'none'"]),
        (("check", "--shop", "shop/shop.yaml"), ["shop.yaml: error[no-shop]: there is no shop folder 'shop.yaml'"]),
        (("check", "--shop", "shop/jobs"), ["shop.yaml: error[no-shop-file]: the shop folder has no shop.yaml"]),
        (("plan", "1", "--shop", "none"), []),
        (("publish", "--shop", "none"), ["none: error[no-shop]: there is no shop folder 'none'"]),
        (("report", "--shop", "shop", "--out", "/dev/null"), [f"/dev/null/report: {IN_THE_WAY}"]),
        (("print", "summary", "--shop", "shop", "--out", "/dev/null"), [f"/dev/null: {IN_THE_WAY}"]),
        (
            ("check", "--schemas", "/dev/null"),
            ["/dev/null: error[output-not-ours]: this was not written by loomleaf, so it is left as it is"],
        ),
        (("collect", "/dev/null", "--shop", "shop"), ["/dev/null: error[sheet-unreadable]: this is not a PDF"]),
        (("compare", "empty.yaml", "shop/jobs/1.yaml", "--shop", "shop"), ["empty.yaml: error[empty-file]: the file is empty"]),
        (("begin", "job", "../x", "--shop", "shop"), ["error[unknown-vehicle]: the shop knows no vehicle '../x'"]),
        (("begin", "shop", "shop"), ["shop: error[folder-not-empty]: it is there already and not empty"]),
        (("begin", "shop", "shop/shop.yaml/new"), [f"shop/shop.yaml/new: {IN_THE_WAY}"]),
        (
            ("begin", "shop", "a\nb"),
            ["error[bad-output-name]: 'a?b' cannot be the name of a file to write: it holds the character U+000A"],
        ),
    ],
    ids=lambda value: ascii(" ".join(value))[:40] if isinstance(value, tuple) else "",
)  # fmt: skip
def test_used_on_the_wrong_thing(
    shop: Path, words: tuple[str, ...], lines: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    Path("junk.pdf").write_bytes(b"\x00\xff" * 500)
    Path("empty.yaml").write_bytes(b"")
    before = sorted(shop.parent.rglob("*"))
    code, out, err = said(words, capsys)
    if words[0] != "report":
        assert out == ""
    if not lines:  # there is no such job either, and that is what is told
        assert code == 2 and err.count("\n") == 1
    else:
        assert code == 1
        assert [line for line in err.splitlines() if "error[" in line] == lines
    assert sorted(shop.parent.rglob("*")) == before
