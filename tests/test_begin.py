"""A begun shop checks clean and plans; a begun job carries over where to look, and nothing about anybody."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from loomleaf.begin import job_files, next_number, shop_files, shop_name
from loomleaf.model.job import Job
from loomleaf.model.lead import Lead
from loomleaf.model.vehicle import Vehicle
from loomleaf.output import write_new_folder
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.source.nodes import plain, read_document

TODAY = date(2026, 5, 12)

CAR = Vehicle.model_validate(
    {
        "vehicle": "corvane-plover",
        "title": "Corvane Plover",
        "maker": "Corvane",
        "model": "Plover",
        "features": ["clock-display"],
    }
)
LEADS = {
    name: Lead.model_validate({"lead": name, "title": name, "side": side, "known_from": "leaflet"})
    for name, side in (("dash", "vehicle"), ("old-dash", "vehicle"), ("radio", "radio"), ("camera", "accessory"))
}


def job(number: str, issued: str, parts: list[str], **more: object) -> Job:
    return Job.model_validate(
        {
            "job": number,
            "issued": issued,
            "customer": {"name": "Ines Vale", "contact": "555 0134"},
            "vehicle": "corvane-plover",
            "registrations": [{"plate": "SM16 HRN"}],
            "high_voltage": "none",
            "request": "Fit it.",
            "parts": parts,
            **more,
        }
    )


def proof(tail: str, condition: str, reading: str, **more: object) -> dict[str, object]:
    return {"tail": tail, "condition": condition, "reading": reading, "by": "RP", "on": "2026-05-01", **more}


EARLIER = [
    job("7", "2026-03-01", ["old-dash", "radio", "gone-since"], proofs=[proof("old-dash/A.1", "asleep", "12.6 V")]),
    job(
        "8",
        "2026-04-01",
        ["dash", "radio"],
        work_areas=["dash-centre", "front-doors"],
        joining={"default": "butt-connector"},
        route_mm={"dash": "35 cm"},
        feed={"speaker-front": "radio"},
        proofs=[
            proof("dash/A.4", "asleep", "12.5 V", load="5 W lamp", registration="SM16 HRN"),
            proof("dash/A.7", "asleep", "12.4 V", shows="supply-constant"),
        ],
    ),
    job("9", "2026-05-01", ["dash", "radio", "camera"], proofs=[proof("dash/A.8", "any", "0.04 V")]),
]


def begun(
    jobs: list[Job], *, proved_on: tuple[str, ...] = (), car: Vehicle = CAR, leads: Mapping[str, Lead] = LEADS
) -> str:
    files, problems = job_files(
        car.vehicle, vehicles={car.vehicle: car}, leads=leads, jobs=jobs, today=TODAY, proved_on=proved_on
    )
    assert problems == ()
    (text,) = files.values()
    return text


def filled(text: str) -> str:
    """What a begun job leaves to be filled in, filled in."""
    for blank, value in (
        ("name: ,", "name: Ada Pebble,"),
        ("plate: ,", "plate: EX01 CAR,"),
        ("request: #", "request: Fit it. #"),
    ):
        assert text.count(blank) == 1
        text = text.replace(blank, value)
    return text


def typed(text: str) -> Job:
    document, problems = read_document("job.yaml", text.encode())
    assert problems == ()
    assert document.root is not None
    return Job.model_validate(plain(document.root))


@pytest.mark.parametrize("name", ["Harbour audio", 'Pell: "Sons" & #1', "Größe\u202e\n", "[x]"])
def test_a_begun_shop_checks_clean_and_plans(tmp_path: Path, name: str) -> None:
    shop = tmp_path / "shop"
    assert write_new_folder(shop, shop_files(name, TODAY)) == ()
    loaded = load_shop(shop)
    assert [p.line() for p in loaded.problems] == []
    assert loaded.shop.name == "".join(c for c in name if c.isprintable())
    plans, problems = plan_jobs(loaded)
    # the one thing that nobody can guess
    assert [(p.code, p.location.file, p.hint) for p in problems] == [
        ("price-is-nothing", "shop.yaml", "write what an hour costs")
    ]
    (plan,) = plans.values()
    assert plan.state == "build"
    made = {circuit.function_id for circuit in plan.circuits if circuit.made}
    assert {"supply-constant", "supply-switched", "ground", "antenna-turn-on", "speaker-front-left"} <= made


def test_the_commented_proofs_of_the_first_job_are_well_formed(tmp_path: Path) -> None:
    """Taking every # away before ``proofs`` gives a job that still types."""
    text = shop_files("x", TODAY)["jobs/1001.yaml"]
    head, _, tail = text.partition("# proofs:")
    opened = head + "\n".join(line.removeprefix("# ") for line in ("# proofs:" + tail).splitlines())
    assert len(typed(opened).proofs) == 6


def test_the_example_of_an_own_plug_is_well_formed(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    files = dict(shop_files("x", TODAY))
    lines = files["README.md"].splitlines()
    files["reference/connectors.yaml"] = "".join(f"{line[4:]}\n" for line in lines if line.startswith("    "))
    adapter = files["leads/iso-10487-ab.yaml"]
    assert "type: iso-10487-b," in adapter
    files["leads/iso-10487-ab.yaml"] = adapter.replace("type: iso-10487-b,", "type: my-plug-8,")
    assert write_new_folder(shop, files) == ()
    assert [p.line() for p in load_shop(shop).problems] == []
    del files["reference/connectors.yaml"]
    assert write_new_folder(tmp_path / "without", files) == ()
    assert [p.code for p in load_shop(tmp_path / "without").problems] == ["unknown-connector"]


def test_no_airbag_wait_is_begun() -> None:
    assert typed(shop_files("x", TODAY)["jobs/1001.yaml"]).airbag_wait.value == ""
    assert typed(filled(begun(EARLIER))).airbag_wait.value == ""


@pytest.mark.parametrize(
    ("folder", "name"), [("harbour-audio", "Harbour audio"), ("a  b_c", "A b c"), ("--", "My shop")]
)
def test_a_shop_takes_its_name_from_its_folder(folder: str, name: str) -> None:
    assert shop_name(Path("/somewhere") / folder) == name


def test_a_begun_job_takes_the_parts_of_the_last_one() -> None:
    text = begun(EARLIER)
    found = typed(filled(text))
    assert (found.job, found.booked, found.issued, found.parts) == ("10", TODAY, TODAY, ("dash", "radio", "camera"))
    assert "# also used on this vehicle: old-dash (job 7)" in text
    assert "gone-since" not in text
    assert "# The vehicle has: clock-display." in text


def test_a_verified_job_is_preferred_and_its_proofs_are_told() -> None:
    text = begun(EARLIER, proved_on=("7", "8"))
    found = typed(filled(text))
    assert found.parts == ("dash", "radio")
    assert found.work_areas == ("dash-centre", "front-doors")
    assert (found.joining, found.feed, found.route_mm) == (
        {"default": "butt-connector"},
        {"speaker-front": "radio"},
        {"dash": 350},
    )
    told = [line for line in text.splitlines() if "prove again" in line]
    assert told == [
        '#  - {tail: dash/A.4, condition: asleep, load: "5 W lamp", reading: "", by: "", on: } '
        "# proved on job 8 (12.5 V), prove again",
        '#  - {tail: dash/A.7, condition: asleep, reading: "", by: "", on: } '
        "# proved on job 8 (12.4 V, which is supply-constant), prove again",
    ]


def test_what_is_left_to_fill_in_is_asked_for(tmp_path: Path) -> None:
    """The job cannot be printed for a customer without a name or a vehicle without a plate: each blank is an error there."""
    shop = tmp_path / "shop"
    write_new_folder(shop, shop_files("x", TODAY))
    loaded = load_shop(shop)
    files, problems = job_files(
        "example-car",
        vehicles={name: entry.value for name, entry in loaded.library.vehicles.items()},
        leads={name: entry.value for name, entry in loaded.library.leads.items()},
        jobs=[entry.value for entry in loaded.library.jobs.values()],
        today=TODAY,
    )
    assert problems == () and list(files) == ["jobs/1002.yaml"]
    for name, text in files.items():
        (shop / name).write_text(text, "utf-8")
    asked = load_shop(shop).problems
    assert {p.code for p in asked} == {"missing-key"}
    assert sorted(p.message.split("'")[1] for p in asked) == ["name", "plate", "request"]
    (shop / name).write_text(filled(text), "utf-8")
    assert load_shop(shop).problems == ()


def test_an_earlier_proof_is_never_a_proof() -> None:
    """As it stands the job has none; with the # away and nothing filled in, the reading is refused."""
    text = begun(EARLIER, proved_on=("8",))
    assert typed(filled(text)).proofs == ()
    opened = filled(text).replace("#  - {", "  - {")
    document, problems = read_document("job.yaml", opened.encode())
    assert problems == () and document.root is not None
    with pytest.raises(ValueError, match="is not a meter reading"):
        Job.model_validate(plain(document.root))


def test_nothing_about_anybody_is_carried_over() -> None:
    text = begun(EARLIER, proved_on=("7", "8", "9"))
    for word in ("Ines", "Vale", "555", "SM16", "RP"):
        assert word not in text


def test_a_vehicle_with_no_job_yet_leaves_the_parts_to_be_named() -> None:
    text = begun([])
    assert 'job: "1001"' in text
    assert "parts: [] # fill in; files of leads/, vehicle: dash, old-dash; radio: radio" in text
    with pytest.raises(ValueError, match="parts"):
        typed(filled(text))


def test_a_strange_title_stays_a_comment() -> None:
    car = CAR.model_copy(update={"title": "Plover\nparts: [x]", "features": ()})
    text = begun(EARLIER, car=car)
    assert text.splitlines()[0] == "# Plover parts: [x]"
    assert typed(filled(text)).parts == ("dash", "radio", "camera")


def test_an_unknown_vehicle_is_a_problem_with_the_nearest_name() -> None:
    files, (problem,) = job_files("corvane-plovr", vehicles={"corvane-plover": CAR}, leads={}, jobs=[], today=TODAY)
    assert files == {}
    assert (problem.code, problem.hint) == ("unknown-vehicle", "did you mean 'corvane-plover'?")


@pytest.mark.parametrize(
    ("used", "number"), [([], "1001"), (["9", "10"], "11"), (["B-7", "²"], "1001"), (["0099"], "100")]
)
def test_the_next_number(used: list[str], number: str) -> None:
    assert next_number(used) == number


def test_a_part_whose_file_is_broken_is_told_and_never_silently_left_out(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from loomleaf.cli import main

    broken = demo_copy / "leads/osmere-16.yaml"
    broken.write_text(broken.read_text("utf-8").replace("side: vehicle", "side: [vehicle"), "utf-8")
    assert main(["begin", "job", "osmere-whimbrel-2006", "--shop", str(demo_copy)]) == 0
    told = capsys.readouterr()
    written = Path(told.out.strip()).read_text("utf-8")
    assert "\nparts: [wheatear-d1]\n# left out: osmere-16, which job 2049 used." in written
    assert "# Job 2031 has errors now: what it proved is not carried over." in written
    code = "not-carried-over"
    assert f"warning[{code}]: job 2049 used the part 'osmere-16'" in told.err


def test_nothing_is_said_to_be_left_out_when_nothing_is(demo_copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from loomleaf.cli import main

    assert main(["begin", "job", "osmere-whimbrel-2006", "--shop", str(demo_copy)]) == 0
    told = capsys.readouterr()
    written = Path(told.out.strip()).read_text("utf-8")
    assert told.err == "" and "left out" not in written and "has errors" not in written
    assert "parts: [osmere-16, wheatear-d1]" in written
    assert (
        "Colour that lied: osmere-16/A.4 is red and carries constant supply (proved on job 2031, prove again)."
        in written
    )


def test_a_workshop_with_an_order_book_of_its_own_chooses_the_number(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from loomleaf.cli import main

    words = ["begin", "job", "osmere-whimbrel-2006", "--shop", str(demo_copy), "--job"]
    assert main([*words, "W-311"]) == 0
    written = Path(capsys.readouterr().out.strip())
    assert written == demo_copy / "jobs/W-311.yaml" and 'job: "W-311"' in written.read_text("utf-8")
    before = written.read_bytes()
    assert main([*words, "w-311"]) == 2  # on some disks this is the same file
    assert capsys.readouterr().err == "loomleaf: the number w-311 is in use; without --job the next free one is taken\n"
    assert written.read_bytes() == before


def test_of_a_fleet_the_proved_vehicles_alone_are_carried_over(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from loomleaf.cli import main

    # a third van of the demo was only begun: what was read on it is no proof that stood
    path = demo_copy / "jobs/2047.yaml"
    only_there = "  - {registration: SM21 PAC, tail: ansterby-12/A.7, condition: lights-on, reading: 9.9 ohm, by: WA}\n"
    path.write_text(path.read_text("utf-8") + only_there, "utf-8")
    assert main(["begin", "job", "ansterby-sanderling-2021", "--shop", str(demo_copy)]) == 0
    written = Path(capsys.readouterr().out.strip()).read_text("utf-8")
    carried = [line for line in written.splitlines() if "proved on job 2047" in line and "tail:" in line]
    assert len(carried) == 8  # ways and conditions that were read on the first and the second van
    assert not [line for line in carried if "9.9" in line]
    assert "SM21" not in written


def test_two_jobs_begun_one_after_the_other_take_two_numbers(
    demo_copy: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from loomleaf.cli import main

    (demo_copy / "readings/2060-A.yaml").write_text('job: "2060"\nrevision: A\nreadings: []\n', "utf-8")
    for number in ("2061", "2062", "2063"):
        assert main(["begin", "job", "osmere-whimbrel-2006", "--shop", str(demo_copy)]) == 0
        written = Path(capsys.readouterr().out.strip())
        assert written == demo_copy / f"jobs/{number}.yaml"
        assert f'job: "{number}"' in written.read_text("utf-8")


def test_every_begun_file_ends_with_its_line() -> None:
    assert begun(EARLIER).endswith("\n") and begun([]).endswith("\n")
    assert all(text.endswith("\n") for text in shop_files("x", TODAY).values())


def test_a_begun_shop_has_minutes_for_all_that_a_job_can_ask_for() -> None:
    """Ways of joining as the reference has them; the rest of the operations; every work area."""
    from loomleaf.model.job import WORK_AREAS
    from loomleaf.model.shop import OPERATIONS, Shop
    from tests.reference.shipped import reference

    document, _ = read_document("shop.yaml", shop_files("x", TODAY)["shop.yaml"].encode())
    assert document.root is not None
    minutes = Shop.model_validate(plain(document.root)).minutes
    usual = {name: m.minutes for name, m in reference().methods.items() if name != "spare-end"}  # that is spare
    assert {name: minutes.operations.get(name) for name in usual} == usual
    assert set(minutes.operations) == {*usual, *OPERATIONS}
    assert set(minutes.access) == set(WORK_AREAS)
