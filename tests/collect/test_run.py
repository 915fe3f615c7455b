"""The command's work: what passed, failed and is missing is told; a wrong sheet is refused; nothing is ever lost."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from loomleaf.check.library import Library
from loomleaf.cli import main
from loomleaf.collect import Gathered, collect
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.sheets.views import field_name
from tests.collect.conftest import Printed, all_good, fill
from tests.plan.shops import PROOFS, planned, shop


def gathered(
    printed: Printed, values: Mapping[str, str | bool], *, older: bool = False, into: Library | None = None
) -> Gathered:
    """One sheet, filled in and collected into its own shop or another."""
    library = into or printed.library
    plans = {n: plan_job(library, e, ()) for n, e in library.jobs.items()}
    return collect(library, plans, [("x.pdf", fill(printed.pdf, values))], older=older)


def refusal(found: Gathered) -> str:
    assert found.files == {}
    (problem,) = found.problems
    return problem.code


def test_all_that_is_right_is_counted(sheet: Printed) -> None:
    values = all_good(sheet)
    found = gathered(sheet, values)
    assert found.problems == ()
    assert f"{len(values)} passed, 0 failed, 0 missing" in "\n".join(found.lines)
    assert list(found.files) == ["readings/1-A.yaml"]


def test_what_failed_is_named_with_where_to_look(sheet: Printed) -> None:
    check = next(c for c in sheet.checks if c.key.startswith("continuity"))
    found = gathered(sheet, all_good(sheet) | {field_name(check.key, "actual"): "4,2 ohm"})
    text = "\n".join(found.lines)
    assert f"failed {check.number}. {check.title}: '4,2 ohm' written" in text
    assert check.on_failure.rstrip(".") in text


def test_what_is_missing_is_listed_by_number(sheet: Printed) -> None:
    values = all_good(sheet)
    left = next(c for c in sheet.checks if field_name(c.key, "actual") in values)
    del values[field_name(left.key, "actual")]
    found = gathered(sheet, values)
    assert any("missing" in line and line.endswith(f" {left.number}") for line in found.lines)


def test_an_empty_sheet_says_so_and_writes_nothing(sheet: Printed) -> None:
    found = gathered(sheet, {})
    assert found.files == {} and "  nothing is filled in" in found.lines


def other_shop(**words: object) -> Library:
    return planned(**words)[1]


def test_a_sheet_of_another_job_is_refused(sheet: Printed) -> None:
    strange = other_shop()
    entry = strange.jobs.pop("1")
    assert refusal(gathered(sheet, all_good(sheet), into=strange)) == "sheet-of-another-job"
    strange.jobs["1"] = entry
    other = other_shop(plates="[ZZ9]")
    assert refusal(gathered(sheet, all_good(sheet), into=other)) == "sheet-of-another-job"
    assert refusal(gathered(sheet, all_good(sheet), into=other, older=True)) == "sheet-of-another-job"


@pytest.mark.parametrize("change", ["revision: B\n", "work_areas: [boot]\n"], ids=["revision", "content"])
def test_an_older_sheet_is_refused_unless_told_and_then_clears_nothing(sheet: Printed, change: str) -> None:
    later = other_shop(job=PROOFS + change)
    assert refusal(gathered(sheet, all_good(sheet), into=later)) == "sheet-older"
    found = gathered(sheet, all_good(sheet), into=later, older=True)
    assert found.problems == ()
    assert sheet.plan.digest in found.files["readings/1-A.yaml"]
    plan, _ = planned(job=PROOFS + change, files=dict(found.files))
    assert {r.result for s in plan.states for r in s.readings} <= {"missing"}


def test_the_same_again_writes_nothing_and_another_reading_takes_the_next_name(sheet: Printed) -> None:
    first = gathered(sheet, all_good(sheet))
    library = planned(job=PROOFS, files=dict(first.files))[1]
    again = gathered(sheet, all_good(sheet), into=library)
    assert again.files == {} and any("collected before, in readings/1-A.yaml" in line for line in again.lines)
    check = next(c for c in sheet.checks if c.key.startswith("continuity"))
    changed = gathered(sheet, all_good(sheet) | {field_name(check.key, "actual"): "0.2 ohm"}, into=library)
    assert list(changed.files) == ["readings/1-A.2.yaml"]


def test_two_sheets_at_once_take_two_names(sheet: Printed) -> None:
    check = next(c for c in sheet.checks if c.key.startswith("continuity"))
    one = fill(sheet.pdf, all_good(sheet))
    two = fill(sheet.pdf, all_good(sheet) | {field_name(check.key, "actual"): "0.2 ohm"})
    plans = {"1": sheet.plan}
    found = collect(sheet.library, plans, [("a.pdf", one), ("b.pdf", two), ("c.pdf", b"rubbish")])
    assert list(found.files) == ["readings/1-A.yaml", "readings/1-A.2.yaml"]
    assert [p.code for p in found.problems] == ["sheet-unreadable"]


def test_a_job_with_errors_of_its_own_says_so(sheet: Printed) -> None:
    library, _ = shop(job="joining: {default: no-such}\n".replace("joining", "feed"))
    found = collect(library, {}, [("x.pdf", fill(sheet.pdf, all_good(sheet)))])
    assert refusal(found) == "job-has-errors"


# --- the command, with a real shop folder ------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path, root: Path) -> Path:
    import shutil

    copy = tmp_path / "shop"
    shutil.copytree(root / "content", copy, ignore=shutil.ignore_patterns("handbook"))
    return copy


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    told = capsys.readouterr()
    return code, told.out, told.err


def test_print_fill_collect_and_the_job_moves_on(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    code, _, err = run(capsys, "print", "bench", "2038", "--shop", str(folder), "--out", str(out))
    assert code == 0, err
    pdf = (out / "job-2038/2038-bench.pdf").read_bytes()
    plan = plan_of(folder, "2038")
    printed = Printed(plan=plan, library=planned()[1], pdf=pdf)
    check = next(c for c in plan.checks if c.key.startswith("continuity"))
    bad = tmp_path / "bad.pdf"
    bad.write_bytes(fill(pdf, all_good(printed) | {field_name(check.key, "actual"): "OL", "made-by__1": "RP"}))
    code, said, _ = run(capsys, "collect", str(bad), "--shop", str(folder))
    assert code == 0 and "1 failed" in said and "2038-A.yaml" in said
    held = plan_of(folder, "2038")
    assert held.held and {p.code for p in held.problems} == {"reading-failed"}
    good = tmp_path / "good.pdf"
    good.write_bytes(fill(pdf, all_good(printed) | {"made-by__1": "RP"}))
    code, said, _ = run(capsys, "collect", str(good), "--shop", str(folder))
    assert code == 0 and "2038-A.2.yaml" in said
    assert (folder / "readings/2038-A.yaml").is_file()  # the first one is still there
    assert plan_of(folder, "2038").state == "plug-in"


def plan_of(folder: Path, number: str) -> Plan:
    from loomleaf.pipeline import load_shop, plan_jobs

    return plan_jobs(load_shop(folder), (number,))[0][number]


def test_an_empty_file_for_each_van_that_has_none(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said, _ = run(capsys, "collect", "--blank", "2047", "--shop", str(folder))
    assert code == 0
    assert "SM21 PAA: readings/2047-A-SM21-PAA.yaml is there already" in said.replace(str(folder) + "/", "")
    assert len(list((folder / "readings").glob("2047-A-SM21-*.yaml"))) == 6
    assert run(capsys, "check", "2047", "--shop", str(folder))[0] == 0
    before = {s.registration.plate: s.state for s in plan_of(folder, "2047").states}
    assert (before["SM21 PAA"], before["SM21 PAB"]) == ("verified", "plug-in")
    assert run(capsys, "collect", "--blank", "2047", "--shop", str(folder))[1].count("is there already") == 6


@pytest.mark.parametrize("words", [(), ("x.pdf", "--blank", "2038"), ("--blank", "9999"), ("no-such-file.pdf",)])
def test_the_command_used_wrongly(folder: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> None:
    assert run(capsys, "collect", *words, "--shop", str(folder))[0] == 2


def test_a_file_that_is_no_sheet_is_an_error(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "x.pdf"
    path.write_bytes(b"hello")
    code, said, err = run(capsys, "collect", str(path), "--shop", str(folder))
    assert (code, said) == (1, "") and "error[sheet-unreadable]" in err
