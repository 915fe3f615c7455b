"""What is taken from the shelf: the cut list adds up to it, packs are whole, tools come back, shortages are told."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.figure import Figure
from loomleaf.model.shop import Shop, Stock
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.picking import (
    Need,
    cut_list,
    job_needs,
    open_plans,
    pick_rows,
    picks,
    shelf_problems,
    still_needed,
    total_needs,
)
from loomleaf.plan.types import Plan
from tests.makers import JOB
from tests.plan.shops import codes, planned


@pytest.fixture(scope="module")
def demo(root: Path) -> Loaded:
    return load_shop(root / "content")


@pytest.fixture(scope="module")
def plans(demo: Loaded) -> dict[str, Plan]:
    return plan_jobs(demo)[0]


def stock_of(demo: Loaded) -> Stock:
    assert demo.library.stock is not None
    return demo.library.stock.value


JOBS = ("2031", "2038", "2041", "2044", "2047", "2052")


@pytest.mark.parametrize("job", JOBS)
def test_what_is_sold_by_the_metre_is_the_cut_list_and_the_waste(
    demo: Loaded, plans: dict[str, Plan], job: str
) -> None:
    plan, stock = plans[job], stock_of(demo)
    wanted: dict[str, float] = {}
    for cut in cut_list(plan, stock):
        wanted[cut.item_id] = wanted.get(cut.item_id, 0) + float(cut.length_mm) * cut.pieces / 1000
    needs = {n.item_id: n for n in job_needs(plan, demo.shop, stock) if n.unit == "m"}
    assert set(needs) == set(wanted) and wanted
    vans, waste = len(plan.job.registrations), 1 + demo.shop.loom.waste_percent / 100
    for name, metres in wanted.items():
        exact = metres * vans * waste
        assert exact - 1e-9 <= float(needs[name].quantity) < exact + 0.0011


@pytest.mark.parametrize("job", JOBS)
def test_sleeves_agree_with_the_looms_own_total(demo: Loaded, plans: dict[str, Plan], job: str) -> None:
    """The loom adds its sleeves up by itself; both must come to the same."""
    plan, stock = plans[job], stock_of(demo)
    mine: dict[str, float] = {}
    for cut in cut_list(plan, stock):
        if stock.stock[cut.item_id].kind == "sleeve":
            mine[cut.item_id] = mine.get(cut.item_id, 0) + float(cut.total_mm)
    loom: dict[str, Figure] = plan.engineering["loom"]["sleeves"]
    assert mine == pytest.approx({name: figure.value for name, figure in loom.items()})


@pytest.mark.parametrize("job", JOBS)
def test_connectors_are_counted_joint_by_joint(demo: Loaded, plans: dict[str, Plan], job: str) -> None:
    plan = plans[job]
    needs = {n.item_id: n for n in job_needs(plan, demo.shop, stock_of(demo))}
    for item in {j.item_id for j in plan.joints if j.item_id}:
        own = [j for j in plan.joints if j.item_id == item]
        assert needs[item].quantity == sum(j.items for j in own) * len(plan.job.registrations)
        assert set(needs[item].traces) >= {j.id for j in own}


@pytest.mark.parametrize("job", JOBS)
def test_every_need_says_what_it_is_for(demo: Loaded, plans: dict[str, Plan], job: str) -> None:
    plan = plans[job]
    known = {j.id for j in plan.joints} | {c.id for c in plan.circuits} | {s.id for s in plan.spares}
    known |= {lead.lead for lead in plan.leads} | {"loom", "tool"}
    for need in job_needs(plan, demo.shop, stock_of(demo)):
        assert need.traces
        for trace in need.traces:
            assert trace in known or trace.startswith(("takes[", "loom of ")), trace


def test_ready_ends_are_looked_for_in_the_bag(demo: Loaded, plans: dict[str, Plan]) -> None:
    found = picks(job_needs(plans["2047"], demo.shop, stock_of(demo)), stock_of(demo))
    (antenna,) = [p for p in found if p.need.kind == "ready-end"]
    assert [antenna.need.quantity, antenna.short, antenna.order] == [6, 0, 0]
    assert antenna.need.comes_with == ("ansterby-12", "wheatear-d1")


def needs_of(**words: object) -> dict[str, Need]:
    plan, library = planned(**words)
    assert library.stock is not None and library.shop is not None
    return {n.item_id: n for n in job_needs(plan, library.shop.value, library.stock.value)}


def test_a_tool_is_taken_once_and_a_cage_once_a_vehicle() -> None:
    found = needs_of(job="takes: [cage, keys]\n", plates="[A1, A2, A3]")
    assert [found["cage"].quantity, found["keys"].quantity] == [3, 1]


def test_packs_are_ordered_whole() -> None:
    plan, library = planned(job="takes: [{item: cage, quantity: 2}]\n", plates="[A1, A2, A3]")
    assert library.stock is not None and library.shop is not None
    found = {
        p.need.item_id: p for p in picks(job_needs(plan, library.shop.value, library.stock.value), library.stock.value)
    }
    cage = found["cage"]  # 6 wanted, 1 on hand, packs of 5
    assert [cage.need.quantity, cage.short, cage.packs, cage.order] == [6, 5, 1, 5]
    assert [found["radio"].short, found["radio"].order] == [2, 2]


@given(st.integers(0, 400), st.integers(0, 400), st.integers(1, 60))
def test_an_order_is_enough_and_never_a_pack_too_many(wanted: int, on_hand: int, pack: int) -> None:
    stock = Stock.model_validate({"stock": {"x": {"title": "x", "kind": "tie", "pack": pack, "on_hand": on_hand}}})
    need = Need(item_id="x", title="x", unit="each", quantity=Decimal(wanted), traces=("t",))
    (pick,) = picks([need], stock)
    assert on_hand + pick.order >= wanted
    assert pick.order % pack == 0
    assert pick.order == 0 or on_hand + pick.order - pack < wanted


def test_a_job_that_wants_more_than_there_is_says_so() -> None:
    plan, _ = planned(job="takes: [cage]\n", plates="[A1, A2, A3]")
    told = {p.message: p for p in plan.problems if p.code == "short-of-stock"}
    assert set(told) == {"Cage: 3 wanted, 1 on hand", "Radio: 3 wanted, 1 on hand"}
    cage = told["Cage: 3 wanted, 1 on hand"]
    assert (cage.severity.value, cage.hint, cage.job) == ("warning", "order 5 (1 pack)", "1")


def test_a_warning_stands_where_the_job_asks_for_the_thing() -> None:
    plan, _ = planned(job="takes: [keys, cage]\n", plates="[A1, A2, A3]")
    told = {p.message: p.location for p in plan.problems if p.code == "short-of-stock"}
    lines = (JOB.replace("[AB1]", "[A1, A2, A3]") + "parts: [car, radio]\n").count("\n")
    assert told["Radio: 3 wanted, 1 on hand"].line == lines
    assert told["Cage: 3 wanted, 1 on hand"].line > lines


def test_a_vehicle_that_is_verified_has_its_parts_already(demo: Loaded, plans: dict[str, Plan]) -> None:
    plan = plans["2047"]
    assert [s.state for s in plan.states].count("verified") == 1
    every = {n.item_id: n.quantity for n in job_needs(plan, demo.shop, stock_of(demo))}
    still = {n.item_id: n.quantity for n in still_needed(plan, demo.shop, stock_of(demo))}
    assert [every["wheatear-d1"], still["wheatear-d1"]] == [6, 5]
    shelf = stock_of(demo)
    shelf = shelf.model_copy(
        update={"stock": shelf.stock | {"wheatear-d1": shelf.stock["wheatear-d1"].model_copy(update={"on_hand": 4})}}
    )
    found = picks(job_needs(plan, demo.shop, shelf), shelf, still_needed(plan, demo.shop, shelf))
    (radio,) = [p for p in found if p.need.item_id == "wheatear-d1"]
    assert [radio.need.quantity, radio.short, radio.order] == [6, 1, 1]


def test_jobs_that_share_the_shelf_are_told_what_they_lack_together() -> None:
    one, library = planned(job="takes: [cage]\n")
    assert library.stock is not None and one.workshop is not None
    needs = [("1", one.workshop.waiting), ("2", one.workshop.waiting)]
    told = {p.message: p for p in shelf_problems(needs, library.stock.value, library.stock.place)}
    # each job alone finds the one that is on hand
    assert "Cage: 2 wanted by jobs 1 and 2 together, 1 on hand" in told
    cage = told["Cage: 2 wanted by jobs 1 and 2 together, 1 on hand"]
    assert (cage.hint, cage.job, cage.location.file) == ("order 5 (1 pack)", "", "stock.yaml")
    assert shelf_problems(needs[:1], library.stock.value, library.stock.place) == ()


def test_what_is_on_hand_is_not_told() -> None:
    assert [p for p in planned(job="takes: [cage, keys]\n")[0].problems if p.code == "short-of-stock"] == []


def test_a_shop_without_a_stock_file_is_told_nothing() -> None:
    plan, _ = planned(stock="")
    assert "short-of-stock" not in {p.code for p in plan.problems}


def test_a_thing_that_stock_does_not_list_is_refused() -> None:
    assert "unknown-item" in codes(job="takes: [cagee]\n")


def test_jobs_are_added_up_and_a_tool_serves_them_all() -> None:
    one, two = needs_of(job="takes: [cage, keys]\n"), needs_of(job="takes: [cage, keys]\n", plates="[A1, A2]")
    total = {n.item_id: n for n in total_needs([("7", tuple(one.values())), ("8", tuple(two.values()))])}
    assert [total["cage"].quantity, total["keys"].quantity, total["radio"].quantity] == [3, 1, 3]
    assert {"7:takes[0]", "8:takes[0]"} <= set(total["cage"].traces)


def test_the_order_of_jobs_changes_nothing_but_the_traces() -> None:
    groups = [
        ("7", tuple(needs_of(job="takes: [cage]\n").values())),
        ("8", tuple(needs_of(plates="[A1, A2]").values())),
    ]
    there, back = total_needs(groups), total_needs(groups[::-1])
    assert [(n.item_id, n.quantity) for n in there] == [(n.item_id, n.quantity) for n in back]


def test_a_verified_job_takes_nothing_any_more(plans: dict[str, Plan]) -> None:
    assert "2031" not in {p.job.job for p in open_plans(plans.values())}
    assert {"2038", "2047"} <= {p.job.job for p in open_plans(plans.values())}


def test_a_table_row_a_pick(demo: Loaded, plans: dict[str, Plan]) -> None:
    found = picks(job_needs(plans["2038"], demo.shop, stock_of(demo)), stock_of(demo))
    assert len(pick_rows(found)) == len(found)
    assert all(isinstance(row[3], Decimal) for row in pick_rows(found))


def test_waste_is_the_shops(demo: Loaded, plans: dict[str, Plan]) -> None:
    shop = Shop.model_validate({"name": "x", "loom": {"waste_percent": "0"}})
    bare = {n.item_id: n.quantity for n in job_needs(plans["2038"], shop, stock_of(demo)) if n.unit == "m"}
    with_waste = {n.item_id: n.quantity for n in job_needs(plans["2038"], demo.shop, stock_of(demo)) if n.unit == "m"}
    for name, quantity in bare.items():
        assert quantity * Decimal("1.1") == pytest.approx(with_waste[name], abs=Decimal("0.0012"))


def test_check_tells_of_the_jobs_it_was_asked_about(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from loomleaf.cli import main

    assert main(["check", "2044", "--shop", str(root / "content")]) == 0
    assert capsys.readouterr().err == "1 job looked at: no problems\n"
    assert main(["check", "--shop", str(root / "content")]) == 0
    told = capsys.readouterr().err
    # counted by hand from takes of the jobs and on_hand of stock.yaml
    assert "Fascia, two-high opening, plain: 3 wanted by jobs 2041, 2044 and 2052 together, 2 on hand" in told
    assert "7 jobs looked at" in told


def test_a_ring_takes_its_stud_or_its_coat_and_a_laid_cable_its_grommet(demo: Loaded, plans: dict[str, Plan]) -> None:
    """What the steps name is on the list: the shelf's item, or in words where the shelf has none. Common practice, no source."""
    plan, stock = plans["2041"], stock_of(demo)
    group = {c.id: c.group for c in plan.circuits}
    needs = {n.item_id: n for n in job_needs(plan, demo.shop, stock)}
    assert group[needs["stud-m8"].traces[0]] == "supply" and needs["stud-m8"].quantity == 1
    assert group[needs["rust-coat"].traces[0]] == "ground" and needs["rust-coat"].quantity == 1
    assert needs["grommet-8"].traces == needs["stud-m8"].traces
    bare = stock.model_copy(update={"stock": {k: v for k, v in stock.stock.items() if v.kind not in ("stud", "coat")}})
    told = {n.title for n in job_needs(plan, demo.shop, bare) if not n.item_id}
    assert {"Insulated stud with cover", "Rust coat for a ground"} <= told
    assert not {"stud-m8", "rust-coat", "grommet-8"} & {n.item_id for n in job_needs(plans["2031"], demo.shop, stock)}
