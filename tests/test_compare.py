"""What changed in the work between two issues, and nothing of the wording."""

from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path

import pytest

from loomleaf.check.library import Library
from loomleaf.cli import main
from loomleaf.compare import Side, changes, compare_lines, sides, work_data
from loomleaf.plan.types import Plan
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
    for row in other.get("fuses", []):
        row["circuit"] = renumber.get(row["circuit"], row["circuit"])
    other["circuits"].insert(0, extra)
    assert [c.line.split(",")[0] for c in changes(data, other)] == ["circuits: Camera supply: added"]


def test_two_circuits_of_one_name_are_told_apart() -> None:
    rows = [{"id": f"S{n}", "title": "Constant supply", "tails": [{"tail": f"car/{n}"}]} for n in (1, 2)]
    old = {"circuits": rows}
    new = {"circuits": [rows[0], {**rows[1], "tails": [{"tail": "car/9"}]}]}
    (change,) = changes(old, new)
    assert change.line == "circuits: Constant supply (2): tails: tail car/2 → tail car/9"


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
