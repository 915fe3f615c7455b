"""A filled sheet becomes a readings file: one a vehicle, in the sheet's order, and it reads back as it was."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.check.convert import values
from loomleaf.collect.pdf import FilledSheet, read_sheet
from loomleaf.collect.readings_file import (
    blank_of,
    collected_from,
    of_no_lead,
    parse_day,
    readings_text,
    wanted_name,
)
from loomleaf.collect.run import doubts
from loomleaf.collect.told import tell
from loomleaf.model.readings import ReadingBack, Readings
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.answers import answer_lines
from loomleaf.plan.readings import title_of
from loomleaf.sheets.registry import sheet_html
from loomleaf.sheets.views import field_name
from loomleaf.source.nodes import read_document
from tests.collect.conftest import Printed, all_good, fill
from tests.plan.shops import PROOFS, planned


def typed(text: str) -> Readings:
    document, problems = read_document("readings/x.yaml", text.encode())
    assert problems == () and document.root is not None
    return Readings.model_validate(values(document.root))


def filled(printed: Printed, texts: dict[str, str], ticks: dict[str, bool] | None = None, **words: Any) -> FilledSheet:
    """A sheet as it might have come back, without the PDF round it."""
    plan = printed.plan
    base: dict[str, Any] = {
        "file": "x.pdf",
        "job": plan.job.job,
        "revision": plan.job.revision,
        "digest": plan.digest,
        "registrations": tuple(r.plate for r in plan.job.registrations),
        "texts": texts,
        "ticks": ticks or {},
    }
    return FilledSheet(**(base | words))


def test_from_paper_to_file_and_back(sheet: Printed) -> None:
    wanted = all_good(sheet) | {"made-by__1": "RP", "made-by__3": "12 May 2026, 14:30"}
    found, _ = read_sheet("x.pdf", fill(sheet.pdf, wanted))
    assert found is not None
    (one,) = collected_from(sheet.plan, found)
    assert one.wants == "readings/1-A.yaml"
    r = one.readings
    assert (r.by, r.checked_by, r.on, r.digest) == ("RP", "", date(2026, 5, 12), sheet.plan.digest)
    assert [b.check for b in r.readings] == [c.key for c in sheet.checks if any(n.startswith(c.key) for n in wanted)]
    assert typed(readings_text(r, sheet.checks)) == r


def test_a_fleets_sheet_gives_a_file_to_each_van_it_speaks_of(fleet: Printed) -> None:
    wanted = all_good(fleet, "CD 2") | {"made-by__1": "RP", "checked-by__2": "TO"}
    found, _ = read_sheet("x.pdf", fill(fleet.pdf, wanted))
    assert found is not None
    (one,) = collected_from(fleet.plan, found)  # AB1 has nothing of its own
    assert (one.readings.registration, one.wants) == ("CD 2", "readings/1-A-CD-2.yaml")
    assert (one.readings.by, one.readings.checked_by) == ("RP", "TO")
    by_stage = {c.key: c.stage for c in fleet.checks}
    assert {by_stage[b.check] for b in one.readings.readings} >= {"on-the-bench", "before-plugging-in"}
    assert typed(readings_text(one.readings, fleet.checks)) == one.readings


def test_one_vans_readings_never_reach_another(fleet: Printed) -> None:
    check = next(c for c in fleet.checks if c.stage == "after-plugging-in" and not c.yes_no)
    sheet = filled(
        fleet, {field_name(check.key, "AB1", "actual"): "12.9 V", field_name(check.key, "CD 2", "actual"): ""}
    )
    (one,) = collected_from(fleet.plan, sheet)
    assert one.readings.registration == "AB1"
    # a field without a plate is nobody's on a fleet's sheet, and the one vehicle's on a sheet of one
    loose = {field_name(check.key, "actual"): "12.9 V"}
    assert collected_from(fleet.plan, filled(fleet, loose)) == ()
    (one,) = collected_from(fleet.plan, filled(fleet, loose, registrations=("CD 2",)))
    assert one.readings.registration == "CD 2"


def test_bench_readings_of_one_lead_of_a_fleet_are_no_others(fleet: Printed) -> None:
    """Each lead is read for itself: what was measured on one never clears another."""
    on_bench = [c for c in fleet.checks if c.stage == "on-the-bench"]
    first, second = on_bench[0], on_bench[1]
    found, _ = read_sheet(
        "x.pdf",
        fill(
            fleet.pdf,
            {
                field_name(first.key, "AB1", "actual"): "0.1 ohm",
                field_name(first.key, "CD 2", "actual"): "0.4 ohm",
                field_name(second.key, "CD 2", "actual"): "0.2 ohm",
                field_name(second.key, "CD 2", "initials"): "RP",
            },
        ),
    )
    assert found is not None
    one, two = collected_from(fleet.plan, found)
    assert {b.check: b.reading for b in one.readings.readings} == {first.key: "0.1 ohm"}
    assert {b.check: b.reading for b in two.readings.readings} == {first.key: "0.4 ohm", second.key: "0.2 ohm"}
    assert [b.initials for b in two.readings.readings] == ["", "RP"]
    missing = [line for line in tell(fleet.plan, found, one).lines if "missing on the bench" in line]
    assert len(missing) == 1 and f" {second.number}" in missing[0]


def test_a_bench_reading_under_no_leads_name_is_nobodys(fleet: Printed) -> None:
    check = next(c for c in fleet.checks if c.stage == "on-the-bench")
    loose = filled(fleet, {field_name(check.key, "actual"): "0.1 ohm"})
    assert collected_from(fleet.plan, loose) == ()
    assert of_no_lead(fleet.plan, loose) == (check.number,)
    assert of_no_lead(fleet.plan, filled(fleet, {field_name(check.key, "AB1", "actual"): "0.1 ohm"})) == ()
    assert of_no_lead(fleet.plan, filled(fleet, dict(loose.texts), registrations=("AB1",))) == ()


def test_ticks_minutes_serials_and_words_come_along(sheet: Printed) -> None:
    watched = next(c for c in sheet.checks if c.yes_no)
    texts = {
        "minutes__remove-radio": "25 min",
        "serial__radio": "R-0042",
        "firmware__radio": "3.1",
        "found__1": "A.4 is thin",
        "note__1": "key in the box",
        "fitted-by__1": "WA",
        "hold__before-plugging-in__1": "RP",
    }
    (one,) = collected_from(sheet.plan, filled(sheet, texts, {field_name(watched.key, "pass"): True}))
    r = one.readings
    assert r.readings == (ReadingBack(check=watched.key, result="pass"),)
    assert (r.minutes, r.found, r.notes, r.by) == (
        {"remove-radio": "25 min"},
        ("A.4 is thin",),
        ("key in the box",),
        "WA",
    )
    assert [(p.part, p.serial, p.firmware) for p in r.parts] == [("radio", "R-0042", "3.1")]
    assert typed(readings_text(r, sheet.checks)) == r


def test_every_operation_of_the_estimate_has_a_box_for_its_minutes(sheet: Printed, fleet: Printed) -> None:
    """On the bench sheet what is done at the bench, on the fitting sheet the rest; then nothing stays "not timed"."""
    assert sheet.plan.workshop is not None and sheet.library.shop is not None
    bench = {name: "12" for name in filled_names(sheet.pdf) if name.startswith("minutes__")}
    assert set(bench) == {f"minutes__{name}" for name in ("set-up", "butt-connector", "tape")}
    (one,) = collected_from(sheet.plan, filled(sheet, bench))
    assert one.readings.minutes == {"set-up": "12", "butt-connector": "12", "tape": "12"}
    html, _ = sheet_html("fitting", sheet.plan, sheet.library.shop.value, sheet.library.reference)
    vehicle = set(re.findall(r'name="minutes__([a-z0-9-]+)"', html or ""))
    wanted = {"set-up", *(o.name for o in sheet.plan.workshop.minutes.operations)}
    assert vehicle | {name.removeprefix("minutes__") for name in bench} == wanted
    assert not vehicle & one.readings.minutes.keys()
    # the leads of a fleet are made together: their time is in the job file, for all
    assert not any(name.startswith("minutes__") for name in filled_names(fleet.pdf))


def filled_names(pdf: bytes) -> list[str]:
    found, _ = read_sheet("x.pdf", pdf)
    assert found is not None
    return list(found.texts)


def test_words_in_a_box_for_minutes_are_told_and_kept_and_lock_nothing(sheet: Printed) -> None:
    texts = {"minutes__remove-radio": "about an hour", "minutes__check": "1 h 10"}
    back = filled(sheet, texts)
    (one,) = collected_from(sheet.plan, back)
    assert one.readings.minutes == {"check": "1 h 10"}
    assert one.readings.notes == ("Minutes, remove radio: about an hour",)
    (problem,) = doubts(back, (one,), sheet.plan)
    assert (problem.code, problem.severity.value) == ("bad-minutes", "warning")
    assert problem.message == "minutes of remove radio: 'about an hour' is no time; it is kept among the notes"
    planned(job=PROOFS, files={"readings/1-A.yaml": readings_text(one.readings, sheet.checks)})  # no error in it


def test_when_the_battery_lead_went_off_comes_along_and_a_waits_clock_stays_on_paper(sheet: Printed) -> None:
    """The time to wait at the airbags is looked up every time: nothing that tells it goes into a file."""
    texts = {"battery__off-1": "9:26", "battery__on-1": "10.05", "airbag-1__started": "9:26", "airbag-1__earliest": "9:36"}
    (one,) = collected_from(sheet.plan, filled(sheet, texts))
    assert one.readings.answers == {"battery": {"off-1": "9:26", "on-1": "10.05"}} and one.clocks
    assert "9:36" not in readings_text(one.readings, sheet.checks)
    assert answer_lines(one.readings.answers, {}) == (("Battery", "lead off at: 9:26; lead on at: 10.05"),)
    (without,) = collected_from(sheet.plan, filled(sheet, {"battery__off-1": "9:26"}))
    assert not without.clocks


def test_a_hold_point_signs_where_nothing_else_does(sheet: Printed) -> None:
    texts = {"minutes__tape": "5", "hold__before-plugging-in__1": "RP", "hold__before-the-trim-goes-back__1": "TO"}
    (one,) = collected_from(sheet.plan, filled(sheet, texts))
    assert one.readings.by in ("RP", "TO")


def test_an_empty_sheet_is_no_file(sheet: Printed) -> None:
    found, _ = read_sheet("x.pdf", sheet.pdf)
    assert found is not None and collected_from(sheet.plan, found) == ()


def test_an_empty_file_stands_in_the_sheets_order_and_reads_back_empty(fleet: Printed) -> None:
    blank = blank_of(fleet.plan, "CD 2")
    text = readings_text(blank.readings, fleet.checks, blank=True)
    back = typed(text)
    assert sorted(b.check for b in back.readings) == sorted(c.key for c in fleet.checks)
    assert all(not b.reading and not b.result for b in back.readings)
    assert (back.digest, back.registration, back.on) == (fleet.plan.digest, "CD 2", None)
    for check in fleet.checks:
        assert f"# {check.number}. {title_of(check)}: " in text


def test_an_empty_file_tells_way_5_of_one_plug_from_way_5_of_another(root: Path) -> None:
    loaded = load_shop(root / "content")
    plan = plan_jobs(loaded, ("2031",))[0]["2031"]
    text = readings_text(blank_of(plan, "SM56 OSM").readings, plan.checks, blank=True)
    assert ". Antenna turn-on, A.5: " in text and ". Loudspeaker, front left +, B.5: " in text
    assert ", way 5" not in text


def test_an_empty_file_has_a_row_for_all_that_stops_work(sheet: Printed, root: Path) -> None:
    """So that what is left empty is seen: hold points, the boxes at the airbags, lamps at the end."""
    back = typed(readings_text(blank_of(sheet.plan, "AB1").readings, sheet.checks, blank=True))
    assert [(s.row, s.by) for s in back.signatures] == [("before-plugging-in", ""), ("before-the-trim-goes-back", "")]
    gate = {"looked-up", "wait", "document", "page"}
    assert set(back.answers["gate-airbag"]) == gate and not any(back.answers["gate-airbag"].values())
    assert back.answers["end"]["lamps"] == ""
    loaded = load_shop(root / "content")
    for number, plan in plan_jobs(loaded)[0].items():
        html, _ = sheet_html("fitting", plan, loaded.shop, loaded.library.reference)
        asked = set(re.findall(r'name="gate-airbag__(?:[A-Z0-9-]+__)?([a-z-]+)"', html or ""))
        blank = blank_of(plan, plan.job.registrations[0].plate).readings
        assert asked and set(blank.answers["gate-airbag"]) == asked, number


def test_a_sheets_empty_boxes_come_along_where_they_stop_work(sheet: Printed) -> None:
    texts = {
        "as-found__lamps": "oil",
        "hold__before-plugging-in__1": "",
        "hold__before-plugging-in__3": "",
        "gate-airbag__wait": "",
        "gate-airbag__page": "",
    }
    (one,) = collected_from(sheet.plan, filled(sheet, texts, {"gate-airbag__looked-up": False}))
    assert one.readings.answers["gate-airbag"] == {"looked-up": "", "wait": "", "page": ""}
    assert [(s.row, s.by, s.when) for s in one.readings.signatures] == [("before-plugging-in", "", "")]
    assert typed(readings_text(one.readings, sheet.checks)) == one.readings
    written = texts | {"gate-airbag__wait": "3 min", "gate-airbag__page": "4-12", "hold__before-plugging-in__1": "TO"}
    (one,) = collected_from(sheet.plan, filled(sheet, written, {"gate-airbag__looked-up": True}))
    assert one.readings.answers["gate-airbag"] == {"page": "4-12", "looked-up": "yes", "wait": "written on the sheet"}
    assert "3 min" not in readings_text(one.readings, sheet.checks)  # looked up every time
    assert [s.by for s in one.readings.signatures] == ["TO"]
    assert collected_from(sheet.plan, filled(sheet, dict.fromkeys(texts, ""))) == ()


def test_an_empty_file_goes_down_the_page_as_the_sheets_do(root: Path) -> None:
    """Bench sheet and fitting sheet of a job whose vehicle rows are sorted by the turn of the key."""
    loaded = load_shop(root / "content")
    plan = plan_jobs(loaded, ("2041",))[0]["2041"]
    blank = [b.check for b in blank_of(plan, plan.job.registrations[0].plate).readings.readings]
    keys = {field_name(c.key, "pass"): c.key for c in plan.checks}
    for kind in ("bench", "fitting"):
        html, _ = sheet_html(kind, plan, loaded.shop, loaded.library.reference)
        printed = [keys[name] for name in re.findall(r'name="([^"]+__pass)"', html or "") if name in keys]
        assert printed and printed == [key for key in blank if key in printed]
    assert sorted(blank) == sorted(keys.values())


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-05-12", date(2026, 5, 12)),
        ("12 May 2026, 14:30", date(2026, 5, 12)),
        ("at 9 on 2 Sept 2026", date(2026, 9, 2)),
        ("05/06/2026", None),  # the fifth of June, or the sixth of May: nobody can tell
        ("12.5.2026", None),
        ("13.5.2026, 9:00", date(2026, 5, 13)),  # no month has that number
        ("5/21/2026", date(2026, 5, 21)),
        ("5.5.2026", date(2026, 5, 5)),
        ("2026/5/12", date(2026, 5, 12)),
        ("12May2026", date(2026, 5, 12)),
        ("12-5.2026", None),
        ("27/11/26 14:20", date(2026, 11, 27)),
        ("27.11.26", date(2026, 11, 27)),
        ("27 nov 26", date(2026, 11, 27)),
        ("27 nov. 26, 9:00", date(2026, 11, 27)),
        ("11/27/26", date(2026, 11, 27)),
        ("5/5/26", date(2026, 5, 5)),
        ("3/5/26", None),  # two days
        ("26-11-27", None),  # the year may stand first
        ("27 nov 14:20", None),  # a time, and no year
        ("27 nov 14.20", None),
        ("14:20", None),
        ("2026-13-40", None),
        ("31 Feb 2026", None),
        ("1 Ju 2026", None),
        ("", None),
    ],
)
def test_a_day_is_read_in_one_way_or_not_at_all(text: str, day: date | None) -> None:
    assert parse_day(text) == day


words = st.text(max_size=25).map(lambda t: "".join(c for c in t if c.isprintable()).strip())


@given(reading=words, note=words, who=words, plate=words.filter(bool))
def test_whatever_is_written_reads_back_the_same(reading: str, note: str, who: str, plate: str) -> None:
    readings = Readings(
        job="1",
        revision="A",
        registration=plate,
        digest="0123456789abcdef",
        by=who,
        readings=(ReadingBack(check="a-b", reading=reading, initials=who, note=note),),
        found=tuple(t for t in (note,) if t),
    )
    assert typed(readings_text(readings, ())) == readings
    name = wanted_name(readings)
    assert name.startswith("readings/1-A-") and name.count("/") == 1
