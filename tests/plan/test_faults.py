"""Where to look first, from the job's own circuits."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan.faults import look_first, spans
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
      - {do: Look at the lamp wire., at: [illumination], checks: {of: plug, conditions: lights-on}}
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


def named_checks(line: str) -> tuple[list[int], int]:
    """The numbers of checks that a line names, its ranges written out, and how many more it says there are."""
    found = re.search(r"checks? ([^)]*)\)", line)
    if found is None:
        return [], 0
    text, _, more = found[1].partition(" and ")
    out: list[int] = []
    for part in text.split(", "):
        first, _, last = part.partition(" to ")
        out += range(int(first), int(last or first) + 1)
    return out, int(more.removesuffix(" more") or 0) if more else 0


def test_a_fault_names_the_jobs_own_circuits_joints_and_checks() -> None:
    plan = plan_with("illumination", reference=FAULTS)
    fault = plan.faults[0]
    circuit = next(c for c in plan.circuits if c.function_id == "illumination")
    made = next(j for j in plan.joints if j.circuit == circuit.id)
    assert fault.symptom == "It hums"
    assert fault.circuits == (circuit.id,)
    assert fault.look[0].startswith(f"Look at the lamp wire (joint {circuit.id} at {made.position_mm:.0f} mm; check")
    lit = [c.number for c in plan.checks if c.circuit == circuit.id and plug(c, "lights on")]
    assert lit and named_checks(fault.look[0]) == (lit, 0)
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


# --- the checks that a line names ---------------------------------------------------------------------------------

LOUDSPEAKER = ("plus and minus of this loudspeaker", "plus and minus of this input")

MEASURES: dict[str, Callable[[Check], bool]] = {
    "read its constant supply under a lamp": lambda c: plug(c, "asleep") and "lamp" in c.condition,
    "read its switched supply under a lamp, key on": lambda c: plug(c, "key on") and "lamp" in c.condition,
    "read the drop of the radio's ground at 5 a": lambda c: plug(c, "at any time") and "5 A" in c.condition,
    "read its supplies with the vehicle asleep": lambda c: plug(c, "asleep"),
    "read the switched supply with the vehicle asleep": lambda c: plug(c, "asleep"),
    "read the current with the key out": lambda c: c.unit == "mA" and "key out" in c.condition,
    "supply while it is loud": lambda c: c.unit == "V" and "loud" in c.condition,
    "read the drop of the ground while it is loud": lambda c: c.unit == "V" and "loud" in c.condition,
    "read each minus against bare metal": lambda c: plug(c, "radio unplugged") and "minus and bare metal" in c.probes,
    "measure its pair at the plug": lambda c: plug(c, "radio unplugged") and c.probes.endswith(LOUDSPEAKER),
    "set balance and fader to this corner and listen": lambda c: c.yes_no and c.title.endswith(" plays"),
    "ground under load": lambda c: c.unit == "V" and "loud" in c.condition,
    "read the ground of the part that is fed": lambda c: c.unit == "V" and "loud" in c.condition,
    "measure each button": lambda c: c.unit == "Ω" and "button" in c.condition,
    "lights on and off and watch": lambda c: c.yes_no and c.stage == "after-plugging-in" and "lights on" in c.expected,
    "read the illumination wire": lambda c: plug(c, "key on", "lights on"),
    "read the reverse signal": lambda c: plug(c, "in reverse"),
    "knows that reverse is engaged": lambda c: c.yes_no and "everse" in c.expected,
    "amplifier comes on with the radio": lambda c: c.yes_no and c.expected.startswith("The amplifier comes on"),
    "turn-on stays live": lambda c: c.yes_no and c.expected.startswith("The amplifier comes on"),
    "mute is active": lambda c: c.yes_no and "sound drops" in c.expected,
    "push the antenna plug home": lambda c: c.yes_no and "pushed home" in c.expected,
    "look at the line plugs": lambda c: c.yes_no and "pushed home" in c.expected,
    "look at the picture plugs": lambda c: c.yes_no and "pushed home" in c.expected,
    "measure each supply to ground in ohms": lambda c: c.unit == "Ω" and " is apart from " in c.title,
}
"""What a line's words speak of, told here in terms of a check's own printed words and not of the reference's."""


def plug(check: Check, *conditions: str) -> bool:
    """Read at the far end of the lead, nothing plugged in, in one of these conditions."""
    return check.stage == "before-plugging-in" and check.condition.partition(",")[0] in conditions


def test_every_check_that_a_line_names_measures_what_the_line_says(demo: dict[str, Plan]) -> None:
    """And none that does so is left out: in printed order, in ranges, or counted as 'more'. Common practice, no source:
    who is sent to a check that measures something else takes its reading for an answer."""
    used: set[str] = set()
    for job, plan in demo.items():
        side = {t.name: t.lead.side for c in plan.circuits for t in c.tails}
        group = {t.name: c.group for c in plan.circuits for t in c.tails}
        by_number = {c.number: c for c in plan.checks}
        for fault in plan.faults:
            for line, circuits in zip(fault.look, fault.looks_at, strict=True):
                words = [w for w in MEASURES if w in line.lower()]
                numbers, more = named_checks(line)
                assert words or not numbers, (job, line)
                if not words:
                    continue
                used |= set(words)
                to_ground = words[0].endswith("in ohms")
                at_radio = "radio's" in line or "its constant" in line or "its switched" in line or "its supplies" in line
                meant = [
                    c.number
                    for c in plan.checks
                    if MEASURES[words[0]](c)
                    and (to_ground or not circuits or c.circuit in circuits)
                    and (not to_ground or supply_to_ground(c, group))
                    and (not at_radio or not circuits or "part that is fed" in line or side[c.tails[0]] == "radio")
                ]
                assert numbers == meant[: len(numbers)] and len(numbers) + more == len(meant), (job, line, meant)
                assert more == 0 or len(numbers) >= 4, line
                assert all(n in by_number for n in numbers)
    assert len(used) > 18


def supply_to_ground(check: Check, group: dict[str, str]) -> bool:
    """Between a supply and a ground, or a supply and the body."""
    first, others = group[check.tails[0]], {group[name] for name in check.tails[1:]}
    if check.probes.endswith("bare metal"):
        return first == "supply"
    return (first == "supply" and "ground" in others) or (first == "ground" and "supply" in others)


def test_no_line_speaks_of_a_part_that_the_job_has_not(demo: dict[str, Plan]) -> None:
    for job, plan in demo.items():
        told = " ".join(line.lower() for f in plan.faults if f.on_paper for line in f.look)
        has_amplifier = any(c.function_id == "amplifier-turn-on" for c in plan.circuits if c.made)
        has_module = any(lead.side == "module" for lead in plan.leads)
        assert ("amplifier" in told) is has_amplifier, job
        assert has_module or "module" not in told, job
    assert "amplifier" not in " ".join(line for f in demo["2031"].faults for line in f.look)


def test_numbers_are_told_in_order_and_shortened_with_a_count() -> None:
    assert spans(["41", "42", "43", "44", "46"]) == "41 to 44, 46"
    assert spans(["S1", "S2", "G1"]) == "S1, S2, G1"
    assert spans(["1", "2", "3", "5", "7", "9", "11", "12", "13"]) == "1 to 3, 5, 7, 9 and 3 more"


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
