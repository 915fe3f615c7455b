"""The price: rounded lines always add up to the total shown, proved against a second calculation in whole cents."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loomleaf.model.shop import Shop
from loomleaf.plan.price import Estimate, PriceLine, add_up, authorised, tax_on, to_step
from loomleaf.plan.types import Plan
from loomleaf.plan.workshop import workshop_text
from tests.plan.shops import RADIO, SHOP, STOCK, codes, planned

ISSUED = date(2026, 5, 12)


def half_up(value: Fraction) -> int:
    """Whole units, half away from zero, from exact fractions: nothing in common with Decimal."""
    return floor(value + Fraction(1, 2)) if value >= 0 else -floor(-value + Fraction(1, 2))


def by_hand(
    lines: list[tuple[int, str]], taxes: dict[str, Fraction], *, discount: Fraction, included: bool
) -> tuple[int, int, int, int]:
    """Sum, discount, tax and total in the smallest unit, from line totals in the smallest unit."""
    discounts = owed = 0
    for name, percent in taxes.items():
        own = sum(total for total, tax in lines if tax == name)
        off = half_up(own * discount / 100)
        base = own - off
        discounts += off
        owed += half_up(base * percent / (100 + percent)) if included else half_up(base * percent / 100)
    whole = sum(total for total, _ in lines)
    return whole, discounts, owed, whole - discounts + (0 if included else owed)


def shop_of(decimals: int, percent: str, other: str, *, included: bool, step: str = "") -> Shop:
    return Shop.model_validate(
        {
            "name": "T",
            "decimals": str(decimals),
            "round_total_to": step,
            "tax": {
                "name": "VAT",
                "percent": percent,
                "included": "yes" if included else "no",
                "others": {"low": other},
            },
        }
    )


percents = st.integers(0, 3000).map(lambda n: f"{n // 100}.{n % 100:02d}")


@given(
    totals=st.lists(st.tuples(st.integers(0, 5_000_000), st.sampled_from(["VAT", "low"])), max_size=12),
    decimals=st.integers(0, 3),
    percent=percents,
    other=percents,
    discount=st.integers(0, 10_000).map(lambda n: f"{n // 100}.{n % 100:02d}"),
    included=st.booleans(),
)
def test_the_sum_is_what_a_second_calculation_gives(
    totals: list[tuple[int, str]], decimals: int, percent: str, other: str, discount: str, included: bool
) -> None:
    unit = Decimal(1).scaleb(-decimals)
    lines = tuple(PriceLine(kind="part", what="x", quantity="1", total=t * unit, tax=tax) for t, tax in totals)
    shop = shop_of(decimals, percent, other, included=included)
    e = add_up(lines, shop, discount_percent=Decimal(discount), deposit=Decimal(0), issued=ISSUED)
    taxes = {"VAT": Fraction(percent), "low": Fraction(other)}
    whole, off, tax, gross = by_hand(totals, taxes, discount=Fraction(discount), included=included)
    assert (e.subtotal, e.discount, e.tax, e.gross) == (whole * unit, off * unit, tax * unit, gross * unit)
    adds_up(e)


def adds_up(e: Estimate) -> None:
    """Everything on the paper is a sum of other things on the paper, to the last cent."""
    assert sum((line.total for line in e.lines), Decimal(0)) == e.subtotal
    assert e.labour + e.parts + e.materials + e.extras == e.subtotal
    assert sum((t.amount for t in e.taxes), Decimal(0)) == e.tax
    assert sum((t.base for t in e.taxes), Decimal(0)) == e.subtotal - e.discount
    assert sum((t.discount for t in e.taxes), Decimal(0)) == e.discount
    shown = e.subtotal - e.discount + (Decimal(0) if e.tax_included else e.tax) + e.rounding
    assert shown == e.gross
    assert e.net + e.tax + e.rounding == e.gross
    assert e.balance + e.deposit == e.gross


@given(st.integers(0, 10_000_000), percents)
def test_tax_taken_out_of_a_price_and_put_on_again_is_within_a_cent(cents: int, percent: str) -> None:
    gross = Decimal(cents) / 100
    tax = tax_on(gross, Decimal(percent), included=True, decimals=2)
    assert abs(tax_on(gross - tax, Decimal(percent), included=False, decimals=2) - tax) <= Decimal("0.01")


@pytest.mark.parametrize(
    ("net", "percent", "tax"),
    [("100.00", "20", "20.00"), ("0.10", "25", "0.03"), ("0.02", "25", "0.01"), ("33.33", "19", "6.33")],
)
def test_tax_on_a_net_price(net: str, percent: str, tax: str) -> None:
    """By hand: 0.10 x 25 % = 0.025, rounded half away from zero to 0.03."""
    assert tax_on(Decimal(net), Decimal(percent), included=False, decimals=2) == Decimal(tax)


@given(st.integers(0, 1_000_000), st.sampled_from(["0.05", "0.10", "0.5", "1", "10"]))
def test_the_smallest_coin(cents: int, step: str) -> None:
    amount, size = Decimal(cents) / 100, Decimal(step)
    paid = to_step(amount, step, 2)
    assert paid % size == 0 and abs(paid - amount) <= size / 2


def test_a_rounded_total_shows_its_step() -> None:
    lines = (PriceLine(kind="part", what="x", quantity="1", total=Decimal("10.03"), tax="VAT"),)
    e = add_up(
        lines,
        shop_of(2, "0", "0", included=False, step="0.05"),
        discount_percent=Decimal(0),
        deposit=Decimal(0),
        issued=ISSUED,
    )
    assert (e.gross, e.rounding) == (Decimal("10.05"), Decimal("0.02"))
    adds_up(e)


# --- of a whole job ----------------------------------------------------------------------------------------------


def priced(**words: Any) -> tuple[Estimate, Plan]:
    plan, _ = planned(**words)
    assert plan.workshop is not None and plan.workshop.estimate is not None
    adds_up(plan.workshop.estimate)
    return plan.workshop.estimate, plan


def test_labour_is_the_likely_time_at_the_rate() -> None:
    e, plan = priced()
    assert plan.workshop is not None
    assert e.labour == plan.workshop.minutes.likely  # 60.00 an hour: a minute is 1.00


def test_every_line_leads_back_to_the_plan() -> None:
    e, plan = priced(job="extras: [{what: Foam tape, price: '2.50'}]\ntakes: [cage]\n")
    known = {j.id for j in plan.joints} | {c.key for c in plan.checks} | {lead.lead for lead in plan.leads}
    known |= {"job", "loom", "extras[0]", "takes[0]", *plan.job.work_areas}
    assert {line.kind for line in e.lines} == {"labour", "part", "material", "extra"}
    for line in e.lines:
        assert line.traces and set(line.traces) <= known, line.what


def test_the_parts_own_price_counts_before_the_shelfs() -> None:
    e, _ = priced()
    assert [line.total for line in e.lines if line.traces == ("radio",) and line.kind == "part"] == [Decimal("100.00")]


def test_a_tool_and_a_ready_end_cost_nothing() -> None:
    e, _ = priced(job="takes: [keys]\n")
    assert not [line for line in e.lines if "key" in line.what.lower()]


def test_a_fleet_pays_for_each_part_of_each_vehicle() -> None:
    e, _ = priced(plates="[A1, A2, A3]", job="takes: [cage]\n")
    what = {line.what: line for line in e.lines}
    assert (what["radio"].quantity, what["radio"].total) == ("3", Decimal("300.00"))
    assert what["Cage"].total == Decimal("12.60")


def test_operations_at_another_rate_are_a_line_of_their_own() -> None:
    shop = SHOP.replace(
        'rates: {labour_hour: "60.00"}',
        'rates: {labour_hour: "60.00", others: {diagnosis: "90.00"}, operations: {check: diagnosis}}',
    )
    e, plan = priced(files={"shop.yaml": shop})
    lines = {line.what: line for line in e.lines if line.kind == "labour"}
    assert set(lines) == {"Fitting", "Diagnosis"}
    assert lines["Diagnosis"].total == Decimal(len(plan.checks)) * Decimal("1.50")
    assert set(lines["Diagnosis"].traces) == {c.key for c in plan.checks}


def test_taxes_by_kind_of_line() -> None:
    tax = "tax: {name: VAT, percent: '20', others: {reduced: '5'}, uses: {labour: reduced}}\n"
    e, _ = priced(shop_more=tax)
    assert {t.name: t.base for t in e.taxes} == {"reduced": e.labour, "VAT": e.subtotal - e.labour}
    assert {t.name: t.title for t in e.taxes} == {"reduced": "Reduced", "VAT": "VAT"}


def test_the_estimate_is_valid_for_the_shops_days() -> None:
    e, plan = priced(shop_more="valid_days: 14\n")
    assert (e.valid_until - plan.job.issued).days == 14


def test_what_was_added_stands_apart_with_who_agreed_and_when() -> None:
    extra = (
        "extras:\n  - {what: Antenna plug, price: '38.00', added: 2026-05-13, agreed_by: Ada, agreed_how: by telephone}\n"
        "  - {what: Foam tape, price: '2.50'}\n"
    )
    e, plan = priced(job=extra)
    (line,) = e.added
    assert (line.what, line.agreed_by, line.agreed_on) == ("Antenna plug", "Ada", date(2026, 5, 13))
    assert "Antenna plug" not in {x.what for x in e.estimated}
    assert authorised(plan.job, e).open == ()


def test_an_addition_nobody_agreed_to_holds_the_job() -> None:
    plan, _ = planned(job="extras: [{what: Antenna plug, price: '38.00', added: 2026-05-13}]\n")
    assert plan.held and {p.code for p in plan.problems} == {"addition-not-agreed"}


def test_more_than_was_agreed_is_told() -> None:
    agreed = "agreed:\n  - {who: Ada, how: at the counter, on: 2026-05-10, amount: '100.00'}\n"
    plan, _ = planned(job=agreed)
    assert [p.code for p in plan.problems if "agreed" in p.code] == ["more-than-agreed"]
    (told,) = [p for p in plan.problems if p.code == "more-than-agreed"]
    assert plan.workshop is not None and plan.workshop.estimate is not None
    more = plan.workshop.estimate.gross - 100
    assert f'what the new word adds, not the new total:  amount: "{more}"' in told.hint
    enough = agreed + f"  - {{who: Ada, how: by telephone, on: 2026-05-11, amount: '{more}'}}\n"
    assert [p.code for p in planned(job=enough)[0].problems if "agreed" in p.code] == []


def test_a_new_total_written_as_one_more_line_is_told() -> None:
    """Every line adds: 220 and then the new total of 230 is 450, and without a word nothing would be told ever after."""
    agreed = "agreed:\n  - {who: Ada, on: 2026-05-10, amount: '220.00'}\n  - {who: Ada, on: 2026-05-11, amount: '230.00'}\n"
    plan, library = planned(job=agreed)
    (told,) = [p for p in plan.problems if "agreed" in p.code]
    assert told.code == "agreed-far-above" and told.message.startswith("450.00 EUR was agreed")
    assert "write there only what it adds" in told.hint
    assert plan.workshop is not None and library.shop is not None
    said = workshop_text(plan.workshop, library.shop.value)
    assert "  Agreed: 450.00 EUR, every word added: 220.00 EUR + 230.00 EUR\n" in said


def test_a_word_for_an_earlier_revision_is_asked_again_once_prices_stand_no_longer() -> None:
    """A year before the sheets of revision B it says nothing any more; a week before (the job is of 12 May 2026) it does."""
    rest = "revision: B\nreplaces: A\nagreed: [{who: Ada, on: %s, amount: '500.00'}]\n"
    for day, told in (("2025-05-12", ["agreed-before"]), ("2026-05-05", ["agreed-far-above"])):
        assert [p.code for p in planned(job=rest % day)[0].problems if "agreed" in p.code] == told
    first = rest.replace("revision: B\nreplaces: A\n", "") % "2025-05-12"
    assert "agreed-before" not in {p.code for p in planned(job=first)[0].problems}


@pytest.mark.parametrize("included", ["yes", "no"])
def test_the_words_on_tax_can_be_worked_out_again(included: str) -> None:
    plan, library = planned(shop_more=f"tax: {{name: VAT, percent: '20', included: {included}}}\n")
    assert plan.workshop is not None and library.shop is not None
    e = plan.workshop.estimate
    assert e is not None
    said = workshop_text(plan.workshop, library.shop.value)
    (tax,) = e.taxes
    if e.tax_included:
        assert f"  in it VAT, 20 %: {tax.amount} EUR; without it {e.net} EUR\n" in said
        assert abs(e.net * Decimal("0.2") - tax.amount) <= Decimal("0.01") and e.net + tax.amount == e.gross
    else:
        assert f"  VAT, 20 % of {tax.base} EUR: {tax.amount} EUR\n" in said


def test_a_deposit_over_the_whole_is_told() -> None:
    plan, _ = planned(job="deposit: '5000.00'\n")
    assert "deposit-too-large" in {p.code for p in plan.problems}


@pytest.mark.parametrize(
    ("job", "shop_more", "code"),
    [
        ("extras: [{what: x, price: '-3'}]\n", "", "bad-money"),
        ("extras: [{what: x, price: '1e3'}]\n", "", "bad-money"),
        ("extras: [{what: x, price: '3', quantity: 0}]\n", "", "out-of-range"),
        ("extras: [{what: x, price: '3', tax: none-such}]\n", "", "unknown-tax"),
        ("extras: [{what: x, price: '3', minutes: 5, rate: none-such}]\n", "", "unknown-rate"),
        ("extras: [{what: x, registration: ZZ1}]\n", "", "not-in-this-job"),
        ("deposit: lots\n", "", "bad-money"),
        ("agreed: [{who: A, amount: '9 00'}]\n", "", "bad-money"),
        ("discount_percent: 101\n", "", "out-of-range"),
        ("", "tax: {percent: '-20'}\n", "bad-money"),
        ("", "tax: {percent: '120'}\n", "out-of-range"),
        ("", "tax: {others: {low: x}}\n", "bad-money"),
        ("", "tax: {uses: {part: low}}\n", "unknown-tax"),
        ("", "tax: {uses: {parts: low}}\n", "not-a-choice"),
        ("", "round_total_to: five\n", "bad-money"),
    ],
)
def test_a_wrong_amount_is_a_problem_and_never_a_wrong_total(job: str, shop_more: str, code: str) -> None:
    assert code in codes(job=job, shop_more=shop_more)


def test_a_price_on_the_shelf_that_cannot_be_read_leaves_no_total_at_all() -> None:
    from loomleaf.plan.planner import plan_job
    from tests.plan.shops import STOCK, shop

    library, problems = shop(stock=STOCK.replace('"0.16"', '"-0.16"'))
    assert "bad-money" in {p.code for p in problems}
    plan = plan_job(library, library.jobs["1"], problems)
    assert plan.workshop is not None and plan.workshop.estimate is None


def test_a_vehicle_twice_is_refused() -> None:
    assert "twice" in codes(plates="[AB1, ab 1]")


@given(st.lists(st.tuples(st.integers(0, 99_999), st.integers(1, 40)), max_size=6))
def test_extras_of_any_price_add_up(extras: list[tuple[int, int]]) -> None:
    assume(extras)
    rows = ", ".join(f"{{what: x, price: '{p / 1000:.3f}', quantity: {q}}}" for p, q in extras)
    e, _ = priced(job=f"extras: [{rows}]\n")
    cents = [half_up(Fraction(p, 1000) * q * 100) for p, q in extras]
    assert e.extras == Decimal(sum(cents)) / 100


def test_the_plan_says_each_line_and_they_add_up() -> None:
    extra = (
        "deposit: '20.00'\ndiscount_percent: 10\nextras:\n"
        "  - {what: Antenna plug, price: '38.00', added: 2026-05-13, agreed_by: Ada, agreed_how: by telephone}\n"
        "  - {what: Search, minutes: 30, rate: search}\n"
    )
    shop = "tax: {name: VAT, percent: '20', others: {low-rate: '5'}, uses: {part: low-rate}}\n"
    words = SHOP.replace('labour_hour: "60.00"', 'labour_hour: "60.00", others: {search: "90.00"}')
    e, plan = priced(job=extra, files={"shop.yaml": words + shop})
    _, library = planned(job=extra, files={"shop.yaml": words + shop})
    assert plan.workshop is not None and library.shop is not None
    text = workshop_text(plan.workshop, library.shop.value)
    told = text[text.index("Price: ") :].splitlines()
    assert "  Search, about 30 min: 45.00 EUR" in told
    assert "  Antenna plug, 1: 38.00 EUR (added 2026-05-13, agreed by Ada, by telephone, 2026-05-13)" in told
    assert f"  Deposit: −20.00 EUR; still to pay: {e.gross - 20} EUR" in told
    amounts = [Decimal(line.split(": ")[1].split(" EUR")[0].replace("−", "-")) for line in told[1:] if "Deposit" not in line]
    assert sum(amounts, Decimal(0)) == e.gross
    assert [line for line in told if line.startswith("  Low rate, 5 % of ")]


def left_out(**words: Any) -> list[tuple[str, str, str]]:
    """Where, what and how of everything that is told to be in no price."""
    plan, _ = planned(**words)
    wanted = ("no-minutes", "price-is-nothing")
    return [(p.location.file, p.message, p.hint) for p in plan.problems if p.code in wanted]


def test_work_without_minutes_is_told_once_a_job_and_named() -> None:
    assert left_out() == []
    shop_file = SHOP.replace("tape: 5, ", "")
    ((file, message, hint),) = left_out(
        job="work_areas: [console, seat]\n", files={"shop.yaml": shop_file}
    )
    assert file == "shop.yaml"
    assert message == (
        "shop.yaml has no minutes for tape, access to console, access to seat: this work is in no estimate"
    )
    assert hint.endswith("under  minutes:  operations: {tape: …}, access: {console: …, seat: …}")


def test_a_rate_or_a_price_of_nothing_is_told_where_it_stands() -> None:
    assert left_out(files={"shop.yaml": SHOP.replace("60.00", "0.00")}) == [
        (
            "shop.yaml",
            "an hour of work costs 0 (labour_hour): it is in no estimate",
            "write what an hour costs",
        )
    ]
    for price, words in (("0.00", "a price of 0"), ("", "no price")):
        radio = RADIO.replace('price: "100.00"\n', f'price: "{price}"\n' if price else "")
        stock = STOCK.replace("part: radio, ", "part: other, ")
        ((file, message, _),) = left_out(files={"leads/radio.yaml": radio}, stock=stock)
        assert (file, message) == ("leads/radio.yaml", f"radio has {words}: it is in no estimate")


def test_a_shop_that_makes_no_prices_is_told_nothing() -> None:
    assert left_out(files={"shop.yaml": "name: Test\n", "leads/radio.yaml": RADIO.replace("100.00", "0.00")}) == []
