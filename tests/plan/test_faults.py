"""Where to look first, from the job's own circuits."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.faults import look_first
from loomleaf.plan.types import Check, Plan
from tests.makers import lead
from tests.plan.benches import DASH, DRAWS, RADIO, work

FAULTS = """
faults:
  own-fault:
    symptom: It hums
    order: 0
    when: [illumination]
    source: common-practice
    standing: common-practice
    look:
      - {do: Look at the lamp wire., at: [illumination]}
      - {do: Look at the mute., at: [mute]}
      - {do: Look twice.}
"""


def plan_with(*extra: str, reference: str = ""):
    near = [f"A.{i + 10} {name}" for i, name in enumerate(extra)]
    far = [f"w{i} {name}" for i, name in enumerate(extra)]
    return work(
        lead("dash", "vehicle", *DASH, *near),
        lead("radio", "radio", *RADIO, *far, more=DRAWS),
        reference=reference,
    )


def test_a_fault_names_the_jobs_own_circuits_joints_and_checks() -> None:
    plan = plan_with("illumination", reference=FAULTS)
    fault = plan.faults[0]
    circuit = next(c for c in plan.circuits if c.function_id == "illumination")
    made = next(j for j in plan.joints if j.circuit == circuit.id)
    assert fault.symptom == "It hums"
    assert fault.circuits == (circuit.id,)
    assert fault.look[0].startswith(f"Look at the lamp wire (joint {circuit.id} at {made.position_mm:.0f} mm; check")
    numbers = {str(c.number) for c in plan.checks if c.circuit == circuit.id}
    assert set(fault.look[0].rstrip(").").split("check")[-1].removeprefix("s ").replace(",", "").split()) <= numbers
    assert fault.look[1:] == ("Look twice.",)  # the job has no mute


def test_a_fault_that_the_job_cannot_have_is_left_out() -> None:
    assert all(f.symptom != "It hums" for f in plan_with(reference=FAULTS).faults)


def test_the_shipped_faults_of_the_demo(root) -> None:
    from loomleaf.pipeline import load_shop, plan_jobs

    plans, _ = plan_jobs(load_shop(root / "content"))
    shown = {number: {f.symptom for f in plan.faults} for number, plan in plans.items()}
    assert all("The radio stays dark" in found for found in shown.values())
    assert "Wheel buttons do nothing or the wrong thing" in shown["2052"]
    assert "Wheel buttons do nothing or the wrong thing" not in shown["2038"]
    assert "No reversing picture" in shown["2044"]
    for plan in plans.values():
        ids = {c.id for c in plan.circuits}
        assert all(set(f.circuits) <= ids and f.look for f in plan.faults)


def test_shipped_faults_name_known_functions_and_ends(root) -> None:
    from loomleaf.pipeline import load_shop

    library = load_shop(root / "content").library
    ends = {e.name for entry in library.leads.values() for e in entry.value.ready_ends}
    known = set(library.reference.functions) | ends | {"line-rear"}
    for name, pattern in library.reference.faults.items():
        for step in pattern.look:
            assert set(step.at) <= known, (name, set(step.at) - known)
        assert set(pattern.when) <= known, (name, set(pattern.when) - known)


# --- what a failed check answers ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def demo(root: Path) -> dict[str, Plan]:
    return plan_jobs(load_shop(root / "content"))[0]


def first(plan: Plan, key: str) -> tuple[Check, str]:
    check = next(c for c in plan.checks if c.key.startswith(key))
    return check, look_first(check, plan.faults, plan.joints)


def test_a_ground_that_fails_under_load_is_looked_for_at_the_ground(demo: dict[str, Plan]) -> None:
    seen = 0
    for plan in demo.values():
        for check in plan.checks:
            if check.key.startswith("loaded-"):
                told = look_first(check, plan.faults, plan.joints)
                named = set(re.findall(r"\b[A-Z]\d+\b", told.partition("look first: ")[2].partition(";")[0]))
                assert check.circuit in named, (plan.job.job, check.title, told)
                if check.circuit.startswith("G"):
                    assert "drop" in told and not any(name.startswith("S") for name in named)
                    seen += 1
    assert seen >= 6


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("prove-", "the key, the lights and the load"),
        ("continuity-", "Null the meter's leads"),
        ("drop-", "Null the meter's leads"),
        ("apart-", "a strand or a sharp end"),
        ("plug-", "at the vehicle's plug"),
        ("sound-", "balance and fader"),
        ("standby-", "asleep"),
    ],
)
def test_each_kind_of_check_has_its_own_first_place(demo: dict[str, Plan], key: str, words: str) -> None:
    """Common practice, no source: what is tried first is what costs least and fails most."""
    plan = next(p for p in demo.values() if any(c.key.startswith(key) for c in p.checks))
    check, told = first(plan, key)
    assert told.startswith(check.on_failure.rstrip(".")) and "look first: " in told and words in told, told


def test_on_the_bench_the_joint_is_told_with_its_place(demo: dict[str, Plan]) -> None:
    check, told = first(demo["2031"], "continuity-")
    joint = next(j for j in demo["2031"].joints if j.circuit == check.circuit)
    assert told.endswith(f"(joint {joint.id} at {joint.position_mm:.0f} mm)")


def test_what_answers_checks_alone_is_on_no_sheet(demo: dict[str, Plan]) -> None:
    from loomleaf.sheets.fitting import fitting_data

    hidden = {f.symptom for f in demo["2031"].faults if not f.on_paper}
    assert hidden
    assert not hidden & {row["symptom"] for row in fitting_data(demo["2031"])["faults"]}


def test_every_beginning_that_a_fault_answers_is_a_checks(demo: dict[str, Plan]) -> None:
    """A fault that names a kind of check that no job has would never be told."""
    known = {c.key for plan in demo.values() for c in plan.checks}
    kinds = {start for plan in demo.values() for f in plan.faults for start in f.of_checks}
    unknown = {start for start in kinds if not any(key.startswith(f"{start}-") for key in known)}
    assert kinds and unknown <= {"combine"}  # a diode or a relay: no demo job has one made
