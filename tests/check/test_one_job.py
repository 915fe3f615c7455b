"""``check JOB`` says everything that keeps this job from being worked out, with file and line, and nothing of other jobs."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.cli import main


def spoil(shop: Path, file: str, old: str, new: str) -> None:
    text = (shop / file).read_text("utf-8")
    assert old in text
    (shop / file).write_text(text.replace(old, new, 1), "utf-8")


def said_of(job: str, shop: Path, capsys: pytest.CaptureFixture[str]) -> str:
    main(["check", job, "--shop", str(shop), "--processes", "1"])
    return capsys.readouterr().err


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("leads/corvane-16.yaml", "  - {at: A.4", "\t- {at: A.4", "tab-indent"),
        ("leads/corvane-16.yaml", "size: 0.75 mm2", "size: 0.75 mm", "bad-size"),
        ("leads/corvane-16.yaml", "size: 0.75 mm2", 'size: "0,75 mm2"', "bad-size"),
        ("leads/corvane-16.yaml", "colour: yellow", "colour: yelow", "unknown-colour"),
        ("vehicles/corvane-heron-2016.yaml", "capacity_ah: ", "capacity_ah: x", "not-a-number"),
        ("stock.yaml", 'price: "0.14"', "price: cheap", "bad-money"),
        ("stock.yaml", "kind: connector", "kind: conector", "not-a-choice"),
        ("shop.yaml", "paper: A4", "paper: A5", "not-a-choice"),
    ],
)
def test_the_cause_is_told_with_its_line(
    demo_copy: Path, capsys: pytest.CaptureFixture[str], file: str, old: str, new: str, code: str
) -> None:
    line = (demo_copy / file).read_text("utf-8").split(old)[0].count("\n") + 1
    spoil(demo_copy, file, old, new)
    said = said_of("2041", demo_copy, capsys)
    assert any(text.startswith(f"{file}:{line}:") and f"error[{code}]" in text for text in said.splitlines()), said


def test_a_part_of_another_job_is_not_told(demo_copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(demo_copy, "leads/corvane-16.yaml", "colour: yellow", "colour: yelow")
    assert "corvane-16" not in said_of("2038", demo_copy, capsys)


def test_a_job_that_cannot_be_read_tells_of_its_parts_too(demo_copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(demo_copy, "leads/corvane-16.yaml", "colour: yellow", "colour: yelow")
    spoil(demo_copy, "jobs/2041.yaml", "request: ", "remarks: ")
    said = said_of("2041", demo_copy, capsys)
    assert "jobs/2041.yaml" in said and "leads/corvane-16.yaml" in said


def test_readings_of_the_job_that_cannot_be_read_are_told(demo_copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (demo_copy / "readings/2041-B-late.yaml").write_text('job: "2041"\nrevision: B\non: yesterday\n', "utf-8")
    assert "readings/2041-B-late.yaml:3" in said_of("2041", demo_copy, capsys)
    assert "2041-B-late" not in said_of("2038", demo_copy, capsys)


@pytest.mark.parametrize(
    ("folder", "name"), [("leads", "wheatear-d1"), ("vehicles", "telwick-dunlin-2001"), ("jobs", "2038")]
)
@pytest.mark.parametrize("again", ["aa", "zz"])
def test_a_name_in_two_files_is_told_and_nothing_is_printed(
    demo_copy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], folder: str, name: str, again: str
) -> None:
    """Whichever file comes first by name: which of the two is meant cannot be told."""
    text = (demo_copy / folder / f"{name}.yaml").read_text("utf-8")
    (demo_copy / folder / f"{again}.yaml").write_text(text, "utf-8")
    said = said_of("2038", demo_copy, capsys)
    assert "error[twice]" in said and f"{folder}/{again}.yaml" in said
    assert main(["print", "bench", "2038", "--shop", str(demo_copy), "--out", str(tmp_path / "out")]) == 1
    assert not list((tmp_path / "out").rglob("*.pdf"))
