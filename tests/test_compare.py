"""What changed in the work between two issues, and nothing of the wording."""

from __future__ import annotations

import copy
import io
import json
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from loomleaf.check.library import Library
from loomleaf.cli import main
from loomleaf.compare import (
    Side,
    changed_rows,
    changed_since,
    changes,
    compare_json,
    compare_lines,
    merged,
    sides,
    work_data,
)
from loomleaf.pipeline import Loaded, plan_jobs
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.sheets.changed import Changed
from loomleaf.sheets.registry import sheet_html
from tests.makers import JOB
from tests.plan.shops import PROOFS, planned

BASE = JOB + "parts: [car, radio]\njoining: {default: butt-connector}\nroute_mm: {dash: 150}\n"


def both(old: str, new: str, library: Library) -> list[str]:
    """The lines about two job files of the small shop."""
    found, problems = sides(("old.yaml", old.encode()), ("new.yaml", new.encode()), library)
    assert problems == () and found is not None
    return list(compare_lines(*found)[1:])


@pytest.fixture(scope="module")
def library() -> Library:
    return planned()[1]


def test_the_same_job_has_not_changed(library: Library) -> None:
    assert both(BASE, BASE, library) == ["Nothing changed in the work."]


@pytest.mark.parametrize(
    "words",
    [
        "note: ring after six\n",
        "customer_note: the clock goes dark\n",
        "booked: 2026-05-01\n",
        "crew: {fitter: Rowan Pell}\n",
        "agreed: [{who: Ada, how: at the counter}]\n",
        PROOFS,
    ],
)
def test_words_are_not_work(library: Library, words: str) -> None:
    assert both(BASE, BASE + words, library) == ["Nothing changed in the work."]
    assert both(BASE, BASE.replace("request: Test", "request: Quite other words"), library) == [
        "Nothing changed in the work."
    ]


def test_a_joint_a_price_and_a_vehicle_are(library: Library) -> None:
    new = (
        BASE.replace("[AB1]", "[AB1, CD2]").replace("dash: 150", "dash: 120")
        + "extras: [{what: Foam, price: '2.50'}]\n"
    )
    lines = both(BASE, new, library)
    assert "registrations: CD2: added" in lines
    assert any(line.startswith("price: Foam: added") for line in lines)
    assert any(line.startswith("price: to pay: ") and " → " in line for line in lines)


def test_figures_that_follow_from_a_change_are_told(library: Library) -> None:
    lines = both(BASE, BASE.replace("dash: 150", "dash: 300"), library)
    assert "looms: loom 1: length: 150 mm → 300 mm" in lines
    drawn = dict(library.leads)
    entry = drawn["radio"]
    thirsty = entry.value.draws.model_copy(update={"running_a": (entry.value.draws.running_a or 0) + 2})
    drawn["radio"] = replace(entry, value=entry.value.model_copy(update={"draws": thirsty}))
    old = work_data(plan_job(library, library.jobs["1"]))
    new = work_data(plan_job(replace(library, leads=drawn), library.jobs["1"]))
    told = [change.line for change in changes(old, new)]
    assert any(line.startswith("supply: radio/") and "drop running" in line and " V → " in line for line in told), told


def plan_data() -> dict[str, object]:
    plan, _ = planned()
    assert plan.workshop is not None
    return work_data(plan, plan.workshop.estimate)


def test_every_figure_of_the_work_is_seen() -> None:
    """Change one value after another, wherever it stands: each must show unless its key is one of words."""
    from loomleaf.compare import NOT_WORK

    data = json.loads(json.dumps(plan_data()))
    seen = 0
    for section, rows in data.items():
        if section in NOT_WORK or not isinstance(rows, list):
            continue
        for index, row in enumerate(rows):
            if not isinstance(row, dict) or str(row.get("key", "")).startswith("apart-"):
                continue
            for key, value in row.items():
                if key in NOT_WORK or isinstance(value, bool) or not isinstance(value, (int, float)):
                    continue
                other = copy.deepcopy(data)
                other[section][index][key] = value + 7
                (change,) = changes(data, other)
                assert change.section == section and key in change.what, (section, key)
                seen += 1
    assert seen > 20


def test_a_circuit_put_in_front_does_not_make_the_others_look_changed() -> None:
    data = json.loads(json.dumps(plan_data()))
    other = copy.deepcopy(data)
    extra = {"id": "S1", "title": "Camera supply", "outcome": "joined", "tails": [{"tail": "camera/red"}], "ends": []}
    renumber = {"S1": "S2", "S2": "S3"}
    for circuit in other["circuits"]:
        circuit["id"] = renumber.get(circuit["id"], circuit["id"])
    for joint in other["joints"]:
        joint["circuit"] = renumber.get(joint["circuit"], joint["circuit"])
    for row in (*other.get("fuses", []), *(c for c in other["checks"] if "circuit" in c)):
        row["circuit"] = renumber.get(row["circuit"], row["circuit"])
    other["circuits"].insert(0, extra)
    assert [c.line.split(",")[0] for c in changes(data, other)] == ["circuits: Camera supply: added"]


def test_two_circuits_of_one_name_are_told_apart() -> None:
    rows = [{"id": f"S{n}", "title": "Constant supply", "tails": [{"tail": f"car/{n}"}]} for n in (1, 2)]
    old = {"circuits": rows}
    new = {"circuits": [rows[0], {**rows[1], "tails": [{"tail": "car/9"}]}]}
    (change,) = changes(old, new)
    assert change.line == "circuits: Constant supply (2): tails: tail car/2 → tail car/9"


def test_a_measure_is_told_with_its_unit() -> None:
    def line(field: str, old: object, new: object) -> str:
        rows = [{"circuit": "G1", field: value} for value in (old, new)]
        (change,) = changes({"joints": rows[:1]}, {"joints": rows[1:]})
        return change.line

    assert line("strip_mm", 6.0, 12) == "joints: G1: strip: 6 mm → 12 mm"
    assert line("sleeve_cut_mm", None, 30) == "joints: G1: sleeve cut: nothing → 30 mm"
    assert line("total_mm2", 1.5, 2.5) == "joints: G1: total: 1.5 mm² → 2.5 mm²"
    assert line("rating_a", 10, 15) == "joints: G1: rating: 10 A → 15 A"
    assert line("method", "crimp", "solder") == "joints: G1: method: crimp → solder"


def test_what_one_side_does_not_show_is_no_change() -> None:
    assert changes({"lines": [{"what": "x", "total": "1"}]}, {"joints": []}) == ()


def test_a_side_says_which_issue_it_is() -> None:
    old = Side(name="a", data={"job": "1", "revision": "A", "digest": "0123456789abcdef"})
    new = Side(name="b", data={"job": "1", "revision": "B", "digest": "fedcba9876543210"})
    assert compare_lines(old, new)[0] == "Job 1: revision A, digest 0123456789ab → revision B, digest fedcba987654"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("job: '1'\n", "missing-key"),
        (BASE.replace("radio]", "no-such]"), "unknown-part"),
        (BASE.replace("test-car", "no-such-car"), "unknown-vehicle"),
        ("a: [", "bad-yaml"),
        ("inputs: {job: {job: '1'}}\n", "bad-issued"),
        ("inputs: {job: x, vehicle: [], leads: {a: 3}}\n", "bad-issued"),
        (BASE + "deposit: '-4'\n", "bad-money"),
    ],
)
def test_a_side_that_cannot_be_used_is_a_problem(library: Library, text: str, code: str) -> None:
    found, problems = sides(("old.yaml", BASE.encode()), ("new.yaml", text.encode()), library)
    assert found is None
    told = {p.code for p in problems}
    assert code in told or (code == "bad-yaml" and told), told


def test_two_jobs_are_not_compared(library: Library) -> None:
    found, problems = sides(("a", BASE.encode()), ("b", BASE.replace('job: "1"', 'job: "2"').encode()), library)
    assert found is None and [p.code for p in problems] == ["cannot-compare"]


# --- printed sheets and frozen copies, with the command ----------------------------------------------------------


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    copy_of = tmp_path_factory.mktemp("compare") / "shop"
    shutil.copytree(root / "content", copy_of, ignore=shutil.ignore_patterns("handbook"))
    return copy_of


@pytest.fixture(scope="module")
def changed(shop: Path) -> Path:
    path = shop / "changed.yaml"
    text = (shop / "jobs/2031.yaml").read_text("utf-8")
    assert "ground: butt-connector" in text
    path.write_text(text.replace("ground: butt-connector", "ground: closed-end-connector"), "utf-8")
    return path


@pytest.fixture(scope="module")
def printed(shop: Path) -> Path:
    out = shop.parent / "out"
    assert main(["print", "bench", "2031", "--shop", str(shop), "--out", str(out)]) == 0
    return out / "job-2031/2031-bench.pdf"


def said(capsys: pytest.CaptureFixture[str], shop: Path, *words: str) -> tuple[int, str, str]:
    code = main(["compare", *words, "--shop", str(shop)])
    told = capsys.readouterr()
    return code, told.out, told.err


METHOD = "joints: Ground: method: butt-connector → closed-end-connector"


def test_a_frozen_copy_against_the_job(shop: Path, changed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, shop, str(shop / "issued/2031-A.yaml"), str(changed))
    assert code == 0 and METHOD in out and "price" not in out
    code, out, _ = said(capsys, shop, str(shop / "issued/2031-A.yaml"), str(shop / "jobs/2031.yaml"))
    assert (code, out.splitlines()[1:]) == (0, ["Nothing changed in the work."])


def test_a_printed_sheet_against_the_job_and_against_itself(
    shop: Path, changed: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said(capsys, shop, str(printed), str(printed))[1].splitlines()[1:] == ["Nothing changed in the work."]
    assert METHOD in said(capsys, shop, str(printed), str(changed))[1]
    assert "Tern" not in said(capsys, shop, str(printed), str(changed))[1]


def test_as_json(shop: Path, changed: Path, printed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(said(capsys, shop, str(printed), str(changed), "--json")[1])
    assert data["old"]["job"] == data["new"]["job"] == "2031"
    assert {
        "section": "joints",
        "what": "Ground: method",
        "old": "butt-connector",
        "new": "closed-end-connector",
    } in data["changes"]


def test_the_command_used_wrongly(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, shop, str(shop / "no-such"), str(shop / "jobs/2031.yaml"))[0] == 2
    code, out, err = said(capsys, shop, str(shop / "shop.yaml"), str(shop / "jobs/2031.yaml"))
    assert (code, out) == (1, "") and "error[" in err


def test_a_plan_is_not_changed_by_being_compared(library: Library) -> None:
    plan: Plan = planned()[0]
    assert work_data(plan) == work_data(plan)


# --- what is measured in the vehicle, and several sheets in one file ---------------------------------------------


def carried(kind: str, plan: Plan) -> dict[str, Any]:
    from loomleaf.sheets.registry import sheet_kinds

    found: dict[str, Any] = json.loads(json.dumps(sheet_kinds[kind].data(plan)))
    return found


def test_a_check_in_the_vehicle_that_changed_is_told() -> None:
    """The fitting sheet carries it, the bench sheet does not show it, and a job shows both."""
    plan = planned()[0]
    shown = {"bench": carried("bench", plan), "fitting": carried("fitting", plan), "job": work_data(plan)}
    for kind, stages in (
        ("bench", {"on-the-bench", "before-plugging-in"}),
        ("fitting", {"before-joining", "after-plugging-in", "before-trim", "hand-over"}),
    ):
        assert {c["stage"] for c in shown[kind]["checks"]} == stages & {c.stage for c in plan.checks}
    assert {c["key"] for c in shown["job"]["checks"]} == {c.key for c in plan.checks}
    for kind in ("fitting", "job"):
        other = copy.deepcopy(shown[kind])
        row = next(c for c in other["checks"] if c["key"].startswith("loaded-") and c["unit"] == "V")
        row["high"] = 99.0
        (change,) = changes(shown[kind], other)
        assert change.section == "checks" and change.what.endswith("high") and change.new == "99"


def test_the_words_of_the_fault_table_are_no_work() -> None:
    data = carried("fitting", planned()[0])
    assert data["faults"]
    assert changes(data, data | {"faults": []}) == ()


def test_sheets_put_together_hold_every_check_once() -> None:
    plan = planned()[0]
    whole = merged([carried("fitting", plan), carried("bench", plan), carried("bench", plan)])
    keys = [c["key"] for c in whole["checks"]]
    assert sorted(keys) == sorted(c.key for c in plan.checks)
    assert whole["sheet"] == "bench and fitting" and whole["work_areas"] == list(plan.job.work_areas)


def pdf_of(plan: Plan, library: Library, *kinds: str) -> bytes:
    from loomleaf.model.shop import Shop as ShopFile
    from loomleaf.sheets.bundle import Part, job_bundle
    from loomleaf.sheets.registry import render_sheet

    shop = library.shop.value if library.shop else ShopFile(name="")
    parts = []
    for kind in kinds:
        sheet, problems = render_sheet(kind, plan, shop, library.reference)
        assert sheet is not None, problems
        parts.append(Part(kind=kind, title=kind, pdf=sheet.pdf))
    return parts[0].pdf if len(parts) == 1 else job_bundle(parts, plan, shop)


def test_all_sheets_in_one_file_against_the_job_and_against_one_sheet(library: Library) -> None:
    plan = planned()[0]
    both_sheets, fitting = pdf_of(plan, library, "bench", "fitting"), pdf_of(plan, library, "fitting")
    new = BASE.replace("[AB1]", "[AB1, CD2]")

    def lines(old: bytes, new: bytes) -> list[str]:
        found, problems = sides(("old", old), ("new", new), library)
        assert found is not None, problems
        return list(compare_lines(*found)[1:])

    assert lines(both_sheets, BASE.encode()) == lines(both_sheets, fitting) == ["Nothing changed in the work."]
    moved = lines(both_sheets, new.encode())
    assert "registrations: CD2: added" in moved
    assert set(moved) <= set(lines(BASE.encode(), new.encode()))
    bench = pdf_of(plan, library, "bench")
    assert sides(("old", bench), ("new", fitting), library)[1][0].code == "cannot-compare"


def test_one_cause_is_one_line_and_the_price_comes_last(root: Path) -> None:
    """Another method for all joints of job 2031 but the ground, and 30 mm more of route: eleven joints, in a few lines."""
    from loomleaf.pipeline import load_shop

    demo = load_shop(root / "content")
    old = (root / "content/jobs/2031.yaml").read_text("utf-8")
    new = old.replace("default: solder-and-sleeve", "default: butt-connector").replace("dash: 200", "dash: 230")
    found, problems = sides(("old.yaml", old.encode()), ("new.yaml", new.encode()), demo.library)
    assert problems == () and found is not None
    lines = list(compare_lines(*found)[1:])
    assert len(lines) < 12
    (method,) = [line for line in lines if line.startswith("joints: method: ")]
    assert method == (
        "joints: method: solder-and-sleeve → butt-connector (sleeve, strip and item with it):"
        " Constant supply, Switched supply, Antenna turn-on and 8 more"
    )
    assert not [line for line in lines if "nothing → butt-red" in line]
    prices = [line.startswith("price: ") for line in lines]
    assert prices == sorted(prices) and "price: to pay: " in lines[prices.index(True)]
    # every single change stays in the JSON
    joints = [c for c in compare_json(*found)["changes"] if c["section"] == "joints"]
    assert sum(c["what"].endswith(": item") for c in joints) == 11


# --- the bar in the margin ---------------------------------------------------------------------------------------


def test_rows_that_changed_are_named_by_the_new_numbers() -> None:
    data = json.loads(json.dumps(plan_data()))
    assert changed_rows(data, data, "revision A") == Changed(since="revision A")
    other = copy.deepcopy(data)
    joint = other["joints"][0]
    joint["position_mm"] = 1
    row = next(c for c in other["checks"] if c["unit"] == "V" and c["high"] is not None)
    row["high"] = 99.0
    gone = other["circuits"].pop()
    for section in ("joints", "fuses", "checks"):
        other[section] = [r for r in other[section] if r.get("circuit") != gone["id"]]
    spare = {"id": "E9", "tail": "car/A.99", "live": True}
    other["spares"] = [*other["spares"], spare]
    found = changed_rows(data, other, "revision A")
    assert found.rows == (joint["circuit"], "E9")
    assert found.checks == (row["number"],)
    assert found.gone == (gone["title"],)
    assert f"{joint['circuit']}, E9; check {row['number']}." in found.line and gone["title"] in found.line


def test_a_reissued_sheet_has_a_bar_beside_each_row_that_changed(shop: Path) -> None:
    """From the command line: the revision that is replaced is there as a frozen copy, so the new sheets know."""
    from loomleaf.pipeline import load_shop, render_job

    job = shop / "jobs/2031.yaml"
    before = job.read_text("utf-8")
    text = before.replace("revision: A\n", "revision: B\nreplaces: A\n", 1)
    job.write_text(text.replace("ground: butt-connector", "ground: closed-end-connector"), "utf-8")
    try:
        loaded = load_shop(shop)
        plan = plan_jobs(loaded, ("2031",))[0]["2031"]
        change = changed_since(loaded.library, plan)
        assert change is not None and "G1" in change.rows and "S1" not in change.rows
        for kind in ("bench", "cutting"):
            html, _ = sheet_html(kind, plan, loaded.shop, loaded.library.reference, changed=change)
            assert html is not None
            assert "Changed since revision A, with a bar in the margin: G1" in html
            barred = re.findall(r'class="grid-cell[^"]*changed"[^>]*>(.*?)</t[dh]>', html, re.DOTALL)
            assert any("G1" in cell for cell in barred) and not any("S1" in cell for cell in barred)
        bars = [box for box in boxes(html or "", kind, loaded) if box.style["border_left_width"] > 5]
        assert bars and all(box.style["border_left_style"] == "solid" for box in bars)
        printed = render_job(loaded, "2031", ("bench",))
        (pdf,) = printed.files.values()
        said = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
        assert "Changed since revision A" in " ".join(said.split())
    finally:
        job.write_text(before, "utf-8")
    unchanged = load_shop(shop)
    first = plan_jobs(unchanged, ("2031",))[0]["2031"]
    assert changed_since(unchanged.library, first) is None
    html, _ = sheet_html("bench", first, unchanged.shop, unchanged.library.reference)
    assert html is not None and "Changed since" not in html and "changed" not in html.split("<body")[0]


def boxes(html: str, kind: str, loaded: Loaded) -> list[Any]:
    """Every laid-out box of a table cell."""
    from loomleaf.sheets.pdf import layout
    from loomleaf.sheets.registry import styles_of

    found = []
    waiting = [page._page_box for page in layout(html, styles=styles_of(kind, loaded.shop.paper)).pages]
    while waiting:
        box = waiting.pop()
        if box.element_tag in ("td", "th"):
            found.append(box)
        waiting += getattr(box, "children", ())
    return found
