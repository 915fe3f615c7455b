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
from tests.plan.shops import CAR, PROOFS, RADIO, planned

BASE = JOB + "parts: [car, radio]\njoining: {default: butt-connector}\nroute_mm: {dash: 150}\n"


def both(old: str, new: str, library: Library) -> list[str]:
    """The lines about two job files of the small shop."""
    found, problems = sides(("old.yaml", old.encode()), ("new.yaml", new.encode()), library)
    assert problems == () and found is not None
    return list(compare_lines(*found)[1:])


def under(heading: str, lines: list[str]) -> list[str]:
    """The lines under a heading."""
    found: dict[str, list[str]] = {}
    at = ""
    for line in lines:
        if line.startswith(" "):
            found[at].append(line.removeprefix("  "))
        else:
            at = line
            found[at] = []
    return found.get(heading, [])


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
    assert under("Vehicles", lines) == ["CD2: new"]
    prices = under("Price", lines)
    assert prices[0].startswith("to pay: ") and prices[0].endswith(" before")
    assert "Foam: new, quantity 1, price 2.50" in prices


def test_figures_that_follow_from_a_change_are_told(library: Library) -> None:
    lines = both(BASE, BASE.replace("dash: 150", "dash: 300"), library)
    assert under("Loom", lines) == ["loom of car: length 300 mm, 150 mm before"]
    drawn = dict(library.leads)
    entry = drawn["radio"]
    thirsty = entry.value.draws.model_copy(update={"running_a": (entry.value.draws.running_a or 0) + 2})
    drawn["radio"] = replace(entry, value=entry.value.model_copy(update={"draws": thirsty}))
    old = work_data(plan_job(library, library.jobs["1"]))
    new = work_data(plan_job(replace(library, leads=drawn), library.jobs["1"]))
    told = [change.line for change in changes(old, new)]
    assert any(re.match(r"supply: radio/\S+: lost when running: [0-9.]+ V, [0-9.]+ V before$", line) for line in told), told


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
            if not isinstance(row, dict):
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
    for row in (*other.get("fuses", []), *other["checks"]):
        row["circuit"] = renumber.get(row["circuit"], row["circuit"])
    for check in other["checks"]:
        check["title"] = re.sub(r"\bS[12]\b", lambda found: renumber[found[0]], check["title"])
    other["circuits"].insert(0, extra)
    assert [c.line.split(",")[0] for c in changes(data, other)] == ["circuits: Camera supply: new"]
    assert changed_rows(data, other, "A").rows == ("S1",) and not changed_rows(data, other, "A").checks


def test_two_circuits_of_one_name_are_told_apart() -> None:
    rows = [{"id": f"S{n}", "title": "Constant supply", "tails": [{"tail": f"car/{n}"}]} for n in (1, 2)]
    old = {"circuits": rows}
    new = {"circuits": [rows[0], {**rows[1], "tails": [{"tail": "car/9"}]}]}
    (change,) = changes(old, new)
    assert change.line == "circuits: Constant supply (2): tails: tail car/9, tail car/2 before"


def test_a_measure_is_told_with_its_unit() -> None:
    def line(field: str, old: object, new: object) -> str:
        rows = [{"circuit": "G1", field: value} for value in (old, new)]
        (change,) = changes({"joints": rows[:1]}, {"joints": rows[1:]})
        return change.line

    assert line("strip_mm", 6.0, 12) == "joints: G1: strip: 12 mm, 6 mm before"
    assert line("sleeve_cut_mm", None, 30) == "joints: G1: sleeve cut: 30 mm, none before"
    assert line("total_mm2", 1.5, 2.5) == "joints: G1: total: 2.5 mm², 1.5 mm² before"
    assert line("rating_a", 10, 15) == "joints: G1: rating: 15 A, 10 A before"
    assert line("method", "crimp", "solder") == "joints: G1: method: solder, crimp before"


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


METHOD = "  G1 Ground: closed-end-connector, butt-connector before"


def test_a_frozen_copy_against_the_job(shop: Path, changed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, shop, str(shop / "issued/2031-A.yaml"), str(changed))
    assert code == 0 and METHOD in out and "Price" not in out
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
    assert under("Vehicles", moved) == ["CD2: new"]
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
    assert lines[:4] == [
        "Joints",
        "  S1 Constant supply, S2 Switched supply, C1 Antenna turn-on and 8 more: butt-connector, solder-and-sleeve before",
        "  12 lie elsewhere along the loom: S1 Constant supply, S2 Switched supply, G1 Ground and 9 more",
        "Loom",
    ]
    heads = [line for line in lines if not line.startswith(" ")]
    assert heads == ["Joints", "Loom", "Price"] and len(lines) < 14
    assert under("Price", lines)[0].startswith("to pay: ")
    # every single change stays in the JSON
    joints = [c for c in compare_json(*found)["changes"] if c["section"] == "joints"]
    assert sum(c["what"].endswith(": item") for c in joints) == 11


# --- another radio, with two ways the other way round -------------------------------------------------------------

WHEEL = "{at: %s, function: wheel-button-%d, colour: brown/%s, size: 0.5 mm2, length_mm: 200}"
GOLDEN = """\
Parts
  other (other) in place of radio (radio); the same ways of the two are not told
Circuits, look at these first
  C2 Wheel buttons, first wire (C1 before)
    car/A.9 now with other/M.10 (before: Wheel buttons, second wire), not with radio/M.9 (now: C3)
  C3 Wheel buttons, second wire (C2 before)
    car/A.10 now with other/M.9 (before: Wheel buttons, first wire), not with radio/M.10 (now: C2)
  S1 Constant supply: other/M.1: orange, yellow before
  G1 Ground: other/M.3: 1.5 mm², 0.75 mm² before
Circuits
  C1 Speed signal
    new: car/A.12 (pink, 0.5 mm²) to other/M.12 (pink, 0.5 mm²) [car/A.12, before: a spare; other/M.12, before: a spare]
    joint: butt-connector, butt-red, strip 6 mm"""


@pytest.fixture(scope="module")
def swap() -> tuple[Plan, Plan]:
    """A job with one radio and with another: its wheel wires at each other's ways, its speed wire in use, its constant
    supply of another colour and its ground a thicker wire."""
    ways = [WHEEL % ("A.9", 1, "white"), WHEEL % ("A.10", 2, "red")]
    own = [WHEEL % ("M.9", 1, "white"), WHEEL % ("M.10", 2, "red")]
    turned = [WHEEL % ("M.10", 1, "white"), WHEEL % ("M.9", 2, "red")]
    ground = "function: wheel-ground, colour: brown/black, size: 0.5 mm2, length_mm: 200}"
    ways.append("{at: A.11, " + ground)
    speed = "{at: %s, function: speed, colour: pink, size: 0.5 mm2, length_mm: 200}"
    unused = "{at: M.12, function: parking-brake, colour: pink, size: 0.5 mm2, length_mm: 200}"

    def lead(text: str, *rows: str) -> str:
        at = text.index("tails:\n") + len("tails:\n")
        return text[:at] + "".join(f"  - {row}\n" for row in rows) + text[at:]

    car = lead(CAR, *ways, speed % "A.12")
    radio = lead(RADIO, *own, "{at: M.11, " + ground, unused)
    other = lead(RADIO, *turned, "{at: M.11, " + ground, speed % "M.12").replace("radio\n", "other\n", 1)
    other = other.replace("title: radio", "title: other").replace("colour: yellow", "colour: orange")
    black = next(line for line in other.splitlines() if "function: ground," in line)
    other = other.replace(black, black.replace("0.75 mm2", "1.5 mm2"))
    found = []
    for name, text in (("radio", radio), ("other", other)):
        files = {"leads/car.yaml": car, f"leads/{name}.yaml": text}
        files["jobs/1.yaml"] = BASE.replace("radio]", f"{name}]")
        found.append(planned(files=files)[0])
    return found[0], found[1]


def test_another_radio_is_told_so_that_a_fitter_reads_it(swap: tuple[Plan, Plan]) -> None:
    """Ways that changed places come first, then supply and ground; what is the same on both radios is not told."""
    old, new = (Side(name="", data=work_data(plan)) for plan in swap)
    lines = list(compare_lines(old, new))[1:]
    assert "\n".join(lines[: GOLDEN.count("\n") + 1]).startswith(GOLDEN), "\n".join(lines)
    assert not [line for line in lines if re.search(r"\bnothing\b|live yes|_mm\b|_a\b", line)]
    assert max(map(len, lines)) < 140
    checks = under("Checks", lines)
    by_title = {c.title: c.number for c in swap[1].checks if c.stage == "on-the-bench"}
    probes = next(line for line in checks if line.startswith("other probes: "))
    first, second = (by_title[f"Wheel buttons, {which} wire is joined"] for which in ("first", "second"))
    assert probes == f"other probes: {first} to {second}"
    everything = {c["what"] for c in compare_json(old, new)["changes"]}
    assert {"Switched supply: tails", "Ground: tails"} <= everything  # the JSON keeps what only names the other radio


def test_a_check_with_other_probes_has_a_bar(swap: tuple[Plan, Plan]) -> None:
    """A reading at the wrong way teaches the wrong button: the row is marked though title and limits are the same."""
    plan = swap[1]
    found = changed_rows(work_data(swap[0]), work_data(plan), "revision A")
    by_key = {c.key: c for c in plan.checks}
    marked = {c.key for c in plan.checks if c.number in found.checks}
    assert {"continuity-c1", "continuity-c2", "continuity-c3"} <= marked
    assert "continuity-s2" in by_key and "continuity-s2" not in marked
    assert {"C1", "C2", "C3", "S1", "G1"} <= set(found.rows)
    assert "S2" not in found.rows


def test_a_way_that_was_a_spare_is_told_as_moved_and_not_as_gone(swap: tuple[Plan, Plan]) -> None:
    old, new = map(work_data, swap)
    there, back = changed_rows(old, new, "A"), changed_rows(new, old, "A")
    assert "car/A.12 was a spare, now C1" in there.moved
    assert not [name for name in there.gone if "A.12" in name]
    assert "other/M.9 was Wheel buttons, first wire, now C3" in there.moved
    assert "other stands in place of radio" in there.line and "car/A.12 was a spare" in there.line
    (spare,) = [m for m in back.moved if m.startswith("car/A.12 ")]
    assert re.fullmatch(r"car/A\.12 was Speed signal, now spare E\d", spare)
    assert back.gone == ("Speed signal",)


@pytest.mark.parametrize(
    "field", ["probes", "meter", "condition", "expected", "unit", "low", "high", "open", "yes_no", "on_failure"]
)
def test_whatever_is_acted_on_in_a_check_counts(field: str) -> None:
    """In the plan's own data, so that a sheet that leaves one out is found as well."""
    data = json.loads(json.dumps(plan_data()))
    for at, check in enumerate(data["checks"]):
        other = copy.deepcopy(data)
        value = check[field]
        another = not value if isinstance(value, bool) else 4711 if field in ("low", "high") else f"{value} else"
        other["checks"][at][field] = another
        found = changed_rows(data, other, "A")
        assert check["number"] in found.checks, (check["key"], field)
        assert changes(data, other), (check["key"], field)


def test_isolation_is_the_same_in_whatever_order_its_ways_are_named() -> None:
    rows = [
        {"number": 1, "key": "apart-s1-x", "stage": "on-the-bench", "title": f"S1 is apart from {a}", "probes": f"M.1 to {b}"}
        for a, b in (
            ("G1, C1 and S2", "M.3, M.4 and M.2"),
            ("C1, S2 and G1", "M.4, M.2 and M.3"),
            ("C1 and G1", "M.4 and M.3"),
        )
    ]
    assert changed_rows({"checks": rows[:1]}, {"checks": rows[1:2]}, "A").checks == ()
    assert changed_rows({"checks": rows[:1]}, {"checks": rows[2:]}, "A").checks == (1,)


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
    job.write_text(text, "utf-8")
    copy = shop / "issued/2031-A.yaml"
    kept = copy.read_bytes()
    copy.unlink()
    try:
        alone = load_shop(shop)
        plan = plan_jobs(alone, ("2031",))[0]["2031"]
        change = changed_since(alone.library, plan)
        assert change is not None and change.unknown
        html, _ = sheet_html("bench", plan, alone.shop, alone.library.reference, changed=change)
        assert html is not None and "What changed since revision A is not known: no copy of it is kept." in html
        assert "bar in the margin" not in html
    finally:
        job.write_text(before, "utf-8")
        copy.write_bytes(kept)
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
