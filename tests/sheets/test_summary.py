"""The customer summary: complete, plain, and silent about what it must not say (rules 35 to 37)."""

from __future__ import annotations

import importlib
import re
from dataclasses import replace

import pytest
import textstat  # type: ignore[import-untyped]

from loomleaf.model.job import Agreement, Extra
from loomleaf.plan.types import Plan
from loomleaf.sheets import sheet_html
from loomleaf.sheets.summary import SummaryView, summary_view, three_lists
from loomleaf.sheets.views import frame

from .conftest import HELD_JOB, JOBS, World, sheet


def view_of(world: World, plan: Plan) -> SummaryView:
    head, _ = frame(
        plan,
        world.shop,
        world.reference,
        kind="summary",
        title="Customer summary",
        paper="A4",
        fillable=True,
        for_customer=True,
    )
    assert head is not None
    return summary_view(plan, world.shop, world.reference, head)


def html_of(world: World, plan: Plan) -> str:
    html, problems = sheet_html("summary", plan, world.shop, world.reference)
    assert html is not None, problems
    return html


def sentences(view: SummaryView) -> list[str]:
    """The sheet's own running words. Names of parts, people and vehicles are left out, as the rule says; so is the request,
    which is the customer's own words."""
    lines = [*view.open_points, *view.use, *view.notes, *view.cautions, *view.call, view.warranty.text, view.old_parts]
    for found in (view.keeps, *view.changes_and_stops):
        lines += [line if line.endswith(".") else f"{found.title}: {line}." for line in found.lines]
    return [line for line in lines if line]


def syllables(word: str) -> int:
    """Groups of vowels, a silent final e left out: counts a little too many rather than too few.

    It is checked against words whose syllables any dictionary gives.
    """
    bare = re.sub(r"[^a-z]", "", word.lower())
    groups = len(re.findall(r"[aeiouy]+", bare)) + len(re.findall(r"(?<=[iu])[ao]|eo|ie(?=t)", bare))
    return max(1, groups - (bare.endswith("e") and not bare.endswith(("le", "ee")) and groups > 1))


@pytest.mark.parametrize(
    ("word", "count"),
    [("radio", 3), ("clock", 1), ("stereo", 3), ("time", 1), ("agreed", 2), ("speaker", 2), ("table", 2), ("quiet", 2)],
)
def test_syllables(word: str, count: int) -> None:
    assert syllables(word) >= count


def grade(lines: list[str]) -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid and others 1975, from memory)."""
    words = [w for line in lines for w in line.split()]
    return 0.39 * len(words) / len(lines) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


@pytest.mark.parametrize("job", JOBS)
def test_reading_level(world: World, job: str) -> None:
    """Grade at most 8, sentences of 15 words on average and 25 at most (public plain-language guidance)."""
    lines = sentences(view_of(world, world.plans[job]))
    single = [s for line in lines for s in re.split(r"(?<=[.?!]) ", line) if s]
    lengths = [len(s.split()) for s in single]
    assert sum(lengths) / len(lengths) <= 15
    assert max(lengths) <= 25, max(single, key=lambda s: len(s.split()))
    assert grade(single) <= 8


def test_the_grade_agrees_with_a_library(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """textstat counts syllables by hyphenation where its word list is not installed; that finds fewer than we do."""
    module = importlib.import_module("textstat.backend.counts._count_syllables")
    monkeypatch.setattr(module, "get_cmudict", lambda lang: None)
    lines = sentences(view_of(world, world.plans["2041"]))
    single = [s for line in lines for s in re.split(r"(?<=[.?!]) ", line) if s]
    theirs = textstat.flesch_kincaid_grade(" ".join(single))
    assert theirs <= 8
    assert -0.5 <= grade(single) - theirs <= 4


@pytest.mark.parametrize("job", JOBS)
def test_every_feature_stands_in_exactly_one_list(world: World, job: str) -> None:
    plan = world.plans[job]
    keeps, changes, stops = three_lists(plan.features, world.reference)
    outcomes = [f.outcome for f in plan.features]
    assert len([x for x in keeps.lines if x != "Nothing."]) == sum(o in ("keeps", "keeps with a part") for o in outcomes)
    assert len([x for x in changes.lines if x != "Nothing."]) == outcomes.count("changes")
    assert len([x for x in stops.lines if x != "Nothing."]) == outcomes.count("loses")
    for feature in plan.features:
        if feature.outcome.startswith("keeps"):
            assert feature.customer.lower() in " ".join(keeps.lines).lower()


def test_an_agreed_loss_says_when_it_was_agreed(world: World) -> None:
    text = html_of(world, world.plans["2041"])
    assert "The clock in the dash goes dark." in text
    assert "You agreed on 10 May 2026." in text


def test_what_must_stand_on_it(world: World) -> None:
    plan = world.plans["2041"]
    text = " ".join(sheet("summary", "2041").pages)
    job = plan.job
    for wanted in (
        world.shop.name,
        job.customer.name,
        plan.vehicle.title,
        "84120 km",
        "10 May 2026",
        f"EUR {job.agreed[0].amount}",
        "by telephone",
        "Replace the dash radio",
        "You get the old parts back.",
        world.shop.warranty.split(".")[0],
        "555 0100",
        "Keeps working",
        "Changes",
        "Stops",
        "How to use it",
        "What we fit",
        "Customer",
        "For the workshop",
    ):
        assert wanted in text, wanted
    for lead in plan.leads:
        for line in lead.use:
            assert line in text


def test_what_is_done_is_told_only_when_it_is_done(world: World) -> None:
    """Promises while the work goes on, the past when it is finished: the paper of a finished job asks for nothing before it."""
    finished, open_ = world.plans["2031"], world.plans["2041"]
    assert (finished.state, open_.state, finished.job.old_parts, open_.job.old_parts) == (
        "verified", "build", "returned", "returned",
    )  # fmt: skip
    done, undone = view_of(world, finished), view_of(world, open_)
    assert (done.old_parts, undone.old_parts) == ("We gave the old parts back to you.", "You get the old parts back.")
    assert any("before we start" in line for line in undone.cautions)
    assert not [line for line in done.cautions if "before we start" in line or re.search(r"\b(may need|do not touch)\b", line)]
    assert len(done.cautions) == len(undone.cautions)
    assert (done.fits, undone.fits) == ("What we fitted", "What we fit")
    kept = replace(open_, job=open_.job.model_copy(update={"old_parts": "kept"}))
    assert view_of(world, kept).old_parts == "We keep the old parts, as agreed."


@pytest.mark.parametrize("job", ["2038", "2041", "2044", "2047", "2052"])
def test_every_part_that_is_charged_stands_on_it_by_the_estimates_name(world: World, job: str) -> None:
    """FTC, NAAG and AAA advice to car owners (secondary): the finished order lists each part."""
    plan = world.plans[job]
    assert plan.workshop is not None and plan.workshop.estimate is not None
    charged = [line for line in plan.workshop.estimate.lines if line.kind == "part"]
    listed = [part.title for part in view_of(world, plan).parts]
    for line in charged:
        assert (line.what if line.quantity == "1" else f"{line.quantity} × {line.what}") in listed, line.what
    assert len(set(listed)) == len(listed) >= len(charged)
    assert len({part.field for part in view_of(world, plan).parts}) == len(listed)


def test_blanks_where_the_job_says_nothing(world: World) -> None:
    plan = world.plans["2041"]
    job = plan.job.model_copy(update={"agreed": (), "old_parts": ""})
    html = html_of(world, replace(plan, job=job))
    for name in ("agreed-by", "agreed-how", "agreed-when", "agreed-price", "old-parts__1", "old-parts__2"):
        assert f'name="{name}"' in html
    assert 'name="out__SM16-HRN"' in html
    bare = world.shop.model_copy(update={"warranty": ""})
    without, _ = sheet_html("summary", plan, bare, world.reference)
    assert without is not None and 'name="warranty"' in without


def test_later_changes_are_told_with_who_agreed(world: World) -> None:
    plan = world.plans["2041"]
    extra = Extra(what="A second USB socket", added=plan.job.issued, agreed_by="Ines Vale", agreed_how="at the counter")
    agreed = (Agreement(who="Ines Vale", how="in writing", on=plan.job.issued, amount="20.00"),)
    job = plan.job.model_copy(update={"extras": (extra,), "agreed": agreed})
    html = html_of(world, replace(plan, job=job))
    assert "Added on 12 May 2026: A second USB socket, agreed by Ines Vale at the counter." in html
    assert "Ines Vale agreed in writing on 12 May 2026 for EUR 20.00." in html


FORBIDDEN = (
    r"\b(pin|security|radio|pairing) code\b",
    r"\bimmobili[sz]er\b",
    r"\balarm\b",
    r"\bliab(le|ility)\b",
    r"\bfault of\b",
    r"\bvoids?\b",
    r"\bwarranty (is|stays|remains) (valid|intact|unaffected)\b",
    r"\bmaker's warranty\b",
    r"\bnot responsible\b",
)


@pytest.mark.parametrize("job", JOBS)
def test_what_must_not_stand_on_it(world: World, job: str) -> None:
    plan = world.plans[job]
    text = " ".join(sentences(view_of(world, plan)))
    for pattern in FORBIDDEN:
        assert not re.search(pattern, text, re.IGNORECASE), pattern
    html = html_of(world, plan)
    assert not plan.job.note or plan.job.note not in html
    for circuit in plan.circuits:
        for tail in circuit.tails:
            assert tail.name not in html


def test_the_internal_note_stays_inside(world: World) -> None:
    plan = world.plans["2041"]
    job = plan.job.model_copy(update={"note": "Do not print this remark", "customer_note": "Your spare key hangs inside"})
    html = html_of(world, replace(plan, job=job))
    assert "Do not print this remark" not in html
    assert "Your spare key hangs inside." in html


def test_held_reasons_are_counted_in_plain_words(world: World) -> None:
    plan = world.plans[HELD_JOB]
    html = html_of(world, plan)
    assert "This paper is not final" in html
    assert "to settle in the workshop before we fit anything" in html
    for state in plan.states:
        for reason in state.reasons:
            assert reason.message not in html


def test_local_legal_wording_is_off_unless_the_shop_sets_it(world: World) -> None:
    plan = world.plans["2041"]
    assert world.shop.legal == ""
    shop = world.shop.model_copy(update={"legal": "Local wording of this shop."})
    html, _ = sheet_html("summary", plan, shop, world.reference)
    assert html is not None and "Local wording of this shop." in html
    assert "Local wording" not in html_of(world, plan)
