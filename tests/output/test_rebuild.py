"""What has not changed is not made again, and what has changed is: judged by the files themselves."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from loomleaf import pipeline
from loomleaf.cli import main
from loomleaf.output import record
from loomleaf.output.write import RECORD, WORK
from loomleaf.plan.as_json import plan_json

JOBS = ("2038", "2049")
REAL_DIGEST = record.program_digest
UNCHANGED = "nothing has changed since; all of it stands as it was written\n"


class Said:
    """What a command did and said."""

    def __init__(self, code: int, out: str, err: str, rendered: tuple[str, ...]) -> None:
        self.code, self.out, self.err, self.rendered = code, out, err, rendered


@pytest.fixture(scope="module", autouse=True)
def same_program() -> Iterator[None]:
    """These tests change content; that the program counts too has a test of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(record, "program_digest", lambda: "1" * 64)
        yield


@pytest.fixture(scope="module")
def first(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small shop and its first build, made once."""
    place = tmp_path_factory.mktemp("first")
    shutil.copytree(root / "content", place / "shop")
    for path in (place / "shop/jobs").iterdir():
        if path.stem not in JOBS:
            path.unlink()
    shutil.rmtree(place / "shop/readings", ignore_errors=True)
    shutil.rmtree(place / "shop/issued", ignore_errors=True)
    assert main(["print", "summary", "--shop", str(place / "shop"), "--out", str(place / "build")]) == 0
    return place


@pytest.fixture
def place(first: Path, tmp_path: Path) -> Path:
    """A copy of it, times kept."""
    shutil.copytree(first, tmp_path / "p")
    return tmp_path / "p"


@pytest.fixture
def again(place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    """Print again; which jobs were rendered, and what was said."""
    rendered: list[str] = []
    real = pipeline.render_job

    def watched(loaded: pipeline.Loaded, number: str, *args: object, **options: object) -> pipeline.Printed:
        rendered.append(number)
        return real(loaded, number, *args, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline, "render_job", watched)

    def run(*words: str) -> Said:
        rendered.clear()
        where = ["--shop", str(place / "shop"), "--out", str(place / "build"), "--processes", "1"]
        code = main(["print", "summary", *where, *words])
        out, err = capsys.readouterr()
        return Said(code, out.replace(str(place), ""), err, tuple(rendered))

    return run


SHEETS = "/build/job-2038/2038-summary.pdf\n/build/job-2049/2049-summary.pdf\n"


def alter(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def test_nothing_changed_says_the_same_and_makes_nothing(again: Callable[..., Said]) -> None:
    once, twice = again("--processes", "1"), again("--processes", "1")
    assert once.out == twice.out == SHEETS
    assert twice.rendered == () and twice.err == once.err.removesuffix(UNCHANGED) + UNCHANGED
    assert "job 2049 is HELD" in twice.err


def test_one_job_changed_makes_its_sheets_alone(place: Path, again: Callable[..., Said]) -> None:
    before = (place / "build/job-2038/2038-summary.pdf").stat()
    alter(place / "shop/jobs/2049.yaml", "request: ", "request: Please. ")
    said = again()
    assert (said.rendered, said.out) == (("2049",), SHEETS)
    after = (place / "build/job-2038/2038-summary.pdf").stat()
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert again().rendered == ()


@pytest.mark.parametrize(
    ("file", "old", "new", "made"),
    [
        ("vehicles/telwick-dunlin-2001.yaml", "length_mm: 2600", "length_mm: 2650", ("2038",)),
        ("leads/osmere-16.yaml", "length_mm: 220", "length_mm: 230", ("2049",)),
        ("leads/wheatear-r2.yaml", "length_mm: 180", "length_mm: 190", ("2049",)),
        ("shop.yaml", "town: Saltmarsh Harbour", "town: Saltmarsh", JOBS),
        ("reference/cautions.yaml", "\n", "\n# read again\n", JOBS),
        ("vehicles/corvane-heron-2016.yaml", "length_mm: 2400", "length_mm: 2450", ()),
        ("handbook/01-how-a-swap-hangs-together.md", "\n", "\n\n", ()),
    ],
)
def test_a_change_makes_what_shows_it(
    place: Path, again: Callable[..., Said], file: str, old: str, new: str, made: tuple[str, ...]
) -> None:
    uses = {number: job_parts(place, number) for number in JOBS}
    if file.startswith("leads/"):  # the demo says which job has the lead
        made = tuple(number for number in JOBS if Path(file).stem in uses[number])
    alter(place / "shop" / file, old, new)
    assert again().rendered == made


def job_parts(place: Path, number: str) -> tuple[str, ...]:
    return pipeline.load_shop(place / "shop").library.jobs[number].value.parts


def test_a_changed_or_lost_sheet_is_made_again(place: Path, again: Callable[..., Said]) -> None:
    (place / "build/job-2038/2038-summary.pdf").write_bytes(b"filled in")
    said = again()
    assert said.rendered == ("2038",)
    assert "set aside" in said.err
    (place / "build/job-2049/2049-summary.pdf").unlink()
    assert again().rendered == ("2049",)


def test_afresh_makes_everything(again: Callable[..., Said]) -> None:
    assert again("--afresh").rendered == JOBS


def test_another_paper_is_another_sheet(again: Callable[..., Said]) -> None:
    assert again("--paper", "Letter").rendered == JOBS


@pytest.mark.parametrize(
    "damage",
    [
        "",
        "{",
        "[]",
        "null",
        '{"shape": 1}',
        "\0",
        "[" * 100_000,
        '{"shape": 1, "program": "other", "made": {}, "runs": {}}',
    ],
)
def test_a_damaged_record_costs_time_and_nothing_else(place: Path, again: Callable[..., Said], damage: str) -> None:
    path = place / "build" / WORK / RECORD
    path.write_text(damage)
    said = again()
    assert (said.code, said.rendered, said.out) == (0, JOBS, SHEETS)


def test_a_record_of_another_program_is_not_believed(place: Path, again: Callable[..., Said]) -> None:
    path = place / "build" / WORK / RECORD
    data = json.loads(path.read_text())
    data["program"] = "0" * 64
    path.write_text(json.dumps(data))
    assert record.read_record(place / "build").made == {}
    assert again().rendered == JOBS


def test_a_template_counts_as_program(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, root: Path) -> None:
    shutil.copytree(root / "templates", tmp_path / "templates")
    monkeypatch.undo()
    monkeypatch.setattr(record, "templates_folder", lambda: tmp_path / "templates")
    before = REAL_DIGEST()
    assert REAL_DIGEST() == before
    alter(tmp_path / "templates/css/sheet.css", "{", "{ ")
    assert REAL_DIGEST() != before


def test_a_record_that_is_a_link_is_not_believed(place: Path, again: Callable[..., Said], tmp_path: Path) -> None:
    path = place / "build" / WORK / RECORD
    path.rename(tmp_path / "elsewhere.json")
    path.symlink_to(tmp_path / "elsewhere.json")
    before = (tmp_path / "elsewhere.json").read_bytes()
    assert again().rendered == JOBS
    assert (tmp_path / "elsewhere.json").read_bytes() == before
    assert not path.is_symlink()


def test_an_error_is_said_again(place: Path, again: Callable[..., Said]) -> None:
    alter(place / "shop/jobs/2049.yaml", "high_voltage: none", "high_voltage: nonesuch")
    once, twice = again(), again()
    assert (once.code, twice.code) == (1, 1)
    assert "left out because of errors: 2049" in once.err
    assert twice.err == once.err + UNCHANGED and twice.out == once.out


def test_a_job_is_worked_out_from_its_own_files_alone(root: Path, demo_copy: Path) -> None:
    """What ``shown_files`` says is all that matters: without the other files each plan is the same."""
    whole = pipeline.load_shop(root / "content")
    plans, _ = pipeline.plan_jobs(whole)
    for number, plan in plans.items():
        wanted = pipeline.shown_files(whole, number)
        shop = demo_copy.parent / f"only-{number}"
        shutil.copytree(demo_copy, shop)
        left = 0
        for path in list(shop.rglob("*.yaml")):
            if path.relative_to(shop).as_posix() not in wanted:
                path.unlink()
                left += 1
        assert left > 10
        alone = pipeline.plan_jobs(pipeline.load_shop(shop))[0]
        assert list(alone) == [number]
        assert plan_json(alone[number]) == plan_json(plan)
