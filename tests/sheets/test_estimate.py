"""The estimate: sums that add up on paper, what was added and agreed told apart, plain words, nothing of the workshop's own."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from weasyprint.formatting_structure import boxes as kinds

from loomleaf.model.job import Agreement, Extra, Job
from loomleaf.model.shop import Shop, Stock, Tax
from loomleaf.pipeline import load_shop
from loomleaf.plan.types import Plan
from loomleaf.plan.workshop import workshop_of
from loomleaf.sheets import render_sheet, sheet_html
from loomleaf.sheets.estimate import EstimateView, estimate_data, estimate_view, money
from loomleaf.sheets.views import frame
from tests.conftest import ROOT

from .conftest import FLEET_JOB, FULL_JOB, HELD_JOB, JOBS, PLAIN_JOB, World, boxes, sheet
from .test_layout import MM
from .test_layout import laid_out as pages_of
from .test_summary import FORBIDDEN, grade


@pytest.fixture(scope="module")
def stock() -> Stock:
    found = load_shop(ROOT / "content").library.stock
    assert found is not None
    return found.value


def priced(plan: Plan, shop: Shop, stock: Stock, **change: Any) -> Plan:
    """The plan of a job that differs in what is named, with its price worked out again."""
    job: Job = plan.job.model_copy(update=change)
    changed = replace(plan, job=job, workshop=None)
    return replace(changed, workshop=workshop_of(changed, shop, stock))


def view_of(world: World, plan: Plan, shop: Shop | None = None) -> EstimateView:
    shop = shop or world.shop
    head, _ = frame(
        plan, shop, world.reference, kind="estimate", title="Estimate", paper="A4", fillable=True, for_customer=True
    )
    assert head is not None
    return estimate_view(plan, shop, world.reference, head)


def html_of(world: World, plan: Plan, shop: Shop | None = None) -> str:
    html, problems = sheet_html("estimate", plan, shop or world.shop, world.reference)
    assert html is not None, problems
    return html


def number(text: str) -> Decimal:
    """An amount as it stands on paper."""
    return Decimal(text.replace("\u202f", "").replace("−", "-"))


def sums(view: EstimateView) -> dict[str, Decimal]:
    return {line.what: number(line.amount) for line in view.sums}


LATER = (
    Extra(
        what="A second USB socket",
        price="35.50",
        quantity=2,
        added=date(2026, 5, 13),
        agreed_by="Ines Vale",
        agreed_how="at the counter",
        agreed_on=date(2026, 5, 14),
    ),
    Extra(what="New antenna base", price="48.00", added=date(2026, 5, 15)),
)


# --- sums --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_what_stands_on_paper_adds_up(world: World, job: str) -> None:
    """Added up again from the printed amounts alone."""
    view = view_of(world, world.plans[job])
    for block in view.blocks:
        assert sum(number(line.amount) for line in block.lines) == number(block.total.amount)
    lines = sum((number(b.total.amount) for b in view.blocks), Decimal(0)) + sum(number(a.amount) for a in view.added)
    found = sums(view)
    assert found.get("Sum of all lines", lines) == lines
    steps = [
        amount for what, amount in found.items() if what not in ("Sum of all lines", "Total", "Still to pay", "Deposit")
    ]
    assert lines + sum(steps, Decimal(0)) == found["Total"]
    if "Deposit" in found:
        assert found["Total"] + found["Deposit"] == found["Still to pay"]


@pytest.mark.parametrize("job", JOBS)
def test_labour_is_the_printed_time_at_the_printed_rate(world: World, job: str) -> None:
    """The customer's own sum: 16 CCR 3353 asks for a labour price that can be understood; common practice beyond that."""
    view = view_of(world, world.plans[job])
    (labour,) = [block for block in view.blocks if block.title == "Labour"]
    for line in labour.lines:
        time = re.fullmatch(r"(?:(\d+) h ?)?(?:(\d+) min)? ?at ([\d.]+) an hour", line.detail)
        assert time, line.detail
        minutes = 60 * int(time[1] or 0) + int(time[2] or 0)
        exact = Decimal(minutes) / 60 * Decimal(time[3])
        assert abs(number(line.amount) - exact) <= Decimal("0.005")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("job", JOBS)
def test_a_sum_stands_with_the_last_line_that_it_adds_up(job: str, paper: str) -> None:
    found = 0
    for page in pages_of("estimate", job, paper).pages:
        rows = [_classes(box) for box in boxes(page, lambda b: "money-row" in _classes(b))]
        for before, row in pairwise([set(), *rows]):
            if "money-sum" in row:
                found += 1
                assert "money-row" in before
    assert found


def test_tax_discount_and_deposit_by_hand(world: World, stock: Stock) -> None:
    """20 % on top of what is left after 10 %; each rounded once, half away from zero."""
    plan = priced(world.plans[FULL_JOB], world.shop, stock, discount_percent=10, deposit="200.00")
    found = sums(view_of(world, plan))
    subtotal = found["Sum of all lines"]
    discount = (subtotal / 10).quantize(Decimal("0.01"), rounding="ROUND_HALF_UP")
    tax = ((subtotal - discount) / 5).quantize(Decimal("0.01"), rounding="ROUND_HALF_UP")
    assert found["Discount"] == -discount
    assert found["VAT"] == tax
    assert found["Total"] == subtotal - discount + tax
    assert found["Still to pay"] == found["Total"] - 200


def test_tax_that_the_amounts_hold_already(world: World, stock: Stock) -> None:
    shop = world.shop.model_copy(update={"tax": Tax(name="VAT", percent="20", included=True)})
    plan = priced(world.plans[PLAIN_JOB], shop, stock)
    view = view_of(world, plan, shop)
    found = sums(view)
    held = (found["Total"] / 6).quantize(Decimal("0.01"), rounding="ROUND_HALF_UP")
    assert found["of which VAT"] == held
    assert "VAT" not in found
    assert "The amounts include VAT." in view.terms and "VAT is added at the end." not in view.terms


def test_whole_coins_and_a_step_of_the_smallest(world: World, stock: Stock) -> None:
    shop = world.shop.model_copy(update={"decimals": 0, "currency": "ISK"})
    view = view_of(world, priced(world.plans[PLAIN_JOB], shop, stock), shop)
    assert all(re.fullmatch(r"[−\d\u202f]+", line.amount) for line in view.sums)
    shop = world.shop.model_copy(update={"round_total_to": "0.05"})
    view = view_of(world, priced(world.plans[PLAIN_JOB], shop, stock), shop)
    assert sums(view)["Total"] % Decimal("0.05") == 0


def test_labour_parts_and_materials_stand_apart(world: World) -> None:
    """Rule 35. Small materials are one line: who wants each sleeve looks at the lists beside the sheet."""
    for job in JOBS:
        plan = world.plans[job]
        assert plan.workshop is not None and plan.workshop.estimate is not None
        estimate = plan.workshop.estimate
        view = view_of(world, plan)
        titles = [b.title for b in view.blocks]
        assert titles[:2] == ["Labour", "Parts"]
        totals = {b.title: number(b.total.amount) for b in view.blocks}
        assert totals["Labour"] == estimate.labour and totals["Parts"] == estimate.parts
        assert {line.what for b in view.blocks if b.title == "Parts" for line in b.lines} == {
            line.what for line in estimate.lines if line.kind == "part"
        }


def test_a_fleet_says_what_one_vehicle_comes_to(world: World) -> None:
    view = view_of(world, world.plans[FLEET_JOB])
    total = sums(view)["Total"]
    mean = (total / 6).quantize(Decimal("0.01"), rounding="ROUND_HALF_UP")
    assert view.each == f"That is EUR {mean} for each of the 6 vehicles, on average."
    assert view_of(world, world.plans[FULL_JOB]).each == ""


def test_a_part_without_a_price_is_named(world: World, stock: Stock) -> None:
    plan = world.plans[PLAIN_JOB]
    leads = tuple(
        lead.model_copy(update={"price": "", "lead": "unpriced-radio"}) if lead.side == "radio" else lead
        for lead in plan.leads
    )
    changed = replace(plan, leads=leads, workshop=None)
    changed = replace(changed, workshop=workshop_of(changed, world.shop, stock))
    radio = next(lead for lead in leads if lead.side == "radio")
    assert view_of(world, changed).unpriced == (radio.exact or radio.title,)
    assert "Not in this price yet:" in html_of(world, changed)
    assert "Not in this price yet" not in html_of(world, plan)


def test_work_that_has_no_minutes_yet_is_named_in_plain_words(world: World, stock: Stock) -> None:
    minutes = world.shop.minutes
    less = {name: each for name, each in minutes.operations.items() if name not in ("fit-accessory", "tape", "check")}
    shop = world.shop.model_copy(
        update={"minutes": minutes.model_copy(update={"operations": less, "access": {"boot": 10}})}
    )
    plan = replace(world.plans[FULL_JOB], workshop=None)
    plan = replace(plan, workshop=workshop_of(plan, shop, stock))
    assert set(view_of(world, plan, shop).unpriced) == {
        "opening and closing of the dash centre",
        "opening and closing of the engine bay",
        "opening and closing of the front doors",
        "opening and closing of the seat",
        "our checks",
        "fitting of the added parts",
        "wrapping of the wires",
    }
    free = shop.model_copy(update={"rates": shop.rates.model_copy(update={"labour_hour": "0.00"})})
    assert view_of(world, plan, free).unpriced == ("our work",)


def test_what_is_still_open_is_said_as_on_the_summary(world: World) -> None:
    from loomleaf.sheets.summary import open_points

    plan = world.plans[HELD_JOB]
    said = open_points(plan)
    assert said
    assert view_of(world, plan).open_points == " ".join((*said, "The price may change."))
    summary, _ = sheet_html("summary", plan, world.shop, world.reference)
    assert summary is not None
    assert all(words in summary and words in html_of(world, plan) for words in said)
    assert view_of(world, world.plans[PLAIN_JOB]).open_points == ""


def test_the_day_it_ends(world: World) -> None:
    """12 May 2026 and 30 days: 11 June 2026."""
    assert world.shop.valid_days == 30
    assert "This estimate holds until 11 June 2026." in " ".join(sheet("estimate", FULL_JOB).pages)


def test_without_a_price_there_is_no_estimate(world: World) -> None:
    plan = replace(world.plans[PLAIN_JOB], workshop=None)
    made, problems = render_sheet("estimate", plan, world.shop, world.reference)
    assert made is None
    assert [p.code for p in problems] == ["no-price"]


# --- estimated, added, agreed ------------------------------------------------------------------------------------


def test_what_was_added_later_says_who_agreed_how_and_when(world: World, stock: Stock) -> None:
    plan = priced(world.plans[FULL_JOB], world.shop, stock, extras=LATER)
    view = view_of(world, plan)
    agreed, waiting = view.added
    assert (agreed.what, agreed.added, agreed.amount) == ("A second USB socket", "Added on 13 May 2026", "71.00")
    assert agreed.word == "Agreed by Ines Vale, at the counter, on 14 May 2026."
    assert waiting.word == ""
    html = html_of(world, plan)
    part = html.split("Added later")[1].split("</table>")[0]
    assert part.count("Not yet agreed.") == 1 and 'name="added-2"' in part and 'name="added-1"' not in part
    whole = " ".join(line.what for b in view.blocks for line in b.lines)
    assert "USB socket" not in whole and "antenna base" not in whole


def test_work_planned_from_the_start_is_not_called_added(world: World, stock: Stock) -> None:
    plan = priced(world.plans[FULL_JOB], world.shop, stock, extras=(Extra(what="Towing bracket", price="12.00"),))
    view = view_of(world, plan)
    assert view.added == ()
    assert any(line.what == "Towing bracket" for b in view.blocks for line in b.lines)
    assert view.blocks[-1].title == "Small materials and other work"


def test_estimate_and_word_are_signed_apart(world: World) -> None:
    html = html_of(world, world.plans[FULL_JOB])
    first, second = html.split("What you have agreed to")
    assert 'name="estimated__2"' in first and 'name="authorised__2"' not in first
    assert 'name="authorised__2"' in second and 'name="estimated__2"' not in second
    assert "Ines Vale, by telephone, 10 May 2026" in second


@pytest.mark.parametrize(
    ("amount", "said"),
    [("100.00", "more than you have agreed to"), ("99999.00", "stays within what you have agreed to")],
)
def test_a_price_beyond_the_word_is_told(world: World, stock: Stock, amount: str, said: str) -> None:
    word = Agreement(who="Ines Vale", how="in writing", on=date(2026, 5, 12), amount=amount)
    plan = priced(world.plans[FULL_JOB], world.shop, stock, agreed=(word,))
    view = view_of(world, plan)
    assert said in view.difference
    if amount == "100.00":
        assert f"EUR {money(sums(view)['Total'] - 100, 2)} more" in view.difference


def test_two_words_are_added_up(world: World, stock: Stock) -> None:
    words = (
        Agreement(who="Ines Vale", amount="300.00"),
        Agreement(who="Ines Vale", how="by telephone", amount="45.50"),
    )
    view = view_of(world, priced(world.plans[FULL_JOB], world.shop, stock, agreed=words))
    assert view.authorised_total is not None and view.authorised_total.amount == "345.50"


def test_no_word_yet(world: World) -> None:
    assert not world.plans[HELD_JOB].job.agreed
    assert "You have not agreed to any work yet." in " ".join(sheet("estimate", HELD_JOB).pages)


# --- plain, and silent about the workshop's own ------------------------------------------------------------------


def running_words(world: World, plan: Plan, stock: Stock) -> list[str]:
    """The sheet's own sentences; names, parts and the request are left out, as the rule says."""
    view = view_of(world, plan)
    html = html_of(world, plan)
    body = html.split("What it comes to")[1]
    found = [
        " ".join(re.sub(r"<[^>]+>", " ", text).split())
        for text in re.findall(r'<p class="text[^>]*>(.*?)</p>', body, re.DOTALL)
    ]
    return [s for text in [*found, view.open_points] for s in re.split(r"(?<=[.?!]) ", text) if s]


@pytest.mark.parametrize("job", JOBS)
def test_reading_level(world: World, stock: Stock, job: str) -> None:
    """Grade at most 8, sentences of 15 words on average and 25 at most (public plain-language guidance)."""
    single = running_words(world, world.plans[job], stock)
    lengths = [len(s.split()) for s in single]
    assert len(single) > 5
    assert sum(lengths) / len(lengths) <= 15 and max(lengths) <= 25
    assert grade(single) <= 8


@pytest.mark.parametrize("job", JOBS)
def test_what_must_not_stand_on_it(world: World, stock: Stock, job: str) -> None:
    plan = world.plans[job]
    html = html_of(world, plan)
    for pattern in FORBIDDEN:
        assert not re.search(pattern, " ".join(running_words(world, plan, stock)), re.IGNORECASE), pattern
    assert not plan.job.note or plan.job.note not in html
    for circuit in plan.circuits:
        assert all(tail.name not in html for tail in circuit.tails)


def test_the_internal_note_and_the_planners_notes_stay_inside(world: World, stock: Stock) -> None:
    plan = priced(world.plans[FULL_JOB], world.shop, stock, note="Do not print this remark")
    assert "Do not print this remark" not in html_of(world, plan)
    assert "Do not print this remark" not in json.dumps(estimate_data(plan, world.shop))


def test_what_must_stand_on_it(world: World) -> None:
    plan = world.plans[FULL_JOB]
    text = " ".join(sheet("estimate", FULL_JOB).pages)
    for wanted in (
        world.shop.name,
        plan.job.customer.name,
        plan.vehicle.title,
        "SM16 HRN",
        "11 May 2026",
        "Replace the dash radio",
        "All amounts are in EUR.",
        "It is not a bill.",
        "we ask you first",
    ):
        assert wanted in text, wanted


def test_a_held_job_says_that_the_price_may_change() -> None:
    pages = sheet("estimate", HELD_JOB, "Letter").pages
    assert all("HELD" in text for text in pages)
    assert "The price may change." in pages[0]


def test_local_wording_is_off_unless_the_shop_sets_it(world: World) -> None:
    shop = world.shop.model_copy(update={"legal": "Local wording of this shop."})
    assert "Local wording" in html_of(world, world.plans[FULL_JOB], shop)
    assert "Local wording" not in html_of(world, world.plans[FULL_JOB])


def test_the_attached_data_are_what_the_sheet_shows(world: World, stock: Stock) -> None:
    plan = priced(world.plans[FULL_JOB], world.shop, stock, extras=LATER)
    view, data = view_of(world, plan), estimate_data(plan, world.shop)
    found = sums(view)
    assert Decimal(data["total"]) == found["Total"] and Decimal(data["subtotal"]) == found["Sum of all lines"]
    assert [(a["what"], Decimal(a["total"])) for a in data["added"]] == [(a.what, number(a.amount)) for a in view.added]
    small = next(b for b in view.blocks if b.title == "Small materials")
    assert Decimal(data["materials"]) == number(small.total.amount)
    assert plan.job.customer.contact not in json.dumps(data)
    attached = sheet("estimate", FULL_JOB).reader.attachments[f"{FULL_JOB}-estimate.json"][0]
    assert json.loads(attached)["valid_until"] == "2026-06-11"


# --- on paper ----------------------------------------------------------------------------------------------------

LAID = pytest.mark.parametrize(
    ("job", "paper"), [(FULL_JOB, "A4"), (FLEET_JOB, "A4"), (HELD_JOB, "Letter"), ("2044", "Letter")]
)


@LAID
def test_amounts_end_on_one_edge_with_the_same_decimals(job: str, paper: str) -> None:
    """Digits of the face are of one width, so the decimal points stand below one another."""
    edges, amounts = set(), 0
    for page in pages_of("estimate", job, paper).pages:
        for cell in boxes(page, lambda b: isinstance(b, kinds.TableCellBox) and "money-amount" in _classes(b)):
            words = [b for b in _inner(cell) if isinstance(b, kinds.TextBox) and b.text.strip()]
            if not words or not re.search(r"\d", words[0].text):
                continue
            amounts += 1
            assert len(words) == 1 and re.fullmatch(r"−?\d{1,3}(\u202f\d{3})*\.\d\d", words[0].text.strip())
            edges.add(round((words[0].position_x + words[0].width) / MM, 1))
    assert amounts >= 8
    assert len(edges) == 1


@LAID
def test_two_pages_of_12_pt(job: str, paper: str) -> None:
    pages = pages_of("estimate", job, paper).pages
    assert len(pages) <= 2
    for page in pages:
        for box in boxes(page, lambda b: isinstance(b, kinds.TextBox) and b.text.strip() != ""):
            assert box.style["font_size"] >= 8 * 96 / 72 - 0.02, box.text
        for cell in boxes(page, lambda b: "money-what" in _classes(b) or "text" in _classes(b)):
            assert cell.style["font_size"] >= 12 * 96 / 72 - 0.01


def _classes(box: Any) -> set[str]:
    element = getattr(box, "element", None)
    return set(element.get("class", "").split()) if element is not None else set()


def _inner(box: Any) -> list[Any]:
    found = [box]
    for child in getattr(box, "children", ()):
        found += _inner(getattr(child, "_box", child))
    return found
