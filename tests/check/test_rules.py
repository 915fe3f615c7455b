"""Each check across files, on the smallest shop that breaks it. One row a fault: what is changed, which code, where."""

from __future__ import annotations

import pytest

from loomleaf.problems import Problem
from tests.makers import JOB, REFERENCE, VEHICLE, lead, library_of

CAR = lead("car", "vehicle", "A.4 supply-constant yellow", "A.5 speaker-front-left + white")
RADIO = lead("radio", "radio", "M.1 supply-constant yellow", more="draws: {running_a: 4}\n")
FILES = {
    "shop.yaml": "name: Test\n",
    "stock.yaml": "stock:\n"
    "  red: {title: Red, kind: connector, method: butt-connector, low_mm2: 0.5, high_mm2: 1.5, price: 0.20}\n",
    "reference/test.yaml": REFERENCE,
    "vehicles/test-car.yaml": VEHICLE.replace("features: []", "features: [am-fm-reception, clock-display]"),
    "leads/car.yaml": CAR,
    "leads/radio.yaml": RADIO,
    "jobs/1.yaml": JOB + "parts: [car, radio]\n",
}


def problems_with(file: str, old: str, new: str) -> list[Problem]:
    files = dict(FILES)
    assert old in files[file] or not old
    files[file] = files[file].replace(old, new) if old else files[file] + new
    return [p for p in library_of(files)[1]]


def test_the_unchanged_shop_is_clean() -> None:
    assert library_of(FILES)[1] == ()


CASES = [
    ("leads/car.yaml", "supply-constant", "supply-constent", "unknown-function", "did you mean 'supply-constant'?"),
    ("leads/car.yaml", "A.5", "A.4", "duplicate-way", "one way holds one tail"),
    ("leads/car.yaml", "at: A.5", "at: B.5", "unknown-plug", "one of: A"),
    ("leads/car.yaml", "A.5", "A.31", "unknown-way", "it has ways 1 to 30"),
    ("leads/car.yaml", "ways: 30", "ways: 16", "wrong-ways", "write 30"),
    ("leads/car.yaml", "test-plug", "tset-plug", "unknown-connector", "did you mean 'test-plug'?"),
    ("leads/car.yaml", "pole: plus", "pole: high", "wrong-pole", "write plus or minus"),
    ("leads/car.yaml", ", pole: plus", "", "missing-pole", "add  pole: plus or minus"),
    ("leads/car.yaml", "leaflet: sheet 1\n", "", "no-leaflet", "add  leaflet: sheet, issue, page"),
    ("leads/car.yaml", "0.75 mm2", "0.75 mm3", "bad-size", "write for example 0.75 mm2 or 18 AWG"),
    ("leads/car.yaml", "0.75 mm2", "0 mm2", "bad-size", "write for example 0.75 mm2"),
    ("leads/car.yaml", "yellow", "yelow", "unknown-colour", "did you mean 'yellow'?"),
    ("leads/car.yaml", "side: vehicle", "side: vehicel", "not-a-choice", "did you mean 'vehicle'?"),
    ("leads/car.yaml", "", "exakt: T-1\n", "unknown-key", "did you mean 'exact'?"),
    ("leads/car.yaml", "", "provides: [clock-dispaly]\n", "unknown-feature", "did you mean 'clock-display'?"),
    ("leads/car.yaml", "", "ready_ends: [{name: antenna, type: coax-75-plgu}]\n", "unknown-connector", "did you mean"),
    ("leads/car.yaml", "", "price: -3\n", "bad-money", "an amount is zero or more"),
    ("leads/car.yaml", "length_mm: 200", "length_mm: 99 m", "bad-length", ""),
    ("leads/car.yaml", "", "draws: {running_a: nan}\n", "not-a-number", ""),
    ("leads/car.yaml", "", "draws: {running_a: -1}\n", "out-of-range", "it must be at least 0"),
    ("vehicles/test-car.yaml", "clock-display", "clock-dispaly", "unknown-feature", "did you mean 'clock-display'?"),
    ("vehicles/test-car.yaml", "[am-fm-reception, clock-display]", "[clock-display, clock-display]", "twice", ""),
    ("vehicles/test-car.yaml", "", "speakers: [{at: front-left, load: four}]\n", "bad-load", "ohms, joined"),
    ("vehicles/test-car.yaml", "", "system_volts: 24\n", "outside-scope", "this job cannot be planned here"),
    ("vehicles/test-car.yaml", "", "positive_ground: yes\n", "outside-scope", "this job cannot be planned here"),
    ("vehicles/test-car.yaml", "", "high_voltage: 48 V\n", "high-voltage-differs", "look at the vehicle"),
    ("jobs/1.yaml", "test-car", "test-cart", "unknown-vehicle", "did you mean 'test-car'?"),
    ("jobs/1.yaml", "[car, radio]", "[car, raido]", "unknown-part", "did you mean 'radio'?"),
    ("jobs/1.yaml", "[car, radio]", "[car, radio, radio]", "twice", "a second one"),
    ("jobs/1.yaml", "[car, radio]", "[]", "missing-value", "for example  parts: [a, b]"),
    ("jobs/1.yaml", "2026-05-12", "12.05.2026", "not-a-date", "write year-month-day"),
    ("jobs/1.yaml", "2026-05-12", "2026-02-30", "not-a-date", "write year-month-day"),
    ("jobs/1.yaml", "request: Test\n", "", "missing-key", "add  request: …"),
    ("jobs/1.yaml", "", "airbag_wait: {value: 3 min}\n", "airbag-wait-unsourced", "fill in value, source and page"),
    ("jobs/1.yaml", "[AB1]", "[AB1, ab 1]", "twice", ""),
    ("jobs/1.yaml", "", "booked: 2026-05-13\n", "dates-out-of-order", ""),
    ("jobs/1.yaml", "", "keep: [usb-socket]\n", "not-on-this-vehicle", "add it to the vehicle's features"),
    ("jobs/1.yaml", "", "keep: [usb-scoket]\n", "unknown-feature", "did you mean 'usb-socket'?"),
    (
        "jobs/1.yaml",
        "",
        "keep: [clock-display]\ngive_up: [{feature: clock-display, told_customer: 2026-05-01}]\n",
        "kept-and-given-up",
        "decide with the customer",
    ),
    ("jobs/1.yaml", "", "feed: {speaker-frnot: radio}\n", "unknown-function", "did you mean"),
    ("jobs/1.yaml", "", "feed: {speaker-front: raido}\n", "unknown-part", "did you mean 'radio'?"),
    ("jobs/1.yaml", "", "feed: {speaker-front: radio/M.99}\n", "unknown-tail", ""),
    ("jobs/1.yaml", "", "joining: {default: but-connector}\n", "unknown-method", "did you mean 'butt-connector'?"),
    ("jobs/1.yaml", "", "proofs: [{tail: car/A.9, condition: asleep, reading: 12 V}]\n", "unknown-tail", ""),
    ("jobs/1.yaml", "", "proofs: [{tail: car-A9, condition: asleep, reading: 12 V}]\n", "bad-tail-name", ""),
    ("jobs/1.yaml", "", "proofs: [{tail: car/A.4, condition: asleep, reading: twelve}]\n", "bad-reading", ""),
    ("jobs/1.yaml", "", "proofs: [{tail: car/A.4, condition: asleep, reading: 12.5}]\n", "bad-reading", "write the unit"),
    (
        "jobs/1.yaml",
        "",
        "proofs: [{tail: car/A.4, condition: asleep, reading: 12.5 ohm}]\n",
        "proof-other-unit",
        "Constant supply: this way and bare metal, 11.8 to 13.2 V; put the unit right, or measure again",
    ),
    (
        "jobs/1.yaml",
        "",
        "proofs: [{tail: car/A.5, condition: unplugged, reading: 3.7 V}]\n",
        "proof-other-unit",
        "Loudspeaker, front left: plus and minus of this loudspeaker, 1 to 16 Ω; put the unit right, or measure again",
    ),
    (
        "jobs/1.yaml",
        "",
        "proofs: [{tail: car/A.5, condition: unplugged, reading: -3.7 ohm}]\n",
        "bad-reading",
        "look at the probes and the range, measure again",
    ),
    (
        "jobs/1.yaml",
        "",
        "proofs: [{tail: car/A.4, condition: asleep, reading: 12.5 V, on: 2062-05-12}]\n",
        "dates-out-of-order",
        "look at the year",
    ),
    (
        "jobs/1.yaml",
        "",
        "proofs: [{tail: car/A.4, condition: asleep, reading: 12 V, registration: ZZ9}]\n",
        "not-in-this-job",
        "one of: AB1",
    ),
    ("shop.yaml", "", "tax: {percent: 120}\n", "out-of-range", "0 to 100"),
    ("shop.yaml", "", "rates: {labour_hour: free}\n", "bad-money", "digits with a point"),
    ("stock.yaml", "low_mm2: 0.5", "low_mm2: 5", "bad-range", "change the two over"),
    ("stock.yaml", "butt-connector", "butt-conector", "unknown-method", "did you mean 'butt-connector'?"),
    ("stock.yaml", "price: 0.20", "price: 0.20, pack: 0", "out-of-range", "at least 1"),
    ("reference/test.yaml", "standing: common-practice", "standing: invented", "invented-value", "name its source"),
    ("reference/test.yaml", "source: common-practice", "source: nowhere", "unknown-source", ""),
]


@pytest.mark.parametrize(("file", "old", "new", "code", "hint"), CASES)
def test_one_fault_one_problem(file: str, old: str, new: str, code: str, hint: str) -> None:
    found = problems_with(file, old, new)
    hits = [p for p in found if p.code == code]
    assert hits, [p.line() for p in found]
    assert any(p.location.file == file or code in ("outside-scope", "high-voltage-differs") for p in hits)
    assert all(p.location.line > 0 for p in hits)
    assert any(p.hint.startswith(hint) for p in hits), [p.hint for p in hits]
    others = {p.code for p in found} - {code, "part-is-broken"}
    assert not others, [p.line() for p in found]


def test_a_proof_in_a_fleet_names_its_vehicle() -> None:
    files = {**FILES, "jobs/1.yaml": FILES["jobs/1.yaml"].replace("[AB1]", "[AB1, AB2]")}
    files["jobs/1.yaml"] += "proofs: [{tail: car/A.4, condition: asleep, reading: 12 V}]\n"
    assert [p.code for p in library_of(files)[1]] == ["proof-without-vehicle"]


def test_a_part_called_by_its_files_name_is_told_the_name_inside() -> None:
    files = {**FILES, "leads/tuner.yaml": FILES["leads/radio.yaml"]}
    del files["leads/radio.yaml"]
    files["jobs/1.yaml"] = files["jobs/1.yaml"].replace("[car, radio]", "[car, tuner]")
    hints = [p.hint for p in library_of(files)[1] if p.code == "unknown-part"]
    assert hints == ["the file leads/tuner.yaml names its lead 'radio': use one name in both"]


@pytest.mark.parametrize(
    ("again", "of"),
    [
        ("vehicles/again.yaml", "vehicles/test-car.yaml"),
        ("leads/again.yaml", "leads/car.yaml"),
        ("leads/zz.yaml", "leads/car.yaml"),
    ],
)
def test_two_files_of_one_name_are_told_once_and_neither_is_used(again: str, of: str) -> None:
    """Which of the two is meant cannot be told: a job that needs one says so, and nothing is worked out with either."""
    library, found = library_of({**FILES, again: FILES[of]})
    assert [p.code for p in found] == ["part-is-broken", "twice"]
    assert found[0].job == "1" and {again, of} == {found[1].location.file, found[1].message.rsplit("in ", 1)[1].rstrip(")")}
    assert not {"test-car", "car"} <= {*library.vehicles, *library.leads}


def test_a_job_number_that_two_files_bear_is_no_job() -> None:
    library, found = library_of({**FILES, "jobs/again.yaml": FILES["jobs/1.yaml"]})
    assert [p.code for p in found] == ["twice"] and not library.jobs


def test_a_broken_part_is_told_where_it_is_used_and_not_as_unknown() -> None:
    found = problems_with("leads/car.yaml", "side: vehicle", "side: sideways")
    assert [p.code for p in found] == ["part-is-broken", "not-a-choice"]


def test_all_faults_come_at_once_sorted_by_place() -> None:
    files = {**FILES}
    files["leads/car.yaml"] = CAR.replace("yellow", "yelow").replace("0.75 mm2", "3 mm")
    files["jobs/1.yaml"] = FILES["jobs/1.yaml"].replace("2026-05-12", "soon")
    found = library_of(files)[1]
    assert [p.location.file for p in found] == sorted(p.location.file for p in found)
    assert {p.code for p in found} >= {"unknown-colour", "bad-size", "not-a-date"}


def test_high_voltage_wants_somebody_trained() -> None:
    files = {**FILES, "vehicles/test-car.yaml": FILES["vehicles/test-car.yaml"] + "high_voltage: high voltage\n"}
    files["jobs/1.yaml"] = FILES["jobs/1.yaml"].replace("high_voltage: none", "high_voltage: high voltage")
    found = library_of(files)[1]
    assert [(p.code, p.severity) for p in found] == [("no-trained-person", "hold")]
    files["jobs/1.yaml"] += "trained: Ana Reed\n"
    assert library_of(files)[1] == ()


def test_a_reference_that_cannot_be_read_is_the_only_thing_told() -> None:
    """Otherwise every name that the file holds would be told as unknown, all over the shop."""
    found = library_of({**FILES, "reference/test.yaml": "connectors:\n  a: b: c\n"})[1]
    assert [p.code for p in found] == ["bad-yaml"]


NEVER = {**FILES, "leads/car.yaml": lead("car", "vehicle", "A.4 supply-constant yellow", "A.6 airbag yellow")}


def test_no_proof_on_an_airbag_circuit_is_taken() -> None:
    """Never probed: the shipped reference says so of the function; the vehicle maker's service information governs."""
    for reading in ("2.1 ohm", "OL", "0.0 V"):
        job = FILES["jobs/1.yaml"] + f"proofs: [{{tail: car/A.6, condition: unplugged, reading: {reading}}}]\n"
        (found,) = library_of({**NEVER, "jobs/1.yaml": job})[1]
        assert (found.code, found.severity.value, found.location.file) == ("never-probed", "error", "jobs/1.yaml")


@pytest.mark.parametrize("check", ["prove-car-a-6-unplugged-this-way-and-bare-metal", "continuity-car-a-6"])
def test_no_reading_on_an_airbag_circuit_is_taken(check: str) -> None:
    readings = f'job: "1"\nrevision: A\nreadings: [{{check: {check}, reading: "2 ohm"}}]\n'
    assert [p.code for p in library_of({**NEVER, "readings/1-A.yaml": readings})[1]] == ["never-probed"]
    other = readings.replace("a-6", "a-4")
    assert library_of({**NEVER, "readings/1-A.yaml": other})[1] == ()


def test_a_proof_may_come_after_the_sheet() -> None:
    """The sheet is printed, then measured with in hand."""
    proof = "proofs: [{tail: car/A.4, condition: asleep, load: 5 W lamp, reading: 12.4 V, on: 2026-05-13}]\n"
    assert library_of({**FILES, "jobs/1.yaml": FILES["jobs/1.yaml"] + proof})[1] == ()
