"""What is told of a shop of which one file cannot be read whole: its other faults, and nothing that comes of what is missing.

The folder ``tests/broken`` has a lead and a job with the complete list of what is told of them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs


def told(shop: Path) -> list[tuple[str, str]]:
    """File and code of every error."""
    return [(p.location.file, p.code) for p in plan_jobs(load_shop(shop))[1] if p.severity == "error"]


def spoil(shop: Path, file: str, old: str, new: str) -> None:
    text = (shop / file).read_text("utf-8")
    assert old in text
    (shop / file).write_text(text.replace(old, new, 1), "utf-8")


@pytest.mark.parametrize(
    ("file", "text", "code"),
    [
        ("shop.yaml", "name: [", "bad-yaml"),
        ("shop.yaml", "paper: A5\nname: x", "not-a-choice"),
        ("stock.yaml", "stock: [", "bad-yaml"),
        ("stock.yaml", "stock: {x: {title: 1, kind: nothing}}", "not-a-choice"),
    ],
)
def test_settings_or_stock_that_cannot_be_read_are_the_one_thing_told(
    demo_copy: Path, file: str, text: str, code: str
) -> None:
    (demo_copy / file).write_text(text)
    assert told(demo_copy) == [(file, code)]
    assert plan_jobs(load_shop(demo_copy))[0] == {}  # and nothing is worked out without them


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("vehicles/corvane-heron-2016.yaml", "capacity_ah: ", "capacity_ah: x", "not-a-number"),
        ("leads/corvane-16.yaml", "at: A.4, ", "", "missing-key"),
        ("leads/corvane-16.yaml", "size: 0.75 mm2", "size: 0.75 mm3", "bad-size"),
        ("leads/corvane-16.yaml", "side: vehicle", "side: car", "not-a-choice"),
    ],
)
def test_a_part_with_one_fault_gives_that_fault_and_the_jobs_that_wait_for_it(
    demo_copy: Path, file: str, old: str, new: str, code: str
) -> None:
    spoil(demo_copy, file, old, new)
    found = told(demo_copy)
    assert [c for f, c in found if f == file] == [code]
    others = {c for f, c in found if f != file}
    assert others == {"part-is-broken"}


@pytest.mark.parametrize("key", ["issued", "customer", "vehicle", "registrations", "high_voltage", "request", "parts"])
def test_a_job_without_something_it_needs_is_told_that_alone(demo_copy: Path, key: str) -> None:
    text = (demo_copy / "jobs/2041.yaml").read_text("utf-8")
    begin = text.index(f"\n{key}:") + 1
    end = begin + 1
    while text[end - 1] != "\n" or text[end] in " -":
        end += 1
    (demo_copy / "jobs/2041.yaml").write_text(text[:begin] + text[end:], "utf-8")
    assert [found for found in told(demo_copy) if found[0] == "jobs/2041.yaml"] == [("jobs/2041.yaml", "missing-key")]


@pytest.mark.parametrize(
    ("file", "old", "new", "told", "hint"),
    [
        ("leads/osmere-16.yaml", "0.75 mm2", "0,75 mm2", "'0,75 mm2'", "0.75 mm2"),
        ("jobs/2031.yaml", "reading: 12.4 V", "reading: 12,4 V", "'12,4 V'", "12.4 V"),
        ("leads/wheatear-d1.yaml", "running_a: 4,", "running_a: 4,5,", "'4,5'", "4.5"),
    ],
)
def test_a_decimal_comma_between_braces_is_one_problem(
    demo_copy: Path, file: str, old: str, new: str, told: str, hint: str
) -> None:
    """Where people write 0,75 the comma ends the value; the halves would be two riddles."""
    spoil(demo_copy, file, old, new)
    errors = [p for p in load_shop(demo_copy).problems if p.severity == "error" and p.location.file == file]
    assert [(p.code, p.message, p.hint) for p in errors] == [
        ("decimal-comma", f"{told} is cut in two by its comma", f"write it with a point: {hint}")
    ]


@pytest.mark.parametrize(
    ("old", "new", "lost"),
    [
        ("{name: Hollis Tern,", "{name: Hollis, Tern,", "Tern"),
        ('why: "the radio fitted last', 'why: the radio, fitted last', "fitted last sits in keys\""),
        ("how: at the counter,", "how: at, the counter,", "the counter"),
        ("request: Digital radio.", "Remarks:\nrequest: Digital radio.", "Remarks"),
    ],
)
def test_words_that_a_comma_cut_off_are_refused_and_not_lost(demo_copy: Path, old: str, new: str, lost: str) -> None:
    spoil(demo_copy, "jobs/2031.yaml", old, new)
    errors = [p for p in plan_jobs(load_shop(demo_copy))[1] if p.severity == "error"]
    assert [(p.code, p.location.file) for p in errors] == [("unknown-key", "jobs/2031.yaml")]
    assert f"'{lost}' is not a key here, and it has no value" in errors[0].message
    assert errors[0].hint.endswith("words with a comma inside { } stand in quotes") and errors[0].hint[0] != ";"
