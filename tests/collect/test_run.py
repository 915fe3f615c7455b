"""The command's work: what passed, failed and is missing is told; a wrong sheet is refused; nothing is ever lost."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from loomleaf.check.convert import convert
from loomleaf.check.library import Library
from loomleaf.cli import main
from loomleaf.collect import Gathered, blanks, collect
from loomleaf.model.readings import Readings
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.problems import Collector
from loomleaf.sheets.views import field_name
from loomleaf.source.nodes import read_document
from tests.collect.conftest import Printed, all_good, fill, good
from tests.plan.shops import PROOFS, planned, shop

DAY = date(2026, 5, 12)


def gathered(
    printed: Printed, values: Mapping[str, str | bool], *, older: bool = False, into: Library | None = None
) -> Gathered:
    """One sheet, filled in and collected into its own shop or another."""
    library = into or printed.library
    plans = {n: plan_job(library, e, ()) for n, e in library.jobs.items()}
    return collect(library, plans, [("x.pdf", fill(printed.pdf, values))], older=older, on=DAY)


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


@pytest.mark.parametrize("change", ["revision: B\n", "work_areas: [dash-centre, boot]\n"], ids=["revision", "content"])
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
    found = collect(sheet.library, plans, [("a.pdf", one), ("b.pdf", two), ("c.pdf", b"rubbish")], on=DAY)
    assert list(found.files) == ["readings/1-A.yaml", "readings/1-A.2.yaml"]
    assert [p.code for p in found.problems] == ["sheet-unreadable"]


def test_a_job_with_errors_of_its_own_says_so(sheet: Printed) -> None:
    library, _ = shop(job="joining: {default: no-such}\n".replace("joining", "feed"))
    found = collect(library, {}, [("x.pdf", fill(sheet.pdf, all_good(sheet)))])
    assert refusal(found) == "job-has-errors"


def test_a_fleets_bench_reading_that_names_no_lead_is_told_and_not_taken(fleet: Printed) -> None:
    """As a sheet printed by an earlier version has it: one box for all leads."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import NameObject, TextStringObject

    check = next(c for c in fleet.checks if c.stage == "on-the-bench")
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(fleet.pdf)))
    for entry in writer._root_object["/AcroForm"]["/Fields"]:  # type: ignore[index]
        field = entry.get_object()
        if field["/T"] == field_name(check.key, "AB1", "actual"):
            field[NameObject("/T")] = TextStringObject(field_name(check.key, "actual"))
            field[NameObject("/V")] = TextStringObject("0.1 ohm")
    out = io.BytesIO()
    writer.write(out)
    found = collect(fleet.library, {"1": fleet.plan}, [("x.pdf", out.getvalue())], on=DAY)
    assert found.files == {}
    (line,) = [line for line in found.lines if "not taken" in line]
    assert f"check {check.number} says nothing of which lead" in line
    assert "  nothing is filled in for any one vehicle" in found.lines


def test_a_sheet_without_a_day_is_told_of_and_clears_nothing_until_the_day_is_known(sheet: Printed) -> None:
    plans = {"1": sheet.plan}
    pdf = fill(sheet.pdf, all_good(sheet) | {"made-by__1": "RP", "made-by__3": "05/06/2026"})
    found = collect(sheet.library, plans, [("x.pdf", pdf)])
    assert [(p.code, p.severity.value) for p in found.problems] == [("sheet-undated", "warning")]
    (text,) = found.files.values()
    plan, library = planned(job=PROOFS, files={"readings/1-A.yaml": text})
    assert "reading-undated" in {p.code for p in plan.problems}
    assert {r.result for s in plan.states for r in s.readings} == {"missing"}
    dated = text.replace("on:\n", "on: 2026-05-12\n")
    plan, library = planned(job=PROOFS, files={"readings/1-A.yaml": dated})
    assert "reading-undated" not in {p.code for p in plan.problems}
    assert "pass" in {r.result for s in plan.states for r in s.readings}
    again = collect(library, plans, [("x.pdf", pdf)])  # the day that was written in is no new reading
    assert again.files == {}


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("", "no day stands on this sheet, so that its readings clear nothing"),
        ("3/5/26", "'3/5/26' on this sheet may be 3 May 2026 or 5 March 2026, so that"),
        ("last week", "'last week' on this sheet cannot be read as a day (wanted: 27 November 2026, 27.11.2026 or 2026-11-27)"),
    ],
)
def test_what_stands_in_place_of_the_day_is_quoted(sheet: Printed, written: str, said: str) -> None:
    pdf = fill(sheet.pdf, all_good(sheet) | {"made-by__1": "RP", "made-by__3": written})
    (problem,) = collect(sheet.library, {"1": sheet.plan}, [("x.pdf", pdf)]).problems
    assert problem.code == "sheet-undated" and problem.message.startswith(said)


def test_collecting_again_with_the_day_does_what_the_hint_says(sheet: Printed) -> None:
    pdf = fill(sheet.pdf, all_good(sheet) | {"made-by__1": "RP", "made-by__3": "3/5/26"})
    first = collect(sheet.library, {"1": sheet.plan}, [("x.pdf", pdf)])
    plan, library = planned(job=PROOFS, files=dict(first.files))
    assert "reading-undated" in {p.code for p in plan.problems}
    again = collect(library, {"1": plan}, [("x.pdf", pdf)], on=DAY)
    assert "  it takes the place of readings/1-A.yaml, which has no day" in again.lines
    assert again.problems == () and list(again.files) == ["readings/1-A.2.yaml"]
    plan, library = planned(job=PROOFS, files={**first.files, **again.files})
    assert "reading-undated" not in {p.code for p in plan.problems}
    assert "pass" in {r.result for s in plan.states for r in s.readings}
    third = collect(library, {"1": plan}, [("x.pdf", pdf)], on=DAY)
    assert third.files == {} and "  collected before, in readings/1-A.2.yaml" in third.lines


@pytest.mark.parametrize("written", ["", "12 May 2062"])
def test_a_day_that_has_not_come_is_refused(sheet: Printed, written: str) -> None:
    """A pass of a mistyped year would hide every failure after it."""
    pdf = fill(sheet.pdf, all_good(sheet) | {"made-by__1": "RP", "made-by__3": written})

    def taken(on: date, today: date) -> Gathered:
        return collect(sheet.library, {"1": sheet.plan}, [("x.pdf", pdf)], on=on, today=today)

    refused = taken(date(2062, 5, 12), DAY)
    assert refusal(refused) == "day-to-come"
    assert "would be of 2062-05-12, and today is 2026-05-12" in refused.problems[0].message
    if not written:
        assert taken(DAY, DAY).files and taken(DAY, date(2026, 6, 1)).files
        assert taken(DAY, date(2025, 1, 1)).files  # a clock behind the sheet's own day of issue says nothing


def test_a_typed_file_of_a_day_that_has_not_come_is_refused(sheet: Printed) -> None:
    text = f'job: "1"\nrevision: A\ndigest: {sheet.plan.digest}\non: 2062-05-12\nby: RP\nreadings: []\n'
    found = collect(sheet.library, {"1": sheet.plan}, [("x.yaml", text.encode())], today=DAY)
    assert refusal(found) == "day-to-come"


def test_nothing_of_a_sheet_of_an_older_issue_is_lost(sheet: Printed) -> None:
    """Revision B has another radio: the old one's checks and parts are gone from the job, and stay in the record of A."""
    from tests.plan.shops import RADIO

    other = {"leads/radio.yaml": RADIO, "leads/newer.yaml": RADIO.replace("radio", "newer", 1)}
    job = PROOFS + "revision: B\nreplaces: A\n"
    later = planned(job=job, files=other)[1]
    entry = later.jobs["1"]
    later.jobs["1"] = replace(entry, value=entry.value.model_copy(update={"parts": ("car", "newer")}))
    values = all_good(sheet)
    bad = next(c for c in sheet.checks if c.key == "apart-g1-radio-m-3")
    values[field_name(bad.key, "actual")] = "4 ohm"
    found = gathered(sheet, values, older=True, into=later)
    plan = plan_job(later, later.jobs["1"], ())
    gone = [c for c in sheet.checks if c.key not in {x.key for x in plan.checks} and field_name(c.key, "actual") in values]
    assert bad in gone
    (text,) = found.files.values()
    kept = read(text)
    assert len(kept.readings) == len(values) and {c.key for c in gone} <= {b.check for b in kept.readings}
    said = "\n".join(found.lines)
    assert f"{len(values) - 1} passed, 1 failed" in said and f"failed {bad.number}. " in said
    assert "a record of revision A, judged by the checks it was printed with; it clears nothing of revision B" in said
    (line,) = [line for line in found.lines if "no check of this job now" in line]
    assert all(f"{c.number}. " in line for c in gone)
    bare = collect(
        later, {"1": plan}, [("x.pdf", fill(without_data(sheet.pdf), values))], older=True, on=DAY
    )  # the sheet lost what it carries: its checks are kept by their names
    (text,) = bare.files.values()
    assert {b.check: b.reading for b in read(text).readings} == {b.check: b.reading for b in kept.readings}


def without_data(pdf: bytes) -> bytes:
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import NameObject

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    del writer._root_object[NameObject("/Names")]
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def read(text: str) -> Readings:
    found = Collector()
    readings = convert(read_document("readings/1-A.yaml", text.encode())[0], Readings, found)
    assert readings is not None, found.problems
    return readings


def test_a_long_text_is_cut_and_told(sheet: Printed) -> None:
    found = gathered(sheet, all_good(sheet) | {"made-by__1": "R" * 3000})
    assert [p.code for p in found.problems] == ["text-cut"]


# --- all sheets in one file --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def bundled(sheet: Printed) -> Printed:
    """Bench and fitting sheet of the same job in one file, as ``print all`` joins them."""
    from loomleaf.model.shop import Shop
    from loomleaf.sheets.bundle import Part, job_bundle
    from loomleaf.sheets.registry import render_sheet

    shop = sheet.library.shop.value if sheet.library.shop else Shop(name="")
    other, problems = render_sheet("fitting", sheet.plan, shop, sheet.library.reference)
    assert other is not None, problems
    parts = [Part(kind="fitting", title="F", pdf=other.pdf), Part(kind="bench", title="B", pdf=sheet.pdf)]
    return Printed(plan=sheet.plan, library=sheet.library, pdf=job_bundle(parts, sheet.plan, shop))


def loaded_values(printed: Printed) -> dict[str, str | bool]:
    """The fitting sheet's own readings after plugging in, all good."""
    out: dict[str, str | bool] = {}
    for check in printed.checks:
        if check.stage == "after-plugging-in":
            out[field_name(check.key, "pass" if check.yes_no else "actual")] = True if check.yes_no else good(check)
    return out


def of_bundle(bench: Mapping[str, str | bool], fitting: Mapping[str, str | bool]) -> dict[str, str | bool]:
    return {f"bench.{k}": v for k, v in bench.items()} | {f"fitting.{k}": v for k, v in fitting.items()}


def test_every_sheet_of_one_file_is_read_for_itself(bundled: Printed) -> None:
    bench = all_good(bundled) | {
        "made-by__1": "RP",
        "made-by__3": "2026-05-12",
        "hold__before-plugging-in__1": "TO",
    }
    fitting = loaded_values(bundled) | {
        "gate-airbag__looked-up": True,
        "gate-airbag__wait": "3 min",
        "gate-airbag__document": "Service book",
        "gate-airbag__page": "4-12",
        "fitted-by__1": "TO",
        "fitted-by__3": "13 May 2026",
        "hand-over-airbag-lamp__pass": True,
        "hold__before-the-trim-goes-back__1": "TO",
        "as-found__lamps": "oil",
        "serial__radio": "R-0042",
    }
    found = gathered(bundled, of_bundle(bench, fitting))
    assert found.problems == () and list(found.files) == ["readings/1-A.yaml", "readings/1-A.2.yaml"]
    first, second = found.files.values()
    assert 'by: "RP"' in first and "on: 2026-05-12" in first and 'sheet: "bench"' in first
    assert 'by: "TO"' in second and "on: 2026-05-13" in second and "R-0042" in second and 'lamps: "oil"' in second
    plan, library = planned(job=PROOFS, files=dict(found.files))
    assert plan.state == "verified"
    assert gathered(bundled, of_bundle(bench, fitting), into=library).files == {}  # nothing twice
    unsigned = {name: value for name, value in bench.items() if not name.startswith("hold__")}
    open_gate = {name: value for name, value in fitting.items() if not name.startswith("gate-airbag")}
    found = gathered(bundled, of_bundle(unsigned, open_gate))
    assert '{row: before-plugging-in, by: "", when: ""}' in found.files["readings/1-A.yaml"]
    plan, _ = planned(job=PROOFS, files=dict(found.files))
    assert sorted(p.code for p in plan.states[0].reasons) == ["airbag-gate-open", "hold-point-unsigned"]
    (gate,) = (line for line in found.lines if line.startswith("    left empty at the airbags, where work stops: "))
    assert all(asked in gate for asked in ("airbags, tensioners and sensors found", "wait", "document", "page"))


def test_an_empty_file_of_all_sheets_says_so_once(bundled: Printed) -> None:
    found = gathered(bundled, {})
    assert (found.files, found.problems) == ({}, ())
    assert found.lines == ("x.pdf: nothing is filled in on: bench, fitting",)


def test_two_sheets_that_disagree_are_a_problem_and_neither_is_taken(sheet: Printed) -> None:
    """Two sheets with one signed line: a bench sheet, bound in twice."""
    from loomleaf.model.shop import Shop
    from loomleaf.sheets.bundle import Part, job_bundle

    parts = [Part(kind=kind, title=kind, pdf=sheet.pdf) for kind in ("bench", "fitting")]
    twice = job_bundle(parts, sheet.plan, Shop(name="Test"))
    bundled = Printed(plan=sheet.plan, library=sheet.library, pdf=twice)
    hold = "hold__before-plugging-in__1"
    found = gathered(bundled, of_bundle(all_good(bundled) | {hold: "RP"}, {hold: "TO"}))
    assert {p.code for p in found.problems} == {"sheet-disagrees"}
    assert all("'RP', 'TO'" in p.message or "'TO', 'RP'" in p.message for p in found.problems)
    assert all(p.severity.value == "error" for p in found.problems)
    text = "\n".join(found.files.values())
    assert "before-plugging-in__" not in text and "continuity" in text  # the rest is taken
    agreed = gathered(bundled, of_bundle(all_good(bundled) | {hold: "RP"}, {hold: "RP"}))
    assert agreed.problems == () and 'by: "RP"' in "\n".join(agreed.files.values())


def test_a_field_twice_in_one_sheet_that_disagrees_is_a_problem(sheet: Printed) -> None:
    """Two filled copies of one sheet joined by another program: fields of one name, with different values."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import DictionaryObject, NameObject, TextStringObject

    check = next(c for c in sheet.checks if c.key.startswith("continuity"))
    name = field_name(check.key, "actual")

    def copied(second: str) -> Gathered:
        writer = PdfWriter(clone_from=PdfReader(io.BytesIO(fill(sheet.pdf, all_good(sheet) | {name: "0.1"}))))
        twin = {"/FT": NameObject("/Tx"), "/T": TextStringObject(name), "/V": TextStringObject(second)}
        field = DictionaryObject({NameObject(key): value for key, value in twin.items()})
        writer._root_object["/AcroForm"]["/Fields"].append(writer._add_object(field))  # type: ignore[index]
        out = io.BytesIO()
        writer.write(out)
        return collect(sheet.library, {"1": sheet.plan}, [("x.pdf", out.getvalue())], on=DAY)

    assert copied("0.1").problems == copied("").problems == ()
    told = copied("4.0")
    assert [p.code for p in told.problems] == ["sheet-disagrees"]
    assert any(line.endswith(f" {check.number}") for line in told.lines if "missing" in line)


# --- typed down from paper ---------------------------------------------------------------------------------------


def test_a_file_typed_down_from_paper_is_judged_as_a_sheet_is(sheet: Printed) -> None:
    plans = {"1": sheet.plan}
    blank = blanks(sheet.library, sheet.plan)
    ((name, text),) = blank.files.items()
    empty = collect(sheet.library, plans, [("typed.yaml", text.encode())])
    assert (empty.files, empty.problems) == ({}, ()) and "  nothing is filled in" in empty.lines
    check = next(c for c in sheet.checks if c.key.startswith("continuity"))
    written = text.replace(f'check: "{check.key}", reading: ""', f'check: "{check.key}", reading: "4,2 ohm"')
    written = written.replace("on: #", "on: 2026-05-12 #").replace('by: ""', 'by: "RP"', 1)
    assert written != text
    found = collect(sheet.library, plans, [("typed.yaml", written.encode())])
    assert found.problems == () and list(found.files) == [name]
    assert f"failed {check.number}. {check.title}: '4,2 ohm' written" in "\n".join(found.lines)
    library = planned(job=PROOFS, files={name: written})[1]
    there = collect(library, plans, [(f"shop/{name}", written.encode())])
    assert there.files == {} and f"  it stands in {name}, and counts" in there.lines
    undated = written.replace("on: 2026-05-12 #", "on: #")
    library = planned(job=PROOFS, files={name: undated})[1]
    there = collect(library, plans, [(f"shop/{name}", undated.encode())])
    assert [p.code for p in there.problems] == ["sheet-undated"]
    assert f"  it stands in {name}; without its day it clears nothing, and what failed holds" in there.lines


def test_what_was_left_empty_where_work_stops_is_told_at_once(sheet: Printed) -> None:
    ((_, text),) = blanks(sheet.library, sheet.plan).files.items()
    check = next(c for c in sheet.checks if c.stage == "hand-over" and c.yes_no)
    written = text.replace(f'check: "{check.key}", result: ""', f'check: "{check.key}", result: "pass"')
    written = written.replace('lamps: ""\nsignatures', 'lamps: "oil"\nsignatures').replace("on: #", "on: 2026-05-12 #")
    lines = collect(sheet.library, {"1": sheet.plan}, [("typed.yaml", written.encode())]).lines
    for said in (
        "    not signed: the hold point 'before plugging in', and work went on after it",
        "    not signed: the hold point 'before the trim goes back', and work went on after it",
        "    left empty at the airbags, where work stops: airbags, tensioners and sensors found, wait, document, page",
        "    lamps still lit at the end: oil",
    ):
        assert said in lines
    empty = collect(sheet.library, {"1": sheet.plan}, [("typed.yaml", text.encode())]).lines
    assert not any("not signed" in line or "left empty" in line for line in empty)


def test_a_typed_file_of_other_content_counts_only_where_it_failed(sheet: Printed) -> None:
    """One truth: what is told of a file is what becomes of it."""
    text = 'job: "1"\nrevision: A\ndigest: "0123456789abcdef"\non: 2026-05-12\nreadings: [{check: drop-g1, reading: 0.02 V}]\n'
    library = planned(job=PROOFS, files={"readings/1-A.yaml": text})[1]
    there = collect(library, {"1": sheet.plan}, [("shop/readings/1-A.yaml", text.encode())], older=True)
    assert "  it stands in readings/1-A.yaml; taken on other content it clears nothing, and what failed holds" in there.lines


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (('revision: "A"', 'revision: "B"'), "sheet-older"),
        (('job: "1"', 'job: "7"'), "sheet-of-another-job"),
        (("on: #", "on: 12.5.2026 #"), "not-a-date"),
        (("readings:", "readins:"), "unknown-key"),
    ],
)
def test_a_typed_file_that_is_wrong_is_refused(sheet: Printed, change: tuple[str, str], code: str) -> None:
    ((_, text),) = blanks(sheet.library, sheet.plan).files.items()
    assert change[0] in text
    found = collect(sheet.library, {"1": sheet.plan}, [("typed.yaml", text.replace(*change, 1).encode())])
    assert code in {p.code for p in found.problems} and found.files == {}


def test_a_check_that_was_mistyped_is_told(sheet: Printed) -> None:
    head = f'job: "1"\nrevision: A\ndigest: {sheet.plan.digest}\non: 2026-05-12\n'
    text = head + "readings: [{check: continuty-s1, reading: 0.1}]\n"
    found = collect(sheet.library, {"1": sheet.plan}, [("typed.yaml", text.encode())])
    assert any("there is no check 'continuty-s1'" in line and "continuity-s1" in line for line in found.lines)


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
    code, said, _ = run(capsys, "collect", str(bad), "--on", "2026-05-12", "--shop", str(folder))
    assert code == 0 and "1 failed" in said and "2038-A.yaml" in said
    held = plan_of(folder, "2038")
    assert held.held and {p.code for p in held.problems} == {"reading-failed"}
    good = tmp_path / "good.pdf"
    good.write_bytes(fill(pdf, all_good(printed) | {"made-by__1": "RP"}))
    code, said, _ = run(capsys, "collect", str(good), "--on", "2026-05-12", "--shop", str(folder))
    assert code == 0 and "2038-A.2.yaml" in said and f"otherwise {check.number}." in said
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


def test_two_people_at_once_lose_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of the wanted name that comes into being after the shop was read is left alone."""
    import loomleaf.pipeline as pipeline

    theirs = folder / "readings/2038-A.yaml"
    real = pipeline.plan_jobs

    def meanwhile(*words: object, **more: object) -> object:
        theirs.write_text("theirs")
        return real(*words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline, "plan_jobs", meanwhile)
    code, said, _ = run(capsys, "collect", "--blank", "2038", "--shop", str(folder))
    assert code == 0 and "2038-A.2.yaml" in said
    assert theirs.read_text() == "theirs" and (folder / "readings/2038-A.2.yaml").is_file()
