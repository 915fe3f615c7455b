"""Where to look first, from the job's own circuits."""

from __future__ import annotations

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
    assert fault.look[0].startswith(
        f"Look at the lamp wire. ({circuit.id}; joint {circuit.id} at {made.position_mm:.0f} mm; check"
    )
    numbers = {str(c.number) for c in plan.checks if c.circuit == circuit.id}
    assert set(fault.look[0].rstrip(")").split("check")[-1].removeprefix("s ").replace(",", "").split()) <= numbers
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
