"""Minutes from the plan: each operation counted, set-up once, further vehicles by the factor; what was taken against it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.plan.minutes import (
    JobMinutes,
    Operation,
    compare_minutes,
    job_minutes,
    own_lines,
    spoken,
    taken_shares,
)
from loomleaf.plan.readings import Taken
from tests.plan.shops import SHOP, codes, planned


def minutes_of(**words: object) -> JobMinutes:
    plan, library = planned(**words)
    assert library.shop is not None
    return job_minutes(plan, library.shop.value)


def by_name(minutes: JobMinutes) -> dict[str, Operation]:
    return {o.name: o for o in minutes.operations}


def test_each_operation_is_counted_from_the_plan() -> None:
    plan, _ = planned()
    found = by_name(minutes_of())
    assert found["butt-connector"].traces == tuple(j.id for j in plan.joints)
    assert found["check"].count == len(plan.checks)
    assert found["remove-radio"].traces == ("radio",)
    # added up by hand from the shop's own figures
    expected = 3 * 2 + len(plan.checks) * 1 + 20 + 30 + 5 + 10
    assert minutes_of().first == expected
    assert minutes_of().likely == 30 + expected


def test_set_up_is_once_and_further_vehicles_by_the_factor() -> None:
    one, four = minutes_of(), minutes_of(plates="[A1, A2, A3, A4]")
    assert four.likely == 30 + one.first * (1 + 3 * Decimal("0.85"))
    assert sum(four.in_all(o) for o in four.operations) + four.set_up == four.likely


def test_extras_are_once_for_the_whole_job() -> None:
    extra = "extras: [{what: Search for a rattle, minutes: 20, quantity: 2}]\n"
    one, four = minutes_of(job=extra), minutes_of(job=extra, plates="[A1, A2, A3, A4]")
    assert one.once == four.once == 40
    assert four.likely - minutes_of(plates="[A1, A2, A3, A4]").likely == 40


def test_access_counts_each_work_area_once() -> None:
    shop = SHOP.replace("  operations", "  access: {front-doors: 20, dash-centre: 0}\n  operations")
    found = minutes_of(job="work_areas: [dash-centre, front-doors]\n", shop_more="", files={"shop.yaml": shop})
    assert by_name(found)["access-front-doors"].minutes == 20
    assert "access-dash-centre" not in by_name(found) and found.missing == ()


def test_what_has_no_standard_is_told_and_counts_nothing() -> None:
    shop = SHOP.replace(", tape: 5", "").replace("  operations", "  access: {boot: 10}\n  operations")
    found = minutes_of(job="work_areas: [console]\n", files={"shop.yaml": shop})
    assert found.missing == ("access-console", "tape")
    assert [line for line in found.drivers if "tape" in line]


def test_a_method_the_shop_does_not_list_takes_the_references_minutes() -> None:
    plan, _ = planned()
    found = by_name(minutes_of(files={"shop.yaml": SHOP.replace("butt-connector: 2, ", "")}))
    assert found["butt-connector"].each == Decimal(str(plan.joints[0].method.minutes))


@given(low=st.floats(0.1, 3), high=st.floats(0.1, 3))
def test_the_range_holds_the_likely_value(low: float, high: float) -> None:
    more = f"  low_factor: {low:.3f}\n  high_factor: {high:.3f}\n"
    found = minutes_of(shop_more=more)
    assert found.low <= found.likely <= found.high


def test_the_range_says_what_drives_it() -> None:
    found = minutes_of()
    # 0.8 and 1.4 times the standard minutes, by hand; equal widths stand by title
    assert found.drivers[:2] == ("Fit radio: 24 to 42 min", "Set-up: 24 to 42 min")
    assert any("still to prove" in line for line in found.drivers)


def test_an_operation_has_its_own_range_and_each_unproved_way_widens_it() -> None:
    plain_range = minutes_of()
    spread = "  spread: {fit-radio: {low: 0.5, high: 3}}\n  unproved_way: 4\n"
    plan, _ = planned()
    ways = sum(len(s.unproved) for s in plan.states)
    found = minutes_of(shop_more=spread)
    assert ways > 0 and found.likely == plain_range.likely
    assert found.low == plain_range.low - 30 * (Decimal("0.8") - Decimal("0.5"))
    assert found.high == plain_range.high + 30 * (3 - Decimal("1.4")) + 4 * ways
    assert found.drivers[0] == "Fit radio: 15 to 90 min"
    assert f"{ways} ways still to prove by meter: up to {4 * ways} min more" in found.drivers


def test_a_range_that_is_none_is_refused() -> None:
    assert "out-of-range" in codes(shop_more="  spread: {fit-radio: {low: 1.2, high: 3}}\n")
    assert "unknown-operation" in codes(shop_more="  spread: {fit-rado: {low: 0.5, high: 3}}\n")


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(0, "0 min"), (2, "0 min"), (3, "5 min"), (59, "1 h"), (62.5, "1 h 5 min"), (153, "2 h 35 min")],
)
def test_time_is_spoken_to_five_minutes(minutes: float, said: str) -> None:
    assert spoken(Decimal(str(minutes))) == said


def test_minutes_of_an_unknown_operation_are_refused() -> None:
    assert "unknown-operation" in codes(job="minutes_spent: {remove-rado: 5}\n")
    assert "unknown-operation" not in codes(job="minutes_spent: {remove-radio: 5, set-up: 12, butt-connector: 7}\n")


# --- against what was taken --------------------------------------------------------------------------------------


def test_only_the_vehicles_that_were_timed_are_compared() -> None:
    four = minutes_of(plates="[A1, A2, A3, A4]")
    taken = {"remove-radio": Taken(minutes=Decimal(50), vehicles=2), "set-up": Taken(minutes=Decimal(40), vehicles=1)}
    rows = {c.name: c for c in compare_minutes([("1", four, taken)])}
    share = Decimal(20) * (1 + 3 * Decimal("0.85")) / 4  # of one van: 17.75
    # 50 minutes for two vans where the standard gives 35.5: the standard for one would have had to be 28.2
    assert [rows["remove-radio"].count, rows["remove-radio"].own_each] == [2, Decimal("28.2")]
    assert rows["remove-radio"].standard == share * 2
    assert [rows["set-up"].standard, rows["set-up"].taken] == [30, 40]


def test_jobs_are_added_up_and_unplanned_work_is_left_out() -> None:
    one = minutes_of()
    first = {"butt-connector": Taken(minutes=Decimal(9), vehicles=1), "spare": Taken(minutes=Decimal(4), vehicles=1)}
    second = {"butt-connector": Taken(minutes=Decimal(6), vehicles=1)}
    (row,) = compare_minutes([("1", one, first), ("2", one, second)])
    assert [row.name, row.count, row.taken, row.standard] == ["butt-connector", 6, 15, 12]
    assert (row.own_each, row.jobs) == (Decimal("2.5"), ("1", "2"))


@given(st.integers(1, 400), st.integers(1, 4))
def test_the_shops_own_figure_makes_the_estimate_come_true(taken: int, vans: int) -> None:
    four = minutes_of(plates="[A1, A2, A3, A4]")
    spent = {"remove-radio": Taken(minutes=Decimal(taken), vehicles=vans)}
    (row,) = compare_minutes([("1", four, spent)])
    shop = SHOP.replace("remove-radio: 20", f"remove-radio: {row.own_each}")
    again = by_name(minutes_of(plates="[A1, A2, A3, A4]", files={"shop.yaml": shop}))["remove-radio"]
    half_a_step = 0.05 if row.own_each >= 2 else 0.005
    assert float(four.in_all(again)) / 4 * vans == pytest.approx(taken, abs=half_a_step * vans + 1e-9)


def test_its_own_lines_are_yaml_for_shop_yaml() -> None:
    import yaml

    extra = "extras: [{what: Search, minutes: 20}]\nwork_areas: [dash-centre, boot]\n"
    shop = SHOP.replace("  operations", "  access: {boot: 10, dash-centre: 5}\n  operations")
    one = minutes_of(job=extra, files={"shop.yaml": shop})
    spent = {"set-up": 40, "butt-connector": 9, "access-boot": 14, "extra-1": 33}
    taken = {name: Taken(minutes=Decimal(minutes), vehicles=1) for name, minutes in spent.items()}
    rows = compare_minutes([("1", one, taken)])
    offered = yaml.safe_load("\n".join(own_lines(rows)))
    assert offered == {"minutes": {"set_up": 40, "operations": {"butt-connector": 3}, "access": {"boot": 14}}}
    assert "butt-connector: 3 # was 2; 3 times on 1 job" in "\n".join(own_lines(rows))
    assert own_lines(()) == ()


def test_a_range_of_its_own_is_offered_after_five_jobs() -> None:
    one = minutes_of()
    jobs = [
        (str(n), one, {"remove-radio": Taken(minutes=Decimal(m), vehicles=1)}) for n, m in enumerate((15, 20, 22, 30, 25))
    ]
    shares = taken_shares(jobs)
    assert [share for _, share in shares] == [Decimal(m) / 20 for m in (15, 20, 22, 30, 25)]
    lines = own_lines(compare_minutes(jobs), shares)
    assert lines[-2:] == ("  low_factor: 0.75 # of 5 jobs", "  high_factor: 1.50")
    assert not [line for line in own_lines(compare_minutes(jobs[:4]), shares[:4]) if "factor" in line]


def test_minutes_on_a_sheet_for_work_that_is_not_known_are_told() -> None:
    sheet = 'job: "1"\nrevision: A\nminutes: {remove-rado: "20"}\n'
    assert "unknown-operation" in codes(files={"readings/1-A.yaml": sheet})
