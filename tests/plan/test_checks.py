"""The checks that come out of a job's circuits."""

from __future__ import annotations

from loomleaf.plan.types import STAGES
from tests.makers import lead, plan_of

CAR = lead(
    "car",
    "vehicle",
    "A.4 supply-constant yellow",
    "A.5 ground black",
    "A.6 speaker-front-left + white",
    "A.7 speaker-front-left - white/black",
    "A.20 airbag yellow",
    "A.21 data-can high orange",
)
RADIO = lead(
    "radio",
    "radio",
    "M.1 supply-constant yellow",
    "M.2 ground black",
    "M.3 speaker-front-left + white",
    "M.4 speaker-front-left - white/black",
)


def test_numbers_run_on_and_keys_are_unique_and_plain() -> None:
    checks = plan_of(CAR, RADIO).checks
    assert [c.number for c in checks] == list(range(1, len(checks) + 1))
    keys = [c.key for c in checks]
    assert len(set(keys)) == len(keys)
    assert all(key.replace("-", "").isalnum() and key.isascii() for key in keys)
    stages = [STAGES.index(c.stage) for c in checks]
    assert stages == sorted(stages)


def test_every_joined_circuit_is_checked_for_continuity_under_0_3_ohm() -> None:
    """0.3 Ω with the leads nulled: common practice, no source."""
    plan = plan_of(CAR, RADIO)
    continuity = {c.circuit: c for c in plan.checks if c.key.startswith("continuity-")}
    assert set(continuity) == {c.id for c in plan.circuits if c.made}
    assert all(c.high == 0.3 and c.unit == "Ω" and "nulled" in c.meter for c in continuity.values())


def test_supplies_and_grounds_are_checked_under_five_amps() -> None:
    plan = plan_of(CAR, RADIO)
    loaded = {c.circuit for c in plan.checks if c.key.startswith("drop-")}
    assert loaded == {c.id for c in plan.circuits if c.group in ("supply", "ground") and c.made}


def test_neighbouring_circuits_are_checked_for_isolation_each_pair_once() -> None:
    plan = plan_of(CAR, RADIO)
    owner = {t.name: c.id for c in plan.circuits for t in c.tails}
    found = [
        frozenset((check.circuit, owner[other]))
        for check in plan.checks
        if check.key.startswith("apart-")
        for other in check.tails[1:]
    ]
    assert len(set(found)) == len(found)
    names = {c.function_id + c.pole: c.id for c in plan.circuits}
    supply, ground = names["supply-constant"], names["ground"]
    plus, minus = names["speaker-front-leftplus"], names["speaker-front-leftminus"]
    assert {frozenset(p) for p in [(supply, ground), (ground, plus), (plus, minus)]} <= set(found)


def test_nothing_is_ever_measured_on_an_airbag_or_data_way() -> None:
    plan = plan_of(CAR, RADIO)
    touched = {t for c in plan.checks for t in c.tails}
    assert not touched & {"car/A.20", "car/A.21"}
    assert not any("A.20" in c.probes or "A.21" in c.probes for c in plan.checks)


def test_expected_values_are_never_just_ok_and_failure_is_answered() -> None:
    for check in plan_of(CAR, RADIO).checks:
        assert check.expected.strip().lower() not in ("", "ok", "good", "pass")
        assert check.on_failure and check.probes and check.condition
        assert check.yes_no or check.open or check.low is not None or check.high is not None
