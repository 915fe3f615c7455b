"""The digest of the work: the same whatever order files list things in, another when the work is another."""

from __future__ import annotations

from tests.makers import lead, plan_of

CAR = ("A.4 supply-constant yellow", "A.8 ground black")
RADIO = lead("radio", "radio", "M.1 supply-constant yellow", "M.3 ground black")


def test_order_changes_nothing() -> None:
    plates = ["VAN1", "VAN2"]
    one = plan_of(lead("car", "vehicle", *CAR), RADIO, plates=plates).digest
    other = plan_of(RADIO, lead("car", "vehicle", *reversed(CAR)), plates=plates[::-1]).digest
    assert one == other


def test_another_colour_or_vehicle_is_other_work() -> None:
    one = plan_of(lead("car", "vehicle", *CAR), RADIO).digest
    assert plan_of(lead("car", "vehicle", CAR[0].replace("yellow", "red"), CAR[1]), RADIO).digest != one
    assert plan_of(lead("car", "vehicle", *CAR), RADIO, plates=["AB2"]).digest != one
